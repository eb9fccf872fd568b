use super::{Measure, MeasureError, MeasureSpec, Measured, at, height};
use crate::{Foot, LandmarkId, Landmarks};
use base::Source;

/// Medial arch height.
pub(super) struct ArchApexHeight;

const SPEC: MeasureSpec = MeasureSpec {
    id: "arch_apex_height_mm",
    label: "Medial arch height",
    unit: "mm",
    definition: "Height over the support plane of the highest point of the medial longitudinal arch, where the skin of the sole has turned up by 45°.",
    source: Source::practice("Highest point of the medial edge of the sole"),
    classes: &[],
    references: &[],
};

impl Measure for ArchApexHeight {
    fn spec(&self) -> &'static MeasureSpec {
        &SPEC
    }

    fn eval(&self, _foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        Ok(height(at(landmarks, LandmarkId::ArchApex)?))
    }
}
