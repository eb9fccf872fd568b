use super::figure::{Plate, across, along, beside_first_ray, turned};
use super::{Element, ElementItem, Handle, Shape, Site, read};
use crate::Edge;
use base::{ParamSpec, Params, Source, defaults};
use glam::DVec2;
use std::sync::Arc;

/// A raised platform under the first ray, flat on top, from behind the first metatarsal head to the tip of the hallux and
/// over the medial edge.
#[derive(Clone, Copy, Debug, Default)]
pub struct FirstRayExtension;

const PARAMS: &[ParamSpec] = &[
    along(220.0),
    across(38.0),
    turned(3.0),
    ParamSpec::mm("length_mm", "Length", (10.0, 160.0), 75.0, 1.0, "Length of the flat top, along the ray."),
    ParamSpec::mm(
        "width_mm",
        "Width",
        (10.0, 120.0),
        38.0,
        1.0,
        "Width of the flat top. It may reach beyond the medial edge of the insole, where it is cut off.",
    ),
    ParamSpec::mm("height_mm", "Height", (0.0, 10.0), 3.0, 0.5, "Height of the flat top over the surface below."),
    ParamSpec::mm("blend_mm", "Blend", (3.0, 40.0), 8.0, 1.0, "From the flat top down to the surface, all round."),
];

/// The flat top begins this far behind the first metatarsal head, as a share of the breadth of the ball. No source.
const BEHIND_HEAD: f64 = 0.15;

impl Element for FirstRayExtension {
    fn id(&self) -> &'static str {
        "first_ray_extension"
    }

    fn label(&self) -> &'static str {
        "First ray extension"
    }

    fn help(&self) -> &'static str {
        "A raised platform under the first ray from behind its head to the tip of the hallux: it brings the ground up to a \
         raised first ray and limits how far the hallux must bend."
    }

    fn caution(&self) -> &'static str {
        "It loads the first head and the hallux, where feet that do not feel often ulcerate, and takes room in the toe box: \
         check both."
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

    /// From behind the first head to the tip of the hallux, from between the first and the second ray over the medial edge.
    fn place(&self, site: &Site) -> Params {
        let mut params = defaults(PARAMS);
        if let Some(place) = beside_first_ray(site, PARAMS, |head, breadth, tip| (head - breadth * BEHIND_HEAD, tip)) {
            place.set(PARAMS, &mut params);
        }
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
    use foot::{Landmark, LandmarkId};

    #[test]
    fn the_top_is_flat_from_behind_the_head_to_the_tip_of_the_hallux() {
        let (mut foot, edge) = (TestFoot::new(), crate::test_foot::edge());
        let (head, tip) = (DVec2::new(190.0, 27.0), DVec2::new(250.0, 22.0));
        for (id, at) in [(LandmarkId::MetatarsalHead1, head), (LandmarkId::HalluxTip, tip)] {
            foot.landmarks.insert(id, Landmark { at: at.extend(4.0), confidence: 1.0, by_hand: true });
        }
        let params = FirstRayExtension.place(&Site { landmarks: &foot.landmarks, edge: &edge });
        let shape = FirstRayExtension.shape(&ElementItem::new("first_ray_extension", params), &edge);
        for share in [-0.15, 0.0, 0.5, 0.99] {
            let at = head.lerp(tip, share);
            assert!((shape(at) - 3.0).abs() < 1e-9, "{} at {at}", shape(at));
        }
        assert!(shape(tip + (tip - head).normalize() * 8.1) == 0.0);
        assert!(shape(DVec2::new(215.0, -5.0)) == 0.0, "the third ray is raised");
    }

    #[test]
    fn without_a_hallux_tip_it_ends_with_the_insole() {
        let (foot, edge) = (TestFoot::new(), crate::test_foot::edge());
        let params = FirstRayExtension.place(&Site { landmarks: &foot.landmarks, edge: &edge });
        let front = params["x_mm"] + params["length_mm"] / 2.0 * libm::cos(params["angle_deg"].to_radians());
        assert!((240.0..262.0).contains(&front), "{front}");
    }

    #[test]
    fn the_volume_is_height_times_length_and_width_with_half_the_blend_at_each_side() {
        let (item, edge) = (ElementItem::new("first_ray_extension", defaults(PARAMS)), crate::test_foot::edge());
        let shape = FirstRayExtension.shape(&item, &edge);
        let volume = volume_mm3(&shape, FirstRayExtension.bounds(&item, &edge), 0.25);
        let expected = 3.0 * (75.0 + 8.0) * (38.0 + 8.0);
        assert!((volume / expected - 1.0).abs() < 1e-3, "{volume} mm³ for {expected}");
    }
}
