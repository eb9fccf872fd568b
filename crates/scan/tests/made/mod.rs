//! Small files of every format, written here by hand after the published specifications.

#![allow(dead_code, reason = "each test takes what it needs")]

use base64::Engine;
use glam::{DVec3, Vec3};
use mesh::{TriMesh, shapes, stl};
use std::io::{Cursor, Write};

/// A sphere whose coordinates are 32-bit numbers, away from the origin.
pub(crate) fn sphere() -> TriMesh {
    let sphere = shapes::icosphere(40.0, 2);
    single(&sphere, Vec3::new(3.0, -7.0, 50.0))
}

/// A cube of 10.
pub(crate) fn cube() -> TriMesh {
    shapes::cuboid(DVec3::ZERO, DVec3::splat(10.0))
}

fn single(mesh: &TriMesh, by: Vec3) -> TriMesh {
    let positions = mesh.positions().iter().map(|p| (p.as_vec3() + by).as_dvec3()).collect();
    TriMesh::new(positions, mesh.triangles().to_vec()).unwrap()
}

/// One mesh in every format that holds meshes, each with a fitting name.
pub(crate) fn meshes(mesh: &TriMesh) -> Vec<(&'static str, Vec<u8>)> {
    vec![
        ("binary.stl", stl_of(mesh)),
        ("text.stl", text_stl_of(mesh)),
        ("scan.obj", obj_of(mesh)),
        ("text.ply", ply_of(mesh, "ascii")),
        ("little.ply", ply_of(mesh, "binary_little_endian")),
        ("big.ply", ply_of(mesh, "binary_big_endian")),
        ("scan.glb", glb_of(mesh)),
        ("scan.gltf", gltf_of(mesh)),
        ("scan.3mf", threemf_of(mesh)),
    ]
}

/// What holds no mesh: points and a picture.
pub(crate) fn others() -> Vec<(&'static str, Vec<u8>)> {
    let points = cube().positions().iter().map(|p| format!("{} {} {}\n", p.x, p.y, p.z)).collect::<String>();
    let csv = String::from("x;y;z;red;green;blue\n1,5;2,5;3,5;10;20;30\n1;2;3;255;0;7\n");
    let levels: Vec<u16> = (0..12).map(|level| 1000 + 10 * level).collect();
    vec![
        ("points.xyz", points.into_bytes()),
        ("points.csv", csv.into_bytes()),
        ("heights.png", png_of(4, 3, &levels, Some(2000))),
    ]
}

pub(crate) fn stl_of(mesh: &TriMesh) -> Vec<u8> {
    let mut bytes = Vec::new();
    stl::write_stl(mesh, "", &mut bytes).unwrap();
    bytes
}

pub(crate) fn text_stl_of(mesh: &TriMesh) -> Vec<u8> {
    let mut text = String::from("solid scan\n");
    for &triangle in mesh.triangles() {
        text += "facet normal 0 0 0\nouter loop\n";
        for p in mesh.corners(triangle) {
            text += &format!("vertex {} {} {}\n", p.x, p.y, p.z);
        }
        text += "endloop\nendfacet\n";
    }
    (text + "endsolid scan\n").into_bytes()
}

pub(crate) fn obj_of(mesh: &TriMesh) -> Vec<u8> {
    let mut text = String::from("# by hand\nmtllib none.mtl\no scan\n");
    for p in mesh.positions() {
        text += &format!("v {} {} {}\n", p.x, p.y, p.z);
    }
    text += "vn 0 0 1\n";
    for [a, b, c] in mesh.triangles() {
        text += &format!("f {}//1 {}//1 {}//1\n", a + 1, b + 1, c + 1);
    }
    text.into_bytes()
}

pub(crate) fn ply_of(mesh: &TriMesh, encoding: &str) -> Vec<u8> {
    let (vertices, faces) = (mesh.positions().len(), mesh.triangles().len());
    let mut bytes = format!(
        "ply\nformat {encoding} 1.0\ncomment by hand\nelement vertex {vertices}\nproperty float x\nproperty float y\n\
         property float z\nelement face {faces}\nproperty list uchar int vertex_indices\nend_header\n"
    )
    .into_bytes();
    for p in mesh.positions() {
        match encoding {
            "ascii" => bytes.extend(format!("{} {} {}\n", p.x, p.y, p.z).bytes()),
            "binary_big_endian" => bytes.extend(p.as_vec3().to_array().iter().flat_map(|x| x.to_be_bytes())),
            _ => bytes.extend(p.as_vec3().to_array().iter().flat_map(|x| x.to_le_bytes())),
        }
    }
    for t in mesh.triangles() {
        match encoding {
            "ascii" => bytes.extend(format!("3 {} {} {}\n", t[0], t[1], t[2]).bytes()),
            "binary_big_endian" => bytes.extend([3].into_iter().chain(t.iter().flat_map(|x| x.to_be_bytes()))),
            _ => bytes.extend([3].into_iter().chain(t.iter().flat_map(|x| x.to_le_bytes()))),
        }
    }
    bytes
}

/// Positions, then indices: the data of a glTF file.
pub(crate) fn gltf_data(mesh: &TriMesh) -> Vec<u8> {
    let positions = mesh.positions().iter().flat_map(|p| p.as_vec3().to_array()).flat_map(f32::to_le_bytes);
    let indices = mesh.triangles().as_flattened().iter().flat_map(|index| index.to_le_bytes());
    positions.chain(indices).collect()
}

/// The JSON of a glTF file; `nodes` and `extra` (with a comma behind) as they are.
pub(crate) fn gltf_json(mesh: &TriMesh, uri: Option<&str>, nodes: &str, extra: &str) -> String {
    let (vertices, corners) = (mesh.positions().len(), mesh.triangles().len() * 3);
    let (first, second) = (vertices * 12, corners * 4);
    let uri = uri.map_or(String::new(), |uri| format!(r#""uri":"{uri}","#));
    format!(
        r#"{{"asset":{{"version":"2.0"}},{extra}"scene":0,"scenes":[{{"nodes":[0]}}],"nodes":{nodes},
        "meshes":[{{"primitives":[{{"attributes":{{"POSITION":0}},"indices":1}}]}}],
        "accessors":[{{"bufferView":0,"componentType":5126,"count":{vertices},"type":"VEC3"}},
        {{"bufferView":1,"componentType":5125,"count":{corners},"type":"SCALAR"}}],
        "bufferViews":[{{"buffer":0,"byteLength":{first}}},{{"buffer":0,"byteOffset":{first},"byteLength":{second}}}],
        "buffers":[{{{uri}"byteLength":{}}}]}}"#,
        first + second
    )
}

pub(crate) const ONE_NODE: &str = r#"[{"mesh":0}]"#;

pub(crate) fn glb_of(mesh: &TriMesh) -> Vec<u8> {
    glb(&gltf_json(mesh, None, ONE_NODE, ""), &gltf_data(mesh))
}

pub(crate) fn gltf_of(mesh: &TriMesh) -> Vec<u8> {
    let data = base64::engine::general_purpose::STANDARD.encode(gltf_data(mesh));
    gltf_json(mesh, Some(&format!("data:application/octet-stream;base64,{data}")), ONE_NODE, "").into_bytes()
}

/// glTF 2.0, 4.4: header, JSON chunk padded with blanks, binary chunk padded with zeros.
pub(crate) fn glb(json: &str, data: &[u8]) -> Vec<u8> {
    let mut json = json.as_bytes().to_vec();
    json.resize(json.len().next_multiple_of(4), b' ');
    let mut data = data.to_vec();
    data.resize(data.len().next_multiple_of(4), 0);
    let mut bytes = b"glTF\x02\0\0\0".to_vec();
    bytes.extend((12 + 8 + json.len() as u32 + 8 + data.len() as u32).to_le_bytes());
    for (kind, chunk) in [(b"JSON", &json), (b"BIN\0", &data)] {
        bytes.extend((chunk.len() as u32).to_le_bytes());
        bytes.extend(kind);
        bytes.extend(chunk);
    }
    bytes
}

pub(crate) const CORE: &str = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02";

pub(crate) fn xml_mesh(mesh: &TriMesh) -> String {
    let mut xml = String::from("<mesh><vertices>\n");
    for p in mesh.positions() {
        xml += &format!("<vertex x=\"{}\" y=\"{}\" z=\"{}\" />\n", p.x, p.y, p.z);
    }
    xml += "</vertices><triangles>\n";
    for [a, b, c] in mesh.triangles() {
        xml += &format!("<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\"/>\n");
    }
    xml + "</triangles></mesh>"
}

/// A whole model part with these attributes, resources and items.
pub(crate) fn xml_model(attributes: &str, resources: &str, items: &str) -> String {
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<model xmlns=\"{CORE}\" {attributes}><resources>{resources}\
         </resources><build>{items}</build></model>"
    )
}

pub(crate) const ONE_ITEM: &str = "<item objectid=\"1\"/>";

pub(crate) fn threemf_of(mesh: &TriMesh) -> Vec<u8> {
    let object = format!("<object id=\"1\" type=\"model\">{}</object>", xml_mesh(mesh));
    threemf(&xml_model("unit=\"millimeter\"", &object, ONE_ITEM))
}

/// The package around a model (3MF core, 2.1).
pub(crate) fn threemf(model: &str) -> Vec<u8> {
    const TYPES: &str = r#"<?xml version="1.0" encoding="UTF-8"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>"#;
    const RELATIONS: &str = r#"<?xml version="1.0" encoding="UTF-8"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Target="/3D/3dmodel.model" Id="rel0" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>"#;
    zipped(&[("[Content_Types].xml", TYPES), ("_rels/.rels", RELATIONS), ("3D/3dmodel.model", model)])
}

pub(crate) fn zipped(parts: &[(&str, &str)]) -> Vec<u8> {
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let options = zip::write::SimpleFileOptions::default().last_modified_time(zip::DateTime::default());
    for (name, text) in parts {
        archive.start_file(*name, options).unwrap();
        archive.write_all(text.as_bytes()).unwrap();
    }
    archive.finish().unwrap().into_inner()
}

/// A PNG of 16-bit greys, without filters.
pub(crate) fn png_of(columns: u32, rows: u32, levels: &[u16], per_metre: Option<u32>) -> Vec<u8> {
    let mut raw = Vec::new();
    for row in levels.chunks(columns as usize) {
        raw.push(0);
        raw.extend(row.iter().flat_map(|level| level.to_be_bytes()));
    }
    let head = [&columns.to_be_bytes()[..], &rows.to_be_bytes(), &[16, 0, 0, 0, 0]].concat();
    let size = per_metre.map(|n| [&n.to_be_bytes()[..], &n.to_be_bytes(), &[1]].concat());
    png(&head, size.as_deref(), &deflated(&raw))
}

pub(crate) fn deflated(raw: &[u8]) -> Vec<u8> {
    let mut packer = flate2::write::ZlibEncoder::new(Vec::new(), flate2::Compression::default());
    packer.write_all(raw).unwrap();
    packer.finish().unwrap()
}

/// PNG, 5.2 and 5.3: signature and chunks.
pub(crate) fn png(head: &[u8], size: Option<&[u8]>, data: &[u8]) -> Vec<u8> {
    let mut bytes = b"\x89PNG\r\n\x1a\n".to_vec();
    let mut chunk = |kind: &[u8; 4], data: &[u8]| {
        bytes.extend((data.len() as u32).to_be_bytes());
        bytes.extend(kind);
        bytes.extend(data);
        let mut sum = flate2::Crc::new();
        sum.update(kind);
        sum.update(data);
        bytes.extend(sum.sum().to_be_bytes());
    };
    chunk(b"IHDR", head);
    if let Some(size) = size {
        chunk(b"pHYs", size);
    }
    let (first, second) = data.split_at(data.len() / 2);
    chunk(b"IDAT", first);
    chunk(b"IDAT", second);
    chunk(b"IEND", b"");
    bytes
}
