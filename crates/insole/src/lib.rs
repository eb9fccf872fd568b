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
//! What is guaranteed: the functions are finite everywhere and continuously differentiable, and an element changes
//! nothing outside its bounds. What is not: that the insole is thick enough everywhere; [`Surface::thinnest`] says.

mod arch;
mod base_surface;
pub mod elements;
mod layout;
mod params;
mod rim;
mod skin;
mod smooth;
mod spline_grid;
mod surface;
#[cfg(test)]
mod test_foot;

pub use arch::{ArchBound, ArchSupport, arch_fill};
pub use base_surface::{BaseSurface, SurfaceError, SurfaceInput};
pub use elements::{Element, ElementItem, Handle, HandleKind};
pub use params::PARAMS;
pub use surface::{Extreme, SOLID_MIN_MM, Surface};
