use glam::{DAffine3, DVec3};

/// Triangles over shared vertices, as a scan brings them: holes, stray pieces and wrong windings allowed.
///
/// Positions are millimetres unless the owner says otherwise (a mesh fresh from a file is in the file's unit).
/// Every index is in range and every position finite: [`TriMesh::new`] refuses anything else.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TriMesh {
    positions: Vec<DVec3>,
    triangles: Vec<[u32; 3]>,
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

    /// The vertices.
    #[must_use]
    pub fn positions(&self) -> &[DVec3] {
        &self.positions
    }

    /// The triangles as vertex indices, counter-clockwise seen from outside.
    #[must_use]
    pub fn triangles(&self) -> &[[u32; 3]] {
        &self.triangles
    }

    /// The three corners of a triangle.
    #[must_use]
    pub fn corners(&self, triangle: [u32; 3]) -> [DVec3; 3] {
        triangle.map(|v| self.positions[v as usize])
    }

    /// Least and greatest corner of the bounding box; `None` without vertices.
    #[must_use]
    pub fn bounds(&self) -> Option<(DVec3, DVec3)> {
        let first = *self.positions.first()?;
        Some(self.positions.iter().fold((first, first), |(lo, hi), &p| (lo.min(p), hi.max(p))))
    }

    /// The mesh moved by `map`; windings are turned round where `map` mirrors, so that outside stays outside.
    #[must_use]
    pub fn transformed(&self, map: &DAffine3) -> TriMesh {
        let positions = self.positions.iter().map(|&p| map.transform_point3(p)).collect();
        let triangles = if map.matrix3.determinant() < 0.0 {
            self.triangles.iter().map(|&[a, b, c]| [a, c, b]).collect()
        } else {
            self.triangles.clone()
        };
        TriMesh { positions, triangles }
    }
}
