use super::{Size, SizeError};
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// A Mondopoint marking with the breadth of the foot: `265/102` fits a foot 265 mm long and 102 mm broad (ISO 9407: length
/// and linear width of the foot in mm, no unit printed). Written and read as it is marked.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct MondopointLabel {
    /// Length of the foot, mm.
    pub length_mm: f64,
    /// Breadth of the foot across the ball, mm, if it is marked.
    pub width_mm: Option<f64>,
}

/// Breadths outside these are no foot's, mm; as the ball width of a last.
pub(super) const WIDTH_RANGE_MM: (f64, f64) = (45.0, 150.0);

impl MondopointLabel {
    /// The marking for a foot: its length up to the next step, its breadth to the nearest millimetre (steps of the breadth
    /// differ from maker to maker).
    ///
    /// # Errors
    /// A length or breadth that no foot has.
    pub fn for_foot(length_mm: f64, width_mm: Option<f64>) -> Result<MondopointLabel, SizeError> {
        let length_mm = Size::propose("mondopoint", length_mm, 0.0)?.value;
        let label = MondopointLabel { length_mm, width_mm: width_mm.map(f64::round) };
        label.size()?;
        Ok(label)
    }

    /// The size without the breadth.
    ///
    /// # Errors
    /// A length or breadth that no foot has.
    pub fn size(&self) -> Result<Size, SizeError> {
        if let Some(width_mm) = self.width_mm
            && !(width_mm >= WIDTH_RANGE_MM.0 && width_mm <= WIDTH_RANGE_MM.1)
        {
            return Err(SizeError::Width { width_mm });
        }
        let size = Size { system: "mondopoint".to_owned(), value: self.length_mm };
        size.check()?;
        Ok(size)
    }
}

impl fmt::Display for MondopointLabel {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.width_mm {
            Some(width_mm) => write!(formatter, "{}/{width_mm}", self.length_mm),
            None => write!(formatter, "{}", self.length_mm),
        }
    }
}

impl FromStr for MondopointLabel {
    type Err = SizeError;
    fn from_str(text: &str) -> Result<Self, SizeError> {
        let number =
            |part: &str| part.trim().parse::<f64>().map_err(|_| SizeError::NotALabel { text: text.to_owned() });
        let (length, width) = text.split_once('/').map_or((text, None), |(length, width)| (length, Some(width)));
        let label = MondopointLabel { length_mm: number(length)?, width_mm: width.map(number).transpose()? };
        label.size()?;
        Ok(label)
    }
}
