use crate::pose::check_size;
use crate::{CleanStep, IntakeError, Preparation, ScanKind, clean, holes};
use base::{Report, Severity, Work};
use glam::{DAffine3, DVec2, DVec3};
use mesh::decimate::by_clusters;
use mesh::raster::{height_from_above, height_from_below};
use mesh::{Grid, TriMesh, contour_below, submesh};

/// One scanned foot in the foot frame, ready for landmarks and measures.
#[derive(Clone, Debug)]
pub struct Foot {
    /// The skin: one piece, outside facing out, the leg cut off. Holes and the rim of the leg stay open.
    pub mesh: TriMesh,
    /// Height of the skin of the sole over the support plane, seen from below: the lowest skin that faces down, with
    /// holes closed. `NaN` beside the foot. Under ankle and calf, where they reach out beyond the foot, it is theirs.
    pub sole: Grid,
    /// Height of the highest skin that faces up, with holes and the open leg closed, on the grid of `sole`. `NaN`
    /// beside the foot.
    pub dorsum: Grid,
    /// Plan outline of the foot below [`SILHOUETTE_HEIGHT_MM`], counter-clockwise, closed without a repeated point,
    /// right to about a quarter of a millimetre.
    pub silhouette: Vec<DVec2>,
    /// Contours of the geometric print (skin within [`PRINT_HEIGHT_MM`] of the support plane); outer ones
    /// counter-clockwise, holes clockwise, closed without a repeated point.
    pub print: Vec<Vec<DVec2>>,
    /// Area of the sole's holes that were closed in `sole`, mm².
    pub closed_mm2: f64,
    /// Outlines in plan of the holes that were closed in `sole`, each closed without a repeated point.
    pub closed: Vec<Vec<DVec2>>,
    /// Whether the scan shows the foot from above too. Not so for scans of the sole only and for impressions: `dorsum`
    /// is `NaN` throughout then.
    pub has_dorsum: bool,
}

/// Skin higher than this over the support plane is leg or ankle, not outline, mm.
pub const SILHOUETTE_HEIGHT_MM: f64 = 40.0;

/// Skin within this height of the support plane counts as print, mm. Soft tissue gives by more than that under the
/// first few newtons, and scanners are uncertain by a third of it; common practice, no source.
pub const PRINT_HEIGHT_MM: f64 = 1.5;

/// Sample distance of the height grids, mm.
pub const GRID_STEP_MM: f64 = 1.0;

/// Area that one sample of the height grids stands for, mm².
const CELL_MM2: f64 = GRID_STEP_MM * GRID_STEP_MM;

/// A place where no skin faces up that is larger than this is the open end of the leg, mm²: a child's ankle has three
/// times as much.
const LEAST_LEG_MM2: f64 = 500.0;

/// Sample distance of the silhouette, mm.
const SILHOUETTE_STEP_MM: f64 = 0.5;

/// What reaches farther than this in plan is in another unit, or another frame than this foot's, mm.
const MOST_EXTENT_MM: f64 = 1000.0;

/// What lies farther than this from the heel is not the foot whose frame this is, mm: a body is less high. Farther out,
/// views of it would have no end.
const FARTHEST_MM: f64 = 2500.0;

/// Closed holes of more than this area are worth a look, mm².
const LARGE_HOLES_MM2: f64 = 200.0;

/// With more than this share of the plan closed, what is left is not a sole to build on.
const MOST_CLOSED: f64 = 0.3;

/// No part of a foot is thinner than this, mm.
const THINNEST_MM: f64 = 5.0;

/// Toes, and gaps between them, lie in front of this share of the foot length.
const TOES_FROM: f64 = 0.65;

/// A scan of more triangles than this is thinned.
const MANY: usize = 400_000;

/// All vertices in a cell of this size become one, their mean, when a scan is thinned, mm. Less than the step of the
/// grids; moves a skin that bends with a radius of 7 mm by 0.01 mm and takes out noise.
const THIN_MM: f64 = 0.8;

/// Takes a scan into the foot frame: keeps the foot itself, cuts the leg off, turns the skin outside out, samples sole
/// and dorsum, and closes holes in the sole, as far as `how` says so.
///
/// # Errors
/// If the sole is missing or nothing is left of the foot; if cancelled.
pub fn prepare(
    name: &str,
    mesh: &TriMesh,
    foot_from_scan: &DAffine3,
    how: &Preparation,
    work: &Work,
    report: &mut Report,
) -> Result<Foot, IntakeError> {
    prepare_owned(name, mesh.clone(), foot_from_scan, how, work, report)
}

/// [`prepare`] for a scan that nobody else needs: it is worked on in place, so that a large one takes half the memory.
///
/// # Errors
/// As [`prepare`].
pub fn prepare_owned(
    name: &str,
    mesh: TriMesh,
    foot_from_scan: &DAffine3,
    how: &Preparation,
    work: &Work,
    report: &mut Report,
) -> Result<Foot, IntakeError> {
    let skin = mesh.into_transformed(foot_from_scan);
    check_size(name, &skin)?;
    let skin = cleaned(skin, how, work, report)?;
    work.step("Sampling the sole", 0.6)?;
    // Where nobody saw to it that outside is out, the lowest skin is the sole and the highest the dorsum.
    let side = |sign: f64| if how.does(CleanStep::Windings) { facing(&skin, sign) } else { skin.clone() };
    let (under, over) = (side(-1.0), side(1.0));
    let missing = |reason: &str| IntakeError::SoleMissing { file: name.to_owned(), reason: reason.to_owned() };
    let (lo, hi) = skin.bounds().ok_or_else(|| missing("nothing lies in the foot frame"))?;
    let extent = (hi - lo).truncate().max_element();
    let away = lo.abs().max(hi.abs()).max_element();
    if !extent.is_finite() || extent > MOST_EXTENT_MM || away > FARTHEST_MM {
        let reason = format!("it reaches over {extent:.0} mm in the foot frame, {away:.0} mm from the heel");
        return Err(IntakeError::NotAFoot { file: name.to_owned(), reason });
    }
    let mut sole = height_from_below(&under, grid_over(lo, hi, GRID_STEP_MM));
    let mut dorsum = height_from_above(&over, grid_over(lo, hi, GRID_STEP_MM));

    // Through a hole ankle and leg can be seen from inside: skin that high with sole all round is no sole. Where
    // nothing is seen from either side there can be a hole under the open leg, or a gap between two toes.
    let mut low = sole.clone();
    low.values.iter_mut().filter(|z| f64::from(**z) >= SILHOUETTE_HEIGHT_MM).for_each(|z| *z = f32::NAN);
    let is_enclosed = holes::enclosed(&low);
    (0..is_enclosed.len()).filter(|&k| is_enclosed[k]).for_each(|k| sole.values[k] = f32::NAN);
    let has_dorsum = is_covered(&sole, &dorsum);
    let is_under_leg = |k: usize| is_enclosed[k] && (!has_dorsum || sole_x(&low, k) < TOES_FROM * hi.x);
    let is_hole = |k: usize| has_dorsum && dorsum.values[k].is_finite() || is_under_leg(k);
    let holes_in_sole = holes::holes(&sole, is_hole);
    let missing_samples: usize = holes_in_sole.iter().map(Vec::len).sum();
    let plan = sole.values.iter().filter(|&&z| f64::from(z) < SILHOUETTE_HEIGHT_MM).count() + missing_samples;
    if plan == missing_samples || missing_samples as f64 > MOST_CLOSED * plan as f64 {
        let share = 100.0 * missing_samples as f64 / plan.max(1) as f64;
        return Err(missing(&format!("{share:.0} % of it are holes")));
    }
    let holes_in_sole = if how.does(CleanStep::Holes) { holes_in_sole } else { Vec::new() };
    let closed = outlines_of(&sole, &holes_in_sole);
    let closed_mm2 = holes_in_sole.iter().map(Vec::len).sum::<usize>() as f64 * CELL_MM2;
    holes_in_sole.iter().for_each(|hole| holes::stretch(&mut sole, hole));
    note_closed(closed_mm2, report);
    if has_dorsum {
        close_dorsum(&mut dorsum, &sole, hi.z, how);
    } else {
        dorsum.values.fill(f32::NAN);
    }

    work.step("Drawing outline and print", 0.9)?;
    let silhouette = silhouette(&under, lo, hi);
    let print = contour_below(&sole, PRINT_HEIGHT_MM);
    Ok(Foot { mesh: skin, sole, dorsum, silhouette, print, closed_mm2, closed, has_dorsum })
}

/// The foot's own skin, by all steps that are done.
fn cleaned(mut skin: TriMesh, how: &Preparation, work: &Work, report: &mut Report) -> Result<TriMesh, IntakeError> {
    let is_print = how.kind == ScanKind::Impression;
    work.step("Keeping the foot", 0.0)?;
    if how.does(CleanStep::Floor) && !is_print {
        skin = clean::without_floor(skin, report);
    }
    if how.does(CleanStep::StrayPieces) {
        skin = clean::own_piece(skin, report);
    }
    if how.does(CleanStep::Rim) && is_print {
        skin = clean::without_rim(skin, report);
    }
    skin = thinned(skin, report);
    if how.does(CleanStep::Spikes) {
        skin = clean::without_spikes(skin, report);
    }
    if is_print {
        skin = clean::turned_out(skin, how.foam_return_percent, report);
    }
    work.step("Cutting off the leg", 0.3)?;
    if how.does(CleanStep::Leg) {
        skin = clean::without_leg(skin, how.cut_height_mm, report);
    }
    if how.does(CleanStep::Windings) {
        skin = clean::outside_out(skin, is_print, report);
    }
    Ok(crate::view::calmed(&skin))
}

/// The skin with no more vertices than are of use.
fn thinned(skin: TriMesh, report: &mut Report) -> TriMesh {
    let count = skin.triangles().len();
    if count <= MANY {
        return skin;
    }
    let thin = by_clusters(&skin, THIN_MM);
    report.add(
        Severity::Info,
        "thinned",
        format!("{count} triangles thinned to {}, at most one vertex every {THIN_MM} mm.", thin.triangles().len()),
        "",
    );
    thin
}

/// Whether there is skin over most of the sole.
fn is_covered(sole: &Grid, dorsum: &Grid) -> bool {
    let (mut plan, mut covered) = (0, 0);
    for (&low, &high) in sole.values.iter().zip(&dorsum.values) {
        plan += usize::from(low.is_finite());
        covered += usize::from(f64::from(high - low) > THINNEST_MM);
    }
    2 * covered > plan
}

/// Closes holes in the dorsum. An open leg gets the height of the top: its walls are steep and say nothing about what is
/// between them.
fn close_dorsum(dorsum: &mut Grid, sole: &Grid, top: f64, how: &Preparation) {
    for hole in holes::holes(dorsum, |k| sole.values[k].is_finite()) {
        if hole.len() as f64 * CELL_MM2 > LEAST_LEG_MM2 {
            hole.into_iter().for_each(|k| dorsum.values[k] = top as f32);
        } else if how.does(CleanStep::Holes) {
            holes::stretch(dorsum, &hole);
        }
    }
}

/// Outlines in plan of groups of samples.
fn outlines_of(grid: &Grid, groups: &[Vec<usize>]) -> Vec<Vec<DVec2>> {
    if groups.is_empty() {
        return Vec::new();
    }
    let mut mask = Grid { values: vec![0.0; grid.values.len()], ..grid.clone() };
    groups.iter().flatten().for_each(|&k| mask.values[k] = 1.0);
    mesh::contour_mask(&mask, |value| value > 0.0)
}

/// The triangles whose normal has a z of the sign of `sign`.
fn facing(skin: &TriMesh, sign: f64) -> TriMesh {
    let faces = |&t: &u32| skin.area_vector(skin.triangles()[t as usize]).z * sign > 0.0;
    let triangles: Vec<u32> = (0..skin.triangles().len() as u32).filter(faces).collect();
    submesh(skin, &triangles)
}

/// Place along the foot of a sample of the grid, mm.
fn sole_x(sole: &Grid, k: usize) -> f64 {
    sole.at(k % sole.columns, 0).x
}

/// A grid over the plan, with its samples on whole steps from the origin and a free border of one.
fn grid_over(lo: DVec3, hi: DVec3, step_mm: f64) -> Grid {
    let whole = |p: DVec3, by: f64| ((p.truncate() / step_mm).floor() + DVec2::splat(by)) * step_mm;
    Grid::over(whole(lo, -1.0), whole(hi, 2.0), step_mm)
}

/// Outline of the skin below the height, smoothed over two steps of the grid.
fn silhouette(under: &TriMesh, lo: DVec3, hi: DVec3) -> Vec<DVec2> {
    let low = crate::view::part(under, |p| p.z < SILHOUETTE_HEIGHT_MM);
    let sole = height_from_below(&low, grid_over(lo, hi, SILHOUETTE_STEP_MM));
    let outline = mesh::contour_mask(&sole, |z| f64::from(z) < SILHOUETTE_HEIGHT_MM).into_iter().next();
    let outline = outline.unwrap_or_default();
    let count = outline.len();
    // The contour of samples is a staircase of half steps; a mean over five points straightens it.
    (0..count).map(|k| (0..5).map(|j| outline[(k + count + j - 2) % count]).sum::<DVec2>() / 5.0).collect()
}

fn note_closed(closed_mm2: f64, report: &mut Report) {
    if closed_mm2 <= 0.0 {
        return;
    }
    // Below a tenth of a square centimetre the square centimetre says nothing.
    let size =
        if closed_mm2 < 10.0 { format!("{closed_mm2:.0} mm²") } else { format!("{:.1} cm²", closed_mm2 / 100.0) };
    let text = format!("Holes of {size} in the sole were closed.");
    if closed_mm2 > LARGE_HOLES_MM2 {
        report.add(
            Severity::Check,
            CleanStep::Holes.id(),
            text,
            "Look at the sole; scan again if it matters where they were.",
        );
    } else {
        report.add(Severity::Info, CleanStep::Holes.id(), text, "");
    }
}
