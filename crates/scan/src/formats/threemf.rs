//! 3MF, the zipped XML of 3D printing (3MF Consortium, "3D Manufacturing Format Core Specification", 1.3; sections as
//! numbered there).
//!
//! Read are the meshes that the build names, moved by their transforms (4.1.1, 3.4.3), through components (4.2) and,
//! with the production extension, through other parts of the package; the unit (3.4); and colours of vertices from
//! `basematerials` (5) and `m:colorgroup`, where neighbouring triangles agree the last one's. A file that *requires*
//! another extension is refused, as 2.3.2 demands. The XML is unpacked as it is read and never held in memory.
//!
//! [`crate::archive`] unpacks. The crate `threemf2` does not read here because it holds the unpacked XML and a record of
//! every element, many times the memory of the mesh, and costs the page more; `tests/outside/test_formats.py` checks this
//! module with files that another library wrote.

use crate::archive::{Archive, ArchiveFault};
use crate::gathered::{Fault, Gathered, named, shortened, told};
use crate::text::number;
use crate::xml::{DocumentType, Tag, each_tag, local};
use crate::{Place, RawScan, ReadCause, ReadError, ScanFormat};
use base::{LengthUnit, Report, Work};
use glam::{DAffine3, DMat3, DVec3};
use mesh::sniff;
use std::collections::BTreeMap;
use std::io::{BufReader, Read};

/// 3MF.
pub(crate) struct ThreeMf;

const ZIP_MARK: &[u8] = b"PK\x03\x04";
const CORE: &str = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02";
/// Extensions that may be required: what they add is read, or does not move a surface.
const UNDERSTOOD: [&str; 3] = [
    "http://schemas.microsoft.com/3dmanufacturing/production/2015/06",
    "http://schemas.microsoft.com/3dmanufacturing/material/2015/02",
    "http://schemas.microsoft.com/3dmanufacturing/trianglesets/2021/07",
];
/// Where the model is if the package does not say (2.1.1 only recommends it).
const USUAL_PART: &str = "3D/3dmodel.model";
const RELATIONS: &str = "_rels/.rels";
/// Type of the relation that names the model (2.1.1).
const MODEL_RELATION: &str = "/3dmodel";
/// How many times its packed size a part may unpack to: XML of numbers packs to a tenth, a zip bomb to a thousandth.
const MOST_UNPACKING: u64 = 100;
/// What any part may unpack to, bytes, however small it is packed.
const FREE_UNPACKING: u64 = 1 << 16;
/// How deep components may name components.
const MOST_DEPTH: usize = 32;
/// How often objects may be placed, and what copies may come to on top of four times what the file holds, so that a few
/// components that name each other twice do not fill the memory.
const MOST_PLACED: usize = 10_000;
const FREE_COPIES: usize = 1 << 20;
/// Elements between two reports of progress.
const ELEMENTS_PER_STEP: usize = 1 << 17;
const ADVICE_PLAIN: &str = "Export it as plain 3MF without extensions or a password, or as binary STL or PLY";

impl ScanFormat for ThreeMf {
    fn id(&self) -> &'static str {
        "3mf"
    }

    fn label(&self) -> &'static str {
        "3MF"
    }

    fn extensions(&self) -> &'static [&'static str] {
        &["3mf"]
    }

    fn recognises(&self, _: &str, bytes: &[u8]) -> bool {
        bytes.starts_with(ZIP_MARK) && Archive::open(bytes).is_ok_and(|archive| has_model(&archive))
    }

    fn read(&self, name: &str, bytes: &[u8], work: &Work, report: &mut Report) -> Result<RawScan, ReadError> {
        named(name, read(bytes, work, report))
    }
}

fn has_model(archive: &Archive<'_>) -> bool {
    archive.names().any(|name| name.ends_with(".model"))
}

fn read(bytes: &[u8], work: &Work, report: &mut Report) -> Result<RawScan, Fault> {
    if !bytes.starts_with(ZIP_MARK) {
        let looks_like = sniff::looks_like(bytes).unwrap_or("nothing known");
        return Err((Place::Byte(0), ReadCause::OtherFormat { expected: "a 3MF file", looks_like }));
    }
    let archive = Archive::open(bytes).map_err(|fault| zip_fault("the archive", &fault))?;
    if !has_model(&archive) {
        let looks_like = "a zip archive without a model in it: unpack it first";
        return Err((Place::File, ReadCause::OtherFormat { expected: "a 3MF file", looks_like }));
    }
    let mut package = Package::default();
    let root = root_part(&archive)?;
    let (unit, scale) = package.read_part(&archive, &root, work)?;
    let build = std::mem::take(&mut package.build);
    let mut placing = Placing { gathered: Gathered::default(), left: 4 * package.size() + FREE_COPIES, placed: 0 };
    for item in &build {
        let is_only = build.len() == 1;
        package.place(&archive, item, &DAffine3::from_scale(DVec3::splat(scale)), 0, is_only, &mut placing, work)?;
    }
    if build.is_empty() {
        return Err(invalid("nothing is to be built", "the model has no items".to_owned()));
    }
    placing.gathered.finish("3mf", Some(unit), report)
}

fn zip_fault(part: &str, fault: &ArchiveFault) -> Fault {
    let cause = match fault {
        ArchiveFault::Packing(_) | ArchiveFault::Locked => {
            ReadCause::Unsupported { what: "this kind of packing", found: told(part, &fault), advice: ADVICE_PLAIN }
        }
        _ => ReadCause::Invalid { what: "the zip archive is damaged or cut short", found: told(part, &fault) },
    };
    (Place::File, cause)
}

fn invalid(what: &'static str, found: String) -> Fault {
    (Place::File, ReadCause::Invalid { what, found })
}

/// The part that holds the model: what the relations of the package name, or the usual one.
fn root_part(archive: &Archive<'_>) -> Result<String, Fault> {
    let mut named = None;
    if archive.names().any(|name| name == RELATIONS) {
        each_element(archive, RELATIONS, |_, element, is_start| {
            if is_start && local(element.name) == "Relationship" {
                let is_model = element.attribute("Type").is_some_and(|kind| kind.ends_with(MODEL_RELATION));
                named = element.attribute("Target").filter(|_| is_model).map(str::to_owned).or(named.take());
            }
            Ok(())
        })?;
    }
    let usual = || archive.names().find(|name| name.ends_with(".model")).unwrap_or(USUAL_PART).to_owned();
    Ok(named.map_or_else(usual, |name| name.trim_start_matches('/').to_owned()))
}

/// Reads a part of the archive piece by piece and hands out the start and the end of every element with its place.
fn each_element(
    archive: &Archive<'_>,
    part: &str,
    mut take: impl FnMut(Place, &Tag, bool) -> Result<(), Fault>,
) -> Result<(), Fault> {
    let entry = archive.part(part).map_err(|fault| zip_fault(part, &fault))?;
    let most = entry.packed_bytes().saturating_mul(MOST_UNPACKING).saturating_add(FREE_UNPACKING);
    let mut source = BufReader::new(entry.take(most));
    let broken = |byte, fault: &str| {
        let what = "the model in the file is broken (XML)";
        (Place::Unpacked(byte), ReadCause::Invalid { what, found: told(part, &fault) })
    };
    let document_type = DocumentType::Refused("a document type, which 3MF forbids");
    each_tag(&mut source, document_type, broken, |byte, tag, is_start| take(Place::Unpacked(byte), tag, is_start))
}

/// An object placed by the build or by another object.
#[derive(Clone)]
struct Item {
    part: String,
    object: String,
    map: DAffine3,
}

#[derive(Clone, Default)]
struct Object {
    positions: Vec<DVec3>,
    /// As many as positions, or none.
    colours: Vec<[u8; 3]>,
    triangles: Vec<[u32; 3]>,
    components: Vec<Item>,
    first_not_finite: Option<Place>,
    is_support: bool,
}

/// The objects of all parts read so far, by part and id.
#[derive(Default)]
struct Package {
    parts: BTreeMap<String, BTreeMap<String, Object>>,
    build: Vec<Item>,
}

struct Placing {
    gathered: Gathered,
    /// Vertices and triangles that may still be added.
    left: usize,
    placed: usize,
}

impl Package {
    /// Vertices and triangles in all objects.
    fn size(&self) -> usize {
        let objects = self.parts.values().flat_map(BTreeMap::values);
        objects.map(|object| object.positions.len() + object.triangles.len()).sum()
    }

    /// Adds an object with what it is made of. `is_only`: it is asked for this once, so nothing need be copied.
    fn place(
        &mut self,
        archive: &Archive<'_>,
        item: &Item,
        parent: &DAffine3,
        depth: usize,
        is_only: bool,
        placing: &mut Placing,
        work: &Work,
    ) -> Result<(), Fault> {
        if !self.parts.contains_key(&item.part) {
            let before = self.size();
            self.read_part(archive, &item.part, work)?;
            placing.left += 4 * (self.size() - before);
        }
        let found = || format!("object {} in {}", shortened(item.object.as_bytes()), shortened(item.part.as_bytes()));
        let Some(object) = self.parts.get_mut(&item.part).and_then(|objects| objects.get_mut(&item.object)) else {
            return Err(invalid("the model names an object that it does not have", found()));
        };
        placing.placed += 1;
        let size = object.positions.len() + object.triangles.len();
        if depth > MOST_DEPTH || placing.placed > MOST_PLACED || size > placing.left {
            return Err(invalid("objects are made of objects without end", found()));
        }
        placing.left -= size;
        let map = *parent * item.map;
        let components = object.components.clone();
        if !object.is_support {
            let surface = if is_only { std::mem::take(object) } else { object.clone() };
            // What is left of an object that was taken still shows a ring of components.
            object.components = components.clone();
            placing.gathered.append(surface, &map);
        }
        for component in &components {
            let is_only = is_only && components.len() == 1;
            self.place(archive, component, &map, depth + 1, is_only, placing, work)?;
        }
        Ok(())
    }

    /// Reads a part's objects, and its build if it is the first; answers the unit and how many of it one unit of the
    /// file is.
    fn read_part(&mut self, archive: &Archive<'_>, part: &str, work: &Work) -> Result<(LengthUnit, f64), Fault> {
        let is_root = self.parts.is_empty();
        let mut model = Model { part, ..Model::default() };
        let mut elements = 0;
        each_element(archive, part, |place, element, is_start| {
            if elements % ELEMENTS_PER_STEP == 0 {
                work.step("read triangles", 0.5).map_err(|stop| (Place::File, stop.into()))?;
            }
            elements += 1;
            if is_start { model.start(place, element) } else { model.end(place, element) }
        })?;
        let unit = model.unit.ok_or_else(|| invalid("the part is no model", shortened(part.as_bytes())))?;
        self.parts.insert(part.to_owned(), model.objects);
        if is_root {
            self.build = model.build;
        }
        Ok(unit)
    }
}

/// A part as far as it was read.
#[derive(Default)]
struct Model<'a> {
    part: &'a str,
    /// Prefix of the core's elements, with its colon.
    core: String,
    unit: Option<(LengthUnit, f64)>,
    objects: BTreeMap<String, Object>,
    build: Vec<Item>,
    /// Colours by the id of their group.
    groups: BTreeMap<String, Vec<[u8; 3]>>,
    group: String,
    /// The object being read, its id, and the colour of what says nothing else.
    object: Option<(String, Object)>,
    default_colour: Option<(String, usize)>,
}

impl Model<'_> {
    fn start(&mut self, place: Place, element: &Tag) -> Result<(), Fault> {
        let name = element.name;
        if self.unit.is_none() {
            return self.start_model(place, element);
        }
        let Some(core) = name.strip_prefix(self.core.as_str()).filter(|name| !name.contains(':')) else {
            match local(element.name) {
                "colorgroup" => self.start_group(element),
                "color" => self.add_colour(element.attribute("color")),
                _ => {}
            }
            return Ok(());
        };
        match core {
            "vertex" => self.vertex(place, element)?,
            "triangle" => self.triangle(place, element)?,
            "object" => {
                let is_support = element.attribute("type").is_some_and(|kind| kind == "support");
                let id = element.attribute("id").unwrap_or_default().to_owned();
                let index = element.attribute("pindex").and_then(|index| index.parse().ok());
                self.default_colour = element.attribute("pid").map(str::to_owned).zip(index);
                self.object = Some((id, Object { is_support, ..Object::default() }));
            }
            "component" => {
                let item = self.item(place, element)?;
                if let Some((_, object)) = &mut self.object {
                    object.components.push(item);
                }
            }
            "item" => {
                let item = self.item(place, element)?;
                self.build.push(item);
            }
            "basematerials" => self.start_group(element),
            "base" => self.add_colour(element.attribute("displaycolor")),
            _ => {}
        }
        Ok(())
    }

    fn end(&mut self, _: Place, element: &Tag) -> Result<(), Fault> {
        if local(element.name) == "object"
            && let Some((id, mut object)) = self.object.take()
        {
            if object.colours.len() < object.positions.len() && !object.colours.is_empty() {
                object.colours.resize(object.positions.len(), WHITE);
            }
            self.objects.insert(id, object);
        }
        Ok(())
    }

    /// The root element: unit (3.4) and required extensions (2.3.2).
    fn start_model(&mut self, place: Place, element: &Tag) -> Result<(), Fault> {
        let mut spaces: BTreeMap<String, String> = BTreeMap::new();
        for (name, value) in element.attributes() {
            if let Some(prefix) = name.strip_prefix("xmlns") {
                spaces.insert(prefix.trim_start_matches(':').to_owned(), value.to_owned());
            }
        }
        let core = spaces.iter().find(|(_, space)| *space == CORE).map(|(prefix, _)| prefix);
        let (Some(core), "model") = (core, local(element.name)) else {
            let found = shortened(element.name.as_bytes());
            return Err((place, ReadCause::Invalid { what: "the part is no 3MF model", found }));
        };
        self.core = if core.is_empty() { String::new() } else { format!("{core}:") };
        for prefix in element.attribute("requiredextensions").unwrap_or_default().split_whitespace() {
            let space = spaces.get(prefix).map_or(prefix, String::as_str);
            if !UNDERSTOOD.contains(&space) {
                let what = "an extension that this file requires";
                let found = space.chars().take(80).collect();
                return Err((place, ReadCause::Unsupported { what, found, advice: ADVICE_PLAIN }));
            }
        }
        let unit = element.attribute("unit").unwrap_or("millimeter");
        self.unit = Some(match unit {
            "micron" => (LengthUnit::Millimetre, 0.001),
            "millimeter" => (LengthUnit::Millimetre, 1.0),
            "centimeter" => (LengthUnit::Centimetre, 1.0),
            "inch" => (LengthUnit::Inch, 1.0),
            "foot" => (LengthUnit::Inch, 12.0),
            "meter" => (LengthUnit::Metre, 1.0),
            _ => {
                let what = "the model has a unit that 3MF does not have";
                return Err((place, ReadCause::Invalid { what, found: shortened(unit.as_bytes()) }));
            }
        });
        Ok(())
    }

    fn vertex(&mut self, place: Place, element: &Tag) -> Result<(), Fault> {
        let Some((_, object)) = &mut self.object else { return Ok(()) };
        let mut point = [None; 3];
        for (name, value) in element.attributes() {
            let axis = match name {
                "x" => 0,
                "y" => 1,
                "z" => 2,
                _ => continue,
            };
            point[axis] = number(value.as_bytes());
        }
        let [Some(x), Some(y), Some(z)] = point else {
            let found = shortened(element.written.trim().as_bytes());
            return Err((place, ReadCause::Unexpected { expected: "x, y and z of a vertex", found }));
        };
        let point = DVec3::new(x, y, z);
        if !point.is_finite() && object.first_not_finite.is_none() {
            object.first_not_finite = Some(place);
        }
        object.positions.push(point);
        Ok(())
    }

    fn triangle(&mut self, place: Place, element: &Tag) -> Result<(), Fault> {
        let Some((_, object)) = &mut self.object else { return Ok(()) };
        let mut corners = [None; 3];
        let (mut group, mut indices) = (None, [None; 3]);
        for (name, value) in element.attributes() {
            match name {
                "v1" => corners[0] = value.parse().ok(),
                "v2" => corners[1] = value.parse().ok(),
                "v3" => corners[2] = value.parse().ok(),
                "pid" => group = Some(value),
                "p1" => indices[0] = value.parse::<usize>().ok(),
                "p2" => indices[1] = value.parse().ok(),
                "p3" => indices[2] = value.parse().ok(),
                _ => {}
            }
        }
        let [Some(a), Some(b), Some(c)] = corners else {
            let found = shortened(element.written.trim().as_bytes());
            return Err((place, ReadCause::Unexpected { expected: "v1, v2 and v3 of a triangle", found }));
        };
        let (corners, vertices): ([u32; 3], usize) = ([a, b, c], object.positions.len());
        if let Some(&index) = corners.iter().find(|&&index| index as usize >= vertices) {
            return Err((place, ReadCause::IndexOutOfRange { index: index.into(), vertices }));
        }
        object.triangles.push(corners);
        let default = self.default_colour.as_ref();
        let Some(group) = group.or(default.map(|(group, _)| group.as_str())) else { return Ok(()) };
        let Some(colours) = self.groups.get(group) else { return Ok(()) };
        let first = indices[0].or(default.map(|(_, index)| *index));
        for (corner, index) in corners.into_iter().zip(indices) {
            if let Some(&colour) = index.or(first).and_then(|index| colours.get(index)) {
                object.colours.resize(vertices, WHITE);
                object.colours[corner as usize] = colour;
            }
        }
        Ok(())
    }

    fn item(&self, place: Place, element: &Tag) -> Result<Item, Fault> {
        let object = element.attribute("objectid").unwrap_or_default().to_owned();
        // The path of the production extension.
        let part = element.attribute("path").map(|path| path.trim_start_matches('/').to_owned());
        let mut map = DAffine3::IDENTITY;
        if let Some(text) = element.attribute("transform") {
            let numbers: Vec<f64> = text.split_ascii_whitespace().filter_map(|word| number(word.as_bytes())).collect();
            let Ok([a, b, c, d, e, f, g, h, i, x, y, z]) = <[f64; 12]>::try_from(numbers) else {
                let what = "a transform has not twelve numbers";
                return Err((place, ReadCause::Invalid { what, found: shortened(text.as_bytes()) }));
            };
            // 3.3: points are rows, multiplied from the left.
            map.matrix3 = DMat3::from_cols_array(&[a, b, c, d, e, f, g, h, i]);
            map.translation = DVec3::new(x, y, z);
            if !map.is_finite() {
                let what = "a transform has numbers that are not finite";
                return Err((place, ReadCause::Invalid { what, found: shortened(text.as_bytes()) }));
            }
        }
        Ok(Item { part: part.unwrap_or_else(|| self.part.to_owned()), object, map })
    }

    fn start_group(&mut self, element: &Tag) {
        self.group = element.attribute("id").unwrap_or_default().to_owned();
        self.groups.insert(self.group.clone(), Vec::new());
    }

    /// `#RRGGBB` or `#RRGGBBAA`, sRGB (5.1).
    fn add_colour(&mut self, written: Option<&str>) {
        let written = written.unwrap_or_default();
        let channel = |at: usize| u8::from_str_radix(written.get(at..at + 2)?, 16).ok();
        let colour = match [channel(1), channel(3), channel(5)] {
            [Some(r), Some(g), Some(b)] => [r, g, b],
            _ => WHITE,
        };
        self.groups.entry(self.group.clone()).or_default().push(colour);
    }
}

const WHITE: [u8; 3] = [255; 3];

impl Gathered {
    /// Adds an object, moved.
    fn append(&mut self, mut object: Object, map: &DAffine3) {
        let first = self.positions.len();
        self.first_not_finite = self.first_not_finite.or(object.first_not_finite);
        if *map != DAffine3::IDENTITY {
            object.positions.iter_mut().for_each(|p| *p = map.transform_point3(*p));
        }
        if map.matrix3.determinant() < 0.0 {
            object.triangles.iter_mut().for_each(|[_, b, c]| std::mem::swap(b, c));
        }
        if !(object.colours.is_empty() && self.colours.is_empty()) {
            self.colours.resize(first, WHITE);
            self.colours.append(&mut object.colours);
            self.colours.resize(first + object.positions.len(), WHITE);
        }
        if first == 0 {
            self.positions = object.positions;
            self.triangles.append(&mut object.triangles);
        } else {
            self.positions.append(&mut object.positions);
            self.triangles.extend(object.triangles.iter().map(|triangle| triangle.map(|index| index + first as u32)));
        }
    }
}
