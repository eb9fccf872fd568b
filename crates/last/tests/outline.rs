//! Outlines: curvature without a break, exact lengths and distances, editing, and what is refused.

use glam::DVec2;
use last::{Outline, OutlineError, SAG_MM, SplineError};
use mesh::Grid;
use proptest::prelude::*;
use std::f64::consts::{PI, TAU};

fn ring(count: usize, point: impl Fn(f64) -> DVec2) -> Vec<DVec2> {
    (0..count).map(|i| point(i as f64 / count as f64 * TAU)).collect()
}

fn ellipse(count: usize) -> Vec<DVec2> {
    ring(count, |angle| DVec2::from_angle(angle) * DVec2::new(120.0, 45.0))
}

/// Rings of mildly uneven radius: none crosses itself.
fn blob() -> impl Strategy<Value = Vec<DVec2>> {
    proptest::collection::vec(40.0..60.0, 5..20).prop_map(|radii: Vec<f64>| {
        let turn = TAU / radii.len() as f64;
        radii
            .iter()
            .enumerate()
            .map(|(i, r)| DVec2::from_angle(i as f64 * turn) * *r + DVec2::new(90.0, -5.0))
            .collect()
    })
}

#[test]
fn many_knots_on_a_circle_give_its_area_length_and_distances() {
    let outline = Outline::through(&ring(48, |angle| DVec2::from_angle(angle) * 50.0)).unwrap();
    assert!((outline.area_mm2() / (PI * 2500.0) - 1.0).abs() < 3e-4);
    assert!((outline.length_mm() / (PI * 100.0) - 1.0).abs() < 2e-4);
    for (x, y) in [(0.0, 0.0), (30.0, 20.0), (49.0, 5.0), (60.0, -40.0), (-200.0, 1.0)] {
        let p = DVec2::new(x, y);
        assert!((outline.signed_distance_mm(p) - (p.length() - 50.0)).abs() < 2.0 * SAG_MM, "{p}");
        assert_eq!(outline.contains(p), p.length() < 50.0);
    }
    let (outer, inner) = outline.width_at(30.0).unwrap();
    assert!((outer + 40.0).abs() < 0.02 && (inner - 40.0).abs() < 0.02);
    assert_eq!(outline.width_at(50.5), None);
}

/// A periodic cubic spline converges with the fourth power of the knot distance (de Boor, A Practical Guide to Splines).
#[test]
fn the_curve_converges_with_the_fourth_power() {
    let error = |count: usize| {
        let curve = Outline::through(&ring(count, |angle| DVec2::from_angle(angle) * 50.0)).unwrap();
        (0..count)
            .map(|i| curve.spline().parameter_of_knot(i) + curve.spline().period_mm() / count as f64 / 2.0)
            .map(|t| (curve.at(t).length() - 50.0).abs())
            .fold(0.0, f64::max)
    };
    let order = (error(12) / error(24)).log2();
    assert!((order - 4.0).abs() < 0.3, "{order}");
}

#[test]
fn a_clockwise_drawing_is_turned_and_its_first_point_stays_first() {
    let mut points = ellipse(16);
    points.reverse();
    let outline = Outline::through(&points).unwrap();
    assert!(outline.area_mm2() > 0.0);
    assert_eq!(outline.knots()[0], points[0]);
    assert_eq!(outline.knots()[1], points[15]);
}

#[test]
fn what_is_no_outline_is_refused_with_the_place() {
    let refused = |points: &[DVec2]| Outline::through(points).unwrap_err();
    assert_eq!(refused(&ellipse(12)[..2]), OutlineError::Curve(SplineError::TooFew { count: 2 }));
    let mut points = ellipse(12);
    points[5].x = f64::NAN;
    assert_eq!(refused(&points), OutlineError::Curve(SplineError::NotFinite { index: 5 }));
    let mut points = ellipse(12);
    points[11] = points[0];
    assert!(matches!(refused(&points), OutlineError::Curve(SplineError::Doubled { index: 11, .. })));
    let eight = ring(24, |angle| DVec2::new(60.0 * libm::sin(angle + 0.1), 30.0 * libm::sin(2.0 * angle + 0.2)));
    let OutlineError::CrossesItself { x_mm, y_mm } = refused(&eight) else { panic!("not refused as crossing") };
    assert!(x_mm.abs() < 1.0 && y_mm.abs() < 1.0, "{x_mm} {y_mm}");
}

#[test]
fn a_knot_moves_comes_and_goes() {
    let outline = Outline::through(&ellipse(12)).unwrap();
    let moved = outline.with_knot_moved(3, DVec2::new(0.0, 52.0)).unwrap();
    assert_eq!(moved.knots()[3], DVec2::new(0.0, 52.0));
    assert!(moved.area_mm2() > outline.area_mm2());
    let near = DVec2::new(90.0, 40.0);
    let (added, index) = outline.with_knot_added(near).unwrap();
    assert_eq!(added.knots().len(), 13);
    assert!(added.knots()[index].distance(outline.nearest(near).at) < 1e-12);
    assert_eq!(added.without_knot(index).unwrap(), outline);
    assert!(matches!(outline.with_knot_moved(0, DVec2::new(-200.0, 0.0)), Err(OutlineError::CrossesItself { .. })));
}

/// The distance grid works tile by tile; the last tile of a row may hold a single sample.
#[test]
fn a_grid_of_any_size_has_every_distance() {
    let outline = Outline::through(&ellipse(16)).unwrap();
    for size in 1..20 {
        let side = f64::from(size - 1) * 3.7;
        let mut grid = Grid::over(DVec2::new(70.0, 3.0), DVec2::new(70.0 + side, 3.0 + side / 2.0), 3.7);
        outline.distance_onto(&mut grid);
        for row in 0..grid.rows {
            for column in 0..grid.columns {
                let exact = outline.signed_distance_mm(grid.at(column, row));
                assert!((f64::from(grid.get(column, row)) - exact).abs() < 1e-4);
            }
        }
    }
}

#[test]
fn a_drawing_is_followed_as_closely_as_asked() {
    let drawn = ellipse(400);
    let (outline, off_mm) = Outline::following(&drawn, 0.1).unwrap();
    assert!(off_mm <= 0.1 && outline.knots().len() <= 48, "{off_mm} {}", outline.knots().len());
    // A rectangle's corners cannot be followed: the distance says so.
    let rectangle = [(0.0, 0.0), (200.0, 0.0), (200.0, 80.0), (0.0, 80.0), (0.0, 0.0)].map(DVec2::from);
    let (_, off_mm) = Outline::following(&rectangle, 0.01).unwrap();
    assert!(off_mm > 0.01 && off_mm < 5.0, "{off_mm}");
    assert!(Outline::following(&[DVec2::ZERO; 9], 0.1).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn direction_and_curvature_go_on_across_every_knot(points in blob()) {
        let spline = Outline::through(&points).unwrap().spline().clone();
        for index in 0..points.len() {
            let t = spline.parameter_of_knot(index);
            prop_assert!(spline.at(t).distance(spline.knots()[index]) < 1e-9);
            let step = 1e-6;
            let (before, after) = (t - step, t + step);
            prop_assert!(spline.derivative(before).distance(spline.derivative(after)) < 1e-5);
            prop_assert!(spline.second_derivative(before).distance(spline.second_derivative(after)) < 1e-5);
            // The derivatives are those of the positions.
            let middle = t + 3.0;
            let difference = (spline.at(middle + 1e-4) - spline.at(middle - 1e-4)) / 2e-4;
            prop_assert!(difference.distance(spline.derivative(middle)) < 1e-6);
            let difference = (spline.derivative(middle + 1e-4) - spline.derivative(middle - 1e-4)) / 2e-4;
            prop_assert!(difference.distance(spline.second_derivative(middle)) < 1e-6);
        }
    }

    #[test]
    fn the_polygon_is_even_closed_counter_clockwise_and_on_the_curve(points in blob(), spacing_mm in 0.5..5.0) {
        let outline = Outline::through(&points).unwrap();
        let polygon = outline.polygon(spacing_mm);
        let chords: Vec<f64> = (0..polygon.len()).map(|i| polygon[i].distance(polygon[(i + 1) % polygon.len()])).collect();
        let mean = outline.length_mm() / polygon.len() as f64;
        prop_assert!((mean / spacing_mm - 1.0).abs() < 0.05);
        // A chord is shorter than its arc where the curve bends sharply, and never longer.
        prop_assert!(chords.iter().all(|chord| *chord < mean * 1.01 && *chord > mean * 0.7), "{chords:?}");
        let area: f64 = (0..polygon.len()).map(|i| polygon[i].perp_dot(polygon[(i + 1) % polygon.len()])).sum::<f64>() / 2.0;
        prop_assert!(area > 0.0 && (area / outline.area_mm2() - 1.0).abs() < 0.01);
        prop_assert!(polygon.iter().all(|p| outline.signed_distance_mm(*p).abs() < 2.0 * SAG_MM));
    }

    #[test]
    fn the_distance_grid_is_the_distance(points in blob(), step_mm in 1.0..4.0) {
        let outline = Outline::through(&points).unwrap();
        let grid = outline.distance_grid(step_mm, 12.0);
        for row in 0..grid.rows {
            for column in 0..grid.columns {
                let exact = outline.signed_distance_mm(grid.at(column, row));
                prop_assert!((f64::from(grid.get(column, row)) - exact).abs() < 1e-4);
            }
        }
        let (lo, hi) = outline.bounds();
        prop_assert!(grid.at(0, 0).distance(lo - DVec2::splat(12.0)) < 1e-9);
        prop_assert!(grid.at(grid.columns - 1, grid.rows - 1).cmpge(hi + DVec2::splat(12.0 - 1e-9)).all());
    }

    #[test]
    fn the_area_follows_scale_and_place(points in blob(), scale in 0.5_f64..2.0, x in -100.0..100.0) {
        let plain = Outline::through(&points).unwrap();
        let other: Vec<DVec2> = points.iter().map(|p| *p * scale + DVec2::new(x, -x)).collect();
        let other = Outline::through(&other).unwrap();
        prop_assert!((other.area_mm2() / (plain.area_mm2() * scale * scale) - 1.0).abs() < 1e-3);
        prop_assert!((other.length_mm() / (plain.length_mm() * scale) - 1.0).abs() < 1e-3);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3000))]

    #[test]
    fn any_points_give_a_simple_outline_or_a_reason(
        points in proptest::collection::vec((-100.0..100.0, -100.0..100.0), 0..12),
    ) {
        let points: Vec<DVec2> = points.into_iter().map(DVec2::from).collect();
        if let Ok(outline) = Outline::through(&points) {
            prop_assert!(outline.area_mm2() > 0.0);
            // Round a simple counter-clockwise curve the direction turns exactly once (Hopf).
            let polygon = outline.corners();
            let count = polygon.len();
            let edge = |i: usize| polygon[(i + 1) % count] - polygon[i % count];
            let turn: f64 = (0..count).map(|i| edge(i).angle_to(edge(i + 1))).sum();
            prop_assert!((turn - TAU).abs() < 1e-6, "{turn}");
        }
    }
}
