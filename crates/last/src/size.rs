use base::Source;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// What a size counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Counts {
    /// The length of the foot, without any allowance.
    FootLength,
    /// The length of the last: foot plus allowance.
    LastLength,
}

/// A scale of shoe sizes: the length is `zero_mm + value · unit_mm`.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SizeSystem {
    /// Stable id, as on the command line: `paris`.
    pub id: &'static str,
    /// Label in the trade's words.
    pub label: &'static str,
    /// What it counts.
    pub counts: Counts,
    /// Length at size zero, mm.
    pub zero_mm: f64,
    /// Length of one size, mm.
    pub unit_mm: f64,
    /// Distance between neighbouring sizes, in sizes.
    pub step: f64,
    /// Where the scale comes from, and where sources disagree.
    pub source: Source,
}

/// The size systems. Millimetres are the truth everywhere else: a size is a name for a length.
pub const ALL: &[SizeSystem] = &[
    SizeSystem {
        id: "mondopoint",
        label: "Mondopoint",
        counts: Counts::FootLength,
        zero_mm: 0.0,
        unit_mm: 1.0,
        step: 5.0,
        source: Source::seen(
            "ISO 9407:2019: foot length in mm; steps of 5 or 7.5 mm from zero (DIN 66074-2:1975 as quoted in ISO/TS 19407:2015)",
        ),
    },
    SizeSystem {
        id: "paris",
        label: "Paris point",
        counts: Counts::LastLength,
        zero_mm: 0.0,
        unit_mm: 20.0 / 3.0,
        step: 0.5,
        source: Source::seen("ISO/TS 19407:2015: one size is 2/3 cm of last, from zero; half sizes by common practice"),
    },
    SizeSystem {
        id: "uk",
        label: "UK, adult",
        counts: Counts::LastLength,
        zero_mm: 25.0 * INCH_MM / 3.0,
        unit_mm: INCH_MM / 3.0,
        step: 0.5,
        source: Source::memory(
            "one size is 1/3 inch (Jurca et al. 2019); that adult size 0 is a last of 25/3 inch is from memory",
        ),
    },
    SizeSystem {
        id: "us-m",
        label: "US, men",
        counts: Counts::LastLength,
        zero_mm: 24.0 * INCH_MM / 3.0,
        unit_mm: INCH_MM / 3.0,
        step: 0.5,
        source: Source::memory(
            "one size is 1/3 inch (Jurca et al. 2019); men's size = UK size + 1 from memory, and so in published conversion formulas",
        ),
    },
];

const INCH_MM: f64 = 25.4;

/// Lengths outside these are no human foot or last, mm: a first size of an infant, and beyond the largest recorded foot.
const LENGTH_RANGE_MM: (f64, f64) = (60.0, 500.0);

/// The system with this id.
#[must_use]
pub fn system(id: &str) -> Option<&'static SizeSystem> {
    ALL.iter().find(|system| system.id == id)
}

impl SizeSystem {
    /// Length of what the system counts at `value`, mm.
    #[must_use]
    pub fn length_mm(&self, value: f64) -> f64 {
        self.zero_mm + value * self.unit_mm
    }

    /// The value, not rounded, for a foot of `foot_length_mm` with `allowance_mm` between foot and last.
    #[must_use]
    pub fn value_for(&self, foot_length_mm: f64, allowance_mm: f64) -> f64 {
        let length_mm = match self.counts {
            Counts::FootLength => foot_length_mm,
            Counts::LastLength => foot_length_mm + allowance_mm,
        };
        (length_mm - self.zero_mm) / self.unit_mm
    }
}

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
}

impl Size {
    /// The smallest size of the system that holds a foot of `foot_length_mm` with `allowance_mm` before the toes.
    ///
    /// # Errors
    /// An unknown system, or a length that no foot has.
    pub fn propose(system: &str, foot_length_mm: f64, allowance_mm: f64) -> Result<Size, SizeError> {
        // A foot that is exactly a size long must not be sent to the next by rounding.
        Self::rounded(system, foot_length_mm, allowance_mm, |steps| (steps - ROUNDING_STEPS).ceil())
    }

    /// The size of the system nearest to a foot of `foot_length_mm` with `allowance_mm` before the toes: for conversion
    /// between systems.
    ///
    /// # Errors
    /// An unknown system, or a length that no foot has.
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

    /// Whether the system is known and the length one that a foot or last can have.
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
