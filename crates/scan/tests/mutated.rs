//! Valid files, changed at random: flips, cuts, inserts, splices between formats. Whatever comes out, reading ends
//! without a panic, with a mesh that is sound or an error that says the file and what to do, and takes no memory out
//! of proportion. The numbers are drawn from a fixed seed, so a failure comes again.

#![allow(clippy::unwrap_used, reason = "a test may stop at what it did not expect")]
#![allow(unsafe_code, reason = "an allocator that counts has to be one")]

mod counting;
mod made;

use base::{Report, Work};
use counting::{Draw, greatest_request};
use made::*;
use scan::{ReadError, Shape};

/// Mutations of each file.
const ROUNDS: usize = 5000;
/// Greatest single request while reading a file of a few kB: the buffers of the unpackers (64 kB) and the blocks that
/// text tables start with are far below, a count believed from a damaged header would be far above.
const GREATEST_REQUEST: usize = 40 << 20;

/// One change of the bytes.
fn mutate(bytes: &mut Vec<u8>, other: &[u8], draw: &mut Draw) {
    const WORDS: [&[u8]; 12] = [
        b"-1",
        b"nan",
        b"99999999999",
        b"\"",
        b"<",
        b"\0\0\0\0",
        b"\xff\xff\xff\xff",
        b"\n",
        b"1e400",
        b",",
        b"/",
        b"[0,",
    ];
    let at = draw.below(bytes.len());
    match draw.below(8) {
        0 => bytes.truncate(at),
        1 => drop(bytes.drain(at..(at + 1 + draw.below(40)).min(bytes.len()))),
        2 => {
            let from = draw.below(other.len());
            let piece = &other[from..(from + 1 + draw.below(200)).min(other.len())];
            bytes.splice(at..at, piece.iter().copied());
        }
        3 => bytes.splice(at.., other[draw.below(other.len())..].iter().copied()).for_each(drop),
        4 => {
            let word = WORDS[draw.below(WORDS.len())];
            let end = (at + word.len()).min(bytes.len());
            bytes.splice(at..end, word.iter().copied());
        }
        5 => {
            let word = WORDS[draw.below(WORDS.len())];
            bytes.splice(at..at, word.iter().copied());
        }
        6 => {
            // A figure of a count.
            if let Some(figure) = bytes[at..].iter().position(u8::is_ascii_digit) {
                bytes[at + figure] = b'0' + draw.below(10) as u8;
            }
        }
        _ => {
            if let Some(byte) = bytes.get_mut(at) {
                *byte ^= 1 << draw.below(8);
            }
        }
    }
}

fn check(name: &str, bytes: &[u8]) {
    let (result, greatest) = greatest_request(|| scan::read(name, bytes, &Work::quiet(), &mut Report::default()));
    assert!(greatest < GREATEST_REQUEST, "{name}: {greatest} bytes for a file of {}", bytes.len());
    match result {
        Ok(scan) => {
            let count = match &scan.shape {
                Shape::Mesh(mesh) => {
                    assert!(!mesh.triangles().is_empty() && mesh.positions().iter().all(|p| p.is_finite()));
                    mesh.positions().len()
                }
                Shape::Points(points) => {
                    assert!(!points.is_empty() && points.iter().all(|p| p.is_finite()));
                    points.len()
                }
                Shape::Heights(image) => {
                    assert_eq!(image.levels.len(), image.columns * image.rows);
                    0
                }
            };
            assert!(scan.colours.is_empty() || scan.colours.len() == count);
        }
        Err(error) => {
            let ReadError { name: told, .. } = &error;
            assert_eq!(told, name);
            let text = error.to_string();
            assert!(text.starts_with(name) && !error.advice().is_empty() && text.ends_with(error.advice()), "{text}");
            assert!(text.len() < 600, "{text}");
        }
    }
}

/// Files with what the plain ones lack: colours, polygons, transforms, components.
fn more() -> Vec<(&'static str, Vec<u8>)> {
    let cube = cube();
    let obj = "v 0 0 0 1 0 0\nv 1 0 0 0 1 0\nv 1 1 0 0 0 1\nv 0 1 0 1 1 1\nf -4/1/1 \\\n-3/2 -2 -1\n";
    let ply = "ply\nformat ascii 1.0\nelement vertex 4\nproperty uchar red\nproperty uchar green\nproperty uchar blue\n\
               property double x\nproperty double y\nproperty double z\nelement tristrips 1\n\
               property list int int vertex_indices\nend_header\n255 0 0 0 0 0\n0 255 0 0.1 0 0\n0 0 255 0.1 1 0\n\
               9 9 9 0 1 0\n8 0 1 3 2 -1 0 2 3\n";
    let nodes = r#"[{"children":[1,2],"translation":[100,0,0],"scale":[2,2,2]},{"mesh":0,"rotation":[0,0,0.7,0.7]},
        {"mesh":0,"matrix":[1,0,0,0,0,1,0,0,0,0,1,0,50,0,0,1]}]"#;
    let resources = format!(
        "<basematerials id=\"5\"><base name=\"a\" displaycolor=\"#102030\"/></basematerials><object id=\"1\" pid=\"5\" \
         pindex=\"0\">{}</object><object id=\"2\"><components><component objectid=\"1\"/><component objectid=\"1\" \
         transform=\"-1 0 0 0 1 0 0 0 1 -10 0 0\"/></components></object>",
        xml_mesh(&cube)
    );
    vec![
        ("colours.obj", obj.into()),
        ("strips.ply", ply.into()),
        ("nodes.glb", glb(&gltf_json(&cube, None, nodes, ""), &gltf_data(&cube))),
        ("parts.3mf", threemf(&xml_model("unit=\"inch\"", &resources, "<item objectid=\"2\"/>"))),
        ("colours.txt", b"x y z r g b\n1 2 3 10 20 30\n4 5 6 40 50 60\n".to_vec()),
    ]
}

#[test]
fn whatever_the_bytes_reading_ends_well() {
    let files: Vec<_> = meshes(&cube()).into_iter().chain(others()).chain(more()).collect();
    let mut draw = Draw(1);
    for (name, bytes) in &files {
        check(name, bytes);
        for _ in 0..ROUNDS {
            let mut changed = bytes.clone();
            for _ in 0..1 + draw.below(4) {
                let other = &files[draw.below(files.len())].1;
                mutate(&mut changed, other, &mut draw);
            }
            check(name, &changed);
        }
    }
}

/// What is packed hides behind sums of check: the XML and the pixels are changed before they are packed.
#[test]
fn whatever_is_packed_reading_ends_well() {
    let object = format!("<object id=\"1\">{}</object>", xml_mesh(&cube()));
    let model = xml_model("unit=\"inch\"", &object, ONE_ITEM).into_bytes();
    let mut rows = vec![1u8; 40];
    let mut draw = Draw(2);
    for _ in 0..ROUNDS {
        let mut changed = model.clone();
        mutate(&mut changed, &model, &mut draw);
        check("a.3mf", &threemf(&String::from_utf8_lossy(&changed)));
        mutate(&mut rows, &model, &mut draw);
        let head = [0, 0, 0, 3, 0, 0, 0, 4, 8 * (1 + draw.below(2) as u8), 0, 0, 0, 0];
        check("a.png", &png(&head, None, &deflated(&rows)));
        rows.resize(40, draw.next() as u8 % 5);
    }
}
