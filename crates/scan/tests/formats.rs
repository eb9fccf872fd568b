//! The same surface in every format is the same mesh; and what each format has of its own.

#![allow(clippy::unwrap_used, reason = "a test may stop at what it did not expect")]

mod made;

use base::{LengthUnit, Report, Work};
use glam::DVec3;
use made::*;
use mesh::TriMesh;
use scan::{ALL, HeightFault, HeightImage, HeightScale, HeightScaleFault, RawScan, Shape};

fn read(name: &str, bytes: &[u8]) -> RawScan {
    scan::read(name, bytes, &Work::quiet(), &mut Report::default()).unwrap()
}

fn notes(name: &str, bytes: &[u8]) -> Vec<String> {
    let mut report = Report::default();
    scan::read(name, bytes, &Work::quiet(), &mut report).unwrap();
    report.notes.into_iter().map(|note| note.code).collect()
}

fn mesh_of(scan: RawScan) -> TriMesh {
    let Shape::Mesh(mesh) = scan.shape else { unreachable!("not a mesh") };
    mesh
}

fn points_of(scan: RawScan) -> (Vec<DVec3>, Vec<[u8; 3]>) {
    let Shape::Points(points) = scan.shape else { unreachable!("not points") };
    (points, scan.colours)
}

fn heights_of(scan: RawScan) -> HeightImage {
    let Shape::Heights(image) = scan.shape else { unreachable!("not a picture") };
    image
}

#[test]
fn the_same_surface_in_every_format_is_the_same_mesh() {
    let sphere = sphere();
    let expected = mesh_of(read("a.stl", &stl_of(&sphere)));
    for (name, bytes) in meshes(&sphere) {
        // The name does not matter where the content tells.
        for given in [name, "scan", "scan.stl", "scan.xyz"] {
            assert_eq!(mesh_of(read(given, &bytes)), expected, "{name} as {given}");
        }
    }
}

#[test]
fn every_format_recognises_its_own_files_and_no_other() {
    let mut seen = Vec::new();
    for (name, bytes) in meshes(&cube()).into_iter().chain(others()) {
        let by: Vec<_> = ALL.iter().filter(|format| format.recognises("", &bytes)).map(|format| format.id()).collect();
        assert_eq!(by, [read(name, &bytes).format], "{name}");
        assert!(notes(name, &bytes).is_empty(), "{name}: {:?}", notes(name, &bytes));
        seen.extend(by);
    }
    for format in ALL {
        assert!(seen.contains(&format.id()), "no test file for {}", format.id());
        assert!(ALL.iter().filter(|other| other.id() == format.id()).count() == 1);
        assert!(!format.extensions().is_empty() && !format.label().is_empty());
    }
    assert_eq!(notes("scan.stl", &obj_of(&cube())), ["scan_format_not_as_named"]);
}

#[test]
fn vertices_split_along_a_seam_are_one_again() {
    // Two triangles with their own corners each; -0 is 0.
    let obj = "v 0 0 0\nv 1 0 0\nv 0 1 0\nv 1 0 -0\nv 1 1 0\nv 0 1 0\nv 9 9 9\nf 1 2 3\nf 4 5 6\n";
    let mesh = mesh_of(read("seam.obj", obj.as_bytes()));
    assert_eq!(mesh.positions().len(), 4);
    assert_eq!(mesh.triangles(), [[0, 1, 2], [1, 3, 2]]);
}

#[test]
fn obj_polygons_numbers_from_the_end_and_colours() {
    let obj = "v 0 0 0 1 0 0\nv 1 0 0 0 1 0\r\nv 1 1 0 0 0 1\rv 0 1 0 1 1 1\nf -4/1/1 \\\n-3/2 -2 -1\n";
    let scan = read("a.obj", obj.as_bytes());
    assert_eq!(scan.colours, [[255, 0, 0], [0, 255, 0], [0, 0, 255], [255, 255, 255]]);
    assert_eq!(mesh_of(scan).triangles(), [[0, 1, 2], [0, 2, 3]]);
    assert_eq!(notes("a.obj", obj.as_bytes()), ["scan_polygons_split"]);
    // A weight is no colour, and a file without faces is a cloud.
    let cloud = points_of(read("a.obj", b"v 1 2 3 1\nv 4 5 6 1\n"));
    assert_eq!(cloud, (vec![DVec3::new(1.0, 2.0, 3.0), DVec3::new(4.0, 5.0, 6.0)], vec![]));
}

#[test]
fn ply_polygons_strips_colours_types_and_points() {
    let head = "ply\nformat ascii 1.0\nelement vertex 4\nproperty uchar red\nproperty uchar green\nproperty uchar blue\n\
                property double x\nproperty double y\nproperty double z\n";
    let vertices = "255 0 0 0 0 0\n0 255 0 0.1 0 0\n0 0 255 0.1 1 0\n9 9 9 0 1 0\n";
    let quad = format!("{head}element face 1\nproperty list int uint vertex_index\nend_header\n{vertices}4 0 1 2 3\n");
    let scan = read("a.ply", quad.as_bytes());
    assert_eq!(scan.colours, [[255, 0, 0], [0, 255, 0], [0, 0, 255], [9, 9, 9]]);
    let mesh = mesh_of(scan);
    assert_eq!(mesh.triangles(), [[0, 1, 2], [0, 2, 3]]);
    assert_eq!(mesh.positions()[1], DVec3::new(0.1, 0.0, 0.0));

    let strip = format!(
        "{head}element tristrips 1\nproperty list int int vertex_indices\nend_header\n{vertices}8 0 1 3 2 -1 0 2 3\n"
    );
    assert_eq!(mesh_of(read("a.ply", strip.as_bytes())).triangles(), [[0, 1, 2], [2, 1, 3], [0, 3, 2]]);

    // Old line ends, before binary data that start with what could be the second half of a line end.
    let mut old = b"ply\rformat binary_big_endian 1.0\relement vertex 1\rproperty char x\rproperty short y\r\
                    property float z\relement nothing 5\rend_header\r"
        .to_vec();
    old.extend([10, 0xff, 0xfe]);
    old.extend(0.5f32.to_be_bytes());
    assert_eq!(points_of(read("old.ply", &old)).0, [DVec3::new(10.0, -2.0, 0.5)]);

    let floats = "ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\nproperty float y\nproperty float z\n\
                  property float red\nproperty float green\nproperty float blue\nend_header\n1 2 3 0 0.5 2\n";
    assert_eq!(points_of(read("a.ply", floats.as_bytes())).1, [[0, 128, 255]]);
}

#[test]
fn gltf_moves_meshes_by_their_nodes() {
    let cube = cube();
    // A child turned a quarter about z and mirrored in x, in a parent that moves and doubles; and the mesh once more.
    let nodes = r#"[{"children":[1,2],"translation":[100,0,0],"scale":[2,2,2]},
        {"mesh":0,"rotation":[0,0,0.7071067811865476,0.7071067811865476],"scale":[-1,1,1]},
        {"mesh":0,"matrix":[1,0,0,0,0,1,0,0,0,0,1,0,50,0,0,1]}]"#;
    let bytes = glb(&gltf_json(&cube, None, nodes, ""), &gltf_data(&cube));
    let scan = read("two.glb", &bytes);
    assert_eq!(scan.unit, Some(LengthUnit::Metre));
    let mesh = mesh_of(scan);
    // Outside stays outside under the mirror: the volumes add.
    assert!((mesh.signed_volume_mm3() - 2.0 * 8000.0).abs() < 1e-6, "{}", mesh.signed_volume_mm3());
    let (lo, hi) = mesh.bounds().unwrap();
    // (x, y) → (−x, y) → turned: (−y, −x) → doubled, moved.
    assert!(lo.distance(DVec3::new(80.0, -20.0, 0.0)) < 1e-9, "{lo}");
    assert!(hi.distance(DVec3::new(220.0, 20.0, 20.0)) < 1e-9, "{hi}");
}

#[test]
fn gltf_colours_are_linear_and_become_srgb() {
    let json = r#"{"asset":{"version":"2.0"},"scenes":[{"nodes":[0]}],"nodes":[{"mesh":0}],
        "meshes":[{"primitives":[{"attributes":{"POSITION":0,"COLOR_0":1}}]}],
        "accessors":[{"bufferView":0,"componentType":5126,"count":3,"type":"VEC3"},
        {"bufferView":0,"byteOffset":12,"componentType":5121,"normalized":true,"count":3,"type":"VEC4"}],
        "bufferViews":[{"buffer":0,"byteStride":16}],"buffers":[{"byteLength":48}]}"#;
    let mut data = Vec::new();
    for (point, colour) in
        [([0.0f32, 0.0, 0.0], [0u8, 55, 255, 9]), ([1.0, 0.0, 0.0], [1, 2, 3, 9]), ([0.0, 1.0, 0.0], [128; 4])]
    {
        data.extend(point.iter().flat_map(|x| x.to_le_bytes()));
        data.extend(colour);
    }
    let scan = read("a.glb", &glb(json, &data));
    // IEC 61966-2-1: sRGB 128 is 0.21586 linear, 55/255 = 0.21569; 128/255 linear is sRGB 188; 1/255 is 13.
    assert_eq!(scan.colours, [[0, 128, 255], [13, 22, 28], [188, 188, 188]]);
    assert_eq!(mesh_of(scan).triangles(), [[0, 1, 2]]);
}

#[test]
fn threemf_units_transforms_components_and_colours() {
    let cube = cube();
    let resources = format!(
        "<basematerials id=\"5\"><base name=\"a\" displaycolor=\"#102030\"/><base name=\"b\" displaycolor=\"#405060FF\"/>\
         </basematerials><object id=\"1\" pid=\"5\" pindex=\"1\">{}</object><object id=\"2\"><components>\
         <component objectid=\"1\"/><component objectid=\"1\" transform=\"-1 0 0 0 1 0 0 0 1 -10 0 0\"/></components>\
         </object><object id=\"3\" type=\"support\">{}</object>",
        xml_mesh(&cube),
        xml_mesh(&cube)
    );
    let items = "<item objectid=\"2\" transform=\"0 2 0 -2 0 0 0 0 2 0 0 1\"/><item objectid=\"3\"/>";
    let scan = read("a.3mf", &threemf(&xml_model("unit=\"foot\"", &resources, items)));
    assert_eq!(scan.unit, Some(LengthUnit::Inch));
    assert!(scan.colours.iter().all(|&colour| colour == [0x40, 0x50, 0x60]) && scan.colours.len() == 16);
    let mesh = mesh_of(scan);
    // Rows times matrix: (x, y, z) → (−2y, 2x, 2z + 1), x from −20 to 10; a foot is 12 inches.
    let (lo, hi) = mesh.bounds().unwrap();
    assert_eq!((lo / 12.0, hi / 12.0), (DVec3::new(-20.0, -40.0, 1.0), DVec3::new(0.0, 20.0, 21.0)));
    assert!((mesh.signed_volume_mm3() / 12f64.powi(3) - 2.0 * 8000.0).abs() < 1e-6);
}

#[test]
fn points_in_columns_with_any_separator() {
    let expected = vec![DVec3::new(1.5, -2.0, 3.0), DVec3::new(4.0, 5.0, 6e-1)];
    for text in [
        "1.5 -2 3\n4 5 0.6\n",
        "1.5\t-2\t3\r\n\r\n4\t5\t6e-1\r\n",
        "\u{feff}1.5,-2,3\r4,5,.6\r",
        "# made by hand\n// more\n2\n1.5, -2, 3\n4, 5, 0.6",
        "1,5;-2;3\n4;5;0,6\n",
        "1,5 -2,0 3\n4 5 0,6\n",
        "\"X [mm]\";\"Y [mm]\";\"Z [mm]\"\n1,5;-2;3\n4;5;0,6\n",
        "id,z,x,y\n1,3,1.5,-2\n2,0.6,4,5\n",
    ] {
        assert_eq!(points_of(read("a.xyz", text.as_bytes())), (expected.clone(), vec![]), "{text}");
    }
    let colours = |text: &str| points_of(read("a.txt", text.as_bytes())).1;
    assert_eq!(colours("1 2 3 10 20 30\n1 2 3 255 0 1\n"), [[10, 20, 30], [255, 0, 1]]);
    assert_eq!(colours("1 2 3 99 10 20 30\n"), [[10, 20, 30]]);
    assert!(colours("1 2 3 0 0 1\n1 2 3 0.6 0 0.8\n").is_empty(), "normals are no colours");
    assert!(colours("1 2 3 0 0 1\n1 2 3 0 1 0\n").is_empty(), "nor are these");
    assert_eq!(colours("x y z nx ny nz r g b\n1 2 3 0 0 1 1 0 0\n"), [[1, 0, 0]]);
    assert_eq!(notes("a.xyz", b"3\n1 2 3\n4 5 6\n"), ["scan_point_count"]);
    let left_out = points_of(read("a.xyz", b"1 2 3\nnan nan nan\n4 5 6\n")).0;
    assert_eq!(left_out.len(), 2);
    assert_eq!(notes("a.xyz", b"1 2 3\nnan nan nan\n"), ["scan_points_not_finite"]);
}

#[test]
fn a_height_picture_becomes_the_sole_seen_from_below() {
    // 4 by 3 pixels of half a millimetre; the lower right one was not measured.
    let mut levels: Vec<u16> = vec![500; 12];
    levels[0] = 300;
    levels[11] = 0;
    let image = heights_of(read("a.png", &png_of(4, 3, &levels, Some(2000))));
    assert_eq!((image.columns, image.rows, image.mm_per_pixel), (4, 3, Some(0.5)));
    assert_eq!(image.levels, levels);
    let scale = HeightScale { mm_per_pixel: 0.5, mm_per_level: 0.1 };
    let mesh = image.mesh(&scale).unwrap();
    assert_eq!((mesh.positions().len(), mesh.triangles().len()), (11, 11));
    // Upper left of the picture is at greatest y and, seen from below, at greatest x.
    assert!(mesh.positions().contains(&DVec3::new(1.5, 1.0, 0.0)));
    let (lo, hi) = mesh.bounds().unwrap();
    assert_eq!((lo, hi), (DVec3::ZERO, DVec3::new(1.5, 1.0, 20.0)));
    assert!(mesh.triangles().iter().all(|&triangle| mesh.area_vector(triangle).z < 0.0), "a sole faces down");
    let plan: f64 = mesh.triangles().iter().map(|&triangle| -mesh.area_vector(triangle).z).sum();
    assert!((plan - (1.5 - 0.125)).abs() < 1e-12);

    let upside_down = image.mesh(&HeightScale { mm_per_level: -0.1, ..scale }).unwrap();
    assert!(upside_down.positions().contains(&DVec3::new(1.5, 1.0, 20.0)));

    let refused = |mm_per_pixel, mm_per_level| image.mesh(&HeightScale { mm_per_pixel, mm_per_level }).unwrap_err();
    assert_eq!(refused(0.0, 1.0), HeightFault::Scale(HeightScaleFault::PixelSize(0.0)));
    assert_eq!(refused(1.0, 0.0), HeightFault::Scale(HeightScaleFault::LevelHeight(0.0)));
    assert!(matches!(refused(f64::NAN, 1.0), HeightFault::Scale(HeightScaleFault::PixelSize(_))));
    assert!(matches!(refused(1.0, f64::NAN), HeightFault::Scale(HeightScaleFault::LevelHeight(_))));
    let blank = HeightImage { levels: vec![0; 12], ..image };
    assert_eq!(blank.mesh(&scale).unwrap_err(), HeightFault::NoSurface);
}

/// Every filter of PNG, written by an independent library.
#[test]
fn pictures_of_an_independent_writer_are_read() {
    let levels: Vec<u16> = (0..40u32 * 30).map(|at| ((at * at * 7) % 65_521) as u16).collect();
    for filter in [png::Filter::NoFilter, png::Filter::Sub, png::Filter::Up, png::Filter::Avg, png::Filter::Paeth] {
        for depth in [png::BitDepth::Eight, png::BitDepth::Sixteen] {
            let mut bytes = Vec::new();
            let mut encoder = png::Encoder::new(&mut bytes, 40, 30);
            encoder.set_color(png::ColorType::Grayscale);
            encoder.set_depth(depth);
            encoder.set_filter(filter);
            encoder.set_pixel_dims(Some(png::PixelDimensions { xppu: 2500, yppu: 2500, unit: png::Unit::Meter }));
            let is_short = depth == png::BitDepth::Eight;
            let data: Vec<u8> = levels
                .iter()
                .flat_map(|level| if is_short { vec![*level as u8] } else { level.to_be_bytes().to_vec() })
                .collect();
            encoder.write_header().unwrap().write_image_data(&data).unwrap();
            let image = heights_of(read("a.png", &bytes));
            let expected: Vec<u16> = levels.iter().map(|&level| if is_short { level & 0xff } else { level }).collect();
            assert_eq!(image.levels, expected, "{filter:?} {depth:?}");
            assert_eq!(image.mm_per_pixel, Some(0.4));
            assert_eq!(notes("a.png", &bytes).len(), usize::from(is_short));
        }
    }
}

#[test]
fn work_can_be_cancelled_in_every_format() {
    let stop = |_: &str, _: f64| false;
    for (name, bytes) in meshes(&cube()).into_iter().chain(others()) {
        let error = scan::read(name, &bytes, &Work::new(&stop), &mut Report::default());
        assert!(error.is_err_and(|error| error.is_cancelled()), "{name}");
    }
}
