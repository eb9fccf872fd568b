//! Forms that several elements share: an oval that is moved, turned and stretched by its handles, and the smooth curves
//! that shapes are made of.

use super::{ElementItem, Handle, HandleKind, angle_deg, direction, read, set};
use base::{ParamSpec, Params};
use foot::{LandmarkId, Landmarks};
use glam::DVec2;

/// Place along the foot of what is moved as a whole.
pub(super) const fn along(default: f64) -> ParamSpec {
    ParamSpec::mm(
        "x_mm",
        "Place, along",
        (-20.0, 350.0),
        default,
        1.0,
        "Its middle, from the pternion towards the toes.",
    )
}

/// Place across the foot.
pub(super) const fn across(default: f64) -> ParamSpec {
    ParamSpec::mm(
        "y_mm",
        "Place, across",
        (-80.0, 80.0),
        default,
        1.0,
        "Its middle, from the foot axis to the medial side.",
    )
}

/// Direction of its long axis.
pub(super) const fn turned(default: f64) -> ParamSpec {
    ParamSpec::deg(
        "angle_deg",
        "Direction",
        (-90.0, 90.0),
        default,
        "Direction of its length, from the foot axis to the medial side.",
    )
}

/// An oval with its middle at `x_mm`, `y_mm`, turned by `angle_deg`, `length_mm` long and `width_mm` wide.
#[derive(Clone, Copy, Debug)]
pub(super) struct Oval {
    pub(super) centre: DVec2,
    pub(super) axis: DVec2,
    /// Half length and half width.
    pub(super) half: DVec2,
}

impl Oval {
    pub(super) fn read(specs: &[ParamSpec], item: &ElementItem) -> Oval {
        let value = |id| read(specs, &item.params, id);
        Oval {
            centre: DVec2::new(value("x_mm"), value("y_mm")),
            axis: direction(value("angle_deg")),
            half: DVec2::new(value("length_mm"), value("width_mm")) / 2.0,
        }
    }

    /// `p` along and across the oval, from its middle.
    pub(super) fn local(&self, p: DVec2) -> DVec2 {
        let from = p - self.centre;
        DVec2::new(from.dot(self.axis), from.dot(self.axis.perp()))
    }

    /// How far out `p` lies on the way from the oval widened by `inner` to the one widened by `inner + blend`: 0 inside the
    /// first, 1 outside the second, in between the share of the way along the ray from the middle.
    pub(super) fn outward(&self, p: DVec2, inner: f64, blend: f64) -> f64 {
        let local = self.local(p);
        let inner = self.half + DVec2::splat(inner);
        let to_inner = (local / inner).length();
        if to_inner <= 1.0 {
            return 0.0;
        }
        let to_outer = (local / (inner + DVec2::splat(blend))).length();
        if to_outer >= 1.0 {
            return 1.0;
        }
        (1.0 - 1.0 / to_inner) / (1.0 / to_outer - 1.0 / to_inner)
    }

    /// A box round the oval widened by `beyond`.
    pub(super) fn bounds(&self, beyond: f64) -> (DVec2, DVec2) {
        let half = self.half + DVec2::splat(beyond);
        let (along, across) = (self.axis * half.x, self.axis.perp() * half.y);
        let reach = (along * along + across * across).map(f64::sqrt);
        (self.centre - reach, self.centre + reach)
    }

    /// Middle, end and side.
    pub(super) fn handles(&self) -> Vec<Handle> {
        let across = self.axis.perp();
        vec![
            Handle { id: "centre", label: "Move", kind: HandleKind::Point, at: self.centre },
            Handle {
                id: "end",
                label: "Length and direction",
                kind: HandleKind::Point,
                at: self.centre + self.axis * self.half.x,
            },
            Handle {
                id: "side",
                label: "Width",
                kind: HandleKind::Along(across),
                at: self.centre + across * self.half.y,
            },
        ]
    }

    /// What dragging one of [`Oval::handles`] sets.
    pub(super) fn drag(&self, specs: &[ParamSpec], out: &mut Params, handle: &str, to: DVec2) {
        let from_centre = to - self.centre;
        match handle {
            "centre" => {
                set(specs, out, "x_mm", to.x);
                set(specs, out, "y_mm", to.y);
            }
            "end" => {
                set(specs, out, "length_mm", 2.0 * from_centre.length());
                if from_centre.length() > f64::EPSILON {
                    set(specs, out, "angle_deg", angle_deg(from_centre));
                }
            }
            "side" => set(specs, out, "width_mm", 2.0 * from_centre.dot(self.axis.perp())),
            _ => {}
        }
    }
}

/// A landmark in plan.
pub(super) fn mark(landmarks: &Landmarks, id: LandmarkId) -> Option<DVec2> {
    landmarks.get(&id).map(|mark| mark.at.truncate())
}

/// Metatarsale tibiale and fibulare in plan.
pub(super) fn ball_line(landmarks: &Landmarks) -> Option<(DVec2, DVec2)> {
    Some((mark(landmarks, LandmarkId::MetatarsaleTibiale)?, mark(landmarks, LandmarkId::MetatarsaleFibulare)?))
}
