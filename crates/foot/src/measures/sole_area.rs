use super::{Measure, MeasureError, MeasureSpec, Measured};
use crate::{Foot, Landmarks};
use base::Source;
use glam::DVec2;
use mesh::outline::signed_area_mm2;

/// Area of the print.
pub(super) struct SoleArea;

const SPEC: MeasureSpec = MeasureSpec {
    id: "sole_area_cm2",
    label: "Area of the print",
    unit: "cm²",
    definition: "Area in plan of the geometric print with the toes: skin within 1.5 mm of the support plane, as scanned; compare only scans taken under the same load.",
    source: Source::practice("Area of the footprint: common practice, no source"),
    classes: &[],
    references: &[],
};

const MM2_PER_CM2: f64 = 100.0;

impl Measure for SoleArea {
    fn spec(&self) -> &'static MeasureSpec {
        &SPEC
    }

    fn eval(&self, foot: &Foot, _landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        // Outer outlines run counter-clockwise and holes clockwise: their areas add up.
        let area_mm2: f64 = foot.print.iter().map(|outline| signed_area_mm2(outline)).sum();
        if area_mm2.is_nan() || area_mm2 <= 0.0 {
            return Err(MeasureError::MissingSkin("under the sole"));
        }
        let closed = |outline: &Vec<DVec2>| outline.iter().chain(outline.first()).map(|p| p.extend(0.0)).collect();
        Ok(Measured { value: area_mm2 / MM2_PER_CM2, path: foot.print.iter().map(closed).collect() })
    }
}
