//! Damaged files of every format: each is refused with its name, the place, what is wrong and what to do.

#![allow(clippy::unwrap_used, reason = "a test may stop at what it did not expect")]

mod made;

use base::{Report, Work};
use made::*;

/// Checks the whole message of one file.
#[track_caller]
fn check(name: &str, bytes: &[u8], message: &str) {
    let result = scan::read(name, bytes, &Work::quiet(), &mut Report::default());
    let found = result.map_or_else(|error| error.to_string(), |scan| format!("read as {}", scan.format));
    // Advice is one of a few sentences and checked as the end of the message.
    let advice = ADVICE.iter().find(|advice| found.ends_with(*advice));
    let told = advice.map_or(found.as_str(), |advice| found[..found.len() - advice.len()].trim_end_matches([' ', '.']));
    assert_eq!(told, format!("{name}{message}"), "{found}");
    assert!(advice.is_some(), "no advice: {found}");
}

const ADVICE: [&str; 11] = [
    "Export the scan again and check that the copy is complete",
    "Choose the scan itself, or export it again in the right format",
    "The copy or the export was probably cut short: copy or export the scan again",
    "Export the scan as a surface of triangles, not as points or curves",
    "Export the scan as a surface of triangles and check that it is not empty",
    "Repair the scan in the scanning program and export it again",
    "Export the scan again, as binary if you can choose, with a point as decimal sign",
    "The file is damaged or was written wrongly: export the scan again, as binary STL if you can choose",
    "Export the scan in one of these, binary STL or PLY if you can choose",
    "or as binary STL or PLY",
    "or the scan as binary STL",
];

#[test]
fn no_format_at_all() {
    let readable =
        "these can be: STL, PLY, glTF (GLB), 3MF, PNG (height picture), OBJ, points in columns (XYZ, CSV, TXT)";
    let unknown = |looks_like: &str| {
        format!(": no format that can be read was recognised (it looks like {looks_like}); {readable}")
    };
    check("scan.obj", b"", ": the file is empty");
    check("scan", b"", ": the file is empty");
    check("photo.jpg", b"\xff\xd8\xff\xe0 a picture", &unknown("a JPEG picture"));
    check("scan.zip", &zipped(&[("scan.stl", "solid")]), &unknown("a zip archive (a zipped scan, or 3MF)"));
    check("scan.off", b"OFF\n8 6 12\n0 0 0\n", &unknown("an OFF file"));
    check("scan", b"\x00\x01\x02\x03", &unknown("nothing known"));
    check("letter.doc", b"Dear colleague,\nhere is the scan.\n", &unknown("a text file"));
    check("scan.step", b"ISO-10303-21;\nHEADER;\n", &unknown("a STEP file"));
    check("page.html", b"<!DOCTYPE html><html></html>", &unknown("an XML or HTML document"));
}

#[test]
fn stl() {
    let bytes = stl_of(&cube());
    check("a.stl", &[0; 30], ": the file has 30 bytes, and the shortest file of this kind has 84");
    let cut = ", byte 80: the file says it has 12 triangles, which takes 684 bytes, but it has 600 bytes, enough for 10 triangles";
    check("a.stl", &bytes[..600], cut);
    let mut not_a_number = bytes.clone();
    not_a_number[84 + 50 + 12..][..4].copy_from_slice(&f32::NAN.to_le_bytes());
    let place =
        ", triangle 1 (byte 134): 1 triangles have a coordinate that is infinite or not a number; this is the first";
    check("a.stl", &not_a_number, place);
    check("a.stl", b"\xff\xd8\xff\xe0 a picture", ", byte 0: this is not an STL file: it looks like a JPEG picture");
    let text = text_stl_of(&cube());
    check("a.stl", &text[..200], ", line 16: the file stops where normal belongs, after 2 complete triangles");
    let comma = String::from_utf8(text).unwrap().replace("vertex 10 0", "vertex 1,5 0");
    check("a.stl", comma.as_bytes(), ", line 13: expected a number, found \"1,5\"");
    check("a.stl", b"solid a\nendsolid a\n", ": there is no triangle in it (0 had two corners in the same place)");
    check("a.stl", &[0; 84], ": there is no triangle in it (0 had two corners in the same place)");
}

#[test]
fn obj() {
    check("a.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 4\n", ", line 4: a face names vertex 4, but there are 3");
    check("a.obj", b"v 0 0 0\nf -2 1 1\n", ", line 2: a face names vertex -2, but there are 1");
    check("a.obj", b"v 0 0 0\nf 0 1 1\n", ", line 2: a face names vertex 0, but there are 1");
    check("a.obj", b"v 0 0 0\r\nv 1 0 x\r\n", ", line 2: expected a number, found \"x\"");
    check("a.obj", b"v 0 0 0\rv 1,5 0 0\r", ", line 2: expected a number, found \"1,5\"");
    check("a.obj", b"\xef\xbb\xbfv 0 0 0\nv 1 0\n", ", line 2: expected a number, found \"the end of the line\"");
    check("a.obj", b"v 0 0 0\nf 1 a 1\n", ", line 2: expected the number of a vertex, found \"a\"");
    check(
        "a.obj",
        b"v 0 0 0\nf 1//1 99999999999999999999 1\n",
        ", line 2: expected the number of a vertex, found \"99999999999999999999\"",
    );
    let not_a_number = b"v 0 0 0\nv nan 0 0\nv 0 1 0\nf 1 2 3\n";
    check(
        "a.obj",
        not_a_number,
        ", line 2: 1 vertices have a coordinate that is infinite or not a number; this is the first",
    );
    check("a.obj", b"v inf nan 0\n", ": there is no triangle and no point in it");
    check("a.obj", b"v 0 0 0\nf 1 1 1\n", ": there is no triangle in it (1 had two corners in the same place)");
    check("a.obj", b"v 0 0 0\nf 1 1\n", ": there is no triangle in it (1 had two corners in the same place)");
    check("a.obj", b"mtllib a.mtl\n# nothing here\n", ": there is no triangle and no point in it");
    check("a.obj", b"some words that are no scan\n", ": there is no triangle and no point in it");
    check(
        "a.obj",
        b"\xff\xfev\0 \x000\0",
        ": this is not an OBJ file: it looks like a text of 16-bit letters (UTF-16)",
    );
    check("a.obj", b"\x80\x00\x01", ": this is not an OBJ file: it looks like a binary file");
}

#[test]
fn ply() {
    let head = "ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nproperty float y\nproperty float z\n";
    let face = "element face 1\nproperty list uchar int vertex_indices\nend_header\n0 0 0\n1 0 0\n0 1 0\n";
    let with = |tail: &str| format!("{head}{face}{tail}").into_bytes();
    check("a.ply", &with("3 0 1 3\n"), ", line 13: a face names vertex 3, but there are 3");
    check("a.ply", &with("3 0 1 -1\n"), ", line 13: a face names vertex -1, but there are 3");
    check("a.ply", &with("3 0 1.5 2\n"), ", line 13: a face names vertex 1, but there are 3");
    check("a.ply", &with("-3 0 1 2\n"), ", line 13: the length of a list is no count: -3");
    check("a.ply", &with("3 0 1\n"), ", line 13: the file stops where a number belongs, after 0 complete triangles");
    check("a.ply", &with("3 0 one 2\n"), ", line 13: expected a number, found \"one\"");
    check(
        "a.ply",
        &with("99999999999999999999 0 1 2\n"),
        ", line 13: the file stops where a number belongs, after 0 complete triangles",
    );
    check("a.ply", &with("2 0 1\n"), ": there is no triangle in it (1 had two corners in the same place)");
    check("a.ply", &with("3 0 1 1\n"), ": there is no triangle in it (1 had two corners in the same place)");
    let text = String::from_utf8(with("3 0 1 2\n")).unwrap();
    let changed = |from: &str, to: &str| text.replace(from, to).into_bytes();
    let not_finite = "1 vertices have a coordinate that is infinite or not a number; this is the first";
    check("a.ply", &changed("1 0 0", "1 nan 0"), &format!(", line 11: {not_finite}"));
    check(
        "a.ply",
        &changed("ascii 1.0", "binary_middle_endian 1.0"),
        ", line 2: the header names an encoding that PLY does not have: format binary_middle_endian 1.0",
    );
    check(
        "a.ply",
        &changed("format ascii 1.0\n", ""),
        ", line 8: the header ends without having named the encoding: end_header",
    );
    check(
        "a.ply",
        &changed("vertex 3", "vertex three"),
        ", line 3: the header has no count where one belongs: element vertex three",
    );
    check(
        "a.ply",
        &changed("vertex 3", "vertex -3"),
        ", line 3: the header has no count where one belongs: element vertex -3",
    );
    check(
        "a.ply",
        &changed("element vertex 3\n", ""),
        ", line 3: the header has a property before the first element: property float x",
    );
    check("a.ply", &changed("float z", "float w"), ", line 3: the vertices have no coordinate of this name: z");
    check(
        "a.ply",
        &changed("float y", "real y"),
        ", line 5: the header has a property of a type that PLY does not have: property real y",
    );
    check(
        "a.ply",
        &changed("uchar int vertex_indices", "uchar int corners"),
        ", line 7: the faces have no list of their vertices: vertex_indices is missing",
    );
    check(
        "a.ply",
        &changed("element vertex 3", "element points 3"),
        ", line 9: the header announces no vertices: there is no line \"element vertex\"",
    );
    check(
        "a.ply",
        &changed("end_header\n", ""),
        ", line 12: the file stops where end_header belongs, after 0 complete triangles",
    );
    check(
        "a.ply",
        &text.as_bytes()[..60],
        ", line 5: the file stops where end_header belongs, after 0 complete triangles",
    );
    check("a.ply", &text.as_bytes()[4..], ", byte 0: this is not a PLY file: it looks like a text file");

    let bytes = ply_of(&cube(), "binary_little_endian");
    let start = bytes.windows(11).position(|word| word == b"end_header\n").unwrap() + 11;
    check(
        "a.ply",
        &bytes[..start + 90],
        &format!(", byte {start}: what the header calls the vertices should take 96 bytes, and 90 are there"),
    );
    let faces = start + 96;
    check(
        "a.ply",
        &bytes[..faces + 100],
        &format!(", byte {}: the next number should take 4 bytes, and 0 are there", faces + 100 - 100 % 13 + 9),
    );
    let huge = String::from_utf8_lossy(&bytes[..start]).replace("vertex 8", "vertex 9999999999999999999");
    let huge = [huge.as_bytes(), &bytes[start..]].concat();
    let place = start + "9999999999999999999".len() - 1;
    check(
        "a.ply",
        &huge,
        &format!(
            ", byte {place}: what the header calls the vertices should take {} bytes, and 252 are there",
            u64::MAX
        ),
    );
    let mut index = bytes.clone();
    index[faces + 13 + 1..][..4].copy_from_slice(&1_000_000u32.to_le_bytes());
    check("a.ply", &index, &format!(", face 1 (byte {}): a face names vertex 1000000, but there are 8", faces + 13));
    let mut infinite = bytes.clone();
    infinite[start + 24 + 4..][..4].copy_from_slice(&f32::INFINITY.to_le_bytes());
    check("a.ply", &infinite, &format!(", vertex 2 (byte {}): {not_finite}", start + 24));
    let mut long = bytes.clone();
    long[faces] = 255;
    assert!(scan::read("a.ply", &long, &Work::quiet(), &mut Report::default()).is_err());
}

#[test]
fn gltf() {
    let cube = cube();
    let data = gltf_data(&cube);
    let bytes = glb_of(&cube);
    check("a.glb", &bytes[..10], ": the file has 10 bytes, and the shortest file of this kind has 20");
    let found = bytes.len() - 100;
    check(
        "a.glb",
        &bytes[..found],
        &format!(", byte 8: the file should take {} bytes, and {found} are there", bytes.len()),
    );
    let mut old = bytes.clone();
    old[4] = 1;
    check("a.glb", &old, ", byte 4: this version of glTF cannot be read here: 1. Export it as glTF 2.0,");
    let mut chunk = bytes.clone();
    chunk[12..16].copy_from_slice(&u32::MAX.to_le_bytes());
    check(
        "a.glb",
        &chunk,
        &format!(", byte 12: a chunk should take 4294967295 bytes, and {} are there", bytes.len() - 20),
    );
    let mut kind = bytes.clone();
    kind[16] = b'?';
    check("a.glb", &kind, ", byte 12: the first chunk is not the description (JSON): another kind");
    check(
        "a.glb",
        &glb("{\"asset\":", &data),
        ", byte 20: the description (JSON) in the file is broken: EOF while parsing a value at line 1 column 12",
    );
    check("a.glb", &glb("{}", &data), ": the version (asset) is missing: every glTF file has one");
    let json = gltf_json(&cube, None, ONE_NODE, "");
    let changed = |from: &str, to: &str| {
        assert!(json.contains(from), "{from}");
        glb(&json.replace(from, to), &data)
    };
    check(
        "a.glb",
        &changed("\"2.0\"", "\"1.0\""),
        ": this version of glTF cannot be read here: 1.0. Export it as glTF 2.0,",
    );
    let plain = "Export it without compression (Draco, meshopt) and other extensions,";
    let required = |extension: &str| {
        let extra = format!("\"extensionsRequired\":[\"KHR_materials_unlit\",\"{extension}\"],");
        glb(&gltf_json(&cube, None, ONE_NODE, &extra), &data)
    };
    for extension in ["KHR_draco_mesh_compression", "EXT_meshopt_compression"] {
        let message = format!(": an extension that this file requires cannot be read here: {extension}. {plain}");
        check("a.glb", &required(extension), &message);
    }
    let outside = gltf_json(&cube, Some("scan.bin"), ONE_NODE, "");
    let result = scan::read("a.gltf", outside.as_bytes(), &Work::quiet(), &mut Report::default());
    let message = "a.gltf: a buffer outside this file cannot be read here: scan.bin. Export it as one binary .glb file, which holds everything";
    assert_eq!(result.unwrap_err().to_string(), message);
    let broken = gltf_json(&cube, Some("data:application/octet-stream;base64,AAAA*AAA"), ONE_NODE, "");
    check("a.gltf", broken.as_bytes(), ": a buffer within the file is broken (base64): Invalid symbol 42, offset 4");
    check(
        "a.glb",
        &changed("\"byteLength\":240}", "\"byteLength\":9999}"),
        ": a buffer should take 9999 bytes, and 240 are there",
    );
    let far = changed("\"count\":8", "\"count\":4000000000");
    let farther = changed("\"count\":8", "\"count\":18446744073709551615");
    check(
        "a.glb",
        &far,
        &format!(", byte {}: a list of numbers should take 48000000000 bytes, and 240 are there", far.len() - 240),
    );
    check(
        "a.glb",
        &farther,
        &format!(
            ", byte {}: a list of numbers should take 18446744073709551615 bytes, and 240 are there",
            farther.len() - 240
        ),
    );
    check(
        "a.glb",
        &changed("\"type\":\"VEC3\"", "\"type\":\"VEC2\""),
        ": a list of numbers is of a type that does not fit here: accessors 0",
    );
    check("a.glb", &changed("5126", "5130"), ": a list of numbers is of a type that glTF does not have: accessors 0");
    check(
        "a.glb",
        &changed("\"indices\":1", "\"indices\":7"),
        ": the file names an item that it does not have: accessors 7",
    );
    check(
        "a.glb",
        &changed("{\"mesh\":0}", "{\"mesh\":3}"),
        ": the file names an item that it does not have: meshes 3",
    );
    check(
        "a.glb",
        &changed("{\"mesh\":0}", "{\"mesh\":0,\"children\":[0]}"),
        ": a node stands in the scene twice: nodes 0",
    );
    check(
        "a.glb",
        &changed("\"bufferView\":1", "\"sparse\":{}"),
        &format!(": data stored in part only (sparse) cannot be read here: accessors 1. {plain}"),
    );
    check("a.glb", &changed("{\"mesh\":0}", "{}"), ": there is no triangle and no point in it");
    let start = bytes.len() - data.len();
    let mut index = bytes.clone();
    index[start + 96 + 12..][..4].copy_from_slice(&8u32.to_le_bytes());
    check("a.glb", &index, &format!(", face 1 (byte {}): a face names vertex 8, but there are 8", start + 108));
    let mut not_a_number = bytes.clone();
    not_a_number[start + 12..][..4].copy_from_slice(&f32::NAN.to_le_bytes());
    check(
        "a.glb",
        &not_a_number,
        &format!(
            ", vertex 1 (byte {}): 1 vertices have a coordinate that is infinite or not a number; this is the first",
            start + 12
        ),
    );
    let many = format!(
        "[{{\"children\":[{}]}}{}]",
        (1..20_000).map(|n| n.to_string()).collect::<Vec<_>>().join(","),
        ",{\"mesh\":0}".repeat(19_999)
    );
    let sphere = sphere();
    check(
        "a.glb",
        &glb(&gltf_json(&sphere, None, &many, ""), &gltf_data(&sphere)),
        ": the same surface stands in the scene over and over: meshes 0",
    );
    check("a.gltf", b"[1, 2, 3]", ", byte 0: this is not a glTF file: it looks like a text file");
}

#[test]
fn threemf() {
    let object = format!("<object id=\"1\">{}</object>", xml_mesh(&cube()));
    let package = |attributes: &str, object: &str, item: &str| made::threemf(&xml_model(attributes, object, item));
    let bytes = package("", &object, ONE_ITEM);
    let cut = scan::read("a.3mf", &bytes[..bytes.len() - 30], &Work::quiet(), &mut Report::default()).unwrap_err();
    assert!(cut.to_string().starts_with("a.3mf: the zip archive is damaged or cut short: the archive: "), "{cut}");
    check(
        "a.3mf",
        &zipped(&[("notes.txt", "nothing")]),
        ": this is not a 3MF file: it looks like a zip archive without a model in it: unpack it first",
    );
    check("a.3mf", b"plain text", ", byte 0: this is not a 3MF file: it looks like a text file");
    let beams = "requiredextensions=\"b\" xmlns:b=\"http://schemas.microsoft.com/3dmanufacturing/beamlattice/2017/02\"";
    check(
        "a.3mf",
        &package(beams, &object, ONE_ITEM),
        ", byte 39 of the unpacked model: an extension that this file requires cannot be read here: http://schemas.microsoft.com/3dmanufacturing/beamlattice/2017/02. Export it as plain 3MF without extensions or a password,",
    );
    check(
        "a.3mf",
        &package("unit=\"cubit\"", &object, ONE_ITEM),
        ", byte 39 of the unpacked model: the model has a unit that 3MF does not have: cubit",
    );
    check(
        "a.3mf",
        &package("", &object, "<item objectid=\"7\"/>"),
        ": the model names an object that it does not have: object 7 in 3D/3dmodel.model",
    );
    check("a.3mf", &package("", &object, ""), ": nothing is to be built: the model has no items");
    check("a.3mf", &made::threemf("<svg></svg>"), ", byte 0 of the unpacked model: the part is no 3MF model: svg");
    check("a.3mf", &made::threemf("not XML at all"), ": the part is no model: 3D/3dmodel.model");
    let starts = |bytes: &[u8], message: &str| {
        let error = scan::read("a.3mf", bytes, &Work::quiet(), &mut Report::default()).unwrap_err().to_string();
        assert!(error.starts_with(&format!("a.3mf, byte {message}")), "{error}");
        assert!(ADVICE.iter().any(|advice| error.ends_with(advice)), "{error}");
    };
    let at = |model: &str, piece: &str| model.find(piece).unwrap();
    let model = xml_model("", &object, ONE_ITEM);
    let changed = |from: &str, to: &str| model.replacen(from, to, 1);
    let index = changed("v1=\"0\"", "v1=\"800\"");
    starts(
        &made::threemf(&index),
        &format!(
            "{} of the unpacked model: a face names vertex 800, but there are 8",
            at(&index, "<triangle v1=\"800\"")
        ),
    );
    let letter = changed("x=\"0\"", "x=\"O\"");
    starts(
        &made::threemf(&letter),
        &format!(
            "{} of the unpacked model: expected x, y and z of a vertex, found \"x=\"O\"",
            at(&letter, "<vertex x=\"O\"")
        ),
    );
    let not_a_number = changed("x=\"0\"", "x=\"nan\"");
    starts(
        &made::threemf(&not_a_number),
        &format!("{} of the unpacked model: 1 vertices have a coordinate", at(&not_a_number, "<vertex x=\"nan\"")),
    );
    let unclosed = &model[..model.len() - 40];
    starts(
        &made::threemf(unclosed),
        &format!("{} of the unpacked model: the model in the file is ", unclosed.rfind('<').unwrap()),
    );
    let crossed = changed("</vertices>", "</triangles>");
    starts(
        &made::threemf(&crossed),
        &format!(
            "{} of the unpacked model: the model in the file is broken (XML): 3D/3dmodel.model: ",
            at(&crossed, "</triangles>")
        ),
    );
    let transform = changed("objectid=\"1\"", "objectid=\"1\" transform=\"1 0 0\"");
    starts(
        &made::threemf(&transform),
        &format!("{} of the unpacked model: a transform has not twelve numbers: 1 0 0", at(&transform, "<item")),
    );
    let infinite = changed("objectid=\"1\"", "objectid=\"1\" transform=\"1 0 0 0 1 0 0 0 inf 0 0 0\"");
    starts(
        &made::threemf(&infinite),
        &format!("{} of the unpacked model: a transform has numbers that are not finite", at(&infinite, "<item")),
    );

    let ring = "<object id=\"1\"><components><component objectid=\"1\"/></components></object>";
    check(
        "a.3mf",
        &package("", ring, ONE_ITEM),
        ": objects are made of objects without end: object 1 in 3D/3dmodel.model",
    );
    let mut doubling = object.clone();
    for id in 2..60 {
        let component = format!("<component objectid=\"{}\"/>", id - 1).repeat(2);
        doubling += &format!("<object id=\"{id}\"><components>{component}</components></object>");
    }
    check(
        "a.3mf",
        &package("", &doubling, "<item objectid=\"30\"/>"),
        ": objects are made of objects without end: object 1 in 3D/3dmodel.model",
    );
    // Small bombs: blanks that pack to a thousandth, and one endless attribute.
    let blanks = made::threemf(&changed("<mesh>", &format!("{}<mesh>", "<metadata/>          ".repeat(200_000))));
    starts(&blanks, "");
    let endless = made::threemf(&changed("<mesh>", &format!("<mesh name=\"{}\">", "ab".repeat(1 << 20))));
    starts(&endless, "");
    let missing = zipped(&[
        ("_rels/.rels", "<Relationships><Relationship Type=\"a/3dmodel\" Target=\"/3D/other.model\"/></Relationships>"),
        ("3D/a.model", &model),
    ]);
    check("a.3mf", &missing, ": the zip archive is damaged or cut short: 3D/other.model: not in the archive");
    // Compression method 12 (bzip2) in place of 8, in both headers of every entry.
    let mut other = bytes.clone();
    for at in 0..other.len() - 12 {
        match &other[at..at + 4] {
            b"PK\x03\x04" => other[at + 8] = 12,
            b"PK\x01\x02" => other[at + 10] = 12,
            _ => {}
        }
    }
    let error = scan::read("a.3mf", &other, &Work::quiet(), &mut Report::default()).unwrap_err().to_string();
    assert!(error.starts_with("a.3mf: this kind of packing cannot be read here: "), "{error}");
}

#[test]
fn png() {
    let levels = [500; 12];
    let bytes = png_of(4, 3, &levels, None);
    let cut = "the picture is damaged or cut short: ";
    check("a.png", &bytes[..20], ", byte 8: a part of the picture should take 25 bytes, and 12 are there");
    check("a.png", &bytes[..8], ", byte 8: the picture does not say its size: IHDR is missing");
    check("a.png", b"\xff\xd8\xff\xe0", ", byte 0: this is not a PNG picture: it looks like a JPEG picture");
    check("a.png", &bytes[..33], ", byte 0: the picture when unpacked should take 27 bytes, and 0 are there");
    let head =
        |columns: u32, rows: u32, rest: [u8; 5]| [&columns.to_be_bytes()[..], &rows.to_be_bytes(), &rest].concat();
    let rows = |rows: usize| deflated(&[0; 9].repeat(rows));
    let grey = [16, 0, 0, 0, 0];
    check("a.png", &made::png(&head(4, 3, grey), None, &rows(2)), &format!(", byte 33: {cut}2 of 3 rows can be read"));
    check(
        "a.png",
        &made::png(&head(4, 3, grey), None, b"not packed"),
        &format!(", byte 33: {cut}0 of 3 rows can be read"),
    );
    let mut filter = [0; 27];
    filter[9] = 9;
    check(
        "a.png",
        &made::png(&head(4, 3, grey), None, &deflated(&filter)),
        ", byte 33: a row of the picture is packed in a way that PNG does not have: row 1, filter 9",
    );
    let advice = ". Export the height picture in greys of 16 bits, without interlacing,";
    for (rest, found) in [
        ([8, 2, 0, 0, 0], "colours, 8 bits"),
        ([8, 3, 0, 0, 0], "colours of a palette, 8 bits"),
        ([16, 4, 0, 0, 0], "greys with an opacity, 16 bits"),
        ([16, 6, 0, 0, 0], "colours with an opacity, 16 bits"),
        ([1, 0, 0, 0, 0], "greys, 1 bits"),
        ([16, 0, 0, 0, 1], "interlaced"),
    ] {
        let bytes = made::png(&head(4, 3, rest), None, &rows(3));
        check("a.png", &bytes, &format!(", byte 8: a height picture cannot be read here: {found}{advice}"));
    }
    let size = format!("100000 by 100000 pixels, at most 67108864 in all{advice}");
    check(
        "a.png",
        &made::png(&head(100_000, 100_000, grey), None, &rows(3)),
        &format!(", byte 8: a picture of this size cannot be read here: {size}"),
    );
    // A claim of 128 MB over a few bytes.
    let packed = rows(3).len();
    let bomb =
        format!(", byte 33: the picture when unpacked should take 134225920 bytes, and {} are there", packed * 1040);
    check("a.png", &made::png(&head(8192, 8192, grey), None, &rows(3)), &bomb);
    check(
        "a.png",
        &made::png(&head(4, 3, grey)[..9], None, &rows(3)),
        ", byte 8: the head of the picture should take 13 bytes, and 9 are there",
    );
}

#[test]
fn points() {
    check("a.xyz", b"1 2 3\n4 5\n", ", line 2: expected a coordinate, found \"\"");
    check("a.xyz", b"1 2 3\n4 five 6\n", ", line 2: expected a coordinate, found \"five\"");
    check("a.csv", b"x,y,z\n1,2,3\n4,,6\n", ", line 3: expected a coordinate, found \"\"");
    check("a.csv", b"x;y;z\n1,5;2;3\n1.000,5;2;3\n", ", line 3: expected a coordinate, found \"1.000,5\"");
    check(
        "a.txt",
        b"Dear colleague,\nhere is the scan.\n",
        ", line 1: expected three coordinates, found \"Dear colleague,\"",
    );
    check("a.xyz", b"1 2\n3 4\n", ", line 1: expected three coordinates, found \"1 2\"");
    check("a.xyz", b"# only\r# comments\r", ", line 1: expected three coordinates, found \"the end of the file\"");
    check("a.xyz", b"nan nan nan\ninf 0 0\n", ": there is no triangle and no point in it");
    check("a.xyz", b"\x01\x02\x03", ": this is not points in columns of text: it looks like a binary file");
    check(
        "a.csv",
        b"\xff\xfe1\0,\x002\0,\x003\0",
        ": this is not points in columns of text: it looks like a text of 16-bit letters (UTF-16)",
    );
}
