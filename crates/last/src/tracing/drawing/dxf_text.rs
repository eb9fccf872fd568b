//! The text of DXF: pairs of lines, a group code and its value; a group 0 starts a record.

use super::Fault;
use super::svg_text::unexpected;
use crate::tracing::{DrawingFault, Place};
use glam::DVec2;

/// A group code with its value, and the line of the value, from 1.
#[derive(Clone, Copy, Debug)]
pub(super) struct Group<'a> {
    pub line: usize,
    pub code: i32,
    value: &'a [u8],
}

/// From one group 0 to the next.
#[derive(Clone, Debug)]
pub(super) struct Record<'a> {
    pub line: usize,
    /// What it is, in capitals: `LINE`.
    pub kind: &'a str,
    pub groups: Vec<Group<'a>>,
}

/// Whether a text starts with a section or a comment, as DXF does.
pub(super) fn starts_like_dxf(text: &[u8]) -> bool {
    let mut lines = lines(text).map(|(_, line)| line.trim_ascii());
    match lines.next() {
        Some(b"999") => true,
        Some(b"0") => lines.next().is_some_and(|word| word.eq_ignore_ascii_case(b"SECTION")),
        _ => false,
    }
}

/// Numbered from 1.
fn lines(text: &[u8]) -> impl Iterator<Item = (usize, &[u8])> {
    // Very old files end their lines with CR alone.
    let end = if text.contains(&b'\n') { b'\n' } else { b'\r' };
    (1..).zip(text.split(move |byte| *byte == end))
}

/// The records of a file.
///
/// # Errors
/// A line that should hold a group code and does not.
pub(super) fn each_record<'a>(
    text: &'a [u8],
    mut take: impl FnMut(Record<'a>) -> Result<(), Fault>,
) -> Result<(), Fault> {
    let mut lines = lines(text);
    let mut open: Option<Record> = None;
    while let Some((line, code)) = lines.next() {
        let code = String::from_utf8_lossy(code);
        let Some((value_line, value)) = lines.next() else {
            // Blank lines may stand at the end of the file.
            if code.trim().is_empty() {
                break;
            }
            return Err((Place::Line(line), DrawingFault::CutShort { what: "a group" }));
        };
        let number = code.trim().parse().map_err(|_| (Place::Line(line), unexpected("a group code", code.trim())));
        let code: i32 = match number {
            Ok(code) => code,
            Err(_) if code.trim().is_empty() && lines.all(|(_, line)| line.trim_ascii().is_empty()) => break,
            Err(fault) => return Err(fault),
        };
        let group = Group { line: value_line, code, value };
        if code == 0 {
            let kind = std::str::from_utf8(value.trim_ascii()).unwrap_or_default();
            let next = Record { line: value_line, kind, groups: Vec::new() };
            if let Some(record) = open.replace(next) {
                take(record)?;
            }
        } else if let Some(record) = &mut open {
            record.groups.push(group);
        }
    }
    open.map_or(Ok(()), take)
}

impl Group<'_> {
    /// The value as text; letters of old code pages may be lost.
    pub(super) fn text(&self) -> String {
        String::from_utf8_lossy(self.value.trim_ascii()).into_owned()
    }

    /// The value as a finite number.
    pub(super) fn number(&self) -> Result<f64, Fault> {
        let text = String::from_utf8_lossy(self.value);
        let number = text.trim().parse().ok().filter(|number: &f64| number.is_finite());
        number.ok_or_else(|| (Place::Line(self.line), unexpected("a number", text.trim())))
    }
}

impl Record<'_> {
    pub(super) fn place(&self) -> Place {
        Place::Element { line: self.line, element: self.kind.chars().take(40).collect() }
    }

    pub(super) fn unsound(&self, what: &'static str) -> Fault {
        (self.place(), DrawingFault::Unsound { what })
    }

    /// Text of the first group with this code.
    pub(super) fn text(&self, code: i32) -> Option<String> {
        self.groups.iter().find(|group| group.code == code).map(Group::text)
    }

    /// Number of the first group with this code.
    pub(super) fn number(&self, code: i32) -> Result<Option<f64>, Fault> {
        self.groups.iter().find(|group| group.code == code).map(Group::number).transpose()
    }

    pub(super) fn number_or(&self, code: i32, usual: f64) -> Result<f64, Fault> {
        Ok(self.number(code)?.unwrap_or(usual))
    }

    /// Numbers of all groups with this code.
    pub(super) fn numbers(&self, code: i32) -> Result<Vec<f64>, Fault> {
        self.groups.iter().filter(|group| group.code == code).map(Group::number).collect()
    }

    /// A point whose x has this code and its y ten more.
    pub(super) fn point(&self, code: i32) -> Result<DVec2, Fault> {
        match (self.number(code)?, self.number(code + 10)?) {
            (Some(x), Some(y)) => Ok(DVec2::new(x, y)),
            _ => Err(self.unsound("it lacks a coordinate")),
        }
    }

    /// Bits of the flags with this code; 0 without them.
    pub(super) fn flags(&self, code: i32) -> Result<i64, Fault> {
        Ok(self.number_or(code, 0.0)? as i64)
    }
}
