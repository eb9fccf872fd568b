use crate::CleanStep;
use base::{Report, Severity};
use glam::DVec3;
use mesh::{TriMesh, boundary_loops, orient_consistently};

/// Share of the area by which area vectors may fail to close before triangles count as turned: rounding only.
const TURNED: f64 = 1e-7;

/// Skin of which more than this share faces up or down on balance is a sheet: a sole alone has 1, a foot cut off at the
/// ankle 0.1.
const SHEET: f64 = 0.4;

/// No wall of a sole alone is as high, mm; a foot without its sole is higher.
const TALLEST_SHEET_MM: f64 = 60.0;

/// The skin with all triangles facing out; of a sole alone, as a print always is, down. `skin` lies in the foot frame.
///
/// Over a surface that is wound alike throughout, the triangles' area vectors add up to those of its rims (Stokes), so
/// that sum shows for little work whether the triangles need to be gone through one by one.
pub(crate) fn outside_out(skin: TriMesh, is_print: bool, report: &mut Report) -> TriMesh {
    let faces_out = |skin: &TriMesh| faces_out(skin, is_print);
    let (mut sum, mut total) = (DVec3::ZERO, 0.0);
    for &triangle in skin.triangles() {
        let area = skin.area_vector(triangle);
        sum += area;
        total += area.length();
    }
    for rim in boundary_loops(&skin) {
        let at = |k: usize| skin.positions()[rim[k % rim.len()] as usize];
        let origin = at(0);
        sum -= (0..rim.len()).map(|k| (at(k) - origin).cross(at(k + 1) - origin)).sum::<DVec3>() / 2.0;
    }
    let is_alike = sum.length() <= TURNED * total || is_wound_alike(&skin);
    if is_alike && faces_out(&skin) {
        return skin;
    }
    let mut oriented = orient_consistently(&skin);
    if !faces_out(&oriented.mesh) {
        let turned = oriented.mesh.triangles().iter().map(|&[a, b, c]| [a, c, b]).collect();
        oriented.mesh = TriMesh::new(oriented.mesh.positions().to_vec(), turned).unwrap_or_default();
        oriented.flipped = skin.triangles().len() - oriented.flipped;
    }
    if oriented.flipped > 0 {
        let text = format!("{} triangles faced the wrong way and were turned.", oriented.flipped);
        report.add(Severity::Info, CleanStep::Windings.id(), text, "");
    }
    oriented.mesh
}

/// Whether no two triangles run along a side the same way. Rims that touch themselves have a sum of their own.
fn is_wound_alike(skin: &TriMesh) -> bool {
    let side = |from: u32, to: u32| u64::from(from) << 32 | u64::from(to);
    let sides = |&[a, b, c]: &[u32; 3]| [side(a, b), side(b, c), side(c, a)];
    let mut sides: Vec<u64> = skin.triangles().iter().flat_map(sides).collect();
    sides.sort_unstable();
    sides.windows(2).all(|pair| pair[0] != pair[1])
}

/// Whether skin that is wound alike throughout has its outside outside.
fn faces_out(skin: &TriMesh, is_print: bool) -> bool {
    let (mut up, mut level) = (0.0, 0.0);
    for &triangle in skin.triangles() {
        let z = skin.area_vector(triangle).z;
        up += z;
        level += z.abs();
    }
    // In an open foot the rim of the leg is on top: what is missing for the volume is small against the whole.
    let is_low = skin.bounds().is_some_and(|(_, hi)| hi.z < TALLEST_SHEET_MM);
    if is_print || is_low && up.abs() > SHEET * level { up < 0.0 } else { skin.signed_volume_mm3() > 0.0 }
}
