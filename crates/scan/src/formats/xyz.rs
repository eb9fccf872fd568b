//! Clouds of points as text: one point a line, in columns. There is no standard; this is what measuring programs write.
//!
//! Columns are separated by `;`, by blanks or tabs, or by commas; a decimal comma is understood unless the comma
//! separates. Empty lines and lines that start with `#`, `//` or `%` are passed over; lines before the first point may
//! name the columns or give the number of points. Without names, x, y and z are the first three columns, and colours
//! are looked for behind them: columns 4 to 6, or 5 to 7 of seven (with an intensity before), or 7 to 9 of nine (with a
//! normal before), if they hold whole numbers from 0 to 255 throughout.

use crate::gathered::{Fault, named, points};
use crate::text::{Lines, number, unexpected};
use crate::{Place, RawScan, ReadCause, ReadError, ScanFormat};
use base::{Report, Severity, Work};
use glam::DVec3;
use mesh::sniff;

/// Points in columns of text. No unit.
pub(crate) struct Xyz;

/// Lines before the first point in which names and counts are looked for.
const MOST_HEADER_LINES: usize = 20;
/// Columns that are looked at.
const MOST_COLUMNS: usize = 9;
/// Points between two reports of progress.
const POINTS_PER_STEP: usize = 1 << 16;

impl ScanFormat for Xyz {
    fn id(&self) -> &'static str {
        "xyz"
    }

    fn label(&self) -> &'static str {
        "points in columns (XYZ, CSV, TXT)"
    }

    fn extensions(&self) -> &'static [&'static str] {
        &["xyz", "csv", "txt", "asc", "pts"]
    }

    fn recognises(&self, _: &str, bytes: &[u8]) -> bool {
        let is_cloud = |layout: Layout| layout.has_names || layout.is_bare;
        sniff::is_text(bytes) && Layout::of(bytes).is_ok_and(is_cloud)
    }

    fn read(&self, name: &str, bytes: &[u8], work: &Work, report: &mut Report) -> Result<RawScan, ReadError> {
        named(name, read(bytes, work, report))
    }
}

fn read(bytes: &[u8], work: &Work, report: &mut Report) -> Result<RawScan, Fault> {
    if !sniff::is_text(bytes) {
        let looks_like = sniff::looks_like(bytes).unwrap_or("a binary file");
        return Err((Place::File, ReadCause::OtherFormat { expected: "points in columns of text", looks_like }));
    }
    let layout = Layout::of(bytes)?;
    let mut positions = Vec::new();
    let mut colours = Vec::new();
    let mut colour_columns = layout.colours;
    let mut has_bright_colour = layout.has_names;
    let mut lines = layout.first.clone();
    while let Some((line, text)) = lines.next() {
        if !is_data(text) {
            continue;
        }
        if positions.len() % POINTS_PER_STEP == 0 {
            let done = lines.at() as f64 / bytes.len() as f64;
            work.step("read points", done).map_err(|stop| (Place::File, stop.into()))?;
        }
        let mut fields = [&[][..]; MOST_COLUMNS];
        for (field, slot) in layout.separator.split(text).zip(&mut fields) {
            *slot = field;
        }
        let coordinate = |axis: usize| {
            let field = fields[layout.coordinates[axis]];
            layout.separator.number(field).ok_or_else(|| unexpected(line, "a coordinate", field))
        };
        positions.push(DVec3::new(coordinate(0)?, coordinate(1)?, coordinate(2)?));
        if let Some(columns) = colour_columns {
            let level = |column: usize| {
                let value = layout.separator.number(fields[column])?;
                ((0.0..=255.0).contains(&value) && value.fract() == 0.0).then_some(value as u8)
            };
            if let [Some(r), Some(g), Some(b)] = columns.map(level) {
                has_bright_colour |= r.max(g).max(b) > 1;
                colours.push([r, g, b]);
            } else {
                // Normals or another measure.
                colour_columns = None;
                colours = Vec::new();
            }
        }
    }
    if let Some(count) = layout.count.filter(|&count| count != positions.len()) {
        report.add(
            Severity::Check,
            "scan_point_count",
            format!("the file says it has {count} points, and {} are there", positions.len()),
            "Check that nothing of the scan is missing.",
        );
    }
    // Normals along the axes are whole numbers too, but none is above 1.
    let colours = if has_bright_colour { colours } else { Vec::new() };
    points(positions, colours, "xyz", None, report)
}

#[derive(Clone, Copy, PartialEq)]
enum Separator {
    Semicolon,
    Comma,
    Blank,
}

impl Separator {
    fn of(line: &[u8]) -> Separator {
        let words = line.split(u8::is_ascii_whitespace).filter(|word| !word.is_empty());
        let has_inner_comma =
            |word: &[u8]| word.iter().filter(|&&byte| byte == b',').count() <= 1 && !word.ends_with(b",");
        if line.contains(&b';') {
            Separator::Semicolon
        } else if line.contains(&b',') && !(words.clone().count() >= 3 && words.clone().all(has_inner_comma)) {
            Separator::Comma
        } else {
            Separator::Blank
        }
    }

    fn split(self, line: &[u8]) -> impl Iterator<Item = &[u8]> {
        line.split(move |&byte| match self {
            Separator::Semicolon => byte == b';',
            Separator::Comma => byte == b',',
            Separator::Blank => byte.is_ascii_whitespace(),
        })
        .map(|field| field.trim_ascii())
        .filter(move |field| self != Separator::Blank || !field.is_empty())
    }

    fn number(self, field: &[u8]) -> Option<f64> {
        match field.iter().position(|&byte| byte == b',') {
            Some(at) if self != Separator::Comma => {
                let mut point = field.to_vec();
                point[at] = b'.';
                number(&point)
            }
            _ => number(field),
        }
    }
}

/// What the lines up to the first point tell about all of them.
struct Layout<'a> {
    first: Lines<'a>,
    separator: Separator,
    coordinates: [usize; 3],
    colours: Option<[usize; 3]>,
    has_names: bool,
    /// Nothing but points and their number, and not more columns than points have in any program's files.
    is_bare: bool,
    count: Option<usize>,
}

impl<'a> Layout<'a> {
    fn of(bytes: &'a [u8]) -> Result<Self, Fault> {
        let mut first = Lines::of(bytes);
        let mut header: Option<&[u8]> = None;
        let mut first_word = (1, &b"the end of the file"[..]);
        let mut count = None;
        for _ in 0..MOST_HEADER_LINES {
            let before = first.clone();
            let Some((line, text)) = first.by_ref().find(|(_, text)| is_data(text)) else { break };
            let separator = Separator::of(text);
            let columns = separator.split(text).count();
            let numbers = separator.split(text).take_while(|field| separator.number(field).is_some()).count();
            if numbers >= 3 {
                let names = header.and_then(Names::of);
                let names = names.filter(|names| names.coordinates.iter().all(|&column| column < numbers));
                let by_place = match columns {
                    6 | 8 => Some([3, 4, 5]),
                    7 => Some([4, 5, 6]),
                    9.. => Some([6, 7, 8]),
                    _ => None,
                };
                return Ok(Layout {
                    first: before,
                    separator,
                    coordinates: names.as_ref().map_or([0, 1, 2], |names| names.coordinates),
                    colours: names.as_ref().map_or(by_place, |names| names.colours),
                    has_names: names.is_some(),
                    is_bare: header.is_none_or(|_| count.is_some()) && columns <= MOST_COLUMNS,
                    count,
                });
            }
            if header.is_none() && count.is_none() {
                first_word = (line, text);
            }
            count = std::str::from_utf8(text.trim_ascii()).ok().and_then(|text| text.parse().ok()).or(count);
            header = Some(text);
        }
        let (line, text) = first_word;
        Err(unexpected(line, "three coordinates", text))
    }
}

fn is_data(line: &[u8]) -> bool {
    let line = line.trim_ascii();
    !(line.is_empty() || line.starts_with(b"#") || line.starts_with(b"//") || line.starts_with(b"%"))
}

/// Columns by their names.
struct Names {
    coordinates: [usize; 3],
    colours: Option<[usize; 3]>,
}

impl Names {
    fn of(header: &[u8]) -> Option<Names> {
        let names: Vec<Vec<u8>> = Separator::of(header)
            .split(header)
            .take(MOST_COLUMNS)
            .map(|name| {
                let name = name.trim_ascii().to_ascii_lowercase();
                let letters = name.iter().copied().filter(|&byte| byte != b'"');
                // A unit behind the name does not matter here: "x [mm]", "x_mm".
                letters.take_while(u8::is_ascii_alphabetic).collect()
            })
            .collect();
        let find = |wanted: [&[u8]; 2]| names.iter().position(|name| wanted.contains(&name.as_slice()));
        let all = |columns: [Option<usize>; 3]| Some([columns[0]?, columns[1]?, columns[2]?]);
        Some(Names {
            coordinates: all([find([b"x", b"x"]), find([b"y", b"y"]), find([b"z", b"z"])])?,
            colours: all([find([b"r", b"red"]), find([b"g", b"green"]), find([b"b", b"blue"])]),
        })
    }
}
