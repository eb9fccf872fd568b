use crate::Pose;
use glam::DVec2;

/// A body at rest.
#[derive(Clone, Debug, PartialEq)]
pub struct Settled {
    /// How the body stands.
    pub pose: Pose,
    /// Pressure at each node, kPa: never below 0, and 0 outside contact.
    pub pressure_kpa: Vec<f64>,
    /// How far each column is compressed, mm. Without a shear layer that is how deep the body reaches into it; with one, columns
    /// beside the contact sink too.
    pub compression_mm: Vec<f64>,
    /// What is left over.
    pub residuals: Residuals,
    /// Newton steps.
    pub iterations: usize,
}

/// What is left of balance: pressures less loads.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Residuals {
    /// Force, N.
    pub force_n: f64,
    /// Moments about the axes through the force's point of application, N·mm, right-handed with z up.
    pub moment_n_mm: DVec2,
    /// Moment about the hinge, N·mm; 0 where the bend is held.
    pub hinge_n_mm: f64,
    /// Greatest pressure that a single node has too much, kPa: on a column outside contact, or pulling.
    pub local_kpa: f64,
}
