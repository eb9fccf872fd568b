use glam::DVec2;
use serde::{Deserialize, Serialize};

/// Most samples of a grid made by [`Grid::over`], 256 MB of them: a mistake in a size must not exhaust the memory. A
/// foot at 0.1 mm has 3 million.
pub const MOST_SAMPLES: usize = 1 << 26;

/// Samples of a function z(x, y) on a regular grid, row by row: `values[row * columns + column]`, rows along +y,
/// columns along +x. `NaN` means the function has no value there.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Grid {
    /// Position of `values[0]`, mm.
    pub origin_mm: DVec2,
    /// Distance between neighbours, mm, greater than zero.
    pub step_mm: f64,
    /// Samples along x.
    pub columns: usize,
    /// Samples along y.
    pub rows: usize,
    /// `columns * rows` samples.
    pub values: Vec<f32>,
}

impl Grid {
    /// A grid over the box `lo`…`hi` (both covered), every sample `NaN`.
    ///
    /// A box or step that is not finite and greater than zero gives a single sample; beyond [`MOST_SAMPLES`] the grid
    /// ends short of `hi`.
    #[must_use]
    pub fn over(lo: DVec2, hi: DVec2, step_mm: f64) -> Grid {
        // Conversion turns what is not a number into 0 and what is too large into the greatest number.
        let steps = |size: f64| ((size / step_mm).ceil() as usize).min(MOST_SAMPLES - 1);
        let is_sound = step_mm > 0.0 && step_mm.is_finite() && (hi - lo).is_finite();
        let [columns, rows] = if is_sound { [steps(hi.x - lo.x) + 1, steps(hi.y - lo.y) + 1] } else { [1, 1] };
        let rows = rows.min(MOST_SAMPLES / columns);
        Grid { origin_mm: lo, step_mm, columns, rows, values: vec![f32::NAN; columns * rows] }
    }

    /// Position of a sample, mm.
    #[must_use]
    #[inline]
    pub fn at(&self, column: usize, row: usize) -> DVec2 {
        self.origin_mm + DVec2::new(column as f64, row as f64) * self.step_mm
    }

    /// The sample at a column and row; `NaN` outside.
    #[must_use]
    #[inline]
    pub fn get(&self, column: usize, row: usize) -> f32 {
        if column < self.columns && row < self.rows { self.values[row * self.columns + column] } else { f32::NAN }
    }

    /// Bilinear value at `p`; `None` outside the grid or where one of the four samples around has no value.
    #[must_use]
    pub fn sample(&self, p: DVec2) -> Option<f64> {
        if self.columns < 2 || self.rows < 2 {
            return None;
        }
        let q = (p - self.origin_mm) / self.step_mm;
        let last = DVec2::new((self.columns - 1) as f64, (self.rows - 1) as f64);
        if !(q.cmpge(DVec2::ZERO).all() && q.cmple(last).all()) {
            return None;
        }
        // A point on the last row or column has no cell beyond it: use the one before.
        let column = (q.x as usize).min(self.columns - 2);
        let row = (q.y as usize).min(self.rows - 2);
        let (u, v) = (q.x - column as f64, q.y - row as f64);
        let at = |c: usize, r: usize| f64::from(self.values[r * self.columns + c]);
        let low = at(column, row) * (1.0 - u) + at(column + 1, row) * u;
        let high = at(column, row + 1) * (1.0 - u) + at(column + 1, row + 1) * u;
        let value = low * (1.0 - v) + high * v;
        value.is_finite().then_some(value)
    }
}
