use super::{Measure, MeasureError, MeasureSpec, Measured, at, breadth_of};
use crate::{Foot, LandmarkId, Landmarks};
use base::Source;
use glam::DVec3;

/// Foot breadth.
pub(super) struct FootBreadth;

const SPEC: MeasureSpec = MeasureSpec {
    id: "foot_breadth_mm",
    label: "Foot breadth",
    unit: "mm",
    definition: "Greatest horizontal breadth of ball and toes, square to the foot axis.",
    source: Source::seen(
        "Anthropometry course text of a university: largest horizontal breadth square to the long axis",
    ),
    classes: &[],
    references: &[],
};

/// The forefoot starts at this share of foot length.
const FOREFOOT_FROM: f64 = 0.5;

impl Measure for FootBreadth {
    fn spec(&self) -> &'static MeasureSpec {
        &SPEC
    }

    fn eval(&self, foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        let length_mm = at(landmarks, LandmarkId::Akropodion)?.x;
        let [lateral, medial] = breadth_of(&foot.silhouette, FOREFOOT_FROM * length_mm..=length_mm)
            .ok_or(MeasureError::MissingSkin("at the ball"))?;
        // One line straight across at the medial end, and the way along the foot from the lateral one.
        let corner = DVec3::new(medial.x, lateral.y, 0.0);
        let path = vec![vec![lateral.extend(0.0), corner, medial.extend(0.0)]];
        Ok(Measured { value: medial.y - lateral.y, path })
    }
}
