use super::figure::{Plate, PlatePlace, across, along, edge_beside, foot_direction, head, tip, turned};
use super::{Element, ElementItem, Handle, Shape, Site, read, set};
use crate::Edge;
use base::{ParamSpec, Params, Source, defaults};
use glam::DVec2;
use std::sync::Arc;

/// A raised platform under the rays 2 to 5, flat on top, from behind their heads to the roots of the toes and over the
/// lateral edge: the first ray lies lower beside it. Its ends are slanted as the heads lie.
#[derive(Clone, Copy, Debug, Default)]
pub struct ReverseExtension;

const PARAMS: &[ParamSpec] = &[
    along(192.0),
    across(-18.0),
    turned(0.0),
    ParamSpec::mm("length_mm", "Length", (10.0, 160.0), 40.0, 1.0, "Length of the flat top, along the rays."),
    ParamSpec::mm(
        "width_mm",
        "Width",
        (10.0, 140.0),
        75.0,
        1.0,
        "Width of the flat top. It may reach beyond the lateral edge of the insole, where it is cut off.",
    ),
    ParamSpec::deg(
        "slant_deg",
        "Slant",
        (-50.0, 50.0),
        22.0,
        "How far front and rear end are turned from square to the length; positive: their lateral part lies further back.",
    ),
    ParamSpec::mm("height_mm", "Height", (0.0, 10.0), 3.0, 0.5, "Height of the flat top over the surface below."),
    ParamSpec::mm("blend_mm", "Blend", (3.0, 40.0), 8.0, 1.0, "From the flat top down to the surface, all round."),
];

/// The flat top begins this far behind the heads, as a share of the breadth of the ball. No source.
const BEHIND_HEADS: f64 = 0.15;
/// It ends at this share of the way from the second head to the tip of its toe, about where the toe leaves the ball; and
/// where the tip is not known, at this share of the breadth of the ball in front of the head. No source.
const TOE_ROOT: (f64, f64) = (0.4, 0.25);

impl Element for ReverseExtension {
    fn id(&self) -> &'static str {
        "reverse_extension"
    }

    fn label(&self) -> &'static str {
        "Reverse first ray extension"
    }

    fn help(&self) -> &'static str {
        "A raised platform under the rays 2 to 5 that leaves the first ray lower, so that its head carries less and can drop. \
         Its medial side belongs between the first and the second ray."
    }

    fn caution(&self) -> &'static str {
        "It loads the heads 2 to 5, where feet that do not feel often ulcerate, and its medial side is an edge: keep the blend \
         wide and inspect the skin."
    }

    fn source(&self) -> Source {
        Source::practice("Place and size: common practice, no published value found")
    }

    fn params(&self) -> &'static [ParamSpec] {
        PARAMS
    }

    fn usual(&self, param: &str) -> Option<(f64, f64)> {
        match param {
            "height_mm" => Some((2.0, 5.0)),
            _ => None,
        }
    }

    /// From behind the heads 2 to 5 to the roots of the toes, from between the first and the second ray over the lateral edge.
    fn place(&self, site: &Site) -> Params {
        let mut params = defaults(PARAMS);
        let heads = [1, 2, 5].map(|ray| head(site.landmarks, ray));
        let [Some(first), Some(second), Some(fifth)] = heads else { return params };
        let axis = foot_direction(site.landmarks);
        let local = |p: DVec2| DVec2::new(p.dot(axis), p.dot(axis.perp()));
        let (first, second, fifth) = (local(first), local(second), local(fifth));
        let breadth = first.distance(fifth);
        if second.y <= fifth.y {
            return params;
        }
        // No line of heads is turned by more than 45°.
        let slope = ((second.x - fifth.x) / (second.y - fifth.y)).clamp(-1.0, 1.0);
        let front = tip(site.landmarks, 2)
            .map_or(second.x + breadth * TOE_ROOT.1, |tip| second.x + (local(tip).x - second.x) * TOE_ROOT.0);
        let rear = second.x - breadth * BEHIND_HEADS;
        let blend = read(PARAMS, &params, "blend_mm");
        let lateral = edge_beside(site.edge, axis, (fifth.x - breadth, front), -1.0).unwrap_or(fifth.y - blend) - blend;
        let medial = (first.y + second.y) / 2.0;
        // In the middle of its width, where the slanted ends lie further back than at the second head.
        let back = slope * (second.y - (lateral + medial) / 2.0);
        PlatePlace { axis, ends: (rear - back, front - back), sides: (lateral, medial) }.set(PARAMS, &mut params);
        set(PARAMS, &mut params, "slant_deg", libm::atan(slope).to_degrees());
        params
    }

    fn shape(&self, item: &ElementItem, _: &Arc<Edge>) -> Shape {
        let (plate, height) = (plate(item), read(PARAMS, &item.params, "height_mm"));
        Box::new(move |p| height * plate.share(p))
    }

    fn bounds(&self, item: &ElementItem, _: &Arc<Edge>) -> (DVec2, DVec2) {
        plate(item).bounds()
    }

    fn strength(&self) -> &'static str {
        "height_mm"
    }

    fn crest(&self, item: &ElementItem, edge: &Arc<Edge>) -> DVec2 {
        plate(item).crest(edge)
    }

    fn handles(&self, item: &ElementItem, _: &Arc<Edge>) -> Vec<Handle> {
        plate(item).handles(true)
    }

    fn drag(&self, item: &ElementItem, _: &Arc<Edge>, handle: &str, to: DVec2) -> Params {
        let mut out = item.params.clone();
        if to.is_finite() {
            plate(item).drag(PARAMS, &mut out, handle, to);
        }
        out
    }
}

fn plate(item: &ElementItem) -> Plate {
    // Its medial side is the one on the insole.
    Plate::read(PARAMS, item, 1.0)
}

#[cfg(test)]
mod tests {
    use super::super::figure::volume_mm3;
    use super::*;
    use crate::test_foot::TestFoot;

    #[test]
    fn the_heads_2_to_5_stand_on_it_and_the_first_does_not() {
        let (foot, edge) = (TestFoot::new(), crate::test_foot::edge());
        let params = ReverseExtension.place(&Site { landmarks: &foot.landmarks, edge: &edge });
        let shape = ReverseExtension.shape(&ElementItem::new("reverse_extension", params), &edge);
        for ray in 2..=5 {
            let at = head(&foot.landmarks, ray).unwrap();
            assert!((shape(at) - 3.0).abs() < 1e-9, "{} under the head {ray}", shape(at));
        }
        assert!(shape(head(&foot.landmarks, 1).unwrap()) < 0.1);
        // No edge is left along the lateral side.
        for &p in edge.points().iter().filter(|p| p.y < -20.0 && (158.0..176.0).contains(&p.x)) {
            assert!((shape(p) - 3.0).abs() < 1e-9, "{} at {p} on the edge", shape(p));
        }
    }

    #[test]
    fn slanting_the_ends_leaves_the_volume() {
        let edge = crate::test_foot::edge();
        for slant in [0.0, 22.0, -40.0] {
            let mut item = ElementItem::new("reverse_extension", defaults(PARAMS));
            item.params.insert("slant_deg".to_owned(), slant);
            let shape = ReverseExtension.shape(&item, &edge);
            let volume = volume_mm3(&shape, ReverseExtension.bounds(&item, &edge), 0.25);
            let expected = 3.0 * (40.0 + 8.0) * (75.0 + 8.0);
            assert!((volume / expected - 1.0).abs() < 1e-3, "{volume} mm³ for {expected}");
        }
    }
}
