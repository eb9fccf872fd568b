use super::resting;
use crate::ends::{Front, rearmost};
use crate::view::{FROM_BELOW, View, calmed, part};
use glam::{DAffine3, DMat3, DQuat, DVec3};
use mesh::TriMesh;

/// A foot standing in its frame.
pub(super) struct Standing {
    /// Scan → foot frame.
    pub(super) foot_from_scan: DAffine3,
    /// Pternion to akropodion along the axis, mm.
    pub(super) length_mm: f64,
    /// 0 … 1, how surely the second toe was found.
    pub(super) axis_confidence: f64,
}

/// Sample distance of the sole, mm.
const STEP_MM: f64 = 1.0;

/// The support plane carries the mean over squares of this many samples to each side of their middle: a single vertex
/// that stands out carries nothing.
const SMOOTHED: usize = 2;

/// Rounds of levelling: a view in a frame that is still tilted meets the skin between other samples.
const LEVELLINGS: usize = 3;

/// Rounds of turning the axis; each leaves a small part of the turn before.
const ROUNDS: usize = 4;

/// From a guess to the exact frame. `skin` is the foot's piece of the scan, `foot_from_scan` the guess with unit and
/// mirror, `centre` the middle of the foot's weight in the scan.
pub(super) fn stand(skin: &TriMesh, foot_from_scan: DAffine3, length_mm: f64, centre: DVec3) -> Option<Standing> {
    let low = |top: f64, skin: &TriMesh| part(skin, |p| p.z < top * length_mm);
    let near = calmed(&low(0.3, &skin.transformed(&foot_from_scan)));
    let centre = foot_from_scan.transform_point3(centre);
    let mut frame = DAffine3::IDENTITY;
    for _ in 0..LEVELLINGS {
        let sole = low(0.15, &near.transformed(&frame));
        let sole = View::of(&sole, FROM_BELOW, STEP_MM).smoothed(SMOOTHED).every(1);
        let support = resting::face_below(&sole, frame.transform_point3(centre), DVec3::NEG_Z)?;
        let level = DAffine3::from_quat(DQuat::from_rotation_arc(support.up, DVec3::Z));
        let height = level.transform_point3(support.feet[0]).z;
        frame = DAffine3::from_translation(DVec3::new(0.0, 0.0, -height)) * level * frame;
    }
    let mut found = None;
    for _ in 0..ROUNDS {
        let skin = near.transformed(&frame);
        let heel = rearmost(&skin, length_mm)?;
        let front = Front::of(&skin, length_mm)?;
        let toe = front.second_toe()?;
        let along = (toe.at - heel).truncate().try_normalize()?;
        let turn = DMat3::from_cols(along.extend(0.0), along.perp().extend(0.0), DVec3::Z).transpose();
        frame = DAffine3::from_mat3(turn) * DAffine3::from_translation(-heel.with_z(0.0)) * frame;
        found = Some((front.farthest()?.at.x - heel.x, toe.confidence));
    }
    let (length_mm, axis_confidence) = found?;
    Some(Standing { foot_from_scan: frame * foot_from_scan, length_mm, axis_confidence })
}
