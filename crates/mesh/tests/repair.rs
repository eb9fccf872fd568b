//! Parts, cuts, fills and orientation, against volumes known in closed form and on damaged spheres.

#![allow(clippy::unwrap_used, reason = "a test may stop at what it did not expect")]

use glam::{DAffine3, DVec3};
use mesh::*;
use proptest::prelude::*;
use std::f64::consts::PI;

const RADIUS: f64 = 30.0;

fn sphere(levels: u32) -> TriMesh {
    shapes::icosphere(RADIUS, levels)
}

fn moved(mesh: &TriMesh, by: DVec3) -> TriMesh {
    mesh.transformed(&DAffine3::from_translation(by))
}

fn joined(meshes: &[TriMesh]) -> TriMesh {
    let (mut positions, mut triangles) = (Vec::new(), Vec::new());
    for mesh in meshes {
        let first = positions.len() as u32;
        positions.extend(mesh.positions());
        triangles.extend(mesh.triangles().iter().map(|t| t.map(|v| v + first)));
    }
    TriMesh::new(positions, triangles).unwrap()
}

fn capped(mesh: &TriMesh, plane: &Plane, keep: Keep) -> ClosedMesh {
    let mut part = cut(mesh, plane, keep);
    fill_flat(&mut part.mesh, &part.rims).unwrap();
    ClosedMesh::new(part.mesh).unwrap()
}

#[test]
fn components_come_apart_largest_first() {
    let mesh = joined(&[
        moved(&shapes::cuboid(DVec3::ZERO, DVec3::ONE), DVec3::X * 100.0),
        sphere(2),
        moved(&shapes::cuboid(DVec3::ZERO, DVec3::splat(3.0)), DVec3::Y * 100.0),
    ]);
    let parts = components(&mesh);
    assert_eq!(parts.iter().map(|part| part.triangles.len()).collect::<Vec<_>>(), [320, 12, 12]);
    assert!((parts[1].area_mm2 - 54.0).abs() < 1e-9 && (parts[2].area_mm2 - 6.0).abs() < 1e-9);
    assert_eq!(parts[2].bounds, (DVec3::X * 100.0, DVec3::new(101.0, 1.0, 1.0)));
    let ball = ClosedMesh::new(submesh(&mesh, &parts[0].triangles)).unwrap();
    assert_eq!(ball.mesh().positions().len(), sphere(2).positions().len());
    assert!((ball.volume_mm3() - sphere(2).signed_volume_mm3()).abs() < 1e-6);
    assert!(components(&TriMesh::default()).is_empty());
    assert_eq!(submesh(&mesh, &[u32::MAX]), TriMesh::default());
}

#[test]
fn a_cut_and_filled_sphere_is_a_spherical_segment() {
    let ball = sphere(5);
    for z in [-20.0, -7.3, 0.0, 0.001, 15.0] {
        let plane = Plane::at_z(z);
        let (above, below) = (capped(&ball, &plane, Keep::Above), capped(&ball, &plane, Keep::Below));
        // V = π h² (3 r − h) / 3 for a cap of height h.
        let height = RADIUS - z;
        let exact = PI * height * height * (3.0 * RADIUS - height) / 3.0;
        assert!((above.volume_mm3() / exact - 1.0).abs() < 4e-3, "{} {exact}", above.volume_mm3());
        assert!((above.volume_mm3() + below.volume_mm3() - ball.signed_volume_mm3()).abs() < 0.01);
        assert!(above.bounds().0.z >= z - 1e-9 && below.bounds().1.z <= z + 1e-9);
    }
}

#[test]
fn a_cut_beside_the_mesh_keeps_all_or_nothing() {
    let ball = sphere(2);
    let all = cut(&ball, &Plane::at_z(-31.0), Keep::Above);
    assert_eq!((all.mesh.triangles().len(), all.rims.len()), (ball.triangles().len(), 0));
    let nothing = cut(&ball, &Plane::at_z(-31.0), Keep::Below);
    assert_eq!((nothing.mesh.triangles().len(), nothing.mesh.positions().len()), (0, 0));
}

#[test]
fn a_cut_in_the_plane_of_a_face_keeps_the_face_on_its_body() {
    let cube = shapes::cuboid(DVec3::ZERO, DVec3::splat(10.0));
    let whole = cut(&cube, &Plane::at_z(0.0), Keep::Above);
    assert!(whole.rims.is_empty());
    assert!((ClosedMesh::new(whole.mesh).unwrap().volume_mm3() - 1000.0).abs() < 1e-9);
    assert!(cut(&cube, &Plane::at_z(0.0), Keep::Below).mesh.triangles().is_empty());
}

#[test]
fn the_cut_of_a_hollow_body_is_filled_between_its_rims() {
    let frame = shapes::frame(30.0, 10.0, 4.0);
    let part = cut(&frame, &Plane::at_z(1.0), Keep::Below);
    assert_eq!(part.rims.len(), 2);
    let lower = capped(&frame, &Plane::at_z(1.0), Keep::Below);
    assert!((lower.volume_mm3() - 800.0).abs() < 1e-9);
    // Across the hole there are two separate openings instead.
    let half = capped(&frame, &Plane::at_x(0.0), Keep::Above);
    assert!((half.volume_mm3() - 1600.0).abs() < 1e-9);
}

#[test]
fn the_rim_of_a_hole_is_found_and_closed() {
    let ball = sphere(3);
    // Without the triangles round one vertex: a hole with five or six corners.
    for vertex in [0, 7, 200] {
        let kept: Vec<u32> =
            (0..ball.triangles().len() as u32).filter(|&t| !ball.triangles()[t as usize].contains(&vertex)).collect();
        let mut open = submesh(&ball, &kept);
        let rims = boundary_loops(&open);
        assert_eq!(rims.len(), 1);
        let removed = ball.triangles().len() - kept.len();
        assert_eq!(rims[0].len(), removed);
        assert_eq!(fill_hole(&mut open, &rims[0]), Ok(removed - 2));
        let closed = ClosedMesh::new(open).unwrap();
        assert!((closed.volume_mm3() / ball.signed_volume_mm3() - 1.0).abs() < 5e-3);
    }
    assert!(boundary_loops(&ball).is_empty());
}

#[test]
fn a_rim_that_crosses_itself_in_the_plane_is_closed_with_a_cone() {
    // A closed band, like the seam of a tennis ball: seen from anywhere it crosses itself or folds back.
    let count = 48;
    let seam = |k: usize, out: f64| {
        let t = 2.0 * PI * k as f64 / count as f64;
        let (x, y) = (libm::cos(t) + 0.9 * libm::cos(3.0 * t), libm::sin(t) - 0.9 * libm::sin(3.0 * t));
        DVec3::new(x, y, 1.5 * libm::sin(2.0 * t)) * out
    };
    let positions = (0..2 * count).map(|k| seam(k % count, if k < count { 1.0 } else { 1.2 })).collect();
    let mut triangles = Vec::new();
    for k in 0..count as u32 {
        let (n, outer) = ((k + 1) % count as u32, count as u32);
        triangles.extend([[k, n, n + outer], [k, n + outer, k + outer]]);
    }
    let mut band = TriMesh::new(positions, triangles).unwrap();
    let rims = boundary_loops(&band);
    assert_eq!(rims.len(), 2);
    let before = band.clone();
    assert_eq!(fill_flat(&mut band, &rims[..1]), Err(HoleFault::Crossing));
    assert_eq!(band, before, "a failed fill changes nothing");
    for rim in &rims {
        assert_eq!(fill_hole(&mut band, rim), Ok(count));
    }
    assert!(boundary_loops(&band).is_empty());
    assert_eq!(orient_consistently(&band).conflicts, 0);
}

#[test]
fn bad_rims_are_refused() {
    let mut ball = sphere(1);
    assert_eq!(fill_hole(&mut ball, &[0, 1]), Err(HoleFault::TooShort(2)));
    assert_eq!(fill_hole(&mut ball, &[0, 1, 9999]), Err(HoleFault::BadVertex(9999)));
    assert_eq!(fill_hole(&mut ball, &[0, 1, 2, 1]), Err(HoleFault::BadVertex(1)));
    assert_eq!(fill_flat(&mut ball, &[]), Ok(0));
}

#[test]
fn turned_triangles_are_turned_back() {
    let two = joined(&[sphere(3), moved(&sphere(2), DVec3::X * 100.0)]);
    let is_turned = |k: usize| k.is_multiple_of(7) || k.is_multiple_of(5) || k >= sphere(3).triangles().len();
    let turn = |(k, &[a, b, c]): (usize, &[u32; 3])| if is_turned(k) { [a, c, b] } else { [a, b, c] };
    let mixed = TriMesh::new(two.positions().to_vec(), two.triangles().iter().enumerate().map(turn).collect()).unwrap();
    let oriented = orient_consistently(&mixed);
    assert_eq!(oriented.mesh, two);
    assert_eq!(oriented.flipped, (0..two.triangles().len()).filter(|&k| is_turned(k)).count());
    assert_eq!(oriented.conflicts, 0);
    // An open shell faces outwards too.
    let bowl = cut(&sphere(3), &Plane::at_z(10.0), Keep::Below).mesh;
    let turned = TriMesh::new(bowl.positions().to_vec(), bowl.triangles().iter().map(|&[a, b, c]| [a, c, b]).collect());
    assert_eq!(orient_consistently(&turned.unwrap()).mesh, bowl);
}

#[test]
fn a_one_sided_band_has_a_conflict() {
    let count = 20u32;
    let positions = (0..2 * count)
        .map(|k| {
            let t = 2.0 * PI * f64::from(k / 2) / f64::from(count);
            let across = if k % 2 == 0 { -0.3 } else { 0.3 };
            let radius = 1.0 + across * libm::cos(t / 2.0);
            DVec3::new(radius * libm::cos(t), radius * libm::sin(t), across * libm::sin(t / 2.0))
        })
        .collect();
    let mut triangles = Vec::new();
    for k in 0..count {
        let (a, b) = (2 * k, 2 * k + 1);
        // After one turn the band has changed its sides.
        let (c, d) = if k + 1 < count { (a + 2, b + 2) } else { (1, 0) };
        triangles.extend([[a, c, b], [b, c, d]]);
    }
    let band = TriMesh::new(positions, triangles).unwrap();
    assert_eq!(boundary_loops(&orient_consistently(&shapes::frame(3.0, 1.0, 1.0)).mesh).len(), 0);
    assert!(orient_consistently(&band).conflicts >= 1);
}

fn any_plane() -> impl Strategy<Value = Plane> {
    let unit = -1.0..1.0;
    ([unit.clone(), unit.clone(), unit], -28.0..28.0f64).prop_filter_map("a direction", |(normal, offset)| {
        let normal = DVec3::from_array(normal).try_normalize()?;
        Plane::through(normal * offset, normal)
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn any_cut_of_a_sphere_closes_with_a_flat_fill(plane in any_plane()) {
        let ball = sphere(3);
        let (above, below) = (capped(&ball, &plane, Keep::Above), capped(&ball, &plane, Keep::Below));
        let sum = above.volume_mm3() + below.volume_mm3();
        // Vertices within 0.0001 mm were moved, so the sum is right to about that times the area of the cut.
        prop_assert!((sum - ball.signed_volume_mm3()).abs() < 1.0);
    }

    #[test]
    fn cuts_through_vertices_close_too(vertex in 0usize..162, normal in [-1.0..1.0f64, -1.0..1.0, -1.0..1.0]) {
        let ball = sphere(2);
        let point = ball.positions()[vertex];
        if let Some(plane) = Plane::through(point * 0.999_999_9, DVec3::from_array(normal))
            && !cut(&ball, &plane, Keep::Above).rims.is_empty() {
            let part = cut(&ball, &plane, Keep::Above);
            let mut mesh = part.mesh;
            for rim in &part.rims {
                prop_assert!(fill_hole(&mut mesh, rim).is_ok());
            }
            prop_assert!(boundary_loops(&mesh).is_empty());
        }
    }

    #[test]
    fn any_set_of_triangles_can_be_worked_on(
        triangles in prop::collection::vec([0u32..12, 0..12, 0..12], 0..40), plane in any_plane()) {
        let mesh = TriMesh::new(sphere(0).positions().to_vec(), triangles).unwrap();
        let total: usize = components(&mesh).iter().map(|part| part.triangles.len()).sum();
        prop_assert_eq!(total, mesh.triangles().len());
        let oriented = orient_consistently(&mesh);
        prop_assert_eq!(oriented.mesh.triangles().len(), mesh.triangles().len());
        prop_assert!(oriented.flipped <= mesh.triangles().len());
        let mut filled = mesh.clone();
        for rim in boundary_loops(&mesh) {
            prop_assert!(fill_hole(&mut filled, &rim).is_ok());
        }
        let _ = (cut(&mesh, &plane, Keep::Below), section(&mesh, &plane), ClosedMesh::new(mesh.clone()).is_ok());
        let _ = (vertex_normals(&mesh), surface_moments(&mesh), silhouette(&mesh, 2.0));
    }
}
