use super::{Element, Handle, HandleKind, Shape, angle_deg, direction, read, set};
use crate::smooth::step;
use base::{ParamSpec, Params, Source, defaults};
use foot::{LandmarkId, Landmarks};
use glam::DVec2;

/// An oval recess under a spot that must carry less: full depth under the spot and a margin round it, then a smooth
/// blend up to the surface.
///
/// Inner oval: the spot's half axes plus the margin. Outer oval: plus the blend. Between them the depth falls as a quintic
/// in the share of the way from the inner to the outer oval along the ray from the centre.
#[derive(Clone, Copy, Debug, Default)]
pub struct Relief;

const PARAMS: &[ParamSpec] = &[
    ParamSpec {
        id: "x_mm",
        label: "Centre, along",
        unit: "mm",
        min: -20.0,
        max: 350.0,
        default: 180.0,
        step: 1.0,
        help: "Centre of the spot, from the pternion towards the toes.",
    },
    ParamSpec {
        id: "y_mm",
        label: "Centre, across",
        unit: "mm",
        min: -80.0,
        max: 80.0,
        default: 20.0,
        step: 1.0,
        help: "Centre of the spot, from the foot axis to the medial side.",
    },
    ParamSpec {
        id: "angle_deg",
        label: "Direction",
        unit: "°",
        min: -90.0,
        max: 90.0,
        default: 0.0,
        step: 1.0,
        help: "Direction of the spot's length, from the foot axis to the medial side.",
    },
    ParamSpec {
        id: "length_mm",
        label: "Spot length",
        unit: "mm",
        min: 4.0,
        max: 80.0,
        default: 18.0,
        step: 1.0,
        help: "Length of the spot that must carry less, without the margin.",
    },
    ParamSpec {
        id: "width_mm",
        label: "Spot width",
        unit: "mm",
        min: 4.0,
        max: 80.0,
        default: 14.0,
        step: 1.0,
        help: "Width of the spot, without the margin.",
    },
    ParamSpec {
        id: "depth_mm",
        label: "Depth",
        unit: "mm",
        min: 0.0,
        max: 10.0,
        default: 3.0,
        step: 0.5,
        help: "How much lower the surface lies under the spot.",
    },
    ParamSpec {
        id: "margin_mm",
        label: "Margin",
        unit: "mm",
        min: 0.0,
        max: 15.0,
        default: 4.0,
        step: 0.5,
        help: "Full depth reaches this far beyond the spot. Common practice 3 to 5 mm.",
    },
    ParamSpec {
        id: "blend_mm",
        label: "Blend",
        unit: "mm",
        min: 3.0,
        max: 40.0,
        default: 12.0,
        step: 1.0,
        help: "From full depth up to the surface. Common practice 10 mm or more, so that no edge is felt.",
    },
];

/// The relief's numbers, read once.
#[derive(Clone, Copy)]
struct Oval {
    centre: DVec2,
    axis: DVec2,
    /// Half length and half width of the spot.
    half: DVec2,
    margin: f64,
    blend: f64,
    depth: f64,
}

impl Element for Relief {
    fn id(&self) -> &'static str {
        "relief"
    }

    fn label(&self) -> &'static str {
        "Relief"
    }

    fn help(&self) -> &'static str {
        "A smooth recess under a spot that must carry less, such as a prominent metatarsal head or a healed ulcer. What \
         the spot no longer carries is carried round it, so keep the blend wide."
    }

    fn source(&self) -> Source {
        Source::practice("Margin 3 to 5 mm and blend of 10 mm or more: common practice, no published value found")
    }

    fn params(&self) -> &'static [ParamSpec] {
        PARAMS
    }

    /// Under the first metatarsal head, the most frequent place: a sixth of the ball's breadth in from its medial point.
    fn place(&self, landmarks: &Landmarks) -> Params {
        let mut params = defaults(PARAMS);
        let at = |id| landmarks.get(&id).map(|mark| mark.at.truncate());
        if let (Some(tibiale), Some(fibulare)) =
            (at(LandmarkId::MetatarsaleTibiale), at(LandmarkId::MetatarsaleFibulare))
        {
            let head = tibiale + (fibulare - tibiale) / 6.0;
            set(PARAMS, &mut params, "x_mm", head.x);
            set(PARAMS, &mut params, "y_mm", head.y);
        }
        params
    }

    fn shape(&self, params: &Params) -> Shape {
        let oval = Oval::read(params);
        Box::new(move |p| oval.height_at(p))
    }

    fn bounds(&self, params: &Params) -> (DVec2, DVec2) {
        let oval = Oval::read(params);
        let half = oval.half + DVec2::splat(oval.margin + oval.blend);
        let (along, across) = (oval.axis * half.x, oval.axis.perp() * half.y);
        let reach = (along * along + across * across).map(f64::sqrt);
        (oval.centre - reach, oval.centre + reach)
    }

    fn handles(&self, params: &Params) -> Vec<Handle> {
        let oval = Oval::read(params);
        let across = oval.axis.perp();
        vec![
            Handle { id: "centre", label: "Move", kind: HandleKind::Point, at: oval.centre },
            Handle {
                id: "end",
                label: "Length and direction",
                kind: HandleKind::Point,
                at: oval.centre + oval.axis * oval.half.x,
            },
            Handle {
                id: "side",
                label: "Width",
                kind: HandleKind::Along(across),
                at: oval.centre + across * oval.half.y,
            },
            Handle {
                id: "blend",
                label: "Blend",
                kind: HandleKind::Along(-across),
                at: oval.centre - across * (oval.half.y + oval.margin + oval.blend),
            },
        ]
    }

    fn drag(&self, params: &Params, handle: &str, to: DVec2) -> Params {
        let mut out = params.clone();
        if !to.is_finite() {
            return out;
        }
        let oval = Oval::read(params);
        let from_centre = to - oval.centre;
        let across = oval.axis.perp();
        match handle {
            "centre" => {
                set(PARAMS, &mut out, "x_mm", to.x);
                set(PARAMS, &mut out, "y_mm", to.y);
            }
            "end" => {
                set(PARAMS, &mut out, "length_mm", 2.0 * from_centre.length());
                if from_centre.length() > f64::EPSILON {
                    set(PARAMS, &mut out, "angle_deg", angle_deg(from_centre));
                }
            }
            "side" => set(PARAMS, &mut out, "width_mm", 2.0 * from_centre.dot(across)),
            "blend" => set(PARAMS, &mut out, "blend_mm", -from_centre.dot(across) - oval.half.y - oval.margin),
            _ => {}
        }
        out
    }
}

impl Oval {
    fn read(params: &Params) -> Oval {
        let value = |id| read(PARAMS, params, id);
        Oval {
            centre: DVec2::new(value("x_mm"), value("y_mm")),
            axis: direction(value("angle_deg")),
            half: DVec2::new(value("length_mm"), value("width_mm")) / 2.0,
            margin: value("margin_mm"),
            blend: value("blend_mm"),
            depth: value("depth_mm"),
        }
    }

    fn height_at(&self, p: DVec2) -> f64 {
        let from_centre = p - self.centre;
        let local = DVec2::new(from_centre.dot(self.axis), from_centre.dot(self.axis.perp()));
        let inner = self.half + DVec2::splat(self.margin);
        let to_inner = (local / inner).length();
        if to_inner <= 1.0 {
            return -self.depth;
        }
        let to_outer = (local / (inner + DVec2::splat(self.blend))).length();
        if to_outer >= 1.0 {
            return 0.0;
        }
        self.depth * (step((1.0 - 1.0 / to_inner) / (1.0 / to_outer - 1.0 / to_inner)) - 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn full_depth_under_spot_and_margin_then_up_within_the_blend() {
        let oval = Oval::read(&defaults(PARAMS));
        // Spot 18 × 14 mm, margin 4, blend 12, depth 3.
        for (along, across) in [(0.0, 0.0), (12.9, 0.0), (0.0, 10.9), (-12.9, 0.0)] {
            assert!((oval.height_at(oval.centre + DVec2::new(along, across)) + 3.0).abs() < 1e-12);
        }
        // Half way through the blend, half the depth.
        for half_way in [DVec2::new(13.0 + 6.0, 0.0), DVec2::new(0.0, 11.0 + 6.0)] {
            let height = oval.height_at(oval.centre + half_way);
            assert!((height + 1.5).abs() < 1e-12, "{height}");
        }
        assert!(oval.height_at(oval.centre + DVec2::new(25.1, 0.0)).abs() < 1e-12);
        assert!(oval.height_at(oval.centre + DVec2::new(0.0, 23.1)).abs() < 1e-12);
    }
}
