//! Hardness regions, their continuously differentiable field, and Shore A ↔ modulus.

mod field;
mod modulus;
mod plan;

pub use field::{HardnessField, Steepest};
pub use modulus::{modulus_mpa_gent, modulus_mpa_log, shore_a_gent, shore_a_log};
pub use plan::{HardnessPlan, Region, SHORE_A, TRANSITION};
