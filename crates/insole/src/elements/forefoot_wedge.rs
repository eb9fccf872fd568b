use super::figure::{ball_line, mark};
use super::slopes::{CrossLine, RAISED_SIDE, SIDES, Tilt, beside_edge, facing, hinge, insole_box, within};
use super::{Element, ElementItem, Handle, HandleKind, Shape, Site, angle_deg, read, set};
use crate::Edge;
use crate::smooth::step;
use base::{ParamSpec, Params, Source, defaults};
use foot::LandmarkId;
use glam::DVec2;
use std::sync::Arc;

/// Tilts the forefoot: the surface rises by `tan(angle)` times the distance from a hinge line that runs lengthways, from a
/// line across the foot behind the metatarsal heads to the toes, and runs out to the rear.
#[derive(Clone, Copy, Debug, Default)]
pub struct ForefootWedge;

/// The full wedge begins this far behind the line through the metatarsal heads, mm. No source.
const BEHIND_HEADS_MM: f64 = 10.0;
/// Shortest run-out that is placed, mm. No source.
const LEAST_RUN_OUT_MM: f64 = 30.0;
/// The strength is taken hold of this far in front of the line from which the wedge is full, mm.
const CREST_AHEAD_MM: f64 = 20.0;

const LINE: ParamSpec = facing("line_deg");

const PARAMS: &[ParamSpec] = &[
    RAISED_SIDE,
    ParamSpec::new(
        "angle_deg",
        "Angle",
        "°",
        (0.0, 15.0),
        3.0,
        0.5,
        "By how much the forefoot is tilted. A forefoot 90 mm wide rises by 3.1 mm for 2°, by 6.3 mm for 4°, by \
         9.5 mm for 6°.",
    ),
    hinge(45.0),
    ParamSpec::mm(
        "full_from_mm",
        "Full from",
        (40.0, 300.0),
        170.0,
        1.0,
        "From the line that crosses the foot axis here up to the toes the wedge has its full height.",
    ),
    LINE,
    ParamSpec::mm(
        "run_out_mm",
        "Run-out",
        (10.0, 150.0),
        60.0,
        1.0,
        "Behind that line it takes this length to come down to nothing.",
    ),
];

impl Element for ForefootWedge {
    fn id(&self) -> &'static str {
        "forefoot_wedge"
    }

    fn label(&self) -> &'static str {
        "Forefoot wedge"
    }

    fn help(&self) -> &'static str {
        "Tilts the forefoot by an angle about a line along its low side: a medial wedge fills the room under a forefoot in \
         varus, a lateral one under a forefoot in valgus. It runs out behind the metatarsal heads."
    }

    fn caution(&self) -> &'static str {
        "The heads on the raised side carry more: inspect the skin under them in an insensate foot. The shoe must have room \
         over the toes."
    }

    fn source(&self) -> Source {
        Source::memory("Up to about 8°: usual limit, no published value found")
    }

    fn params(&self) -> &'static [ParamSpec] {
        PARAMS
    }

    fn words(&self, param: &str) -> &'static [&'static str] {
        if param == RAISED_SIDE.id { SIDES } else { &[] }
    }

    fn usual(&self, param: &str) -> Option<(f64, f64)> {
        (param == "angle_deg").then_some((0.0, 8.0))
    }

    /// Full from a little behind the line through the metatarsal heads, hinged at the lateral edge
    /// abreast of the fifth head, run out at the arch's apex.
    fn place(&self, site: &Site) -> Params {
        let mut params = defaults(PARAMS);
        let Some((tibiale, fibulare)) = ball_line(site.landmarks) else { return params };
        set(PARAMS, &mut params, LINE.id, angle_deg((fibulare - tibiale).perp()).round());
        let facing = CrossLine::new(0.0, read(PARAMS, &params, LINE.id));
        let from = facing.crossing(0.5 * (tibiale + fibulare) - facing.forward * BEHIND_HEADS_MM).round();
        set(PARAMS, &mut params, "full_from_mm", from);
        let line = CrossLine::new(from, read(PARAMS, &params, LINE.id));
        if let Some((lateral, _)) = site.edge.width_at(fibulare.x) {
            set(PARAMS, &mut params, "hinge_mm", -lateral.round());
        }
        if let Some(apex) = mark(site.landmarks, LandmarkId::ArchApex) {
            set(PARAMS, &mut params, "run_out_mm", (-line.ahead(apex)).round().max(LEAST_RUN_OUT_MM));
        }
        params
    }

    fn shape(&self, item: &ElementItem, edge: &Arc<Edge>) -> Shape {
        let wedge = Wedge::read(item);
        within(self.bounds(item, edge), move |p| {
            wedge.tilt.height(p.y) * step(1.0 + wedge.line.ahead(p) / wedge.run_out)
        })
    }

    fn bounds(&self, item: &ElementItem, edge: &Arc<Edge>) -> (DVec2, DVec2) {
        let (wedge, (lo, hi)) = (Wedge::read(item), insole_box(edge));
        (DVec2::new(wedge.line.reach(-wedge.run_out, (lo.y, hi.y)).0.min(hi.x), lo.y), hi)
    }

    fn strength(&self) -> &'static str {
        "angle_deg"
    }

    fn crest(&self, item: &ElementItem, edge: &Arc<Edge>) -> DVec2 {
        let (wedge, (lo, hi)) = (Wedge::read(item), edge.bounds());
        let edge_y = if wedge.tilt.side > 0.0 { hi.y } else { lo.y };
        beside_edge(edge, wedge.line.point(CREST_AHEAD_MM, edge_y).x, wedge.tilt.side)
    }

    fn handles(&self, item: &ElementItem, _: &Arc<Edge>) -> Vec<Handle> {
        let wedge = Wedge::read(item);
        let (hinge, back) = (wedge.hinge(), -wedge.line.forward);
        vec![
            Handle { id: "hinge", label: "Move", kind: HandleKind::Point, at: hinge },
            Handle { id: "run_out", label: "Run-out", kind: HandleKind::Along(back), at: hinge + back * wedge.run_out },
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
                set(PARAMS, &mut out, "full_from_mm", wedge.line.crossing(to));
                set(PARAMS, &mut out, "hinge_mm", wedge.tilt.hinge_at(to.y));
            }
            "run_out" => set(PARAMS, &mut out, "run_out_mm", -wedge.line.ahead(to)),
            _ => {}
        }
        out
    }
}

/// The wedge's numbers, read once.
#[derive(Clone, Copy)]
struct Wedge {
    tilt: Tilt,
    /// From here to the toes it is full.
    line: CrossLine,
    run_out: f64,
}

impl Wedge {
    fn read(item: &ElementItem) -> Wedge {
        let value = |id| read(PARAMS, &item.params, id);
        Wedge {
            tilt: Tilt::read(PARAMS, &item.params),
            line: CrossLine::new(value("full_from_mm"), value(LINE.id)),
            run_out: value("run_out_mm"),
        }
    }

    /// Where hinge and line cross.
    fn hinge(&self) -> DVec2 {
        self.line.point(0.0, self.tilt.hinge_y())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::elements::slopes::volume;

    fn item(params: &[(&str, f64)]) -> ElementItem {
        let params = params.iter().map(|&(id, value)| (id.to_owned(), value)).collect();
        ElementItem::new(ForefootWedge.id(), params)
    }

    /// 60·tan of the angle, to the hundredth.
    #[test]
    fn the_rise_over_a_width_is_the_angle_s_tangent() {
        let edge = crate::test_foot::edge();
        for (angle, rise) in [(2.0, 2.10), (4.0, 4.20), (6.0, 6.31), (8.0, 8.43)] {
            let item = item(&[("angle_deg", angle), ("hinge_mm", 30.0), ("line_deg", -14.0)]);
            for x in [190.0, 220.0, 260.0] {
                let height = ForefootWedge.height(&item, &edge, DVec2::new(x, 30.0));
                assert!((height - rise).abs() < 0.005, "{height} instead of {rise}");
            }
        }
    }

    #[test]
    fn its_volume_is_half_its_rise_by_width_and_length() {
        let edge = crate::test_foot::edge();
        let item = item(&[("angle_deg", 4.0), ("hinge_mm", 40.0), ("full_from_mm", 180.0), ("run_out_mm", 60.0)]);
        let shape = ForefootWedge.shape(&item, &edge);
        let expected = 0.5 * 80.0 * 80.0 * libm::tan(4.0_f64.to_radians()) * (60.0 + 60.0 / 2.0);
        let found = volume(&shape, DVec2::new(100.0, -50.0), DVec2::new(240.0, 40.0));
        assert!((found / expected - 1.0).abs() < 1e-3, "{found} instead of {expected}");
    }

    #[test]
    fn raised_on_the_other_side_it_is_the_mirror_image() {
        let edge = crate::test_foot::edge();
        let medial = item(&[("raised_side", 0.0), ("line_deg", -14.0)]);
        let lateral = item(&[("raised_side", 1.0), ("line_deg", 14.0)]);
        for p in [DVec2::new(220.0, 25.0), DVec2::new(170.0, -43.0), DVec2::new(140.0, 20.0), DVec2::new(155.0, -44.0)]
        {
            let (here, there) = (
                ForefootWedge.height(&medial, &edge, p),
                ForefootWedge.height(&lateral, &edge, p * DVec2::new(1.0, -1.0)),
            );
            assert!((here - there).abs() < 1e-12);
        }
        assert!(ForefootWedge.height(&medial, &edge, DVec2::new(220.0, 25.0)) > 3.0);
    }

    #[test]
    fn it_is_full_under_both_outer_heads_and_nothing_at_the_apex() {
        let (foot, edge) = (crate::test_foot::TestFoot::new(), crate::test_foot::edge());
        let params = ForefootWedge.place(&Site { landmarks: &foot.landmarks, edge: &edge });
        let item = ElementItem::new(ForefootWedge.id(), params);
        let wedge = Wedge::read(&item);
        let (tibiale, fibulare) = ball_line(&foot.landmarks).unwrap();
        for head in [tibiale, fibulare] {
            let ahead = wedge.line.ahead(head);
            assert!((ahead - BEHIND_HEADS_MM).abs() < 1.0, "{ahead}");
            let height = ForefootWedge.height(&item, &edge, head);
            assert!((height - wedge.tilt.height(head.y)).abs() < 1e-12);
        }
        assert!(ForefootWedge.height(&item, &edge, DVec2::new(108.0, 20.0)) < 0.01);
    }
}
