//! Finds how a foot lies in its scan file.
//!
//! The way there: the piece that is most like a foot, the planes its convex hull can stand on, the plane and direction
//! in which it looks most like a standing foot; then votes of shape for the side; then the exact support plane and
//! axis on all triangles.
//!
//! Guaranteed: the answer moves with the scan (any position, any of the units), and is that of the mirrored scan with
//! the other side. Not guaranteed: a pose for feet whose leg is much longer than the foot, or that stand on the tips of
//! their toes.

mod bodies;
mod clicks;
pub(crate) mod cloud;
mod likeness;
mod refine;
mod resting;
mod sample;
mod search;
mod sheet;
mod side;
mod unit;

use crate::clean::level::{self, Level};
use crate::clean::spikes;
use crate::{IntakeError, ScanKind};
use base::{LengthUnit, Note, Report, Severity, Side, Work};
use glam::{DAffine3, DMat3, DVec3};
use mesh::TriMesh;
use search::Found;
use side::Vote;
use std::borrow::Cow;

pub use clicks::pose_from_clicks;

/// What the practitioner already knows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct PoseHints {
    /// The side, if known: it is then not searched for.
    pub side: Option<Side>,
    /// The unit of the file's numbers, if known.
    pub unit: Option<LengthUnit>,
    /// What the scan shows, if known.
    pub kind: Option<ScanKind>,
}

/// How a foot lies in its scan file.
#[derive(Clone, Debug, PartialEq)]
pub struct Pose {
    /// Scan file's coordinates → foot frame, mm: with the unit's scale, and with the mirror of a left foot.
    pub foot_from_scan: DAffine3,
    /// Which foot it is.
    pub side: Side,
    /// 0.5 (a coin's toss) … 1; 1 when the side was given.
    pub side_confidence: f64,
    /// The unit of the file's numbers.
    pub unit: LengthUnit,
    /// The unit was guessed from the size.
    pub unit_guessed: bool,
    /// What the scan shows.
    pub kind: ScanKind,
    /// Foot length along the axis, mm.
    pub foot_length_mm: f64,
    /// What is to be looked at about unit, side and axis: the same notes that went to the report, kept with the pose
    /// for those who store it.
    pub notes: Vec<Note>,
}

/// Fewer triangles than this leave nothing of toes and arch.
const LEAST_TRIANGLES: usize = 200;

/// A side less sure than this is to be looked at.
const SURE_OF_SIDE: f64 = 0.9;

/// A second toe less sure than this leaves the axis to be looked at.
const SURE_OF_AXIS: f64 = 0.5;

/// Finds support plane, foot axis, side and unit of a scanned foot in any position.
///
/// The support plane is the one the foot without its leg stands on: it touches the sole (smoothed over 5 mm) in three
/// points round the middle of the foot's weight. The axis runs from the pternion to the tip of the second toe.
///
/// # Errors
/// If it is not one foot with its sole, see [`IntakeError`]; if cancelled.
pub fn find_pose(
    name: &str,
    mesh: &TriMesh,
    hints: &PoseHints,
    work: &Work,
    report: &mut Report,
) -> Result<Pose, IntakeError> {
    let mut found = look(name, mesh, work)?;
    if let [first, second] = &found[..] {
        let (first, second) = (first.triangles, second.triangles);
        return Err(IntakeError::TwoFeet { file: name.to_owned(), first, second });
    }
    let found = found.pop().ok_or_else(|| nothing_found(name))?;
    let vote = found.vote();
    let pose = pose_of(name, &found, hints, &vote, work)?;
    report.notes.extend(pose.notes.iter().cloned());
    Ok(pose)
}

/// The pose of the foot in a scan as by [`find_pose`] or, where the scan shows two, the poses of both, the left one
/// first.
///
/// Two feet are two pieces of the scan. Their sides are decided together: one is a left foot and one a right one,
/// whatever side the hints name.
///
/// # Errors
/// As [`find_pose`], but for two feet.
pub fn find_feet(
    name: &str,
    mesh: &TriMesh,
    hints: &PoseHints,
    work: &Work,
    report: &mut Report,
) -> Result<Vec<Pose>, IntakeError> {
    let found = look(name, mesh, work)?;
    let votes: Vec<Vote> = found.iter().map(|found| found.vote()).collect();
    let (votes, hints) = match &votes[..] {
        [first, second] => (side::pair(first, second).to_vec(), PoseHints { side: None, ..*hints }),
        _ => (votes, *hints),
    };
    let mut poses = Vec::new();
    for (found, vote) in found.iter().zip(&votes) {
        poses.push(pose_of(name, found, &hints, vote, work)?);
    }
    base::sort_by_key(&mut poses, |pose| pose.side == Side::Right);
    report.notes.extend(poses.iter().flat_map(|pose| pose.notes.iter().cloned()));
    Ok(poses)
}

fn look(name: &str, mesh: &TriMesh, work: &Work) -> Result<Vec<Found>, IntakeError> {
    let triangles = mesh.triangles().len();
    if triangles < LEAST_TRIANGLES {
        return Err(IntakeError::TooFewTriangles { file: name.to_owned(), triangles, needed: LEAST_TRIANGLES });
    }
    check_size(name, mesh)?;
    work.step("Finding the foot in the scan", 0.0)?;
    search::feet_in(name, &without_spikes(mesh))
}

/// The scan without spikes: the search stands it on its extremes.
fn without_spikes(mesh: &TriMesh) -> Cow<'_, TriMesh> {
    spikes::laid_down(mesh).map_or(Cow::Borrowed(mesh), |(laid, _)| Cow::Owned(laid))
}

/// Whether numbers are so large or so small that reckoning with them could leave what numbers can hold.
pub(crate) fn is_measurable(lo: DVec3, hi: DVec3) -> bool {
    let largest = lo.abs().max(hi.abs()).max_element();
    largest < MOST && (hi - lo).max_element() > 1.0 / MOST
}

/// No unit of length makes a scanner's numbers as large, or as small by its inverse.
const MOST: f64 = 1e12;

/// Refuses scans of a size that nothing can be reckoned with.
pub(crate) fn check_size(name: &str, mesh: &TriMesh) -> Result<(), IntakeError> {
    match mesh.bounds() {
        Some((lo, hi)) if !is_measurable(lo, hi) => {
            let reason = format!("it reaches over {:.1e} units", (hi - lo).max_element());
            Err(IntakeError::NotAFoot { file: name.to_owned(), reason })
        }
        _ => Ok(()),
    }
}

fn nothing_found(name: &str) -> IntakeError {
    IntakeError::NotAFoot { file: name.to_owned(), reason: "heel or toes are missing".to_owned() }
}

/// From where a foot was found to its exact pose.
fn pose_of(name: &str, found: &Found, hints: &PoseHints, vote: &Vote, work: &Work) -> Result<Pose, IntakeError> {
    let mut report = Report::default();
    let unit = unit::unit_of(name, found.guess.length, hints.unit, &mut report)?;
    let side = hints.side.unwrap_or(vote.side);
    let side_confidence = if hints.side.is_some() { 1.0 } else { vote.confidence };
    note_side(side, vote, hints, &mut report);

    work.step("Finding support plane and axis", 0.7)?;
    let standing = refine::stand(
        &found.standing_skin(),
        near_frame(found, side, unit),
        found.guess.length * unit.mm(),
        found.centre,
    )
    .ok_or_else(|| nothing_found(name))?;
    if standing.axis_confidence < SURE_OF_AXIS {
        report.add(
            Severity::Check,
            "axis_unsure",
            "The tip of the second toe does not stand out, so the foot axis runs to where it usually is.",
            "Look at the axis in the plan and drag the second toe's tip if it is off.",
        );
    }
    Ok(Pose {
        foot_from_scan: standing.foot_from_scan,
        side,
        side_confidence,
        unit,
        unit_guessed: hints.unit.is_none(),
        kind: hints.kind.unwrap_or(found.kind),
        foot_length_mm: standing.length_mm,
        notes: report.notes,
    })
}

/// The flat rim over a print that lies in the foot frame, with its normal down into the hollow.
pub(crate) fn rim_of(skin: &TriMesh) -> Option<Level> {
    let all: Vec<u32> = (0..skin.triangles().len() as u32).collect();
    let (samples, sample_area) = sample::spread(skin, &all, search::SAMPLES);
    let some: Vec<DVec3> = samples.iter().step_by(search::HULL_STRIDE).map(|s| s.at).collect();
    let centre = some.iter().sum::<DVec3>() / some.len().max(1) as f64;
    let rim = resting::face_below(&resting::extreme_points(&some), centre, DVec3::Z)?;
    let points: Vec<(DVec3, DVec3)> = samples.iter().map(|s| (s.at, s.normal)).collect();
    let size = (sample_area * samples.len() as f64).sqrt();
    level::sought(&points, rim.up, rim.feet[0], size).map(|(level, _)| level)
}

/// The guess as scan → near the foot frame, with unit and mirror.
fn near_frame(found: &Found, side: Side, unit: LengthUnit) -> DAffine3 {
    let mirror = if side == Side::Left { DVec3::new(1.0, -1.0, 1.0) } else { DVec3::ONE };
    let turn = DMat3::from_diagonal(mirror * unit.mm()) * found.guess.frame.transpose();
    DAffine3 { matrix3: turn, translation: -(turn * found.guess.origin) }
}

fn note_side(side: Side, vote: &Vote, hints: &PoseHints, report: &mut Report) {
    let percent = 100.0 * vote.confidence;
    if hints.side.is_none() && vote.confidence < SURE_OF_SIDE {
        report.add(
            Severity::Check,
            "side_unsure",
            format!("Taken for a {} foot, but the shape is only {percent:.0} % sure.", side.word()),
            "Check the side and set it by hand if it is wrong.",
        );
    }
    if vote.side != side && vote.confidence >= SURE_OF_SIDE {
        report.add(
            Severity::Check,
            "side_contradicted",
            format!("Set as a {} foot, but shaped like a {} one ({percent:.0} % sure).", side.word(), vote.side.word()),
            "Check whether the files of both feet were exchanged.",
        );
    }
}
