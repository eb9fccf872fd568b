//! What the readers of surfaces gather, and how it becomes a scan.

use crate::{Place, RawScan, ReadCause, ReadError, Shape};
use base::{LengthUnit, Report, Severity};
use glam::DVec3;
use mesh::{TriMeshFault, merge_equal};

/// A fault without the file's name.
pub(crate) type Fault = (Place, ReadCause);

/// Adds the file's name to a fault.
pub(crate) fn named<T>(name: &str, result: Result<T, Fault>) -> Result<T, ReadError> {
    result.map_err(|(place, cause)| ReadError { name: name.to_owned(), place, cause })
}

/// A message needs no more than the start of a very long text.
pub(crate) fn shortened(text: &[u8]) -> String {
    const MOST_BYTES: usize = 40;
    String::from_utf8_lossy(&text[..text.len().min(MOST_BYTES)]).into_owned()
}

/// What a library says about a part of the file, shortened: it may quote the file.
pub(crate) fn told(part: &str, fault: &impl std::fmt::Display) -> String {
    const MOST_LETTERS: usize = 100;
    let fault: String = fault.to_string().chars().take(MOST_LETTERS).collect();
    format!("{}: {fault}", shortened(part.as_bytes()))
}

/// Vertices, colours and triangles as they stand in the file.
#[derive(Debug, Default)]
pub(crate) struct Gathered {
    pub(crate) positions: Vec<DVec3>,
    /// As many as positions, or they are left out.
    pub(crate) colours: Vec<[u8; 3]>,
    pub(crate) triangles: Vec<[u32; 3]>,
    /// Faces with more than three corners, now triangles.
    pub(crate) polygons: usize,
    /// Faces with fewer than three corners.
    pub(crate) short_faces: usize,
    /// Where the first vertex is that is not finite.
    pub(crate) first_not_finite: Option<Place>,
}

impl Gathered {
    /// Adds a vertex; `place` says where it is in the file.
    #[inline]
    pub(crate) fn add_vertex(&mut self, position: DVec3, place: impl FnOnce() -> Place) {
        if !position.is_finite() && self.first_not_finite.is_none() {
            self.first_not_finite = Some(place());
        }
        self.positions.push(position);
    }

    /// Adds a strip of triangles, each sharing an edge with the one before.
    pub(crate) fn add_strip(&mut self, corners: &[u32]) {
        for (at, triangle) in corners.windows(3).enumerate() {
            let [a, b, c] = [triangle[0], triangle[1], triangle[2]];
            self.triangles.push(if at % 2 == 0 { [a, b, c] } else { [b, a, c] });
        }
    }

    /// Adds a face as a fan around its first corner.
    pub(crate) fn add_face(&mut self, corners: &[u32]) {
        match corners {
            &[a, b, c] => self.triangles.push([a, b, c]),
            [first, rest @ ..] if rest.len() > 2 => {
                self.polygons += 1;
                self.triangles.extend(rest.windows(2).map(|pair| [*first, pair[0], pair[1]]));
            }
            _ => self.short_faces += 1,
        }
    }

    /// The scan: a mesh if there is a triangle, else points.
    pub(crate) fn finish(
        self,
        format: &'static str,
        unit: Option<LengthUnit>,
        report: &mut Report,
    ) -> Result<RawScan, Fault> {
        let Gathered { positions, colours, triangles, polygons, short_faces, first_not_finite } = self;
        if polygons > 0 {
            let text = format!("{polygons} faces with more than three corners were split into triangles");
            report.add(Severity::Info, "scan_polygons_split", text, "");
        }
        if short_faces > 0 {
            let text = format!("{short_faces} faces with fewer than three corners were left out");
            report.add(Severity::Info, "scan_short_faces", text, "");
        }
        let has_colours = colours.len() == positions.len();
        if triangles.is_empty() {
            if short_faces > 0 {
                return Err((Place::File, ReadCause::NoTriangles { degenerate: short_faces }));
            }
            let colours = if has_colours { colours } else { Vec::new() };
            return points(positions, colours, format, unit, report);
        }
        let given = triangles.len();
        let merged = merge_equal(&positions, triangles).map_err(|fault| match fault {
            TriMeshFault::NotFinite { .. } => {
                let vertices = positions.iter().filter(|p| !p.is_finite()).count();
                (first_not_finite.unwrap_or(Place::File), ReadCause::VertexNotFinite { vertices })
            }
            // Readers check the numbers where they stand, to say the place; this is the last guard.
            TriMeshFault::IndexOutOfRange { vertex, vertices, .. } => {
                (Place::File, ReadCause::IndexOutOfRange { index: vertex.into(), vertices })
            }
        })?;
        if merged.mesh.triangles().is_empty() {
            return Err((Place::File, ReadCause::NoTriangles { degenerate: given }));
        }
        if merged.degenerate > 0 {
            let text = format!("{} triangles with two corners in the same place were left out", merged.degenerate);
            report.add(Severity::Info, "scan_degenerate_triangles", text, "");
        }
        if merged.without_area > 0 {
            let count = merged.without_area;
            let text = format!("{count} triangles have no area because their corners lie in a line; they were kept");
            report.add(Severity::Info, "scan_triangles_without_area", text, "");
        }
        let colours = match has_colours {
            true => merged.sources.iter().map(|&source| colours[source as usize]).collect(),
            false => Vec::new(),
        };
        Ok(RawScan { shape: Shape::Mesh(merged.mesh), colours, unit, format })
    }
}

/// A cloud of points. Points that are not finite are how scanners write "nothing measured here": they are left out.
pub(crate) fn points(
    mut positions: Vec<DVec3>,
    mut colours: Vec<[u8; 3]>,
    format: &'static str,
    unit: Option<LengthUnit>,
    report: &mut Report,
) -> Result<RawScan, Fault> {
    let given = positions.len();
    if !colours.is_empty() {
        let mut finite = positions.iter().map(|p| p.is_finite());
        colours.retain(|_| finite.next().unwrap_or(false));
    }
    positions.retain(|p| p.is_finite());
    if positions.is_empty() {
        return Err((Place::File, ReadCause::NoPoints));
    }
    let left_out = given - positions.len();
    if left_out > 0 {
        report.add(
            Severity::Check,
            "scan_points_not_finite",
            format!(
                "{left_out} of {given} points have a coordinate that is infinite or not a number; they were left out"
            ),
            "Check that nothing of the scan is missing.",
        );
    }
    Ok(RawScan { shape: Shape::Points(positions), colours, unit, format })
}
