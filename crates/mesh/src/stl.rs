//! STL, binary and text: the open format every scanner and every print shop speaks.
//!
//! Guaranteed: whatever the bytes, reading returns a mesh or an error with file, place, reason and advice, and never
//! panics nor asks for memory out of proportion to the file. Corners with equal coordinates become one vertex (bit by
//! bit, −0 equal to 0), numbered in order of first appearance; triangles keep their order and winding; the same bytes
//! give the same mesh everywhere. What is written has 84 + 50·n bytes, a header that cannot be mistaken for the text
//! kind, and normals computed from the corners.
//!
//! Not guaranteed: STL has no unit, so positions are in the file's unit. Normals, attributes and colours in a file are
//! ignored. The mesh may be open, crossed or turned inside out. Corners that differ in the last bit stay apart.
//! Writing rounds to 32-bit numbers (about 0.00002 mm at 250 mm), which can merge vertices closer than that.
//!
//! The crate `stl_io` checks this module in its tests. It does not read here because it tells the two kinds apart by
//! the first word alone, which real binary files start with too, gives no place with an error, refuses files whose
//! normals are not numbers, and writes no header.

use crate::read_error::{Place, ReadCause, ReadError};
use crate::weld::Welder;
use crate::{TriMesh, sniff};
use base::{Report, Severity, Work};
use std::io::{self, Write};

/// Bytes of the header and the count.
const HEADER_BYTES: usize = 84;
/// Bytes of one triangle: normal, three corners, attribute.
const RECORD_BYTES: usize = 50;
/// Most triangles: their corners are numbered with 32 bits.
const MOST_TRIANGLES: usize = (u32::MAX / 3) as usize - 1;
/// Triangles between two reports of progress.
const TRIANGLES_PER_STEP: usize = 1 << 17;

/// The surface in an STL file, binary or text, in the file's unit.
///
/// `name` is used in messages only. Triangles with two corners in the same place are dropped, and `report` says how
/// many; it also hears of triangles without area (kept: without them their neighbours would come apart), of bytes
/// after the last triangle and of a missing end.
///
/// # Errors
/// [`ReadError`] if the bytes are not an STL file, are cut short, hold no triangle or a coordinate that is not finite,
/// or if `work` was cancelled.
pub fn read_stl(name: &str, bytes: &[u8], work: &Work, report: &mut Report) -> Result<TriMesh, ReadError> {
    let welder = match kind_of(bytes) {
        Ok(Kind::Binary { count }) => read_binary(bytes, count, work, report),
        Ok(Kind::Text) => read_text(bytes, work, report),
        Err(fault) => Err(fault),
    };
    let mesh = welder.and_then(|welder| finished(welder, report));
    mesh.map_err(|(place, cause)| ReadError { name: name.to_owned(), place, cause })
}

/// Whether the bytes are an STL file for certain: by a length that fits the count of a binary file, or by the first
/// word of a text. A binary file that was cut short or has bytes after its end is not.
#[must_use]
pub fn is_stl(bytes: &[u8]) -> bool {
    match kind_of(bytes) {
        Ok(Kind::Binary { count }) => count > 0 && bytes.len() - HEADER_BYTES == RECORD_BYTES * count,
        Ok(Kind::Text) => true,
        Err(_) => false,
    }
}

/// Writes a binary STL of exactly 84 + 50·n bytes.
///
/// The header is cut to 80 bytes, bytes outside ASCII become `?`, and one that would start with `solid`, which marks
/// the text kind, is preceded by `STL `.
///
/// # Errors
/// What `out` answers; [`io::ErrorKind::InvalidInput`] for more triangles than the format's 32-bit count holds.
pub fn write_stl(mesh: &TriMesh, header: &str, out: &mut impl Write) -> io::Result<()> {
    let count = u32::try_from(mesh.triangles().len())
        .map_err(|_| io::Error::new(io::ErrorKind::InvalidInput, "an STL file holds at most 2^32 - 1 triangles"))?;
    out.write_all(&header_bytes(header))?;
    out.write_all(&count.to_le_bytes())?;
    // Records are gathered in blocks, so that `out` needs no buffer of its own.
    const BLOCK: usize = 1024;
    let mut block = Vec::with_capacity(BLOCK * RECORD_BYTES);
    for triangles in mesh.triangles().chunks(BLOCK) {
        block.clear();
        for &triangle in triangles {
            let corners = mesh.corners(triangle);
            let normal = mesh.area_vector(triangle).normalize_or_zero();
            for value in [normal, corners[0], corners[1], corners[2]].iter().flat_map(|v| v.to_array()) {
                block.extend_from_slice(&(value as f32).to_le_bytes());
            }
            block.extend_from_slice(&[0, 0]);
        }
        out.write_all(&block)?;
    }
    Ok(())
}

fn header_bytes(header: &str) -> [u8; 80] {
    let is_text_mark = header.trim_start().get(..5).is_some_and(|word| word.eq_ignore_ascii_case("solid"));
    let prefix = if is_text_mark { "STL " } else { "" };
    let mut bytes = [b' '; 80];
    for (byte, letter) in bytes.iter_mut().zip(prefix.chars().chain(header.chars())) {
        *byte = if letter.is_ascii() && !letter.is_ascii_control() { letter as u8 } else { b'?' };
    }
    bytes
}

type Fault = (Place, ReadCause);

enum Kind {
    Binary { count: usize },
    Text,
}

/// Which kind of STL the bytes are. The length decides first: binary files with a header that starts like the text
/// kind are common, while no text file has the length that its bytes 80 to 83, read as a count, would call for.
fn kind_of(bytes: &[u8]) -> Result<Kind, Fault> {
    if bytes.is_empty() {
        return Err((Place::File, ReadCause::Empty));
    }
    let count = bytes.get(80..HEADER_BYTES).and_then(|b| b.try_into().ok()).map(u32::from_le_bytes);
    let expected_bytes = |count: u32| HEADER_BYTES as u64 + RECORD_BYTES as u64 * u64::from(count);
    let found_bytes = bytes.len() as u64;
    if let Some(count) = count.filter(|&count| expected_bytes(count) == found_bytes) {
        return Ok(Kind::Binary { count: count as usize });
    }
    let is_text = sniff::is_text(bytes);
    if is_text && sniff::first_word(bytes).eq_ignore_ascii_case(b"solid") {
        return Ok(Kind::Text);
    }
    if let Some(looks_like) = sniff::looks_like(bytes) {
        return Err((Place::Byte(0), ReadCause::OtherFormat { expected: "an STL file", looks_like }));
    }
    match count {
        None => Err((Place::File, ReadCause::TooShort { found: bytes.len(), least: HEADER_BYTES })),
        Some(count) if expected_bytes(count) > found_bytes => {
            let complete = (bytes.len() - HEADER_BYTES) / RECORD_BYTES;
            let (claimed, expected_bytes) = (count as usize, expected_bytes(count));
            Err((Place::Byte(80), ReadCause::CutShort { claimed, expected_bytes, found_bytes, complete }))
        }
        Some(count) => Ok(Kind::Binary { count: count as usize }),
    }
}

fn read_binary(bytes: &[u8], count: usize, work: &Work, report: &mut Report) -> Result<Welder, Fault> {
    if count > MOST_TRIANGLES {
        return Err((Place::Byte(80), ReadCause::TooLarge { triangles: count, most: MOST_TRIANGLES }));
    }
    let records = &bytes[HEADER_BYTES..HEADER_BYTES + RECORD_BYTES * count];
    let after = bytes.len() - HEADER_BYTES - records.len();
    if after > 0 {
        report.add(
            Severity::Check,
            "stl_bytes_after_end",
            format!("{after} bytes after the last of the {count} triangles the file announces were ignored"),
            "Check that nothing of the scan is missing.",
        );
    }
    let mut welder = Welder::for_triangles(count);
    let (mut not_finite, mut first) = (0usize, 0usize);
    for (block, records) in records.chunks(RECORD_BYTES * TRIANGLES_PER_STEP).enumerate() {
        let done = block * TRIANGLES_PER_STEP;
        work.step("read triangles", done as f64 / count as f64).map_err(|stop| (Place::File, stop.into()))?;
        for (k, record) in records.chunks_exact(RECORD_BYTES).enumerate() {
            let word = |at: usize| u32::from_le_bytes([record[at], record[at + 1], record[at + 2], record[at + 3]]);
            let corner = |at: usize| [word(at), word(at + 4), word(at + 8)];
            let corners = [corner(12), corner(24), corner(36)];
            if corners.as_flattened().iter().all(|&bits| is_finite(bits)) {
                welder.add(corners);
            } else {
                first = if not_finite == 0 { done + k } else { first };
                not_finite += 1;
            }
        }
    }
    if not_finite > 0 {
        let place = Place::Triangle { triangle: first, byte: HEADER_BYTES + RECORD_BYTES * first };
        return Err((place, ReadCause::NotFinite { triangles: not_finite }));
    }
    Ok(welder)
}

fn is_finite(bits: u32) -> bool {
    const EXPONENT: u32 = 0x7f80_0000;
    bits & EXPONENT != EXPONENT
}

/// The text kind, word by word: line breaks, indentation and case do not matter, several solids become one mesh.
fn read_text(bytes: &[u8], work: &Work, report: &mut Report) -> Result<Welder, Fault> {
    // A triangle takes 150 to 300 bytes of text.
    let mut welder = Welder::for_triangles(bytes.len() / 200);
    let mut words = Words { bytes, at: sniff::after_byte_order_mark(bytes), line: 1, complete: 0 };
    let (mut not_finite, mut first_line) = (0usize, 0usize);
    let mut inside = false;
    while let Some(word) = words.next() {
        if word.eq_ignore_ascii_case(b"solid") {
            words.skip_line();
            inside = true;
        } else if word.eq_ignore_ascii_case(b"endsolid") {
            words.skip_line();
            inside = false;
        } else if word.eq_ignore_ascii_case(b"facet") {
            if words.complete.is_multiple_of(TRIANGLES_PER_STEP) {
                let fraction = words.at as f64 / bytes.len() as f64;
                work.step("read triangles", fraction).map_err(|stop| (Place::File, stop.into()))?;
            }
            let line = words.line;
            let corners = words.facet()?;
            if words.complete == MOST_TRIANGLES {
                let cause = ReadCause::TooLarge { triangles: words.complete + 1, most: MOST_TRIANGLES };
                return Err((Place::Line(line), cause));
            }
            words.complete += 1;
            if corners.as_flattened().iter().all(|&bits| is_finite(bits)) {
                welder.add(corners);
            } else {
                first_line = if not_finite == 0 { line } else { first_line };
                not_finite += 1;
            }
        } else {
            return Err(words.unexpected("facet, endsolid or solid", word));
        }
    }
    if not_finite > 0 {
        return Err((Place::Line(first_line), ReadCause::NotFinite { triangles: not_finite }));
    }
    if inside {
        report.add(
            Severity::Check,
            "stl_no_end",
            format!("the file stops after {} triangles without its closing word", words.complete),
            "The copy may have been cut short: check that nothing of the scan is missing.",
        );
    }
    Ok(welder)
}

/// The words of a text, with the line they are on.
struct Words<'a> {
    bytes: &'a [u8],
    at: usize,
    line: usize,
    /// Complete triangles so far, for messages.
    complete: usize,
}

impl<'a> Words<'a> {
    fn next(&mut self) -> Option<&'a [u8]> {
        while let Some(&byte) = self.bytes.get(self.at).filter(|byte| is_blank(**byte)) {
            // A line ends with LF, CR LF or, in old files, CR alone.
            let ends_line = byte == b'\n' || byte == b'\r' && self.bytes.get(self.at + 1) != Some(&b'\n');
            self.line += usize::from(ends_line);
            self.at += 1;
        }
        let rest = &self.bytes[self.at..];
        let word = &rest[..rest.iter().position(|&byte| is_blank(byte)).unwrap_or(rest.len())];
        self.at += word.len();
        (!word.is_empty()).then_some(word)
    }

    /// Goes to the end of the line: the rest is a name.
    fn skip_line(&mut self) {
        let rest = &self.bytes[self.at..];
        self.at += rest.iter().position(|&byte| byte == b'\n' || byte == b'\r').unwrap_or(rest.len());
    }

    /// The corners of a facet, as bits, after its first word.
    fn facet(&mut self) -> Result<[[u32; 3]; 3], Fault> {
        self.expect("normal")?;
        // The normal is not needed, so it may be anything or missing.
        for _ in 0..=3 {
            let word = self.next().ok_or_else(|| self.stops_early("outer loop"))?;
            if word.eq_ignore_ascii_case(b"outer") {
                self.expect("loop")?;
                let corners = [self.vertex()?, self.vertex()?, self.vertex()?];
                self.expect("endloop")?;
                self.expect("endfacet")?;
                return Ok(corners);
            }
        }
        let word = &self.bytes[..self.at];
        let start = word.iter().rposition(|&byte| is_blank(byte)).map_or(0, |at| at + 1);
        Err(self.unexpected("outer loop", &word[start..]))
    }

    fn vertex(&mut self) -> Result<[u32; 3], Fault> {
        self.expect("vertex")?;
        Ok([self.number()?, self.number()?, self.number()?])
    }

    fn number(&mut self) -> Result<u32, Fault> {
        let word = self.next().ok_or_else(|| self.stops_early("a number"))?;
        let number = std::str::from_utf8(word).ok().and_then(|text| text.parse::<f32>().ok());
        number.map(f32::to_bits).ok_or_else(|| self.unexpected("a number", word))
    }

    fn expect(&mut self, expected: &'static str) -> Result<(), Fault> {
        let word = self.next().ok_or_else(|| self.stops_early(expected))?;
        if word.eq_ignore_ascii_case(expected.as_bytes()) { Ok(()) } else { Err(self.unexpected(expected, word)) }
    }

    fn stops_early(&self, expected: &'static str) -> Fault {
        (Place::Line(self.line), ReadCause::StopsEarly { expected, complete: self.complete })
    }

    fn unexpected(&self, expected: &'static str, word: &[u8]) -> Fault {
        if self.at == self.bytes.len() {
            // Half a word at the very end is not a wrong word.
            return self.stops_early(expected);
        }
        // A message needs no more than the start of a very long word.
        let found = String::from_utf8_lossy(&word[..word.len().min(40)]).into_owned();
        (Place::Line(self.line), ReadCause::Unexpected { expected, found })
    }
}

fn is_blank(byte: u8) -> bool {
    byte.is_ascii_whitespace() || byte == 0x0b
}

fn finished(welder: Welder, report: &mut Report) -> Result<TriMesh, Fault> {
    let welded = welder.finish();
    if welded.mesh.triangles().is_empty() {
        return Err((Place::File, ReadCause::NoTriangles { degenerate: welded.degenerate }));
    }
    if welded.degenerate > 0 {
        let text = format!("{} triangles with two corners in the same place were left out", welded.degenerate);
        report.add(Severity::Info, "stl_degenerate_triangles", text, "");
    }
    if welded.without_area > 0 {
        let count = welded.without_area;
        let text = format!("{count} triangles have no area because their corners lie in a line; they were kept");
        report.add(Severity::Info, "stl_triangles_without_area", text, "");
    }
    Ok(welded.mesh)
}
