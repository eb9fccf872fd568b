//! The connected parts of a mesh, and meshes made of some of its triangles.
//!
//! Guaranteed: parts are disjoint and together are all triangles; their order and that of their triangles depends on
//! the mesh alone. Not guaranteed: that a part is one piece in space; parts that touch in a vertex are one, parts that
//! touch without sharing a vertex are two.

use crate::TriMesh;
use crate::edges::Sets;
use glam::DVec3;

/// One connected part of a mesh.
#[derive(Clone, Debug, PartialEq)]
pub struct Component {
    /// Indices of its triangles, ascending.
    pub triangles: Vec<u32>,
    /// Area, mm².
    pub area_mm2: f64,
    /// Least and greatest corner of its bounding box, mm.
    pub bounds: (DVec3, DVec3),
}

/// The parts of `mesh` connected by shared vertices, the largest area first.
#[must_use]
pub fn components(mesh: &TriMesh) -> Vec<Component> {
    let mut sets = Sets::of_singles(mesh.positions().len());
    for &[a, b, c] in mesh.triangles() {
        let joint = sets.join(a, b);
        sets.join(joint, c);
    }
    let mut part_of_root = vec![u32::MAX; mesh.positions().len()];
    let mut parts: Vec<Component> = Vec::new();
    for (index, &triangle) in mesh.triangles().iter().enumerate() {
        let corners = mesh.corners(triangle);
        let [a, b, c] = corners;
        let part = &mut part_of_root[sets.find(triangle[0]) as usize];
        if *part == u32::MAX {
            *part = parts.len() as u32;
            parts.push(Component { triangles: Vec::new(), area_mm2: 0.0, bounds: (a, a) });
        }
        let part = &mut parts[*part as usize];
        part.triangles.push(index as u32);
        part.area_mm2 += ((b - a).cross(c - a) * 0.5).length();
        for p in corners {
            part.bounds = (part.bounds.0.min(p), part.bounds.1.max(p));
        }
    }
    base::sort_by(&mut parts, |a, b| b.area_mm2.total_cmp(&a.area_mm2));
    parts
}

/// The mesh of some triangles, by index and in that order; vertices are numbered anew in order of first use and unused
/// ones left out. Indices that do not exist are passed over.
#[must_use]
pub fn submesh(mesh: &TriMesh, triangles: &[u32]) -> TriMesh {
    let mut renumbered = vec![u32::MAX; mesh.positions().len()];
    let mut positions = Vec::new();
    let kept = triangles.iter().filter_map(|&index| mesh.triangles().get(index as usize));
    let triangles = kept
        .map(|&[a, b, c]| {
            let mut number_of = |vertex: u32| {
                let number = &mut renumbered[vertex as usize];
                if *number == u32::MAX {
                    *number = positions.len() as u32;
                    positions.push(mesh.positions()[vertex as usize]);
                }
                *number
            };
            [number_of(a), number_of(b), number_of(c)]
        })
        .collect();
    TriMesh::from_parts(positions, triangles)
}
