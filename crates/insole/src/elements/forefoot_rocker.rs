use super::figure::ball_line;
use super::slopes::{CrossLine, facing, insole_box, within};
use super::{Element, ElementItem, Face, Handle, HandleKind, Shape, Site, angle_deg, read, set};
use crate::Edge;
use crate::smooth::gentle_step;
use base::{ParamSpec, Params, Source, defaults};
use glam::DVec2;
use std::sync::Arc;

/// A build-up under the forefoot over which the foot rolls: thickest along an apex line across the foot, smoothly down to
/// nothing in front of it and behind it.
#[derive(Clone, Copy, Debug, Default)]
pub struct ForefootRocker;

/// Length of the rear run-out as placed, as a share of the insole's length. No source.
const REAR_SHARE: f64 = 0.25;

const LINE: ParamSpec = facing("angle_deg");

const PARAMS: &[ParamSpec] = &[
    ParamSpec::new(
        "apex_percent",
        "Apex",
        "%",
        (35.0, 85.0),
        60.0,
        1.0,
        "Where the apex line crosses the foot axis: share of the insole's length, from the heel's end. Usual 55 to 65 %, just \
         behind the metatarsal heads.",
    ),
    LINE,
    ParamSpec::mm("height_mm", "Height", (0.0, 20.0), 5.0, 0.5, "How much thicker the insole is along the apex line."),
    ParamSpec::mm(
        "front_mm",
        "Front run-out",
        (20.0, 150.0),
        95.0,
        1.0,
        "In front of the apex line it takes this length to come down to nothing: the shorter, the steeper it rolls.",
    ),
    ParamSpec::mm(
        "rear_mm",
        "Rear run-out",
        (20.0, 200.0),
        65.0,
        1.0,
        "Behind the apex line it takes this length to come down to nothing.",
    ),
];

impl Element for ForefootRocker {
    fn id(&self) -> &'static str {
        "forefoot_rocker"
    }

    fn label(&self) -> &'static str {
        "Forefoot rocker"
    }

    fn help(&self) -> &'static str {
        "A build-up on the underside over which the foot rolls instead of bending at the metatarsal heads, for sore or stiff \
         joints. It needs a shoe with room and a stiff sole, and does less than a rocker on the shoe's own sole."
    }

    fn caution(&self) -> &'static str {
        "A rocker makes standing less steady and the toe catch more easily: take care with poor balance, and try it on level \
         ground first. If one foot gets it, the other one may need the same height."
    }

    fn source(&self) -> Source {
        Source::memory(
            "Apex at 55 to 65 % of the length: from memory. A rocker took 15.7 % off the peak pressure at the central \
             forefoot (Postema et al. 1998, Prosthet Orthot Int)",
        )
    }

    fn params(&self) -> &'static [ParamSpec] {
        PARAMS
    }

    fn usual(&self, param: &str) -> Option<(f64, f64)> {
        (param == "apex_percent").then_some((55.0, 65.0))
    }

    fn face(&self) -> Face {
        Face::Bottom
    }

    /// Its line as the line through the metatarsal heads, its front run-out up to the insole's end.
    fn place(&self, site: &Site) -> Params {
        let mut params = defaults(PARAMS);
        if let Some((tibiale, fibulare)) = ball_line(site.landmarks) {
            set(PARAMS, &mut params, LINE.id, angle_deg((fibulare - tibiale).perp()).round());
        }
        let (lo, hi) = site.edge.bounds();
        let apex = apex_x(&params, site.edge);
        set(PARAMS, &mut params, "front_mm", (hi.x - apex).round());
        set(PARAMS, &mut params, "rear_mm", ((hi.x - lo.x) * REAR_SHARE).round());
        params
    }

    fn shape(&self, item: &ElementItem, edge: &Arc<Edge>) -> Shape {
        let rocker = Rocker::read(item, edge);
        within(self.bounds(item, edge), move |p| rocker.height_at(p))
    }

    fn bounds(&self, item: &ElementItem, edge: &Arc<Edge>) -> (DVec2, DVec2) {
        let (rocker, (lo, hi)) = (Rocker::read(item, edge), insole_box(edge));
        let sides = (lo.y, hi.y);
        let (from, to) = (rocker.apex.reach(-rocker.rear, sides).0, rocker.apex.reach(rocker.front, sides).1);
        (DVec2::new(from, lo.y), DVec2::new(to, hi.y))
    }

    fn strength(&self) -> &'static str {
        "height_mm"
    }

    fn crest(&self, item: &ElementItem, edge: &Arc<Edge>) -> DVec2 {
        Rocker::read(item, edge).apex.point(0.0, 0.0)
    }

    fn handles(&self, item: &ElementItem, edge: &Arc<Edge>) -> Vec<Handle> {
        let rocker = Rocker::read(item, edge);
        let (apex, forward) = (rocker.apex.point(0.0, 0.0), rocker.apex.forward);
        vec![
            Handle { id: "apex", label: "Move", kind: HandleKind::Along(DVec2::X), at: apex },
            Handle {
                id: "front",
                label: "Front run-out and direction",
                kind: HandleKind::Point,
                at: apex + forward * rocker.front,
            },
            Handle {
                id: "rear",
                label: "Rear run-out",
                kind: HandleKind::Along(-forward),
                at: apex - forward * rocker.rear,
            },
        ]
    }

    fn drag(&self, item: &ElementItem, edge: &Arc<Edge>, handle: &str, to: DVec2) -> Params {
        let mut out = item.params.clone();
        if !to.is_finite() {
            return out;
        }
        let rocker = Rocker::read(item, edge);
        match handle {
            "apex" => {
                let (lo, hi) = edge.bounds();
                set(PARAMS, &mut out, "apex_percent", 100.0 * (to.x - lo.x) / (hi.x - lo.x));
            }
            "front" => {
                let ahead = to - rocker.apex.point(0.0, 0.0);
                set(PARAMS, &mut out, "front_mm", ahead.length());
                if ahead.length() > f64::EPSILON {
                    set(PARAMS, &mut out, LINE.id, angle_deg(ahead));
                }
            }
            "rear" => set(PARAMS, &mut out, "rear_mm", -rocker.apex.ahead(to)),
            _ => {}
        }
        out
    }
}

/// Where the apex line crosses the foot axis.
fn apex_x(params: &Params, edge: &Edge) -> f64 {
    let (lo, hi) = edge.bounds();
    lo.x + (hi.x - lo.x) * read(PARAMS, params, "apex_percent") / 100.0
}

/// The rocker's numbers, read once.
#[derive(Clone, Copy)]
struct Rocker {
    apex: CrossLine,
    height: f64,
    front: f64,
    rear: f64,
}

impl Rocker {
    fn read(item: &ElementItem, edge: &Edge) -> Rocker {
        let value = |id| read(PARAMS, &item.params, id);
        Rocker {
            apex: CrossLine::new(apex_x(&item.params, edge), value(LINE.id)),
            height: value("height_mm"),
            front: value("front_mm"),
            rear: value("rear_mm"),
        }
    }

    fn height_at(&self, p: DVec2) -> f64 {
        let ahead = self.apex.ahead(p);
        self.height * gentle_step(1.0 - if ahead > 0.0 { ahead / self.front } else { -ahead / self.rear })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::elements::slopes::volume;

    fn item(params: &[(&str, f64)]) -> ElementItem {
        let params = params.iter().map(|&(id, value)| (id.to_owned(), value)).collect();
        ElementItem::new(ForefootRocker.id(), params)
    }

    #[test]
    fn it_is_thickest_along_the_apex_and_half_as_thick_half_way_down() {
        let edge = crate::test_foot::edge();
        let item = item(&[("height_mm", 6.0), ("front_mm", 80.0), ("rear_mm", 60.0), ("angle_deg", -15.0)]);
        let (shape, line) = (ForefootRocker.shape(&item, &edge), Rocker::read(&item, &edge).apex);
        let (lo, hi) = edge.bounds();
        assert!((line.point(0.0, 0.0).x - (lo.x + 0.6 * (hi.x - lo.x))).abs() < 1e-9);
        for y in [-30.0, 0.0, 40.0] {
            for (ahead, height) in [(0.0, 6.0), (40.0, 3.0), (-30.0, 3.0), (80.0, 0.0), (-60.0, 0.0), (99.0, 0.0)] {
                assert!((shape(line.point(ahead, y)) - height).abs() < 1e-9, "{ahead} {y}");
            }
        }
        // In its middle a cubic is half as steep again as the straight slope.
        let (before, after) = (shape(line.point(39.5, 0.0)), shape(line.point(40.5, 0.0)));
        assert!((before - after - 1.5 * 6.0 / 80.0).abs() < 1e-4);
    }

    /// Either run-out is half as large as a block of its length.
    #[test]
    fn its_volume_is_half_the_block_s() {
        let edge = crate::test_foot::edge();
        let item = item(&[("height_mm", 6.0), ("front_mm", 70.0), ("rear_mm", 50.0)]);
        let shape = ForefootRocker.shape(&item, &edge);
        let expected = 6.0 * 80.0 * 0.5 * (70.0 + 50.0);
        let found = volume(&shape, DVec2::new(90.0, -40.0), DVec2::new(250.0, 40.0));
        assert!((found / expected - 1.0).abs() < 1e-3, "{found} instead of {expected}");
    }

    #[test]
    fn it_is_placed_on_the_underside_along_the_heads_up_to_the_end() {
        let (foot, edge) = (crate::test_foot::TestFoot::new(), crate::test_foot::edge());
        let params = ForefootRocker.place(&Site { landmarks: &foot.landmarks, edge: &edge });
        let rocker = Rocker::read(&ElementItem::new(ForefootRocker.id(), params), &edge);
        let (tibiale, fibulare) = ball_line(&foot.landmarks).unwrap();
        assert!((rocker.apex.ahead(tibiale) - rocker.apex.ahead(fibulare)).abs() < 1.5);
        assert!((rocker.apex.point(0.0, 0.0).x + rocker.front - edge.bounds().1.x).abs() < 1.0);
        assert_eq!(ForefootRocker.face(), Face::Bottom);
    }
}
