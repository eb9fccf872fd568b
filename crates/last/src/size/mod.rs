//! Shoe sizes: names for lengths in millimetres.
//!
//! A [`Size`] is a number in a [`SizeSystem`]. How a foot comes to its size is a [`rules::SizeRule`]: published rules
//! disagree by up to a size (a foot of 260 mm is Paris 41, 41.25 or 42), so each has its name and none is the truth.
//! Charts that print the longest foot a size holds give yet another number (260 mm: Paris 40).

mod girth;
mod mondopoint;
mod pair;
pub mod rules;
mod systems;

pub use girth::{GIRTH_STEPS, GirthDifference, GirthStep, JOINT_GIRTH_GRADE, girth_steps};
pub use mondopoint::MondopointLabel;
pub use pair::{PairProposal, propose_pair};
pub use systems::{ALL, Counts, SizeSystem, system};

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// Lengths outside these are no human foot or last, mm: a first size of an infant, and beyond the largest recorded foot.
const LENGTH_RANGE_MM: (f64, f64) = (60.0, 500.0);

/// A shoe size: a number in a system. Written `paris:42`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Size {
    /// Id of the system, one of [`ALL`].
    pub system: String,
    /// The number in it.
    pub value: f64,
}

/// Why something is not a size.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SizeError {
    /// Not of the form `system:number`.
    #[error("`{text}` is not a size: write it like paris:42 or mondopoint:265")]
    NotASize {
        /// What was written.
        text: String,
    },
    /// No such system.
    #[error("there is no size system `{system}`: use {}", known())]
    UnknownSystem {
        /// What was asked for.
        system: String,
    },
    /// No foot has this size.
    #[error("{size} is a length of {length_mm:.0} mm: no foot or last between {} and {} mm", LENGTH_RANGE_MM.0, LENGTH_RANGE_MM.1)]
    OutOfRange {
        /// The size.
        size: String,
        /// Its length, mm.
        length_mm: f64,
    },
    /// A length that a foot has, but no number of this scale.
    #[error("{size} is beyond the scale {label}, which goes from {least} to {greatest}: use {use_instead}")]
    BeyondScale {
        /// The size.
        size: String,
        /// Label of the scale.
        label: &'static str,
        /// Its least number.
        least: f64,
        /// Its greatest number.
        greatest: f64,
        /// The scale that goes on, or any other.
        use_instead: &'static str,
    },
    /// Not a Mondopoint label.
    #[error("`{text}` is not a Mondopoint label: write foot length and foot breadth in mm, like 265/102 or 265")]
    NotALabel {
        /// What was written.
        text: String,
    },
    /// No foot is as broad.
    #[error("no foot is {width_mm} mm broad: the breadth goes from {} to {} mm", mondopoint::WIDTH_RANGE_MM.0, mondopoint::WIDTH_RANGE_MM.1)]
    Width {
        /// The breadth, mm.
        width_mm: f64,
    },
    /// Neither foot has a length.
    #[error("no foot length is known: place pternion and akropodion, or choose the size by hand")]
    NoFoot,
}

impl Size {
    /// The smallest size of the system that holds a foot of `foot_length_mm` with `allowance_mm` before the toes.
    ///
    /// # Errors
    /// An unknown system, a length that no foot has or that is beyond the scale.
    pub fn propose(system: &str, foot_length_mm: f64, allowance_mm: f64) -> Result<Size, SizeError> {
        // A foot that is exactly a size long must not be sent to the next by rounding.
        Self::rounded(system, foot_length_mm, allowance_mm, |steps| (steps - ROUNDING_STEPS).ceil())
    }

    /// The size of the system nearest to a foot of `foot_length_mm` with `allowance_mm` before the toes: for conversion
    /// between systems.
    ///
    /// # Errors
    /// An unknown system, a length that no foot has or that is beyond the scale.
    pub fn nearest(system: &str, foot_length_mm: f64, allowance_mm: f64) -> Result<Size, SizeError> {
        Self::rounded(system, foot_length_mm, allowance_mm, f64::round)
    }

    fn rounded(id: &str, foot_mm: f64, allowance_mm: f64, round: impl Fn(f64) -> f64) -> Result<Size, SizeError> {
        let system = system(id).ok_or_else(|| SizeError::UnknownSystem { system: id.to_owned() })?;
        let steps = round(system.value_for(foot_mm, allowance_mm) / system.step);
        let size = Size { system: id.to_owned(), value: steps * system.step };
        size.check()?;
        Ok(size)
    }

    /// Whether the system is known, the number on its scale and the length one that a foot or last can have.
    ///
    /// # Errors
    /// What is wrong.
    pub fn check(&self) -> Result<&'static SizeSystem, SizeError> {
        let system = system(&self.system).ok_or_else(|| SizeError::UnknownSystem { system: self.system.clone() })?;
        let length_mm = system.length_mm(self.value);
        // Written so that a number that is not one fails too.
        if !(length_mm >= LENGTH_RANGE_MM.0 && length_mm <= LENGTH_RANGE_MM.1) {
            return Err(SizeError::OutOfRange { size: self.to_string(), length_mm });
        }
        if !system.holds(self.value) {
            return Err(SizeError::BeyondScale {
                size: self.to_string(),
                label: system.label,
                least: system.least,
                greatest: system.greatest,
                use_instead: system.joins.unwrap_or("another scale"),
            });
        }
        Ok(system)
    }

    /// Length of the last, mm, with `allowance_mm` between foot and last where the system counts the foot.
    ///
    /// # Errors
    /// As [`Size::check`].
    pub fn last_length_mm(&self, allowance_mm: f64) -> Result<f64, SizeError> {
        let system = self.check()?;
        let length_mm = system.length_mm(self.value);
        Ok(if system.counts == Counts::FootLength { length_mm + allowance_mm } else { length_mm })
    }

    /// Length of the foot it is meant for, mm, with `allowance_mm` between foot and last where the system counts the last.
    ///
    /// # Errors
    /// As [`Size::check`].
    pub fn foot_length_mm(&self, allowance_mm: f64) -> Result<f64, SizeError> {
        let system = self.check()?;
        let length_mm = system.length_mm(self.value);
        Ok(if system.counts == Counts::LastLength { length_mm - allowance_mm } else { length_mm })
    }
}

/// Part of a step that counts as rounding: 0.005 mm at most, far above rounding, far below any measure.
const ROUNDING_STEPS: f64 = 0.001;

impl fmt::Display for Size {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "{}:{}", self.system, self.value)
    }
}

impl FromStr for Size {
    type Err = SizeError;
    fn from_str(text: &str) -> Result<Self, SizeError> {
        let not_a_size = || SizeError::NotASize { text: text.to_owned() };
        let (system, value) = text.split_once(':').ok_or_else(not_a_size)?;
        let size = Size { system: system.trim().to_owned(), value: value.trim().parse().map_err(|_| not_a_size())? };
        size.check()?;
        Ok(size)
    }
}

fn known() -> String {
    ALL.iter().map(|system| system.id).collect::<Vec<_>>().join(", ")
}
