//! The level of the ground under everything, from the picture's border.

use super::plane::Plane;

/// A polynomial of second degree over the picture: uneven light and the darker corners of a lens.
pub(super) struct Ground {
    /// Of 1, x, y, x², xy, y², where x and y run from −1 to 1.
    terms: [f64; 6],
    size: (f64, f64),
    /// How far the border's pixels lie from it, as a standard deviation, levels.
    pub noise: f64,
}

/// Width of the border that is looked at, share of the picture's shorter side.
const BORDER_SHARE: f64 = 0.03;
/// Most pixels of the border that are looked at.
const MOST_SAMPLES: usize = 20_000;
/// Rounds of the fit; what lies off is left out in the next. The first three fit a plane only.
const ROUNDS: usize = 8;
const PLANE_ROUNDS: usize = 3;
/// Pixels farther from the ground than so many standard deviations are something else.
const OUTLIER: f64 = 2.5;
/// But not nearer than this, levels.
const LEAST_OUTLIER: f64 = 3.0;
/// From the median of distances to the standard deviation of a normal distribution.
const MEDIAN_TO_SIGMA: f64 = 1.4826;

impl Ground {
    pub(super) fn of(plane: &Plane) -> Ground {
        let size = (plane.width as f64, plane.height as f64);
        let border = ((size.0.min(size.1) * BORDER_SHARE) as usize).max(2);
        let is_border = |column: usize, row: usize| {
            column.min(row) < border || column + border >= plane.width || row + border >= plane.height
        };
        let all = (0..plane.values.len()).filter(|&at| is_border(at % plane.width, at / plane.width));
        let stride = all.clone().count() / MOST_SAMPLES + 1;
        let mut ground = Ground { terms: [0.0; 6], size, noise: 0.0 };
        let samples: Vec<([f64; 6], f64)> = all
            .step_by(stride)
            .map(|at| (ground.basis(at % plane.width, at / plane.width), f64::from(plane.values[at])))
            .collect();
        ground.terms[0] = median(samples.iter().map(|(_, value)| *value).collect());
        for round in 0..=ROUNDS {
            let off = |(basis, value): &([f64; 6], f64)| (value - dot(basis, &ground.terms)).abs();
            ground.noise = MEDIAN_TO_SIGMA * median(samples.iter().map(off).collect());
            if round == ROUNDS {
                break;
            }
            let limit = (OUTLIER * ground.noise).max(LEAST_OUTLIER);
            let kept: Vec<&([f64; 6], f64)> = samples.iter().filter(|sample| off(sample) <= limit).collect();
            let count = if round < PLANE_ROUNDS { 3 } else { 6 };
            if let Some(terms) = fit(&kept, count) {
                ground.terms = terms;
            }
        }
        ground
    }

    /// The ground's level at a pixel.
    pub(super) fn at(&self, column: usize, row: usize) -> f64 {
        dot(&self.basis(column, row), &self.terms)
    }

    fn basis(&self, column: usize, row: usize) -> [f64; 6] {
        let x = (2 * column + 1) as f64 / self.size.0 - 1.0;
        let y = (2 * row + 1) as f64 / self.size.1 - 1.0;
        [1.0, x, y, x * x, x * y, y * y]
    }
}

fn dot(a: &[f64; 6], b: &[f64; 6]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn median(mut values: Vec<f64>) -> f64 {
    let middle = values.len() / 2;
    if values.is_empty() {
        return 0.0;
    }
    base::sort_numbers(&mut values);
    values[middle]
}

/// Least squares over the first `count` terms. `None` if the samples do not decide them.
fn fit(samples: &[&([f64; 6], f64)], count: usize) -> Option<[f64; 6]> {
    let mut system = vec![vec![0.0; count + 1]; count];
    for (basis, value) in samples {
        for (row, &of_row) in system.iter_mut().zip(basis) {
            for (entry, &of_column) in row.iter_mut().zip(basis[..count].iter().chain([value])) {
                *entry += of_row * of_column;
            }
        }
    }
    // Elimination; the system is symmetric and, with enough samples, definite.
    for pivot in 0..count {
        let (above, below) = system.split_at_mut(pivot + 1);
        let row = &above[pivot];
        if row[pivot] <= 1e-6 * samples.len() as f64 {
            return None;
        }
        for other in below {
            let factor = other[pivot] / row[pivot];
            other.iter_mut().zip(row).for_each(|(entry, top)| *entry -= factor * top);
        }
    }
    let mut terms = [0.0; 6];
    for row in (0..count).rev() {
        let known: f64 = (row + 1..count).map(|column| system[row][column] * terms[column]).sum();
        terms[row] = (system[row][count] - known) / system[row][row];
    }
    Some(terms)
}
