//! Finds how a foot lies in its scan file.

use crate::IntakeError;
use base::{LengthUnit, Report, Side, Work};
use glam::{DAffine3, DVec3};
use mesh::TriMesh;

/// What the practitioner already knows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct PoseHints {
    /// The side, if known: it is then not searched for.
    pub side: Option<Side>,
    /// The unit of the file's numbers, if known.
    pub unit: Option<LengthUnit>,
}

/// How a foot lies in its scan file.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pose {
    /// Scan file's coordinates → foot frame: with the unit's scale, and with the mirror of a left foot.
    pub foot_from_scan: DAffine3,
    /// Which foot it is.
    pub side: Side,
    /// 0.5 (a coin's toss) … 1; 1 when the side was given.
    pub side_confidence: f64,
    /// The unit of the file's numbers.
    pub unit: LengthUnit,
    /// The unit was guessed from the size.
    pub unit_guessed: bool,
    /// Foot length along the axis, mm.
    pub foot_length_mm: f64,
}

/// Finds support plane, foot axis, side and unit of a scanned foot in any position.
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
    let _ = report;
    work.step("Finding the foot", 0.0)?;
    let (lo, hi) = mesh.bounds().ok_or_else(|| IntakeError::TooFewTriangles {
        file: name.to_owned(),
        triangles: mesh.triangles().len(),
        needed: 500,
    })?;
    let unit = hints.unit.unwrap_or(LengthUnit::Millimetre);
    let origin = DVec3::new(lo.x, (lo.y + hi.y) / 2.0, lo.z);
    let foot_from_scan = DAffine3::from_scale(DVec3::splat(unit.mm())) * DAffine3::from_translation(-origin);
    Ok(Pose {
        foot_from_scan,
        side: hints.side.unwrap_or(Side::Right),
        side_confidence: if hints.side.is_some() { 1.0 } else { 0.5 },
        unit,
        unit_guessed: hints.unit.is_none(),
        foot_length_mm: (hi.x - lo.x) * unit.mm(),
    })
}
