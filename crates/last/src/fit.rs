use crate::family::{
    self, BALL_OFFSET, BALL_WIDTH, Extent, HEEL_MARGIN, HEEL_OFFSET, HEEL_WIDTH, INNER_BALL, OUTER_BALL, PARAMS, SWING,
    TOE_ALLOWANCE, WAIST_OFFSET, WAIST_WIDTH, knots, waist_x,
};
use crate::outline::{Outline, OutlineError};
use crate::polygon::Polygon;
use crate::spline::ClosedSpline;
use base::{ParamSpec, Params, Report, Severity, value_of};
use foot::{LandmarkId, Landmarks};
use glam::DVec2;
use std::f64::consts::PI;

/// What of a foot an outline is fitted to, in the foot frame, mm.
#[derive(Clone, Copy, Debug)]
pub struct FootPlan<'a> {
    /// Plan outline of the foot, closed without a repeated point; empty if there is none.
    pub silhouette: &'a [DVec2],
    /// The landmarks found or placed.
    pub landmarks: &'a Landmarks,
}

/// An outline fitted to a foot.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitted {
    /// Every number of [`PARAMS`], decided or fitted.
    pub params: Params,
    /// The outline.
    pub outline: Outline,
    /// Greatest and mean distance between the foot's own outline and the fitted one where they ought to agree: heel, outer
    /// waist and ball. `None` without a silhouette.
    pub residual_mm: Option<(f64, f64)>,
    /// The foot's own outline at the places compared, and how far each lies outside the fitted one, mm; negative inside.
    pub residuals: Vec<(DVec2, f64)>,
    /// Length of the insole, mm.
    pub length_mm: f64,
    /// Room between the longest toe and the front edge, mm.
    pub toe_room_mm: f64,
    /// What was assumed or limited.
    pub report: Report,
}

/// Why no outline could be fitted.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FitError {
    /// A number of the outline is not finite or out of its range.
    #[error("{label} cannot be {value} {unit}: it goes from {min} to {max}")]
    OutOfRange {
        /// Label of the parameter.
        label: &'static str,
        /// Its unit.
        unit: &'static str,
        /// The value given.
        value: f64,
        /// Least value.
        min: f64,
        /// Greatest value.
        max: f64,
    },
    /// No last has this length.
    #[error("no last is {length_mm} mm long: choose another size")]
    Length {
        /// The length given, mm.
        length_mm: f64,
    },
    /// The numbers together give no outline.
    #[error("these widths give no outline: {0}")]
    Outline(#[from] OutlineError),
}

/// Shortest and longest last, mm.
const LENGTH_RANGE_MM: std::ops::RangeInclusive<f64> = 60.0..=500.0;

/// Fits a last outline to a foot. What is in `params` stays; of what is missing, the places of the balls and the swing come
/// from the landmarks, widths and offsets from the silhouette by least squares, the rest from its default. The insole
/// is as long as the foot with heel margin and toe allowance, but no longer than the last, `size_length_mm`.
///
/// # Errors
/// A number out of its range, or a length that no last has.
pub fn fit(foot: &FootPlan, size_length_mm: f64, params: &Params) -> Result<Fitted, FitError> {
    for spec in PARAMS {
        let value = value_of(params, spec);
        if !spec.accepts(value) {
            let ParamSpec { label, unit, min, max, .. } = *spec;
            return Err(FitError::OutOfRange { label, unit, value, min, max });
        }
    }
    if !LENGTH_RANGE_MM.contains(&size_length_mm) {
        return Err(FitError::Length { length_mm: size_length_mm });
    }
    let mut report = Report::default();
    let silhouette = usable(foot.silhouette, &mut report);
    let extent = extent(foot, &silhouette, size_length_mm, params, &mut report);

    let start = from_landmarks(foot, extent, params, &mut report);
    let mut all = start.clone();
    let free: Vec<&ParamSpec> = FITTED.iter().filter(|spec| !params.contains_key(spec.id)).collect();
    let tip_y = if params.contains_key(SWING.id) { None } else { tip_y(foot.landmarks) };
    let samples = samples(&silhouette, extent.foot_mm);
    swing_to(tip_y, &mut all, extent);
    for _ in 0..ROUNDS {
        improve(&mut all, &start, &free, &samples, extent)?;
        swing_to(tip_y, &mut all, extent);
    }
    let outline = family::outline(&all, extent)?;
    let residuals = residuals(&samples, &outline);
    let residual_mm = summary(&residuals);
    note_toes(&silhouette, &outline, extent.foot_mm, &mut report);
    Ok(Fitted {
        params: all,
        outline,
        residual_mm,
        residuals,
        length_mm: extent.tip_x - extent.rear_x,
        toe_room_mm: extent.tip_x - extent.foot_mm,
        report,
    })
}

/// What the silhouette tells.
const FITTED: [ParamSpec; 6] = [HEEL_WIDTH, HEEL_OFFSET, WAIST_WIDTH, WAIST_OFFSET, BALL_WIDTH, BALL_OFFSET];

/// The silhouette, or nothing if it is none.
fn usable(silhouette: &[DVec2], report: &mut Report) -> Vec<DVec2> {
    if silhouette.len() >= 3 && silhouette.iter().all(|p| p.is_finite()) {
        return silhouette.to_vec();
    }
    report.add(
        Severity::Check,
        "outline_without_silhouette",
        "There is no plan outline of the foot: the widths are proportions of its length.",
        "Set ball, waist and heel width by hand.",
    );
    Vec::new()
}

/// The landmarks that [`fit`] goes by.
pub const LANDMARKS: [LandmarkId; 4] =
    [LandmarkId::MetatarsaleTibiale, LandmarkId::MetatarsaleFibulare, LandmarkId::SecondToeTip, LandmarkId::Akropodion];

/// Toe room below this is reported, mm: the least that fit studies in diabetes ask for (narrative review, J Foot Ankle Res
/// 2020, 10.1186/s13047-020-00439-3: minimum 10 to 16 mm).
const LEAST_TOE_ROOM_MM: f64 = 10.0;

fn extent(foot: &FootPlan, silhouette: &[DVec2], size_mm: f64, params: &Params, report: &mut Report) -> Extent {
    let (toe_mm, heel_mm) = (value_of(params, &TOE_ALLOWANCE), value_of(params, &HEEL_MARGIN));
    let plausible = |x: &f64| LENGTH_RANGE_MM.contains(x);
    let landmark = foot.landmarks.get(&LandmarkId::Akropodion).map(|tip| tip.at.x).filter(plausible);
    let shadow = silhouette.iter().map(|p| p.x).reduce(f64::max).filter(plausible);
    let foot_mm = landmark.or(shadow).unwrap_or_else(|| {
        report.add(
            Severity::Check,
            "outline_without_foot_length",
            "The foot's length is not known: it is taken as the last's length less the toe allowance.",
            "Place the akropodion.",
        );
        (size_mm - toe_mm).max(*LENGTH_RANGE_MM.start())
    });
    let rear_x = -heel_mm;
    let asked_x = foot_mm + toe_mm;
    let tip_x = asked_x.min(rear_x + size_mm);
    let room_mm = tip_x - foot_mm;
    if tip_x < asked_x && room_mm < LEAST_TOE_ROOM_MM {
        let severity = if room_mm < 0.0 { Severity::Stop } else { Severity::Check };
        report.add(
            severity,
            "toe_room_short",
            format!("The last leaves {room_mm:.1} mm before the longest toe."),
            "Choose a longer size.",
        );
    }
    Extent { rear_x, tip_x, foot_mm }
}

/// Mean shares of the foot length in the survey records of Gordon et al. 2014 (US Army, 6,068 people, both sexes).
const BALL_WIDTH_SHARE: f64 = 0.376;
/// As above.
const HEEL_WIDTH_SHARE: f64 = 0.270;
/// Share of the foot length; common practice: the waist is about as wide as the heel.
const WAIST_WIDTH_SHARE: f64 = 0.255;

/// Every number without the silhouette: decided, from the landmarks, or in proportion.
fn from_landmarks(foot: &FootPlan, extent: Extent, params: &Params, report: &mut Report) -> Params {
    let mut all = base::defaults(PARAMS);
    let mut set = |spec: &ParamSpec, value: f64| {
        if value.is_finite() {
            all.insert(spec.id.to_owned(), value.clamp(spec.min, spec.max));
        }
    };
    let at = |id: LandmarkId| foot.landmarks.get(&id).map(|landmark| landmark.at);
    let foot_mm = extent.foot_mm;
    set(&BALL_WIDTH, BALL_WIDTH_SHARE * foot_mm);
    set(&HEEL_WIDTH, HEEL_WIDTH_SHARE * foot_mm);
    set(&WAIST_WIDTH, WAIST_WIDTH_SHARE * foot_mm);
    if let (Some(inner), Some(outer)) = (at(LandmarkId::MetatarsaleTibiale), at(LandmarkId::MetatarsaleFibulare)) {
        set(&INNER_BALL, 100.0 * inner.x / foot_mm);
        set(&OUTER_BALL, 100.0 * outer.x / foot_mm);
        set(&BALL_WIDTH, inner.y - outer.y);
        set(&BALL_OFFSET, (inner.y + outer.y) / 2.0);
    } else {
        report.add(
            Severity::Info,
            "outline_without_ball",
            "The metatarsal heads are not known: the ball stands at its usual share of the foot length.",
            "Place metatarsale tibiale and fibulare.",
        );
    }
    all.extend(params.iter().map(|(id, value)| (id.clone(), *value)));
    all
}

/// The front-most point stands midway before the tips of the second and the longest toe.
fn tip_y(landmarks: &Landmarks) -> Option<f64> {
    let second = landmarks.get(&LandmarkId::SecondToeTip)?.at.y;
    let longest = landmarks.get(&LandmarkId::Akropodion)?.at.y;
    let middle = (second + longest) / 2.0;
    middle.is_finite().then_some(middle)
}

/// Swings the forefoot so that the front-most point comes to `tip_y`.
fn swing_to(tip_y: Option<f64>, all: &mut Params, extent: Extent) {
    let Some(tip_y) = tip_y else { return };
    let rise = tip_y - value_of(all, &WAIST_OFFSET);
    let swing_deg = libm::atan2(rise, extent.tip_x - waist_x(extent)).to_degrees();
    all.insert(SWING.id.to_owned(), swing_deg.clamp(SWING.min, SWING.max));
}

/// A place the insole's outline shall pass through.
struct Sample {
    at: DVec2,
    /// Whether it lies on the foot's own outline: not so on the inner waist, where the insole stays inside the shadow.
    agrees: bool,
}

/// Stations along the foot at which both outlines are compared, shares of the foot length: from where the heel's rear
/// edge, which the heel margin decides, has turned into its side, up to the ball, behind the toes.
const STATIONS: (f64, f64, usize) = (0.03, 0.78, 51);

/// The outer side is compared only this far: in front of it the little toe spreads out over the ball.
const OUTER_END: f64 = 0.70;

/// How far the insole's inner waist lies inside the foot's shadow, share of the foot length, at its deepest: the arch hangs
/// over the last's bottom there (common practice; about 5 mm). More would leave the arch without support beside the edge.
const WAIST_TUCK_SHARE: f64 = 0.02;

/// Where the tuck begins and ends, shares of the foot length.
const WAIST_TUCK: (f64, f64) = (0.18, 0.70);

fn samples(silhouette: &[DVec2], foot_mm: f64) -> Vec<Sample> {
    if silhouette.is_empty() {
        return Vec::new();
    }
    let polygon = Polygon::new(silhouette.to_vec());
    let (first, last, count) = STATIONS;
    let mut samples = Vec::with_capacity(2 * count);
    for index in 0..count {
        let share = first + (last - first) * index as f64 / (count - 1) as f64;
        let x = share * foot_mm;
        let Some((outer, inner)) = polygon.span_at_x(x) else { continue };
        if share <= OUTER_END {
            samples.push(Sample { at: DVec2::new(x, outer), agrees: true });
        }
        let along = (share - WAIST_TUCK.0) / (WAIST_TUCK.1 - WAIST_TUCK.0);
        let agrees = along <= 0.0 || along >= 1.0;
        let depth = if agrees { 0.0 } else { 0.5 - 0.5 * libm::cos(2.0 * PI * along) };
        samples.push(Sample { at: DVec2::new(x, inner - WAIST_TUCK_SHARE * foot_mm * depth), agrees });
    }
    samples
}

/// Rounds of the fit. Distances are nearly linear in widths and offsets, so the second round is already within 0.1 mm.
const ROUNDS: usize = 4;

/// Distances beyond this count less and less (Huber's weights), mm: a bunion or a dent in the scan shall not pull the
/// whole outline over.
const ROBUST_MM: f64 = 2.0;

/// Weight of staying with the proportions, per mm and per sample: one part in a hundred, so that it decides only where the
/// silhouette says nothing.
const PRIOR_WEIGHT: f64 = 0.01;

/// Step of the numerical derivatives, mm.
const DERIVATIVE_STEP_MM: f64 = 0.5;

/// How near the polygon used while fitting stays to the curve, mm.
const FIT_SAG_MM: f64 = 0.05;

/// One round of the fit: moves the `free` numbers so that the outline passes nearer to the samples. Gauss and Newton's
/// method on the signed distances, with Huber's weights and a weak pull to `start`.
fn improve(
    all: &mut Params,
    start: &Params,
    free: &[&ParamSpec],
    samples: &[Sample],
    extent: Extent,
) -> Result<(), FitError> {
    if samples.is_empty() || free.is_empty() {
        return Ok(());
    }
    let distances = |params: &Params| -> Result<Vec<f64>, FitError> {
        let spline = ClosedSpline::through(&knots(params, extent)).map_err(OutlineError::from)?;
        let polygon = Polygon::new(spline.flatten(FIT_SAG_MM).0);
        Ok(samples.iter().map(|sample| polygon.signed_distance_mm(sample.at)).collect())
    };
    let here = distances(all)?;
    let weights: Vec<f64> = here.iter().map(|d| (ROBUST_MM / d.abs()).min(1.0)).collect();
    let mut slopes = Vec::with_capacity(free.len());
    for spec in free {
        let value = value_of(all, spec);
        // Towards the middle of the range, so that it stays in it.
        let step = if value > (spec.min + spec.max) / 2.0 { -DERIVATIVE_STEP_MM } else { DERIVATIVE_STEP_MM };
        let mut moved = all.clone();
        moved.insert(spec.id.to_owned(), value + step);
        slopes.push(distances(&moved)?.iter().zip(&here).map(|(t, h)| (t - h) / step).collect::<Vec<f64>>());
    }
    let weighted = |a: &[f64], b: &[f64]| weights.iter().zip(a).zip(b).map(|((w, a), b)| w * a * b).sum::<f64>();
    let prior = PRIOR_WEIGHT * samples.len() as f64;
    let system = (0..free.len())
        .map(|i| {
            let mut row: Vec<f64> = slopes.iter().map(|other| weighted(&slopes[i], other)).collect();
            row[i] += prior;
            row.push(-weighted(&slopes[i], &here) - prior * (value_of(all, free[i]) - value_of(start, free[i])));
            row
        })
        .collect();
    for (spec, change) in free.iter().zip(solve(system)) {
        let value = (value_of(all, spec) + change).clamp(spec.min, spec.max);
        all.insert(spec.id.to_owned(), value);
    }
    Ok(())
}

/// Solves a symmetric positive definite system, right side in the last column, by elimination. The prior on its diagonal
/// keeps it definite.
fn solve(mut matrix: Vec<Vec<f64>>) -> Vec<f64> {
    let count = matrix.len();
    for pivot in 0..count {
        let (above, below) = matrix.split_at_mut(pivot + 1);
        let row = &above[pivot];
        for other in below {
            let factor = other[pivot] / row[pivot];
            other.iter_mut().zip(row).skip(pivot).for_each(|(entry, top)| *entry -= factor * top);
        }
    }
    let mut solution = vec![0.0; count];
    for row in (0..count).rev() {
        let known: f64 = (row + 1..count).map(|column| matrix[row][column] * solution[column]).sum();
        solution[row] = (matrix[row][count] - known) / matrix[row][row];
    }
    solution
}

/// How far the samples on the foot's own outline lie outside the fitted one, mm.
fn residuals(samples: &[Sample], outline: &Outline) -> Vec<(DVec2, f64)> {
    samples.iter().filter(|s| s.agrees).map(|s| (s.at, outline.signed_distance_mm(s.at))).collect()
}

/// Greatest and mean of them, whichever side they lie on, mm.
fn summary(residuals: &[(DVec2, f64)]) -> Option<(f64, f64)> {
    let greatest = residuals.iter().map(|(_, mm)| mm.abs()).reduce(f64::max)?;
    Some((greatest, residuals.iter().map(|(_, mm)| mm.abs()).sum::<f64>() / residuals.len() as f64))
}

/// Toes that reach farther than this beyond the outline are reported, mm: less is the soft edge of a toe.
const TOE_OVER_MM: f64 = 3.0;

fn note_toes(silhouette: &[DVec2], outline: &Outline, foot_mm: f64, report: &mut Report) {
    let toes = silhouette.iter().filter(|p| p.x > STATIONS.1 * foot_mm);
    let farthest = toes.map(|&p| (outline.signed_distance_mm(p), p)).max_by(|a, b| a.0.total_cmp(&b.0));
    if let Some((over_mm, at)) = farthest.filter(|(over_mm, _)| *over_mm > TOE_OVER_MM) {
        report.add(
            Severity::Check,
            "toes_over_edge",
            format!("The toes reach {over_mm:.1} mm beyond the outline at ({:.0}, {:.0}) mm.", at.x, at.y),
            "Choose a fuller toe shape, a wider ball or another swing.",
        );
    }
}
