use base::{Cancelled, Side};
use thiserror::Error;

/// Why the engine could not do what it was asked. Each message says what to do; the case is as it was.
#[derive(Debug, Error)]
pub enum EngineError {
    /// The scan file cannot be read.
    #[error(transparent)]
    Read(#[from] mesh::ReadError),
    /// The scan is not one foot.
    #[error(transparent)]
    Intake(#[from] foot::IntakeError),
    /// The edit does not fit the case.
    #[error(transparent)]
    Edit(#[from] case::EditError),
    /// The case file cannot be read or written.
    #[error(transparent)]
    File(#[from] case::file::FileError),
    /// No outline fits.
    #[error("the outline of the {} insole: {reason}", side.word())]
    Outline {
        /// The side.
        side: Side,
        /// Why, and what to do.
        reason: String,
    },
    /// No surface can be shaped.
    #[error("the {} insole: {reason}", side.word())]
    Surface {
        /// The side.
        side: Side,
        /// Why, and what to do.
        reason: String,
    },
    /// The design makes no closed solid.
    #[error("the {} solid: {reason}", side.word())]
    Solid {
        /// The side.
        side: Side,
        /// Why, and what to do.
        reason: String,
    },
    /// Bytes of a scan are not at hand.
    #[error("the scan {name} is not in this case's store: bring it in again")]
    ScanMissing {
        /// Its file name.
        name: String,
    },
    /// There is nothing on that side.
    #[error("there is no {} foot in this case: bring in its scan first", side.word())]
    NoFoot {
        /// The side.
        side: Side,
    },
    /// A handle that is not there.
    #[error("there is nothing to take hold of called {what} on the {} foot: it may have been removed", side.word())]
    NoHandle {
        /// The side.
        side: Side,
        /// The handle.
        what: String,
    },
    /// An output could not be written.
    #[error("{name}: {reason}")]
    Making {
        /// The output.
        name: String,
        /// Why, and what to do.
        reason: String,
    },
    /// Cancelled; nothing was changed.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}
