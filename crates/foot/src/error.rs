use base::Cancelled;
use thiserror::Error;

/// Why a file cannot be taken in as one foot. Each says which file, why, and what to do.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum IntakeError {
    /// Too coarse to find anything on.
    #[error("{file}: {triangles} triangles are too few for a foot; export the scan with at least {needed}")]
    TooFewTriangles {
        /// Name of the scan file.
        file: String,
        /// Triangles in the file.
        triangles: usize,
        /// Least number that can be worked with.
        needed: usize,
    },
    /// The shape has nothing of a foot.
    #[error(
        "{file}: this does not look like one foot ({reason}); \
         scan one bare foot with its whole sole and all toes, and cut other things off"
    )]
    NotAFoot {
        /// Name of the scan file.
        file: String,
        /// What does not fit, with its numbers.
        reason: String,
    },
    /// A whole body, or at least two legs.
    #[error("{file}: this looks like a whole body ({reason}); cut it off above the ankle and save each foot singly")]
    WholeBody {
        /// Name of the scan file.
        file: String,
        /// What it was seen from.
        reason: String,
    },
    /// Two feet in one file.
    #[error(
        "{file}: two pieces of {first} and {second} triangles look like two feet; \
         take them in as a pair, or save each foot to its own file"
    )]
    TwoFeet {
        /// Name of the scan file.
        file: String,
        /// Triangles of the larger piece.
        first: usize,
        /// Triangles of the other piece.
        second: usize,
    },
    /// No unit gives the foot a possible length.
    #[error(
        "{file}: the foot is {length_in_file} units long, which is no foot in {units}; \
         check the unit and the scale of the export"
    )]
    ImpossibleSize {
        /// Name of the scan file.
        file: String,
        /// Foot length in the file's numbers.
        length_in_file: f64,
        /// The units that were tried.
        units: String,
    },
    /// The sole was not scanned or is mostly missing.
    #[error("{file}: the sole is missing ({reason}); scan the foot from below as well")]
    SoleMissing {
        /// Name of the scan file.
        file: String,
        /// What is missing, with its numbers.
        reason: String,
    },
    /// Points clicked by hand that do not tell how the foot lies.
    #[error(
        "{file}: the three points do not tell how the foot lies ({reason}); \
         click the heel, then the big toe's side of the ball, then the little toe's side"
    )]
    Clicks {
        /// Name of the scan file.
        file: String,
        /// What does not fit, with its numbers.
        reason: String,
    },
    /// Too few points for a sole.
    #[error("{file}: {points} points are too few for a sole; export the scan with at least {needed}")]
    TooFewPoints {
        /// Name of the scan file.
        file: String,
        /// Points in the file that are finite.
        points: usize,
        /// Least number that can be worked with.
        needed: usize,
    },
    /// Work was cancelled.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}
