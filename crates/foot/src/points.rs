//! Soles out of clouds of points.

use crate::envelope::{Sole, seen_from_below};
use crate::near::{plan_box, thinned, typical_distance};
use crate::pose::{cloud, is_measurable};
use crate::{IntakeError, holes};
use base::{Report, Severity, Work};
use glam::{DAffine3, DVec2, DVec3};
use mesh::{Grid, TriMesh};

/// Fewer points than this leave nothing of toes and arch.
const LEAST_POINTS: usize = 500;

/// All points in a cube of this size become one, their mean, mm: less than matters of a foot, and takes out noise.
const THIN_MM: f64 = 1.0;

/// Points this high over the support plane are no sole, mm.
const MOST_HEIGHT_MM: f64 = 45.0;

/// Points farther than this from the heel are not the foot's, mm.
const FARTHEST_MM: f64 = 600.0;

/// Points lower than this beside the plan of the foot are floor, mm, if they reach [`BEYOND_MM`] beyond it.
const FLOOR_MM: f64 = 3.0;

/// A floor reaches farther than this beyond the foot, mm.
const BEYOND_MM: f64 = 15.0;

/// Size of the cells of the plan that what is higher than a floor has, mm.
const PLAN_MM: f64 = 3.0;

/// A foot that is nothing else is about this long, mm: gives clouds in an unknown unit a size.
const USUAL_LENGTH_MM: f64 = 250.0;

/// The sole of a foot that was scanned as a cloud of points, as a mesh in the scan's own coordinates whose triangles
/// face down.
///
/// The points are seen from straight below: those that no others cover are the corners of triangles, as dense as they
/// are themselves at each place; points nearer than a millimetre to each other become one. Gaps are bridged where they
/// are not much wider than the points are apart. `foot_from_scan` is the pose if it is known: the same points and pose
/// give the same mesh. Otherwise the cloud's lie is found roughly, well enough for
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
        points.iter().copied().filter(|p| p.is_finite() && is_measurable(DVec3::ZERO, p.abs() + DVec3::ONE)).collect();
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
    let low = without_floor(thinned(&low, THIN_MM)).ok_or_else(nothing)?;
    work.step("Drawing the sole out of the points", 0.7)?;
    let Sole { skin, gaps, spacing } = seen_from_below(&low, own_group).ok_or_else(nothing)?;
    if skin.triangles().is_empty() {
        return Err(nothing());
    }
    report.add(
        Severity::Info,
        "points",
        format!("{count} points became a sole; most are {spacing:.1} mm apart, {gaps} small gaps were bridged."),
        "",
    );
    Ok(skin.transformed(&back))
}

/// The points without those of a floor: low ones that lie beyond the plan of higher ones, if they reach far beyond.
fn without_floor(points: Vec<DVec3>) -> Option<Vec<DVec3>> {
    let is_low = |p: &&DVec3| p.z < FLOOR_MM;
    let carried: Vec<DVec3> = points.iter().filter(|p| !is_low(p)).copied().collect();
    let low: Vec<DVec3> = points.iter().filter(is_low).copied().collect();
    let (around, beyond) = (plan_box(carried.iter().copied()), plan_box(low.iter().copied()));
    let reaches = beyond.0.cmplt(around.0 - BEYOND_MM) | beyond.1.cmpgt(around.1 + BEYOND_MM);
    if carried.is_empty() || !reaches.any() {
        return Some(points);
    }
    let apart = typical_distance(&carried);
    let mut plan = grid_over(around, PLAN_MM.max(apart))?;
    for &p in &carried {
        if let Some(k) = index_in(&plan, p) {
            plan.values[k] = 0.0;
        }
    }
    // Floor can be seen right up to the foot: what lies at the plan's edge is no sole, which rises before it gets there.
    let is_enclosed = holes::enclosed(&plan);
    let is_covered = |k: usize| is_enclosed[k] || plan.values[k].is_finite();
    let step = plan.step_mm;
    let is_under = |p: &DVec3| {
        let near = |x: f64, y: f64| index_in(&plan, *p + DVec3::new(x * step, y * step, 0.0));
        let around = [(0.0, 0.0), (1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)];
        around.into_iter().all(|(x, y)| near(x, y).is_some_and(is_covered))
    };
    Some(points.into_iter().filter(|p| p.z >= FLOOR_MM || is_under(p)).collect())
}

/// Of groups of points that hang together the foot's own: of the large ones, that with its heel at the origin.
fn own_group(groups: &[Vec<DVec3>]) -> Option<usize> {
    let largest = groups.iter().map(Vec::len).max()?;
    let off = |group: &Vec<DVec3>| {
        let (lo, hi) = plan_box(group.iter().copied());
        lo.x.abs() + (lo.y + hi.y).abs() / 2.0
    };
    let large = (0..groups.len()).filter(|&k| 2 * groups[k].len() >= largest);
    large.min_by(|&a, &b| off(&groups[a]).total_cmp(&off(&groups[b])))
}

/// A grid over a box, with a free border, its samples on whole steps from the origin.
fn grid_over((lo, hi): (DVec2, DVec2), step_mm: f64) -> Option<Grid> {
    let whole = |p: DVec2, by: f64| ((p / step_mm).floor() + DVec2::splat(by)) * step_mm;
    let grid = Grid::over(whole(lo, -1.0), whole(hi, 2.0), step_mm);
    (grid.columns > 2 && grid.rows > 2).then_some(grid)
}

fn index_in(grid: &Grid, p: DVec3) -> Option<usize> {
    let at = ((p.truncate() - grid.origin_mm) / grid.step_mm).round();
    let is_inside = at.x >= 0.0 && at.y >= 0.0 && at.x < grid.columns as f64 && at.y < grid.rows as f64;
    is_inside.then(|| at.y as usize * grid.columns + at.x as usize)
}
