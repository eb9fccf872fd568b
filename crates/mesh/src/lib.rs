//! Triangle meshes, scan readers, repair, sections and height rasters. No foot words here.

mod grid;
mod tri_mesh;

pub use grid::Grid;
pub use tri_mesh::{TriMesh, TriMeshFault};
