//! Reading and writing STL, against exact sizes, against an independent reader, and with broken files.

#![allow(clippy::unwrap_used, reason = "a test may stop at what it did not expect")]

use base::{Report, Work};
use glam::DVec3;
use mesh::stl::{read_stl, write_stl};
use mesh::{ClosedMesh, Place, ReadCause, ReadError, TriMesh, shapes};
use proptest::prelude::*;
use std::io::Cursor;

fn read(bytes: &[u8]) -> Result<TriMesh, ReadError> {
    read_stl("scan.stl", bytes, &Work::quiet(), &mut Report::default())
}

fn notes(bytes: &[u8]) -> Vec<String> {
    let mut report = Report::default();
    let _ = read_stl("scan.stl", bytes, &Work::quiet(), &mut report);
    report.notes.into_iter().map(|note| note.code).collect()
}

fn written(mesh: &TriMesh, header: &str) -> Vec<u8> {
    let mut bytes = Vec::new();
    write_stl(mesh, header, &mut bytes).unwrap();
    bytes
}

fn cube() -> TriMesh {
    shapes::cuboid(DVec3::ZERO, DVec3::splat(10.0))
}

/// The text kind of a mesh, as plainly as it can be written.
fn text(mesh: &TriMesh) -> String {
    let mut text = String::from("solid a name with words\n");
    for &triangle in mesh.triangles() {
        text += "facet normal nan nan nan\n outer loop\n";
        for p in mesh.corners(triangle) {
            text += &format!("  vertex {:e} {} {}\n", p.x, p.y, p.z);
        }
        text += " endloop\nendfacet\n";
    }
    text + "endsolid a name with words\n"
}

/// The two kinds, a cube each.
fn valid_files() -> [Vec<u8>; 2] {
    [written(&cube(), "cube"), text(&cube()).into_bytes()]
}

#[test]
fn a_cube_of_10_mm_has_684_bytes_and_comes_back() {
    let bytes = written(&cube(), "cube");
    assert_eq!(bytes.len(), 684);
    let closed = ClosedMesh::new(read(&bytes).unwrap()).unwrap();
    assert_eq!(closed.mesh().positions().len(), 8);
    assert!((closed.volume_mm3() - 1000.0).abs() < 1e-9);
    assert!((closed.area_mm2() - 600.0).abs() < 1e-9);
    assert_eq!(closed.bounds(), (DVec3::ZERO, DVec3::splat(10.0)));
}

#[test]
fn an_independent_reader_sees_what_was_written() {
    let sphere = shapes::icosphere(40.0, 2);
    let seen = stl_io::read_stl(&mut Cursor::new(written(&sphere, "sphere"))).unwrap();
    assert!(seen.validate().is_ok());
    assert_eq!(seen.faces.len(), sphere.triangles().len());
    assert_eq!(seen.vertices.len(), sphere.positions().len());
    for face in &seen.faces {
        let corner = face.vertices.map(|v| DVec3::from_array(seen.vertices[v].0.map(f64::from)));
        let normal = DVec3::from_array(face.normal.0.map(f64::from));
        assert!(normal.dot((corner[0] + corner[1] + corner[2]).normalize()) > 0.99, "normals point outwards");
    }
}

#[test]
fn both_kinds_give_the_same_mesh_as_an_independent_reader() {
    let sphere = shapes::icosphere(40.0, 2);
    let plain = text(&sphere).replace("nan nan nan", "0 0 1");
    let ours = read(plain.as_bytes()).unwrap();
    let theirs = stl_io::read_stl(&mut Cursor::new(plain.into_bytes())).unwrap();
    let positions: Vec<_> = theirs.vertices.iter().map(|v| DVec3::from_array(v.0.map(f64::from))).collect();
    let triangles: Vec<_> = theirs.faces.iter().map(|face| face.vertices.map(|v| v as u32)).collect();
    assert_eq!(ours, TriMesh::new(positions, triangles).unwrap());
    assert_eq!(ours, read(&written(&sphere, "sphere")).unwrap());
}

#[test]
fn text_may_be_laid_out_in_any_way() {
    let expected = read(text(&cube()).as_bytes()).unwrap();
    let variants = [
        text(&cube()).to_ascii_uppercase().replace('E', "e").replace("ENDSOLID", "endsolid"),
        text(&cube()).replace('\n', "\r\n"),
        text(&cube()).replace('\n', "\r"),
        text(&cube()).replace("facet normal nan nan nan", "facet normal"),
        format!("\u{feff}\n {}", text(&cube())),
        text(&cube()).replacen("endfacet\n", "endfacet\nendsolid x\nsolid y\n", 1),
    ];
    for variant in variants {
        assert_eq!(read(variant.as_bytes()).as_ref(), Ok(&expected), "{variant:.60}");
    }
}

#[test]
fn a_binary_header_that_starts_like_text_is_still_binary() {
    let mut bytes = written(&cube(), "cube");
    bytes[..12].copy_from_slice(b"solid facet ");
    assert_eq!(read(&bytes).unwrap(), cube_as_read());
    bytes.extend_from_slice(b"tail");
    assert_eq!(read(&bytes).unwrap(), cube_as_read());
    assert_eq!(notes(&bytes), ["stl_bytes_after_end"]);
}

fn cube_as_read() -> TriMesh {
    read(&written(&cube(), "cube")).unwrap()
}

#[test]
fn a_written_header_never_starts_like_text() {
    for header in ["solid", "Solid left insole", "  solid", "", "élan", &"long ".repeat(40)] {
        let bytes = written(&cube(), header);
        assert_eq!(bytes.len(), 684);
        assert!(!bytes[..80].trim_ascii_start().to_ascii_lowercase().starts_with(b"solid"), "{header}");
        assert!(bytes[..80].iter().all(|byte| (0x20..0x7f).contains(byte)), "{header}");
    }
}

#[test]
fn minus_zero_is_zero() {
    let mut bytes = written(&cube(), "cube");
    for at in
        (84 + 12..bytes.len() - 3).filter(|at| (at - 84) % 50 >= 12 && (at - 84) % 50 < 48 && (at - 84) % 50 % 4 == 0)
    {
        if bytes[at..at + 4] == [0; 4] && at % 3 == 0 {
            bytes[at + 3] = 0x80;
        }
    }
    assert_ne!(bytes, written(&cube(), "cube"));
    assert_eq!(read(&bytes).unwrap(), cube_as_read());
}

#[test]
fn triangles_with_a_repeated_corner_are_left_out_and_reported() {
    let mut bytes = written(&cube(), "cube");
    // The second corner of triangle 3 becomes its first.
    let start = 84 + 3 * 50;
    bytes.copy_within(start + 12..start + 24, start + 24);
    assert_eq!(read(&bytes).unwrap().triangles().len(), 11);
    assert_eq!(notes(&bytes), ["stl_degenerate_triangles"]);
    let line =
        "solid\nfacet normal 0 0 0\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 2 0 0\nendloop\nendfacet\nendsolid";
    assert_eq!(notes(line.as_bytes()), ["stl_triangles_without_area"]);
    assert_eq!(read(line.as_bytes()).unwrap().triangles().len(), 1);
}

#[test]
fn every_error_names_file_place_reason_and_advice() {
    let binary = written(&cube(), "cube");
    let with = |at: usize, value: &[u8]| {
        let mut bytes = binary.clone();
        bytes[at..at + value.len()].copy_from_slice(value);
        bytes
    };
    let text = text(&cube());
    let text_with = |from: &str, to: &str| text.replacen(from, to, 1).into_bytes();
    let cases: [(Vec<u8>, &str); 16] = [
        (vec![], "scan.stl: the file is empty"),
        (b"PK\x03\x04rest".to_vec(), "looks like a zip archive"),
        (b"glTF\x02\0\0\0".to_vec(), "looks like a binary glTF file"),
        (b"\x89PNG\r\n\x1a\n".to_vec(), "looks like a PNG picture"),
        (b"# made today\nv 0 0 0\nv 1 0 0\nf 1 2 3\n".to_vec(), "looks like an OBJ file"),
        (b"ply\nformat ascii 1.0\n".to_vec(), "looks like a PLY file"),
        (b"Dear colleague,\n".repeat(20), "looks like a text file"),
        (vec![0; 83], "the file has 83 bytes, and the shortest file of this kind has 84"),
        (binary[..600].to_vec(), "12 triangles, which takes 684 bytes, but it has 600 bytes, enough for 10 triangles"),
        (with(80, &[255; 4]), "4294967295 triangles, which takes 214748364834 bytes, but it has 684 bytes"),
        (vec![0; 84], "there is no triangle in it"),
        (
            with(84 + 5 * 50 + 16, &f32::NAN.to_le_bytes()),
            "scan.stl, triangle 5 (byte 334): 1 triangles have a coordinate",
        ),
        (text_with("vertex 0e0 0 0", "vertex 0,5 0 0"), "scan.stl, line 4: expected a number, found \"0,5\""),
        (text_with("vertex 0e0 0 0", "vertex 0 0 inf"), "scan.stl, line 2: 1 triangles have a coordinate"),
        (text.as_bytes()[..text.len() - 60].to_vec(), "after 11 complete triangles"),
        (text_with("endloop", "vertex 0 0 0"), "expected endloop, found \"vertex\""),
    ];
    for (bytes, expected) in cases {
        let error = read(&bytes).unwrap_err();
        let message = error.to_string();
        assert!(message.contains(expected), "{message}");
        assert!(message.starts_with("scan.stl") && message.ends_with(error.advice()), "{message}");
    }
}

#[test]
fn a_text_file_without_its_end_is_read_and_reported() {
    let text = text(&cube());
    let bytes = text.trim_end().strip_suffix("endsolid a name with words").unwrap().as_bytes();
    assert_eq!(read(bytes).unwrap(), cube_as_read());
    assert_eq!(notes(bytes), ["stl_no_end"]);
}

#[test]
fn triangles_that_share_nothing_keep_all_their_vertices() {
    let count = 5000;
    let at = |k: usize| DVec3::new((k % 173) as f64, (k / 173) as f64, (k % 7) as f64 * 0.5);
    let soup = TriMesh::new(
        (0..3 * count).map(at).collect(),
        (0..count as u32).map(|k| [3 * k, 3 * k + 1, 3 * k + 2]).collect(),
    );
    assert_eq!(read(&written(soup.as_ref().unwrap(), "soup")), Ok(soup.unwrap()));
}

#[test]
fn reading_can_be_cancelled() {
    for bytes in valid_files() {
        let stop = |_: &str, _: f64| false;
        let error = read_stl("scan.stl", &bytes, &Work::new(&stop), &mut Report::default()).unwrap_err();
        assert!(error.is_cancelled());
        assert_eq!((error.place, &error.cause), (Place::File, &ReadCause::Cancelled(base::Cancelled)));
    }
}

#[test]
fn thousands_of_damaged_files_neither_panic_nor_break_the_mesh() {
    let mut state = 7u64;
    let mut random = |below: usize| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as usize % below
    };
    let (mut read_well, mut refused) = (0, 0);
    for _ in 0..20_000 {
        let mut bytes = valid_files()[random(2)].clone();
        for _ in 0..1 + random(6) {
            let at = random(bytes.len().max(1));
            match random(5) {
                0 => bytes.truncate(at),
                1 => bytes.insert(at.min(bytes.len()), random(256) as u8),
                2 => drop(bytes.drain(at.min(bytes.len())..(at + random(60)).min(bytes.len()))),
                _ => bytes.iter_mut().skip(at).take(1 + random(4)).for_each(|byte| *byte = random(256) as u8),
            }
        }
        match read(&bytes) {
            Ok(mesh) => {
                read_well += 1;
                assert!(TriMesh::new(mesh.positions().to_vec(), mesh.triangles().to_vec()).is_ok());
            }
            Err(_) => refused += 1,
        }
    }
    assert!(read_well > 1000 && refused > 1000, "the damage is neither harmless nor always fatal");
}

fn any_mesh() -> impl Strategy<Value = TriMesh> {
    let number = prop_oneof![(-200i32..200).prop_map(|n| f64::from(n) * 0.25), any::<f32>().prop_map(f64::from)]
        .prop_filter("finite", |x| x.is_finite());
    let point = [number.clone(), number.clone(), number].prop_map(DVec3::from_array);
    (prop::collection::vec(point, 3..20), prop::collection::vec([0u32..1000, 0..1000, 0..1000], 1..40)).prop_map(
        |(points, triangles)| {
            let count = points.len() as u32;
            TriMesh::new(points, triangles.into_iter().map(|t| t.map(|v| v % count)).collect()).unwrap()
        },
    )
}

proptest! {
    #[test]
    fn random_bytes_never_panic(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let _ = read(&bytes);
    }

    #[test]
    fn random_words_never_panic(words in prop::collection::vec(
        prop::sample::select(vec!["facet", "normal", "outer", "loop", "vertex", "0", "1e9", "x", "endloop", "endfacet",
            "endsolid", "solid", "\n", "-", "nan"]), 0..60)) {
        let _ = read(format!("solid {}", words.join(" ")).as_bytes());
    }

    #[test]
    fn what_is_written_comes_back(mesh in any_mesh()) {
        let bytes = written(&mesh, "any");
        prop_assert_eq!(bytes.len(), 84 + 50 * mesh.triangles().len());
        let corners = |mesh: &TriMesh| -> Vec<_> {
            let distinct = |[a, b, c]: &[DVec3; 3]| a != b && b != c && c != a;
            mesh.triangles().iter().map(|&t| mesh.corners(t)).filter(distinct).collect()
        };
        match read(&bytes) {
            Ok(back) => {
                prop_assert_eq!(corners(&back), corners(&mesh));
                prop_assert_eq!(corners(&back).len(), back.triangles().len());
                prop_assert_eq!(&read(&written(&back, "again")).unwrap(), &back);
            }
            Err(error) => {
                prop_assert!(corners(&mesh).is_empty());
                prop_assert!(matches!(error.cause, ReadCause::NoTriangles { .. }), "{}", error);
            }
        }
    }
}
