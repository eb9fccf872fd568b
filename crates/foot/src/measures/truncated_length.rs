use super::{Measure, MeasureError, MeasureSpec, Measured, along_axis};
use crate::{Foot, LandmarkId, Landmarks};
use base::Source;

/// Truncated foot length.
pub(super) struct TruncatedLength;

const SPEC: MeasureSpec = MeasureSpec {
    id: "truncated_length_mm",
    label: "Truncated foot length",
    unit: "mm",
    definition: "From the pternion to the first metatarsophalangeal joint, along the foot axis. The joint is taken to lie straight across from the metatarsale tibiale, so it equals the ball length until the joint is felt for.",
    source: Source::memory("Williams and McClay 2000, Phys Ther 80:864"),
    classes: &[],
    references: &[],
};

impl Measure for TruncatedLength {
    fn spec(&self) -> &'static MeasureSpec {
        &SPEC
    }

    fn eval(&self, _foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        along_axis(landmarks, LandmarkId::MetatarsaleTibiale)
    }
}
