//! The same surface in every format is the same mesh.

#![allow(clippy::unwrap_used, reason = "a test may stop at what it did not expect")]

use base::{Report, Work};
use mesh::{TriMesh, shapes, stl};
use scan::{RawScan, Shape};

fn read(name: &str, bytes: &[u8]) -> RawScan {
    scan::read(name, bytes, &Work::quiet(), &mut Report::default()).unwrap()
}

fn mesh_of(scan: RawScan) -> TriMesh {
    let Shape::Mesh(mesh) = scan.shape else { unreachable!("not a mesh") };
    mesh
}

/// A sphere whose coordinates are 32-bit numbers, away from the origin.
fn sphere() -> TriMesh {
    let sphere = shapes::icosphere(40.0, 2);
    let positions = sphere.positions().iter().map(|p| (p.as_vec3() + glam::Vec3::new(3.0, -7.0, 50.0)).as_dvec3());
    TriMesh::new(positions.collect(), sphere.triangles().to_vec()).unwrap()
}

fn stl_of(mesh: &TriMesh) -> Vec<u8> {
    let mut bytes = Vec::new();
    stl::write_stl(mesh, "", &mut bytes).unwrap();
    bytes
}

fn obj_of(mesh: &TriMesh) -> Vec<u8> {
    let mut text = String::from("# a sphere\nmtllib none.mtl\no sphere\n");
    for p in mesh.positions() {
        text += &format!("v {} {} {}\n", p.x, p.y, p.z);
    }
    for [a, b, c] in mesh.triangles() {
        text += &format!("f {}//1 {}//1 {}//1\n", a + 1, b + 1, c + 1);
    }
    text.into_bytes()
}

fn ply_of(mesh: &TriMesh, encoding: &str) -> Vec<u8> {
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

#[test]
fn the_same_surface_in_every_format_is_the_same_mesh() {
    let sphere = sphere();
    let expected = mesh_of(read("a.stl", &stl_of(&sphere)));
    let files = [
        ("a.obj", obj_of(&sphere)),
        ("a.ply", ply_of(&sphere, "ascii")),
        ("a.ply", ply_of(&sphere, "binary_little_endian")),
        ("a.ply", ply_of(&sphere, "binary_big_endian")),
    ];
    for (name, bytes) in &files {
        // The name does not matter where the content tells.
        for name in [name, "scan", "scan.stl"] {
            assert_eq!(mesh_of(read(name, bytes)), expected, "{name}");
        }
    }
}
