use super::figure::{Well, across, along, foot_direction, heel, turned};
use super::{Element, ElementItem, Handle, Shape, Site, angle_deg, read, set};
use crate::Edge;
use base::{ParamSpec, Params, Source, defaults};
use glam::DVec2;
use std::sync::Arc;

/// A shallow oval recess under the heel with a flat floor, for a plug of softer material.
#[derive(Clone, Copy, Debug, Default)]
pub struct HeelCushion;

const PARAMS: &[ParamSpec] = &[
    along(38.0),
    across(0.0),
    turned(0.0),
    ParamSpec::mm("length_mm", "Length", (10.0, 90.0), 44.0, 1.0, "Length of the flat floor, as long as the plug."),
    ParamSpec::mm("width_mm", "Width", (10.0, 70.0), 34.0, 1.0, "Width of the flat floor, as wide as the plug."),
    ParamSpec::mm("depth_mm", "Depth", (0.0, 8.0), 3.0, 0.5, "How much lower the floor lies than the surface."),
    ParamSpec::mm(
        "blend_mm",
        "Blend",
        (2.0, 25.0),
        6.0,
        0.5,
        "From the floor up to the surface, all round. A plug is skived to it.",
    ),
];

/// Width of the floor as a share of the insole's width at the heel, and its length as a share of its width. No source.
const SIZE: (f64, f64) = (0.52, 1.3);

impl Element for HeelCushion {
    fn id(&self) -> &'static str {
        "heel_cushion"
    }

    fn label(&self) -> &'static str {
        "Heel cushion"
    }

    fn help(&self) -> &'static str {
        "A shallow oval recess under the heel, with a flat floor for a plug of softer material."
    }

    fn caution(&self) -> &'static str {
        "Empty, the recess takes load from the middle of the heel to its border: fill it before the insole is worn, and see that \
         enough is left below the floor."
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
            _ => None,
        }
    }

    /// Round the heel centre, along the foot, as wide as the insole's heel asks.
    fn place(&self, site: &Site) -> Params {
        let mut params = defaults(PARAMS);
        let Some(heel) = heel(site.landmarks) else { return params };
        set(PARAMS, &mut params, "x_mm", heel.x);
        set(PARAMS, &mut params, "y_mm", heel.y);
        set(PARAMS, &mut params, "angle_deg", angle_deg(foot_direction(site.landmarks)));
        if let Some((lateral, medial)) = site.edge.width_at(heel.x) {
            let width = (SIZE.0 * (medial - lateral)).round();
            set(PARAMS, &mut params, "width_mm", width);
            set(PARAMS, &mut params, "length_mm", (SIZE.1 * width).round());
        }
        params
    }

    fn shape(&self, item: &ElementItem, _: &Arc<Edge>) -> Shape {
        let (well, depth) = (well(item), read(PARAMS, &item.params, "depth_mm"));
        Box::new(move |p| -depth * well.share(p))
    }

    fn bounds(&self, item: &ElementItem, _: &Arc<Edge>) -> (DVec2, DVec2) {
        well(item).bounds()
    }

    fn strength(&self) -> &'static str {
        "depth_mm"
    }

    fn handles(&self, item: &ElementItem, _: &Arc<Edge>) -> Vec<Handle> {
        well(item).handles()
    }

    fn drag(&self, item: &ElementItem, _: &Arc<Edge>, handle: &str, to: DVec2) -> Params {
        let mut out = item.params.clone();
        if to.is_finite() {
            well(item).drag(PARAMS, &mut out, handle, to);
        }
        out
    }
}

fn well(item: &ElementItem) -> Well {
    Well::read(PARAMS, item)
}

#[cfg(test)]
mod tests {
    use super::super::figure::volume_mm3;
    use super::*;
    use crate::test_foot::TestFoot;
    use foot::LandmarkId;

    #[test]
    fn the_floor_lies_flat_round_the_heel_centre() {
        let (foot, edge) = (TestFoot::new(), crate::test_foot::edge());
        let params = HeelCushion.place(&Site { landmarks: &foot.landmarks, edge: &edge });
        let (length, width) = (params["length_mm"], params["width_mm"]);
        let (item, centre) = (ElementItem::new("heel_cushion", params), DVec2::new(38.0, -2.0));
        let (shape, axis) = (HeelCushion.shape(&item, &edge), foot_direction(&foot.landmarks));
        for way in [DVec2::ZERO, axis * (0.49 * length), axis.perp() * (0.49 * width)] {
            assert!((shape(centre + way) + 3.0).abs() < 1e-12 && (shape(centre - way) + 3.0).abs() < 1e-12);
        }
        // Half way up the blend, half the depth.
        assert!((shape(centre + axis * (0.5 * length + 3.0)) + 1.5).abs() < 1e-9);
        let (lateral, medial) = edge.width_at(38.0).unwrap();
        assert!(shape(DVec2::new(38.0, lateral)) == 0.0 && shape(DVec2::new(38.0, medial)) == 0.0);
    }

    #[test]
    fn without_a_heel_centre_it_goes_by_the_ball() {
        let (mut foot, edge) = (TestFoot::new(), crate::test_foot::edge());
        foot.landmarks.remove(&LandmarkId::HeelCentre);
        let params = HeelCushion.place(&Site { landmarks: &foot.landmarks, edge: &edge });
        assert!((params["x_mm"] - 36.0).abs() < 1e-9 && (params["y_mm"] + 0.7).abs() < 1e-9, "{params:?}");
    }

    #[test]
    fn a_round_one_holds_what_the_formula_says() {
        let (mut item, edge) = (ElementItem::new("heel_cushion", defaults(PARAMS)), crate::test_foot::edge());
        item.params.insert("length_mm".to_owned(), 34.0);
        let volume = volume_mm3(&HeelCushion.shape(&item, &edge), HeelCushion.bounds(&item, &edge), 0.2);
        // π h (r² + r b + 2 b² / 7): the mean of the fall over the blend is 1/2, its first moment 1/7.
        let expected = -3.0 * std::f64::consts::PI * (17.0 * 17.0 + 17.0 * 6.0 + 2.0 * 36.0 / 7.0);
        assert!((volume / expected - 1.0).abs() < 1e-3, "{volume} mm³ for {expected}");
    }
}
