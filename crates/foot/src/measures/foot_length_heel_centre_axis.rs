use super::{Measure, MeasureError, MeasureSpec, Measured, at};
use crate::{Foot, LandmarkId, Landmarks};
use base::Source;

/// Foot length, heel-centre axis.
pub(super) struct FootLengthHeelCentreAxis;

const SPEC: MeasureSpec = MeasureSpec {
    id: "foot_length_heel_centre_axis_mm",
    label: "Foot length, heel-centre axis",
    unit: "mm",
    definition: "From the pternion to the akropodion, along the axis from the heel centre to the tip of the second toe. Foot length itself is taken along the axis from the pternion; the two differ by little unless the heel's print lies to one side.",
    source: Source::seen("Web text on the arch index: its axis runs from the second toe to the centre of the heel"),
    classes: &[],
    references: &[],
};

impl Measure for FootLengthHeelCentreAxis {
    fn spec(&self) -> &'static MeasureSpec {
        &SPEC
    }

    fn eval(&self, _foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        let (heel, toe) = (at(landmarks, LandmarkId::Pternion)?, at(landmarks, LandmarkId::Akropodion)?);
        let (from, to) = (at(landmarks, LandmarkId::HeelCentre)?, at(landmarks, LandmarkId::SecondToeTip)?);
        let axis = (to - from).truncate().normalize_or_zero();
        let value = (toe - heel).truncate().dot(axis);
        if value.is_nan() || value <= 0.0 {
            return Err(MeasureError::MisplacedLandmark(LandmarkId::Akropodion));
        }
        let start = heel.with_z(0.0);
        let path = vec![start, start + (value * axis).extend(0.0), toe.with_z(0.0)];
        Ok(Measured { value, path: vec![path, vec![from.with_z(0.0), to.with_z(0.0)]] })
    }
}
