use super::{
    Classes, Measure, MeasureError, MeasureSpec, Measured, above, at_top, below, height,
    truncated_length::TruncatedLength, up_to,
};
use crate::{Foot, LandmarkId, Landmarks};
use base::Source;

/// Normalised navicular height.
pub(super) struct NormalisedNavicularHeight;

const SPEC: MeasureSpec = MeasureSpec {
    id: "normalised_navicular_height",
    label: "Normalised navicular height",
    unit: "",
    definition: "Navicular height over truncated foot length. As good as the navicular landmark: feel for the tuberosity and move it.",
    source: Source::memory("Navicular height over truncated foot length, common in clinical papers"),
    classes: &[Classes {
        author: Source::memory("Limits roughly as in clinical papers, none seen"),
        years: None,
        bands: &[below(0.22, "low"), up_to(0.31, "normal"), above("high")],
    }],
    references: &[],
};

impl Measure for NormalisedNavicularHeight {
    fn spec(&self) -> &'static MeasureSpec {
        &SPEC
    }

    fn eval(&self, foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        let navicular = height(at_top(foot, landmarks, LandmarkId::Navicular)?);
        let truncated = TruncatedLength.eval(foot, landmarks)?;
        Ok(Measured { value: navicular.value / truncated.value, path: [navicular.path, truncated.path].concat() })
    }
}
