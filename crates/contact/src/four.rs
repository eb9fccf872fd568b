//! Vectors and symmetric matrices of the four ways in which a body moves: sink, two slopes, bend.

pub(crate) type Four = [f64; 4];

pub(crate) fn dot(a: &Four, b: &Four) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2] + a[3] * b[3]
}

pub(crate) fn plus(a: &Four, share: f64, b: &Four) -> Four {
    [a[0] + share * b[0], a[1] + share * b[1], a[2] + share * b[2], a[3] + share * b[3]]
}

/// A symmetric matrix, of which the lower triangle counts.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Symmetric(pub(crate) [Four; 4]);

impl Symmetric {
    /// Adds `weight` times `a aᵀ`.
    pub(crate) fn add_square(&mut self, weight: f64, a: &Four) {
        for (row, line) in self.0.iter_mut().enumerate() {
            for (column, value) in line.iter_mut().enumerate().take(row + 1) {
                *value += weight * a[row] * a[column];
            }
        }
    }

    pub(crate) fn add(&mut self, share: f64, other: &Symmetric) {
        for (line, more) in self.0.iter_mut().zip(&other.0) {
            *line = plus(line, share, more);
        }
    }

    pub(crate) fn times(&self, a: &Four) -> Four {
        let at = |row: usize, column: usize| self.0[row.max(column)][row.min(column)];
        std::array::from_fn(|row| (0..4).map(|column| at(row, column) * a[column]).sum())
    }

    /// Factors of the part in which `moves`, after Cholesky. The matrix must be positive definite there; a pivot that is not, by
    /// rounding, is taken for one by which nothing moves.
    pub(crate) fn factored(&self, moves: [bool; 4]) -> Factored {
        let mut factor = [[0.0; 4]; 4];
        for row in (0..4).filter(|&row| moves[row]) {
            for column in (0..=row).filter(|&column| moves[column]) {
                let sum = (0..column).fold(self.0[row][column], |sum, k| sum - factor[row][k] * factor[column][k]);
                factor[row][column] = if row == column {
                    sum.max(0.0).sqrt()
                } else if factor[column][column] > 0.0 {
                    sum / factor[column][column]
                } else {
                    0.0
                };
            }
        }
        Factored(factor)
    }
}

/// A lower triangle L with L Lᵀ the matrix; 0 on the diagonal where nothing moves.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Factored([Four; 4]);

impl Factored {
    pub(crate) fn solve(&self, right: &Four) -> Four {
        let factor = &self.0;
        let mut x = [0.0; 4];
        for row in (0..4).filter(|&row| factor[row][row] > 0.0) {
            x[row] = (0..row).fold(right[row], |sum, k| sum - factor[row][k] * x[k]) / factor[row][row];
        }
        for row in (0..4).rev().filter(|&row| factor[row][row] > 0.0) {
            x[row] = (row + 1..4).fold(x[row], |sum, k| sum - factor[k][row] * x[k]) / factor[row][row];
        }
        x
    }
}
