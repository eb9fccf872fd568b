//! Meshes that enclose a volume, as a fact of the type.
//!
//! Guaranteed of a [`ClosedMesh`]: every edge belongs to exactly two triangles, which run along it in opposite
//! directions; no triangle has a repeated corner, too little area or the same corners as another; the triangles around
//! every vertex form one fan; the volume is greater than zero. Construction finds every fault, not the first only.
//!
//! Not guaranteed: the surface may still cross itself, and of several shells some may be inside out or lie one in
//! another, as long as the sum of their volumes is positive.

use crate::TriMesh;
use crate::edges::{Edges, HalfEdge, Sets};
use glam::DVec3;
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Least area of a triangle, mm². A triangle in an STL file has 32-bit coordinates, 0.00003 mm apart at 300 mm: below
/// the square of that a shape is rounding and nothing else.
pub const LEAST_AREA_MM2: f64 = 1e-9;

/// A closed, consistently wound two-manifold with its outside outside. See the module page for what that includes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "TriMesh")]
pub struct ClosedMesh(TriMesh);

/// One reason why a mesh is not closed, by index.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum MeshFault {
    /// No triangles at all.
    #[error("the mesh has no triangles")]
    Empty,
    /// An edge with a triangle on one side only: a hole.
    #[error("the edge {edge:?} belongs to triangle {triangle} only: there is a hole")]
    OpenEdge {
        /// Its vertices, the lesser first.
        edge: [u32; 2],
        /// The only triangle.
        triangle: u32,
    },
    /// An edge with more than two triangles.
    #[error("the edge {edge:?} belongs to {triangles} triangles instead of two")]
    CrowdedEdge {
        /// Its vertices, the lesser first.
        edge: [u32; 2],
        /// How many triangles meet there.
        triangles: usize,
    },
    /// Two triangles run along their edge in the same direction: one of them is turned round.
    #[error("the triangles {triangles:?} at the edge {edge:?} face opposite sides")]
    OpposedTriangles {
        /// The vertices of the edge, the lesser first.
        edge: [u32; 2],
        /// The two triangles.
        triangles: [u32; 2],
    },
    /// A triangle that names a vertex twice.
    #[error("triangle {triangle} has a repeated corner")]
    RepeatedCorner {
        /// The triangle.
        triangle: u32,
    },
    /// A triangle with (almost) no area.
    #[error("triangle {triangle} has an area of {area_mm2} mm², less than {LEAST_AREA_MM2}")]
    NoArea {
        /// The triangle.
        triangle: u32,
        /// Its area.
        area_mm2: f64,
    },
    /// Two triangles over the same three vertices.
    #[error("the triangles {triangles:?} have the same corners")]
    Duplicate {
        /// Both triangles.
        triangles: [u32; 2],
    },
    /// A vertex where parts of the surface touch in a point.
    #[error("{fans} separate fans of triangles meet in vertex {vertex}")]
    PinchedVertex {
        /// The vertex.
        vertex: u32,
        /// How many fans meet there.
        fans: usize,
    },
    /// The volume enclosed is not greater than zero.
    #[error("the enclosed volume is {volume_mm3} mm³: the mesh is inside out or flat")]
    InsideOut {
        /// Signed volume.
        volume_mm3: f64,
    },
}

/// Reads only what is closed: the first fault is told.
impl TryFrom<TriMesh> for ClosedMesh {
    type Error = MeshFault;

    fn try_from(mesh: TriMesh) -> Result<ClosedMesh, MeshFault> {
        ClosedMesh::new(mesh).map_err(|faults| faults.into_iter().next().unwrap_or(MeshFault::Empty))
    }
}

impl ClosedMesh {
    /// Takes `mesh` if it is closed.
    ///
    /// # Errors
    /// Every fault there is: single triangles first, then edges, vertices, the whole, each in ascending order. The
    /// volume is judged only where nothing else is wrong.
    pub fn new(mesh: TriMesh) -> Result<ClosedMesh, Vec<MeshFault>> {
        if mesh.triangles().is_empty() {
            return Err(vec![MeshFault::Empty]);
        }
        let mut faults = triangle_faults(&mesh);
        let edges = Edges::of(&mesh);
        edge_faults(&mesh, &edges, &mut faults);
        vertex_faults(&mesh, &edges, &mut faults);
        if faults.is_empty() {
            let volume_mm3 = mesh.signed_volume_mm3();
            if volume_mm3 > 0.0 {
                return Ok(ClosedMesh(mesh));
            }
            faults.push(MeshFault::InsideOut { volume_mm3 });
        }
        Err(faults)
    }

    /// The mesh.
    #[must_use]
    pub fn mesh(&self) -> &TriMesh {
        &self.0
    }

    /// The mesh, given up.
    #[must_use]
    pub fn into_mesh(self) -> TriMesh {
        self.0
    }

    /// Volume enclosed, mm³, greater than zero.
    #[must_use]
    pub fn volume_mm3(&self) -> f64 {
        self.0.signed_volume_mm3()
    }

    /// Area of the surface, mm².
    #[must_use]
    pub fn area_mm2(&self) -> f64 {
        self.0.area_mm2()
    }

    /// Least and greatest corner of the bounding box.
    #[must_use]
    pub fn bounds(&self) -> (DVec3, DVec3) {
        self.0.bounds().unwrap_or_default()
    }
}

fn triangle_faults(mesh: &TriMesh) -> Vec<MeshFault> {
    let mut faults = Vec::new();
    for (index, &corners) in mesh.triangles().iter().enumerate() {
        let triangle = index as u32;
        let [a, b, c] = corners;
        if a == b || b == c || c == a {
            faults.push(MeshFault::RepeatedCorner { triangle });
            continue;
        }
        let area_mm2 = mesh.area_vector(corners).length();
        if area_mm2 < LEAST_AREA_MM2 {
            faults.push(MeshFault::NoArea { triangle, area_mm2 });
        }
    }
    faults
}

fn edge_faults(mesh: &TriMesh, edges: &Edges, faults: &mut Vec<MeshFault>) {
    let triangles = mesh.triangles();
    edges.for_each(|lo, hi, halves| {
        let edge = [lo, hi];
        match *halves {
            [only] => faults.push(MeshFault::OpenEdge { edge, triangle: only.triangle() }),
            [one, other] => {
                if one.corners(triangles)[0] == other.corners(triangles)[0] {
                    faults.push(MeshFault::OpposedTriangles { edge, triangles: [one.triangle(), other.triangle()] });
                }
            }
            _ => faults.push(MeshFault::CrowdedEdge { edge, triangles: halves.len() }),
        }
        // The same three vertices show at three edges: report them at the one without the greatest vertex.
        for (k, one) in halves.iter().enumerate() {
            let apex = one.corners(triangles)[2];
            let same = |other: &&HalfEdge| other.corners(triangles)[2] == apex && other.triangle() != one.triangle();
            if let Some(other) = halves[k + 1..].iter().find(same).filter(|_| apex > hi) {
                faults.push(MeshFault::Duplicate { triangles: [one.triangle(), other.triangle()] });
            }
        }
    });
}

/// Joins the corners at a vertex wherever two triangles share an edge there; what stays apart are separate fans.
fn vertex_faults(mesh: &TriMesh, edges: &Edges, faults: &mut Vec<MeshFault>) {
    let triangles = mesh.triangles();
    let corner_at = |half: HalfEdge, vertex: u32| {
        let next = if half.0 % 3 == 2 { half.0 - 2 } else { half.0 + 1 };
        if half.corners(triangles)[0] == vertex { half.0 } else { next }
    };
    let mut fans = Sets::of_singles(3 * triangles.len());
    edges.for_each(|lo, hi, halves| {
        for pair in halves.windows(2) {
            fans.join(corner_at(pair[0], lo), corner_at(pair[1], lo));
            fans.join(corner_at(pair[0], hi), corner_at(pair[1], hi));
        }
    });
    let mut count = vec![0u32; mesh.positions().len()];
    for (corner, &vertex) in triangles.as_flattened().iter().enumerate() {
        count[vertex as usize] += u32::from(fans.find(corner as u32) == corner as u32);
    }
    for (vertex, &fans) in count.iter().enumerate().filter(|(_, fans)| **fans > 1) {
        faults.push(MeshFault::PinchedVertex { vertex: vertex as u32, fans: fans as usize });
    }
}
