use super::{Classes, Measure, MeasureError, MeasureSpec, Measured, above, at_top, below, height, up_to};
use crate::{Foot, LandmarkId, Landmarks};
use base::Source;

/// Navicular height (estimate).
pub(super) struct NavicularHeight;

const SPEC: MeasureSpec = MeasureSpec {
    id: "navicular_height_mm",
    label: "Navicular height (estimate)",
    unit: "mm",
    definition: "Height of the navicular tuberosity over the support plane. The tuberosity cannot be seen in a scan: feel for it and move the landmark.",
    source: Source::seen("J Foot Ankle Res 2012 5:3"),
    classes: &[Classes {
        author: Source::seen("J Foot Ankle Res 2012 5:3, table 3"),
        years: None,
        bands: &[
            below(27.0, "severe low arch"),
            below(36.0, "low arch"),
            below(56.0, "normal arch"),
            up_to(64.0, "high arch"),
            above("severe high arch"),
        ],
    }],
    references: &[],
};

impl Measure for NavicularHeight {
    fn spec(&self) -> &'static MeasureSpec {
        &SPEC
    }

    fn eval(&self, foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        Ok(height(at_top(foot, landmarks, LandmarkId::Navicular)?))
    }
}
