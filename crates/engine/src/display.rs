//! Meshes for the screen: light, smooth-shaded, crisp at the rim.

use crate::skin::Skin;
use crate::view::MeshBuffers;
use glam::{DAffine3, DVec2, DVec3};
use insole::Surface;
use making::SolidPlan;
use mesh::TriMesh;
use std::collections::BTreeMap;

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
        colours: Vec::new(),
    }
}

/// The scan's colours at the vertices of the display mesh, three bytes each; empty if it has none.
///
/// Each is the mean over the scan's vertices in the cell around it: the display mesh has other vertices than the scan.
pub(crate) fn colours(display: &TriMesh, skin: &Skin, foot_from_scan: &DAffine3) -> Vec<u8> {
    if skin.colours.len() != skin.mesh.positions().len() {
        return Vec::new();
    }
    let cell = |p: DVec3| (p / COLOUR_CELL_MM).floor().to_array().map(|n| n as i32);
    let mut cells: BTreeMap<[i32; 3], ([u32; 3], u32)> = BTreeMap::new();
    for (&p, colour) in skin.mesh.positions().iter().zip(&skin.colours) {
        let (sum, count) = cells.entry(cell(foot_from_scan.transform_point3(p))).or_default();
        (0..3).for_each(|k| sum[k] += u32::from(colour[k]));
        *count += 1;
    }
    let near = |p: DVec3| {
        let [x, y, z] = cell(p);
        let around = (-1..=1).flat_map(|i| (-1..=1).flat_map(move |j| (-1..=1).map(move |k| [x + i, y + j, z + k])));
        let own = cells.get(&[x, y, z]).copied();
        own.or_else(|| {
            around
                .filter_map(|key| cells.get(&key).copied())
                .reduce(|(a, n), (b, m)| ([a[0] + b[0], a[1] + b[1], a[2] + b[2]], n + m))
        })
    };
    let colour = |&p: &DVec3| near(p).map_or(UNKNOWN_COLOUR, |(sum, count)| sum.map(|n| (n / count) as u8));
    display.positions().iter().flat_map(colour).collect()
}

/// Colours are the means over cubes of this size, mm: about the distance of vertices on the screen.
const COLOUR_CELL_MM: f64 = 2.0;
/// Where the scan has no vertex near, as in a closed hole.
const UNKNOWN_COLOUR: [u8; 3] = [128; 3];

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
        let (mut top, mut bottom) = (Vec::with_capacity(xy.len()), Vec::with_capacity(xy.len()));
        for &p in xy {
            let (high, low) = surface.top_and_bottom(p);
            top.push(p.extend(high));
            bottom.push(p.extend(low));
        }
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
            colours: Vec::new(),
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
