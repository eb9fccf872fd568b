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
    /// A picture could not be traced.
    #[error("{fault}. {}", fault.advice())]
    Picture {
        /// What is wrong with it.
        #[from]
        fault: PictureFault,
    },
    /// Points that make no contour.
    #[error("the contour has too few points, one that is not finite, or no length. {}", CONTOUR_ADVICE)]
    Contour,
    /// A contour of a size that no insole has.
    #[error(
        "the contour is {length_mm:.1} mm long, and from {least} to {most} mm can be laid onto a foot. {}",
        SIZE_ADVICE
    )]
    ContourSize {
        /// Its length, mm.
        length_mm: f64,
        /// Least, mm.
        least: f64,
        /// Greatest, mm.
        most: f64,
    },
}

const CONTOUR_ADVICE: &str = "Choose another curve, or place the outline by hand";
const SIZE_ADVICE: &str = "Choose the curve of the insole's edge, and check the drawing's unit or the picture's scale";

impl TracingError {
    /// What the person can do about it, one sentence.
    #[must_use]
    pub fn advice(&self) -> &'static str {
        match self {
            TracingError::Drawing { fault, .. } => fault.advice(),
            TracingError::Picture { fault } => fault.advice(),
            TracingError::Contour => CONTOUR_ADVICE,
            TracingError::ContourSize { .. } => SIZE_ADVICE,
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

/// Why a picture cannot be traced.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PictureFault {
    /// The file cannot be decoded.
    #[error("the picture cannot be read as PNG: {what}")]
    Damaged {
        /// What is wrong with it.
        what: String,
    },
    /// More pixels than can be held.
    #[error("the picture has more than {most} pixels")]
    TooLarge {
        /// The most that can be traced.
        most: usize,
    },
    /// A side of a few pixels.
    #[error("a side of the picture has less than {least} pixels")]
    TooSmall {
        /// The least that can be traced.
        least: usize,
    },
    /// Width and height do not fit the levels.
    #[error("the picture has {found} levels where its size asks for {expected}")]
    NotWhole {
        /// Width times height.
        expected: usize,
        /// Levels there are.
        found: usize,
    },
    /// The scale makes pixels that no picture of an insole has.
    #[error("a pixel cannot be {mm_per_pixel} mm: it goes from {least} to {most} mm")]
    PixelSize {
        /// Side of a pixel, mm.
        mm_per_pixel: f64,
        /// Least, mm.
        least: f64,
        /// Greatest, mm.
        most: f64,
    },
    /// Clicks on the ruler too near to each other.
    #[error("the two clicks are {pixels:.0} pixels apart, and at least {least:.0} are needed")]
    ClicksTooNear {
        /// How far apart, pixels.
        pixels: f64,
        /// Least, pixels.
        least: f64,
    },
    /// A length between the clicks that no ruler has.
    #[error("the length between the clicks cannot be {length_mm} mm: it goes from {least} to {most} mm")]
    Length {
        /// The length, mm.
        length_mm: f64,
        /// Least, mm.
        least: f64,
        /// Greatest, mm.
        most: f64,
    },
    /// No large thing differs from the ground.
    #[error("nothing of an insole's size stands out from the ground")]
    NothingStandsOut,
    /// The largest thing, or the one at the seed, is cut off by the border.
    #[error("what stands out reaches the border of the picture")]
    ReachesBorder,
    /// Nothing at the place clicked.
    #[error("at the place clicked nothing of an insole's size stands out from the ground")]
    SeedOnGround,
}

impl PictureFault {
    /// What the person can do about it, one sentence without its full stop.
    #[must_use]
    pub fn advice(&self) -> &'static str {
        match self {
            PictureFault::Damaged { .. } | PictureFault::NotWhole { .. } => "Save the picture again as PNG",
            PictureFault::TooLarge { .. } => "Scan with 100 to 300 pixels an inch, or cut the picture to the insole",
            PictureFault::TooSmall { .. } => "Scan with 100 to 300 pixels an inch",
            PictureFault::PixelSize { .. } => "Set the scale again by two clicks on a ruler in the picture",
            PictureFault::ClicksTooNear { .. } => "Click two marks of the ruler as far apart as possible, enlarged",
            PictureFault::Length { .. } => "Enter the length between the two clicks in millimetres",
            PictureFault::NothingStandsOut | PictureFault::SeedOnGround => {
                "Lay the insole on a plain ground of another brightness, lit evenly, with the scale set right, or place \
                 the outline by hand"
            }
            PictureFault::ReachesBorder => {
                "Leave plain ground all round the insole, or click on the insole if something else is cut off"
            }
        }
    }
}
