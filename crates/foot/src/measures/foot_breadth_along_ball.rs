use super::{Measure, MeasureError, MeasureSpec, Measured, at};
use crate::{Foot, LandmarkId, Landmarks};
use base::Source;

/// Foot breadth along the ball.
pub(super) struct FootBreadthAlongBall;

const SPEC: MeasureSpec = MeasureSpec {
    id: "foot_breadth_along_ball_mm",
    label: "Foot breadth along the ball",
    unit: "mm",
    definition: "Distance from metatarsale tibiale to metatarsale fibulare in plan: along the ball, not square to the foot axis.",
    source: Source::memory("Foot breadth as the distance of metatarsale tibiale and fibulare, ISO 7250-1 in wording"),
    classes: &[],
    references: &[],
};

impl Measure for FootBreadthAlongBall {
    fn spec(&self) -> &'static MeasureSpec {
        &SPEC
    }

    fn eval(&self, _foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        let tibiale = at(landmarks, LandmarkId::MetatarsaleTibiale)?.with_z(0.0);
        let fibulare = at(landmarks, LandmarkId::MetatarsaleFibulare)?.with_z(0.0);
        if tibiale.y <= fibulare.y {
            return Err(MeasureError::MisplacedLandmark(LandmarkId::MetatarsaleTibiale));
        }
        Ok(Measured { value: tibiale.distance(fibulare), path: vec![vec![tibiale, fibulare]] })
    }
}
