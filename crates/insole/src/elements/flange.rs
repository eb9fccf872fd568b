use super::figure::mark;
use super::slopes::{SIDES, insole_box, side};
use super::{Element, ElementItem, Handle, HandleKind, Shape, Site, read, set};
use crate::Edge;
use crate::smooth::step;
use base::{ParamSpec, Params, Source, defaults};
use foot::LandmarkId;
use glam::DVec2;
use std::sync::Arc;

/// A raised border along one side: over a stretch of the edge the surface rises to it as a parabola over the reach, and goes
/// on straight beyond the edge.
#[derive(Clone, Copy, Debug, Default)]
pub struct Flange;

const ON_SIDE: ParamSpec =
    ParamSpec::choice("on_side", "On the side", 2, "The side of the foot that the flange holds.");

/// Where along the insole's length its middle is taken, for a straight line between the two sides.
const MIDDLE_AT: (f64, f64) = (0.2, 0.75);
/// A flange that reaches the heel's or the toes' end comes down to nothing over this distance from the middle, mm.
const MIDDLE_RUN_OUT_MM: f64 = 12.0;
/// The handles stand on a line this far from the foot axis, mm, as the edge itself is curved.
const HANDLES_AT_MM: f64 = 20.0;
/// As placed, a share of the insole's length. No source.
const LENGTH_SHARE: f64 = 0.25;

const PARAMS: &[ParamSpec] = &[
    ON_SIDE,
    ParamSpec::mm(
        "x_mm",
        "Place, along",
        (-20.0, 350.0),
        108.0,
        1.0,
        "Middle of the stretch, from the pternion towards the toes.",
    ),
    ParamSpec::mm("length_mm", "Length", (0.0, 250.0), 65.0, 1.0, "Length of the stretch of full height."),
    ParamSpec::mm(
        "run_out_mm",
        "Run-out",
        (10.0, 100.0),
        35.0,
        1.0,
        "At either end it takes this length to come down to nothing.",
    ),
    ParamSpec::mm(
        "reach_mm",
        "Reach",
        (4.0, 15.0),
        11.0,
        0.5,
        "It begins to rise this far inside the edge. A short reach makes a steep wall.",
    ),
    ParamSpec::mm("height_mm", "Height", (0.0, 30.0), 6.0, 0.5, "How much higher the edge stands."),
];

impl Element for Flange {
    fn id(&self) -> &'static str {
        "flange"
    }

    fn label(&self) -> &'static str {
        "Flange"
    }

    fn help(&self) -> &'static str {
        "A raised border along the medial or the lateral side that keeps the foot from sliding off: medially beside the arch, \
         laterally beside the heel and the cuboid. Check its height against the shoe."
    }

    fn caution(&self) -> &'static str {
        "Its upper edge must not press on the navicular or on the base of the fifth metatarsal: check it under load, and often \
         where the skin is insensate."
    }

    fn source(&self) -> Source {
        Source::practice("Height and length as the foot and the shoe allow: common practice, no published value found")
    }

    fn params(&self) -> &'static [ParamSpec] {
        PARAMS
    }

    fn words(&self, param: &str) -> &'static [&'static str] {
        if param == ON_SIDE.id { SIDES } else { &[] }
    }

    /// Medially, abreast of the arch's apex.
    fn place(&self, site: &Site) -> Params {
        let mut params = defaults(PARAMS);
        if let Some(apex) = mark(site.landmarks, LandmarkId::ArchApex) {
            let (lo, hi) = site.edge.bounds();
            set(PARAMS, &mut params, "x_mm", apex.x.round());
            set(PARAMS, &mut params, "length_mm", ((hi.x - lo.x) * LENGTH_SHARE).round());
        }
        params
    }

    fn shape(&self, item: &ElementItem, edge: &Arc<Edge>) -> Shape {
        let (border, edge) = (Border::read(item, edge), Arc::clone(edge));
        Box::new(move |p| {
            let share = border.share(p);
            if share == 0.0 || !edge.may_be_within(p, border.reach) {
                return 0.0;
            }
            share * border.height * parabola(1.0 - edge.inside_mm(p) / border.reach)
        })
    }

    fn bounds(&self, item: &ElementItem, edge: &Arc<Edge>) -> (DVec2, DVec2) {
        let (border, (lo, hi)) = (Border::read(item, edge), insole_box(edge));
        let half = border.half + border.run_out;
        let (from, to) = ((border.x - half).max(lo.x), (border.x + half).min(hi.x));
        (DVec2::new(from.min(to), lo.y), DVec2::new(to, hi.y))
    }

    fn strength(&self) -> &'static str {
        "height_mm"
    }

    fn crest(&self, item: &ElementItem, edge: &Arc<Edge>) -> DVec2 {
        let border = Border::read(item, edge);
        let (lo, hi) = edge.bounds();
        let x = border.x.clamp(lo.x, hi.x);
        let (lateral, medial) = edge.width_at(x).unwrap_or_default();
        DVec2::new(x, if border.side > 0.0 { medial } else { lateral })
    }

    fn handles(&self, item: &ElementItem, edge: &Arc<Edge>) -> Vec<Handle> {
        let border = Border::read(item, edge);
        let along = |id, label, x| Handle {
            id,
            label,
            kind: HandleKind::Along(DVec2::X),
            at: DVec2::new(x, border.side * HANDLES_AT_MM),
        };
        vec![
            along("middle", "Move", border.x),
            along("end", "Length", border.x + border.half),
            along("run_out", "Run-out", border.x + border.half + border.run_out),
        ]
    }

    fn drag(&self, item: &ElementItem, edge: &Arc<Edge>, handle: &str, to: DVec2) -> Params {
        let mut out = item.params.clone();
        if !to.is_finite() {
            return out;
        }
        let border = Border::read(item, edge);
        let ahead = to.x - border.x;
        match handle {
            "middle" => set(PARAMS, &mut out, "x_mm", to.x),
            "end" => set(PARAMS, &mut out, "length_mm", 2.0 * ahead),
            "run_out" => set(PARAMS, &mut out, "run_out_mm", ahead - border.half),
            _ => {}
        }
        out
    }
}

/// 0 up to 0, t² up to 1, from there straight on at the same slope.
fn parabola(t: f64) -> f64 {
    if t <= 0.0 {
        0.0
    } else if t < 1.0 {
        t * t
    } else {
        2.0 * t - 1.0
    }
}

/// The flange's numbers, read once.
#[derive(Clone, Copy)]
struct Border {
    /// The way in y to its side, 1 or −1.
    side: f64,
    x: f64,
    half: f64,
    run_out: f64,
    reach: f64,
    height: f64,
    /// A point of the line between the two sides, and the line's rise in y over x.
    middle: (DVec2, f64),
}

impl Border {
    fn read(item: &ElementItem, edge: &Edge) -> Border {
        let value = |id| read(PARAMS, &item.params, id);
        let (lo, hi) = edge.bounds();
        let middle = |share: f64| {
            let x = lo.x + (hi.x - lo.x) * share;
            DVec2::new(x, edge.width_at(x).map_or(0.0, |(lateral, medial)| 0.5 * (lateral + medial)))
        };
        let (rear, front) = (middle(MIDDLE_AT.0), middle(MIDDLE_AT.1));
        Border {
            side: side(PARAMS, &item.params, ON_SIDE.id),
            x: value("x_mm"),
            half: 0.5 * value("length_mm"),
            run_out: value("run_out_mm"),
            reach: value("reach_mm"),
            height: value("height_mm"),
            middle: (rear, (front.y - rear.y) / (front.x - rear.x)),
        }
    }

    /// 1 along the stretch on its side, 0 beyond the run-outs and on the other side.
    fn share(&self, p: DVec2) -> f64 {
        let beyond = (p.x - self.x).abs() - self.half;
        let (on_line, rise) = self.middle;
        let from_middle = self.side * (p.y - on_line.y - rise * (p.x - on_line.x));
        if beyond >= self.run_out || from_middle <= 0.0 {
            return 0.0;
        }
        step(1.0 - beyond / self.run_out) * step(from_middle / MIDDLE_RUN_OUT_MM)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn item(params: &[(&str, f64)]) -> ElementItem {
        let mut all = defaults(PARAMS);
        all.extend(params.iter().map(|&(id, value)| (id.to_owned(), value)));
        ElementItem::new(Flange.id(), all)
    }

    #[test]
    fn it_rises_as_a_parabola_to_its_height_at_the_edge_and_straight_on() {
        let edge = crate::test_foot::edge();
        for (choice, side) in [(0.0, 1.0), (1.0, -1.0)] {
            let item = item(&[("on_side", choice), ("height_mm", 8.0), ("reach_mm", 10.0)]);
            let shape = Flange.shape(&item, &edge);
            for x in [90.0, 108.0, 130.0] {
                let (lateral, medial) = edge.width_at(x).unwrap();
                let border = if side > 0.0 { medial } else { lateral };
                for beyond in [-12.0, -8.0, -5.0, -2.0, 0.0, 2.0, 4.0] {
                    let p = DVec2::new(x, border + side * beyond);
                    let t = 1.0 - edge.inside_mm(p) / 10.0;
                    let expected = 8.0
                        * if t < 0.0 {
                            0.0
                        } else if t < 1.0 {
                            t * t
                        } else {
                            2.0 * t - 1.0
                        };
                    assert!((shape(p) - expected).abs() < 1e-9, "{} instead of {expected} at {p}", shape(p));
                }
                // The distance from the edge is a smooth curve's, within 0.05 mm, up to which the height changes by 0.08 mm.
                assert!((shape(DVec2::new(x, border)) - 8.0).abs() < 0.08);
                let other = if side > 0.0 { lateral } else { medial };
                assert!(shape(DVec2::new(x, other)) == 0.0 && shape(DVec2::new(x, 0.5 * (medial + lateral))) == 0.0);
            }
        }
    }

    #[test]
    fn the_run_outs_are_half_way_down_in_their_middle() {
        let edge = crate::test_foot::edge();
        let shape = Flange.shape(&item(&[("x_mm", 100.0), ("length_mm", 60.0), ("run_out_mm", 40.0)]), &edge);
        for x in [50.0, 150.0] {
            let p = DVec2::new(x, edge.width_at(x).unwrap().1 - 2.0);
            let full = 6.0 * parabola(1.0 - edge.inside_mm(p) / 11.0);
            assert!((shape(p) - 0.5 * full).abs() < 1e-9);
        }
        for x in [29.0, 171.0] {
            assert!(shape(DVec2::new(x, edge.width_at(x).unwrap().1)) == 0.0);
        }
    }

    /// Round the heel and the toes both sides meet: there it must come to nothing without a crease.
    #[test]
    fn a_flange_as_long_as_the_insole_has_no_crease_at_its_ends() {
        let edge = crate::test_foot::edge();
        let shape = Flange.shape(&item(&[("length_mm", 250.0), ("x_mm", 130.0), ("run_out_mm", 60.0)]), &edge);
        let h = 1e-4;
        for x in [0.5, 3.0, 8.0, 250.0, 257.0] {
            for i in -300..300 {
                let p = DVec2::new(x, 0.1 * f64::from(i));
                let slope = |p: DVec2| (shape(p + DVec2::Y * h) - shape(p - DVec2::Y * h)) / (2.0 * h);
                assert!((slope(p) - slope(p + DVec2::Y * 0.01)).abs() < 0.05, "{p}");
            }
        }
    }

    /// On a symmetric insole the lateral flange is the medial one's mirror image.
    #[test]
    fn on_the_other_side_it_is_the_mirror_image() {
        let outline: Vec<DVec2> = (0..400)
            .map(|i| {
                let (sin, cos) = libm::sincos(std::f64::consts::TAU * f64::from(i) / 400.0);
                DVec2::new(130.0 + 135.0 * cos, 45.0 * sin)
            })
            .collect();
        let edge = Arc::new(Edge::new(&outline).unwrap());
        let sides = [0.0, 1.0].map(|side| Flange.shape(&item(&[("on_side", side)]), &edge));
        for p in [DVec2::new(100.0, 41.0), DVec2::new(150.0, 38.0), DVec2::new(60.0, 30.0), DVec2::new(90.0, -40.0)] {
            assert!((sides[0](p) - sides[1](p * DVec2::new(1.0, -1.0))).abs() < 1e-9);
        }
    }
}
