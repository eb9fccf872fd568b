//! The elements: raised or recessed shapes placed on the bearing surface or under the insole, one a file.
//!
//! A new element is a file here and a line in [`ALL`]. The form, the case file, the command line and the study text
//! read everything else from the member itself.

mod alphabet;
mod cover_groove;
mod cuboid_pad;
mod engraving;
mod figure;
mod first_ray_cut_out;
mod first_ray_extension;
mod flange;
mod forefoot_rocker;
mod forefoot_wedge;
mod heel_cushion;
mod heel_lift;
mod heel_spur_recess;
mod lines;
mod medial_heel_skive;
mod metatarsal_bar;
mod metatarsal_pad;
mod pocket;
mod rearfoot_wedge;
mod relief;
mod reverse_extension;
mod scaphoid_pad;
mod slopes;
mod toe_crest;

pub use cover_groove::CoverGroove;
pub use cuboid_pad::CuboidPad;
pub use engraving::{ENGRAVED_TEXT, Engraving, SIDE_MARK};
pub use first_ray_cut_out::FirstRayCutOut;
pub use first_ray_extension::FirstRayExtension;
pub use flange::Flange;
pub use forefoot_rocker::ForefootRocker;
pub use forefoot_wedge::ForefootWedge;
pub use heel_cushion::HeelCushion;
pub use heel_lift::HeelLift;
pub use heel_spur_recess::HeelSpurRecess;
pub use lines::lines;
pub use medial_heel_skive::MedialHeelSkive;
pub use metatarsal_bar::MetatarsalBar;
pub use metatarsal_pad::MetatarsalPad;
pub use pocket::Pocket;
pub use rearfoot_wedge::RearfootWedge;
pub use relief::Relief;
pub use reverse_extension::ReverseExtension;
pub use scaphoid_pad::ScaphoidPad;
pub use toe_crest::ToeCrest;

use crate::Edge;
use base::{ParamSpec, Params, Source};
use foot::Landmarks;
use glam::DVec2;
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// Every kind of element, in the order in which they are offered.
pub const ALL: &[&dyn Element] = &[
    &MetatarsalPad,
    &MetatarsalBar,
    &ScaphoidPad,
    &CuboidPad,
    &ToeCrest,
    &FirstRayExtension,
    &ReverseExtension,
    &FirstRayCutOut,
    &Relief,
    &HeelCushion,
    &HeelSpurRecess,
    &Pocket,
    &RearfootWedge,
    &ForefootWedge,
    &HeelLift,
    &MedialHeelSkive,
    &Flange,
    &ForefootRocker,
    &CoverGroove,
    &ENGRAVED_TEXT,
    &SIDE_MARK,
];

/// The kind of element with this id.
#[must_use]
pub fn by_id(id: &str) -> Option<&'static dyn Element> {
    ALL.iter().copied().find(|element| element.id() == id)
}

/// Height added to a face of the insole at a plan position (foot frame, mm), outwards: on the top positive is up, on the
/// bottom positive is down. Negative where material is taken away.
pub type Shape = Box<dyn Fn(DVec2) -> f64 + Send + Sync>;

/// Where elements are placed: the foot's landmarks and the insole's edge.
#[derive(Clone, Copy, Debug)]
pub struct Site<'a> {
    /// The landmarks.
    pub landmarks: &'a Landmarks,
    /// The edge.
    pub edge: &'a Arc<Edge>,
}

/// The face of the insole that an element shapes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Face {
    /// The bearing surface.
    Top,
    /// The underside.
    Bottom,
}

/// A kind of element: a smooth shape described by a few numbers and, for some kinds, a drawn curve or a text.
///
/// Values missing in an item have their default, values out of range count as the nearest end of the range, so a
/// shape is finite for any item. Shapes go by the item and the edge alone: once placed, an element no longer follows the
/// landmarks.
pub trait Element: Sync {
    /// Stable id, snake_case, as in the case file.
    fn id(&self) -> &'static str;

    /// Name in the trade's words.
    fn label(&self) -> &'static str;

    /// One or two sentences on what it does and where it belongs.
    fn help(&self) -> &'static str;

    /// What to beware of with it; empty if there is nothing beyond the usual care.
    fn caution(&self) -> &'static str {
        ""
    }

    /// Where its usual place and size come from.
    fn source(&self) -> Source;

    /// Its parameters.
    fn params(&self) -> &'static [ParamSpec];

    /// Names of the values 0, 1, 2 … of a parameter that is a choice; empty for a number.
    fn words(&self, param: &str) -> &'static [&'static str] {
        let _ = param;
        &[]
    }

    /// Usual range of a parameter in practice, with the source in [`Element::source`]; `None` where there is none. A
    /// value outside it is a finding, never refused.
    fn usual(&self, param: &str) -> Option<(f64, f64)> {
        let _ = param;
        None
    }

    /// The face it shapes.
    fn face(&self) -> Face {
        Face::Top
    }

    /// Whether it can be drawn as a closed curve ([`ElementItem::curve`]).
    fn is_drawn(&self) -> bool {
        false
    }

    /// Whether it shows [`ElementItem::text`].
    fn has_text(&self) -> bool {
        false
    }

    /// Parameters by the landmarks and the edge: every parameter is given. Where a landmark needed is missing, the default
    /// place.
    fn place(&self, site: &Site) -> Params;

    /// The shape with its numbers read once, to be evaluated at many points. Zero outside [`Element::bounds`],
    /// continuously differentiable everywhere, and zero everywhere once the number by [`Element::strength`] is 0.
    fn shape(&self, item: &ElementItem, edge: &Arc<Edge>) -> Shape;

    /// Least and greatest corner of a box outside which the shape is zero, foot frame, mm. The box may reach far beyond
    /// the insole, but not without end.
    fn bounds(&self, item: &ElementItem, edge: &Arc<Edge>) -> (DVec2, DVec2);

    /// The parameter that is its height, depth or angle: at 0 the element is nothing.
    fn strength(&self) -> &'static str;

    /// Where its strength is taken hold of in the section and the 3D view: near its greatest height, on the insole.
    fn crest(&self, item: &ElementItem, edge: &Arc<Edge>) -> DVec2 {
        let (lo, hi) = self.bounds(item, edge);
        0.5 * (lo + hi)
    }

    /// The points by which it is dragged on the plan. The first moves it whole.
    fn handles(&self, item: &ElementItem, edge: &Arc<Edge>) -> Vec<Handle>;

    /// The parameters after dragging the handle with id `handle` to `to`, kept within the parameters' ranges; an
    /// unknown handle or a position that is not finite changes nothing.
    fn drag(&self, item: &ElementItem, edge: &Arc<Edge>, handle: &str, to: DVec2) -> Params;

    /// The height at one point. For many points, use [`Element::shape`].
    fn height(&self, item: &ElementItem, edge: &Arc<Edge>, p: DVec2) -> f64 {
        (self.shape(item, edge))(p)
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

/// The parameter of elements that write: for which foot, since a left one is designed mirrored.
pub const WRITTEN_FOR: &str = "written_for";

/// One element placed on an insole, as the case stores it. A kind this version does not know is kept as it is.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct ElementItem {
    /// Number within its insole, never used twice.
    pub id: u32,
    /// Id of its kind in [`ALL`].
    pub kind: String,
    /// Whether it is part of the surface now.
    pub on: bool,
    /// Its parameters.
    pub params: Params,
    /// Points of the closed curve it was drawn to, foot frame, mm; empty: not drawn.
    #[serde(default)]
    pub curve: Vec<[f64; 2]>,
    /// What it says, for a kind that shows text.
    #[serde(default)]
    pub text: String,
    /// Number shared with the element on the other foot that changes with it, mirrored.
    #[serde(default)]
    pub twin: Option<u32>,
}

impl ElementItem {
    /// An item of a kind with these parameters, acting, with number 1.
    #[must_use]
    pub fn new(kind: &str, params: Params) -> ElementItem {
        ElementItem { id: 1, kind: kind.to_owned(), on: true, params, ..ElementItem::default() }
    }
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
