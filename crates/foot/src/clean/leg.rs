use crate::CleanStep;
use base::{Report, Severity};
use mesh::{Keep, Plane, TriMesh, cut};

/// Cuts the leg off; the skin is open there. `skin` lies in the foot frame.
pub(crate) fn without_leg(skin: TriMesh, cut_height_mm: f64, report: &mut Report) -> TriMesh {
    let top = skin.bounds().map_or(0.0, |(_, hi)| hi.z);
    // No number for a height cuts nothing.
    if !matches!(top.partial_cmp(&cut_height_mm), Some(std::cmp::Ordering::Greater)) {
        return skin;
    }
    let text = format!("Leg cut off at {cut_height_mm:.0} mm; it reached up to {top:.0} mm.");
    report.add(Severity::Info, CleanStep::Leg.id(), text, "");
    cut(&skin, &Plane::at_z(cut_height_mm), Keep::Below).mesh
}
