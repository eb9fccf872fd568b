use std::fmt;

/// Why nothing could be traced.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TracingError {
    /// A drawing could not be read.
    #[error("{name}{place}: {fault}. {}", fault.advice())]
    Drawing {
        /// Name of the file, as the caller gave it.
        name: String,
        /// Where in the file.
        place: Place,
        /// What is wrong there.
        fault: DrawingFault,
    },
}

impl TracingError {
    /// What the person can do about it, one sentence.
    #[must_use]
    pub fn advice(&self) -> &'static str {
        match self {
            TracingError::Drawing { fault, .. } => fault.advice(),
        }
    }
}

/// A place in a drawing's file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Place {
    /// The file as a whole.
    File,
    /// A line, counted from 1.
    Line(usize),
    /// An element or entity, and the line it starts in, counted from 1.
    Element {
        /// The line.
        line: usize,
        /// What it is, as the file has it.
        element: String,
    },
}

impl fmt::Display for Place {
    /// With its leading comma, so that it can stand after a file name; nothing for the whole file.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Place::File => Ok(()),
            Place::Line(line) => write!(formatter, ", line {line}"),
            Place::Element { line, element } => write!(formatter, ", line {line} ({element})"),
        }
    }
}

/// What is wrong with a drawing.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum DrawingFault {
    /// Not a single byte.
    #[error("the file is empty")]
    Empty,
    /// No drawing that can be read.
    #[error("this is neither an SVG nor a DXF drawing: it looks like {looks_like}")]
    OtherFormat {
        /// What it is, as far as its first bytes tell.
        looks_like: &'static str,
    },
    /// A DXF file in its binary form.
    #[error("this is a binary DXF file, and only DXF in text form can be read")]
    BinaryDxf,
    /// The XML of an SVG file is not well-formed.
    #[error("the drawing is broken (XML): {what}")]
    Markup {
        /// What is wrong.
        what: String,
    },
    /// A word that cannot stand here.
    #[error("expected {expected}, found \"{found}\"")]
    Unexpected {
        /// What belongs here.
        expected: &'static str,
        /// What is here, shortened.
        found: String,
    },
    /// An element lacks something, or has what cannot be.
    #[error("{what}")]
    Unsound {
        /// What is wrong, a sentence without its full stop.
        what: &'static str,
    },
    /// The file ends within something.
    #[error("the file ends in the middle of {what}")]
    CutShort {
        /// What it is.
        what: &'static str,
    },
    /// A coordinate far beyond any shoe.
    #[error("a curve reaches farther than {most_m} m from the drawing's origin")]
    TooFar {
        /// The farthest that is read, m.
        most_m: f64,
    },
    /// More points than an outline can need.
    #[error("the curves take more than {most} points")]
    TooMany {
        /// The most that are kept.
        most: usize,
    },
    /// Nothing to trace.
    #[error("there is no curve in it{left_out}")]
    NoCurves {
        /// What is there instead, as the end of a sentence; empty if nothing.
        left_out: String,
    },
}

impl DrawingFault {
    /// What the person can do about it, one sentence without its full stop.
    #[must_use]
    pub fn advice(&self) -> &'static str {
        match self {
            DrawingFault::Empty => "Export the drawing again and check that the copy is complete",
            DrawingFault::OtherFormat { .. } => "Export the outline as SVG or as DXF in text form (ASCII)",
            DrawingFault::BinaryDxf => "Export it again as DXF in text form (ASCII), or as SVG",
            DrawingFault::Markup { .. } | DrawingFault::Unexpected { .. } | DrawingFault::Unsound { .. } => {
                "Repair it in the drawing program, or draw the outline as one path or polyline and export that"
            }
            DrawingFault::CutShort { .. } => "The copy was probably cut short: copy or export the drawing again",
            DrawingFault::TooFar { .. } => "Check the drawing's unit, and move the outline to its origin",
            DrawingFault::TooMany { .. } => "Export the outline alone, without hatching or the rest of the sheet",
            DrawingFault::NoCurves { .. } => {
                "Draw the insole's edge as a path, polyline or spline, and export it without blocks in blocks"
            }
        }
    }
}
