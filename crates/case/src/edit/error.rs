use base::Side;
use thiserror::Error;

/// Why an edit does not fit the case.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum EditError {
    /// There is no foot on that side.
    #[error("there is no {} foot in this case: bring in its scan first", side.word())]
    NoFoot {
        /// The side.
        side: Side,
    },
    /// There is no second scan on that side.
    #[error("the {} foot has no second scan: bring it in first", side.word())]
    NoSecondScan {
        /// The side.
        side: Side,
    },
    /// A number is outside its range.
    #[error("{label} is {value} {unit}, outside {min} to {max} {unit}: choose a value in that range")]
    OutOfRange {
        /// Label of the number.
        label: String,
        /// The value asked for.
        value: f64,
        /// Least accepted.
        min: f64,
        /// Greatest accepted.
        max: f64,
        /// Unit.
        unit: &'static str,
    },
    /// No such parameter.
    #[error("{of} has no number called `{param}`; it has: {known}")]
    UnknownParam {
        /// Whose number.
        of: String,
        /// The id asked for.
        param: String,
        /// The ids there are.
        known: String,
    },
    /// No such kind of element.
    #[error("there is no element called `{kind}`; there are: {known}")]
    UnknownElement {
        /// The kind asked for.
        kind: String,
        /// The kinds there are.
        known: String,
    },
    /// No such element or region.
    #[error("the {} foot has no {what} number {id}", side.word())]
    NoSuchItem {
        /// The side.
        side: Side,
        /// `element` or `region`.
        what: &'static str,
        /// The id asked for.
        id: u32,
    },
    /// A pose that is not one.
    #[error(
        "the pose must be 16 finite numbers, row by row, with a last row of 0 0 0 1 and a matrix that can be inverted"
    )]
    BadPose,
    /// Coordinates that are not on any foot.
    #[error(
        "{what} lies at a place that is not a finite number within 1 m of the foot: give millimetres in the foot frame"
    )]
    BadPlace {
        /// What was to be placed.
        what: String,
    },
    /// A region with too few points.
    #[error("a hardness region needs at least 3 points, not {points}")]
    TooFewPoints {
        /// How many were given.
        points: usize,
    },
    /// An element that cannot be drawn to a curve.
    #[error("{what} is not drawn to a curve: place it by its numbers and handles")]
    NotDrawn {
        /// Its kind.
        what: &'static str,
    },
    /// A text that is too long.
    #[error("the text has more than {most} letters: shorten it")]
    LongText {
        /// How many it may have.
        most: usize,
    },
    /// A tile of the sculpted layer that is none.
    #[error("{reason}")]
    BadTile {
        /// Which, and what is wrong with it.
        reason: String,
    },
    /// A number no last has.
    #[error("{reason}")]
    BadLast {
        /// Which, and its range.
        reason: String,
    },
    /// An outline that is none.
    #[error("{reason}")]
    BadOutline {
        /// What is wrong with it and what to do.
        reason: String,
    },
    /// A shoe size that is not one.
    #[error("{reason}")]
    BadSize {
        /// What is wrong with it and what to do.
        reason: String,
    },
}
