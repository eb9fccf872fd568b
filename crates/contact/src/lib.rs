//! Pressure between a rigid body and columns of springs, on plain grids.
//!
//! It knows no feet: a case is a [`Plane`] of nodes, [`Columns`] of layers in series under it, an [`Indenter`] with a profile and a
//! [`LoadCase`]. [`settle`] lets the body sink and tilt until force and both moments balance; [`plate`] goes the other way, from a
//! pressure map on a flat plate to the profile that presses it.
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
//!
//! # Model
//! At each node of the mask the layers of a column share one pressure and their compressions add up; each layer follows its
//! [`Curve`]. [`confinement`] gives the modulus of a layer that cannot spread. A shear layer after Pasternak may tie neighbours:
//! p = q(w) − ∇·(G ∇w) with the springs' pressure q, the compression w and the strength G, for which [`two_parameters`] has a rule.
//! The body is rigid and smooth, in one piece or in two that share a [`Hinge`]; it only pushes. Units: mm, N, kPa for pressures, MPa
//! for moduli, N/mm for the strength.
//!
//! # Guaranteed
//! - An answer balances: the force to 1e-9 (1e-7 with a shear layer) of itself and the moments to as much of the force times half the
//!   bearing area's size; each node's pressure to 1e-6 of the greatest. What is left is told. No balance is an error, never an answer.
//! - No pressure is below zero, and there is none outside contact.
//! - The energy is convex and every step lowers it, so the answer is the lowest and does not depend on the start, but for the
//!   tolerance of balance.
//! - Sums run in a fixed order: the same case gives the same bits.
//! - No step allocates: [`Workspace`] keeps what the steps need from one case to the next.
//!
//! # Not guaranteed
//! Pressures are estimates by a model, not measurements.
//! - No friction and no shear traction; a foot in a shoe has both.
//! - Small strains: columns stay upright and keep their area, slopes are taken for angles. Beyond a third of compression, and
//!   slopes beyond a quarter, the answer is one of the model only.
//! - The shear layer stands for an elastic solid that it is not. Against finite elements of bonded layers under six bodies
//!   (`tests/outside/test_contact.py`: cylinders, a ball, a punch with rounded edges, a relief, graded hardness) with the strength
//!   by the rule, peak pressures are within 7 %, widths of contact within 5 % and depths within 4 % for Poisson's ratios of 0, 0.1,
//!   0.2 and 0.3. **At 0.45 it is no model**: too stiff by 15 to 30 %, peaks between 6 and 50 % too high, contact up to 22 % too
//!   narrow, and no strength of the layer mends that, since such a solid gives way to the side. Soft tissue is of that kind: for it
//!   take a stiffness measured in compression, not a modulus and a ratio. Foams are not.
//! - Without a shear layer a rounded edge's peak comes out a quarter too low.
//! - Sharp edges of a body stand at its outermost nodes; an elastic solid's pressure is without bound there.
//! - The shear layer ends at the mask's rim. Where the body tilts it shears the layer as a whole, which resists.
//!
//! # Cost
//! 16 000 bearing nodes (270 by 110 at 1 mm, two layers), from the answer to a neighbouring case, on one core of a small server:
//! half a millisecond standing alone, 1 ms where they stiffen; tied together 7 to 10 ms by the rule's strength, twice as much from
//! nothing. The cost grows with the number of nodes, and little with the strength. `examples/timing.rs` measures it.

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
