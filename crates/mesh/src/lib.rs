//! Triangle meshes, scan readers, repair, sections and height rasters. No foot words here.
//!
//! A scan comes in through [`stl`] as a [`TriMesh`], which may be broken in any way; [`parts`], [`mod@cut`], [`orient`] and
//! [`fill`] put it right; [`raster`], [`mod@section`], [`outline`], [`moments`] and [`ray`] measure it; what is to be made
//! must pass as a [`ClosedMesh`]. Each module says what it guarantees and what not.
//!
//! ```
//! use base::{Report, Work};
//! use glam::DVec3;
//! use mesh::{ClosedMesh, Keep, Plane, cut, fill_flat, section, shapes, stl};
//!
//! let mut bytes = Vec::new();
//! stl::write_stl(&shapes::cuboid(DVec3::ZERO, DVec3::splat(10.0)), "cube", &mut bytes)?;
//! let cube = stl::read_stl("cube.stl", &bytes, &Work::quiet(), &mut Report::default())?;
//! assert!((section(&cube, &Plane::at_z(4.0))[0].length_mm() - 40.0).abs() < 1e-9);
//!
//! let mut lower = cut(&cube, &Plane::at_z(4.0), Keep::Below);
//! fill_flat(&mut lower.mesh, &lower.rims)?;
//! let lower = ClosedMesh::new(lower.mesh).map_err(|faults| faults[0])?;
//! assert!((lower.volume_mm3() - 400.0).abs() < 1e-9);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod chain;
pub mod closed_mesh;
pub mod cut;
pub mod decimate;
mod edges;
pub mod fill;
mod first_seen;
mod grid;
pub mod moments;
pub mod orient;
pub mod outline;
pub mod parts;
mod plane;
pub mod raster;
pub mod ray;
mod read_error;
pub mod section;
pub mod shapes;
pub mod smooth;
pub mod sniff;
pub mod stl;
mod tri_mesh;
mod weld;

pub use closed_mesh::{ClosedMesh, LEAST_AREA_MM2, MeshFault};
pub use cut::{Cut, Keep, SNAP_MM, boundary_loops, cut, open_sides};
pub use fill::{HoleFault, fill_flat, fill_hole};
pub use grid::{Grid, MOST_SAMPLES};
pub use moments::{Eigen, Moments, eigen_symmetric, surface_moments, vertex_normals};
pub use orient::{Oriented, orient_consistently};
pub use outline::{contour, contour_below, contour_mask, convex_hull_2d, hull_girth_mm, silhouette};
pub use parts::{Component, components, submesh};
pub use plane::Plane;
pub use read_error::{Place, ReadCause, ReadError};
pub use section::{Polyline, section};
pub use tri_mesh::{TriMesh, TriMeshFault};
pub use weld::{Merged, merge_equal};
