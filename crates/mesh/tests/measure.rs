//! Moments, rasters, sections and outlines against closed forms and brute force.

#![allow(clippy::unwrap_used, reason = "a test may stop at what it did not expect")]

use glam::{DMat3, DVec2, DVec3};
use mesh::outline::{perimeter_mm, signed_area_mm2};
use mesh::raster::{height_from_above, height_from_below};
use mesh::ray::RayCaster;
use mesh::*;
use proptest::prelude::*;
use std::f64::consts::PI;

const RADIUS: f64 = 30.0;

fn sphere(levels: u32) -> TriMesh {
    shapes::icosphere(RADIUS, levels)
}

/// Circumference of an ellipse by the arithmetic-geometric mean: with c_n = (a_n − b_n) / 2 it is
/// 2π (a² − Σ 2^(n−1) c_n² …) / M(a, b), exact to rounding after a few steps (Gauss; see Adlaj 2012, Notices AMS 59).
fn ellipse_circumference(a: f64, b: f64) -> f64 {
    let (mut x, mut y, mut sum, mut power) = (a, b, a * a - (a * a - b * b) / 2.0, 1.0);
    for _ in 0..8 {
        let c = (x - y) / 2.0;
        (x, y) = ((x + y) / 2.0, (x * y).sqrt());
        sum -= power * c * c;
        power *= 2.0;
    }
    2.0 * PI * sum / x
}

#[test]
fn the_reference_for_ellipses_is_right() {
    assert!((ellipse_circumference(7.0, 7.0) - 14.0 * PI).abs() < 1e-12);
    // By Simpson's rule over a quarter of the parameter, independent of the mean.
    let (a, b, steps) = (60.0f64, 35.0f64, 2000);
    let speed = |k: usize| {
        let t = PI / 2.0 * k as f64 / steps as f64;
        ((a * libm::sin(t)).powi(2) + (b * libm::cos(t)).powi(2)).sqrt()
    };
    let weight = |k: usize| if k == 0 || k == steps { 1.0 } else { 2.0 + 2.0 * (k % 2) as f64 };
    let simpson: f64 = (0..=steps).map(|k| weight(k) * speed(k)).sum::<f64>() * PI / 2.0 / steps as f64 / 3.0;
    assert!((ellipse_circumference(a, b) - 4.0 * simpson).abs() < 1e-9);
}

#[test]
fn moments_of_a_box_are_exact() {
    let (lo, size) = (DVec3::new(1000.0, -5.0, 2.0), DVec3::new(8.0, 4.0, 2.0));
    let moments = surface_moments(&shapes::cuboid(lo, lo + size)).unwrap();
    let [x, y, z] = size.to_array();
    assert!((moments.area_mm2 - 2.0 * (x * y + y * z + z * x)).abs() < 1e-9);
    assert!((moments.centroid - (lo + size / 2.0)).length() < 1e-9);
    // ∫ x² over the surface: two faces at ± x/2, and four faces across which x runs evenly.
    let spread =
        |x: f64, y: f64, z: f64| (2.0 * y * z * x * x / 4.0 + 2.0 * (y + z) * x * x * x / 12.0) / moments.area_mm2;
    let expected = DMat3::from_diagonal(DVec3::new(spread(x, y, z), spread(y, z, x), spread(z, x, y)));
    assert!((moments.covariance_mm2 - expected).to_cols_array().iter().all(|e| e.abs() < 1e-9));
    assert_eq!(surface_moments(&TriMesh::default()), None);
}

#[test]
fn principal_axes_of_a_turned_box_are_its_edges() {
    let turn = DMat3::from_rotation_z(0.4) * DMat3::from_rotation_x(-1.1) * DMat3::from_rotation_y(2.0);
    let cuboid = shapes::cuboid(DVec3::new(-9.0, -3.0, -1.0), DVec3::new(9.0, 3.0, 1.0));
    let turned = cuboid.transformed(&glam::DAffine3::from_mat3(turn));
    let eigen = eigen_symmetric(surface_moments(&turned).unwrap().covariance_mm2);
    for (axis, vector) in [DVec3::X, DVec3::Y, DVec3::Z].into_iter().zip(eigen.vectors) {
        assert!(((turn * axis).dot(vector).abs() - 1.0).abs() < 1e-12);
    }
}

#[test]
fn normals_of_a_sphere_point_away_from_its_centre() {
    let ball = sphere(4);
    for (normal, p) in vertex_normals(&ball).iter().zip(ball.positions()) {
        assert!((normal.length() - 1.0).abs() < 1e-12 && normal.dot(*p) / RADIUS > 0.9995);
    }
}

#[test]
fn sections_of_a_sphere_are_circles() {
    let ball = sphere(5);
    for (plane, height) in [
        (Plane::at_z(0.0), 0.0),
        (Plane::at_x(18.0), 18.0),
        (Plane::through(DVec3::new(1.0, 2.0, -2.0) * 4.0, DVec3::new(-1.0, -2.0, 2.0)).unwrap(), 12.0),
    ] {
        let lines = section(&ball, &plane);
        assert_eq!((lines.len(), lines[0].closed), (1, true));
        let radius = (RADIUS * RADIUS - height * height).sqrt();
        assert!((lines[0].length_mm() / (2.0 * PI * radius) - 1.0).abs() < 1e-3);
        assert!((hull_girth_mm(&lines[0].points, &plane) - lines[0].length_mm()).abs() < 1e-3);
        // Round the material, counter-clockwise from the normal's tip.
        let flat: Vec<DVec2> = lines[0].points.iter().map(|&p| plane.to_2d(p)).collect();
        assert!((signed_area_mm2(&flat) / (PI * radius * radius) - 1.0).abs() < 2e-3);
        for p in &lines[0].points {
            assert!(plane.height_mm(*p).abs() < 1e-9);
            assert!((plane.to_3d(plane.to_2d(*p)) - *p).length() < 1e-9);
        }
    }
    assert!(section(&ball, &Plane::at_z(31.0)).is_empty());
}

#[test]
fn sections_follow_holes_and_open_rims() {
    let lines = section(&shapes::frame(30.0, 10.0, 4.0), &Plane::at_z(1.0));
    assert_eq!(lines.len(), 2);
    assert!((lines[0].length_mm() - 120.0).abs() < 1e-9 && (lines[1].length_mm() - 40.0).abs() < 1e-9);
    let area =
        |line: &Polyline| signed_area_mm2(&line.points.iter().map(|&p| Plane::at_z(1.0).to_2d(p)).collect::<Vec<_>>());
    assert!((area(&lines[0]) - 900.0).abs() < 1e-9 && (area(&lines[1]) + 100.0).abs() < 1e-9);
    let bowl = cut(&sphere(4), &Plane::at_z(0.0), Keep::Below).mesh;
    let lines = section(&bowl, &Plane::at_x(0.5));
    assert_eq!((lines.len(), lines[0].closed), (1, false));
    assert!((lines[0].length_mm() / (PI * RADIUS) - 1.0).abs() < 2e-3);
}

#[test]
fn a_tape_round_an_ellipse_measures_its_circumference() {
    let (a, b) = (60.0, 35.0);
    let point = |k: usize| 2.0 * PI * k as f64 / 2000.0;
    let tilted = Plane::through(DVec3::new(3.0, 4.0, 5.0), DVec3::new(0.3, -0.5, 0.8)).unwrap();
    let mut points: Vec<DVec3> =
        (0..2000).map(point).map(|t| tilted.to_3d(DVec2::new(a * libm::cos(t), b * libm::sin(t)))).collect();
    // Points inside, dents and a distance from the plane change nothing.
    points.extend((0..50).map(|k| tilted.to_3d(DVec2::new(f64::from(k), 3.0)) + tilted.normal() * 7.0));
    assert!((hull_girth_mm(&points, &tilted) / ellipse_circumference(a, b) - 1.0).abs() < 1e-5);
}

#[test]
fn heights_of_a_tilted_plane_are_exact_at_every_sample() {
    // Samples lie on vertices, edges and inside of triangles; none may be missed.
    let count = 11u32;
    let height = |p: DVec2| 3.0 + 0.25 * p.x - 0.5 * p.y;
    let at = |k: u32| DVec2::new(f64::from(k % count), f64::from(k / count));
    let positions = (0..count * count).map(|k| at(k).extend(height(at(k)))).collect();
    let mut triangles = Vec::new();
    for k in (0..count * (count - 1)).filter(|k| k % count != count - 1) {
        let (a, b, c, d) = (k, k + 1, k + count, k + count + 1);
        triangles.extend(if k % 3 == 0 { [[a, b, d], [a, d, c]] } else { [[a, b, c], [c, b, d]] });
    }
    let sheet = TriMesh::new(positions, triangles).unwrap();
    let heights = height_from_below(&sheet, Grid::over(DVec2::splat(-1.0), DVec2::splat(11.0), 0.25));
    for row in 0..heights.rows {
        for column in 0..heights.columns {
            let (p, value) = (heights.at(column, row), heights.get(column, row));
            let is_over = p.cmpge(DVec2::ZERO).all() && p.cmple(DVec2::splat(10.0)).all();
            assert_eq!(!value.is_nan(), is_over, "{p}");
            assert!(!is_over || (f64::from(value) - height(p)).abs() < 1e-6, "{p}");
        }
    }
}

#[test]
fn heights_of_a_sphere_from_below_and_above() {
    let grid = || Grid::over(DVec2::splat(-RADIUS), DVec2::splat(RADIUS), 0.5);
    let ball = sphere(5);
    let (below, above) = (height_from_below(&ball, grid()), height_from_above(&ball, grid()));
    for (k, (&low, &high)) in below.values.iter().zip(&above.values).enumerate() {
        let p = below.at(k % below.columns, k / below.columns);
        let square = RADIUS * RADIUS - p.length_squared();
        assert!(low.is_nan() == high.is_nan() && (square > -1e-9 || low.is_nan()));
        if square > 100.0 {
            assert!((f64::from(low) + square.sqrt()).abs() < 0.04 && (f64::from(high) - square.sqrt()).abs() < 0.04);
        }
    }
}

#[test]
fn the_order_of_triangles_does_not_change_heights() {
    let ball = sphere(3);
    let reversed = TriMesh::new(ball.positions().to_vec(), ball.triangles().iter().rev().copied().collect()).unwrap();
    let heights = |mesh| height_from_below(mesh, Grid::over(DVec2::splat(-31.0), DVec2::splat(31.0), 0.7)).values;
    let bits = |values: Vec<f32>| values.into_iter().map(f32::to_bits).collect::<Vec<_>>();
    assert_eq!(bits(heights(&ball)), bits(heights(&reversed)));
}

#[test]
fn grids_of_senseless_size_are_small() {
    let everything = Grid::over(DVec2::splat(-1e300), DVec2::splat(1e300), 1e-3);
    assert!(everything.values.len() <= MOST_SAMPLES);
    for (hi, step) in [(f64::NAN, 1.0), (f64::INFINITY, 1.0), (1.0, 0.0), (1.0, f64::NAN), (1.0, -1.0)] {
        let grid = Grid::over(DVec2::ZERO, DVec2::splat(hi), step);
        assert_eq!(grid.values.len(), 1);
        assert_eq!(height_from_below(&sphere(1), grid).values.len(), 1);
    }
}

#[test]
fn samples_are_read_between_rows_and_on_the_last_one() {
    let mut grid = Grid::over(DVec2::new(1.0, 2.0), DVec2::new(3.0, 4.0), 1.0);
    grid.values = (0..9).map(|k| (k % 3) as f32 + 10.0 * (k / 3) as f32).collect();
    for (p, expected) in [((1.0, 2.0), 0.0), ((1.5, 2.5), 5.5), ((3.0, 4.0), 22.0), ((3.0, 2.5), 7.0)] {
        assert_eq!(grid.sample(DVec2::from(p)), Some(expected));
    }
    for outside in [(0.9, 3.0), (3.1, 3.0), (2.0, 4.5), (f64::NAN, 3.0)] {
        assert_eq!(grid.sample(DVec2::from(outside)), None);
    }
    grid.values[4] = f32::NAN;
    assert_eq!(grid.sample(DVec2::new(1.5, 2.5)), None);
}

/// A grid over ± `half` with the values of a function.
fn sampled(half: f64, step_mm: f64, f: impl Fn(DVec2) -> f64) -> Grid {
    let mut grid = Grid::over(DVec2::splat(-half), DVec2::splat(half), step_mm);
    for k in 0..grid.values.len() {
        grid.values[k] = f(grid.at(k % grid.columns, k / grid.columns)) as f32;
    }
    grid
}

#[test]
fn the_contour_of_a_cone_is_a_circle_to_second_order() {
    let errors: Vec<f64> = [1.0, 0.5, 0.25]
        .iter()
        .map(|&step| {
            let loops = contour(&sampled(12.0, step, |p| 10.0 - p.length()), 0.0);
            assert_eq!(loops.len(), 1);
            assert!(loops[0].iter().all(|p| (p.length() - 10.0).abs() < 0.02 * step));
            PI * 100.0 - signed_area_mm2(&loops[0])
        })
        .collect();
    assert!(errors.windows(2).all(|pair| (3.0..5.0).contains(&(pair[0] / pair[1]))), "{errors:?}");
}

#[test]
fn contours_run_round_islands_and_holes() {
    // A ring between 4 and 8 mm: outside counter-clockwise, hole clockwise.
    let ring = sampled(10.0, 0.1, |p| 2.0 - (p.length() - 6.0).abs());
    let loops = contour(&ring, 0.0);
    let areas: Vec<f64> = loops.iter().map(|outline| signed_area_mm2(outline)).collect();
    assert_eq!(areas.len(), 2);
    assert!((areas[0] - 64.0 * PI).abs() < 0.3 && (areas[1] + 16.0 * PI).abs() < 0.3, "{areas:?}");
    let below: f64 = contour_below(&ring, 0.0).iter().map(|outline| signed_area_mm2(outline)).sum();
    // The complement, and half a step all round the grid.
    assert!((below + areas[0] + areas[1] - 20.1 * 20.1).abs() < 0.01, "{below}");
}

#[test]
fn samples_without_a_value_are_outside() {
    let grid = sampled(5.0, 1.0, |p| if p.x.abs() < 2.5 && p.y.abs() < 1.5 { 7.0 } else { f64::NAN });
    let loops = contour(&grid, 0.0);
    assert_eq!(loops.len(), 1);
    // 5 × 3 samples reach half a step out, with the corners cut off: 5 · 3 − 4 · ⅛.
    assert!((signed_area_mm2(&loops[0]) - 14.5).abs() < 1e-9);
    assert_eq!(contour_mask(&grid, |value| !value.is_nan()), loops);
    assert!(contour(&grid, 8.0).is_empty());
    let full = sampled(1.0, 1.0, |_| 1.0);
    assert!((signed_area_mm2(&contour(&full, 0.0)[0]) - 8.5).abs() < 1e-9);
}

#[test]
fn the_shadow_of_a_sphere_is_a_disc() {
    let (ball, step) = (sphere(5), 0.25);
    let loops = silhouette(&ball, step);
    assert_eq!(loops.len(), 1);
    let bound = 2.0 * PI * RADIUS * step / 2.0;
    assert!((signed_area_mm2(&loops[0]) - PI * RADIUS * RADIUS).abs() < bound);
    assert_eq!(silhouette(&shapes::frame(30.0, 10.0, 4.0), 0.5).len(), 2);
    assert!(silhouette(&TriMesh::default(), 1.0).is_empty());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn eigenvectors_rebuild_the_matrix(e in [-5.0..5.0f64, -5.0..5.0, -5.0..5.0, -5.0..5.0, -5.0..5.0, -5.0..5.0]) {
        let m = DMat3::from_cols_array(&[e[0], e[1], e[2], e[1], e[3], e[4], e[2], e[4], e[5]]);
        let eigen = eigen_symmetric(m);
        let [a, b, c] = eigen.vectors;
        let v = DMat3::from_cols(a, b, c);
        let rebuilt = v * DMat3::from_diagonal(DVec3::from_array(eigen.values)) * v.transpose();
        prop_assert!((rebuilt - m).to_cols_array().iter().all(|x| x.abs() < 1e-12 * 20.0));
        prop_assert!((v.determinant() - 1.0).abs() < 1e-12);
        prop_assert!(eigen.values[0] >= eigen.values[1] && eigen.values[1] >= eigen.values[2]);
    }

    #[test]
    fn hulls_are_convex_and_hold_every_point(points in prop::collection::vec([-9i32..9, -9..9], 0..60)) {
        let points: Vec<DVec2> = points.iter().map(|p| DVec2::new(f64::from(p[0]), f64::from(p[1]))).collect();
        let hull = convex_hull_2d(&points);
        prop_assert_eq!(&convex_hull_2d(&hull), &hull);
        prop_assert!(hull.iter().all(|p| points.contains(p)));
        if hull.len() > 2 {
            for k in 0..hull.len() {
                let (a, b) = (hull[k], hull[(k + 1) % hull.len()]);
                prop_assert!(points.iter().all(|&p| (b - a).perp_dot(p - a) >= 0.0));
            }
            prop_assert!(signed_area_mm2(&hull) > 0.0);
        }
        let mut mirrored: Vec<DVec2> = points.iter().map(|p| DVec2::new(p.x, -p.y)).collect();
        mirrored.reverse();
        prop_assert!((perimeter_mm(&convex_hull_2d(&mirrored)) - perimeter_mm(&hull)).abs() < 1e-9);
    }

    #[test]
    fn any_section_of_a_closed_mesh_is_closed(normal in [-3i32..4, -3..4, -3..4], offset in -10i32..10, levels in 0u32..4) {
        // Small whole numbers, so that many planes pass through vertices and along edges.
        let bodies = [shapes::icosphere(10.0, levels), shapes::frame(16.0, 8.0, 8.0)];
        let normal = DVec3::from_array(normal.map(f64::from));
        if let Some(plane) = Plane::through(normal.normalize_or_zero() * f64::from(offset), normal) {
            for body in bodies {
                prop_assert!(section(&body, &plane).iter().all(|line| line.closed));
            }
        }
    }

    #[test]
    fn heights_are_where_rays_from_below_arrive(turn in 0.0..3.0f64, x in 0.3..0.9f64, step in 0.9..3.0f64) {
        let scale = DMat3::from_rotation_x(turn) * DMat3::from_diagonal(DVec3::new(1.0, x, 0.4));
        let mesh = sphere(3).transformed(&glam::DAffine3::from_mat3(scale));
        let (lo, hi) = mesh.bounds().unwrap();
        let heights = height_from_below(&mesh, Grid::over(lo.truncate(), hi.truncate(), step));
        let caster = RayCaster::new(mesh);
        for row in 0..heights.rows {
            for column in 0..heights.columns {
                let cast = |aside: DVec2| caster.cast((heights.at(column, row) + aside).extend(lo.z - 1.0), DVec3::Z);
                let (hit, value) = (cast(DVec2::ZERO), heights.get(column, row));
                // On the very rim of the shadow, rounding may decide either way.
                let around = [DVec2::X, DVec2::NEG_X, DVec2::Y, DVec2::NEG_Y].map(|aside| cast(aside * 1e-9).is_some());
                let is_on_rim = around.contains(&true) && around.contains(&false);
                prop_assert!(is_on_rim || hit.is_some() != value.is_nan());
                if let Some(hit) = hit.filter(|_| !is_on_rim) {
                    prop_assert!((hit.point.z - f64::from(value)).abs() < 1e-4);
                }
            }
        }
    }

    #[test]
    fn contours_of_any_grid_close_and_hold_its_samples(values in prop::collection::vec(-2i8..3, 30), level in -1i8..2) {
        let mut grid = Grid::over(DVec2::ZERO, DVec2::new(5.0, 4.0), 1.0);
        grid.values = values.iter().map(|&v| if v == 2 { f32::NAN } else { f32::from(v) }).collect();
        let loops = contour(&grid, f64::from(level));
        // Samples strictly inside have winding number 1, samples outside 0.
        for k in 0..grid.values.len() {
            let (p, value) = (grid.at(k % 6, k / 6), grid.values[k]);
            let is_at_level = (f64::from(value) - f64::from(level)).abs() < 0.5;
            let winding: i32 = loops.iter().map(|outline| winding_number(outline, p)).sum();
            let expected = i32::from(f64::from(value) > f64::from(level));
            prop_assert!(is_at_level || winding == expected, "{} {} {}", p, value, winding);
        }
    }
}

fn winding_number(outline: &[DVec2], p: DVec2) -> i32 {
    (0..outline.len())
        .map(|k| {
            let (a, b) = (outline[k] - p, outline[(k + 1) % outline.len()] - p);
            let side = a.perp_dot(b);
            i32::from(a.y <= 0.0 && b.y > 0.0 && side > 0.0) - i32::from(b.y <= 0.0 && a.y > 0.0 && side < 0.0)
        })
        .sum()
}

proptest! {
    #[test]
    fn near_edges_are_those_whose_boxes_meet(points in prop::collection::vec((-20.0..20.0f64, -20.0..20.0f64), 3..30)) {
        let outline: Vec<DVec2> = points.into_iter().map(DVec2::from).collect();
        let count = outline.len();
        let ends = |k: usize| (outline[k], outline[(k + 1) % count]);
        let mut all = Vec::new();
        for i in 0..count {
            for j in i + 1..count {
                let ((a, b), (c, d)) = (ends(i), ends(j));
                let meet = a.min(b).cmple(c.max(d)).all() && c.min(d).cmple(a.max(b)).all();
                if meet && (i + 1) % count != j && (j + 1) % count != i {
                    all.push((i, j));
                }
            }
        }
        let mut found: Vec<(usize, usize)> = mesh::outline::near_edges(&outline).map(|(i, j)| (i.min(j), i.max(j))).collect();
        found.sort_unstable();
        prop_assert_eq!(found, all);
    }
}
