use base::Cancelled;
use std::fmt;
use thiserror::Error;

/// Why a scan file could not be read: the file, the place in it, the reason and what to do.
#[derive(Clone, Debug, PartialEq, Error)]
#[error("{name}{place}: {cause}. {}", cause.advice())]
pub struct ReadError {
    /// Name of the file, as the caller gave it.
    pub name: String,
    /// Where in the file.
    pub place: Place,
    /// What is wrong there.
    pub cause: ReadCause,
}

impl ReadError {
    /// What the person can do about it, one sentence.
    #[must_use]
    pub fn advice(&self) -> &'static str {
        self.cause.advice()
    }

    /// Whether nothing was wrong: the reading was stopped on request.
    #[must_use]
    pub fn is_cancelled(&self) -> bool {
        self.cause == ReadCause::Cancelled(Cancelled)
    }
}

/// A place in a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// The file as a whole.
    File,
    /// A byte, counted from 0.
    Byte(usize),
    /// A triangle of a binary file, counted from 0, and the byte where it starts.
    Triangle {
        /// Index of the triangle.
        triangle: usize,
        /// Byte where its record starts.
        byte: usize,
    },
    /// A vertex or point of a binary file, counted from 0, and the byte where it starts.
    Vertex {
        /// Index of the vertex.
        vertex: usize,
        /// Byte where its record starts.
        byte: usize,
    },
    /// A face of a binary file, counted from 0, and the byte where it starts.
    Face {
        /// Index of the face.
        face: usize,
        /// Byte where its record starts.
        byte: usize,
    },
    /// A byte of what the file holds packed, counted from 0 after unpacking.
    Unpacked(usize),
    /// A line of a text file, counted from 1.
    Line(usize),
}

impl fmt::Display for Place {
    /// With its leading comma, so that it can stand after a file name; nothing for the whole file.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Place::File => Ok(()),
            Place::Byte(byte) => write!(formatter, ", byte {byte}"),
            Place::Triangle { triangle, byte } => write!(formatter, ", triangle {triangle} (byte {byte})"),
            Place::Vertex { vertex, byte } => write!(formatter, ", vertex {vertex} (byte {byte})"),
            Place::Face { face, byte } => write!(formatter, ", face {face} (byte {byte})"),
            Place::Unpacked(byte) => write!(formatter, ", byte {byte} of the unpacked model"),
            Place::Line(line) => write!(formatter, ", line {line}"),
        }
    }
}

/// What is wrong with a scan file.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum ReadCause {
    /// Not a single byte.
    #[error("the file is empty")]
    Empty,
    /// Something else than the format asked for.
    #[error("this is not {expected}: it looks like {looks_like}")]
    OtherFormat {
        /// The format asked for, with its article.
        expected: &'static str,
        /// What it is, as far as its first bytes tell.
        looks_like: &'static str,
    },
    /// Shorter than the shortest valid file.
    #[error("the file has {found} bytes, and the shortest file of this kind has {least}")]
    TooShort {
        /// Bytes there are.
        found: usize,
        /// Bytes of the shortest valid file.
        least: usize,
    },
    /// The count in the header does not fit the length.
    #[error(
        "the file says it has {claimed} triangles, which takes {expected_bytes} bytes, but it has {found_bytes} bytes, \
         enough for {complete} triangles"
    )]
    CutShort {
        /// Triangles the header claims.
        claimed: usize,
        /// Bytes that takes.
        expected_bytes: u64,
        /// Bytes there are.
        found_bytes: u64,
        /// Complete triangles in the file.
        complete: usize,
    },
    /// No triangle, or none with three different corners.
    #[error("there is no triangle in it ({degenerate} had two corners in the same place)")]
    NoTriangles {
        /// Triangles that were there but had a repeated corner.
        degenerate: usize,
    },
    /// Infinite coordinates, or not numbers.
    #[error("{triangles} triangles have a coordinate that is infinite or not a number; this is the first")]
    NotFinite {
        /// How many triangles have one.
        triangles: usize,
    },
    /// Infinite coordinates of vertices or points, or not numbers.
    #[error("{vertices} vertices have a coordinate that is infinite or not a number; this is the first")]
    VertexNotFinite {
        /// How many vertices have one.
        vertices: usize,
    },
    /// Neither triangles nor points.
    #[error("there is no triangle and no point in it")]
    NoPoints,
    /// A part of the file is longer than what is left of the file.
    #[error("{what} should take {expected_bytes} bytes, and {found_bytes} are there")]
    Truncated {
        /// The part, as the start of a sentence.
        what: &'static str,
        /// Bytes it takes at least.
        expected_bytes: u64,
        /// Bytes there are for it.
        found_bytes: u64,
    },
    /// A face names a vertex that does not exist.
    #[error("a face names vertex {index}, but there are {vertices}")]
    IndexOutOfRange {
        /// The number in the file, as it stands there.
        index: i64,
        /// How many vertices there are.
        vertices: usize,
    },
    /// Something that the format does not allow.
    #[error("{what}: {found}")]
    Invalid {
        /// What is wrong, as the start of a sentence.
        what: &'static str,
        /// What is there, shortened.
        found: String,
    },
    /// Something that the format knows and this program does not read.
    #[error("{what} cannot be read here: {found}")]
    Unsupported {
        /// The kind of thing, as the start of a sentence.
        what: &'static str,
        /// Which one it is.
        found: String,
        /// What to do, one sentence without its full stop.
        advice: &'static str,
    },
    /// No format that can be read.
    #[error("no format that can be read was recognised (it looks like {looks_like}); these can be: {readable}")]
    UnknownFormat {
        /// What it looks like.
        looks_like: &'static str,
        /// What can be read.
        readable: String,
    },
    /// A word that cannot stand here.
    #[error("expected {expected}, found \"{found}\"")]
    Unexpected {
        /// What belongs here.
        expected: &'static str,
        /// What is here, shortened.
        found: String,
    },
    /// A text file stops in the middle of a triangle.
    #[error("the file stops where {expected} belongs, after {complete} complete triangles")]
    StopsEarly {
        /// What belongs here.
        expected: &'static str,
        /// Complete triangles before.
        complete: usize,
    },
    /// More triangles than 32-bit indices can hold.
    #[error("the file has {triangles} triangles, and at most {most} can be read")]
    TooLarge {
        /// Triangles in the file.
        triangles: usize,
        /// The greatest number that can be read.
        most: usize,
    },
    /// Stopped on request.
    #[error("reading was cancelled")]
    Cancelled(#[from] Cancelled),
}

impl ReadCause {
    /// What the person can do about it, one sentence.
    #[must_use]
    pub fn advice(&self) -> &'static str {
        match self {
            ReadCause::Empty => "Export the scan again and check that the copy is complete",
            ReadCause::OtherFormat { .. } => "Choose the scan itself, or export it again in the right format",
            ReadCause::Truncated { .. }
            | ReadCause::TooShort { .. }
            | ReadCause::CutShort { .. }
            | ReadCause::StopsEarly { .. } => {
                "The copy or the export was probably cut short: copy or export the scan again"
            }
            ReadCause::NoTriangles { .. } => "Export the scan as a surface of triangles, not as points or curves",
            ReadCause::NotFinite { .. } | ReadCause::VertexNotFinite { .. } => {
                "Repair the scan in the scanning program and export it again"
            }
            ReadCause::Unexpected { .. } => {
                "Export the scan again, as binary if you can choose, with a point as decimal sign"
            }
            ReadCause::NoPoints => "Export the scan as a surface of triangles and check that it is not empty",
            ReadCause::IndexOutOfRange { .. } | ReadCause::Invalid { .. } => {
                "The file is damaged or was written wrongly: export the scan again, as binary STL if you can choose"
            }
            ReadCause::Unsupported { advice, .. } => advice,
            ReadCause::UnknownFormat { .. } => "Export the scan in one of these, binary STL or PLY if you can choose",
            ReadCause::TooLarge { .. } => "Export the scan with fewer triangles: one million is plenty",
            ReadCause::Cancelled(_) => "Start it again when you need it",
        }
    }
}
