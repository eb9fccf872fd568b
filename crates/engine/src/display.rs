//! Meshes for the screen: light, smooth-shaded, crisp at the rim.

use crate::view::MeshBuffers;
use glam::{DVec2, DVec3};
use insole::Surface;
use making::SolidPlan;
use mesh::TriMesh;

/// The skin has at most this many triangles on the screen: more than that, software rendering gets slow.
const MOST_SKIN_TRIANGLES: usize = 30_000;

/// The mesh with few enough triangles for the screen.
pub(crate) fn light(skin: &TriMesh) -> TriMesh {
    if skin.triangles().len() <= MOST_SKIN_TRIANGLES {
        return skin.clone();
    }
    mesh::decimate::by_clusters_to(skin, MOST_SKIN_TRIANGLES)
}

/// A mesh with smooth normals.
pub(crate) fn buffers(skin: &TriMesh) -> MeshBuffers {
    MeshBuffers {
        positions: floats(skin.positions().iter().copied()),
        normals: floats(mesh::moments::vertex_normals(skin).into_iter()),
        indices: skin.triangles().iter().flatten().copied().collect(),
    }
}

/// The triangles of an insole on the screen: they stay while only heights change.
///
/// Vertices: the top, the bottom, then the wall's upper and lower rim once more, so that the rim is a crisp edge.
pub(crate) struct InsoleTopology {
    plan: SolidPlan,
    indices: Vec<u32>,
    wall_normals: Vec<DVec2>,
}

impl InsoleTopology {
    pub(crate) fn new(plan: SolidPlan) -> Self {
        let count = plan.xy().len() as u32;
        let rim = plan.rim();
        let around = rim.len() as u32;
        let mut indices: Vec<u32> = plan.triangles().iter().flatten().copied().collect();
        indices.extend(plan.triangles().iter().flat_map(|&[a, b, c]| [a + count, c + count, b + count]));
        for i in 0..around {
            let j = (i + 1) % around;
            let (upper, lower) = (2 * count, 2 * count + around);
            indices.extend([upper + i, lower + i, lower + j, upper + i, lower + j, upper + j]);
        }
        let at = |i: u32| rim[(i % around) as usize];
        let wall_normals = (0..around)
            .map(|i| {
                let along = at(i + 1) - at(i + around - 1);
                DVec2::new(along.y, -along.x).normalize_or_zero()
            })
            .collect();
        InsoleTopology { plan, indices, wall_normals }
    }

    /// Plan positions of all vertices, in their order.
    pub(crate) fn plan_positions(&self) -> impl Iterator<Item = DVec2> {
        let xy = self.plan.xy();
        let rim = self.plan.rim();
        xy.iter().chain(xy).chain(rim).chain(rim).copied()
    }

    /// The mesh with the heights of `surface`.
    pub(crate) fn shaped(&self, surface: &Surface) -> MeshBuffers {
        let xy = self.plan.xy();
        let top: Vec<DVec3> = xy.iter().map(|&p| p.extend(surface.top(p))).collect();
        let bottom: Vec<DVec3> = xy.iter().map(|&p| p.extend(surface.bottom(p))).collect();
        let around = self.plan.rim().len();
        let mut normals = sheet_normals(&top, self.plan.triangles(), 1.0);
        normals.extend(sheet_normals(&bottom, self.plan.triangles(), -1.0));
        let walls = self.wall_normals.iter().map(|n| n.extend(0.0));
        normals.extend(walls.clone().chain(walls));
        let (upper, lower) = (top[..around].to_vec(), bottom[..around].to_vec());
        MeshBuffers {
            positions: floats(top.into_iter().chain(bottom).chain(upper).chain(lower)),
            normals: floats(normals.into_iter()),
            indices: self.indices.clone(),
        }
    }
}

fn sheet_normals(points: &[DVec3], triangles: &[[u32; 3]], up: f64) -> Vec<DVec3> {
    let mut normals = vec![DVec3::ZERO; points.len()];
    for &triangle in triangles {
        let [a, b, c] = triangle.map(|i| points[i as usize]);
        let normal = (b - a).cross(c - a) * up;
        triangle.iter().for_each(|&i| normals[i as usize] += normal);
    }
    normals.into_iter().map(DVec3::normalize_or_zero).collect()
}

fn floats(points: impl Iterator<Item = DVec3>) -> Vec<f32> {
    points.flat_map(|p| [p.x as f32, p.y as f32, p.z as f32]).collect()
}
