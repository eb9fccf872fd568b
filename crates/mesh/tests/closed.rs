//! Closed meshes: exact bodies pass, and every way of breaking one is found with its index.

#![allow(clippy::unwrap_used, reason = "a test may stop at what it did not expect")]

use glam::{DAffine3, DVec3};
use mesh::{ClosedMesh, MeshFault, TriMesh, shapes};
use std::f64::consts::PI;

fn cube() -> TriMesh {
    shapes::cuboid(DVec3::ZERO, DVec3::splat(10.0))
}

fn changed(mesh: &TriMesh, change: impl FnOnce(&mut Vec<DVec3>, &mut Vec<[u32; 3]>)) -> TriMesh {
    let (mut positions, mut triangles) = (mesh.positions().to_vec(), mesh.triangles().to_vec());
    change(&mut positions, &mut triangles);
    TriMesh::new(positions, triangles).unwrap()
}

/// Two meshes as one, without shared vertices.
fn both(a: &TriMesh, b: &TriMesh) -> TriMesh {
    changed(a, |positions, triangles| {
        let first = positions.len() as u32;
        positions.extend(b.positions());
        triangles.extend(b.triangles().iter().map(|t| t.map(|v| v + first)));
    })
}

fn faults(mesh: TriMesh) -> Vec<MeshFault> {
    ClosedMesh::new(mesh).unwrap_err()
}

#[test]
fn exact_bodies_are_closed() {
    let cube = ClosedMesh::new(cube()).unwrap();
    assert!((cube.volume_mm3() - 1000.0).abs() < 1e-9 && (cube.area_mm2() - 600.0).abs() < 1e-9);
    let frame = ClosedMesh::new(shapes::frame(30.0, 10.0, 4.0)).unwrap();
    assert!((frame.volume_mm3() - 4.0 * (900.0 - 100.0)).abs() < 1e-9);
    assert!((frame.area_mm2() - (2.0 * 800.0 + 4.0 * 4.0 * 40.0)).abs() < 1e-9);
    // Volume does not depend on where the body is, area not on how it is turned.
    let map = DAffine3::from_translation(DVec3::new(1e4, -2e4, 3e4))
        * DAffine3::from_axis_angle(DVec3::new(1.0, 2.0, 3.0).normalize(), 0.7);
    let moved = ClosedMesh::new(cube.mesh().transformed(&map)).unwrap();
    assert!((moved.volume_mm3() - 1000.0).abs() < 1e-6 && (moved.area_mm2() - 600.0).abs() < 1e-6);
}

#[test]
fn a_sphere_converges_to_its_volume_and_area_with_the_square_of_the_step() {
    let radius = 20.0;
    let errors: Vec<[f64; 2]> = (1..6)
        .map(|levels| {
            let sphere = ClosedMesh::new(shapes::icosphere(radius, levels)).unwrap();
            assert_eq!(sphere.mesh().triangles().len(), 20 << (2 * levels));
            assert_eq!(sphere.mesh().positions().len(), (10 << (2 * levels)) + 2);
            [4.0 / 3.0 * PI * radius.powi(3) - sphere.volume_mm3(), 4.0 * PI * radius * radius - sphere.area_mm2()]
        })
        .collect();
    for pair in errors.windows(2) {
        for ratio in [pair[0][0] / pair[1][0], pair[0][1] / pair[1][1]] {
            assert!((3.4..4.2).contains(&ratio), "halving the step quarters the error, not {ratio}");
        }
    }
    assert!(errors[4][0] / (4.0 / 3.0 * PI * radius.powi(3)) < 2e-3);
}

#[test]
fn an_empty_mesh_is_not_closed() {
    assert_eq!(faults(TriMesh::default()), [MeshFault::Empty]);
}

#[test]
fn a_missing_triangle_leaves_three_open_edges() {
    let open = faults(changed(&cube(), |_, triangles| triangles.truncate(11)));
    assert_eq!(open.len(), 3);
    assert!(open.iter().all(|fault| matches!(fault, MeshFault::OpenEdge { .. })));
    // Triangle 11 was 1 7 5; its edge 1–7 is that of triangle 10.
    assert!(open.contains(&MeshFault::OpenEdge { edge: [1, 7], triangle: 10 }));
}

#[test]
fn a_turned_triangle_is_named_with_its_neighbours() {
    let opposed = faults(changed(&cube(), |_, triangles| triangles[4].swap(1, 2)));
    let with_four =
        |fault: &MeshFault| matches!(fault, MeshFault::OpposedTriangles { triangles, .. } if triangles.contains(&4));
    assert_eq!(opposed.len(), 3);
    assert!(opposed.iter().all(with_four));
}

#[test]
fn repeated_corners_and_lost_area_are_found() {
    let repeated = faults(changed(&cube(), |_, triangles| triangles[7][1] = triangles[7][0]));
    assert_eq!(repeated[0], MeshFault::RepeatedCorner { triangle: 7 });
    let flat = faults(changed(&cube(), |positions, _| positions[1] = positions[0]));
    let without_area: Vec<u32> = flat
        .iter()
        .filter_map(|fault| if let MeshFault::NoArea { triangle, .. } = fault { Some(*triangle) } else { None })
        .collect();
    assert!(!without_area.is_empty());
    assert!(
        without_area
            .iter()
            .all(|&t| cube().triangles()[t as usize].contains(&0) && cube().triangles()[t as usize].contains(&1))
    );
}

#[test]
fn duplicates_and_crowded_edges_are_found() {
    let twice = faults(changed(&cube(), |_, triangles| triangles.push([3, 0, 2])));
    assert!(twice.contains(&MeshFault::Duplicate { triangles: [0, 12] }));
    assert_eq!(twice.iter().filter(|fault| matches!(fault, MeshFault::Duplicate { .. })).count(), 1);
    assert_eq!(twice.iter().filter(|fault| matches!(fault, MeshFault::CrowdedEdge { triangles: 3, .. })).count(), 3);
    // A triangle and its back enclose nothing.
    let pillow = TriMesh::new(cube().positions().to_vec(), vec![[0, 1, 2], [0, 2, 1]]).unwrap();
    assert_eq!(faults(pillow), [MeshFault::Duplicate { triangles: [0, 1] }]);
}

#[test]
fn cubes_that_touch_in_a_vertex_or_an_edge_are_found() {
    let shifted = cube().transformed(&DAffine3::from_translation(DVec3::splat(10.0)));
    let corner = changed(&both(&cube(), &shifted), |_, triangles| {
        // Vertex 7 of the first cube is vertex 0 of the second, number 8.
        triangles.as_flattened_mut().iter_mut().filter(|v| **v == 8).for_each(|v| *v = 7);
    });
    assert_eq!(faults(corner), [MeshFault::PinchedVertex { vertex: 7, fans: 2 }]);
    let shifted = cube().transformed(&DAffine3::from_translation(DVec3::new(10.0, 10.0, 0.0)));
    let edge = changed(&both(&cube(), &shifted), |_, triangles| {
        for (second, first) in [(8, 3), (12, 7)] {
            triangles.as_flattened_mut().iter_mut().filter(|v| **v == second).for_each(|v| *v = first);
        }
    });
    assert!(faults(edge).contains(&MeshFault::CrowdedEdge { edge: [3, 7], triangles: 4 }));
}

#[test]
fn a_body_turned_inside_out_is_found_and_two_bodies_pass() {
    let inside_out = changed(&cube(), |_, triangles| triangles.iter_mut().for_each(|t| t.swap(1, 2)));
    let [MeshFault::InsideOut { volume_mm3 }] = faults(inside_out)[..] else { panic!("one fault") };
    assert!((volume_mm3 + 1000.0).abs() < 1e-9);
    let apart = cube().transformed(&DAffine3::from_translation(DVec3::splat(30.0)));
    assert!((ClosedMesh::new(both(&cube(), &apart)).unwrap().volume_mm3() - 2000.0).abs() < 1e-9);
}

#[test]
fn a_mirrored_body_stays_closed() {
    let mirror = DAffine3::from_scale(DVec3::new(1.0, -1.0, 1.0));
    let sphere = shapes::icosphere(5.0, 2);
    let mirrored = ClosedMesh::new(sphere.transformed(&mirror)).unwrap();
    assert!((mirrored.volume_mm3() - ClosedMesh::new(sphere).unwrap().volume_mm3()).abs() < 1e-9);
}

#[test]
fn shapes_of_sizes_that_are_not_finite_are_empty() {
    for mesh in [
        shapes::cuboid(DVec3::ZERO, DVec3::NAN),
        shapes::icosphere(f64::INFINITY, 1),
        shapes::frame(f64::NAN, 1.0, 1.0),
    ] {
        assert!(mesh.triangles().is_empty());
    }
}
