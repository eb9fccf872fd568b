//! From the bytes of a scan file to a skin: whatever the format holds becomes triangles in the file's coordinates.

use crate::EngineError;
use base::{LengthUnit, Report, Work};
use glam::DAffine3;
use mesh::TriMesh;
use scan::{HeightScale, RawScan, Shape};

/// A scan as triangles.
pub(crate) struct Skin {
    /// In the file's coordinates and unit.
    pub(crate) mesh: TriMesh,
    /// sRGB of each vertex; empty: none.
    pub(crate) colours: Vec<[u8; 3]>,
    /// The unit, where the format states it.
    pub(crate) unit: Option<LengthUnit>,
    /// Id of the format.
    pub(crate) format: &'static str,
    /// What its triangles come from.
    pub(crate) origin: Origin,
}

/// What the triangles of a skin come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Origin {
    /// The file's own.
    Triangles,
    /// Laid over points, as seen from below in a pose.
    Points,
    /// Made from a height image by a scale.
    Heights,
}

/// Reads a scan file. A point cloud is laid over with a skin, seen from below in the pose `foot_from_scan` if there is
/// one already; a height image needs its `heights`.
pub(crate) fn read(
    name: &str,
    bytes: &[u8],
    heights: Option<&HeightScale>,
    foot_from_scan: Option<&DAffine3>,
    work: &Work,
    report: &mut Report,
) -> Result<Skin, EngineError> {
    work.step("Reading the scan", 0.0)?;
    let RawScan { shape, colours, unit, format } = scan::read(name, bytes, work, report)?;
    let (mesh, colours, unit, origin) = match shape {
        Shape::Mesh(mesh) => (mesh, colours, unit, Origin::Triangles),
        Shape::Points(points) => {
            (foot::skin_of_points(name, &points, foot_from_scan, work, report)?, Vec::new(), unit, Origin::Points)
        }
        Shape::Heights(image) => {
            let scale = heights.ok_or_else(|| EngineError::HeightScaleMissing {
                name: name.to_owned(),
                columns: image.columns,
                rows: image.rows,
            })?;
            (image.mesh(scale)?, Vec::new(), Some(LengthUnit::Millimetre), Origin::Heights)
        }
    };
    Ok(Skin { mesh, colours, unit, format, origin })
}
