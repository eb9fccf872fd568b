use super::figure::{Well, across, along, choice, foot_direction, heel, turned};
use super::{Element, ElementItem, Handle, HandleKind, Shape, Site, angle_deg, read, set};
use crate::Edge;
use base::{ParamSpec, Params, Source, defaults};
use glam::DVec2;
use std::sync::Arc;

/// A small deep recess under the painful spot of the heel with a wide blend: round, or open to the front, so that a
/// horseshoe of support stays round the spot.
///
/// Open, the recess is drawn out by a channel as wide as itself, which adds `depth length (width + blend)` to its volume.
#[derive(Clone, Copy, Debug, Default)]
pub struct HeelSpurRecess;

const OUTLINE_WORDS: &[&str] = &["Round", "Open to the front"];

const PARAMS: &[ParamSpec] = &[
    along(44.0),
    across(4.0),
    turned(0.0),
    ParamSpec::choice(
        "outline",
        "Outline",
        OUTLINE_WORDS.len() as u8,
        "Round: support all round the spot. Open to the front: a horseshoe of support behind and beside it.",
    ),
    ParamSpec::mm(
        "length_mm",
        "Length",
        (6.0, 50.0),
        16.0,
        1.0,
        "Length of the floor under the spot, without a channel.",
    ),
    ParamSpec::mm("width_mm", "Width", (6.0, 50.0), 14.0, 1.0, "Width of the floor."),
    ParamSpec::mm("depth_mm", "Depth", (0.0, 10.0), 4.0, 0.5, "How much lower the floor lies than the surface."),
    ParamSpec::mm("blend_mm", "Blend", (4.0, 30.0), 12.0, 1.0, "From the floor up to the surface, all round."),
    ParamSpec::mm(
        "channel_mm",
        "Channel",
        (0.0, 80.0),
        20.0,
        1.0,
        "How far the floor goes on to the front. Counts only where the recess is open to the front.",
    ),
];

/// The spot lies this far in front of the heel centre and medial of it, as shares of the insole's width at the heel: under
/// the medial process of the heel bone. No source for the numbers; where it hurts decides.
const SPOT: DVec2 = DVec2::new(0.1, 0.07);

impl Element for HeelSpurRecess {
    fn id(&self) -> &'static str {
        "heel_spur_recess"
    }

    fn label(&self) -> &'static str {
        "Heel spur recess"
    }

    fn help(&self) -> &'static str {
        "A small deep recess under the painful spot of the heel, round or open to the front as in a horseshoe. Where it hurts \
         decides its place, not where a spur is seen."
    }

    fn caution(&self) -> &'static str {
        "The border of the recess carries more than before: keep the blend wide, and see that enough is left below the floor."
    }

    fn source(&self) -> Source {
        Source::practice("Place and size: common practice, no published value found")
    }

    fn params(&self) -> &'static [ParamSpec] {
        PARAMS
    }

    fn words(&self, param: &str) -> &'static [&'static str] {
        if param == "outline" { OUTLINE_WORDS } else { &[] }
    }

    fn usual(&self, param: &str) -> Option<(f64, f64)> {
        match param {
            "depth_mm" => Some((3.0, 6.0)),
            "blend_mm" => Some((10.0, 30.0)),
            _ => None,
        }
    }

    /// A little in front of the heel centre and medial of it.
    fn place(&self, site: &Site) -> Params {
        let mut params = defaults(PARAMS);
        let Some(heel) = heel(site.landmarks) else { return params };
        let width = site.edge.width_at(heel.x).map_or(0.0, |(lateral, medial)| medial - lateral);
        let axis = foot_direction(site.landmarks);
        let spot = heel + (axis * SPOT.x + axis.perp() * SPOT.y) * width;
        set(PARAMS, &mut params, "x_mm", spot.x);
        set(PARAMS, &mut params, "y_mm", spot.y);
        set(PARAMS, &mut params, "angle_deg", angle_deg(axis));
        params
    }

    fn shape(&self, item: &ElementItem, _: &Arc<Edge>) -> Shape {
        let spot = Spot::read(item);
        Box::new(move |p| -spot.depth * spot.well.share(p - spot.along_channel(p)))
    }

    fn bounds(&self, item: &ElementItem, _: &Arc<Edge>) -> (DVec2, DVec2) {
        let spot = Spot::read(item);
        let (lo, hi) = spot.well.bounds();
        let way = spot.well.oval.axis * spot.channel;
        (lo.min(lo + way), hi.max(hi + way))
    }

    fn strength(&self) -> &'static str {
        "depth_mm"
    }

    fn crest(&self, item: &ElementItem, _: &Arc<Edge>) -> DVec2 {
        Spot::read(item).well.oval.centre
    }

    fn handles(&self, item: &ElementItem, _: &Arc<Edge>) -> Vec<Handle> {
        let spot = Spot::read(item);
        let mut all = spot.well.handles();
        if is_open(item) {
            let axis = spot.well.oval.axis;
            let at = spot.well.oval.centre + axis * (spot.well.oval.half.x + spot.well.blend + spot.channel);
            all.push(Handle { id: "channel", label: "Channel", kind: HandleKind::Along(axis), at });
        }
        all
    }

    fn drag(&self, item: &ElementItem, _: &Arc<Edge>, handle: &str, to: DVec2) -> Params {
        let mut out = item.params.clone();
        if !to.is_finite() {
            return out;
        }
        let well = Spot::read(item).well;
        match handle {
            "channel" => {
                set(PARAMS, &mut out, "channel_mm", well.oval.local(to).x - well.oval.half.x - well.blend);
            }
            _ => well.drag(PARAMS, &mut out, handle, to),
        }
        out
    }
}

/// The recess's numbers, read once.
#[derive(Clone, Copy)]
struct Spot {
    well: Well,
    depth: f64,
    /// 0 where it is not open.
    channel: f64,
}

impl Spot {
    fn read(item: &ElementItem) -> Spot {
        let value = |id| read(PARAMS, &item.params, id);
        Spot {
            well: Well::read(PARAMS, item),
            depth: value("depth_mm"),
            channel: if is_open(item) { value("channel_mm") } else { 0.0 },
        }
    }

    /// The part of the way from the spot to `p` that lies along the channel.
    fn along_channel(&self, p: DVec2) -> DVec2 {
        self.well.oval.axis * self.well.oval.local(p).x.clamp(0.0, self.channel)
    }
}

fn is_open(item: &ElementItem) -> bool {
    choice(PARAMS, &item.params, "outline") == 1
}

#[cfg(test)]
mod tests {
    use super::super::figure::volume_mm3;
    use super::*;
    use crate::test_foot::TestFoot;

    fn item(outline: f64) -> ElementItem {
        let mut item = ElementItem::new("heel_spur_recess", defaults(PARAMS));
        item.params.extend([("outline".to_owned(), outline), ("length_mm".to_owned(), 14.0)]);
        item
    }

    #[test]
    fn it_lies_in_front_of_the_heel_centre_and_medial_of_it() {
        let (foot, edge) = (TestFoot::new(), crate::test_foot::edge());
        let params = HeelSpurRecess.place(&Site { landmarks: &foot.landmarks, edge: &edge });
        // 0.1 and 0.07 of a heel 60 mm wide, in front of (38, −2).
        let from = DVec2::new(params["x_mm"], params["y_mm"]) - DVec2::new(38.0, -2.0);
        let (lateral, medial) = edge.width_at(38.0).unwrap();
        assert!((from.length() - 0.149_f64.sqrt() / 10.0_f64.sqrt() * (medial - lateral)).abs() < 1e-9, "{from}");
        assert!(from.x > 4.0 && from.y > 3.0, "{from}");
    }

    #[test]
    fn a_channel_adds_its_section_times_its_length() {
        let edge = crate::test_foot::edge();
        let volume = |outline: f64| {
            let item = item(outline);
            volume_mm3(&HeelSpurRecess.shape(&item, &edge), HeelSpurRecess.bounds(&item, &edge), 0.2)
        };
        // Radius 7 mm, blend 12, depth 4: see `Well`; the channel 20 mm long.
        let round = -4.0 * std::f64::consts::PI * (7.0 * 7.0 + 7.0 * 12.0 + 2.0 * 144.0 / 7.0);
        let open = round - 4.0 * 20.0 * (14.0 + 12.0);
        for (outline, expected) in [(0.0, round), (1.0, open)] {
            assert!((volume(outline) / expected - 1.0).abs() < 1e-3, "{} mm³ for {expected}", volume(outline));
        }
    }

    #[test]
    fn open_it_is_deep_to_the_front_and_as_before_behind() {
        let edge = crate::test_foot::edge();
        let (round, open) = (HeelSpurRecess.shape(&item(0.0), &edge), HeelSpurRecess.shape(&item(1.0), &edge));
        let at = |along: f64, across: f64| DVec2::new(44.0 + along, 4.0 + across);
        assert!((open(at(26.0, 0.0)) + 4.0).abs() < 1e-12 && round(at(26.0, 0.0)) == 0.0);
        for p in [at(-9.0, 3.0), at(-12.0, -7.0), at(0.0, 11.0)] {
            assert!(open(p) < 0.0 && (open(p) - round(p)).abs() < 1e-12);
        }
    }
}
