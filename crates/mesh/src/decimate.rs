//! Fewer triangles for looking at, by merging vertices in cells of a cubic grid (Rossignac and Borrel 1993).
//!
//! Guaranteed: fast and even; no vertex moves farther than the diagonal of a cell; no triangle with a repeated corner.
//!
//! Not guaranteed: nothing else. Closed meshes can lose that, sheets thinner than a cell collapse and openings
//! narrower than a cell close. For the screen, not for measuring or making.

use crate::TriMesh;
use crate::first_seen::FirstSeen;
use glam::DVec3;

/// The mesh with all vertices in one cell of `cell_mm` merged into their mean, and without triangles that collapse. A
/// cell size that is not greater than zero, or so small that cells cannot be numbered, gives the mesh as it is.
#[must_use]
pub fn by_clusters(mesh: &TriMesh, cell_mm: f64) -> TriMesh {
    let Some((lo, hi)) = mesh.bounds() else { return TriMesh::default() };
    if !(cell_mm > 0.0 && (hi - lo).max_element() / cell_mm < f64::from(u32::MAX)) {
        return mesh.clone();
    }
    let cells = (hi - lo) / cell_mm;
    let surface_cells = 2.0 * (cells.x * cells.y + cells.y * cells.z + cells.z * cells.x) + 8.0;
    let expected = (surface_cells as usize).min(mesh.positions().len());
    let mut seen = FirstSeen::with_room_for(expected);
    let mut sums: Vec<(DVec3, f64)> = Vec::with_capacity(expected);
    let per_cell = 1.0 / cell_mm;
    let cell_of_vertex: Vec<u32> = mesh
        .positions()
        .iter()
        .map(|&p| {
            let cell = (p - lo) * per_cell;
            let (number, is_new) = seen.number([cell.x as u32, cell.y as u32, cell.z as u32]);
            if is_new {
                sums.push((DVec3::ZERO, 0.0));
            }
            let (sum, count) = &mut sums[number as usize];
            *sum += p - lo;
            *count += 1.0;
            number
        })
        .collect();
    let mut triangles = Vec::new();
    for &[a, b, c] in mesh.triangles() {
        let [a, b, c] = [cell_of_vertex[a as usize], cell_of_vertex[b as usize], cell_of_vertex[c as usize]];
        if a != b && b != c && c != a {
            triangles.push([a, b, c]);
        }
    }
    TriMesh::from_parts(sums.into_iter().map(|(sum, count)| lo + sum / count).collect(), triangles)
}

/// The mesh with at most `max_triangles`, by the smallest cells of a row growing by a fifth each that reach it; the
/// mesh as it is if it has no more.
#[must_use]
pub fn by_clusters_to(mesh: &TriMesh, max_triangles: usize) -> TriMesh {
    let Some((lo, hi)) = mesh.bounds() else { return TriMesh::default() };
    let mut smaller = mesh.clone();
    if mesh.triangles().len() <= max_triangles {
        return smaller;
    }
    // A surface meets its area / cell² · 1.5 cells or so, and has two triangles a vertex.
    let mut cell_mm = (3.0 * mesh.area_mm2() / max_triangles.max(1) as f64).sqrt();
    let size = (hi - lo).max_element();
    while smaller.triangles().len() > max_triangles && cell_mm > 0.0 && cell_mm <= 2.0 * size {
        smaller = by_clusters(mesh, cell_mm);
        cell_mm *= 1.2;
    }
    if smaller.triangles().len() > max_triangles { TriMesh::default() } else { smaller }
}
