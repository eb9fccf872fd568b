use super::{Measure, MeasureError, MeasureSpec, Measured, at};
use crate::{Foot, LandmarkId, Landmarks};
use base::Source;
use glam::DVec3;

/// Foot length along the foot axis.
pub(super) struct FootLength;

const SPEC: MeasureSpec = MeasureSpec {
    id: "foot_length_mm",
    label: "Foot length",
    unit: "mm",
    definition: "From the pternion to the akropodion, along the foot axis (pternion to the tip of the second toe).",
    source: Source::seen("AIST foot dimensions page on JIS practice"),
};

impl Measure for FootLength {
    fn spec(&self) -> &'static MeasureSpec {
        &SPEC
    }

    fn eval(&self, _foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        let heel = at(landmarks, LandmarkId::Pternion)?;
        let toe = at(landmarks, LandmarkId::Akropodion)?;
        let ends = [heel.x, toe.x].map(|x| DVec3::new(x, heel.y, 0.0));
        Ok(Measured { value: toe.x - heel.x, path: vec![ends.to_vec()] })
    }
}
