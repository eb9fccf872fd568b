//! Holes in height grids, closed by a membrane stretched over their rims.

use mesh::Grid;

/// Rounds of relaxing a membrane: enough for holes of some 30 samples across, and a rim at one height needs none.
const ROUNDS: usize = 400;

/// A membrane that moves less than this in a round is at rest, mm.
const AT_REST_MM: f32 = 1e-4;

/// Gives the samples without a value for which `is_hole` holds (by index) the heights of a membrane stretched over
/// their neighbours. Holes without any neighbour that has a value stay. Returns how many samples were closed.
pub(crate) fn close(grid: &mut Grid, is_hole: impl Fn(usize) -> bool) -> usize {
    let columns = grid.columns;
    let mut holes: Vec<usize> = (0..grid.values.len()).filter(|&k| grid.values[k].is_nan() && is_hole(k)).collect();
    // From the rims inwards, each sample first gets the mean of the neighbours that have a value.
    let mut open = holes.clone();
    loop {
        let filled: Vec<(usize, f32)> =
            open.iter().filter_map(|&k| mean_around(grid, k).map(|mean| (k, mean))).collect();
        if filled.is_empty() {
            break;
        }
        for (k, mean) in filled {
            grid.values[k] = mean;
        }
        open.retain(|&k| grid.values[k].is_nan());
    }
    holes.retain(|&k| grid.values[k].is_finite());
    debug_assert!(holes.iter().all(|&k| k < columns * grid.rows));
    for _ in 0..ROUNDS {
        let mut moved = 0.0_f32;
        for &k in &holes {
            if let Some(mean) = mean_around(grid, k) {
                moved = moved.max((mean - grid.values[k]).abs());
                grid.values[k] = mean;
            }
        }
        if moved < AT_REST_MM {
            break;
        }
    }
    holes.len()
}

/// Mean of the values to the four sides; `None` if there is none.
fn mean_around(grid: &Grid, k: usize) -> Option<f32> {
    let (column, row) = (k % grid.columns, k / grid.columns);
    let sides = [(column.wrapping_sub(1), row), (column + 1, row), (column, row.wrapping_sub(1)), (column, row + 1)];
    let (mut sum, mut count) = (0.0, 0.0);
    for (c, r) in sides {
        let value = grid.get(c, r);
        if value.is_finite() {
            sum += value;
            count += 1.0;
        }
    }
    (count > 0.0).then(|| sum / count)
}

/// Which samples without a value cannot be reached from the border of the grid over others without one.
pub(crate) fn enclosed(grid: &Grid) -> Vec<bool> {
    let (columns, rows) = (grid.columns, grid.rows);
    let mut is_enclosed: Vec<bool> = grid.values.iter().map(|value| value.is_nan()).collect();
    let border = (0..columns * rows).filter(|k| {
        let (column, row) = (k % columns, k / columns);
        column == 0 || row == 0 || column + 1 == columns || row + 1 == rows
    });
    let mut open: Vec<usize> = border.collect();
    while let Some(k) = open.pop() {
        if !std::mem::replace(&mut is_enclosed[k], false) {
            continue;
        }
        let (column, row) = (k % columns, k / columns);
        if column > 0 {
            open.push(k - 1);
        }
        if column + 1 < columns {
            open.push(k + 1);
        }
        if row > 0 {
            open.push(k - columns);
        }
        if row + 1 < rows {
            open.push(k + columns);
        }
    }
    is_enclosed
}
