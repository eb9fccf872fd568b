//! Hardness regions, their continuously differentiable field, and Shore A ↔ modulus.
//!
//! A [`HardnessPlan`] is what the practitioner decides: a base hardness and [`Region`]s, each a closed curve with a hardness
//! and a transition. A [`HardnessField`] is what follows: Shore A and its gradient at every place, exactly, and samples
//! of it on a grid. [`HardnessField::steepest`] says where it changes fastest.
//!
//! ```
//! use glam::DVec2;
//! use hardness::{HardnessField, HardnessPlan, Region};
//! let heel = Region {
//!     id: 1,
//!     name: "Heel".into(),
//!     points: vec![[10.0, 0.0], [40.0, -20.0], [70.0, 0.0], [40.0, 20.0]],
//!     shore_a: 20.0,
//!     transition_mm: 10.0,
//!     on: true,
//! };
//! let field = HardnessField::new(&HardnessPlan { base_shore_a: 40.0, regions: vec![heel] });
//! assert!((field.value(DVec2::new(40.0, 0.0)) - 20.0).abs() < 1e-9);
//! assert!((field.value(DVec2::new(120.0, 0.0)) - 40.0).abs() < 1e-9);
//! ```

mod boundary;
mod field;
mod modulus;
mod plan;
mod raster;
mod steepest;
mod weight;
#[cfg(test)]
mod weight_tests;

pub use field::HardnessField;
pub use modulus::{
    ModulusRelation, RELATIONS, modulus_mpa_gent, modulus_mpa_log, modulus_range_mpa, shore_a_gent, shore_a_log,
    shore_a_range,
};
pub use plan::{HardnessPlan, Region, SHORE_A, TRANSITION};
pub use steepest::Steepest;
