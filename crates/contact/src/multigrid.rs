//! An approximate solution of springs tied by a shear layer, for conjugate gradients to start each step from.
//!
//! Multigrid on cells: four cells become one, whose spring is the sum of theirs and whose ties are those of the same shear layer
//! at twice the step (half the sum, as strength does not depend on the step). What is left over is summed to the coarse cell, its
//! motion is added to all four; before and after, a damped Jacobi step smooths. The whole is a symmetric positive definite map
//! (Briggs, Henson & McCormick 2000, A Multigrid Tutorial, from memory), whatever the mask.

use crate::shear::Shear;

/// Damping of Jacobi's step: 4/5 smooths a five-point operator best (the same book).
const DAMPING: f64 = 0.8;

/// Fewest cells across on the coarsest level: below, springs outweigh ties by far.
const FEWEST: usize = 4;

/// Jacobi steps on the coarsest level.
const COARSEST_STEPS: usize = 4;

/// Levels over a plane, the finest first.
#[derive(Clone, Debug, Default)]
pub(crate) struct Multigrid {
    levels: Vec<Level>,
}

#[derive(Clone, Debug, Default)]
struct Level {
    rows: usize,
    ties: Shear,
    spring: Vec<f64>,
    /// Spring and ties together.
    diagonal: Vec<f64>,
    /// Damped inverse of the diagonal; 0 where there is no cell.
    smooth: Vec<f64>,
    /// With a row of zeros before the first row and after the last.
    x: Vec<f64>,
    right: Vec<f64>,
    left: Vec<f64>,
}

impl Multigrid {
    /// Room for a plane of `rows` by `columns`.
    pub(crate) fn reset(&mut self, rows: usize, columns: usize) {
        let mut size = (rows, columns);
        let mut count = 1;
        while size.0.min(size.1) >= 2 * FEWEST {
            size = (size.0.div_ceil(2), size.1.div_ceil(2));
            count += 1;
        }
        self.levels.resize(count, Level::default());
        size = (rows, columns);
        for level in &mut self.levels {
            level.reset(size.0, size.1);
            size = (size.0.div_ceil(2), size.1.div_ceil(2));
        }
    }

    /// Takes up springs and ties between the nodes where `free` is 1; a tie to any other node holds like a spring.
    pub(crate) fn take(&mut self, shear: &Shear, stiffness: &[f64], free: &[f64]) {
        if let Some(finest) = self.levels.first_mut() {
            finest.ties.take_between(shear, free);
            for (node, spring) in finest.spring.iter_mut().enumerate() {
                let held = shear.around()[node] - finest.ties.around()[node];
                *spring = free[node] * (stiffness[node] + held);
            }
            finest.finish();
        }
        for next in 1..self.levels.len() {
            let (fine, coarse) = self.levels.split_at_mut(next);
            coarse[0].gather(&fine[next - 1]);
        }
    }

    /// Fills `out` with about the motion under the forces `right`.
    pub(crate) fn solve(&mut self, right: &[f64], out: &mut [f64]) {
        if let Some(finest) = self.levels.first_mut() {
            finest.right.copy_from_slice(right);
        }
        self.cycle(0);
        if let Some(finest) = self.levels.first() {
            let first = finest.ties.columns();
            out.copy_from_slice(&finest.x[first..first + out.len()]);
        }
    }

    fn cycle(&mut self, at: usize) {
        let (fine, coarse) = self.levels.split_at_mut(at + 1);
        let fine = &mut fine[at];
        fine.smooth_from_rest();
        match coarse.first_mut() {
            None => (1..COARSEST_STEPS).for_each(|_| fine.smooth()),
            Some(coarse) => {
                fine.find_left();
                coarse.restrict(fine);
                self.cycle(at + 1);
                let (fine, coarse) = self.levels.split_at_mut(at + 1);
                fine[at].add(&coarse[0]);
                fine[at].smooth();
            }
        }
    }
}

impl Level {
    fn reset(&mut self, rows: usize, columns: usize) {
        let count = rows * columns;
        self.rows = rows;
        self.ties.reset(count, columns);
        for array in [&mut self.spring, &mut self.diagonal, &mut self.smooth, &mut self.right, &mut self.left] {
            array.clear();
            array.resize(count, 0.0);
        }
        self.x.clear();
        self.x.resize(count + 2 * columns, 0.0);
    }

    /// Sums up the springs and ties of the finer level.
    fn gather(&mut self, fine: &Level) {
        self.spring.fill(0.0);
        let columns = self.ties.columns();
        for (row, line) in fine.spring.chunks_exact(fine.ties.columns()).enumerate() {
            let first = row / 2 * columns;
            for (column, spring) in line.iter().enumerate() {
                self.spring[first + column / 2] += spring;
            }
        }
        self.ties.gather(&fine.ties);
        self.finish();
    }

    fn finish(&mut self) {
        for (i, diagonal) in self.diagonal.iter_mut().enumerate() {
            *diagonal = self.spring[i] + self.ties.around()[i];
            self.smooth[i] = if *diagonal > 0.0 { DAMPING / *diagonal } else { 0.0 };
        }
    }

    fn smooth_from_rest(&mut self) {
        let x = &mut self.x[self.ties.columns()..];
        x.iter_mut().zip(self.smooth.iter().zip(&self.right)).for_each(|(x, (smooth, right))| *x = smooth * right);
    }

    fn smooth(&mut self) {
        self.find_left();
        let x = &mut self.x[self.ties.columns()..];
        x.iter_mut().zip(self.smooth.iter().zip(&self.left)).for_each(|(x, (smooth, left))| *x += smooth * left);
    }

    fn find_left(&mut self) {
        self.ties.apply(&self.diagonal, &self.x, &mut self.left);
        self.left.iter_mut().zip(&self.right).for_each(|(left, right)| *left = right - *left);
    }

    /// Takes up what the finer level has left, summed.
    fn restrict(&mut self, fine: &Level) {
        let (columns, wide) = (self.ties.columns(), fine.ties.columns());
        self.right.fill(0.0);
        for (row, line) in fine.left.chunks_exact(wide).enumerate() {
            let sums = &mut self.right[row / 2 * columns..][..columns];
            let (pairs, last) = line.split_at(wide / 2 * 2);
            for (sum, pair) in sums.iter_mut().zip(pairs.chunks_exact(2)) {
                *sum += pair[0] + pair[1];
            }
            if let (Some(sum), Some(last)) = (sums.last_mut(), last.first()) {
                *sum += last;
            }
        }
    }

    /// Moves every cell by what the coarser level found for its four.
    fn add(&mut self, coarse: &Level) {
        let (columns, narrow) = (self.ties.columns(), coarse.ties.columns());
        for (row, line) in self.x[columns..].chunks_exact_mut(columns).take(self.rows).enumerate() {
            let by = &coarse.x[narrow + row / 2 * narrow..][..narrow];
            for (pair, by) in line.chunks_mut(2).zip(by) {
                pair.iter_mut().for_each(|x| *x += by);
            }
        }
        // Where there is no cell nothing must move, or its neighbours would be pulled.
        let x = &mut self.x[columns..];
        x.iter_mut().zip(&self.smooth).for_each(|(x, smooth)| *x = if *smooth > 0.0 { *x } else { 0.0 });
    }
}
