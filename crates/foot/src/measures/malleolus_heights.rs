use super::{Measure, MeasureError, MeasureSpec, Measured, at_top, height};
use crate::{Foot, LandmarkId, Landmarks};
use base::Source;

/// Height of a malleolus.
pub(super) struct MalleolusHeight(LandmarkId, MeasureSpec);

/// Height of the medial malleolus.
pub(super) const MEDIALIS: MalleolusHeight = MalleolusHeight(
    LandmarkId::MalleolusMedialis,
    MeasureSpec {
        id: "malleolus_medialis_height_mm",
        label: "Height of the medial malleolus",
        unit: "mm",
        definition: "Height of the most medial point of the medial malleolus over the support plane.",
        source: Source::practice("Height of the bulge's farthest point, as scans allow: common practice, no source"),
        classes: &[],
        references: &[],
    },
);

/// Height of the lateral malleolus.
pub(super) const LATERALIS: MalleolusHeight = MalleolusHeight(
    LandmarkId::MalleolusLateralis,
    MeasureSpec {
        id: "malleolus_lateralis_height_mm",
        label: "Height of the lateral malleolus",
        unit: "mm",
        definition: "Height of the most lateral point of the lateral malleolus over the support plane: the edge of a shoe's quarter must stay below its lower end.",
        source: Source::memory("Lateral malleolus height, ANSUR II (Gordon et al. 2014)"),
        classes: &[],
        references: &[],
    },
);

impl Measure for MalleolusHeight {
    fn spec(&self) -> &'static MeasureSpec {
        // Both are constants, so that what they hold lives for ever.
        if self.0 == LandmarkId::MalleolusMedialis { &MEDIALIS.1 } else { &LATERALIS.1 }
    }

    fn eval(&self, foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        Ok(height(at_top(foot, landmarks, self.0)?))
    }
}
