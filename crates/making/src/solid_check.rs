use glam::{DVec2, DVec3};
use mesh::ClosedMesh;
use serde::Serialize;

/// What is known about a solid before it leaves. That it is closed and faces outward is a fact of its type.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SolidCheck {
    /// Triangles.
    pub triangles: usize,
    /// Enclosed volume, mm³.
    pub volume_mm3: f64,
    /// Surface area, mm².
    pub area_mm2: f64,
    /// Least corner of the bounding box, mm.
    pub lo_mm: DVec3,
    /// Greatest corner of the bounding box, mm.
    pub hi_mm: DVec3,
    /// Greatest distance between the plan's bounding box and the outline's, mm.
    pub outline_deviation_mm: f64,
}

/// Measures `solid` and compares its plan with the outline it was made from.
#[must_use]
pub fn check_solid(solid: &ClosedMesh, outline: &[DVec2]) -> SolidCheck {
    let (lo_mm, hi_mm) = solid.bounds();
    let nowhere = DVec2::splat(f64::INFINITY);
    let lo = outline.iter().fold(nowhere, |lo, &p| lo.min(p));
    let hi = outline.iter().fold(-nowhere, |hi, &p| hi.max(p));
    SolidCheck {
        triangles: solid.mesh().triangles().len(),
        volume_mm3: solid.volume_mm3(),
        area_mm2: solid.area_mm2(),
        lo_mm,
        hi_mm,
        outline_deviation_mm: (lo_mm.truncate() - lo)
            .abs()
            .max_element()
            .max((hi_mm.truncate() - hi).abs().max_element()),
    }
}

#[cfg(test)]
mod tests {
    use super::check_solid;
    use crate::test_model::side;

    #[test]
    fn a_solid_is_measured_and_compared_with_its_outline() {
        let insole = side(260.0);
        let check = check_solid(&insole.solid, &insole.outline);
        assert!((check.hi_mm.x - check.lo_mm.x - 260.0).abs() < 0.01);
        assert!((check.lo_mm.z + 4.0).abs() < 1e-12 && check.hi_mm.z > 10.9 && check.hi_mm.z <= 11.0);
        assert!(check.outline_deviation_mm < 0.01, "{}", check.outline_deviation_mm);
        assert!(check.volume_mm3 > 4.0 * 17_000.0 && check.triangles == insole.solid.mesh().triangles().len());
        let moved: Vec<_> = insole.outline.iter().map(|p| *p + glam::DVec2::new(0.0, 1.5)).collect();
        assert!((check_solid(&insole.solid, &moved).outline_deviation_mm - 1.5).abs() < 0.01);
    }
}
