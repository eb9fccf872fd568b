//! glTF 2.0 and its binary container GLB (Khronos, ISO/IEC 12113:2022; sections as numbered there).
//!
//! Read are the triangles and points of every mesh in the default scene, moved by the transforms of their nodes, with
//! the colours of their vertices. Positions are metres (3.4). Data come from the GLB chunk or from `data:` addresses;
//! what lies in other files cannot be had here. Materials, textures, skins, morph targets and animations are passed
//! over; a file that *requires* an extension which changes geometry is refused (3.12).
//!
//! `tests/outside/test_formats.py` checks this module with files that another library wrote. The crate `gltf` does not
//! read here because it would cost the page several times
//! what this costs (`serde_json` is there anyway), and gives no place with an error.

use crate::gathered::{Fault, Gathered, named, shortened};
use crate::{Place, RawScan, ReadCause, ReadError, ScanFormat};
use base::{LengthUnit, Report, Work};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use glam::{DAffine3, DMat3, DMat4, DQuat, DVec3};
use mesh::sniff;
use serde_json::Value;
use std::borrow::Cow;

/// glTF, both containers; metres.
pub(crate) struct Gltf;

const MAGIC: &[u8] = b"glTF";
const GLB_HEADER_BYTES: usize = 12;
const CHUNK_HEADER_BYTES: usize = 8;
const JSON_CHUNK: u32 = 0x4E4F_534A;
const BINARY_CHUNK: u32 = 0x004E_4942;
/// What a required extension may start with: these change how a surface looks, not where it is.
const ONLY_LOOKS: [&str; 5] = ["KHR_materials_", "KHR_texture_", "KHR_lights_", "EXT_texture_", "KHR_xmp"];
/// Elements that nodes may add beyond what the file has room for, by naming the same mesh again: a few nodes must not
/// fill the memory.
const FREE_COPIES: usize = 1 << 20;
const ADVICE_ONE_FILE: &str = "Export it as one binary .glb file, which holds everything";
const ADVICE_PLAIN: &str =
    "Export it without compression (Draco, meshopt) and other extensions, or as binary STL or PLY";

impl ScanFormat for Gltf {
    fn id(&self) -> &'static str {
        "gltf"
    }

    fn label(&self) -> &'static str {
        "glTF (GLB)"
    }

    fn extensions(&self) -> &'static [&'static str] {
        &["glb", "gltf"]
    }

    fn recognises(&self, _: &str, bytes: &[u8]) -> bool {
        // The JSON container must have an "asset" (5.17), which any writer puts near the start or the end.
        const LOOKED_AT: usize = 1 << 12;
        let has_asset = |part: &[u8]| part.windows(7).any(|word| word == b"\"asset\"");
        let ends = [&bytes[..bytes.len().min(LOOKED_AT)], &bytes[bytes.len().saturating_sub(LOOKED_AT)..]];
        bytes.starts_with(MAGIC) || sniff::first_word(bytes).starts_with(b"{") && ends.into_iter().any(has_asset)
    }

    fn read(&self, name: &str, bytes: &[u8], work: &Work, report: &mut Report) -> Result<RawScan, ReadError> {
        let gathered = read(bytes, work);
        named(name, gathered.and_then(|gathered| gathered.finish(self.id(), Some(LengthUnit::Metre), report)))
    }
}

fn read(bytes: &[u8], work: &Work) -> Result<Gathered, Fault> {
    let (json, chunk) = container(bytes)?;
    work.step("read triangles", 0.0).map_err(|stop| (Place::File, stop.into()))?;
    let root: Value = serde_json::from_slice(&bytes[json.clone()]).map_err(|fault| {
        let what = "the description (JSON) in the file is broken";
        (
            Place::Byte(json.start),
            ReadCause::Invalid { what, found: fault.to_string().trim_end_matches('.').to_owned() },
        )
    })?;
    check_asset(&root)?;
    let file = File { bytes, root: &root, buffers: buffers(bytes, &root, chunk)? };
    let mut gathered = Gathered::default();
    let most = bytes.len() + FREE_COPIES;
    for (map, mesh) in placed_meshes(&root)? {
        work.step("read triangles", 0.5).map_err(|stop| (Place::File, stop.into()))?;
        for primitive in list(&item(&root, "meshes", mesh)?["primitives"]) {
            file.add_primitive(primitive, &map, &mut gathered)?;
            if gathered.positions.len() + gathered.triangles.len() > most {
                return Err(invalid("the same surface stands in the scene over and over", format!("meshes {mesh}")));
            }
        }
    }
    Ok(gathered)
}

type Span = std::ops::Range<usize>;

/// Where the JSON and the binary chunk of the file are (4.4).
fn container(bytes: &[u8]) -> Result<(Span, Option<Span>), Fault> {
    if !bytes.starts_with(MAGIC) {
        let start = sniff::after_byte_order_mark(bytes);
        if !sniff::first_word(bytes).starts_with(b"{") {
            let looks_like = sniff::looks_like(bytes).unwrap_or("nothing known");
            return Err((Place::Byte(0), ReadCause::OtherFormat { expected: "a glTF file", looks_like }));
        }
        return Ok((start..bytes.len(), None));
    }
    let word = |at: usize| bytes.get(at..)?.first_chunk().copied().map(u32::from_le_bytes);
    let (Some(version), Some(length)) = (word(4), word(8)) else {
        let cause = ReadCause::TooShort { found: bytes.len(), least: GLB_HEADER_BYTES + CHUNK_HEADER_BYTES };
        return Err((Place::File, cause));
    };
    if version != 2 {
        return Err((Place::Byte(4), unsupported_version(version.to_string())));
    }
    if length as usize > bytes.len() {
        let (expected_bytes, found_bytes) = (length.into(), bytes.len() as u64);
        return Err((Place::Byte(8), ReadCause::Truncated { what: "the file", expected_bytes, found_bytes }));
    }
    let chunk = |at: usize, kind: u32| {
        let (Some(length), Some(found)) = (word(at), word(at + 4)) else { return Ok(None) };
        if found != kind {
            return Ok(None);
        }
        let start = at + CHUNK_HEADER_BYTES;
        let (expected_bytes, found_bytes) = (length.into(), (bytes.len() - start) as u64);
        if expected_bytes > found_bytes {
            return Err((Place::Byte(at), ReadCause::Truncated { what: "a chunk", expected_bytes, found_bytes }));
        }
        Ok(Some(start..start + length as usize))
    };
    let Some(json) = chunk(GLB_HEADER_BYTES, JSON_CHUNK)? else {
        let what = "the first chunk is not the description (JSON)";
        return Err((Place::Byte(GLB_HEADER_BYTES), ReadCause::Invalid { what, found: "another kind".to_owned() }));
    };
    let binary = chunk(json.end, BINARY_CHUNK)?;
    Ok((json, binary))
}

fn unsupported_version(version: String) -> ReadCause {
    ReadCause::Unsupported {
        what: "this version of glTF",
        found: version,
        advice: "Export it as glTF 2.0, or as binary STL or PLY",
    }
}

fn check_asset(root: &Value) -> Result<(), Fault> {
    let asset = &root["asset"];
    let version = asset["minVersion"].as_str().or(asset["version"].as_str());
    let Some(version) = version else {
        let what = "the version (asset) is missing";
        return Err((Place::File, ReadCause::Invalid { what, found: "every glTF file has one".to_owned() }));
    };
    if !version.starts_with("2.") {
        return Err((Place::File, unsupported_version(shortened(version.as_bytes()))));
    }
    for extension in list(&root["extensionsRequired"]) {
        let id = extension.as_str().unwrap_or("an extension without name");
        if id != "KHR_mesh_quantization" && !ONLY_LOOKS.iter().any(|start| id.starts_with(start)) {
            let found = shortened(id.as_bytes());
            let what = "an extension that this file requires";
            return Err((Place::File, ReadCause::Unsupported { what, found, advice: ADVICE_PLAIN }));
        }
    }
    Ok(())
}

/// The bytes of a buffer, and where they start in the file if they are there as they are.
struct Buffer<'a> {
    bytes: Cow<'a, [u8]>,
    start: Option<usize>,
}

fn buffers<'a>(bytes: &'a [u8], root: &Value, chunk: Option<Span>) -> Result<Vec<Buffer<'a>>, Fault> {
    let buffer = |(at, buffer): (usize, &Value)| {
        let expected_bytes = buffer["byteLength"].as_u64().unwrap_or(0);
        let data = match (buffer["uri"].as_str(), &chunk) {
            (Some(uri), _) => Buffer { bytes: embedded(uri)?.into(), start: None },
            (None, Some(chunk)) if at == 0 => Buffer { bytes: bytes[chunk.clone()].into(), start: Some(chunk.start) },
            _ => return Err((Place::File, unsupported_buffer("the one without address".to_owned()))),
        };
        let found_bytes = data.bytes.len() as u64;
        if expected_bytes > found_bytes {
            return Err((Place::File, ReadCause::Truncated { what: "a buffer", expected_bytes, found_bytes }));
        }
        Ok(data)
    };
    list(&root["buffers"]).iter().enumerate().map(buffer).collect()
}

fn embedded(uri: &str) -> Result<Vec<u8>, Fault> {
    const MARK: &str = ";base64,";
    let data = uri.strip_prefix("data:").and_then(|rest| Some(&rest[rest.find(MARK)? + MARK.len()..]));
    let Some(data) = data else {
        return Err((Place::File, unsupported_buffer(shortened(uri.as_bytes()))));
    };
    STANDARD.decode(data).map_err(|fault| {
        let what = "a buffer within the file is broken (base64)";
        (Place::File, ReadCause::Invalid { what, found: fault.to_string().trim_end_matches('.').to_owned() })
    })
}

fn unsupported_buffer(found: String) -> ReadCause {
    ReadCause::Unsupported { what: "a buffer outside this file", found, advice: ADVICE_ONE_FILE }
}

/// The elements of an array; none if it is none.
fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

/// The item with this number of one of the lists of the file.
fn item<'a>(root: &'a Value, what: &'static str, at: usize) -> Result<&'a Value, Fault> {
    list(&root[what])
        .get(at)
        .ok_or_else(|| invalid("the file names an item that it does not have", format!("{what} {at}")))
}

fn invalid(what: &'static str, found: String) -> Fault {
    (Place::File, ReadCause::Invalid { what, found })
}

fn index(value: &Value) -> Option<usize> {
    value.as_u64().and_then(|at| usize::try_from(at).ok())
}

/// Numbers of meshes with the transform of their node, in the order of the scene.
fn placed_meshes(root: &Value) -> Result<Vec<(DAffine3, usize)>, Fault> {
    let nodes = list(&root["nodes"]);
    let roots: Vec<&Value> = match list(&root["scenes"]).is_empty() {
        false => list(&item(root, "scenes", index(&root["scene"]).unwrap_or(0))?["nodes"]).iter().collect(),
        // A library of meshes (3.5.1).
        true if nodes.is_empty() => {
            return Ok((0..list(&root["meshes"]).len()).map(|mesh| (DAffine3::IDENTITY, mesh)).collect());
        }
        true => Vec::new(),
    };
    let mut waiting: Vec<(DAffine3, usize)> = Vec::new();
    let mut placed = Vec::new();
    let mut seen = vec![false; nodes.len()];
    let number = |value: &Value| {
        index(value).ok_or_else(|| invalid("a node has no number", shortened(value.to_string().as_bytes())))
    };
    for node in roots.into_iter().rev() {
        waiting.push((DAffine3::IDENTITY, number(node)?));
    }
    if list(&root["scenes"]).is_empty() {
        let mut is_child = vec![false; nodes.len()];
        for child in nodes.iter().flat_map(|node| list(&node["children"])).filter_map(index) {
            if let Some(is_child) = is_child.get_mut(child) {
                *is_child = true;
            }
        }
        waiting.extend((0..nodes.len()).rev().filter(|&at| !is_child[at]).map(|at| (DAffine3::IDENTITY, at)));
    }
    while let Some((parent, at)) = waiting.pop() {
        let node = item(root, "nodes", at)?;
        if std::mem::replace(&mut seen[at], true) {
            // Nodes are trees (3.5.2); a ring of them would never end.
            return Err(invalid("a node stands in the scene twice", format!("nodes {at}")));
        }
        let map = parent * transform(node)?;
        if let Some(mesh) = index(&node["mesh"]) {
            placed.push((map, mesh));
        }
        for child in list(&node["children"]).iter().rev() {
            waiting.push((map, number(child)?));
        }
    }
    Ok(placed)
}

fn transform(node: &Value) -> Result<DAffine3, Fault> {
    let numbers = |what: &str| -> Vec<f64> { list(&node[what]).iter().filter_map(Value::as_f64).collect() };
    let map = if let Ok(matrix) = <[f64; 16]>::try_from(numbers("matrix")) {
        DAffine3::from_mat4(DMat4::from_cols_array(&matrix))
    } else {
        let vector = |what, default| <[f64; 3]>::try_from(numbers(what)).map_or(default, DVec3::from_array);
        let rotation = <[f64; 4]>::try_from(numbers("rotation")).map_or(DQuat::IDENTITY, DQuat::from_array);
        let rotation = DMat3::from_quat(rotation.normalize());
        let matrix3 = rotation * DMat3::from_diagonal(vector("scale", DVec3::ONE));
        DAffine3 { matrix3, translation: vector("translation", DVec3::ZERO) }
    };
    if map.is_finite() {
        Ok(map)
    } else {
        Err(invalid("the transform of a node is no transform", "its numbers are not finite".to_owned()))
    }
}

/// One accessor, checked: `count` elements, `stride` bytes apart.
struct Accessor<'a> {
    bytes: &'a [u8],
    /// Where `bytes` start in the file.
    start: Option<usize>,
    count: usize,
    stride: usize,
    /// Component type (5.1.3).
    kind: u64,
    components: usize,
    is_normalised: bool,
}

impl Accessor<'_> {
    /// Component `at` of an element.
    #[inline]
    fn value(&self, element: usize, component: usize) -> f64 {
        let size = size_of_kind(self.kind);
        let bytes = &self.bytes[element * self.stride + component * size..];
        let byte = |at: usize| bytes.get(at).copied().unwrap_or(0);
        let (value, full): (f64, f64) = match self.kind {
            5120 => (i8::from_le_bytes([byte(0)]).into(), 127.0),
            5121 => (byte(0).into(), 255.0),
            5122 => (i16::from_le_bytes([byte(0), byte(1)]).into(), 32767.0),
            5123 => (u16::from_le_bytes([byte(0), byte(1)]).into(), 65535.0),
            5125 => (u32::from_le_bytes([byte(0), byte(1), byte(2), byte(3)]).into(), 1.0),
            _ => (f32::from_le_bytes([byte(0), byte(1), byte(2), byte(3)]).into(), 1.0),
        };
        // 3.6.2.2: the least signed value means the same as the one above it.
        if self.is_normalised { (value / full).max(-1.0) } else { value }
    }

    /// Where an element is in the file.
    fn byte(&self, element: usize) -> Option<usize> {
        self.start.map(|start| start + element * self.stride)
    }
}

fn size_of_kind(kind: u64) -> usize {
    match kind {
        5120 | 5121 => 1,
        5122 | 5123 => 2,
        _ => 4,
    }
}

struct File<'a> {
    bytes: &'a [u8],
    root: &'a Value,
    buffers: Vec<Buffer<'a>>,
}

impl File<'_> {
    fn accessor(&self, at: usize) -> Result<Accessor<'_>, Fault> {
        let accessor = item(self.root, "accessors", at)?;
        let broken = |what| invalid(what, format!("accessors {at}"));
        let number = |value: &Value| index(value).unwrap_or(0);
        if !accessor["sparse"].is_null() || accessor["bufferView"].is_null() {
            let found = format!("accessors {at}");
            let what = "data stored in part only (sparse)";
            return Err((Place::File, ReadCause::Unsupported { what, found, advice: ADVICE_PLAIN }));
        }
        let view = item(self.root, "bufferViews", number(&accessor["bufferView"]))?;
        let buffer = number(&view["buffer"]);
        let buffer =
            self.buffers.get(buffer).ok_or_else(|| broken("a list of numbers lies in a buffer that is not there"))?;
        let components = match accessor["type"].as_str() {
            Some("SCALAR") => 1,
            Some("VEC3") => 3,
            Some("VEC4") => 4,
            _ => return Err(broken("a list of numbers is of a type that does not fit here")),
        };
        let kind = accessor["componentType"].as_u64().filter(|kind| matches!(kind, 5120..=5123 | 5125 | 5126));
        let kind = kind.ok_or_else(|| broken("a list of numbers is of a type that glTF does not have"))?;
        let element = components * size_of_kind(kind);
        let stride = match number(&view["byteStride"]) {
            0 => element,
            stride if stride >= element => stride,
            _ => return Err(broken("the numbers of a list overlap (byteStride)")),
        };
        let count = number(&accessor["count"]);
        let offset = number(&view["byteOffset"]).saturating_add(number(&accessor["byteOffset"]));
        let bytes = buffer.bytes.get(offset..).unwrap_or_default();
        let expected = stride.saturating_mul(count.saturating_sub(1)).saturating_add(element);
        if count == 0 || expected > bytes.len() {
            let place = buffer
                .start
                .map_or(Place::File, |start| Place::Byte(start.saturating_add(offset).min(self.bytes.len())));
            let (expected_bytes, found_bytes) = (expected as u64, bytes.len() as u64);
            return Err((place, ReadCause::Truncated { what: "a list of numbers", expected_bytes, found_bytes }));
        }
        let is_normalised = accessor["normalized"].as_bool().unwrap_or(false);
        let start = buffer.start.map(|start| start + offset);
        Ok(Accessor { bytes, start, count, stride, kind, components, is_normalised })
    }

    fn add_primitive(&self, primitive: &Value, map: &DAffine3, gathered: &mut Gathered) -> Result<(), Fault> {
        let mode = primitive["mode"].as_u64().unwrap_or(4);
        let attributes = &primitive["attributes"];
        // Lines are not part of a surface (3.7.2.1: 0 points, 4 triangles, 5 strip, 6 fan).
        let (Some(position), 0 | 4..=6) = (index(&attributes["POSITION"]), mode) else { return Ok(()) };
        let positions = self.accessor(position)?;
        if positions.components != 3 {
            return Err(invalid("positions need three numbers each", format!("accessors {position}")));
        }
        let first = gathered.positions.len();
        let is_moved = *map != DAffine3::IDENTITY;
        gathered.positions.reserve(positions.count);
        for vertex in 0..positions.count {
            let point = DVec3::from_array([0, 1, 2].map(|axis| positions.value(vertex, axis)));
            let place = || match positions.byte(vertex) {
                Some(byte) => Place::Vertex { vertex, byte },
                None => Place::File,
            };
            gathered.add_vertex(if is_moved { map.transform_point3(point) } else { point }, place);
        }
        if let Some(colour) = index(&attributes["COLOR_0"]) {
            self.add_colours(colour, first, positions.count, gathered)?;
        }
        let corners = match index(&primitive["indices"]) {
            Some(indices) => self.indices(indices, first, positions.count)?,
            None if mode == 0 => Vec::new(),
            None => (0..positions.count).map(|at| (first + at) as u32).collect(),
        };
        let from = gathered.triangles.len();
        match mode {
            0 => {}
            4 => gathered.triangles.extend(corners.chunks_exact(3).map(|t| [t[0], t[1], t[2]])),
            5 => gathered.add_strip(&corners),
            _ => {
                let Some((&hub, rim)) = corners.split_first() else { return Ok(()) };
                gathered.triangles.extend(rim.windows(2).map(|pair| [hub, pair[0], pair[1]]));
            }
        }
        if map.matrix3.determinant() < 0.0 {
            // 3.7.4: a mirroring transform turns the winding round.
            gathered.triangles[from..].iter_mut().for_each(|[_, b, c]| std::mem::swap(b, c));
        }
        Ok(())
    }

    fn indices(&self, at: usize, first: usize, vertices: usize) -> Result<Vec<u32>, Fault> {
        let indices = self.accessor(at)?;
        if indices.components != 1 || !matches!(indices.kind, 5121 | 5123 | 5125) {
            return Err(invalid("the numbers of the corners are no whole numbers", format!("accessors {at}")));
        }
        let mut corners = Vec::with_capacity(indices.count);
        for corner in 0..indices.count {
            let index = indices.value(corner, 0);
            if index >= vertices as f64 {
                let place = match indices.byte(corner) {
                    Some(byte) => Place::Face { face: corner / 3, byte },
                    None => Place::File,
                };
                return Err((place, ReadCause::IndexOutOfRange { index: index as i64, vertices }));
            }
            corners.push((first + index as usize) as u32);
        }
        Ok(corners)
    }

    /// Colours are linear (3.7.2.1) and become sRGB. Vertices without one are white.
    fn add_colours(&self, at: usize, first: usize, vertices: usize, gathered: &mut Gathered) -> Result<(), Fault> {
        let colours = self.accessor(at)?;
        if colours.components < 3 || colours.count < vertices {
            return Err(invalid("there are not as many colours as vertices", format!("accessors {at}")));
        }
        let limits = srgb_limits();
        gathered.colours.resize(first, WHITE);
        gathered.colours.extend((0..vertices).map(|vertex| {
            [0, 1, 2].map(|channel| {
                let level = colours.value(vertex, channel);
                limits.partition_point(|&limit| limit <= level) as u8
            })
        }));
        Ok(())
    }
}

const WHITE: [u8; 3] = [255; 3];

/// The linear levels at which the 8-bit sRGB level goes up by one (IEC 61966-2-1).
fn srgb_limits() -> [f64; 255] {
    std::array::from_fn(|level| {
        let encoded = (level as f64 + 0.5) / 255.0;
        if encoded <= 0.04045 { encoded / 12.92 } else { libm::pow((encoded + 0.055) / 1.055, 2.4) }
    })
}
