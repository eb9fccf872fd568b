use super::{Measure, MeasureError, MeasureSpec, Measured, at, tape};
use crate::{Foot, LandmarkId, Landmarks};
use base::Source;
use glam::DVec3;
use mesh::Plane;

/// Ball girth.
pub(super) struct BallGirth;

const SPEC: MeasureSpec = MeasureSpec {
    id: "ball_girth_mm",
    label: "Ball girth",
    unit: "mm",
    definition: "Length of a tape pulled tight round metatarsale tibiale and fibulare, in the upright plane through both.",
    source: Source::seen("Foot dimensions of a national metrology institute on the Japanese industrial standard"),
    classes: &[],
    references: &[],
};

impl Measure for BallGirth {
    fn spec(&self) -> &'static MeasureSpec {
        &SPEC
    }

    fn eval(&self, foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        let tibiale = at(landmarks, LandmarkId::MetatarsaleTibiale)?;
        let fibulare = at(landmarks, LandmarkId::MetatarsaleFibulare)?;
        let across = (tibiale - fibulare).with_z(0.0);
        let plane = Plane::through(tibiale, across.cross(DVec3::Z))
            .ok_or(MeasureError::MisplacedLandmark(LandmarkId::MetatarsaleTibiale))?;
        tape(foot, &plane, &[tibiale, fibulare], "round the ball")
    }
}
