//! Bodies with known measures: to test against, and to build others from.
//!
//! Guaranteed: closed, consistently wound, outside outside, for positive finite sizes; an empty mesh for sizes that are
//! not finite. Not guaranteed: anything sensible for negative or zero sizes.

use crate::TriMesh;
use glam::DVec3;
use std::collections::BTreeMap;

/// An axis-parallel box between two corners: 8 vertices, 12 triangles.
#[must_use]
pub fn cuboid(lo: DVec3, hi: DVec3) -> TriMesh {
    let positions = (0..8)
        .map(|k| {
            let pick = |axis: usize| if k >> axis & 1 == 0 { lo[axis] } else { hi[axis] };
            DVec3::new(pick(0), pick(1), pick(2))
        })
        .collect();
    // Each face as the quadrilateral a b c d, counter-clockwise from outside.
    const FACES: [[u32; 4]; 6] = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    let triangles = FACES.iter().flat_map(|&[a, b, c, d]| [[a, b, c], [a, c, d]]).collect();
    TriMesh::new(positions, triangles).unwrap_or_default()
}

/// A sphere from an icosahedron, each triangle split into four `levels` times: 20 · 4^levels triangles, 12 corners of
/// the icosahedron and all others on the sphere of that radius (mm) round the origin. At most 10 levels.
#[must_use]
pub fn icosphere(radius_mm: f64, levels: u32) -> TriMesh {
    let golden = (1.0 + 5f64.sqrt()) / 2.0;
    let mut positions = Vec::new();
    for (one, phi) in [(-1.0, -golden), (1.0, -golden), (-1.0, golden), (1.0, golden)] {
        positions.extend([DVec3::new(one, phi, 0.0), DVec3::new(0.0, one, phi), DVec3::new(phi, 0.0, one)]);
    }
    let edge = 2.0;
    let is_edge = |a: DVec3, b: DVec3| ((a - b).length() - edge).abs() < 1e-9;
    let mut triangles = Vec::new();
    for a in 0..12u32 {
        for b in a + 1..12 {
            for c in b + 1..12 {
                let [p, q, r] = [a, b, c].map(|v| positions[v as usize]);
                if is_edge(p, q) && is_edge(q, r) && is_edge(r, p) {
                    let is_outward = (q - p).cross(r - p).dot(p) > 0.0;
                    triangles.push(if is_outward { [a, b, c] } else { [a, c, b] });
                }
            }
        }
    }
    for _ in 0..levels.min(10) {
        triangles = quartered(&mut positions, &triangles);
    }
    let positions = positions.into_iter().map(|p: DVec3| p.normalize_or_zero() * radius_mm).collect();
    TriMesh::new(positions, triangles).unwrap_or_default()
}

/// A box-shaped ring (a square frame) with a square hole through it along z: the simplest closed body of genus one.
#[must_use]
pub fn frame(outer_mm: f64, inner_mm: f64, height_mm: f64) -> TriMesh {
    let ring = |half: f64, z: f64| {
        [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)].map(|(x, y)| DVec3::new(x * half, y * half, z))
    };
    let (o, i, h) = (outer_mm / 2.0, inner_mm / 2.0, height_mm);
    let positions = [ring(o, 0.0), ring(i, 0.0), ring(o, h), ring(i, h)].concat();
    let mut triangles = Vec::new();
    for k in 0..4u32 {
        let n = (k + 1) % 4;
        let (outer_low, inner_low, outer_high, inner_high) = (0, 4, 8, 12);
        for [a, b, c, d] in [
            [outer_low + k, outer_low + n, outer_high + n, outer_high + k],
            [inner_low + n, inner_low + k, inner_high + k, inner_high + n],
            [outer_high + k, outer_high + n, inner_high + n, inner_high + k],
            [outer_low + n, outer_low + k, inner_low + k, inner_low + n],
        ] {
            triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    TriMesh::new(positions, triangles).unwrap_or_default()
}

fn quartered(positions: &mut Vec<DVec3>, triangles: &[[u32; 3]]) -> Vec<[u32; 3]> {
    let mut middles = BTreeMap::new();
    let mut middle = |a: u32, b: u32| {
        *middles.entry([a.min(b), a.max(b)]).or_insert_with(|| {
            // Onto the sphere at each level, so that the triangles stay alike.
            let sum = positions[a as usize] + positions[b as usize];
            positions.push(sum * (positions[0].length() / sum.length()));
            positions.len() as u32 - 1
        })
    };
    triangles
        .iter()
        .flat_map(|&[a, b, c]| {
            let (ab, bc, ca) = (middle(a, b), middle(b, c), middle(c, a));
            [[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]
        })
        .collect()
}
