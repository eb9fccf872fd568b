//! Holes in height grids, closed by a membrane stretched over their rims.

use mesh::Grid;

/// Rounds of relaxing a membrane: enough for holes of some 30 samples across, and a rim at one height needs none.
const ROUNDS: usize = 400;

/// A membrane that moves less than this in a round is at rest, mm.
const AT_REST_MM: f32 = 1e-4;

/// The connected groups of samples without a value for which `is_hole` holds (by index).
pub(crate) fn holes(grid: &Grid, is_hole: impl Fn(usize) -> bool) -> Vec<Vec<usize>> {
    let mut is_open: Vec<bool> = (0..grid.values.len()).map(|k| grid.values[k].is_nan() && is_hole(k)).collect();
    let mut found = Vec::new();
    for first in 0..is_open.len() {
        if !std::mem::replace(&mut is_open[first], false) {
            continue;
        }
        let mut hole = vec![first];
        let mut next = 0;
        while let Some(&k) = hole.get(next) {
            next += 1;
            for side in sides(grid, k).into_iter().flatten() {
                if std::mem::replace(&mut is_open[side], false) {
                    hole.push(side);
                }
            }
        }
        found.push(hole);
    }
    found
}

/// Gives the samples of a hole the heights of a membrane stretched over its rim. A hole without a rim stays.
pub(crate) fn stretch(grid: &mut Grid, hole: &[usize]) {
    // From the rim inwards, each sample first gets the mean of the neighbours that have a value.
    let mut open = hole.to_vec();
    while !open.is_empty() {
        let filled: Vec<(usize, f32)> = open.iter().filter_map(|&k| Some((k, mean_around(grid, k)?))).collect();
        if filled.is_empty() {
            return;
        }
        for (k, mean) in filled {
            grid.values[k] = mean;
        }
        open.retain(|&k| grid.values[k].is_nan());
    }
    for _ in 0..ROUNDS {
        let mut moved = 0.0_f32;
        for &k in hole {
            if let Some(mean) = mean_around(grid, k) {
                moved = moved.max((mean - grid.values[k]).abs());
                grid.values[k] = mean;
            }
        }
        if moved < AT_REST_MM {
            return;
        }
    }
}

/// The samples to the four sides of one, as far as the grid has them.
fn sides(grid: &Grid, k: usize) -> [Option<usize>; 4] {
    let (column, row) = (k % grid.columns, k / grid.columns);
    [
        (column > 0).then(|| k - 1),
        (column + 1 < grid.columns).then_some(k + 1),
        (row > 0).then(|| k - grid.columns),
        (row + 1 < grid.rows).then_some(k + grid.columns),
    ]
}

/// Mean of the values to the four sides; `None` if there is none.
fn mean_around(grid: &Grid, k: usize) -> Option<f32> {
    let (mut sum, mut count) = (0.0, 0.0);
    for value in sides(grid, k).into_iter().flatten().map(|side| grid.values[side]).filter(|value| value.is_finite()) {
        sum += value;
        count += 1.0;
    }
    (count > 0.0).then(|| sum / count)
}

/// Which samples without a value cannot be reached from the border of the grid over others without one.
pub(crate) fn enclosed(grid: &Grid) -> Vec<bool> {
    let (columns, rows) = (grid.columns, grid.rows);
    let is_border = |k: usize| {
        let (column, row) = (k % columns, k / columns);
        column == 0 || row == 0 || column + 1 == columns || row + 1 == rows
    };
    let mut is_enclosed = vec![false; grid.values.len()];
    for hole in holes(grid, |_| true) {
        if !hole.iter().any(|&k| is_border(k)) {
            hole.into_iter().for_each(|k| is_enclosed[k] = true);
        }
    }
    is_enclosed
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::DVec2;

    /// z = 3 + 2 x − y on a grid of 9 by 7, with a hole of 3 by 3 and one at the border.
    fn plane_with_holes() -> (Grid, Grid) {
        let mut whole = Grid::over(DVec2::ZERO, DVec2::new(8.0, 6.0), 1.0);
        for k in 0..whole.values.len() {
            let p = whole.at(k % 9, k / 9);
            whole.values[k] = (3.0 + 2.0 * p.x - p.y) as f32;
        }
        let mut torn = whole.clone();
        for k in 0..torn.values.len() {
            let (column, row) = (k % 9, k / 9);
            if (3..6).contains(&column) && (2..5).contains(&row) || column == 0 && row < 2 {
                torn.values[k] = f32::NAN;
            }
        }
        (whole, torn)
    }

    #[test]
    fn only_holes_inside_are_enclosed() {
        let (_, torn) = plane_with_holes();
        let sizes: Vec<usize> = holes(&torn, |_| true).iter().map(Vec::len).collect();
        assert_eq!(sizes, [2, 9]);
        let inside: Vec<usize> = (0..63).filter(|&k| enclosed(&torn)[k]).collect();
        assert_eq!(inside, [21, 22, 23, 30, 31, 32, 39, 40, 41]);
    }

    /// A membrane over a plane rim is that plane: linear functions are harmonic.
    #[test]
    fn a_membrane_over_a_plane_rim_is_plane() {
        let (whole, mut torn) = plane_with_holes();
        let inner = holes(&torn, |k| enclosed(&torn)[k]).remove(0);
        stretch(&mut torn, &inner);
        for k in inner {
            assert!((torn.values[k] - whole.values[k]).abs() < 1e-3, "{k}: {}", torn.values[k]);
        }
    }

    #[test]
    fn a_hole_without_a_rim_stays() {
        let mut nothing = Grid::over(DVec2::ZERO, DVec2::splat(4.0), 1.0);
        let hole = holes(&nothing, |_| true).remove(0);
        stretch(&mut nothing, &hole);
        assert!(nothing.values.iter().all(|value| value.is_nan()));
    }
}
