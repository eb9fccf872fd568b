use super::figure::{
    Oval, Well, about_curve, across, along, choice, curve_bounds, drawn, fall, foot_direction, head, heel, turned,
};
use super::{Element, ElementItem, Handle, Shape, Site, angle_deg, read, set};
use crate::Edge;
use crate::rim::Rim;
use base::{ParamSpec, Params, Source, defaults};
use glam::DVec2;
use std::sync::Arc;

/// A recess that takes an insert, such as a sensor or a puck of another material: a flat floor as large as the insert and a
/// steep wall round it.
///
/// The floor is an oval, a rectangle with rounded corners, or the closed smooth curve drawn to the insert's outline. The
/// wall stands outside it. That of a rectangle is as wide everywhere as told; that of a long oval is somewhat narrower
/// between its ends and its sides; that of a curve goes by the distance from it, carried by a smooth spline.
#[derive(Clone, Copy, Debug, Default)]
pub struct Pocket;

const OUTLINE_WORDS: &[&str] = &["Oval", "Rounded rectangle"];

const PARAMS: &[ParamSpec] = &[
    along(100.0),
    across(-4.0),
    turned(0.0),
    ParamSpec::choice(
        "outline",
        "Outline",
        OUTLINE_WORDS.len() as u8,
        "Outline of the floor. A drawn outline goes before it.",
    ),
    ParamSpec::mm(
        "length_mm",
        "Length",
        (3.0, 150.0),
        30.0,
        0.5,
        "Length of the flat floor: that of the insert and its play. A drawn outline has its own.",
    ),
    ParamSpec::mm(
        "width_mm",
        "Width",
        (3.0, 120.0),
        20.0,
        0.5,
        "Width of the flat floor: that of the insert and its play. A drawn outline has its own.",
    ),
    ParamSpec::mm(
        "corner_mm",
        "Corner radius",
        (0.0, 60.0),
        3.0,
        0.5,
        "Radius of the corners of a rectangle, at most half its width. A milling cutter leaves at least its own radius.",
    ),
    ParamSpec::mm("depth_mm", "Depth", (0.0, 15.0), 2.5, 0.1, "How much lower the floor lies than the surface."),
    ParamSpec::mm(
        "wall_mm",
        "Wall",
        (0.8, 10.0),
        1.5,
        0.1,
        "Width of the wall in plan, from the floor up to the surface.",
    ),
];

/// Place on the way from the heel centre (0) to between the second and the third metatarsal head (1): the midfoot, which
/// carries least. No source.
const ALONG_SHARE: f64 = 0.45;

/// A drawn curve's wall is so many samples wide at least: fewer would make it wavy.
const SAMPLES_PER_WALL: f64 = 4.0;
/// At most so many samples are taken of a drawn curve. One round a whole insole has them 0.3 mm apart.
const MOST_SAMPLES: f64 = 400_000.0;

impl Element for Pocket {
    fn id(&self) -> &'static str {
        "pocket"
    }

    fn label(&self) -> &'static str {
        "Pocket"
    }

    fn help(&self) -> &'static str {
        "A recess with a flat floor and a steep wall that takes an insert, such as a sensor, a magnet or a puck of another \
         material. Draw it to the outline of the insert, or give its size."
    }

    fn caution(&self) -> &'static str {
        "Its wall is an edge under the foot: never wear it empty, let the insert end flush and cover it. Keep hard inserts away \
         from where a foot that does not feel bears, and see that enough is left below the floor."
    }

    fn source(&self) -> Source {
        Source::practice("Common practice, no published value found")
    }

    fn params(&self) -> &'static [ParamSpec] {
        PARAMS
    }

    fn words(&self, param: &str) -> &'static [&'static str] {
        if param == "outline" { OUTLINE_WORDS } else { &[] }
    }

    fn is_drawn(&self) -> bool {
        true
    }

    /// In the middle of the midfoot, along the foot.
    fn place(&self, site: &Site) -> Params {
        let mut params = defaults(PARAMS);
        let heads = head(site.landmarks, 2).zip(head(site.landmarks, 3));
        if let Some((heel, (second, third))) = heel(site.landmarks).zip(heads) {
            let at = heel.lerp((second + third) / 2.0, ALONG_SHARE);
            set(PARAMS, &mut params, "x_mm", at.x);
            set(PARAMS, &mut params, "y_mm", at.y);
            set(PARAMS, &mut params, "angle_deg", angle_deg(foot_direction(site.landmarks)));
        }
        params
    }

    fn shape(&self, item: &ElementItem, _: &Arc<Edge>) -> Shape {
        let (well, depth) = (well(item), read(PARAMS, &item.params, "depth_mm"));
        if let Some(curve) = drawn(item) {
            let (wall, step_mm) = sampling(&curve, well.blend);
            return about_curve(&curve, wall, step_mm, |out| -depth * fall(out, wall));
        }
        if choice(PARAMS, &item.params, "outline") == 0 {
            return Box::new(move |p| -depth * well.share(p));
        }
        let (half, wall) = (well.oval.half, well.blend);
        let corner = read(PARAMS, &item.params, "corner_mm").min(half.min_element());
        Box::new(move |p| {
            let beyond = well.oval.local(p).abs() - half;
            if beyond.max_element() >= wall {
                return 0.0;
            }
            // How far outside, round the corners from the centre of their circle.
            let out = (beyond + corner).max(DVec2::ZERO).length() - corner;
            -depth * fall(out, wall)
        })
    }

    fn bounds(&self, item: &ElementItem, _: &Arc<Edge>) -> (DVec2, DVec2) {
        let well = well(item);
        if let Some(curve) = drawn(item) {
            let (wall, step_mm) = sampling(&curve, well.blend);
            return curve_bounds(&curve, wall, step_mm);
        }
        if choice(PARAMS, &item.params, "outline") == 0 {
            return well.bounds();
        }
        let half = well.oval.half + well.blend;
        let reach = well.oval.axis.abs() * half.x + well.oval.axis.perp().abs() * half.y;
        (well.oval.centre - reach, well.oval.centre + reach)
    }

    fn strength(&self) -> &'static str {
        "depth_mm"
    }

    fn handles(&self, item: &ElementItem, _: &Arc<Edge>) -> Vec<Handle> {
        // A wall is too narrow for a handle of its own.
        let mut all = well(item).oval.handles();
        if drawn(item).is_some() {
            // A drawn outline has points of its own.
            all.truncate(1);
        }
        all
    }

    fn drag(&self, item: &ElementItem, _: &Arc<Edge>, handle: &str, to: DVec2) -> Params {
        let mut out = item.params.clone();
        if to.is_finite() {
            well(item).oval.drag(PARAMS, &mut out, handle, to);
        }
        out
    }
}

fn well(item: &ElementItem) -> Well {
    Well { oval: Oval::read(PARAMS, item), blend: read(PARAMS, &item.params, "wall_mm") }
}

/// The width of the wall about a drawn curve, `wall` or more if the curve is too large for enough samples, and how far
/// apart these lie: a whole part of 1 mm, so that a curve's mirror image is sampled as the curve is.
fn sampling(curve: &Rim, wall: f64) -> (f64, f64) {
    let (lo, hi) = curve.bounds();
    let size = hi - lo;
    let most_per_mm = (MOST_SAMPLES / (size.x * size.y)).sqrt().floor().max(1.0);
    let per_mm = (SAMPLES_PER_WALL / wall).ceil().min(most_per_mm);
    (wall.max(SAMPLES_PER_WALL / per_mm), 1.0 / per_mm)
}

#[cfg(test)]
mod tests {
    use super::super::figure::volume_mm3;
    use super::*;

    fn item(values: &[(&str, f64)]) -> ElementItem {
        let mut item = ElementItem::new("pocket", defaults(PARAMS));
        item.params.extend(values.iter().map(|&(id, value)| (id.to_owned(), value)));
        item
    }

    fn volume(item: &ElementItem) -> f64 {
        let edge = crate::test_foot::edge();
        volume_mm3(&Pocket.shape(item, &edge), Pocket.bounds(item, &edge), 0.1)
    }

    /// Round a floor of area A and girth G with convex corners the wall holds `h (A + G w / 2 + 2 π w² / 7)`: the mean of the
    /// fall over the wall is 1/2, its first moment 1/7, and the girth grows by 2π per mm outwards (Steiner's formula).
    #[test]
    fn a_rectangle_holds_what_steiners_formula_says() {
        for corner in [0.0, 3.0, 10.0] {
            let (length, width, wall) = (30.0, 20.0, 2.0);
            let area = length * width - (4.0 - std::f64::consts::PI) * corner * corner;
            let girth = 2.0 * (length + width) - (8.0 - 2.0 * std::f64::consts::PI) * corner;
            let expected = -2.5 * (area + girth * wall / 2.0 + std::f64::consts::TAU * wall * wall / 7.0);
            let is = volume(&item(&[("outline", 1.0), ("corner_mm", corner), ("wall_mm", wall), ("angle_deg", 25.0)]));
            assert!((is / expected - 1.0).abs() < 1e-3, "{is} mm³ for {expected}");
        }
    }

    #[test]
    fn a_drawn_circle_is_a_round_pocket() {
        let mut drawn = item(&[]);
        drawn.curve = (0..12)
            .map(|i| {
                let (sin, cos) = libm::sincos(std::f64::consts::TAU * f64::from(i) / 12.0);
                [100.0 + 12.0 * cos, -4.0 + 12.0 * sin]
            })
            .collect();
        let round = item(&[("length_mm", 24.0), ("width_mm", 24.0)]);
        assert!((volume(&drawn) / volume(&round) - 1.0).abs() < 5e-3, "{} and {}", volume(&drawn), volume(&round));
        let edge = crate::test_foot::edge();
        let shapes = (Pocket.shape(&drawn, &edge), Pocket.shape(&round, &edge));
        for r in [0.0, 8.0, 11.5, 12.4, 12.75, 13.2, 14.0] {
            let at = DVec2::new(100.0 + 0.6 * r, -4.0 + 0.8 * r);
            let (drawn, round) = (shapes.0(at), shapes.1(at));
            assert!((drawn - round).abs() < 0.05, "{drawn} and {round} at {r}");
        }
    }

    #[test]
    fn the_floor_is_flat_and_as_large_as_told() {
        let edge = crate::test_foot::edge();
        for outline in [0.0, 1.0] {
            let shape = Pocket.shape(&item(&[("outline", outline)]), &edge);
            let at = |along: f64, across: f64| shape(DVec2::new(100.0 + along, -4.0 + across));
            for way in [-1.0, 1.0] {
                assert!((at(14.9 * way, 0.0) + 2.5).abs() < 1e-12 && (at(0.0, 9.9 * way) + 2.5).abs() < 1e-12);
                assert!((at(15.75 * way, 0.0) + 1.25).abs() < 1e-9 && (at(0.0, 10.75 * way) + 1.25).abs() < 1e-9);
                assert!(at(16.5 * way, 0.0) == 0.0 && at(0.0, 11.5 * way) == 0.0);
            }
        }
    }

    /// The steepest pocket there can be: its slope changes steadily, in steps that shrink with the way, where a crease's
    /// would not.
    #[test]
    fn the_steepest_wall_has_no_crease() {
        let (h, edge) = (1e-5, crate::test_foot::edge());
        for outline in [0.0, 1.0] {
            let steep = item(&[("outline", outline), ("depth_mm", 15.0), ("wall_mm", 0.8), ("corner_mm", 0.0)]);
            let shape = Pocket.shape(&steep, &edge);
            let slope = |p: DVec2, way: DVec2| (shape(p + way * h) - shape(p - way * h)) / (2.0 * h);
            // A quintic's greatest bend is 10/√3 times height over length squared, in either direction no more than
            // twice that where the wall is narrower than told.
            let bend = 2.0 * 10.0 / 3.0_f64.sqrt() * 15.0 / (0.8 * 0.8);
            let (lo, hi) = Pocket.bounds(&steep, &edge);
            let grid = mesh::Grid::over(lo, hi, 0.21);
            let step = DVec2::new(8e-4, 6e-4);
            for p in (0..grid.values.len()).map(|i| grid.at(i % grid.columns, i / grid.columns)) {
                for way in [DVec2::X, DVec2::Y] {
                    let jump = (slope(p + step, way) - slope(p, way)).abs();
                    assert!(jump < bend * step.length(), "the slope jumps by {jump} at {p}");
                }
            }
        }
    }

    #[test]
    fn a_drawn_curve_is_sampled_finely_but_not_without_end() {
        let square =
            |size: f64| Rim::through([[0.0, 0.0], [size, 0.0], [size, size], [0.0, size]].map(DVec2::from).to_vec());
        assert_eq!(sampling(&square(30.0).unwrap(), 0.8), (0.8, 0.2));
        let (wall, step) = sampling(&square(1500.0).unwrap(), 0.8);
        assert_eq!((wall, step), (4.0, 1.0));
    }
}
