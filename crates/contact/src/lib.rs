//! Pressure between a rigid body and columns of springs, on plain grids.
//!
//! It knows no feet: a case is a [`Plane`] of nodes, [`Columns`] of layers in series under it, an [`Indenter`] with a profile and a
//! [`LoadCase`]; [`settle`] lets the body sink and tilt until force and moments balance.
//!
//! ```
//! use contact::{Columns, Curve, Indenter, Layer, LoadCase, Plane, Workspace, settle};
//! use glam::DVec2;
//! # fn main() -> Result<(), contact::ContactError> {
//! let plane = Plane { origin_mm: DVec2::ZERO, step_mm: 1.0, columns: 100, rows: 50 };
//! let layer = Layer { thickness_mm: vec![6.0; 5000], modulus_mpa: vec![1.0; 5000], curve: Curve::Linear };
//! let columns = Columns::new(plane, vec![true; 5000], vec![layer])?;
//! let block = Indenter::rigid(vec![0.0; 5000]);
//! let load = LoadCase::at(350.0, DVec2::new(49.5, 24.5));
//! let settled = settle(&columns, &block, &load, None, &mut Workspace::default())?;
//! assert!((settled.pose.sink_mm - 0.42).abs() < 1e-9 && (settled.pressure_kpa[0] - 70.0).abs() < 1e-6);
//! # Ok(())
//! # }
//! ```

mod body;
mod columns;
mod curve;
mod error;
mod four;
mod local;
mod multigrid;
mod plane;
mod plate;
mod problem;
mod settle;
mod settled;
mod shear;
mod stiffness;
mod web;

pub use body::{Bend, Hinge, Indenter, LoadCase, Pose};
pub use columns::{Columns, Layer};
pub use curve::{Curve, Table};
pub use error::ContactError;
pub use plane::Plane;
pub use plate::{Plate, plate};
pub use settle::{Workspace, settle};
pub use settled::{Residuals, Settled};
pub use stiffness::{Bonded, SHEAR_SHARE, confinement, two_parameters};
