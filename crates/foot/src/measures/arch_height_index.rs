use super::{
    Measure, MeasureError, MeasureSpec, Measured, Reference, arch_height_index_of, truncated_length::TruncatedLength,
};
use crate::{Foot, LandmarkId, Landmarks};
use base::Source;

/// Arch height index.
pub(super) struct ArchHeightIndex;

/// Means by type of foot, 2,180 feet. Nobody drew limits between them.
const AHI_BY_TYPE: Source = Source::seen("Arch height index of 2,180 feet, PMC7393860");

const SPEC: MeasureSpec = MeasureSpec {
    id: "arch_height_index",
    label: "Arch height index",
    unit: "",
    definition: "Instep height at half the foot length over truncated foot length.",
    source: Source::memory("Williams and McClay 2000, Phys Ther 80:864"),
    classes: &[],
    references: &[
        Reference { name: "planus feet, sitting, mean", value: 0.342, author: AHI_BY_TYPE },
        Reference { name: "rectus feet, sitting, mean", value: 0.370, author: AHI_BY_TYPE },
        Reference { name: "cavus feet, sitting, mean", value: 0.394, author: AHI_BY_TYPE },
        Reference { name: "planus feet, standing, mean", value: 0.317, author: AHI_BY_TYPE },
        Reference { name: "rectus feet, standing, mean", value: 0.349, author: AHI_BY_TYPE },
        Reference { name: "cavus feet, standing, mean", value: 0.375, author: AHI_BY_TYPE },
    ],
};

impl Measure for ArchHeightIndex {
    fn spec(&self) -> &'static MeasureSpec {
        &SPEC
    }

    fn eval(&self, foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        let instep = super::height(super::at_top(foot, landmarks, LandmarkId::Instep)?);
        let truncated = TruncatedLength.eval(foot, landmarks)?;
        let value = arch_height_index_of(instep.value, truncated.value)
            .ok_or(MeasureError::MisplacedLandmark(LandmarkId::MetatarsaleTibiale))?;
        Ok(Measured { value, path: [instep.path, truncated.path].concat() })
    }
}
