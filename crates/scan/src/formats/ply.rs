//! PLY, text and binary (Turk, "The PLY Polygon File Format", 1994, with the type names of its later readers).
//!
//! Read are the elements `vertex` (x, y, z and red, green, blue of any type), `face` (`vertex_indices` or
//! `vertex_index`, lists of any type) and `tristrips`; other elements and properties are passed over. A file without
//! faces is a cloud of points.
//!
//! `tests/outside/test_formats.py` checks this module with files that another library wrote. The crate `ply-rs-bw` does
//! not read here because it gives no place
//! with an error and builds a map of names for every vertex unless told each property by hand.

use crate::gathered::{Fault, Gathered, named, shortened};
use crate::text::{Lines, number, words};
use crate::{Place, RawScan, ReadCause, ReadError, ScanFormat};
use base::{Report, Work};
use glam::DVec3;
use mesh::sniff;

/// PLY. No unit.
pub(crate) struct Ply;

/// Records between two reports of progress.
const RECORDS_PER_STEP: usize = 1 << 17;
/// What marks the start of a new strip among the vertices of strips of triangles.
const NEW_STRIP: f64 = -1.0;

impl ScanFormat for Ply {
    fn id(&self) -> &'static str {
        "ply"
    }

    fn label(&self) -> &'static str {
        "PLY"
    }

    fn extensions(&self) -> &'static [&'static str] {
        &["ply"]
    }

    fn recognises(&self, _: &str, bytes: &[u8]) -> bool {
        let start = &bytes[sniff::after_byte_order_mark(bytes)..];
        start.starts_with(b"ply\n") || start.starts_with(b"ply\r")
    }

    fn read(&self, name: &str, bytes: &[u8], work: &Work, report: &mut Report) -> Result<RawScan, ReadError> {
        named(name, read(bytes, work).and_then(|gathered| gathered.finish(self.id(), None, report)))
    }
}

fn read(bytes: &[u8], work: &Work) -> Result<Gathered, Fault> {
    let header = Header::parse(bytes)?;
    match header.encoding {
        Encoding::Text => {
            let body = &bytes[header.end..];
            let lines = Lines::of_rest(body, header.lines);
            read_body(&header.elements, Text { lines, rest: b"", line: header.lines, faces: 0 }, work)
        }
        Encoding::LittleEndian => read_body(&header.elements, Binary::<false> { bytes, at: header.end }, work),
        Encoding::BigEndian => read_body(&header.elements, Binary::<true> { bytes, at: header.end }, work),
    }
}

#[derive(Clone, Copy)]
enum Encoding {
    Text,
    LittleEndian,
    BigEndian,
}

#[derive(Clone, Copy, PartialEq)]
enum Type {
    I8,
    U8,
    I16,
    U16,
    I32,
    U32,
    F32,
    F64,
}

impl Type {
    fn of(word: &[u8]) -> Option<Type> {
        Some(match word {
            b"char" | b"int8" => Type::I8,
            b"uchar" | b"uint8" => Type::U8,
            b"short" | b"int16" => Type::I16,
            b"ushort" | b"uint16" => Type::U16,
            b"int" | b"int32" => Type::I32,
            b"uint" | b"uint32" => Type::U32,
            b"float" | b"float32" => Type::F32,
            b"double" | b"float64" => Type::F64,
            _ => return None,
        })
    }

    fn bytes(self) -> usize {
        match self {
            Type::I8 | Type::U8 => 1,
            Type::I16 | Type::U16 => 2,
            Type::I32 | Type::U32 | Type::F32 => 4,
            Type::F64 => 8,
        }
    }

    /// What the greatest intensity of a colour is written as.
    fn full(self) -> f64 {
        match self {
            Type::I8 | Type::U8 => 255.0,
            Type::F32 | Type::F64 => 1.0,
            Type::I16 | Type::U16 => 65535.0,
            Type::I32 | Type::U32 => 255.0,
        }
    }
}

/// What a property means here.
#[derive(Clone, Copy, PartialEq)]
enum Role {
    Coordinate(usize),
    Colour(usize),
    Corners,
    Other,
}

struct Property {
    role: Role,
    kind: Type,
    /// Of a list: the type of its length.
    length: Option<Type>,
}

#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Vertex,
    Face,
    Strips,
    Other,
}

impl Kind {
    fn role_of(self, property: &[u8], is_list: bool) -> Role {
        match (self, property, is_list) {
            (Kind::Vertex, b"x", false) => Role::Coordinate(0),
            (Kind::Vertex, b"y", false) => Role::Coordinate(1),
            (Kind::Vertex, b"z", false) => Role::Coordinate(2),
            (Kind::Vertex, b"red" | b"r" | b"diffuse_red", false) => Role::Colour(0),
            (Kind::Vertex, b"green" | b"g" | b"diffuse_green", false) => Role::Colour(1),
            (Kind::Vertex, b"blue" | b"b" | b"diffuse_blue", false) => Role::Colour(2),
            (Kind::Face | Kind::Strips, b"vertex_indices" | b"vertex_index", true) => Role::Corners,
            _ => Role::Other,
        }
    }
}

struct Element {
    kind: Kind,
    count: usize,
    properties: Vec<Property>,
    /// The line that announces it.
    line: usize,
}

impl Element {
    fn has(&self, role: Role) -> bool {
        self.properties.iter().any(|property| property.role == role)
    }

    /// Bytes of a record with empty lists.
    fn least_bytes(&self) -> usize {
        self.properties.iter().map(|property| property.length.unwrap_or(property.kind).bytes()).sum()
    }

    fn what(&self) -> &'static str {
        match self.kind {
            Kind::Vertex => "what the header calls the vertices",
            Kind::Face => "what the header calls the faces",
            Kind::Strips => "what the header calls the strips",
            Kind::Other => "another list of the header",
        }
    }
}

struct Header {
    encoding: Encoding,
    elements: Vec<Element>,
    /// Where the data starts.
    end: usize,
    /// Lines before the data.
    lines: usize,
}

impl Header {
    fn parse(bytes: &[u8]) -> Result<Header, Fault> {
        let mut lines = Lines::of(bytes);
        let is_ply = lines.next().is_some_and(|(_, line)| line.trim_ascii() == b"ply");
        if !is_ply {
            let looks_like = sniff::looks_like(bytes).unwrap_or("nothing known");
            return Err((Place::Byte(0), ReadCause::OtherFormat { expected: "a PLY file", looks_like }));
        }
        // With CR alone as line end, a first byte of the data that looks like LF is not part of the line end.
        let has_lone_returns = bytes[..lines.at()].ends_with(b"\r");
        let mut encoding = None;
        let mut elements: Vec<Element> = Vec::new();
        let mut last = 1;
        while let Some((line, text)) = lines.next() {
            last = line;
            let mut words = words(text);
            let invalid = |what| Err((Place::Line(line), ReadCause::Invalid { what, found: shortened(text) }));
            match words.next() {
                Some(b"format") => {
                    encoding = match words.next() {
                        Some(b"ascii") => Some(Encoding::Text),
                        Some(b"binary_little_endian") => Some(Encoding::LittleEndian),
                        Some(b"binary_big_endian") => Some(Encoding::BigEndian),
                        _ => return invalid("the header names an encoding that PLY does not have"),
                    }
                }
                Some(b"element") => {
                    let kind = match words.next() {
                        Some(b"vertex") => Kind::Vertex,
                        Some(b"face") => Kind::Face,
                        Some(b"tristrips") => Kind::Strips,
                        _ => Kind::Other,
                    };
                    let count = words.next().and_then(|word| std::str::from_utf8(word).ok()?.parse().ok());
                    let Some(count) = count else { return invalid("the header has no count where one belongs") };
                    elements.push(Element { kind, count, properties: Vec::new(), line });
                }
                Some(b"property") => {
                    let Some(element) = elements.last_mut() else {
                        return invalid("the header has a property before the first element");
                    };
                    let mut kind = words.next();
                    let mut length = None;
                    let is_list = kind == Some(b"list");
                    if is_list {
                        (length, kind) = (words.next().and_then(Type::of), words.next());
                    }
                    let (Some(kind), true) = (kind.and_then(Type::of), length.is_some() == is_list) else {
                        return invalid("the header has a property of a type that PLY does not have");
                    };
                    let role = element.kind.role_of(words.next().unwrap_or_default(), is_list);
                    element.properties.push(Property { role, kind, length });
                }
                Some(b"end_header") => {
                    let Some(encoding) = encoding else {
                        return invalid("the header ends without having named the encoding");
                    };
                    let mut end = lines.at();
                    if has_lone_returns && bytes[..end].ends_with(b"\r\n") {
                        end -= 1;
                    }
                    return Header { encoding, elements, end, lines: line }.checked();
                }
                _ => {}
            }
        }
        Err((Place::Line(last), ReadCause::StopsEarly { expected: "end_header", complete: 0 }))
    }

    /// Whether what is needed is there.
    fn checked(self) -> Result<Header, Fault> {
        let invalid =
            |line, what, found: &str| Err((Place::Line(line), ReadCause::Invalid { what, found: found.to_owned() }));
        let Some(vertices) = self.elements.iter().find(|element| element.kind == Kind::Vertex) else {
            return invalid(self.lines, "the header announces no vertices", "there is no line \"element vertex\"");
        };
        for (axis, name) in ["x", "y", "z"].into_iter().enumerate() {
            if !vertices.has(Role::Coordinate(axis)) {
                return invalid(vertices.line, "the vertices have no coordinate of this name", name);
            }
        }
        let needs_corners = |element: &&Element| matches!(element.kind, Kind::Face | Kind::Strips) && element.count > 0;
        if let Some(faces) = self.elements.iter().filter(needs_corners).find(|element| !element.has(Role::Corners)) {
            return invalid(faces.line, "the faces have no list of their vertices", "vertex_indices is missing");
        }
        Ok(self)
    }
}

/// Where the numbers of the data come from.
trait Source {
    /// The next number, of this type.
    fn number(&mut self, kind: Type) -> Result<f64, Fault>;

    /// Fails if so many records cannot be there; answers for how many there can be room.
    fn check(&self, element: &Element) -> Result<usize, Fault>;

    /// Where the record that starts here is.
    fn place(&mut self, kind: Kind, record: usize) -> Place;
}

struct Binary<'a, const BIG: bool> {
    bytes: &'a [u8],
    at: usize,
}

impl<const BIG: bool> Binary<'_, BIG> {
    #[inline]
    fn take<const N: usize>(&mut self) -> Result<[u8; N], Fault> {
        let mut bytes = match self.bytes[self.at..].first_chunk::<N>() {
            Some(bytes) => *bytes,
            None => return Err(self.ends(N)),
        };
        self.at += N;
        if BIG {
            bytes.reverse();
        }
        Ok(bytes)
    }

    #[cold]
    fn ends(&self, expected_bytes: usize) -> Fault {
        let found_bytes = (self.bytes.len() - self.at) as u64;
        let expected_bytes = expected_bytes as u64;
        (Place::Byte(self.at), ReadCause::Truncated { what: "the next number", expected_bytes, found_bytes })
    }
}

impl<const BIG: bool> Source for Binary<'_, BIG> {
    #[inline]
    fn number(&mut self, kind: Type) -> Result<f64, Fault> {
        Ok(match kind {
            Type::I8 => i8::from_le_bytes(self.take()?).into(),
            Type::U8 => u8::from_le_bytes(self.take()?).into(),
            Type::I16 => i16::from_le_bytes(self.take()?).into(),
            Type::U16 => u16::from_le_bytes(self.take()?).into(),
            Type::I32 => i32::from_le_bytes(self.take()?).into(),
            Type::U32 => u32::from_le_bytes(self.take()?).into(),
            Type::F32 => f32::from_le_bytes(self.take()?).into(),
            Type::F64 => f64::from_le_bytes(self.take()?),
        })
    }

    fn check(&self, element: &Element) -> Result<usize, Fault> {
        let found_bytes = (self.bytes.len() - self.at) as u64;
        let expected_bytes = (element.count as u64).saturating_mul(element.least_bytes() as u64);
        if expected_bytes > found_bytes {
            let what = element.what();
            return Err((Place::Byte(self.at), ReadCause::Truncated { what, expected_bytes, found_bytes }));
        }
        // A file can claim as many faces as it has bytes; there is room for fewer triangles.
        let corner = element.properties.iter().find(|property| property.role == Role::Corners);
        let triangle_bytes = element.least_bytes() + corner.map_or(0, |corner| 3 * corner.kind.bytes());
        Ok(element.count.min(found_bytes as usize / triangle_bytes.max(1)))
    }

    fn place(&mut self, kind: Kind, record: usize) -> Place {
        match kind {
            Kind::Vertex => Place::Vertex { vertex: record, byte: self.at },
            _ => Place::Face { face: record, byte: self.at },
        }
    }
}

/// The text kind, number by number: a record is a line in all files, but nothing here needs it.
struct Text<'a> {
    lines: Lines<'a>,
    rest: &'a [u8],
    line: usize,
    faces: usize,
}

impl Source for Text<'_> {
    #[inline]
    fn number(&mut self, _: Type) -> Result<f64, Fault> {
        loop {
            let rest = self.rest.trim_ascii_start();
            if !rest.is_empty() {
                let end = rest.iter().position(u8::is_ascii_whitespace).unwrap_or(rest.len());
                self.rest = &rest[end..];
                return number(&rest[..end]).ok_or_else(|| {
                    let found = shortened(&rest[..end]);
                    (Place::Line(self.line), ReadCause::Unexpected { expected: "a number", found })
                });
            }
            (self.line, self.rest) = self.lines.next().ok_or((
                Place::Line(self.line),
                ReadCause::StopsEarly { expected: "a number", complete: self.faces },
            ))?;
        }
    }

    fn check(&self, element: &Element) -> Result<usize, Fault> {
        // A number takes a digit and a blank.
        Ok(element.count.min(self.lines.rest().len() / (2 * element.properties.len().max(1)) + 1))
    }

    fn place(&mut self, kind: Kind, record: usize) -> Place {
        self.faces = if kind == Kind::Face { record } else { self.faces };
        // The record starts on the next line, unless lines and records do not agree.
        Place::Line(if self.rest.trim_ascii_start().is_empty() { self.line + 1 } else { self.line })
    }
}

fn read_body(elements: &[Element], mut source: impl Source, work: &Work) -> Result<Gathered, Fault> {
    let mut gathered = Gathered::default();
    let vertices = elements.iter().find(|element| element.kind == Kind::Vertex).map_or(0, |element| element.count);
    let mut corners = Vec::new();
    // Without properties a record takes no bytes, and any count of them would fit.
    for element in elements.iter().filter(|element| !element.properties.is_empty()) {
        let room = source.check(element)?;
        let has_colours = (0..3).all(|channel| element.has(Role::Colour(channel)));
        match element.kind {
            Kind::Vertex => {
                gathered.positions.reserve(room);
                gathered.colours.reserve(if has_colours { room } else { 0 });
            }
            Kind::Face => gathered.triangles.reserve(room),
            _ => {}
        }
        for record in 0..element.count {
            if record % RECORDS_PER_STEP == 0 {
                let done = record as f64 / element.count as f64;
                let what = if element.kind == Kind::Vertex { "read vertices" } else { "read triangles" };
                work.step(what, done).map_err(|stop| (Place::File, stop.into()))?;
            }
            let place = source.place(element.kind, record);
            let (mut point, mut colour) = ([0.0; 3], [0u8; 3]);
            corners.clear();
            for property in &element.properties {
                let Some(length) = property.length else {
                    let value = source.number(property.kind)?;
                    match property.role {
                        Role::Coordinate(axis) => point[axis] = value,
                        // Conversion cuts off at 0 and 255.
                        Role::Colour(channel) => {
                            colour[channel] = (value / property.kind.full() * 255.0).round() as u8;
                        }
                        _ => {}
                    }
                    continue;
                };
                let length = source.number(length)?;
                if !(length >= 0.0 && length.fract() == 0.0) {
                    let what = "the length of a list is no count";
                    return Err((place, ReadCause::Invalid { what, found: length.to_string() }));
                }
                for _ in 0..length as u64 {
                    let value = source.number(property.kind)?;
                    if property.role != Role::Corners {
                        continue;
                    }
                    let is_index = value >= 0.0 && value < vertices as f64 && value.fract() == 0.0;
                    let ends_strip = element.kind == Kind::Strips && value == NEW_STRIP;
                    if !(is_index || ends_strip) {
                        let index = value as i64;
                        return Err((place, ReadCause::IndexOutOfRange { index, vertices }));
                    }
                    if ends_strip {
                        gathered.add_strip(&corners);
                        corners.clear();
                    } else {
                        corners.push(value as u32);
                    }
                }
            }
            match element.kind {
                Kind::Vertex => {
                    gathered.add_vertex(DVec3::from_array(point), || place);
                    if has_colours {
                        gathered.colours.push(colour);
                    }
                }
                Kind::Face => gathered.add_face(&corners),
                Kind::Strips => gathered.add_strip(&corners),
                Kind::Other => {}
            }
        }
    }
    Ok(gathered)
}
