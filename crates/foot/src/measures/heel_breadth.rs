use super::{Measure, MeasureError, MeasureSpec, Measured, at, breadth_of};
use crate::{Foot, LandmarkId, Landmarks};
use base::Source;
use glam::DVec2;

/// Heel breadth.
pub(super) struct HeelBreadth;

const SPEC: MeasureSpec = MeasureSpec {
    id: "heel_breadth_mm",
    label: "Heel breadth",
    unit: "mm",
    definition: "Breadth of the broadest cross-section of the heel between 0.1 and 0.2 of the foot length, below the ankle, square to the foot axis.",
    source: Source::memory("ISO 7250-1 in wording; place by common practice"),
    classes: &[],
    references: &[],
};

/// Where the heel is broadest: behind, it is still rounding; in front, the foot broadens to the ball. Shares of foot
/// length.
const FROM: f64 = 0.10;
const TO: f64 = 0.20;

/// Cross-sections that are looked at, and how thick each is: a few points of the silhouette on either side.
const SLICES: u32 = 16;
const SLICE_MM: f64 = 2.0;

impl Measure for HeelBreadth {
    fn spec(&self) -> &'static MeasureSpec {
        &SPEC
    }

    fn eval(&self, foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        let length_mm = at(landmarks, LandmarkId::Akropodion)?.x;
        let breadth = |[lateral, medial]: &[DVec2; 2]| medial.y - lateral.y;
        let widest = (0..=SLICES)
            .filter_map(|slice| {
                let x = length_mm * (FROM + (TO - FROM) * f64::from(slice) / f64::from(SLICES));
                breadth_of(&foot.silhouette, x - SLICE_MM / 2.0..=x + SLICE_MM / 2.0)
            })
            .max_by(|a, b| breadth(a).total_cmp(&breadth(b)))
            .ok_or(MeasureError::MissingSkin("at the heel"))?;
        Ok(Measured { value: breadth(&widest), path: vec![widest.map(|p| p.extend(0.0)).to_vec()] })
    }
}
