use base::{Cancelled, Side};
use thiserror::Error;

/// Why the engine could not do what it was asked. Each message says what to do; the case is as it was.
#[derive(Debug, Error)]
pub enum EngineError {
    /// The shoe's own insole could not be traced.
    #[error("{name}: the shoe's insole could not be traced: {reason}")]
    Tracing {
        /// Name of the file.
        name: String,
        /// Why, and what to do.
        reason: String,
    },
    /// The scan file cannot be read.
    #[error(transparent)]
    Read(#[from] mesh::ReadError),
    /// The scan is not one foot.
    #[error(transparent)]
    Intake(#[from] foot::IntakeError),
    /// A height image came without its scale.
    #[error(
        "{name}: a height image of {columns} by {rows} pixels says nothing of millimetres:          state its mm per pixel and mm per grey level at Intake, then bring it in again"
    )]
    HeightScaleMissing {
        /// The file's name.
        name: String,
        /// Pixels across.
        columns: usize,
        /// Pixels down.
        rows: usize,
    },
    /// A scale that no height image can have.
    #[error(transparent)]
    HeightScale(#[from] scan::HeightFault),
    /// More feet than a pair has.
    #[error(
        "{names}: {count} feet came in, of which two are of one side: bring in one left and one right foot, \
         or each singly to the side it belongs to"
    )]
    TooManyFeet {
        /// Feet found.
        count: usize,
        /// The files' names.
        names: String,
    },
    /// The edit does not fit the case.
    #[error(transparent)]
    Edit(#[from] case::EditError),
    /// No build can be made or used so.
    #[error(transparent)]
    Build(#[from] insole::build::BuildError),
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
    #[error(transparent)]
    Making(#[from] making::MakeError),
    /// Cancelled; nothing was changed.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}
