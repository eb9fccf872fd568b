//! The weight of polygons against exact results, an independent quadrature, and its own derivatives.

use crate::weight::Weight;
use glam::DVec2;
use proptest::prelude::*;
use std::f64::consts::{PI, TAU};

fn weight(corners: &[DVec2], radius_mm: f64) -> Weight {
    let edges: Vec<_> = corners.iter().copied().zip(corners.iter().copied().cycle().skip(1)).collect();
    Weight::new(&edges, radius_mm)
}

fn square(half: f64) -> Vec<DVec2> {
    [(-half, -half), (half, -half), (half, half), (-half, half)].map(DVec2::from).to_vec()
}

/// A polygon that is star-shaped about the origin, so that it does not cross itself.
fn star() -> impl Strategy<Value = Vec<DVec2>> {
    proptest::collection::vec(2.0..20.0, 3..12).prop_map(|radii: Vec<f64>| {
        let turn = TAU / radii.len() as f64;
        radii.iter().enumerate().map(|(i, radius)| DVec2::from_angle(i as f64 * turn) * *radius).collect()
    })
}

fn area(corners: &[DVec2]) -> f64 {
    let next = corners.iter().cycle().skip(1);
    corners.iter().zip(next).map(|(a, b)| a.perp_dot(*b)).sum::<f64>() / 2.0
}

fn contains(corners: &[DVec2], p: DVec2) -> bool {
    let next = corners.iter().cycle().skip(1);
    let winding: f64 = corners.iter().zip(next).map(|(a, b)| (*a - p).angle_to(*b - p)).sum();
    winding > PI
}

/// The kernel-weighted share of the disc that the polygon covers, by the midpoint rule over rings and sectors.
fn quadrature(corners: &[DVec2], p: DVec2, radius_mm: f64) -> f64 {
    let (rings, sectors) = (300, 720);
    let mut sum = 0.0;
    for ring in 0..rings {
        let r = (f64::from(ring) + 0.5) / f64::from(rings);
        let kernel = 3.0 / PI * (1.0 - r * r) * (1.0 - r * r) * r;
        let covered = (0..sectors)
            .filter(|sector| {
                let angle = (f64::from(*sector) + 0.5) / f64::from(sectors) * TAU;
                contains(corners, p + DVec2::from_angle(angle) * r * radius_mm)
            })
            .count();
        sum += kernel * covered as f64 * TAU / f64::from(sectors) / f64::from(rings);
    }
    sum
}

/// Exact across a straight edge: ∫ of 16/(5πR)·(1 − x²/R²)^(5/2), integrated once by hand.
fn across_straight_edge(inside_mm: f64, radius_mm: f64) -> f64 {
    let s = (inside_mm / radius_mm).clamp(-1.0, 1.0);
    let c = (1.0 - s * s).sqrt();
    let antiderivative = s * c * (8.0 * s.powi(4) - 26.0 * s * s + 33.0) / 48.0 + 5.0 / 16.0 * libm::asin(s);
    0.5 + 16.0 / (5.0 * PI) * antiderivative
}

#[test]
fn a_long_straight_edge_has_the_exact_profile_and_steepest_slope() {
    for radius in [1.0, 5.0, 20.0] {
        let region = weight(&square(100.0), radius);
        for inside in [-1.2, -1.0, -0.9, -0.3, 0.0, 0.2, 0.5, 0.99, 1.0, 1.5] {
            let (found, gradient) = region.at(DVec2::new(-100.0 + inside * radius, 7.3));
            assert!((found - across_straight_edge(inside * radius, radius)).abs() < 1e-12, "{inside} {found}");
            let slope = 16.0 / (5.0 * PI * radius) * libm::pow((1.0 - inside * inside).max(0.0), 2.5);
            assert!((gradient - DVec2::new(slope, 0.0)).length() < 1e-12, "{inside} {gradient}");
        }
    }
    assert!((weight(&square(100.0), 5.0).at(DVec2::new(-100.0, 0.0)).0 - 0.5).abs() < 1e-15);
}

#[test]
fn a_right_corner_far_from_others_weighs_a_quarter() {
    let (found, gradient) = weight(&square(50.0), 8.0).at(DVec2::new(50.0, 50.0));
    assert!((found - 0.25).abs() < 1e-15);
    // By symmetry the gradient points along the bisector.
    assert!((gradient.x - gradient.y).abs() < 1e-15 && gradient.x < 0.0);
}

#[test]
fn the_centre_of_a_disc_has_the_exact_weight() {
    let disc =
        |radius: f64| (0..4000).map(|i| DVec2::from_angle(f64::from(i) / 4000.0 * TAU) * radius).collect::<Vec<_>>();
    for (disc_mm, reach_mm) in [(1.0, 5.0), (3.0, 5.0), (4.9, 5.0), (6.0, 5.0), (30.0, 20.0)] {
        let share: f64 = disc_mm / reach_mm;
        let exact = 1.0 - libm::pow((1.0 - share * share).max(0.0), 3.0);
        let (found, gradient) = weight(&disc(disc_mm), reach_mm).at(DVec2::ZERO);
        assert!((found - exact).abs() < 2e-6, "{found} {exact}");
        assert!(gradient.length() < 1e-12);
    }
}

#[test]
fn two_halves_weigh_as_much_as_the_whole() {
    let whole = weight(&square(10.0), 6.0);
    let left = weight(&[(-10.0, -10.0), (1.0, -10.0), (-3.0, 10.0), (-10.0, 10.0)].map(DVec2::from), 6.0);
    let right = weight(&[(1.0, -10.0), (10.0, -10.0), (10.0, 10.0), (-3.0, 10.0)].map(DVec2::from), 6.0);
    for i in 0..2000 {
        let p = DVec2::new(f64::from(i % 40) - 20.0, f64::from(i / 40) - 25.0) * 0.9;
        let parts = left.at(p).0 + right.at(p).0;
        assert!((whole.at(p).0 - parts).abs() < 1e-12, "{p}");
    }
}

#[test]
fn places_exactly_on_corners_edges_and_at_the_reach_of_corners_are_no_exception() {
    let region = weight(&square(10.0), 5.0);
    for i in -20..=20 {
        for j in -20..=20 {
            let p = DVec2::new(f64::from(i), f64::from(j));
            let (here, beside) = (region.at(p).0, region.at(p + DVec2::new(1e-7, 2e-7)).0);
            assert!((here - beside).abs() < 1e-6, "{p} {here} {beside}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn the_weight_is_that_of_an_independent_quadrature(
        corners in star(), x in -20.0..20.0, y in -20.0..20.0, radius_mm in 1.0..20.0,
    ) {
        let p = DVec2::new(x, y);
        let (exact, summed) = (weight(&corners, radius_mm).at(p).0, quadrature(&corners, p, radius_mm));
        prop_assert!((exact - summed).abs() < 4e-3, "{exact} {summed}");
    }

    #[test]
    fn the_weight_over_the_plane_adds_up_to_the_area(corners in star(), radius_mm in 2.0..15.0) {
        // The field is smooth and vanishes outside, so the plain sum converges fast.
        let region = weight(&corners, radius_mm);
        let step = 0.25;
        let reach = ((20.0 + radius_mm) / step).ceil() as i32;
        let sum: f64 = (-reach..=reach)
            .flat_map(|i| (-reach..=reach).map(move |j| DVec2::new(f64::from(i), f64::from(j)) * step))
            .map(|p| region.at(p).0)
            .sum();
        prop_assert!((sum * step * step - area(&corners)).abs() < 1e-3 * area(&corners).max(1.0));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3000))]

    #[test]
    fn the_gradient_is_the_derivative_and_has_no_kink(
        corners in star(), x in -25.0..25.0, y in -25.0..25.0, angle in 0.0..TAU, radius_mm in 1.0..20.0,
    ) {
        let (p, way) = (DVec2::new(x, y), DVec2::from_angle(angle));
        let region = weight(&corners, radius_mm);
        let (value, gradient) = region.at(p);
        prop_assert!((0.0..=1.0).contains(&value));
        let step = 1e-5 * radius_mm;
        let ((ahead, slope_ahead), (behind, slope_behind)) = (region.at(p + way * step), region.at(p - way * step));
        let difference = (ahead - behind) / (2.0 * step);
        prop_assert!((difference - gradient.dot(way)).abs() * radius_mm < 1e-6);
        // The second derivative of the kernel is nowhere above 12/(πR⁴), so the slope changes by at most 24/R² per mm.
        prop_assert!((slope_ahead - slope_behind).length() <= 24.0 / (radius_mm * radius_mm) * 2.0 * step + 1e-12);
    }
}
