//! Outlines in the plane: convex hulls, and contours of grids and shadows of meshes by marching squares.
//!
//! Guaranteed: contours are closed, run counter-clockwise round what is inside and clockwise round its holes, and do
//! not cross themselves or one another. Between two samples the contour of a function is placed by linear
//! interpolation, so its error falls with the square of the step where the function is smooth.
//!
//! Not guaranteed: towards samples without a value and beyond the grid nothing is known, so the contour is placed half
//! a step away from the last sample inside; the same holds for masks and shadows, whose outline is right to half a step.

use crate::chain::chains;
use crate::{Grid, Plane, TriMesh, raster};
use glam::{DVec2, DVec3};

/// The convex hull of points, counter-clockwise from the least x (then least y), without points on its sides. Points
/// that are not finite are passed over. By the monotone chain of Andrew (1979).
#[must_use]
pub fn convex_hull_2d(points: &[DVec2]) -> Vec<DVec2> {
    let mut sorted: Vec<DVec2> = points.iter().copied().filter(|p| p.is_finite()).collect();
    base::sort_by(&mut sorted, |a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    sorted.dedup();
    if sorted.len() < 3 {
        return sorted;
    }
    let mut hull = half_hull(sorted.iter());
    hull.extend(half_hull(sorted.iter().rev()));
    hull
}

/// One side of the hull, without its last point.
fn half_hull<'a>(points: impl Iterator<Item = &'a DVec2>) -> Vec<DVec2> {
    let mut hull: Vec<DVec2> = Vec::new();
    for &p in points {
        while let [.., a, b] = hull[..]
            && (b - a).perp_dot(p - b) <= 0.0
        {
            hull.pop();
        }
        hull.push(p);
    }
    hull.pop();
    hull
}

/// Length of a closed outline, mm.
#[must_use]
pub fn perimeter_mm(outline: &[DVec2]) -> f64 {
    (0..outline.len()).map(|k| outline[k].distance(outline[(k + 1) % outline.len()])).sum()
}

/// Area inside a closed outline, mm²; negative if it runs clockwise.
#[must_use]
pub fn signed_area_mm2(outline: &[DVec2]) -> f64 {
    let Some(&first) = outline.first() else { return 0.0 };
    outline.windows(2).map(|pair| (pair[0] - first).perp_dot(pair[1] - first)).sum::<f64>() * 0.5
}

/// Pairs of edges of a closed outline that may cross: not neighbours, and their boxes meet. Edge k runs from corner k to
/// the next. Each pair once, by a sweep along x: near n log n for an outline that does not double back on itself.
pub fn near_edges(outline: &[DVec2]) -> impl Iterator<Item = (usize, usize)> {
    let count = outline.len();
    let boxes: Vec<(DVec2, DVec2)> = (0..count)
        .map(|edge| (outline[edge], outline[(edge + 1) % count]))
        .map(|(a, b)| (a.min(b), a.max(b)))
        .collect();
    let order = base::order(count, &|i, j| boxes[i].0.x.total_cmp(&boxes[j].0.x));
    (0..count).flat_map(move |rank| {
        let i = order[rank];
        let (low, high) = boxes[i];
        let reached = order[rank + 1..].iter().take_while(|&&j| boxes[j].0.x <= high.x);
        let near = reached.copied().filter(|&j| {
            let neighbours = (i + 1) % count == j || (j + 1) % count == i;
            !neighbours && boxes[j].1.y >= low.y && boxes[j].0.y <= high.y
        });
        near.map(|j| (i, j)).collect::<Vec<_>>()
    })
}

/// Length of a tape pulled tight round `points` in `plane`: the perimeter of the convex hull of their feet on it, mm.
#[must_use]
pub fn hull_girth_mm(points: &[DVec3], plane: &Plane) -> f64 {
    let flat: Vec<DVec2> = points.iter().map(|&p| plane.to_2d(p)).collect();
    perimeter_mm(&convex_hull_2d(&flat))
}

/// The outlines of where the grid's function is `level` or more. Samples without a value are outside.
#[must_use]
pub fn contour(grid: &Grid, level: f64) -> Vec<Vec<DVec2>> {
    marching_squares(grid, |value| f64::from(value) - level)
}

/// The outlines of where the grid's function is `level` or less. Samples without a value are outside.
#[must_use]
pub fn contour_below(grid: &Grid, level: f64) -> Vec<Vec<DVec2>> {
    marching_squares(grid, |value| level - f64::from(value))
}

/// The outlines of the samples for which `is_inside` holds, half a step outside of them.
#[must_use]
pub fn contour_mask(grid: &Grid, is_inside: impl Fn(f32) -> bool) -> Vec<Vec<DVec2>> {
    marching_squares(grid, |value| if is_inside(value) { 1.0 } else { -1.0 })
}

/// The outlines of the mesh's shadow along z, sampled every `step_mm`; the longest first.
#[must_use]
pub fn silhouette(mesh: &TriMesh, step_mm: f64) -> Vec<Vec<DVec2>> {
    let Some((lo, hi)) = mesh.bounds() else { return Vec::new() };
    let heights = raster::height_from_below(mesh, Grid::over(lo.truncate(), hi.truncate(), step_mm));
    contour_mask(&heights, |value| !value.is_nan())
}

/// The outlines of where `excess` of the values is zero or more, the longest first.
fn marching_squares(grid: &Grid, excess: impl Fn(f32) -> f64) -> Vec<Vec<DVec2>> {
    // Samples are counted from 1 here, and a frame of samples without a value lies around them.
    let at = |column: usize, row: usize| match (column.checked_sub(1), row.checked_sub(1)) {
        (Some(column), Some(row)) => excess(grid.get(column, row)),
        _ => f64::NAN,
    };
    let width = grid.columns + 2;
    // Sides of squares are numbered by the sample at their start: twice its number, plus one for upward sides.
    let side =
        |column: usize, row: usize, is_upward: bool| (2 * (row * width + column) + usize::from(is_upward)) as u64;
    let mut segments = Vec::new();
    for row in 0..=grid.rows {
        let mut left = [at(0, row), at(0, row + 1)];
        for column in 0..=grid.columns {
            let right = [at(column + 1, row), at(column + 1, row + 1)];
            // Corners and the sides after them, counter-clockwise from the lower left.
            let corners = [left[0], right[0], right[1], left[1]];
            left = right;
            let sides = || {
                [
                    side(column, row, false),
                    side(column + 1, row, true),
                    side(column, row + 1, false),
                    side(column, row, true),
                ]
            };
            add_segments(corners, sides, &mut segments);
        }
    }
    let point = |key: u64| {
        let (sample, is_upward) = (key as usize / 2, key % 2 == 1);
        let (column, row) = (sample % width, sample / width);
        let step = if is_upward { (0, 1) } else { (1, 0) };
        let (here, next) = (at(column, row), at(column + step.0, row + step.1));
        let share = here / (here - next);
        let share = if share.is_finite() { share } else { 0.5 };
        let start = DVec2::new(column as f64 - 1.0, row as f64 - 1.0);
        grid.origin_mm + (start + DVec2::new(step.0 as f64, step.1 as f64) * share) * grid.step_mm
    };
    let closed = chains(&segments).into_iter().filter(|chain| chain.is_closed);
    let mut outlines: Vec<Vec<DVec2>> = closed
        .map(|chain| {
            let mut points: Vec<DVec2> = chain.keys.into_iter().map(point).collect();
            points.dedup();
            if points.len() > 1 && points.first() == points.last() {
                points.pop();
            }
            points
        })
        .filter(|points| points.len() > 2)
        .collect();
    base::sort_by_key(&mut outlines, |outline| std::cmp::Reverse(perimeter_mm(outline).to_bits()));
    outlines
}

/// The contour's pieces in one square, with the inside on their left.
fn add_segments(corners: [f64; 4], sides: impl Fn() -> [u64; 4], segments: &mut Vec<[u64; 2]>) {
    // Not a number is outside.
    let is_inside = corners.map(|value| value >= 0.0);
    if is_inside == [false; 4] || is_inside == [true; 4] {
        return;
    }
    let sides = sides();
    // Going round the square, the contour comes in where we go out of the inside, and leaves where we come back.
    let changes = |from: bool| (0..4).filter(move |&k| is_inside[k] == from && is_inside[(k + 1) % 4] != from);
    let (ins, outs): (Vec<usize>, Vec<usize>) = (changes(true).collect(), changes(false).collect());
    let is_joined = corners.iter().sum::<f64>() >= 0.0;
    for &start in &ins {
        // With two pieces, the mean decides whether the two inner corners are joined or cut off one by one.
        let nearest = |&&out: &&usize| if is_joined { (out + 4 - start) % 4 } else { (start + 4 - out) % 4 };
        if let Some(&out) = outs.iter().min_by_key(nearest) {
            segments.push([sides[start], sides[out]]);
        }
    }
}
