use super::{Measure, MeasureError, MeasureSpec, Measured, arch_height_index_of, truncated_length::TruncatedLength};
use crate::{Foot, LandmarkId, Landmarks};
use base::Source;

/// Arch height index.
pub(super) struct ArchHeightIndex;

const SPEC: MeasureSpec = MeasureSpec {
    id: "arch_height_index",
    label: "Arch height index",
    unit: "",
    definition: "Instep height at half the foot length over truncated foot length.",
    source: Source::memory("Williams and McClay 2000, Phys Ther 80:864"),
};

impl Measure for ArchHeightIndex {
    fn spec(&self) -> &'static MeasureSpec {
        &SPEC
    }

    fn eval(&self, foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        let instep = super::height(landmarks, LandmarkId::Instep)?;
        let truncated = TruncatedLength.eval(foot, landmarks)?;
        let value = arch_height_index_of(instep.value, truncated.value)
            .ok_or(MeasureError::MisplacedLandmark(LandmarkId::MetatarsaleTibiale))?;
        Ok(Measured { value, path: [instep.path, truncated.path].concat() })
    }
}
