use super::figure::{Oval, about_curve, across, along, ball_line, curve_bounds, drawn, turned};
use super::{Element, ElementItem, Handle, HandleKind, Shape, Site, read, set};
use crate::Edge;
use crate::smooth::step;
use base::{ParamSpec, Params, Source, defaults};
use glam::DVec2;
use std::sync::Arc;

/// A recess under a spot that must carry less: full depth under the spot and a margin round it, then a smooth blend up to
/// the surface.
///
/// The spot is an oval, or the closed smooth curve drawn to an ulcer's or callus's outline. For the oval the depth falls as a
/// quintic in the share of the way from inner to outer oval along the ray from the centre; for a curve, in the distance from
/// it, sampled and carried by a smooth spline, so that corners and hollows of the curve make no
/// crease.
#[derive(Clone, Copy, Debug, Default)]
pub struct Relief;

const PARAMS: &[ParamSpec] = &[
    along(180.0),
    across(20.0),
    turned(0.0),
    ParamSpec::mm(
        "length_mm",
        "Spot length",
        (4.0, 80.0),
        18.0,
        1.0,
        "Length of the spot that must carry less, without the margin. A drawn outline has its own.",
    ),
    ParamSpec::mm(
        "width_mm",
        "Spot width",
        (4.0, 80.0),
        14.0,
        1.0,
        "Width of the spot, without the margin. A drawn outline has its own.",
    ),
    ParamSpec::mm("depth_mm", "Depth", (0.0, 10.0), 3.0, 0.5, "How much lower the surface lies under the spot."),
    ParamSpec::mm(
        "margin_mm",
        "Margin",
        (0.0, 15.0),
        4.0,
        0.5,
        "Full depth reaches this far beyond the spot. Common practice 3 to 5 mm.",
    ),
    ParamSpec::mm(
        "blend_mm",
        "Blend",
        (3.0, 40.0),
        12.0,
        1.0,
        "From full depth up to the surface. Common practice 10 mm or more, so that no edge is felt.",
    ),
];

/// Samples of the distance from a drawn curve, mm apart.
const CURVE_STEP_MM: f64 = 1.0;

impl Element for Relief {
    fn id(&self) -> &'static str {
        "relief"
    }

    fn label(&self) -> &'static str {
        "Relief"
    }

    fn help(&self) -> &'static str {
        "A smooth recess under a spot that must carry less, such as a prominent metatarsal head or a healed ulcer. What \
         the spot no longer carries is carried round it, so keep the blend wide."
    }

    fn caution(&self) -> &'static str {
        "The edge of a recess carries more than before: inspect the skin round it. An open ulcer needs off-loading by those \
         who treat it, not an insole alone."
    }

    fn source(&self) -> Source {
        Source::practice("Margin 3 to 5 mm and blend of 10 mm or more: common practice, no published value found")
    }

    fn params(&self) -> &'static [ParamSpec] {
        PARAMS
    }

    fn usual(&self, param: &str) -> Option<(f64, f64)> {
        match param {
            "margin_mm" => Some((3.0, 5.0)),
            "blend_mm" => Some((10.0, 40.0)),
            _ => None,
        }
    }

    fn is_drawn(&self) -> bool {
        true
    }

    /// Under the first metatarsal head, the most frequent place: a sixth of the ball's breadth in from its medial point.
    fn place(&self, site: &Site) -> Params {
        let mut params = defaults(PARAMS);
        if let Some((tibiale, fibulare)) = ball_line(site.landmarks) {
            let head = tibiale + (fibulare - tibiale) / 6.0;
            set(PARAMS, &mut params, "x_mm", head.x);
            set(PARAMS, &mut params, "y_mm", head.y);
        }
        params
    }

    fn shape(&self, item: &ElementItem, _: &Arc<Edge>) -> Shape {
        let spot = Spot::read(item);
        match drawn(item) {
            Some(curve) => {
                about_curve(&curve, spot.reach(), CURVE_STEP_MM, |out| spot.at_share((out - spot.margin) / spot.blend))
            }
            None => Box::new(move |p| spot.at_share(spot.oval.outward(p, spot.margin, spot.blend))),
        }
    }

    fn bounds(&self, item: &ElementItem, _: &Arc<Edge>) -> (DVec2, DVec2) {
        let spot = Spot::read(item);
        match drawn(item) {
            Some(curve) => curve_bounds(&curve, spot.reach(), CURVE_STEP_MM),
            None => spot.oval.bounds(spot.reach()),
        }
    }

    fn strength(&self) -> &'static str {
        "depth_mm"
    }

    fn handles(&self, item: &ElementItem, _: &Arc<Edge>) -> Vec<Handle> {
        let spot = Spot::read(item);
        let mut all = spot.oval.handles();
        if drawn(item).is_some() {
            // A drawn outline has points of its own.
            all.truncate(1);
            return all;
        }
        let across = spot.oval.axis.perp();
        all.push(Handle {
            id: "blend",
            label: "Blend",
            kind: HandleKind::Along(-across),
            at: spot.oval.centre - across * (spot.oval.half.y + spot.margin + spot.blend),
        });
        all
    }

    fn drag(&self, item: &ElementItem, _: &Arc<Edge>, handle: &str, to: DVec2) -> Params {
        let mut out = item.params.clone();
        if !to.is_finite() {
            return out;
        }
        let spot = Spot::read(item);
        match handle {
            "blend" => {
                let out_mm = -(to - spot.oval.centre).dot(spot.oval.axis.perp());
                set(PARAMS, &mut out, "blend_mm", out_mm - spot.oval.half.y - spot.margin);
            }
            _ => spot.oval.drag(PARAMS, &mut out, handle, to),
        }
        out
    }
}

/// The relief's numbers, read once.
#[derive(Clone, Copy)]
struct Spot {
    oval: Oval,
    margin: f64,
    blend: f64,
    depth: f64,
}

impl Spot {
    fn read(item: &ElementItem) -> Spot {
        let value = |id| read(PARAMS, &item.params, id);
        Spot {
            oval: Oval::read(PARAMS, item),
            margin: value("margin_mm"),
            blend: value("blend_mm"),
            depth: value("depth_mm"),
        }
    }

    /// The height this share of the way out from full depth.
    fn at_share(&self, share: f64) -> f64 {
        self.depth * (step(share) - 1.0)
    }

    /// How far beyond the spot anything changes, mm.
    fn reach(&self) -> f64 {
        self.margin + self.blend
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spot() -> Spot {
        Spot::read(&ElementItem::new("relief", defaults(PARAMS)))
    }

    #[test]
    fn full_depth_under_spot_and_margin_then_up_within_the_blend() {
        let (edge, item) = (crate::test_foot::edge(), ElementItem::new("relief", defaults(PARAMS)));
        let (shape, centre) = (Relief.shape(&item, &edge), spot().oval.centre);
        // Spot 18 × 14 mm, margin 4, blend 12, depth 3.
        for (along, across) in [(0.0, 0.0), (12.9, 0.0), (0.0, 10.9), (-12.9, 0.0)] {
            assert!((shape(centre + DVec2::new(along, across)) + 3.0).abs() < 1e-12);
        }
        // Half way through the blend, half the depth.
        for half_way in [DVec2::new(13.0 + 6.0, 0.0), DVec2::new(0.0, 11.0 + 6.0)] {
            let height = shape(centre + half_way);
            assert!((height + 1.5).abs() < 1e-12, "{height}");
        }
        assert!(shape(centre + DVec2::new(25.1, 0.0)).abs() < 1e-12);
        assert!(shape(centre + DVec2::new(0.0, 23.1)).abs() < 1e-12);
    }

    #[test]
    fn a_drawn_outline_is_relieved_to_its_full_depth_up_to_the_margin() {
        let edge = crate::test_foot::edge();
        let circle = (0..8).map(|i| 180.0 + 0.0 * f64::from(i)).enumerate().map(|(i, x)| {
            let (sin, cos) = libm::sincos(std::f64::consts::TAU * i as f64 / 8.0);
            [x + 10.0 * cos, 10.0 * sin]
        });
        let mut item = ElementItem::new("relief", defaults(PARAMS));
        item.curve = circle.collect();
        let shape = Relief.shape(&item, &edge);
        let at = |r: f64| shape(DVec2::new(180.0 + 0.6 * r, 0.8 * r));
        for r in [0.0, 8.0, 13.0] {
            assert!((at(r) + 3.0).abs() < 0.03, "{} at {r}", at(r));
        }
        assert!((at(20.0) + 1.5).abs() < 0.05, "{}", at(20.0));
        assert!(at(27.0).abs() < 0.02 && at(32.0) == 0.0);
        // Drawn the other way round it is the same.
        item.curve.reverse();
        assert!((Relief.shape(&item, &edge)(DVec2::new(190.0, 6.0)) - shape(DVec2::new(190.0, 6.0))).abs() < 1e-6);
    }

    #[test]
    fn a_curve_that_encloses_nothing_leaves_the_oval() {
        for curve in [vec![], vec![[1.0, 1.0]; 5], vec![[f64::NAN, 0.0], [1.0, 0.0], [0.0, 1.0]]] {
            let item = ElementItem { curve, ..ElementItem::new("relief", defaults(PARAMS)) };
            assert!((Relief.height(&item, &crate::test_foot::edge(), spot().oval.centre) + 3.0).abs() < 1e-12);
        }
    }
}
