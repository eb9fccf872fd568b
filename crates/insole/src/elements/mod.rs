//! The elements: raised or recessed shapes placed on the bearing surface, one a file.
//!
//! A new element is a file here and a line in [`ALL`]. The form, the case file, the command line and the study text
//! read everything else from the member itself.

mod metatarsal_pad;
mod relief;

pub use metatarsal_pad::MetatarsalPad;
pub use relief::Relief;

use base::{ParamSpec, Params, Source};
use foot::Landmarks;
use glam::DVec2;
use serde::{Deserialize, Serialize};

/// Every kind of element, in the order in which they are offered.
pub const ALL: &[&dyn Element] = &[&MetatarsalPad, &Relief];

/// The kind of element with this id.
#[must_use]
pub fn by_id(id: &str) -> Option<&'static dyn Element> {
    ALL.iter().copied().find(|element| element.id() == id)
}

/// Height added to the surface at a plan position (foot frame, mm); negative where material is taken away.
pub type Shape = Box<dyn Fn(DVec2) -> f64 + Send + Sync>;

/// A kind of element: a smooth shape of bounded extent, described by a few numbers.
///
/// Values missing in `params` have their default, values out of range count as the nearest end of the range, so a
/// shape is finite for any `params`.
pub trait Element: Sync {
    /// Stable id, snake_case, as in the case file.
    fn id(&self) -> &'static str;

    /// Name in the trade's words.
    fn label(&self) -> &'static str;

    /// One or two sentences on what it does and where it belongs.
    fn help(&self) -> &'static str;

    /// Where its usual place and size come from.
    fn source(&self) -> Source;

    /// Its parameters.
    fn params(&self) -> &'static [ParamSpec];

    /// Parameters for a foot with these landmarks: every parameter is given. Where a landmark needed is missing, the
    /// default place.
    fn place(&self, landmarks: &Landmarks) -> Params;

    /// The shape with its parameters read once, to be evaluated at many points. Zero outside [`Element::bounds`],
    /// continuously differentiable everywhere.
    fn shape(&self, params: &Params) -> Shape;

    /// Least and greatest corner of a box outside which the shape is zero, foot frame, mm.
    fn bounds(&self, params: &Params) -> (DVec2, DVec2);

    /// The points by which it is dragged on the plan.
    fn handles(&self, params: &Params) -> Vec<Handle>;

    /// The parameters after dragging the handle with id `handle` to `to`, kept within the parameters' ranges; an
    /// unknown handle or a position that is not finite changes nothing.
    fn drag(&self, params: &Params, handle: &str, to: DVec2) -> Params;

    /// The height at one point. For many points, use [`Element::shape`].
    fn height(&self, params: &Params, p: DVec2) -> f64 {
        (self.shape(params))(p)
    }
}

/// A point by which an element is dragged.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Handle {
    /// Stable id within the element, snake_case.
    pub id: &'static str,
    /// What dragging it does.
    pub label: &'static str,
    /// How it moves.
    pub kind: HandleKind,
    /// Where it is, foot frame, mm.
    pub at: DVec2,
}

/// How a handle moves.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum HandleKind {
    /// Anywhere on the plan.
    Point,
    /// Along a line: only the part of a drag in this direction (a unit vector) counts.
    Along(DVec2),
}

/// One element placed on an insole, as the case stores it. A kind this version does not know is kept as it is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ElementItem {
    /// Number within its insole, never used twice.
    pub id: u32,
    /// Id of its kind in [`ALL`].
    pub kind: String,
    /// Whether it is part of the surface now.
    pub on: bool,
    /// Its parameters.
    pub params: Params,
}

/// The value of the parameter `id`, in range: the nearest end of the range for one outside it, the default for one that
/// is missing or not finite, 0 for an id that is not in `specs`.
fn read(specs: &[ParamSpec], params: &Params, id: &str) -> f64 {
    specs.iter().find(|spec| spec.id == id).map_or(0.0, |spec| crate::params::in_range(params, spec))
}

/// `params` with `id` set to `value`, kept in range.
fn set(specs: &[ParamSpec], params: &mut Params, id: &str, value: f64) {
    if let Some(spec) = specs.iter().find(|spec| spec.id == id)
        && value.is_finite()
    {
        params.insert(id.to_owned(), value.clamp(spec.min, spec.max));
    }
}

/// Unit vector at `angle_deg` from +x, counter-clockwise.
fn direction(angle_deg: f64) -> DVec2 {
    let (sin, cos) = libm::sincos(angle_deg.to_radians());
    DVec2::new(cos, sin)
}

/// Angle of `v` from +x, degrees, −180…180.
fn angle_deg(v: DVec2) -> f64 {
    libm::atan2(v.y, v.x).to_degrees()
}

#[cfg(test)]
mod tests;
