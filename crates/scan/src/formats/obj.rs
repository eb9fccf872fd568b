//! OBJ, the text format of polygon surfaces (Wavefront, "Object Files", version 3.0, 1995, appendix B1).
//!
//! Read are `v` and `f`; with colours behind the coordinates (`v x y z r g b`, 0 to 1 or 0 to 255), as scanners write
//! them, and with vertex numbers from the end (`f -3 -2 -1`). A file with vertices and no face is a cloud of points.
//! Normals, texture coordinates, groups, materials, lines and curves are passed over. Not detected: a file that was cut
//! short between two lines, as OBJ states no counts.
//!
//! `tests/outside/test_formats.py` checks this module with files that another library wrote. The crate `tobj` does not
//! read here because it gives no line with an error and
//! keeps every attribute of every corner, which takes several times the memory of what is wanted.

use crate::gathered::{Fault, Gathered, named};
use crate::text::{Lines, next_number, number, unexpected, words};
use crate::{Place, RawScan, ReadCause, ReadError, ScanFormat};
use base::{Report, Work};
use glam::DVec3;
use mesh::sniff;

/// OBJ. No unit.
pub(crate) struct Obj;

/// Lines looked at for a vertex to recognise the format: comments and groups can come first.
const LINES_LOOKED_AT: usize = 1000;
/// Bytes between two reports of progress.
const BYTES_PER_STEP: usize = 1 << 22;

impl ScanFormat for Obj {
    fn id(&self) -> &'static str {
        "obj"
    }

    fn label(&self) -> &'static str {
        "OBJ"
    }

    fn extensions(&self) -> &'static [&'static str] {
        &["obj"]
    }

    fn recognises(&self, _: &str, bytes: &[u8]) -> bool {
        let is_vertex = |line: &[u8]| {
            let mut words = words(line);
            words.next() == Some(b"v") && words.next().is_some_and(|word| number(word).is_some())
        };
        sniff::is_text(bytes) && Lines::of(bytes).take(LINES_LOOKED_AT).any(|(_, line)| is_vertex(line))
    }

    fn read(&self, name: &str, bytes: &[u8], work: &Work, report: &mut Report) -> Result<RawScan, ReadError> {
        named(name, read(bytes, work).and_then(|gathered| gathered.finish(self.id(), None, report)))
    }
}

fn read(bytes: &[u8], work: &Work) -> Result<Gathered, Fault> {
    if !sniff::is_text(bytes) {
        let looks_like = sniff::looks_like(bytes).unwrap_or("a binary file");
        return Err((Place::File, ReadCause::OtherFormat { expected: "an OBJ file", looks_like }));
    }
    let mut gathered = Gathered::default();
    let mut colours: Vec<[f32; 3]> = Vec::new();
    let mut corners = Vec::new();
    // A face may name vertices that come later, so the greatest number is judged at the end.
    let mut greatest = (0, 0);
    let mut next_step = 0;
    let mut lines = Lines::of(bytes);
    let mut joined;
    while let Some((number, mut line)) = lines.next() {
        if lines.at() >= next_step {
            let done = lines.at() as f64 / bytes.len() as f64;
            work.step("read triangles", done).map_err(|stop| (Place::File, stop.into()))?;
            next_step = lines.at() + BYTES_PER_STEP;
        }
        if line.ends_with(b"\\") {
            joined = line[..line.len() - 1].to_vec();
            for (_, more) in lines.by_ref() {
                let part = more.strip_suffix(b"\\");
                joined.push(b' ');
                joined.extend_from_slice(part.unwrap_or(more));
                if part.is_none() {
                    break;
                }
            }
            line = &joined;
        }
        let mut words = words(line);
        match words.next() {
            Some(b"v") => {
                let mut coordinate = || next_number(&mut words, number);
                let point = DVec3::new(coordinate()?, coordinate()?, coordinate()?);
                gathered.add_vertex(point, || Place::Line(number));
                colours.extend(colour(words));
            }
            Some(b"f") => {
                corners.clear();
                for word in words {
                    let (corner, written) = corner(word, gathered.positions.len(), number)?;
                    greatest = greatest.max((written, number));
                    corners.push(corner);
                }
                gathered.add_face(&corners);
            }
            _ => {}
        }
    }
    let vertices = gathered.positions.len();
    let (index, line) = greatest;
    if index > vertices as i64 {
        return Err((Place::Line(line), ReadCause::IndexOutOfRange { index, vertices }));
    }
    if colours.len() == vertices {
        let is_of_bytes = colours.as_flattened().iter().any(|&level| level > 1.0);
        let scale = if is_of_bytes { 1.0 } else { 255.0 };
        gathered.colours = colours.iter().map(|colour| colour.map(|level| (level * scale).round() as u8)).collect();
    }
    Ok(gathered)
}

/// The colour behind the coordinates: three numbers and perhaps an opacity. A single number there is a weight.
fn colour<'a>(words: impl Iterator<Item = &'a [u8]>) -> Option<[f32; 3]> {
    let mut levels = words.map(|word| number(word).map(|level| level as f32));
    Some([levels.next()??, levels.next()??, levels.next()??])
}

/// The vertex of one corner `v`, `v/vt`, `v//vn` or `v/vt/vn` as an index from 0, and the number as it is written.
fn corner(word: &[u8], vertices: usize, line: usize) -> Result<(u32, i64), Fault> {
    let end = word.iter().position(|&byte| byte == b'/').unwrap_or(word.len());
    let written: Option<i64> = std::str::from_utf8(&word[..end]).ok().and_then(|text| text.parse().ok());
    let written = written.ok_or_else(|| unexpected(line, "the number of a vertex", word))?;
    let index = if written < 0 { vertices as i64 + written } else { written - 1 };
    let index = u32::try_from(index)
        .map_err(|_| (Place::Line(line), ReadCause::IndexOutOfRange { index: written, vertices }))?;
    Ok((index, written))
}
