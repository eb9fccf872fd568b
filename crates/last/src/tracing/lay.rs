use super::TracingError;
use crate::Outline;
use crate::polygon::{self, edges};
use base::{Report, Severity};
use glam::{DAffine2, DMat2, DVec2};
use mesh::Grid;
use mesh::outline::signed_area_mm2;
use serde::Serialize;
use std::f64::consts::PI;

/// A contour brought into the foot frame.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Laid {
    /// The contour in the foot frame: closed, counter-clockwise, at even distances of about a millimetre, mm. Ready for
    /// [`Outline::following`].
    pub points: Vec<DVec2>,
    /// Whether it was mirrored: first y ↦ −y, then turned, then shifted.
    pub mirrored: bool,
    /// Turn, counter-clockwise, above −180 up to 180.
    pub turn_deg: f64,
    /// Shift after the turn, mm.
    pub shift_mm: DVec2,
    /// Greatest and mean distance of the laid contour from the outline, mm: what differs in shape and length.
    pub residual_mm: (f64, f64),
    /// What has to be checked.
    pub report: Report,
}

/// Distance of the points of a contour, mm.
const SPACING_MM: f64 = 1.0;
/// Distance of the points that are fitted, mm.
const FIT_SPACING_MM: f64 = 3.0;
/// Step of the distances that are fitted to, mm, and how far they reach.
const GRID_STEP_MM: f64 = 2.0;
const GRID_REACH_MM: f64 = 80.0;
/// Rounds of the fit from each start. It comes to rest after about ten.
const ROUNDS: usize = 40;
/// How much longer or wider than the outline a contour may be while it is fitted.
const STRETCH: (f64, f64) = (0.75, 1.35);
/// Mirrored only if the mean square is less by this factor, and the distance by this much, mm.
const CLEARLY: f64 = 0.6;
const CLEARLY_MM: f64 = 0.5;
/// Sizes of contours that are laid, mm.
const LENGTHS_MM: (f64, f64) = (60.0, 600.0);

/// Brings a contour of unknown place, direction and side into the foot frame, so that it lies best on `onto`, the outline
/// fitted to that foot: heel on heel.
///
/// Both directions along the longest axis and both sides are tried, each refined by least squares on the distance to `onto`.
/// While it is fitted, the contour may stretch along and across the foot from the heel, so that a longer front, the shoe's
/// own allowance, neither turns it nor pushes it back; what is returned is only moved, turned and mirrored.
///
/// # Errors
/// A contour with less than three points, with one that is not finite, or of a size that no insole has.
pub fn lay(contour: &[DVec2], onto: &Outline) -> Result<Laid, TracingError> {
    let mut points = evenly(contour, SPACING_MM).ok_or(TracingError::Contour)?;
    if signed_area_mm2(&points) < 0.0 {
        points.reverse();
    }
    let target = Target::of(onto);
    // About its middle, so that turn and shift hang together little, wherever the contour was drawn.
    let middle = Axis::of(&points).centre;
    points.iter_mut().for_each(|p| *p -= middle);
    let sparse = evenly(&points, FIT_SPACING_MM).ok_or(TracingError::Contour)?;
    let long = Axis::of(&sparse);
    if !(LENGTHS_MM.0..=LENGTHS_MM.1).contains(&long.length_mm) {
        return Err(TracingError::ContourSize { length_mm: long.length_mm, least: LENGTHS_MM.0, most: LENGTHS_MM.1 });
    }
    let best = |mirrored: bool| {
        let starts = [0.0, PI].map(|turned| target.fit(&sparse, target.start(&long, mirrored, turned)));
        let [a, b] = starts;
        if b.mean_square < a.mean_square { b } else { a }
    };
    let (plain, mirrored) = (best(false), best(true));
    let (off_plain, off_mirrored) = (plain.mean_square.sqrt(), mirrored.mean_square.sqrt());
    let is_clear = |better: f64, worse: f64| better < worse * CLEARLY.sqrt() && worse - better > CLEARLY_MM;
    let is_mirrored = is_clear(off_mirrored, off_plain);
    let mut report = Report::default();
    if !is_mirrored && !is_clear(off_plain, off_mirrored) {
        report.add(
            Severity::Check,
            "contour_side_unclear",
            format!(
                "The contour fits nearly as well mirrored ({off_plain:.1} mm off as it is, {off_mirrored:.1} mm mirrored): \
                 it was left as it is."
            ),
            "Check that it is this foot's insole and seen from above; mirror it by hand if not.",
        );
    }
    let place = if is_mirrored { mirrored.place } else { plain.place };
    let map = place.map();
    points.iter_mut().for_each(|p| *p = map.transform_point2(*p));
    if is_mirrored {
        points.reverse();
    }
    let off: Vec<f64> = points.iter().map(|p| onto.signed_distance_mm(*p).abs()).collect();
    let residual_mm = (off.iter().copied().fold(0.0, f64::max), off.iter().sum::<f64>() / off.len() as f64);
    let turn_deg = -(-place.turn.to_degrees() + 180.0).rem_euclid(360.0) + 180.0;
    let shift_mm = map.transform_point2(-middle);
    Ok(Laid { points, mirrored: is_mirrored, turn_deg, shift_mm, residual_mm, report })
}

/// Points at even distances of about `spacing_mm` along a closed contour. `None` for what is no contour.
fn evenly(contour: &[DVec2], spacing_mm: f64) -> Option<Vec<DVec2>> {
    const MOST: f64 = 20_000.0;
    if contour.len() < 3 || contour.iter().any(|p| !p.is_finite()) {
        return None;
    }
    let whole_mm: f64 = edges(contour).map(|(a, b)| a.distance(b)).sum();
    let count = (whole_mm / spacing_mm).round();
    if !(8.0..=MOST).contains(&count) {
        return None;
    }
    Some(polygon::evenly(contour, count as usize))
}

/// Where a contour lies: mirrored, turned (radians), shifted (mm).
#[derive(Clone, Copy)]
struct Place {
    mirrored: bool,
    turn: f64,
    shift: DVec2,
    /// How much longer and wider than the outline it is, from the heel.
    stretch: DVec2,
}

impl Place {
    fn map(&self) -> DAffine2 {
        let mirror = DMat2::from_diagonal(DVec2::new(1.0, if self.mirrored { -1.0 } else { 1.0 }));
        DAffine2 { matrix2: rotation(self.turn) * mirror, translation: self.shift }
    }
}

fn rotation(angle: f64) -> DMat2 {
    let (sin, cos) = libm::sincos(angle);
    DMat2::from_cols(DVec2::new(cos, sin), DVec2::new(-sin, cos))
}

struct Fit {
    place: Place,
    mean_square: f64,
}

/// The longest direction of points, by their second moments, and the ends along it.
struct Axis {
    angle: f64,
    centre: DVec2,
    length_mm: f64,
    width_mm: f64,
}

impl Axis {
    fn of(points: &[DVec2]) -> Axis {
        let count = points.len() as f64;
        let mean = points.iter().copied().sum::<DVec2>() / count;
        let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
        for p in points {
            let d = *p - mean;
            (xx, xy, yy) = (xx + d.x * d.x, xy + d.x * d.y, yy + d.y * d.y);
        }
        let angle = 0.5 * libm::atan2(2.0 * xy, xx - yy);
        let upright = rotation(-angle);
        let start = (DVec2::INFINITY, DVec2::NEG_INFINITY);
        let (lo, hi) = points.iter().map(|p| upright * *p).fold(start, |(lo, hi), p| (lo.min(p), hi.max(p)));
        let size = hi - lo;
        Axis { angle, centre: upright.transpose() * ((lo + hi) / 2.0), length_mm: size.x, width_mm: size.y }
    }
}

/// The outline that is laid onto.
struct Target {
    distances: Grid,
    axis: Axis,
    /// The middle of the heel's rear edge, from which contours stretch.
    heel: DVec2,
}

impl Target {
    fn of(onto: &Outline) -> Target {
        let (lo, _) = onto.bounds();
        let rear = onto.corners().iter().copied().min_by(|a, b| a.x.total_cmp(&b.x)).unwrap_or(lo);
        let axis = Axis::of(&onto.polygon(FIT_SPACING_MM));
        Target { distances: onto.distance_grid(GRID_STEP_MM, GRID_REACH_MM), axis, heel: rear }
    }

    /// Long axis on long axis, middle on middle, as long and as wide.
    fn start(&self, contour: &Axis, mirrored: bool, turned: f64) -> Place {
        let angle = if mirrored { -contour.angle } else { contour.angle };
        let turn = self.axis.angle - angle + turned;
        let stretch = DVec2::new(contour.length_mm / self.axis.length_mm, contour.width_mm / self.axis.width_mm);
        let stretch = stretch.clamp(DVec2::splat(STRETCH.0), DVec2::splat(STRETCH.1));
        let mut place = Place { mirrored, turn, shift: DVec2::ZERO, stretch };
        // The middle of the outline, stretched from the heel.
        let middle = self.heel + (self.axis.centre - self.heel) * stretch;
        place.shift = middle - place.map().transform_point2(contour.centre);
        place
    }

    /// Distance and its slope where a place brings a point, after the stretch is taken back.
    fn distance(&self, p: DVec2) -> (f64, DVec2) {
        const STEP: f64 = GRID_STEP_MM / 2.0;
        let (lo, hi) =
            (self.distances.origin_mm, self.distances.at(self.distances.columns - 1, self.distances.rows - 1));
        // Beyond the grid the distance goes on with the way back to it.
        let held = p.clamp(lo + DVec2::splat(STEP), hi - DVec2::splat(STEP));
        let at = |q: DVec2| self.distances.sample(q).unwrap_or(GRID_REACH_MM);
        let slope = |axis: DVec2| (at(held + axis * STEP) - at(held - axis * STEP)) / (2.0 * STEP);
        (at(held) + p.distance(held), DVec2::new(slope(DVec2::X), slope(DVec2::Y)))
    }

    /// The method of Gauss and Newton in Levenberg's and Marquardt's way, over turn, shift and stretch.
    fn fit(&self, points: &[DVec2], start: Place) -> Fit {
        let (mut place, mut damping) = (start, 1e-3);
        let mut system = self.system(points, &place);
        for _ in 0..ROUNDS {
            let Some(step) = solve(&system, damping) else { break };
            let next = Place {
                turn: place.turn + step[0],
                shift: place.shift + DVec2::new(step[1], step[2]),
                stretch: (place.stretch + DVec2::new(step[3], step[4]))
                    .clamp(DVec2::splat(STRETCH.0), DVec2::splat(STRETCH.1)),
                ..place
            };
            let other = self.system(points, &next);
            if other.sum < system.sum {
                let gain = system.sum - other.sum;
                let is_done = gain < 1e-9 * system.sum;
                (place, system, damping) = (next, other, damping / 4.0);
                if is_done {
                    break;
                }
            } else {
                damping *= 8.0;
            }
        }
        Fit { place, mean_square: system.sum / points.len() as f64 }
    }

    fn system(&self, points: &[DVec2], place: &Place) -> System {
        let map = place.map();
        let mut system = System { matrix: [[0.0; 5]; 5], right: [0.0; 5], sum: 0.0 };
        for &p in points {
            let q = map.transform_point2(p);
            let from_heel = q - self.heel;
            let (distance, slope) = self.distance(self.heel + from_heel / place.stretch);
            let moved = slope / place.stretch;
            let turned = (q - place.shift).perp();
            let stretched = -slope * from_heel / (place.stretch * place.stretch);
            let row = [moved.dot(turned), moved.x, moved.y, stretched.x, stretched.y];
            for (i, a) in row.iter().enumerate() {
                for (j, b) in row.iter().enumerate() {
                    system.matrix[i][j] += a * b;
                }
                system.right[i] -= a * distance;
            }
            system.sum += distance * distance;
        }
        system
    }
}

/// Normal equations of one round.
struct System {
    matrix: [[f64; 5]; 5],
    right: [f64; 5],
    sum: f64,
}

/// The step, with every diagonal entry grown by the share `damping`. `None` if the points do not decide it.
fn solve(system: &System, damping: f64) -> Option<[f64; 5]> {
    let (mut matrix, mut right) = (system.matrix, system.right);
    for (i, row) in matrix.iter_mut().enumerate() {
        row[i] *= 1.0 + damping;
    }
    for pivot in 0..5 {
        let top = matrix[pivot];
        if top[pivot] <= 0.0 || !top[pivot].is_finite() {
            return None;
        }
        for other in pivot + 1..5 {
            let factor = matrix[other][pivot] / top[pivot];
            matrix[other].iter_mut().zip(top).for_each(|(entry, above)| *entry -= factor * above);
            right[other] -= factor * right[pivot];
        }
    }
    let mut step = [0.0; 5];
    for row in (0..5).rev() {
        let known: f64 = (row + 1..5).map(|column| matrix[row][column] * step[column]).sum();
        step[row] = (right[row] - known) / matrix[row][row];
    }
    step.iter().all(|value| value.is_finite()).then_some(step)
}
