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
