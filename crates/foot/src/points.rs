//! Soles out of clouds of points.

use crate::pose::{cloud, is_measurable};
use crate::{IntakeError, holes};
use base::{Report, Severity, Work};
use glam::{DAffine3, DVec2, DVec3};
use mesh::{Grid, TriMesh};

/// Fewer points than this leave nothing of toes and arch.
const LEAST_POINTS: usize = 500;

/// Least and greatest size of the cells in which points become one height, mm. Clouds of a scanner for feet need no more
/// than 3 mm; thinned ones are coarser.
const CELL_MM: (f64, f64) = (1.0, 5.0);

/// Size of cells that say how large a plan is, whatever the spacing of its points, mm.
const PLAN_MM: f64 = 6.0;

/// Cells are so much larger than the points' distance from each other that most hold one or more.
const CELL_PER_SPACING: f64 = 1.5;

/// Points this high over the support plane are no sole, mm.
const MOST_HEIGHT_MM: f64 = 45.0;

/// Points farther than this from the heel are not the foot's, mm.
const FARTHEST_MM: f64 = 600.0;

/// Points within this of the lowest one in their cell are the sole's too and count in its mean, mm: the noise of most
/// scanners, and less than any part of a foot is thick.
const SAME_SKIN_MM: f64 = 2.0;

/// A cell that stands out by this from all around is seen through a gap in the sole: the inside of the dorsum, mm.
const THROUGH_MM: f64 = 8.0;

/// Points lower than this beside the plan of the foot are floor, mm, if they reach [`BEYOND_MM`] beyond it.
const FLOOR_MM: f64 = 3.0;

/// A floor reaches farther than this beyond the foot, mm.
const BEYOND_MM: f64 = 15.0;

/// Groups of cells no farther apart than this are one foot: a toe that was seen for itself.
const NEAR_CELLS: isize = 3;

/// Gaps of fewer cells than this are bridged.
const GAP_CELLS: usize = 40;

/// Two neighbouring cells that differ by more than so many cells are not joined: a steep wall.
const STEEPEST: f64 = 20.0;

/// A foot that is nothing else is about this long, mm: gives clouds in an unknown unit a size.
const USUAL_LENGTH_MM: f64 = 250.0;

/// The sole of a foot that was scanned as a cloud of points, as a mesh in the scan's own coordinates whose triangles
/// face down.
///
/// The points are seen from straight below, in cells of 1 to 3 mm (sparse clouds up to 5 mm) by their own spacing; each cell has the mean height of
/// its lowest points, small gaps are bridged and large ones stay open. `foot_from_scan` is the pose if it is known: the
/// same points and pose give the same mesh. Otherwise the cloud's lie is found roughly, well enough for
/// [`find_pose`](crate::find_pose) to find it exactly on the mesh. Points that are not finite are passed over.
///
/// # Errors
/// Too few points, or no foot to be seen in them; if cancelled.
pub fn skin_of_points(
    name: &str,
    points: &[DVec3],
    foot_from_scan: Option<&DAffine3>,
    work: &Work,
    report: &mut Report,
) -> Result<TriMesh, IntakeError> {
    work.step("Looking at the points", 0.0)?;
    let finite: Vec<DVec3> =
        points.iter().copied().filter(|p| p.is_finite() && is_measurable(-DVec3::ONE, *p)).collect();
    let count = finite.len();
    let too_few = |points: usize| IntakeError::TooFewPoints { file: name.to_owned(), points, needed: LEAST_POINTS };
    if count < LEAST_POINTS {
        return Err(too_few(count));
    }
    let nothing = || IntakeError::NotAFoot { file: name.to_owned(), reason: "no sole in the points".to_owned() };
    let frame = match foot_from_scan {
        Some(known) => *known,
        None => {
            let (level, length) = cloud::lie_of(&finite).ok_or_else(nothing)?;
            DAffine3::from_scale(DVec3::splat(USUAL_LENGTH_MM / length)) * level
        }
    };
    let back = frame.inverse();
    if !(frame.is_finite() && back.is_finite()) {
        return Err(nothing());
    }
    work.step("Drawing the sole out of the points", 0.5)?;
    let low: Vec<DVec3> = finite
        .iter()
        .map(|&p| frame.transform_point3(p))
        .filter(|p| p.is_finite() && p.abs().max_element() < FARTHEST_MM && p.z < MOST_HEIGHT_MM)
        .collect();
    if low.len() < LEAST_POINTS / 2 {
        return Err(too_few(low.len()));
    }
    let low = without_floor(low).ok_or_else(nothing)?;
    let cell_mm = cell_of(&low).ok_or_else(nothing)?;
    let mut sole = heights(&low, cell_mm);
    keep_own_group(&mut sole);
    let gaps = close_gaps(&mut sole);
    let skin = facing_down(&sole).transformed(&back);
    if skin.triangles().is_empty() {
        return Err(nothing());
    }
    report.add(
        Severity::Info,
        "points",
        format!("{count} points became a sole in cells of {cell_mm:.1} mm; {gaps} small gaps were bridged."),
        "",
    );
    Ok(skin)
}

/// The points without those of a floor: low ones that lie beyond the plan of higher ones, if they reach far beyond.
fn without_floor(points: Vec<DVec3>) -> Option<Vec<DVec3>> {
    let is_low = |p: &&DVec3| p.z < FLOOR_MM;
    let carried: Vec<DVec3> = points.iter().filter(|p| !is_low(p)).copied().collect();
    let low: Vec<DVec3> = points.iter().filter(is_low).copied().collect();
    let (Some(around), Some(beyond)) = (cloud::bounds(&carried), cloud::bounds(&low)) else { return Some(points) };
    let reaches = beyond.0.cmplt(around.0 - BEYOND_MM) | beyond.1.cmpgt(around.1 + BEYOND_MM);
    if !(reaches.x || reaches.y) {
        return Some(points);
    }
    let mut plan = grid_over(&carried, PLAN_MM / 2.0)?;
    for &p in &carried {
        if let Some(k) = index_in(&plan, p) {
            plan.values[k] = 0.0;
        }
    }
    let is_enclosed = holes::enclosed(&plan);
    let is_under = |p: &DVec3| index_in(&plan, *p).is_some_and(|k| is_enclosed[k] || plan.values[k].is_finite());
    Some(points.into_iter().filter(|p| p.z >= FLOOR_MM || is_under(p)).collect())
}

/// Of the groups of cells that hang together, leaves the foot's own: of the large ones, that with its heel at the origin.
fn keep_own_group(grid: &mut Grid) {
    let empty = Grid {
        values: grid.values.iter().map(|z| if z.is_finite() { f32::NAN } else { 0.0 }).collect(),
        ..grid.clone()
    };
    let groups = holes::holes(&empty, |_| true);
    let largest = groups.iter().map(Vec::len).max().unwrap_or(0);
    let off = |group: &&Vec<usize>| {
        let places = group.iter().map(|&k| grid.at(k % grid.columns, k / grid.columns));
        let (lo, hi) = places.fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(lo, hi), p| (lo.min(p), hi.max(p)));
        lo.x.abs() + (lo.y + hi.y).abs() / 2.0
    };
    let large = groups.iter().filter(|group| 2 * group.len() >= largest);
    let Some(own) = large.min_by(|a, b| off(a).total_cmp(&off(b))) else { return };
    let mut kept = vec![f32::NAN; grid.values.len()];
    own.iter().for_each(|&k| kept[k] = grid.values[k]);
    // Toes may hang on by a corner only: smaller groups stay where they are near.
    for group in groups.iter().filter(|group| !std::ptr::eq(*group, own)) {
        if group.iter().any(|&k| is_near(grid, &kept, k)) {
            group.iter().for_each(|&k| kept[k] = grid.values[k]);
        }
    }
    grid.values = kept;
}

/// Whether one of the samples in reach has a value in `kept`.
fn is_near(grid: &Grid, kept: &[f32], k: usize) -> bool {
    let (column, row) = ((k % grid.columns) as isize, (k / grid.columns) as isize);
    let near = -NEAR_CELLS..=NEAR_CELLS;
    near.clone().any(|dy| {
        near.clone().any(|dx| {
            let (column, row) = (column + dx, row + dy);
            let is_inside = column >= 0 && row >= 0 && (column as usize) < grid.columns && (row as usize) < grid.rows;
            is_inside && kept[row as usize * grid.columns + column as usize].is_finite()
        })
    })
}

/// A grid over points, with a free border, its samples on whole steps from the origin.
fn grid_over(points: &[DVec3], step_mm: f64) -> Option<Grid> {
    let (lo, hi) = cloud::bounds(points)?;
    let whole = |p: DVec3, by: f64| ((p.truncate() / step_mm).floor() + DVec2::splat(by)) * step_mm;
    let grid = Grid::over(whole(lo, -1.0), whole(hi, 2.0), step_mm);
    (grid.columns > 2 && grid.rows > 2).then_some(grid)
}

fn index_in(grid: &Grid, p: DVec3) -> Option<usize> {
    let at = ((p.truncate() - grid.origin_mm) / grid.step_mm).round();
    let is_inside = at.x >= 0.0 && at.y >= 0.0 && at.x < grid.columns as f64 && at.y < grid.rows as f64;
    is_inside.then(|| at.y as usize * grid.columns + at.x as usize)
}

/// Size of the cells for points as dense as these, mm, in tenths. Cells of [`PLAN_MM`] that have points say how large the
/// plan is, and the points in the lower half of each how many there are of the sole.
fn cell_of(points: &[DVec3]) -> Option<f64> {
    let coarse = grid_over(points, PLAN_MM)?;
    let lowest = lowest(points, &coarse);
    let plan = lowest.iter().filter(|z| z.is_finite()).count() as f64 * PLAN_MM * PLAN_MM;
    let is_sole = |p: &&DVec3| index_in(&coarse, **p).is_some_and(|k| p.z < lowest[k] + 2.0 * SAME_SKIN_MM);
    let count = points.iter().filter(is_sole).count();
    let spacing = (plan / count.max(1) as f64).sqrt();
    let tenths = (10.0 * CELL_PER_SPACING * spacing).ceil() / 10.0;
    tenths.is_finite().then_some(tenths.clamp(CELL_MM.0, CELL_MM.1))
}

/// Per sample of the grid the height of the lowest point next to it.
fn lowest(points: &[DVec3], grid: &Grid) -> Vec<f64> {
    let mut lowest = vec![f64::INFINITY; grid.values.len()];
    for &p in points {
        if let Some(k) = index_in(grid, p) {
            lowest[k] = lowest[k].min(p.z);
        }
    }
    lowest
}

/// The sole's height over each cell that has points of it.
fn heights(points: &[DVec3], cell_mm: f64) -> Grid {
    let Some(mut grid) = grid_over(points, cell_mm) else { return Grid::over(DVec2::ZERO, DVec2::ZERO, 1.0) };
    let lowest = lowest(points, &grid);
    let mut sums = vec![(0.0, 0.0); lowest.len()];
    for &p in points {
        if let Some(k) = index_in(&grid, p).filter(|&k| p.z <= lowest[k] + SAME_SKIN_MM) {
            sums[k].0 += p.z;
            sums[k].1 += 1.0;
        }
    }
    for (value, (sum, count)) in grid.values.iter_mut().zip(sums) {
        *value = if count > 0.0 { (sum / count) as f32 } else { f32::NAN };
    }
    let through: Vec<usize> = (0..grid.values.len()).filter(|&k| is_seen_through(&grid, k)).collect();
    through.into_iter().for_each(|k| grid.values[k] = f32::NAN);
    grid
}

/// Whether a cell lies far above half of the cells around it, on all sides.
fn is_seen_through(grid: &Grid, k: usize) -> bool {
    let (column, row) = (k % grid.columns, k / grid.columns);
    let here = f64::from(grid.values[k]);
    if !here.is_finite() {
        return false;
    }
    // Opposite neighbours: through a gap the sole is lower on both sides, at the outline on one.
    let lower = |dx: isize, dy: isize| {
        (1..=2_isize).any(|reach| {
            let at = |along: isize, from: usize| from.checked_add_signed(along * reach);
            let value = at(dx, column).zip(at(dy, row)).map_or(f32::NAN, |(c, r)| grid.get(c, r));
            f64::from(value) < here - THROUGH_MM
        })
    };
    [(1, 0), (0, 1), (1, 1), (1, -1)].into_iter().filter(|&(x, y)| lower(x, y) && lower(-x, -y)).count() >= 2
}

/// Bridges small gaps inside; answers how many.
fn close_gaps(grid: &mut Grid) -> usize {
    let is_enclosed = holes::enclosed(grid);
    let gaps = holes::holes(grid, |k| is_enclosed[k]);
    let small = gaps.iter().filter(|gap| gap.len() < GAP_CELLS);
    small.map(|gap| holes::stretch(grid, gap)).count()
}

/// Squares of four samples as two triangles each that face down.
fn facing_down(grid: &Grid) -> TriMesh {
    let mut number = vec![u32::MAX; grid.values.len()];
    let mut positions = Vec::new();
    for (k, &z) in grid.values.iter().enumerate() {
        if z.is_finite() {
            number[k] = positions.len() as u32;
            positions.push(grid.at(k % grid.columns, k / grid.columns).extend(f64::from(z)));
        }
    }
    let mut triangles = Vec::new();
    let steepest = STEEPEST * grid.step_mm;
    let mut add = |corners: [usize; 3]| {
        let heights = corners.map(|k| f64::from(grid.values[k]));
        let (lo, hi) = heights.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), &z| (lo.min(z), hi.max(z)));
        if corners.iter().all(|&k| number[k] != u32::MAX) && hi - lo < steepest {
            triangles.push(corners.map(|k| number[k]));
        }
    };
    for row in 1..grid.rows {
        for column in 1..grid.columns {
            let [a, b] = [(row - 1) * grid.columns + column - 1, (row - 1) * grid.columns + column];
            let [d, c] = [a + grid.columns, b + grid.columns];
            // A corner without a value leaves the triangle of the other three.
            if number[b] == u32::MAX || number[d] == u32::MAX {
                add([a, c, b]);
                add([a, d, c]);
            } else {
                add([a, d, b]);
                add([b, d, c]);
            }
        }
    }
    TriMesh::new(positions, triangles).unwrap_or_default()
}
