use super::{Measure, MeasureError, MeasureSpec, Measured, height};
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
};

impl Measure for NavicularHeight {
    fn spec(&self) -> &'static MeasureSpec {
        &SPEC
    }

    fn eval(&self, _foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        height(landmarks, LandmarkId::Navicular)
    }
}
