use glam::DVec2;
use mesh::Grid;

/// A twice continuously differentiable function through samples on a regular grid: a uniform bicubic B-spline.
///
/// The coefficients are the quasi-interpolant `c = f − (f₋₁ − 2 f + f₊₁) / 6` along each axis, which is local and
/// reproduces cubic polynomials (de Boor and Fix 1973, from memory); on samples of a smooth function it misses them by
/// the fourth power of the step only.
#[derive(Clone, Debug)]
pub(crate) struct SplineGrid {
    origin_mm: DVec2,
    step_mm: f64,
    columns: usize,
    rows: usize,
    coefficients: Vec<f64>,
}

impl SplineGrid {
    /// The spline through `values`, laid out like those of `like`; every value must be finite.
    pub(crate) fn new(like: &Grid, values: &[f64]) -> SplineGrid {
        let (columns, rows) = (like.columns, like.rows);
        let at = |values: &[f64], column: usize, row: usize| values[row * columns + column];
        let sharpened = |before: f64, here: f64, after: f64| here - (before - 2.0 * here + after) / 6.0;
        let mut along = Vec::with_capacity(values.len());
        for row in 0..rows {
            for column in 0..columns {
                let (before, after) = (column.saturating_sub(1), (column + 1).min(columns - 1));
                along.push(sharpened(at(values, before, row), at(values, column, row), at(values, after, row)));
            }
        }
        let mut coefficients = Vec::with_capacity(values.len());
        for row in 0..rows {
            let (before, after) = (row.saturating_sub(1), (row + 1).min(rows - 1));
            for column in 0..columns {
                coefficients.push(sharpened(
                    at(&along, column, before),
                    at(&along, column, row),
                    at(&along, column, after),
                ));
            }
        }
        SplineGrid { origin_mm: like.origin_mm, step_mm: like.step_mm, columns, rows, coefficients }
    }

    /// The spline with these coefficients, rows along +y, the first at `origin_mm`; as many as whole rows need.
    pub(crate) fn of_coefficients(
        origin_mm: DVec2,
        step_mm: f64,
        columns: usize,
        coefficients: Vec<f64>,
    ) -> SplineGrid {
        SplineGrid { origin_mm, step_mm, columns, rows: coefficients.len() / columns, coefficients }
    }

    /// The value at `p`; outside the grid that of the nearest point on its border.
    pub(crate) fn at(&self, p: DVec2) -> f64 {
        let last = DVec2::new((self.columns - 1) as f64, (self.rows - 1) as f64);
        let q = ((p - self.origin_mm) / self.step_mm).max(DVec2::ZERO).min(last);
        let cell = q.floor();
        let (column, row) = (cell.x as usize, cell.y as usize);
        let (x, y) = (weights(q.x - cell.x), weights(q.y - cell.y));
        let columns: [usize; 4] = std::array::from_fn(|k| (column + k).saturating_sub(1).min(self.columns - 1));
        let mut value = 0.0;
        for (k, y) in y.into_iter().enumerate() {
            let start = (row + k).saturating_sub(1).min(self.rows - 1) * self.columns;
            let line = &self.coefficients[start..start + self.columns];
            let along: [f64; 4] = std::array::from_fn(|k| x[k] * line[columns[k]]);
            value += y * ((along[0] + along[1]) + (along[2] + along[3]));
        }
        value
    }
}

/// Weights of the four coefficients around a point `t` (0…1) into its cell.
fn weights(t: f64) -> [f64; 4] {
    let (s, t2) = (1.0 - t, t * t);
    let t3 = t2 * t;
    [s * s * s / 6.0, (3.0 * t3 - 6.0 * t2 + 4.0) / 6.0, (-3.0 * t3 + 3.0 * t2 + 3.0 * t + 1.0) / 6.0, t3 / 6.0]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn through(step: f64, f: impl Fn(DVec2) -> f64) -> SplineGrid {
        let grid = Grid::over(DVec2::new(-3.0, 2.0), DVec2::new(21.0, 18.0), step);
        let values: Vec<f64> = (0..grid.rows)
            .flat_map(|r| (0..grid.columns).map(move |c| (c, r)))
            .map(|(c, r)| f(grid.at(c, r)))
            .collect();
        SplineGrid::new(&grid, &values)
    }

    #[test]
    fn cubics_are_reproduced_exactly() {
        let f = |p: DVec2| 2.0 + p.x - 0.3 * p.y * p.x + 0.01 * p.x * p.x * p.x - 0.02 * p.y * p.y * p.y;
        let spline = through(1.0, f);
        for (x, y) in [(3.0, 7.0), (4.3, 8.9), (10.75, 12.01)] {
            let p = DVec2::new(x, y);
            assert!((spline.at(p) - f(p)).abs() < 1e-10, "{} for {}", spline.at(p), f(p));
        }
    }

    #[test]
    fn the_error_falls_with_the_fourth_power_of_the_step() {
        let f = |p: DVec2| libm::sin(0.4 * p.x) * libm::cos(0.3 * p.y);
        let error = |step: f64| {
            let spline = through(step, f);
            (0..400)
                .map(|i| DVec2::new(3.0 + 0.03 * f64::from(i), 6.0 + 0.02 * f64::from(i)))
                .map(|p| (spline.at(p) - f(p)).abs())
                .fold(0.0, f64::max)
        };
        let ratio = error(1.0) / error(0.5);
        assert!(ratio > 12.0 && ratio < 20.0, "the ratio is {ratio}, 16 expected");
    }

    #[test]
    fn outside_the_grid_it_stays_what_it_is_on_the_border() {
        let spline = through(1.0, |p| p.x);
        assert!((spline.at(DVec2::new(500.0, 9.0)) - spline.at(DVec2::new(21.0, 9.0))).abs() < 1e-12);
        assert!(spline.at(DVec2::new(-1e9, 1e9)).is_finite());
    }
}
