use crate::HardnessPlan;
use glam::DVec2;
use mesh::Grid;

/// The hardness of an insole as a function of the place, Shore A.
#[derive(Clone, Debug, PartialEq)]
pub struct HardnessField {
    base: f64,
}

/// The steepest change of hardness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Steepest {
    /// Shore A per mm.
    pub shore_a_per_mm: f64,
    /// Where, foot frame, mm.
    pub at: DVec2,
}

impl HardnessField {
    /// The field of a plan.
    #[must_use]
    pub fn new(plan: &HardnessPlan) -> HardnessField {
        HardnessField { base: plan.base_shore_a }
    }

    /// Shore A at `p`.
    #[must_use]
    pub fn value(&self, p: DVec2) -> f64 {
        let _ = p;
        self.base
    }

    /// Shore A at `p` and its change, Shore A per mm.
    #[must_use]
    pub fn value_and_gradient(&self, p: DVec2) -> (f64, DVec2) {
        (self.value(p), DVec2::ZERO)
    }

    /// The field on the samples of `template`.
    #[must_use]
    pub fn sample(&self, template: &Grid) -> Grid {
        Grid { values: vec![self.base as f32; template.columns * template.rows], ..template.clone() }
    }

    /// The steepest change inside the closed polygon `outline`.
    #[must_use]
    pub fn steepest(&self, outline: &[DVec2]) -> Steepest {
        Steepest { shore_a_per_mm: 0.0, at: outline.first().copied().unwrap_or_default() }
    }
}
