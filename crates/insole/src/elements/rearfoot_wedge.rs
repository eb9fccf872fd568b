use super::figure::mark;
use super::slopes::{RAISED_SIDE, SIDES, Tilt, beside_edge, hinge, insole_box, within};
use super::{Element, ElementItem, Handle, HandleKind, Shape, Site, read, set};
use crate::Edge;
use crate::smooth::step_over;
use base::{ParamSpec, Params, Source, defaults};
use foot::LandmarkId;
use glam::DVec2;
use std::sync::Arc;

/// Tilts the heel: the surface rises by `tan(angle)` times the distance from a hinge line that runs lengthways, under the
/// whole heel, and runs out in the midfoot.
#[derive(Clone, Copy, Debug, Default)]
pub struct RearfootWedge;

/// The full wedge ends this many times as far from the pternion as the heel's centre: in front of the heel's bearing area.
/// No source.
const FULL_TO_SHARE: f64 = 1.5;
/// Shortest run-out that is placed, mm. No source.
const LEAST_RUN_OUT_MM: f64 = 40.0;

const PARAMS: &[ParamSpec] = &[
    RAISED_SIDE,
    ParamSpec::new(
        "angle_deg",
        "Angle",
        "°",
        (0.0, 15.0),
        4.0,
        0.5,
        "By how much the heel is tilted. A heel 60 mm wide rises by 2.1 mm for 2°, by 4.2 mm for 4°, by 6.3 mm \
         for 6°.",
    ),
    hinge(28.0),
    ParamSpec::mm(
        "full_to_mm",
        "Full as far as",
        (10.0, 200.0),
        57.0,
        1.0,
        "From the back of the heel to here the wedge has its full height.",
    ),
    ParamSpec::mm(
        "run_out_mm",
        "Run-out",
        (10.0, 150.0),
        50.0,
        1.0,
        "From here on it takes this length to come down to nothing.",
    ),
];

impl Element for RearfootWedge {
    fn id(&self) -> &'static str {
        "rearfoot_wedge"
    }

    fn label(&self) -> &'static str {
        "Rearfoot wedge"
    }

    fn help(&self) -> &'static str {
        "Tilts the heel by an angle about a line along its low side: a medial wedge against a heel that falls inwards, a \
         lateral one against a heel that falls outwards. It runs out in the midfoot."
    }

    fn caution(&self) -> &'static str {
        "A tilt moves load to the low side and acts on the ankle, the knee and the hip: begin with a small angle, watch the \
         gait, and inspect the skin of an insensate foot."
    }

    fn source(&self) -> Source {
        Source::memory(
            "Up to about 6°: usual limit, no published value found. Wedges of 4° and 8° were tried by Sweeney et al. 2015, J \
             Rehabil Res Dev 52:543",
        )
    }

    fn params(&self) -> &'static [ParamSpec] {
        PARAMS
    }

    fn words(&self, param: &str) -> &'static [&'static str] {
        if param == RAISED_SIDE.id { SIDES } else { &[] }
    }

    fn usual(&self, param: &str) -> Option<(f64, f64)> {
        (param == "angle_deg").then_some((0.0, 6.0))
    }

    /// Hinged at the lateral edge abreast of the heel's centre, so that the whole heel tilts; run out at the arch's apex.
    fn place(&self, site: &Site) -> Params {
        let mut params = defaults(PARAMS);
        let Some(heel) = mark(site.landmarks, LandmarkId::HeelCentre) else { return params };
        if let Some((lateral, _)) = site.edge.width_at(heel.x) {
            set(PARAMS, &mut params, "hinge_mm", -lateral.round());
        }
        let full_to = (heel.x * FULL_TO_SHARE).round();
        set(PARAMS, &mut params, "full_to_mm", full_to);
        if let Some(apex) = mark(site.landmarks, LandmarkId::ArchApex) {
            set(PARAMS, &mut params, "run_out_mm", (apex.x - full_to).round().max(LEAST_RUN_OUT_MM));
        }
        params
    }

    fn shape(&self, item: &ElementItem, edge: &Arc<Edge>) -> Shape {
        let wedge = Wedge::read(item);
        within(self.bounds(item, edge), move |p| {
            wedge.tilt.height(p.y) * step_over(wedge.full_to + wedge.run_out, wedge.full_to, p.x)
        })
    }

    fn bounds(&self, item: &ElementItem, edge: &Arc<Edge>) -> (DVec2, DVec2) {
        let (wedge, (lo, hi)) = (Wedge::read(item), insole_box(edge));
        (lo, DVec2::new((wedge.full_to + wedge.run_out).max(lo.x), hi.y))
    }

    fn strength(&self) -> &'static str {
        "angle_deg"
    }

    fn crest(&self, item: &ElementItem, edge: &Arc<Edge>) -> DVec2 {
        let wedge = Wedge::read(item);
        beside_edge(edge, wedge.full_to, wedge.tilt.side)
    }

    fn handles(&self, item: &ElementItem, _: &Arc<Edge>) -> Vec<Handle> {
        let wedge = Wedge::read(item);
        let hinge = DVec2::new(wedge.full_to, wedge.tilt.hinge_y());
        vec![
            Handle { id: "hinge", label: "Move", kind: HandleKind::Point, at: hinge },
            Handle {
                id: "run_out",
                label: "Run-out",
                kind: HandleKind::Along(DVec2::X),
                at: hinge + DVec2::X * wedge.run_out,
            },
        ]
    }

    fn drag(&self, item: &ElementItem, _: &Arc<Edge>, handle: &str, to: DVec2) -> Params {
        let mut out = item.params.clone();
        if !to.is_finite() {
            return out;
        }
        let wedge = Wedge::read(item);
        match handle {
            "hinge" => {
                set(PARAMS, &mut out, "full_to_mm", to.x);
                set(PARAMS, &mut out, "hinge_mm", wedge.tilt.hinge_at(to.y));
            }
            "run_out" => set(PARAMS, &mut out, "run_out_mm", to.x - wedge.full_to),
            _ => {}
        }
        out
    }
}

/// The wedge's numbers, read once.
#[derive(Clone, Copy)]
struct Wedge {
    tilt: Tilt,
    full_to: f64,
    run_out: f64,
}

impl Wedge {
    fn read(item: &ElementItem) -> Wedge {
        let value = |id| read(PARAMS, &item.params, id);
        Wedge { tilt: Tilt::read(PARAMS, &item.params), full_to: value("full_to_mm"), run_out: value("run_out_mm") }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::elements::slopes::volume;

    fn item(params: &[(&str, f64)]) -> ElementItem {
        let params = params.iter().map(|&(id, value)| (id.to_owned(), value)).collect();
        ElementItem::new(RearfootWedge.id(), params)
    }

    /// 60·tan of the angle: rises over a heel 60 mm wide, to the hundredth.
    #[test]
    fn the_rise_over_a_width_is_the_angle_s_tangent() {
        let edge = crate::test_foot::edge();
        for (angle, rise) in [(2.0, 2.10), (4.0, 4.20), (6.0, 6.31), (8.0, 8.43)] {
            let item = item(&[("angle_deg", angle), ("hinge_mm", 30.0), ("full_to_mm", 60.0)]);
            for x in [0.0, 20.0, 60.0] {
                let height = RearfootWedge.height(&item, &edge, DVec2::new(x, 30.0));
                assert!((height - rise).abs() < 0.005, "{height} instead of {rise}");
            }
        }
    }

    /// A prism with a triangle for its base, to the middle of the run-out.
    #[test]
    fn its_volume_is_half_its_rise_by_width_and_length() {
        let edge = crate::test_foot::edge();
        let item = item(&[("angle_deg", 6.0), ("hinge_mm", 30.0), ("full_to_mm", 60.0), ("run_out_mm", 50.0)]);
        let shape = RearfootWedge.shape(&item, &edge);
        let expected = 0.5 * 60.0 * 60.0 * libm::tan(6.0_f64.to_radians()) * (60.0 + 50.0 / 2.0);
        let found = volume(&shape, DVec2::new(0.0, -40.0), DVec2::new(120.0, 30.0));
        assert!((found / expected - 1.0).abs() < 1e-3, "{found} instead of {expected}");
    }

    #[test]
    fn raised_on_the_other_side_it_is_the_mirror_image() {
        let edge = crate::test_foot::edge();
        let (medial, lateral) = (item(&[("raised_side", 0.0)]), item(&[("raised_side", 1.0)]));
        for p in [DVec2::new(20.0, 25.0), DVec2::new(50.0, -29.0), DVec2::new(80.0, 3.0), DVec2::new(30.0, -27.0)] {
            let (here, there) = (
                RearfootWedge.height(&medial, &edge, p),
                RearfootWedge.height(&lateral, &edge, p * DVec2::new(1.0, -1.0)),
            );
            assert!((here - there).abs() < 1e-12);
        }
        assert!(RearfootWedge.height(&medial, &edge, DVec2::new(30.0, 25.0)) > 3.0);
    }

    #[test]
    fn the_whole_heel_tilts_where_it_is_placed() {
        let foot = crate::test_foot::TestFoot::new();
        let edge = crate::test_foot::edge();
        let params = RearfootWedge.place(&Site { landmarks: &foot.landmarks, edge: &edge });
        let (lateral, medial) = edge.width_at(38.0).unwrap();
        let shape = RearfootWedge.shape(&ElementItem::new(RearfootWedge.id(), params), &edge);
        assert!(shape(DVec2::new(38.0, lateral)) < 0.1);
        let rise = (medial - lateral) * libm::tan(4.0_f64.to_radians());
        assert!((shape(DVec2::new(38.0, medial)) - rise).abs() < 0.05);
    }
}
