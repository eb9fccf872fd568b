use crate::CleanStep;
use base::{Report, Severity};
use mesh::{Component, TriMesh, components, submesh};

/// A piece that is lower than this is a patch of floor, where others are higher, mm.
const LEAST_HEIGHT_MM: f64 = 20.0;

/// The same where none is as high: a sole alone.
const LEAST_SOLE_MM: f64 = 4.0;

/// A piece of less than this share of the largest one's area is no foot beside it.
const LEAST_AREA: f64 = 0.15;

/// Keeps the foot's own piece: of those as large as a foot the one that lies where the foot frame has its foot, with
/// the heel at the origin. `skin` lies in the foot frame.
pub(crate) fn own_piece(skin: TriMesh, report: &mut Report) -> TriMesh {
    let mut pieces = components(&skin);
    let Some(own) = place_of(&pieces).filter(|_| pieces.len() > 1) else { return skin };
    let own = pieces.remove(own);
    let stray = pieces.len();
    let stray_mm2: f64 = pieces.iter().map(|piece| piece.area_mm2).sum();
    report.add(
        Severity::Info,
        CleanStep::StrayPieces.id(),
        format!(
            "{stray} loose {} beside the foot left out ({:.1} cm²).",
            if stray == 1 { "piece" } else { "pieces" },
            stray_mm2 / 100.0
        ),
        "",
    );
    submesh(&skin, &own.triangles)
}

/// Which piece is the foot's own.
pub(crate) fn place_of(pieces: &[Component]) -> Option<usize> {
    // The largest first; a sheet of floor may be larger than any foot.
    let height = |k: &usize| pieces[*k].bounds.1.z - pieces[*k].bounds.0.z;
    let higher = |least: f64| (0..pieces.len()).filter(move |k| height(k) > least).collect::<Vec<_>>();
    let high = [LEAST_HEIGHT_MM, LEAST_SOLE_MM].into_iter().map(higher).find(|high| !high.is_empty())?;
    let largest = pieces[*high.first()?].area_mm2;
    let off = |k: &usize| {
        let (lo, hi) = pieces[*k].bounds;
        lo.x.abs() + lo.z.abs() + (lo.y + hi.y).abs() / 2.0
    };
    let large = high.into_iter().filter(|&k| pieces[k].area_mm2 >= LEAST_AREA * largest);
    large.min_by(|a, b| off(a).total_cmp(&off(b)))
}
