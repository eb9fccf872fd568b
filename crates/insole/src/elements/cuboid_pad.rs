use super::figure::{Oval, across, along, dome, foot_direction, head, heel, turned};
use super::{Element, ElementItem, Handle, Shape, Site, angle_deg, read, set};
use crate::Edge;
use base::{ParamSpec, Params, Source, defaults};
use glam::DVec2;
use std::sync::Arc;

/// A dome under the cuboid, in the lateral midfoot.
///
/// Over an oval, with ρ the share of the way from the crest to the border, the height is `h (1 − ρ²)²`: a third of the
/// cylinder over the oval.
#[derive(Clone, Copy, Debug, Default)]
pub struct CuboidPad;

const PARAMS: &[ParamSpec] = &[
    along(105.0),
    across(-20.0),
    turned(0.0),
    ParamSpec::mm("length_mm", "Length", (15.0, 90.0), 42.0, 1.0, "Along the foot, from foot to foot of the dome."),
    ParamSpec::mm("width_mm", "Width", (10.0, 60.0), 26.0, 1.0, "Across the foot, from foot to foot of the dome."),
    ParamSpec::mm("height_mm", "Height", (0.0, 12.0), 4.0, 0.5, "Height of the crest over the surface below."),
];

/// Place on the way from the heel centre (0) to the fifth metatarsal head (1). The cuboid lies between the front end of the
/// heel bone and the base of the fifth metatarsal, from about 0.36 to 0.47 of the foot length, the heel centre at 0.15 and
/// the head at 0.62: from memory of the anatomy, an estimate. Feel for the base of the fifth metatarsal; the pad lies behind
/// and medial of it.
const ALONG_SHARE: f64 = 0.56;
/// Place across the insole there, from its lateral edge (0) to its medial edge (1): within the lateral third. No source.
const ACROSS_SHARE: f64 = 0.25;
/// Width as a share of the insole's width there, and length as a share of the width. No source.
const SIZE: (f64, f64) = (0.38, 1.6);

impl Element for CuboidPad {
    fn id(&self) -> &'static str {
        "cuboid_pad"
    }

    fn label(&self) -> &'static str {
        "Cuboid pad"
    }

    fn help(&self) -> &'static str {
        "A dome under the cuboid, in the lateral third of the midfoot, behind and medial of the base of the fifth metatarsal. \
         Its place is an estimate: feel for the bone."
    }

    fn caution(&self) -> &'static str {
        "Too far to the side it presses on the base of the fifth metatarsal. Begin low, above all where the foot does not feel."
    }

    fn source(&self) -> Source {
        Source::memory("Place of the cuboid from anatomy, from memory; size: common practice")
    }

    fn params(&self) -> &'static [ParamSpec] {
        PARAMS
    }

    fn usual(&self, param: &str) -> Option<(f64, f64)> {
        match param {
            "height_mm" => Some((2.0, 6.0)),
            _ => None,
        }
    }

    /// Between heel centre and fifth metatarsal head, in the lateral third of the insole.
    fn place(&self, site: &Site) -> Params {
        let mut params = defaults(PARAMS);
        let (Some(heel), Some(fifth)) = (heel(site.landmarks), head(site.landmarks, 5)) else { return params };
        let mut at = heel.lerp(fifth, ALONG_SHARE);
        if let Some((lateral, medial)) = site.edge.width_at(at.x) {
            at.y = lateral + ACROSS_SHARE * (medial - lateral);
            let width = (SIZE.0 * (medial - lateral)).round();
            set(PARAMS, &mut params, "width_mm", width);
            set(PARAMS, &mut params, "length_mm", (SIZE.1 * width).round());
        }
        set(PARAMS, &mut params, "x_mm", at.x);
        set(PARAMS, &mut params, "y_mm", at.y);
        set(PARAMS, &mut params, "angle_deg", angle_deg(foot_direction(site.landmarks)));
        params
    }

    fn shape(&self, item: &ElementItem, _: &Arc<Edge>) -> Shape {
        let (oval, height) = (Oval::read(PARAMS, item), read(PARAMS, &item.params, "height_mm"));
        Box::new(move |p| height * dome((oval.local(p) / oval.half).length_squared()))
    }

    fn bounds(&self, item: &ElementItem, _: &Arc<Edge>) -> (DVec2, DVec2) {
        Oval::read(PARAMS, item).bounds(0.0)
    }

    fn strength(&self) -> &'static str {
        "height_mm"
    }

    fn handles(&self, item: &ElementItem, _: &Arc<Edge>) -> Vec<Handle> {
        Oval::read(PARAMS, item).handles()
    }

    fn drag(&self, item: &ElementItem, _: &Arc<Edge>, handle: &str, to: DVec2) -> Params {
        let mut out = item.params.clone();
        if to.is_finite() {
            Oval::read(PARAMS, item).drag(PARAMS, &mut out, handle, to);
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::super::figure::volume_mm3;
    use super::*;
    use crate::test_foot::TestFoot;

    #[test]
    fn it_lies_in_the_lateral_third_between_heel_and_fifth_head() {
        let (foot, edge) = (TestFoot::new(), crate::test_foot::edge());
        let params = CuboidPad.place(&Site { landmarks: &foot.landmarks, edge: &edge });
        let fifth = head(&foot.landmarks, 5).unwrap();
        assert!((params["x_mm"] - (38.0 + 0.56 * (fifth.x - 38.0))).abs() < 1e-9);
        let (lateral, medial) = edge.width_at(params["x_mm"]).unwrap();
        assert!((lateral..lateral + (medial - lateral) / 3.0).contains(&params["y_mm"]));
        // In front of the heel bone, behind the base of the fifth metatarsal, of a foot 260 mm long.
        assert!((0.36..0.47).contains(&(params["x_mm"] / 260.0)), "{params:?}");
    }

    #[test]
    fn crest_and_volume_are_those_of_the_dome() {
        let (item, edge) = (ElementItem::new("cuboid_pad", defaults(PARAMS)), crate::test_foot::edge());
        let shape = CuboidPad.shape(&item, &edge);
        assert!((shape(CuboidPad.crest(&item, &edge)) - 4.0).abs() < 1e-12);
        let volume = volume_mm3(&shape, CuboidPad.bounds(&item, &edge), 0.2);
        let expected = 4.0 / 3.0 * std::f64::consts::PI * 21.0 * 13.0;
        assert!((volume / expected - 1.0).abs() < 1e-3, "{volume} mm³ for {expected}");
    }
}
