//! Prints in foam and hollow shells: the rim taken away, the depth put right, the surface turned to face down.

use super::level::{self, Measure};
use super::pieces;
use crate::CleanStep;
use crate::pose::rim_of;
use base::{Report, Severity};
use glam::{DAffine3, DVec3};
use mesh::{TriMesh, components, submesh};

/// What is nearer to the rim's plane than this and beyond the hollow is rim, mm: foam crumbles and bulges at the edge.
const NEAR_MM: f64 = 3.0;

/// The hollow is deeper than this at no place, mm.
const DEEPEST_MM: f64 = 80.0;

/// Sample distance of the hollow's plan, mm.
const STEP_MM: f64 = 0.5;

/// Takes the flat rim round a print away, and what hangs on its outer edge. `skin` lies in the foot frame, hollow down.
pub(crate) fn without_rim(skin: TriMesh, report: &mut Report) -> TriMesh {
    let Some(rim) = rim_of(&skin) else { return skin };
    let frame = rim.frame();
    let measure = Measure { near: NEAR_MM, tall: DEEPEST_MM, beyond: 0.0, step: STEP_MM };
    let Some(without) = level::without(&skin.transformed(&frame), measure) else { return skin };
    let hollow = without.mesh.transformed(&frame.inverse());
    let parts = components(&hollow);
    let hollow = match pieces::place_of(&parts).filter(|_| parts.len() > 1) {
        Some(own) => submesh(&hollow, &parts[own].triangles),
        None => hollow,
    };
    let (before, after) = (skin.area_mm2(), hollow.area_mm2());
    let height = rim.at.z;
    report.add(
        Severity::Info,
        CleanStep::Rim.id(),
        format!(
            "Rim of {:.0} cm² taken away, {height:.0} mm over the print's lowest points.",
            (before - after) / 100.0
        ),
        "",
    );
    hollow
}

/// The print as the sole that made it: deepened by what the foam gave back and turned to face down.
pub(crate) fn turned_out(skin: TriMesh, foam_return_percent: f64, report: &mut Report) -> TriMesh {
    let up: f64 = skin.triangles().iter().map(|&triangle| skin.area_vector(triangle).z).sum();
    let share =
        if foam_return_percent.is_finite() { (foam_return_percent / 100.0).clamp(0.0, MOST_RETURN) } else { 0.0 };
    // All depths below the rim grow alike, so all heights over the lowest points do.
    let deepened = DAffine3::from_scale(DVec3::new(1.0, 1.0, 1.0 / (1.0 - share)));
    let mut skin = if share > 0.0 { skin.transformed(&deepened) } else { skin };
    if up > 0.0 {
        let turned = skin.triangles().iter().map(|&[a, b, c]| [a, c, b]).collect();
        skin = TriMesh::new(skin.positions().to_vec(), turned).unwrap_or_default();
    }
    let did = match (up > 0.0, share > 0.0) {
        (true, true) => format!("turned inside out and deepened by {:.0} %", 100.0 * (1.0 / (1.0 - share) - 1.0)),
        (true, false) => "turned inside out, its depth as scanned".to_owned(),
        (false, true) => format!("deepened by {:.0} %", 100.0 * (1.0 / (1.0 - share) - 1.0)),
        (false, false) => "taken as it is, its depth as scanned".to_owned(),
    };
    report.add(
        Severity::Info,
        "impression",
        format!("The print was {did}. It shows the sole of a foot that was partly loaded."),
        "Reckon with an arch that is lower and a heel that is broader than without load.",
    );
    skin
}

/// Foam that gave back more than this holds no print.
const MOST_RETURN: f64 = 0.5;
