use glam::{DAffine3, DVec3};
use serde::{Deserialize, Serialize};

/// Triangles over shared vertices, as a scan brings them: holes, stray pieces and wrong windings allowed.
///
/// Positions are millimetres unless the owner says otherwise (a mesh fresh from a file is in the file's unit).
/// Every index is in range and every position finite: [`TriMesh::new`] refuses anything else.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "Parts")]
pub struct TriMesh {
    positions: Vec<DVec3>,
    triangles: Vec<[u32; 3]>,
}

/// A mesh as it is read back, not yet checked.
#[derive(Deserialize)]
struct Parts {
    positions: Vec<DVec3>,
    triangles: Vec<[u32; 3]>,
}

impl TryFrom<Parts> for TriMesh {
    type Error = TriMeshFault;

    fn try_from(parts: Parts) -> Result<TriMesh, TriMeshFault> {
        TriMesh::new(parts.positions, parts.triangles)
    }
}

/// Why positions and triangles do not make a mesh.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TriMeshFault {
    /// A triangle names a vertex that does not exist.
    #[error("triangle {triangle} names vertex {vertex}, but there are only {vertices}")]
    IndexOutOfRange {
        /// Index of the triangle.
        triangle: usize,
        /// The vertex it names.
        vertex: u32,
        /// How many vertices there are.
        vertices: usize,
    },
    /// A coordinate is infinite or not a number.
    #[error("vertex {vertex} has a coordinate that is not a finite number")]
    NotFinite {
        /// Index of the vertex.
        vertex: usize,
    },
}

impl TriMesh {
    /// A mesh of `positions` and counter-clockwise `triangles`.
    ///
    /// # Errors
    /// The first vertex that is not finite or the first index out of range.
    pub fn new(positions: Vec<DVec3>, triangles: Vec<[u32; 3]>) -> Result<Self, TriMeshFault> {
        if let Some(vertex) = positions.iter().position(|p| !p.is_finite()) {
            return Err(TriMeshFault::NotFinite { vertex });
        }
        let vertices = positions.len();
        for (triangle, corners) in triangles.iter().enumerate() {
            if let Some(&vertex) = corners.iter().find(|&&v| v as usize >= vertices) {
                return Err(TriMeshFault::IndexOutOfRange { triangle, vertex, vertices });
            }
        }
        Ok(TriMesh { positions, triangles })
    }

    /// A mesh of parts known to be sound, without the checks of [`TriMesh::new`].
    pub(crate) fn from_parts(positions: Vec<DVec3>, triangles: Vec<[u32; 3]>) -> Self {
        debug_assert!(triangles.as_flattened().iter().all(|&v| (v as usize) < positions.len()));
        debug_assert!(positions.iter().all(|p| p.is_finite()));
        TriMesh { positions, triangles }
    }

    /// Vertices and triangles to add to; what is added must be sound.
    pub(crate) fn parts_mut(&mut self) -> (&mut Vec<DVec3>, &mut Vec<[u32; 3]>) {
        (&mut self.positions, &mut self.triangles)
    }

    /// The vertices.
    #[must_use]
    #[inline]
    pub fn positions(&self) -> &[DVec3] {
        &self.positions
    }

    /// The triangles as vertex indices, counter-clockwise seen from outside.
    #[must_use]
    #[inline]
    pub fn triangles(&self) -> &[[u32; 3]] {
        &self.triangles
    }

    /// The three corners of a triangle.
    #[must_use]
    #[inline]
    pub fn corners(&self, [a, b, c]: [u32; 3]) -> [DVec3; 3] {
        // Written out: `map` over an array is not always inlined, and this is the innermost step of nearly everything.
        [self.positions[a as usize], self.positions[b as usize], self.positions[c as usize]]
    }

    /// The triangle's normal, as long as its area, mm².
    #[must_use]
    #[inline]
    pub fn area_vector(&self, triangle: [u32; 3]) -> DVec3 {
        let [a, b, c] = self.corners(triangle);
        (b - a).cross(c - a) * 0.5
    }

    /// Area of all triangles, mm².
    #[must_use]
    pub fn area_mm2(&self) -> f64 {
        self.triangles.iter().map(|&triangle| self.area_vector(triangle).length()).sum()
    }

    /// Volume enclosed, mm³, negative if the mesh is inside out. By the divergence theorem, from the middle of the
    /// bounding box: means little unless the mesh is closed and consistently wound.
    #[must_use]
    pub fn signed_volume_mm3(&self) -> f64 {
        let Some((lo, hi)) = self.bounds() else { return 0.0 };
        let middle = (lo + hi) * 0.5;
        let six_volumes: f64 = self
            .triangles
            .iter()
            .map(|&triangle| {
                let [a, b, c] = self.corners(triangle).map(|p| p - middle);
                a.dot(b.cross(c))
            })
            .sum();
        six_volumes / 6.0
    }

    /// Least and greatest corner of the bounding box; `None` without vertices.
    #[must_use]
    pub fn bounds(&self) -> Option<(DVec3, DVec3)> {
        let first = *self.positions.first()?;
        Some(self.positions.iter().fold((first, first), |(lo, hi), &p| (lo.min(p), hi.max(p))))
    }

    /// The mesh moved by `map`; windings are turned round where `map` mirrors, so that outside stays outside.
    pub fn transformed(&self, map: &DAffine3) -> TriMesh {
        self.clone().into_transformed(map)
    }

    /// The same without a copy.
    #[must_use]
    pub fn into_transformed(mut self, map: &DAffine3) -> TriMesh {
        self.positions.iter_mut().for_each(|p| *p = map.transform_point3(*p));
        if map.matrix3.determinant() < 0.0 {
            self.triangles.iter_mut().for_each(|[_, b, c]| std::mem::swap(b, c));
        }
        self
    }
}
