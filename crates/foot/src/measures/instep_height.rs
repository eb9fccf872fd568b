use super::{Measure, MeasureError, MeasureSpec, Measured, at_top, height};
use crate::{Foot, LandmarkId, Landmarks};
use base::Source;

/// Instep height.
pub(super) struct InstepHeight;

const SPEC: MeasureSpec = MeasureSpec {
    id: "instep_height_mm",
    label: "Instep height",
    unit: "mm",
    definition: "Height of the dorsum over the support plane at half the foot length.",
    source: Source::memory("Dorsum height at half the foot length, Williams and McClay 2000, Phys Ther 80:864"),
    classes: &[],
    references: &[],
};

impl Measure for InstepHeight {
    fn spec(&self) -> &'static MeasureSpec {
        &SPEC
    }

    fn eval(&self, foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        Ok(height(at_top(foot, landmarks, LandmarkId::Instep)?))
    }
}
