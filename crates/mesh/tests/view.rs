//! Rays, nearest points and fewer triangles, against brute force and known distances.

#![allow(clippy::unwrap_used, reason = "a test may stop at what it did not expect")]

use glam::{DMat3, DVec3};
use mesh::ray::RayCaster;
use mesh::{TriMesh, decimate, shapes};
use proptest::prelude::*;

const RADIUS: f64 = 30.0;

fn point() -> impl Strategy<Value = DVec3> {
    [-50.0..50.0f64, -50.0..50.0, -50.0..50.0].prop_map(DVec3::from_array)
}

/// Where the line from `origin` along `direction` passes a triangle, by solving for its three weights.
fn brute_ray(mesh: &TriMesh, origin: DVec3, direction: DVec3) -> Option<f64> {
    let distance = |&triangle: &[u32; 3]| {
        let [a, b, c] = mesh.corners(triangle);
        let solution = DMat3::from_cols(b - a, c - a, -direction).inverse() * (origin - a);
        let is_hit = solution.x >= 0.0 && solution.y >= 0.0 && solution.x + solution.y <= 1.0 && solution.z >= 0.0;
        is_hit.then_some(solution.z)
    };
    mesh.triangles().iter().filter_map(distance).min_by(f64::total_cmp)
}

#[test]
fn rays_meet_a_cube_where_they_should() {
    let caster = RayCaster::new(shapes::cuboid(DVec3::ZERO, DVec3::splat(10.0)));
    let hit = caster.cast(DVec3::new(3.0, 4.0, -5.0), DVec3::Z * 7.0).unwrap();
    assert_eq!((hit.distance_mm, hit.point), (5.0, DVec3::new(3.0, 4.0, 0.0)));
    // From inside, along a diagonal of a face, through an edge, through a corner.
    assert_eq!(caster.cast(DVec3::splat(5.0), -DVec3::Y).unwrap().point, DVec3::new(5.0, 0.0, 5.0));
    assert_eq!(caster.cast(DVec3::new(4.0, 4.0, -1.0), DVec3::Z).unwrap().point, DVec3::new(4.0, 4.0, 0.0));
    assert!(caster.cast(DVec3::new(0.0, 5.0, -1.0), DVec3::Z).is_some());
    assert!(caster.cast(DVec3::splat(-1.0), DVec3::ONE).is_some());
    assert_eq!(caster.cast(DVec3::new(11.0, 4.0, -1.0), DVec3::Z), None);
    assert_eq!(caster.cast(DVec3::new(3.0, 4.0, -5.0), -DVec3::Z), None);
    for bad in [DVec3::ZERO, DVec3::NAN, DVec3::INFINITY] {
        assert_eq!(caster.cast(DVec3::ZERO, bad), None);
    }
    assert_eq!(caster.cast(DVec3::NAN, DVec3::X), None);
}

#[test]
fn nearest_points_of_a_cube_lie_on_faces_edges_and_corners() {
    let caster = RayCaster::new(shapes::cuboid(DVec3::ZERO, DVec3::splat(10.0)));
    for (from, to) in [
        ([3.0, 4.0, -5.0], [3.0, 4.0, 0.0]),
        ([3.0, 4.0, 1.0], [3.0, 4.0, 0.0]),
        ([-2.0, 4.0, -5.0], [0.0, 4.0, 0.0]),
        ([12.0, 13.0, 14.0], [10.0, 10.0, 10.0]),
    ] {
        assert_eq!(caster.nearest_point(DVec3::from(from)).unwrap().0, DVec3::from(to));
    }
    assert_eq!(caster.nearest_point(DVec3::NAN), None);
}

#[test]
fn an_empty_mesh_is_never_met() {
    let caster = RayCaster::new(TriMesh::default());
    assert_eq!(caster.cast(DVec3::ZERO, DVec3::X), None);
    assert_eq!(caster.nearest_point(DVec3::ZERO), None);
}

#[test]
fn triangles_without_area_are_harmless() {
    let line = TriMesh::new(vec![DVec3::ZERO, DVec3::X, DVec3::X * 2.0], vec![[0, 1, 2], [1, 1, 1]]).unwrap();
    let caster = RayCaster::new(line);
    assert_eq!(caster.cast(DVec3::new(0.5, 0.0, -1.0), DVec3::Z), None);
    assert_eq!(caster.nearest_point(DVec3::new(1.5, 1.0, 0.0)).unwrap().0, DVec3::new(1.5, 0.0, 0.0));
}

#[test]
fn fewer_triangles_keep_the_shape_and_the_limit() {
    let ball = shapes::icosphere(RADIUS, 6);
    for limit in [20_000, 5_000, 300, 20] {
        let smaller = decimate::by_clusters_to(&ball, limit);
        assert!(smaller.triangles().len() <= limit);
        assert!(limit < 300 || smaller.triangles().len() * 3 > limit, "{limit}: {}", smaller.triangles().len());
        if limit >= 5_000 {
            assert!((smaller.signed_volume_mm3() / ball.signed_volume_mm3() - 1.0).abs() < 0.02);
        }
    }
    assert_eq!(decimate::by_clusters_to(&ball, ball.triangles().len()), ball);
    assert!(decimate::by_clusters_to(&ball, 0).triangles().is_empty());
    for cell in [0.0, -1.0, f64::NAN, 1e-12] {
        assert_eq!(decimate::by_clusters(&ball, cell), ball);
    }
    assert!(decimate::by_clusters(&ball, f64::INFINITY).triangles().is_empty());
}

#[test]
fn vertices_stay_within_a_cell_of_the_surface() {
    let ball = shapes::icosphere(RADIUS, 5);
    let smaller = decimate::by_clusters(&ball, 2.0);
    let bound = 2.0 * 3f64.sqrt();
    assert!(smaller.positions().iter().all(|p| p.length() <= RADIUS + 1e-9 && p.length() > RADIUS - bound));
    let caster = RayCaster::new(smaller.clone());
    assert!(ball.positions().iter().all(|&p| caster.nearest_point(p).unwrap().0.distance(p) < bound));
    assert!(smaller.triangles().iter().all(|[a, b, c]| a != b && b != c && c != a));
}

proptest! {
    #[test]
    fn rays_agree_with_brute_force(origin in point(), target in point(), levels in 0u32..4) {
        let mesh = shapes::icosphere(RADIUS, levels);
        let direction = (target * 0.7 - origin).normalize_or(DVec3::X);
        let expected = brute_ray(&mesh, origin, direction);
        let hit = RayCaster::new(mesh.clone()).cast(origin, direction);
        prop_assert_eq!(hit.is_some(), expected.is_some());
        if let (Some(hit), Some(expected)) = (hit, expected) {
            prop_assert!((hit.distance_mm - expected).abs() < 1e-8);
            prop_assert!((origin + direction * hit.distance_mm - hit.point).length() < 1e-12);
            prop_assert!((hit.triangle as usize) < mesh.triangles().len());
        }
    }

    #[test]
    fn nothing_sampled_is_nearer_than_the_nearest_point(p in point(), levels in 0u32..3) {
        let mesh = shapes::icosphere(RADIUS, levels);
        let (nearest, triangle) = RayCaster::new(mesh.clone()).nearest_point(p).unwrap();
        let distance = nearest.distance(p);
        let steps = 12u32;
        let mut sampled = f64::INFINITY;
        for &t in mesh.triangles() {
            let [a, b, c] = mesh.corners(t);
            for i in 0..=steps {
                for j in 0..=steps - i {
                    let (u, v) = (f64::from(i) / f64::from(steps), f64::from(j) / f64::from(steps));
                    sampled = sampled.min((a + (b - a) * u + (c - a) * v).distance(p));
                }
            }
        }
        prop_assert!(distance <= sampled + 1e-9);
        // Samples are at most an edge / 12 apart, and on a facet the distance grows no faster than that.
        prop_assert!(sampled <= distance + 35.0 / f64::from(steps));
        // The point lies on the triangle named.
        let [a, b, c] = mesh.corners(mesh.triangles()[triangle as usize]);
        let parts = [(nearest, b, c), (a, nearest, c), (a, b, nearest)];
        let area = |(a, b, c): (DVec3, DVec3, DVec3)| (b - a).cross(c - a).length();
        let sum: f64 = parts.into_iter().map(area).sum();
        prop_assert!((sum - area((a, b, c))).abs() < 1e-8);
    }
}
