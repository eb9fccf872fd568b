use serde::{Deserialize, Serialize};

/// How much of the body's weight the foot carried while it was scanned. Asked for, never guessed: an arch measured on
/// a hanging foot is not the arch of a standing one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WeightBearing {
    /// Hanging or lying: no load.
    None,
    /// Sitting with the shank upright, or standing on both feet: about half the body weight or less.
    Half,
    /// Standing on this foot alone.
    Full,
}

impl WeightBearing {
    /// All states, least load first.
    pub const ALL: [WeightBearing; 3] = [WeightBearing::None, WeightBearing::Half, WeightBearing::Full];

    /// Lower-case word, as used in files and on the command line.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            WeightBearing::None => "none",
            WeightBearing::Half => "half",
            WeightBearing::Full => "full",
        }
    }
}
