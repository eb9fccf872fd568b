//! Height pictures as PNG in greys, 16 or 8 bits (W3C, "Portable Network Graphics (PNG) Specification, Third Edition",
//! 2025; sections as numbered there). The size of a pixel is taken from `pHYs` (11.3.4.3) if it is stated in metres.
//!
//! Refused: colours, palettes, fewer than 8 bits, an opacity, interlacing; a height has no use for any of them. Sums of
//! check (CRC) are not looked at: the compressed data carry their own.
//!
//! The crate `png` checks this module in its tests. It does not read here because it would bring a second inflater,
//! which costs the page ten times what this costs (`flate2` is there anyway, for zip archives).

use crate::gathered::{Fault, named};
use crate::{HeightImage, Place, RawScan, ReadCause, ReadError, ScanFormat, Shape};
use base::{Report, Severity, Work};
use flate2::bufread::ZlibDecoder;
use mesh::sniff;
use std::io::Read;

/// PNG in greys.
pub(crate) struct Png;

const SIGNATURE: &[u8] = b"\x89PNG\r\n\x1a\n";
/// Length, name and sum of check around the data of a chunk.
const CHUNK_FRAME_BYTES: usize = 12;
/// Most pixels: a foot at 0.05 mm has 12 million.
const MOST_PIXELS: usize = 1 << 26;
const ADVICE_GREY: &str =
    "Export the height picture in greys of 16 bits, without interlacing, or the scan as binary STL";

impl ScanFormat for Png {
    fn id(&self) -> &'static str {
        "png"
    }

    fn label(&self) -> &'static str {
        "PNG (height picture)"
    }

    fn extensions(&self) -> &'static [&'static str] {
        &["png"]
    }

    fn recognises(&self, _: &str, bytes: &[u8]) -> bool {
        bytes.starts_with(SIGNATURE)
    }

    fn read(&self, name: &str, bytes: &[u8], work: &Work, report: &mut Report) -> Result<RawScan, ReadError> {
        let image = named(name, read(bytes, work, report))?;
        Ok(RawScan { shape: Shape::Heights(image), colours: Vec::new(), unit: None, format: self.id() })
    }
}

fn read(bytes: &[u8], work: &Work, report: &mut Report) -> Result<HeightImage, Fault> {
    if !bytes.starts_with(SIGNATURE) {
        let looks_like = sniff::looks_like(bytes).unwrap_or("nothing known");
        return Err((Place::Byte(0), ReadCause::OtherFormat { expected: "a PNG picture", looks_like }));
    }
    let mut header = None;
    let mut mm_per_pixel = None;
    let mut parts: Vec<&[u8]> = Vec::new();
    let mut data_at = 0;
    let mut at = SIGNATURE.len();
    let mut has_end = false;
    while let Some((kind, data)) = chunk(bytes, at)? {
        match kind {
            b"IHDR" => header = Some(Header::parse(data, at)?),
            b"pHYs" => mm_per_pixel = pixel_size(data, report),
            b"IDAT" => {
                data_at = if parts.is_empty() { at } else { data_at };
                parts.push(data);
            }
            b"IEND" => {
                has_end = true;
                break;
            }
            _ => {}
        }
        at += CHUNK_FRAME_BYTES + data.len();
    }
    let Some(header) = header else {
        let what = "the picture does not say its size";
        return Err((Place::Byte(SIGNATURE.len()), ReadCause::Invalid { what, found: "IHDR is missing".to_owned() }));
    };
    if !has_end {
        report.add(
            Severity::Check,
            "png_without_end",
            "the picture has no end (IEND)",
            "The copy may have been cut short: check that nothing of the scan is missing.",
        );
    }
    if header.bytes_per_pixel == 1 {
        report.add(
            Severity::Check,
            "png_8_bits",
            "the picture has 8 bits for a height: 255 steps from lowest to highest",
            "Export it with 16 bits if you can: the steps show in the surface.",
        );
    }
    let levels = header.levels(parts, data_at, work)?;
    Ok(HeightImage { columns: header.columns, rows: header.rows, levels, mm_per_pixel })
}

/// Name and data.
type Chunk<'a> = (&'a [u8; 4], &'a [u8]);

/// The chunk that starts here (5.3); `None` at the end of the file.
fn chunk(bytes: &[u8], at: usize) -> Result<Option<Chunk<'_>>, Fault> {
    let rest = bytes.get(at..).unwrap_or_default();
    if rest.is_empty() {
        return Ok(None);
    }
    let found_bytes = rest.len() as u64;
    let truncated = |expected_bytes| {
        (Place::Byte(at), ReadCause::Truncated { what: "a part of the picture", expected_bytes, found_bytes })
    };
    let (Some(length), Some(kind)) = (rest.first_chunk(), rest.get(4..8).and_then(|kind| kind.first_chunk())) else {
        return Err(truncated(CHUNK_FRAME_BYTES as u64));
    };
    let length = u32::from_be_bytes(*length) as usize;
    match rest.get(8..).and_then(|rest| rest.get(..length)) {
        Some(data) => Ok(Some((kind, data))),
        None => Err(truncated(length as u64 + CHUNK_FRAME_BYTES as u64)),
    }
}

fn pixel_size(data: &[u8], report: &mut Report) -> Option<f64> {
    let per_metre = |at: usize| data.get(at..)?.first_chunk().copied().map(u32::from_be_bytes);
    let (Some(x), Some(y), Some(1)) = (per_metre(0), per_metre(4), data.get(8)) else { return None };
    if x == 0 || x != y {
        let text = format!("the picture says it has {x} by {y} pixels in a metre; only square pixels can be used");
        report.add(Severity::Check, "png_pixel_size", text, "Enter the size of a pixel.");
        return None;
    }
    Some(1000.0 / f64::from(x))
}

struct Header {
    columns: usize,
    rows: usize,
    bytes_per_pixel: usize,
}

impl Header {
    /// 11.2.1.
    fn parse(data: &[u8], at: usize) -> Result<Header, Fault> {
        let Some(&[w0, w1, w2, w3, h0, h1, h2, h3, bits, colour, _, _, interlacing]) = data.first_chunk() else {
            let (expected_bytes, found_bytes) = (13, data.len() as u64);
            let what = "the head of the picture";
            return Err((Place::Byte(at), ReadCause::Truncated { what, expected_bytes, found_bytes }));
        };
        let unsupported =
            |what, found: String| Err((Place::Byte(at), ReadCause::Unsupported { what, found, advice: ADVICE_GREY }));
        let kind = match colour {
            0 => "greys",
            2 => "colours",
            3 => "colours of a palette",
            4 => "greys with an opacity",
            6 => "colours with an opacity",
            _ => "a kind of colour that PNG does not have",
        };
        if colour != 0 || !matches!(bits, 8 | 16) {
            return unsupported("a height picture", format!("{kind}, {bits} bits"));
        }
        if interlacing != 0 {
            return unsupported("a height picture", "interlaced".to_owned());
        }
        let [columns, rows] = [[w0, w1, w2, w3], [h0, h1, h2, h3]].map(|size| u32::from_be_bytes(size) as usize);
        if columns == 0 || rows == 0 || columns.saturating_mul(rows) > MOST_PIXELS {
            return unsupported(
                "a picture of this size",
                format!("{columns} by {rows} pixels, at most {MOST_PIXELS} in all"),
            );
        }
        Ok(Header { columns, rows, bytes_per_pixel: usize::from(bits / 8) })
    }

    /// Unpacks and unfilters (9.2) the rows.
    fn levels(&self, parts: Vec<&[u8]>, data_at: usize, work: &Work) -> Result<Vec<u16>, Fault> {
        let row_bytes = self.columns * self.bytes_per_pixel;
        let expected_bytes = ((row_bytes + 1) * self.rows) as u64;
        // What is packed can be a thousand times smaller (zlib's greatest ratio is 1032), but not more: no memory for
        // rows that cannot be there.
        let packed: usize = parts.iter().map(|part| part.len()).sum();
        let most_bytes = packed as u64 * 1040;
        if most_bytes < expected_bytes {
            let what = "the picture when unpacked";
            return Err((Place::Byte(data_at), ReadCause::Truncated { what, expected_bytes, found_bytes: most_bytes }));
        }
        let mut source = ZlibDecoder::new(Parts { parts: parts.into_iter(), part: &[] });
        let mut levels = Vec::with_capacity(self.columns * self.rows);
        let mut row = vec![0; row_bytes];
        let mut above = vec![0; row_bytes];
        for number in 0..self.rows {
            work.step("read heights", number as f64 / self.rows as f64).map_err(|stop| (Place::File, stop.into()))?;
            let mut filter = [0];
            source.read_exact(&mut filter).and_then(|()| source.read_exact(&mut row)).map_err(|_| {
                let what = "the picture is damaged or cut short";
                (
                    Place::Byte(data_at),
                    ReadCause::Invalid { what, found: format!("{number} of {} rows can be read", self.rows) },
                )
            })?;
            if !unfilter(filter[0], &mut row, &above, self.bytes_per_pixel) {
                let what = "a row of the picture is packed in a way that PNG does not have";
                return Err((
                    Place::Byte(data_at),
                    ReadCause::Invalid { what, found: format!("row {number}, filter {}", filter[0]) },
                ));
            }
            match self.bytes_per_pixel {
                1 => levels.extend(row.iter().map(|&level| u16::from(level))),
                _ => levels.extend(row.chunks_exact(2).map(|pair| u16::from_be_bytes([pair[0], pair[1]]))),
            }
            std::mem::swap(&mut row, &mut above);
        }
        Ok(levels)
    }
}

/// Undoes the filter of a row in place; whether there is such a filter.
fn unfilter(filter: u8, row: &mut [u8], above: &[u8], pixel: usize) -> bool {
    for at in 0..row.len() {
        let left = if at < pixel { 0 } else { row[at - pixel] };
        let corner = if at < pixel { 0 } else { above[at - pixel] };
        let up = above[at];
        let guess = match filter {
            0 => 0,
            1 => left,
            2 => up,
            3 => (u16::from(left) + u16::from(up)).div_euclid(2) as u8,
            4 => paeth(left, up, corner),
            _ => return false,
        };
        row[at] = row[at].wrapping_add(guess);
    }
    true
}

/// 9.4.
fn paeth(left: u8, up: u8, corner: u8) -> u8 {
    let estimate = i16::from(left) + i16::from(up) - i16::from(corner);
    let distance = |value: u8| (estimate - i16::from(value)).abs();
    if distance(left) <= distance(up) && distance(left) <= distance(corner) {
        left
    } else if distance(up) <= distance(corner) {
        up
    } else {
        corner
    }
}

/// The packed data, which may be in many chunks.
struct Parts<'a> {
    parts: std::vec::IntoIter<&'a [u8]>,
    part: &'a [u8],
}

impl Read for Parts<'_> {
    fn read(&mut self, out: &mut [u8]) -> std::io::Result<usize> {
        std::io::BufRead::fill_buf(self)?;
        self.part.read(out)
    }
}

impl std::io::BufRead for Parts<'_> {
    fn fill_buf(&mut self) -> std::io::Result<&[u8]> {
        while self.part.is_empty() {
            match self.parts.next() {
                Some(part) => self.part = part,
                None => break,
            }
        }
        Ok(self.part)
    }

    fn consume(&mut self, count: usize) {
        self.part = &self.part[count.min(self.part.len())..];
    }
}
