use super::level::{self, Measure};
use crate::{CleanStep, SILHOUETTE_HEIGHT_MM};
use base::{Report, Severity};
use mesh::TriMesh;

/// Skin lower than this beside the plan of the foot is floor, mm: noise and warp of a scanned floor stay below, and no
/// toe is as thin.
const NEAR_MM: f64 = 3.0;

/// A floor reaches farther than this beyond the foot, mm. The sole's own edge, where it was scanned alone, does not.
const BEYOND_MM: f64 = 15.0;

/// Sample distance of the foot's plan, mm.
const STEP_MM: f64 = 0.5;

/// Takes the floor away, loose or grown together with the foot. `skin` lies in the foot frame.
pub(crate) fn without_floor(skin: TriMesh, report: &mut Report) -> TriMesh {
    let measure = Measure { near: NEAR_MM, tall: SILHOUETTE_HEIGHT_MM, beyond: BEYOND_MM, step: STEP_MM };
    let Some(without) = level::without(&skin, measure) else { return skin };
    let text = format!("Floor of {:.0} cm² round the foot taken away.", without.area / 100.0);
    report.add(Severity::Info, CleanStep::Floor.id(), text, "");
    without.mesh
}
