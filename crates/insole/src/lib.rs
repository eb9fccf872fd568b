//! The insole's surfaces: the bearing surface on top, made from the sole of the foot, the elements placed on it, and
//! the bottom that stands in the shoe.
//!
//! Everything is in the foot frame (see `base`): the insole's top lies at the skin, the heel rests at z = 0, the flat
//! forefoot is z = 0, the bottom lies `base_thickness_mm` below. A surface is a function of the plan position that is
//! sampled at any spacing: coarse while something is dragged, fine for making.
//!
//! 1. [`BaseSurface::new`] prepares heel cup, arch and forefoot once from the sole, the landmarks and the outline;
//! 2. [`Surface::new`] puts the elements on it: cheap enough for every pointer move;
//! 3. [`Surface::top`], [`Surface::bottom`] and [`Surface::thickness`] answer at any point.
//!
//! ```
//! use base::{Params, Report};
//! use foot::{Landmark, LandmarkId, Landmarks, WeightBearing};
//! use glam::{DVec2, DVec3};
//! use insole::{BaseSurface, Edge, ElementItem, Site, Sole, Surface, SurfaceInput, elements};
//! use std::sync::Arc;
//!
//! // A sole by formula: flat but for an arch 20 mm high on the medial side.
//! let mut sole = mesh::Grid::over(DVec2::new(0.0, -45.0), DVec2::new(260.0, 45.0), 1.0);
//! for index in 0..sole.values.len() {
//!     let p = sole.at(index % sole.columns, index / sole.columns);
//!     sole.values[index] = (20.0 - (p - DVec2::new(108.0, 30.0)).length_squared() / 60.0).max(0.0) as f32;
//! }
//! let at = |x, y, z| Landmark { at: DVec3::new(x, y, z), confidence: 1.0, by_hand: false };
//! let landmarks: Landmarks = [
//!     (LandmarkId::HeelCentre, at(38.0, 0.0, 0.0)),
//!     (LandmarkId::ArchApex, at(108.0, 30.0, 20.0)),
//!     (LandmarkId::MetatarsaleTibiale, at(192.0, 43.0, 0.0)),
//!     (LandmarkId::MetatarsaleFibulare, at(168.0, -45.0, 0.0)),
//! ]
//! .into();
//! let outline = [(0.0, -32.0), (265.0, -42.0), (265.0, 42.0), (0.0, 32.0)].map(|(x, y)| DVec2::new(x, y));
//!
//! let edge = Arc::new(Edge::new(&outline)?);
//! let base = BaseSurface::new(&SurfaceInput {
//!     sole: &Sole::new(&sole).ok_or(insole::SurfaceError::NoSole)?,
//!     landmarks: &landmarks,
//!     edge: &edge,
//!     params: &Params::new(),
//!     state: WeightBearing::Full,
//! })?;
//! assert_eq!(base.arch().used_mm, 19.0);
//!
//! let pad = &elements::MetatarsalPad as &dyn elements::Element;
//! let item = ElementItem::new(pad.id(), pad.place(&Site { landmarks: &landmarks, edge: &edge }));
//! let surface = Surface::new(Arc::new(base), &[item], None, &mut Report::default());
//! assert!((surface.top(DVec2::new(108.0, 30.0)) - 19.0).abs() < 0.1);
//! assert!((surface.thickness(DVec2::new(230.0, 0.0)) - 4.0).abs() < 1e-9);
//! # Ok::<(), insole::SurfaceError>(())
//! ```
//!
//! What is guaranteed: the functions are finite everywhere and continuously differentiable, and an element changes
//! nothing outside its bounds. What is not: that the insole is thick enough everywhere; [`Surface::thinnest`] says.

mod arch;
mod areas;
mod base_surface;
pub mod build;
mod edge;
pub mod elements;
mod layout;
mod params;
mod rim;
pub mod sculpt;
mod skin;
mod smooth;
mod spline_grid;
mod surface;
#[cfg(test)]
mod test_foot;

pub use arch::{ArchBound, ArchSupport, arch_fill};
pub use base_surface::{BaseSurface, LANDMARKS, Sole, SurfaceError, SurfaceInput};
pub use edge::Edge;
pub use elements::{Element, ElementItem, Face, Handle, HandleKind, Site};
pub use params::{FOLLOW_LAST, GROUPS, PARAMS, words};
pub use sculpt::Sculpt;
pub use surface::{Extreme, SOLID_MIN_MM, Surface, Thin};
