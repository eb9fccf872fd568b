//! Every file format a scan comes in. Formats are told apart by their content, and by the file name only where content
//! cannot tell.
//!
//! Guaranteed: whatever the bytes, [`read`] returns a scan or an error with file, place, reason and advice; it never
//! panics, and never asks for memory out of proportion to the file. The same triangles give the same mesh in every
//! format: vertices with equal coordinates are one, numbered in order of first use, none unused.
//!
//! Not guaranteed: a unit, which most formats do not state ([`RawScan::unit`]); a closed, oriented or even connected
//! surface. Positions are in the file's unit and axes.
//!
//! ```
//! use base::{Report, Work};
//! let square = b"v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\nf 1 2 3 4\n";
//! let scan = scan::read("square.obj", square, &Work::quiet(), &mut Report::default())?;
//! let scan::Shape::Mesh(mesh) = scan.shape else { unreachable!("it has a face") };
//! assert_eq!(mesh.triangles(), [[0, 1, 2], [0, 2, 3]]);
//! # Ok::<(), mesh::ReadError>(())
//! ```

pub mod archive;
mod formats;
mod gathered;
pub mod height;
mod text;
pub mod xml;

pub use height::{HeightFault, HeightImage, HeightScale, HeightScaleFault};
pub use mesh::{Place, ReadCause, ReadError};

use base::{LengthUnit, Report, Severity, Work};
use glam::DVec3;
use mesh::{TriMesh, sniff};

/// A scan as its file holds it.
#[derive(Clone, Debug, PartialEq)]
pub struct RawScan {
    /// What the file holds, in its own unit and axes.
    pub shape: Shape,
    /// sRGB, one for each vertex or point; empty: none.
    pub colours: Vec<[u8; 3]>,
    /// The unit the format or the file states; `None`: it says nothing.
    pub unit: Option<LengthUnit>,
    /// [`ScanFormat::id`] of the format it was read from.
    pub format: &'static str,
}

/// What kind of thing was scanned into the file.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A surface of triangles.
    Mesh(TriMesh),
    /// Points without a surface, all finite.
    Points(Vec<DVec3>),
    /// A picture whose levels are heights; it has no size until a [`HeightScale`] gives it one.
    Heights(HeightImage),
}

/// One file format.
pub trait ScanFormat: Sync {
    /// Stable id, lower case: `ply`.
    fn id(&self) -> &'static str;

    /// Name in messages and file dialogs: `PLY`.
    fn label(&self) -> &'static str;

    /// Ends of file names, lower case, without the point; the usual one first.
    fn extensions(&self) -> &'static [&'static str];

    /// Whether the content is of this format for certain, or the content cannot tell and the name says so. Quick:
    /// looks at the start of the file.
    fn recognises(&self, name: &str, bytes: &[u8]) -> bool;

    /// Reads the file. `name` is used in messages only.
    ///
    /// # Errors
    /// [`ReadError`] with file, place, reason and advice; or if `work` was cancelled.
    fn read(&self, name: &str, bytes: &[u8], work: &Work, report: &mut Report) -> Result<RawScan, ReadError>;
}

pub use formats::ALL;

/// Reads a scan in any of the formats in [`ALL`]: by content first, by the end of its name second.
///
/// # Errors
/// [`ReadError`] of the format, or [`ReadCause::UnknownFormat`] with what can be read.
pub fn read(name: &str, bytes: &[u8], work: &Work, report: &mut Report) -> Result<RawScan, ReadError> {
    if bytes.is_empty() {
        return Err(ReadError { name: name.to_owned(), place: Place::File, cause: ReadCause::Empty });
    }
    let named = ALL.iter().find(|format| has_extension(name, format.extensions()));
    if let Some(format) = ALL.iter().find(|format| format.recognises(name, bytes)) {
        if let Some(named) = named.filter(|named| named.id() != format.id()) {
            report.add(
                Severity::Info,
                "scan_format_not_as_named",
                format!("{name} is named like {} but holds {}, and was read as that", named.label(), format.label()),
                "",
            );
        }
        return format.read(name, bytes, work, report);
    }
    if let Some(format) = named {
        return format.read(name, bytes, work, report);
    }
    let looks_like = sniff::looks_like(bytes).unwrap_or("nothing known");
    let readable = ALL.iter().map(|format| format.label()).collect::<Vec<_>>().join(", ");
    let cause = ReadCause::UnknownFormat { looks_like, readable };
    Err(ReadError { name: name.to_owned(), place: Place::File, cause })
}

/// Whether the name ends in one of `extensions`, in any case.
fn has_extension(name: &str, extensions: &[&str]) -> bool {
    name.rsplit_once('.').is_some_and(|(_, end)| extensions.iter().any(|extension| end.eq_ignore_ascii_case(extension)))
}
