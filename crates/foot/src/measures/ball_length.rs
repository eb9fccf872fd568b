use super::{Measure, MeasureError, MeasureSpec, Measured, along_axis};
use crate::{Foot, LandmarkId, Landmarks};
use base::Source;

/// Ball length.
pub(super) struct BallLength;

const SPEC: MeasureSpec = MeasureSpec {
    id: "ball_length_mm",
    label: "Ball length",
    unit: "mm",
    definition: "From the pternion to the metatarsale tibiale, along the foot axis.",
    source: Source::memory("Ball-of-foot length, ANSUR II (Gordon et al. 2014)"),
    classes: &[],
    references: &[],
};

impl Measure for BallLength {
    fn spec(&self) -> &'static MeasureSpec {
        &SPEC
    }

    fn eval(&self, _foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        along_axis(landmarks, LandmarkId::MetatarsaleTibiale)
    }
}
