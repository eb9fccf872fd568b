use thiserror::Error;

/// A length in mm, greater than zero by construction, within which two things count as the same.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Tolerance(f64);

/// A tolerance must be finite and greater than zero.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
#[error("a tolerance must be finite and greater than zero, not {0}")]
pub struct NotATolerance(pub f64);

impl Tolerance {
    /// A tolerance of `mm` millimetres.
    ///
    /// # Errors
    /// If `mm` is not finite or not greater than zero.
    pub fn new(mm: f64) -> Result<Self, NotATolerance> {
        if mm.is_finite() && mm > 0.0 { Ok(Tolerance(mm)) } else { Err(NotATolerance(mm)) }
    }

    /// In millimetres.
    #[must_use]
    pub fn mm(self) -> f64 {
        self.0
    }
}
