use super::figure::{across, along, mark};
use super::slopes::slope;
use super::{Element, ElementItem, Handle, HandleKind, Shape, Site, read, set};
use crate::Edge;
use crate::smooth::step;
use base::{ParamSpec, Params, Source, defaults};
use foot::LandmarkId;
use glam::DVec2;
use std::sync::Arc;

/// A raised flat in the heel cup, medial of the heel's middle line.
///
/// From the middle line it rises straight at the slope to the depth, stays there and runs out to nothing at the edge and in
/// front of the heel. Where the heel is too narrow for that, the slope becomes steeper: the depth is kept.
#[derive(Clone, Copy, Debug, Default)]
pub struct MedialHeelSkive;

/// It comes down to nothing over this length at the edge, mm. No source.
const EDGE_RUN_OUT_MM: f64 = 10.0;
/// The corners of the slope are rounded over this length, mm.
const ROUND_MM: f64 = 3.0;
/// The slope is at least this long, mm, whatever the depth and the room.
const LEAST_SLOPE_MM: f64 = 3.0;
/// Room from the middle line to the medial edge where the insole is not, mm.
const USUAL_ROOM_MM: f64 = 30.0;

const PARAMS: &[ParamSpec] = &[
    along(38.0),
    across(0.0),
    ParamSpec::mm(
        "depth_mm",
        "Skive depth",
        (0.0, 10.0),
        4.0,
        0.5,
        "How much higher the flat lies than the cup below it. In a trial 2 mm did nothing, 4 and 6 mm raised the peak \
         pressure medially.",
    ),
    ParamSpec::deg(
        "slope_deg",
        "Slope",
        (5.0, 40.0),
        15.0,
        "How steeply it rises from the heel's middle line, usually 15°. Steeper where the heel is too narrow for the depth.",
    ),
    ParamSpec::mm(
        "front_mm",
        "Full in front of the middle",
        (0.0, 60.0),
        15.0,
        1.0,
        "It keeps its height this far in front of its middle.",
    ),
    ParamSpec::mm(
        "run_out_mm",
        "Run-out",
        (10.0, 80.0),
        30.0,
        1.0,
        "From there it takes this length to come to nothing.",
    ),
];

impl Element for MedialHeelSkive {
    fn id(&self) -> &'static str {
        "medial_heel_skive"
    }

    fn label(&self) -> &'static str {
        "Medial heel skive"
    }

    fn help(&self) -> &'static str {
        "A raised flat in the medial half of the heel cup that pushes against a heel that falls inwards, medial of the axis \
         of the subtalar joint. Make the cup at least 14 mm deep with it."
    }

    fn caution(&self) -> &'static str {
        "It raises the pressure under the medial heel on purpose, by 15 % at 4 mm and 29 % at 6 mm in a trial: avoid it under \
         an insensate or thinly padded heel, or inspect the skin often."
    }

    fn source(&self) -> Source {
        Source::seen("Depth: Bonanno et al. 2012 (2, 4 and 6 mm). The slope of 15° is from memory")
    }

    fn params(&self) -> &'static [ParamSpec] {
        PARAMS
    }

    fn usual(&self, param: &str) -> Option<(f64, f64)> {
        (param == "depth_mm").then_some((2.0, 6.0))
    }

    /// On the heel's centre, its middle line half way between the edges.
    fn place(&self, site: &Site) -> Params {
        let mut params = defaults(PARAMS);
        if let Some(heel) = mark(site.landmarks, LandmarkId::HeelCentre) {
            set(PARAMS, &mut params, "x_mm", heel.x);
            let middle = site.edge.width_at(heel.x).map_or(heel.y, |(lateral, medial)| 0.5 * (lateral + medial));
            set(PARAMS, &mut params, "y_mm", middle);
        }
        params
    }

    fn shape(&self, item: &ElementItem, edge: &Arc<Edge>) -> Shape {
        let (skive, edge) = (Skive::read(item, edge), Arc::clone(edge));
        Box::new(move |p| {
            let height = skive.before_edge(p);
            if height == 0.0 { 0.0 } else { height * step(edge.inside_mm(p) / EDGE_RUN_OUT_MM) }
        })
    }

    fn bounds(&self, item: &ElementItem, edge: &Arc<Edge>) -> (DVec2, DVec2) {
        let (skive, (lo, hi)) = (Skive::read(item, edge), edge.bounds());
        // The edge is a smooth curve near the polygon that the box is taken from.
        let (lo, hi) = (lo - 1.0, hi + 1.0);
        let corner = DVec2::new(lo.x, skive.middle.y.min(hi.y));
        (corner, hi.min(DVec2::new(skive.end(), hi.y)).max(corner))
    }

    fn strength(&self) -> &'static str {
        "depth_mm"
    }

    fn crest(&self, item: &ElementItem, edge: &Arc<Edge>) -> DVec2 {
        let skive = Skive::read(item, edge);
        skive.middle + DVec2::Y * (skive.slope + ROUND_MM)
    }

    fn handles(&self, item: &ElementItem, edge: &Arc<Edge>) -> Vec<Handle> {
        let skive = Skive::read(item, edge);
        let along = HandleKind::Along(DVec2::X);
        vec![
            Handle { id: "middle", label: "Move", kind: HandleKind::Point, at: skive.middle },
            Handle { id: "front", label: "Full as far as", kind: along, at: skive.middle + DVec2::X * skive.front },
            Handle {
                id: "run_out",
                label: "Run-out",
                kind: along,
                at: skive.middle + DVec2::X * (skive.front + skive.run_out),
            },
        ]
    }

    fn drag(&self, item: &ElementItem, edge: &Arc<Edge>, handle: &str, to: DVec2) -> Params {
        let mut out = item.params.clone();
        if !to.is_finite() {
            return out;
        }
        let skive = Skive::read(item, edge);
        let ahead = to.x - skive.middle.x;
        match handle {
            "middle" => {
                set(PARAMS, &mut out, "x_mm", to.x);
                set(PARAMS, &mut out, "y_mm", to.y);
            }
            "front" => set(PARAMS, &mut out, "front_mm", ahead),
            "run_out" => set(PARAMS, &mut out, "run_out_mm", ahead - skive.front),
            _ => {}
        }
        out
    }
}

/// The skive's numbers, read once.
#[derive(Clone, Copy)]
struct Skive {
    middle: DVec2,
    depth: f64,
    /// Length of the slope, mm, between the middles of its rounded corners.
    slope: f64,
    front: f64,
    run_out: f64,
}

impl Skive {
    fn read(item: &ElementItem, edge: &Edge) -> Skive {
        let value = |id| read(PARAMS, &item.params, id);
        let middle = DVec2::new(value("x_mm"), value("y_mm"));
        let room = edge.width_at(middle.x).map_or(USUAL_ROOM_MM, |(_, medial)| medial - middle.y);
        let wanted = value("depth_mm") / libm::tan(value("slope_deg").to_radians());
        Skive {
            middle,
            depth: value("depth_mm"),
            slope: wanted.min(room - EDGE_RUN_OUT_MM - ROUND_MM).max(LEAST_SLOPE_MM),
            front: value("front_mm"),
            run_out: value("run_out_mm"),
        }
    }

    fn end(&self) -> f64 {
        self.middle.x + self.front + self.run_out
    }

    /// The height if there were no edge.
    fn before_edge(&self, p: DVec2) -> f64 {
        let from_middle = p.y - self.middle.y;
        if from_middle <= 0.0 || p.x >= self.end() {
            return 0.0;
        }
        self.depth * slope(from_middle - 0.5 * ROUND_MM, self.slope, ROUND_MM) * step((self.end() - p.x) / self.run_out)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn placed(depth: f64) -> ElementItem {
        let (foot, edge) = (crate::test_foot::TestFoot::new(), crate::test_foot::edge());
        let mut params = MedialHeelSkive.place(&Site { landmarks: &foot.landmarks, edge: &edge });
        params.insert("depth_mm".to_owned(), depth);
        ElementItem::new(MedialHeelSkive.id(), params)
    }

    #[test]
    fn it_rises_at_its_slope_to_its_depth() {
        let edge = crate::test_foot::edge();
        for depth in [2.0, 4.0, 6.0] {
            let item = placed(depth);
            let (skive, shape) = (Skive::read(&item, &edge), MedialHeelSkive.shape(&item, &edge));
            let at = |across: f64| shape(skive.middle + DVec2::Y * across);
            // Half way up in the middle of the slope.
            assert!((at(0.5 * (ROUND_MM + skive.slope)) - 0.5 * depth).abs() < 1e-6, "{depth}");
            assert!((shape(MedialHeelSkive.crest(&item, &edge)) - depth).abs() < 1e-6, "{depth}");
            let most = (0..300).map(|i| at(f64::from(i) * 0.1)).fold(0.0, f64::max);
            assert!((most - depth).abs() < 1e-6, "{most} instead of {depth}");
        }
        // 4 mm up at 15° takes 14.9 mm, for which this heel has room.
        let (item, tan) = (placed(4.0), libm::tan(15.0_f64.to_radians()));
        let (skive, shape) = (Skive::read(&item, &edge), MedialHeelSkive.shape(&item, &edge));
        assert!((skive.slope - 4.0 / tan).abs() < 1e-12);
        let at = |across: f64| shape(skive.middle + DVec2::Y * across);
        assert!(((at(10.0) - at(5.0)) / 5.0 - tan).abs() < 1e-9);
    }

    #[test]
    fn it_is_nothing_on_the_middle_line_the_lateral_half_and_the_edge() {
        let (edge, item) = (crate::test_foot::edge(), placed(6.0));
        let (skive, shape) = (Skive::read(&item, &edge), MedialHeelSkive.shape(&item, &edge));
        for x in [2.0, 20.0, 38.0, 60.0, 80.0] {
            for across in [0.0, -5.0, -20.0] {
                assert!(shape(DVec2::new(x, skive.middle.y + across)) == 0.0);
            }
            // The edge of `inside_mm` is a smooth curve within 0.05 mm of the polygon.
            assert!(shape(DVec2::new(x, edge.width_at(x).unwrap().1)) < 1e-3);
        }
        assert!(shape(DVec2::new(skive.end(), 20.0)) == 0.0);
    }

    /// Medial is +y on either foot: it follows its middle, and never crosses to the other side.
    #[test]
    fn moved_across_it_stays_medial_of_its_middle_line() {
        let (edge, mut item) = (crate::test_foot::edge(), placed(4.0));
        item.params.insert("y_mm".to_owned(), -15.0);
        let shape = MedialHeelSkive.shape(&item, &edge);
        assert!(shape(DVec2::new(38.0, -16.0)) == 0.0 && shape(DVec2::new(38.0, 5.0)) > 3.9);
    }
}
