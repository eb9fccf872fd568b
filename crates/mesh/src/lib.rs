//! Triangle meshes, scan readers, repair, sections and height rasters. No foot words here.

mod closed_mesh;
mod edges;
mod first_seen;
mod grid;
mod read_error;
pub mod shapes;
mod sniff;
pub mod stl;
mod tri_mesh;

pub use closed_mesh::{ClosedMesh, LEAST_AREA_MM2, MeshFault};
pub use grid::Grid;
pub use read_error::{Place, ReadCause, ReadError};
pub use tri_mesh::{TriMesh, TriMeshFault};
