use super::figure::{ball_line, mark};
use super::slopes::{insole_box, slope, within};
use super::{Element, ElementItem, Handle, HandleKind, Shape, Site, read, set};
use crate::Edge;
use base::{ParamSpec, Params, Source, defaults};
use foot::LandmarkId;
use glam::DVec2;
use std::sync::Arc;

/// Raises the whole heel by the same height, from where a straight ramp with rounded corners runs down to nothing in the
/// midfoot.
#[derive(Clone, Copy, Debug, Default)]
pub struct HeelLift;

/// The full height ends this many times as far from the pternion as the heel's centre: in front of the heel's bearing
/// area. No source.
const FULL_TO_SHARE: f64 = 1.5;
/// The ramp ends this far behind the rearmost metatarsal head, mm. No source.
const BEHIND_HEADS_MM: f64 = 20.0;
/// The ramp's corners are rounded over this length, mm, but over no more than half the ramp.
const ROUND_MM: f64 = 12.0;

const PARAMS: &[ParamSpec] = &[
    ParamSpec::mm("height_mm", "Height", (0.0, 20.0), 5.0, 0.5, "How much higher the heel stands."),
    ParamSpec::mm(
        "full_to_mm",
        "Full as far as",
        (10.0, 200.0),
        57.0,
        1.0,
        "From the back of the heel to here the lift has its full height.",
    ),
    ParamSpec::mm(
        "run_out_mm",
        "Run-out",
        (20.0, 150.0),
        90.0,
        1.0,
        "Length of the ramp from the full height down to nothing.",
    ),
];

impl Element for HeelLift {
    fn id(&self) -> &'static str {
        "heel_lift"
    }

    fn label(&self) -> &'static str {
        "Heel lift"
    }

    fn help(&self) -> &'static str {
        "Raises the whole heel evenly, for a shorter leg, a tight calf or a sore Achilles tendon, and runs down to nothing in \
         the midfoot. More than 6.4 mm seldom has room in a shoe."
    }

    fn caution(&self) -> &'static str {
        "A higher heel puts more load on the forefoot and takes depth from the heel counter: inspect an insensate forefoot, \
         and raise a shorter leg in steps."
    }

    fn source(&self) -> Source {
        Source::seen("At most 6.4 mm (1/4 inch) inside the shoe, 12.7 mm in all: encyclopaedia entry \"Heel lifts\"")
    }

    fn params(&self) -> &'static [ParamSpec] {
        PARAMS
    }

    fn usual(&self, param: &str) -> Option<(f64, f64)> {
        (param == "height_mm").then_some((0.0, 6.4))
    }

    /// Full under the heel, down to nothing a little behind the metatarsal heads.
    fn place(&self, site: &Site) -> Params {
        let mut params = defaults(PARAMS);
        let Some(heel) = mark(site.landmarks, LandmarkId::HeelCentre) else { return params };
        let full_to = (heel.x * FULL_TO_SHARE).round();
        set(PARAMS, &mut params, "full_to_mm", full_to);
        if let Some((tibiale, fibulare)) = ball_line(site.landmarks) {
            set(PARAMS, &mut params, "run_out_mm", (tibiale.x.min(fibulare.x) - BEHIND_HEADS_MM - full_to).round());
        }
        params
    }

    fn shape(&self, item: &ElementItem, edge: &Arc<Edge>) -> Shape {
        let lift = Lift::read(item);
        within(self.bounds(item, edge), move |p| lift.height_at(p.x))
    }

    fn bounds(&self, item: &ElementItem, edge: &Arc<Edge>) -> (DVec2, DVec2) {
        let (lift, (lo, hi)) = (Lift::read(item), insole_box(edge));
        (lo, DVec2::new((lift.end() + 0.5 * lift.round()).max(lo.x), hi.y))
    }

    fn strength(&self) -> &'static str {
        "height_mm"
    }

    fn crest(&self, item: &ElementItem, edge: &Arc<Edge>) -> DVec2 {
        let x = 0.5 * Lift::read(item).full_to;
        DVec2::new(x, middle(edge, x))
    }

    fn handles(&self, item: &ElementItem, edge: &Arc<Edge>) -> Vec<Handle> {
        let lift = Lift::read(item);
        // On a line that does not move with them.
        let (lo, hi) = edge.bounds();
        let y = middle(edge, 0.5 * (lo.x + hi.x));
        let along = HandleKind::Along(DVec2::X);
        vec![
            Handle { id: "full_to", label: "Move", kind: along, at: DVec2::new(lift.full_to, y) },
            Handle { id: "run_out", label: "Run-out", kind: along, at: DVec2::new(lift.end(), y) },
        ]
    }

    fn drag(&self, item: &ElementItem, _: &Arc<Edge>, handle: &str, to: DVec2) -> Params {
        let mut out = item.params.clone();
        if !to.is_finite() {
            return out;
        }
        match handle {
            "full_to" => set(PARAMS, &mut out, "full_to_mm", to.x),
            "run_out" => set(PARAMS, &mut out, "run_out_mm", to.x - Lift::read(item).full_to),
            _ => {}
        }
        out
    }
}

/// The lift's numbers, read once.
#[derive(Clone, Copy)]
struct Lift {
    height: f64,
    full_to: f64,
    run_out: f64,
}

impl Lift {
    fn read(item: &ElementItem) -> Lift {
        let value = |id| read(PARAMS, &item.params, id);
        Lift { height: value("height_mm"), full_to: value("full_to_mm"), run_out: value("run_out_mm") }
    }

    fn end(&self) -> f64 {
        self.full_to + self.run_out
    }

    fn round(&self) -> f64 {
        ROUND_MM.min(0.5 * self.run_out)
    }

    fn height_at(&self, x: f64) -> f64 {
        self.height * slope(self.end() - x, self.run_out, self.round())
    }
}

/// The insole's middle at `x`; the foot axis where the insole is not.
fn middle(edge: &Edge, x: f64) -> f64 {
    edge.width_at(x).map_or(0.0, |(lateral, medial)| 0.5 * (lateral + medial))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::elements::slopes::volume;

    fn lift() -> (ElementItem, Shape) {
        let params = [("height_mm", 6.0), ("full_to_mm", 60.0), ("run_out_mm", 80.0)];
        let item = ElementItem::new(HeelLift.id(), params.map(|(id, value)| (id.to_owned(), value)).into());
        let shape = HeelLift.shape(&item, &crate::test_foot::edge());
        (item, shape)
    }

    #[test]
    fn it_is_level_under_the_heel_and_straight_down_the_ramp() {
        let (_, shape) = lift();
        for (x, height) in [(0.0, 6.0), (54.0, 6.0), (80.0, 4.5), (100.0, 3.0), (120.0, 1.5), (146.0, 0.0)] {
            for y in [-30.0, 0.0, 25.0] {
                assert!((shape(DVec2::new(x, y)) - height).abs() < 1e-12, "at {x}");
            }
        }
    }

    /// A trapezium by the width: what is rounded off one corner is added in the other.
    #[test]
    fn its_volume_is_that_of_block_and_ramp() {
        let (_, shape) = lift();
        let expected = 6.0 * 60.0 * (60.0 + 80.0 / 2.0);
        let found = volume(&shape, DVec2::new(0.0, -30.0), DVec2::new(160.0, 30.0));
        assert!((found / expected - 1.0).abs() < 1e-3, "{found} instead of {expected}");
    }

    #[test]
    fn it_is_placed_to_end_behind_the_heads() {
        let (foot, edge) = (crate::test_foot::TestFoot::new(), crate::test_foot::edge());
        let params = HeelLift.place(&Site { landmarks: &foot.landmarks, edge: &edge });
        let shape = HeelLift.shape(&ElementItem::new(HeelLift.id(), params), &edge);
        assert!((shape(DVec2::new(38.0, 0.0)) - 5.0).abs() < 1e-12 && shape(DVec2::new(160.0, 0.0)) == 0.0);
    }
}
