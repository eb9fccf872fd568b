use super::figure::{Plate, across, along, beside_first_ray, turned};
use super::{Element, ElementItem, Handle, Shape, Site, read};
use crate::Edge;
use base::{ParamSpec, Params, Source, defaults};
use glam::DVec2;
use std::sync::Arc;

/// A recess under the first metatarsal head and its ray, open to the medial edge: it reaches over the edge, so that no wall
/// is left there.
#[derive(Clone, Copy, Debug, Default)]
pub struct FirstRayCutOut;

const PARAMS: &[ParamSpec] = &[
    along(190.0),
    across(38.0),
    turned(3.0),
    ParamSpec::mm("length_mm", "Length", (10.0, 160.0), 45.0, 1.0, "Length of the flat floor, along the ray."),
    ParamSpec::mm(
        "width_mm",
        "Width",
        (10.0, 120.0),
        38.0,
        1.0,
        "Width of the flat floor. Beyond the medial edge of the insole, the recess is open there.",
    ),
    ParamSpec::mm("depth_mm", "Depth", (0.0, 10.0), 3.0, 0.5, "How much lower the floor lies than the surface."),
    ParamSpec::mm("blend_mm", "Blend", (3.0, 40.0), 10.0, 1.0, "From the floor up to the surface, all round."),
];

/// The floor begins this far behind the first metatarsal head and ends this far in front of it, as shares of the breadth of
/// the ball. No source.
const BEHIND_AND_AHEAD: (f64, f64) = (0.3, 0.18);

impl Element for FirstRayCutOut {
    fn id(&self) -> &'static str {
        "first_ray_cut_out"
    }

    fn label(&self) -> &'static str {
        "First ray cut-out"
    }

    fn help(&self) -> &'static str {
        "A recess under the first metatarsal head and its ray, open to the medial edge, so that the ray can drop when the \
         hallux bends. Its lateral side belongs between the first and the second ray."
    }

    fn caution(&self) -> &'static str {
        "What the first head no longer carries goes to the second and to the hallux: look for callus there. On a foot that does \
         not feel, measure the pressure with it."
    }

    fn source(&self) -> Source {
        Source::practice("Place and size: common practice, no published value found")
    }

    fn params(&self) -> &'static [ParamSpec] {
        PARAMS
    }

    fn usual(&self, param: &str) -> Option<(f64, f64)> {
        match param {
            "depth_mm" => Some((2.0, 4.0)),
            "blend_mm" => Some((8.0, 40.0)),
            _ => None,
        }
    }

    /// From behind to in front of the head, from between the first and the second ray over the medial edge.
    fn place(&self, site: &Site) -> Params {
        let mut params = defaults(PARAMS);
        let place = beside_first_ray(site, PARAMS, |head, breadth, _| {
            (head - breadth * BEHIND_AND_AHEAD.0, head + breadth * BEHIND_AND_AHEAD.1)
        });
        if let Some(place) = place {
            place.set(PARAMS, &mut params);
        }
        params
    }

    fn shape(&self, item: &ElementItem, _: &Arc<Edge>) -> Shape {
        let (plate, depth) = (plate(item), read(PARAMS, &item.params, "depth_mm"));
        Box::new(move |p| -depth * plate.share(p))
    }

    fn bounds(&self, item: &ElementItem, _: &Arc<Edge>) -> (DVec2, DVec2) {
        plate(item).bounds()
    }

    fn strength(&self) -> &'static str {
        "depth_mm"
    }

    fn crest(&self, item: &ElementItem, edge: &Arc<Edge>) -> DVec2 {
        plate(item).crest(edge)
    }

    fn handles(&self, item: &ElementItem, _: &Arc<Edge>) -> Vec<Handle> {
        plate(item).handles(false)
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
    // Its lateral side is the one on the insole.
    Plate::read(PARAMS, item, -1.0)
}

#[cfg(test)]
mod tests {
    use super::super::figure::volume_mm3;
    use super::*;
    use crate::test_foot::TestFoot;

    #[test]
    fn the_floor_is_under_the_first_head_and_open_to_the_medial_edge() {
        let (foot, edge) = (TestFoot::new(), crate::test_foot::edge());
        let params = FirstRayCutOut.place(&Site { landmarks: &foot.landmarks, edge: &edge });
        let shape = FirstRayCutOut.shape(&ElementItem::new("first_ray_cut_out", params), &edge);
        // The first head lies at 0.17 of the line of the ball, 93 mm lateral of (192, 43).
        for at in [DVec2::new(189.0, 28.0), DVec2::new(180.0, 30.0)] {
            assert!((shape(at) + 3.0).abs() < 1e-9, "{} at {at}", shape(at));
        }
        let medial = edge.points().iter().filter(|p| p.y > 20.0 && (173.0..200.0).contains(&p.x));
        for &p in medial {
            assert!((shape(p) + 3.0).abs() < 1e-9, "a wall of {} at {p} on the edge", shape(p) + 3.0);
        }
        // Nothing under the third ray.
        assert!(shape(DVec2::new(190.0, 0.0)) == 0.0);
    }

    #[test]
    fn it_is_taken_hold_of_on_the_insole_though_its_middle_lies_beyond_the_edge() {
        let (mut item, edge) = (ElementItem::new("first_ray_cut_out", defaults(PARAMS)), crate::test_foot::edge());
        item.params.extend([("y_mm".to_owned(), 70.0), ("width_mm".to_owned(), 100.0)]);
        let crest = FirstRayCutOut.crest(&item, &edge);
        assert!(
            edge.inside_mm(crest) > 0.0 && (FirstRayCutOut.height(&item, &edge, crest) + 3.0).abs() < 1e-9,
            "{crest}"
        );
    }

    #[test]
    fn the_volume_is_depth_times_length_and_width_with_half_the_blend_at_each_side() {
        let (item, edge) = (ElementItem::new("first_ray_cut_out", defaults(PARAMS)), crate::test_foot::edge());
        let shape = FirstRayCutOut.shape(&item, &edge);
        let volume = volume_mm3(&shape, FirstRayCutOut.bounds(&item, &edge), 0.25);
        let expected = -3.0 * (45.0 + 10.0) * (38.0 + 10.0);
        assert!((volume / expected - 1.0).abs() < 1e-3, "{volume} mm³ for {expected}");
    }
}
