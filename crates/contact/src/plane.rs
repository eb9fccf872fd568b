use crate::ContactError;
use glam::DVec2;

/// Where the nodes are: `columns` along +x, `rows` along +y, `step_mm` apart. Every array over a plane holds one value for each
/// node, row by row: `values[row * columns + column]`. A node stands for the square of side `step_mm` round it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plane {
    /// Position of the first node, mm.
    pub origin_mm: DVec2,
    /// Distance between neighbours, mm, greater than zero.
    pub step_mm: f64,
    /// Nodes along x.
    pub columns: usize,
    /// Nodes along y.
    pub rows: usize,
}

impl Plane {
    /// Number of nodes.
    #[must_use]
    pub fn len(&self) -> usize {
        self.columns.saturating_mul(self.rows)
    }

    /// Whether there are no nodes.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Position of a node, mm.
    #[must_use]
    #[inline]
    pub fn at(&self, node: usize) -> DVec2 {
        let (column, row) = (node % self.columns, node / self.columns);
        self.origin_mm + DVec2::new(column as f64, row as f64) * self.step_mm
    }

    /// Area of a node's square, mm².
    #[must_use]
    pub fn cell_mm2(&self) -> f64 {
        self.step_mm * self.step_mm
    }

    /// Resultant of a pressure map in kPa: force in N and its point of application in mm; `None` where nothing presses.
    ///
    /// # Errors
    /// If the map does not fit the plane or a pressure is below zero or not finite.
    pub fn resultant(&self, pressure_kpa: &[f64]) -> Result<Option<(f64, DVec2)>, ContactError> {
        self.check("pressure", pressure_kpa, "a finite pressure of at least 0 kPa", |p| p >= 0.0 && p.is_finite())?;
        let mut sum = 0.0;
        let mut moment = DVec2::ZERO;
        for (row, line) in pressure_kpa.chunks_exact(self.columns.max(1)).enumerate() {
            let (mut across, mut along) = (0.0, 0.0);
            for (column, p) in line.iter().enumerate() {
                across += p;
                along += p * column as f64;
            }
            sum += across;
            moment += DVec2::new(along, across * row as f64);
        }
        let force_n = sum * self.cell_mm2() / KPA;
        Ok((force_n > 0.0).then(|| (force_n, self.origin_mm + moment / sum * self.step_mm)))
    }

    pub(crate) fn check(
        &self,
        what: &'static str,
        values: &[f64],
        must: &'static str,
        is_sound: impl Fn(f64) -> bool,
    ) -> Result<(), ContactError> {
        self.check_where(what, values, must, |_| true, is_sound)
    }

    /// Checks the values at the nodes that `counts`.
    pub(crate) fn check_where(
        &self,
        what: &'static str,
        values: &[f64],
        must: &'static str,
        counts: impl Fn(usize) -> bool,
        is_sound: impl Fn(f64) -> bool,
    ) -> Result<(), ContactError> {
        self.check_size(what, values.len())?;
        match values.iter().enumerate().find(|&(node, &value)| counts(node) && !is_sound(value)) {
            None => Ok(()),
            Some((node, &value)) => {
                Err(ContactError::BadValue { what, column: node % self.columns, row: node / self.columns, value, must })
            }
        }
    }

    pub(crate) fn check_size(&self, what: &'static str, found: usize) -> Result<(), ContactError> {
        let expected = self.len();
        if found == expected { Ok(()) } else { Err(ContactError::WrongSize { what, found, expected }) }
    }
}

/// kPa in one MPa (N/mm²).
pub(crate) const KPA: f64 = 1000.0;
