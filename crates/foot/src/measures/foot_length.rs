use super::{Measure, MeasureError, MeasureSpec, Measured, along_axis};
use crate::{Foot, LandmarkId, Landmarks};
use base::Source;

/// Foot length.
pub(super) struct FootLength;

const SPEC: MeasureSpec = MeasureSpec {
    id: "foot_length_mm",
    label: "Foot length",
    unit: "mm",
    definition: "From the pternion to the akropodion, along the foot axis (pternion to the tip of the second toe).",
    source: Source::seen("Foot dimensions of a national metrology institute on the Japanese industrial standard"),
    classes: &[],
    references: &[],
};

impl Measure for FootLength {
    fn spec(&self) -> &'static MeasureSpec {
        &SPEC
    }

    fn eval(&self, _foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        along_axis(landmarks, LandmarkId::Akropodion)
    }
}
