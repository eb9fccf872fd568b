use crate::IntakeError;
use base::{Report, Work};
use glam::{DAffine3, DVec2};
use mesh::{Grid, TriMesh};

/// One scanned foot in the foot frame, ready for landmarks and measures.
#[derive(Clone, Debug)]
pub struct Foot {
    /// The skin: one piece, outside facing out, the leg cut off.
    pub mesh: TriMesh,
    /// Height of the skin of the sole over the support plane, seen from below. `NaN` beside the foot.
    pub sole: Grid,
    /// Height of the highest skin seen from above, on the grid of `sole`. `NaN` beside the foot.
    pub dorsum: Grid,
    /// Plan outline of the foot below [`SILHOUETTE_HEIGHT_MM`], counter-clockwise, closed without a repeated point.
    pub silhouette: Vec<DVec2>,
    /// Contours of the geometric print (skin within [`PRINT_HEIGHT_MM`] of the support plane); outer ones
    /// counter-clockwise, holes clockwise, closed without a repeated point.
    pub print: Vec<Vec<DVec2>>,
}

/// Skin higher than this over the support plane is leg or ankle, not outline, mm.
pub const SILHOUETTE_HEIGHT_MM: f64 = 40.0;

/// Skin within this height of the support plane counts as print, mm.
pub const PRINT_HEIGHT_MM: f64 = 1.5;

/// Sample distance of the height grids, mm.
pub const GRID_STEP_MM: f64 = 1.0;

/// Takes a scan into the foot frame: keeps the foot itself, cuts the leg off at `cut_height_mm`, turns the skin
/// outside out, samples sole and dorsum, and fills small holes in the sole.
///
/// # Errors
/// If the sole is missing or nothing is left of the foot; if cancelled.
pub fn prepare(
    name: &str,
    mesh: &TriMesh,
    foot_from_scan: &DAffine3,
    cut_height_mm: f64,
    work: &Work,
    report: &mut Report,
) -> Result<Foot, IntakeError> {
    let _ = (cut_height_mm, report);
    work.step("Into the foot frame", 0.0)?;
    let mesh = mesh.transformed(foot_from_scan);
    let (lo, hi) = mesh
        .bounds()
        .ok_or_else(|| IntakeError::SoleMissing { file: name.to_owned(), reason: "no triangles".to_owned() })?;
    let sole = Grid::over(lo.truncate(), hi.truncate(), GRID_STEP_MM);
    Ok(Foot { dorsum: sole.clone(), sole, mesh, silhouette: Vec::new(), print: Vec::new() })
}
