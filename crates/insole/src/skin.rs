//! The sole of the foot as a function without holes.

use crate::smooth::step_over;
use glam::DVec2;
use mesh::Grid;
use std::f64::consts::SQRT_2;

/// Skin higher than this is the side of the foot, not its sole, mm: what lies beyond is not copied.
const HIGHEST_MM: f64 = 40.0;

/// Relaxations at each level of the fill. A few are enough, because each level starts from the coarser one's result.
const RELAXATIONS: usize = 6;

/// Beside the foot the skin is taken to go on rising at this slope, 60°, as the side of a heel does.
const SIDE_SLOPE: f64 = 1.7;

/// Border of the skin up to this height, mm, is where a scan was cut off: beside it the skin goes on level. From the second
/// height on it is the side of the foot.
const CUT_OFF_MM: (f64, f64) = (1.0, 5.0);

/// The sole's heights with every gap filled: inside the foot by a smooth membrane across the hole, beside it by going on
/// from the height of its border, rising where that is the side of the foot. `None` if the grid has no value at all.
pub(crate) fn filled(sole: &Grid) -> Option<Vec<f64>> {
    let values: Vec<Option<f64>> = sole
        .values
        .iter()
        .map(|&value| value.is_finite().then(|| f64::from(value).clamp(-HIGHEST_MM, HIGHEST_MM)))
        .collect();
    if values.iter().all(Option::is_none) {
        return None;
    }
    let mut filled = fill(&values, sole.columns, sole.rows);
    for (height, distance) in filled.iter_mut().zip(beside(&values, sole.columns, sole.rows)) {
        *height += step_over(CUT_OFF_MM.0, CUT_OFF_MM.1, *height) * SIDE_SLOPE * distance * sole.step_mm;
    }
    Some(filled)
}

/// For each sample beside the foot its distance from the foot, in samples; 0 on the foot and in its
/// holes.
fn beside(known: &[Option<f64>], columns: usize, rows: usize) -> Vec<f64> {
    let mut open: Vec<usize> = (0..known.len())
        .filter(|index| {
            let (column, row) = (index % columns, index / columns);
            (column == 0 || row == 0 || column + 1 == columns || row + 1 == rows) && known[*index].is_none()
        })
        .collect();
    let mut distance = vec![0.0; known.len()];
    let reachable = |distance: &[f64], index: usize| known[index].is_none() && distance[index] == 0.0;
    open.iter().for_each(|&index| distance[index] = f64::INFINITY);
    while let Some(index) = open.pop() {
        let (column, row) = (index % columns, index / columns);
        let mut visit = |inside: bool, next: usize| {
            if inside && reachable(&distance, next) {
                distance[next] = f64::INFINITY;
                open.push(next);
            }
        };
        visit(column > 0, index.wrapping_sub(1));
        visit(column + 1 < columns, index + 1);
        visit(row > 0, index.wrapping_sub(columns));
        visit(row + 1 < rows, index + columns);
    }
    // Two passes with the steps 1 and √2 (a chamfer): up to 8 % too far along some directions, near enough for a wall.
    let shorten = |distance: &mut [f64], index: usize, backward: bool| {
        let (column, row) = ((index % columns) as i64, (index / columns) as i64);
        let sign = if backward { 1 } else { -1 };
        for (dc, dr, step) in [(1, 0, 1.0), (0, 1, 1.0), (1, 1, SQRT_2), (-1, 1, SQRT_2)] {
            let (c, r) = (column + sign * dc, row + sign * dr);
            if (0..columns as i64).contains(&c) && (0..rows as i64).contains(&r) {
                distance[index] = f64::min(distance[index], distance[r as usize * columns + c as usize] + step);
            }
        }
    };
    (0..known.len()).for_each(|index| shorten(&mut distance, index, false));
    (0..known.len()).rev().for_each(|index| shorten(&mut distance, index, true));
    distance
}

/// Fills level by level, from the coarsest grid on which everything is known to the finest, relaxing what was filled
/// towards the mean of its neighbours.
fn fill(known: &[Option<f64>], columns: usize, rows: usize) -> Vec<f64> {
    if known.iter().all(Option::is_some) {
        return known.iter().map(|value| value.unwrap_or_default()).collect();
    }
    let (half_columns, half_rows) = (columns.div_ceil(2), rows.div_ceil(2));
    let mut coarse = Vec::with_capacity(half_columns * half_rows);
    for row in 0..half_rows {
        for column in 0..half_columns {
            let (mut sum, mut count) = (0.0, 0.0);
            for r in 2 * row..rows.min(2 * row + 2) {
                let line = &known[r * columns + 2 * column..r * columns + columns.min(2 * column + 2)];
                for value in line.iter().flatten() {
                    sum += value;
                    count += 1.0;
                }
            }
            coarse.push((count > 0.0).then(|| sum / count));
        }
    }
    let coarse = fill(&coarse, half_columns, half_rows);
    let mut values: Vec<f64> = (0..columns * rows)
        .map(|index| known[index].unwrap_or(coarse[index / columns / 2 * half_columns + index % columns / 2]))
        .collect();
    let gaps: Vec<usize> = (0..values.len()).filter(|&index| known[index].is_none()).collect();
    for _ in 0..RELAXATIONS {
        for &index in &gaps {
            let (column, row) = (index % columns, index / columns);
            let left = values[row * columns + column.saturating_sub(1)];
            let right = values[row * columns + (column + 1).min(columns - 1)];
            let below = values[row.saturating_sub(1) * columns + column];
            let above = values[(row + 1).min(rows - 1) * columns + column];
            values[index] = (left + right + below + above) / 4.0;
        }
    }
    values
}

/// Bilinear value of `values`, laid out like those of `like`, at `p`; outside the grid that of its border.
pub(crate) fn bilinear(like: &Grid, values: &[f64], p: DVec2) -> f64 {
    let last = DVec2::new((like.columns - 1) as f64, (like.rows - 1) as f64);
    let q = ((p - like.origin_mm) / like.step_mm).max(DVec2::ZERO).min(last);
    let cell = q.floor();
    let (column, row) = (cell.x as usize, cell.y as usize);
    let (next_column, next_row) = ((column + 1).min(like.columns - 1), (row + 1).min(like.rows - 1));
    let (u, v) = (q.x - cell.x, q.y - cell.y);
    let at = |column: usize, row: usize| values[row * like.columns + column];
    let low = at(column, row) * (1.0 - u) + at(next_column, row) * u;
    let high = at(column, next_row) * (1.0 - u) + at(next_column, next_row) * u;
    low * (1.0 - v) + high * v
}

/// `values` convolved with a Gaussian of standard deviation `sigma` grid steps; beyond the border its values go on.
pub(crate) fn smoothed(values: &[f64], columns: usize, rows: usize, sigma: f64) -> Vec<f64> {
    // Beyond three standard deviations lie 0.3 % of the weight.
    let reach = (3.0 * sigma).ceil() as usize;
    let mut weights: Vec<f64> =
        (0..=reach).map(|k| libm::exp(-0.5 * (k as f64 / sigma) * (k as f64 / sigma))).collect();
    let sum = weights[0] + 2.0 * weights[1..].iter().sum::<f64>();
    weights.iter_mut().for_each(|weight| *weight /= sum);
    let mut along = vec![0.0; values.len()];
    let mut line = vec![0.0; columns + 2 * reach];
    for row in 0..rows {
        let source = &values[row * columns..(row + 1) * columns];
        line[..reach].fill(source[0]);
        line[reach..reach + columns].copy_from_slice(source);
        line[reach + columns..].fill(source[columns - 1]);
        for (column, out) in along[row * columns..(row + 1) * columns].iter_mut().enumerate() {
            let centre = column + reach;
            let mut value = weights[0] * line[centre];
            for (k, weight) in weights.iter().enumerate().skip(1) {
                value += weight * (line[centre - k] + line[centre + k]);
            }
            *out = value;
        }
    }
    let mut out = vec![0.0; values.len()];
    for row in 0..rows {
        let target = &mut out[row * columns..(row + 1) * columns];
        for (k, weight) in weights.iter().enumerate() {
            let lower = &along[row.saturating_sub(k) * columns..][..columns];
            let upper = &along[(row + k).min(rows - 1) * columns..][..columns];
            // The middle line counts once, not twice.
            let weight = if k == 0 { weight / 2.0 } else { *weight };
            for ((out, lower), upper) in target.iter_mut().zip(lower).zip(upper) {
                *out += weight * (lower + upper);
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid(f: impl Fn(DVec2) -> f64) -> Grid {
        let mut grid = Grid::over(DVec2::ZERO, DVec2::new(40.0, 30.0), 1.0);
        for index in 0..grid.values.len() {
            grid.values[index] = f(grid.at(index % grid.columns, index / grid.columns)) as f32;
        }
        grid
    }

    #[test]
    fn a_hole_in_a_tilted_plane_is_filled_nearly_flat() {
        let plane = |p: DVec2| 3.0 + 0.2 * p.x - 0.1 * p.y;
        let hole = |p: DVec2| p.distance(DVec2::new(20.0, 15.0)) < 5.0;
        let sole = grid(|p| if hole(p) { f64::NAN } else { plane(p) });
        let values = filled(&sole).unwrap();
        for (index, value) in values.iter().enumerate() {
            let p = sole.at(index % sole.columns, index / sole.columns);
            assert!((value - plane(p)).abs() < 0.25, "{value} instead of {} at {p}", plane(p));
        }
    }

    #[test]
    fn beside_the_foot_a_low_border_goes_on_level_and_a_high_one_rises() {
        let cut_off = grid(|p| if p.y > 12.0 { f64::NAN } else { 0.5 });
        assert!(filled(&cut_off).unwrap().iter().all(|value| (value - 0.5).abs() < 1e-9));
        let side = grid(|p| if p.y > 12.0 { f64::NAN } else { 7.0 });
        let values = filled(&side).unwrap();
        for (index, value) in values.iter().enumerate() {
            let beyond = (side.at(index % side.columns, index / side.columns).y - 12.0).max(0.0);
            assert!((value - 7.0 - SIDE_SLOPE * beyond).abs() < 1e-9);
        }
        assert!(filled(&grid(|_| f64::NAN)).is_none());
        assert!(
            filled(&Grid { origin_mm: DVec2::ZERO, step_mm: 1.0, columns: 0, rows: 0, values: Vec::new() }).is_none()
        );
    }

    #[test]
    fn the_distance_beside_the_foot_is_nearly_euclidean_and_holes_are_not_beside_it() {
        let centre = DVec2::new(20.0, 15.0);
        let ring = grid(|p| if (4.0..8.0).contains(&p.distance(centre)) { 1.0 } else { f64::NAN });
        let known: Vec<Option<f64>> = ring.values.iter().map(|v| v.is_finite().then(|| f64::from(*v))).collect();
        for (index, distance) in beside(&known, ring.columns, ring.rows).into_iter().enumerate() {
            let exact = (ring.at(index % ring.columns, index / ring.columns).distance(centre) - 8.0).max(0.0);
            assert!(distance >= exact - 1e-9 && distance <= 1.09 * exact + 1.5, "{distance} for {exact}");
        }
    }

    #[test]
    fn smoothing_keeps_planes_inside_and_damps_waves_as_a_gaussian_does() {
        let (columns, rows, sigma) = (60, 50, 2.0);
        let each = |f: &dyn Fn(f64, f64) -> f64| -> Vec<f64> {
            (0..columns * rows).map(|i| f((i % columns) as f64, (i / columns) as f64)).collect()
        };
        let plane = each(&|x, y| 1.0 + 0.5 * x - 0.25 * y);
        let middle = 25 * columns + 30;
        assert!((smoothed(&plane, columns, rows, sigma)[middle] - plane[middle]).abs() < 1e-12);
        // The transform of a Gaussian: amplitude times exp(-(sigma k)²/2).
        let wave = 0.6;
        let waves = each(&|x, _| libm::cos(wave * (x - 30.0)));
        let expected = libm::exp(-(sigma * wave) * (sigma * wave) / 2.0);
        assert!((smoothed(&waves, columns, rows, sigma)[middle] - expected).abs() < 5e-3);
    }

    #[test]
    fn bilinear_follows_a_plane_and_stops_at_the_border() {
        let sole = grid(|p| 0.5 * p.x + 0.25 * p.y);
        let values = filled(&sole).unwrap();
        assert!((bilinear(&sole, &values, DVec2::new(3.25, 4.5)) - 2.75).abs() < 1e-6);
        assert!((bilinear(&sole, &values, DVec2::new(-9.0, 0.0))).abs() < 1e-12);
        assert!((bilinear(&sole, &values, DVec2::new(99.0, 99.0)) - 27.5).abs() < 1e-6);
    }
}
