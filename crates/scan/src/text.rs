//! Lines and numbers of text files.

use crate::gathered::{Fault, shortened};
use crate::{Place, ReadCause};
use mesh::sniff;

/// The lines of a text with their numbers from 1. A line ends with LF, CR LF or, in old files, CR alone; a byte order
/// mark is left out.
#[derive(Clone)]
pub(crate) struct Lines<'a> {
    bytes: &'a [u8],
    at: usize,
    line: usize,
}

impl<'a> Lines<'a> {
    pub(crate) fn of(bytes: &'a [u8]) -> Self {
        Lines { bytes, at: sniff::after_byte_order_mark(bytes), line: 0 }
    }

    /// The lines of the rest of a file, after so many lines.
    pub(crate) fn of_rest(bytes: &'a [u8], line: usize) -> Self {
        Lines { bytes, at: 0, line }
    }

    /// What was not read yet.
    pub(crate) fn rest(&self) -> &'a [u8] {
        &self.bytes[self.at..]
    }

    /// Where the next line starts.
    pub(crate) fn at(&self) -> usize {
        self.at
    }
}

impl<'a> Iterator for Lines<'a> {
    type Item = (usize, &'a [u8]);

    #[inline]
    fn next(&mut self) -> Option<Self::Item> {
        let rest = self.bytes.get(self.at..).filter(|rest| !rest.is_empty())?;
        let end = rest.iter().position(|&byte| byte == b'\n' || byte == b'\r').unwrap_or(rest.len());
        let is_pair = rest.get(end..end + 2) == Some(b"\r\n");
        self.at = (self.at + end + 1 + usize::from(is_pair)).min(self.bytes.len());
        self.line += 1;
        Some((self.line, &rest[..end]))
    }
}

/// The words of a line.
pub(crate) fn words(line: &[u8]) -> impl Iterator<Item = &[u8]> {
    line.split(|byte| byte.is_ascii_whitespace() || *byte == 0x0b).filter(|word| !word.is_empty())
}

/// A number with a point as decimal sign; infinite and not-a-number are numbers too.
#[inline]
pub(crate) fn number(word: &[u8]) -> Option<f64> {
    std::str::from_utf8(word).ok()?.parse().ok()
}

/// The next word as a number, or what is wrong with the line.
#[inline]
pub(crate) fn next_number<'a>(words: &mut impl Iterator<Item = &'a [u8]>, line: usize) -> Result<f64, Fault> {
    let word = words.next().unwrap_or(b"the end of the line");
    number(word).ok_or_else(|| unexpected(line, "a number", word))
}

/// A word that cannot stand here.
pub(crate) fn unexpected(line: usize, expected: &'static str, word: &[u8]) -> Fault {
    (Place::Line(line), ReadCause::Unexpected { expected, found: shortened(word) })
}
