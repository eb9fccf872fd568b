//! Columns tied by a shear layer against closed forms on Pasternak's foundation, p = k w − G ∇²w: outside contact w decays over
//! ℓ = √(G/k), as e^(−x/ℓ) beside a strip and as K₀(r/ℓ) round a disc (Kerr 1964, J. Appl. Mech. 31:491, from memory; the rest
//! follows by hand). Under a smooth body w leaves it without a kink, under a sharp edge the edge bears a line force.
#![allow(clippy::unwrap_used, reason = "helpers of tests: a failure is the test's failure")]

mod common;

use common::{ball, centred, even, everywhere, flat, greatest, near, of_place, sound};
use contact::{Bonded, Columns, Curve, Indenter, LoadCase, Plane, Settled, Workspace, settle, two_parameters};
use glam::DVec2;
use std::f64::consts::PI;

const SPRING: f64 = 0.08;
const STRENGTH: f64 = 2.0;
const DECAY_MM: f64 = 5.0;

fn tied(plane: Plane) -> Columns {
    even(plane, 10.0, 10.0 * SPRING, Curve::Linear).with_shear(&everywhere(&plane, STRENGTH)).unwrap()
}

fn settled(columns: &Columns, indenter: &Indenter, load: &LoadCase) -> Settled {
    let settled = settle(columns, indenter, load, None, &mut Workspace::default()).unwrap();
    sound(columns.plane(), &settled, load.force_n, load.at_mm);
    settled
}

/// A single row of nodes, the middle one at the origin: every force is per `step_mm` across.
fn row(half_mm: f64, step_mm: f64) -> Plane {
    let half = (half_mm / step_mm).round();
    Plane { origin_mm: DVec2::new(-half * step_mm, 0.0), step_mm, columns: 2 * half as usize + 1, rows: 1 }
}

/// Modified Bessel functions of the second kind, K₀ and K₁: ∫ e^(−x cosh t) cosh(νt) dt from 0 on (Abramowitz & Stegun 9.6.24).
fn bessel_k(x: f64) -> (f64, f64) {
    let step = 1e-3;
    (0..12_000).map(|i| (f64::from(i) + 0.5) * step).fold((0.0, 0.0), |(k0, k1), t| {
        let e = libm::exp(-x * libm::cosh(t)) * step;
        (k0 + e, k1 + e * libm::cosh(t))
    })
}

/// Flat strip of half width b: F = 2kδ(b + ℓ) for each mm across, w = δ e^(−(x − b)/ℓ) beside it.
#[test]
fn a_strip_sinks_in_and_drags_its_sides_along() {
    let error = |step_mm: f64| {
        let columns = tied(row(80.0, step_mm));
        let plane = columns.plane();
        let body = Indenter::rigid(of_place(plane, |p| if p.x.abs() < 20.0 + 1e-9 { 0.0 } else { f64::NAN }));
        let depth = 1.5;
        let force_n = 2.0 * SPRING * depth * (20.0 + DECAY_MM) * step_mm;
        let settled = settled(&columns, &body, &LoadCase::at(force_n, DVec2::ZERO));
        near(settled.pose.sink_mm, depth, 5e-3);
        for node in (0..plane.len()).filter(|&node| plane.at(node).x > 20.0 && plane.at(node).x < 50.0) {
            let exact = depth * libm::exp(-(plane.at(node).x - 20.0) / DECAY_MM);
            assert!((settled.compression_mm[node] - exact).abs() < 5e-3 * depth);
        }
        near(settled.pressure_kpa[plane.len() / 2], 1000.0 * SPRING * depth, 5e-3);
        (settled.pose.sink_mm - depth).abs()
    };
    let errors = [1.0, 0.5].map(error);
    assert!(errors[1] < 0.6 * errors[0], "{errors:?}");
}

/// Parabolic cylinder: contact to a, δ = a²/2R + aℓ/R, p = k(δ − x²/2R) + G/R inside, F = 2a(k(δ − a²/6R) + G/R) for each mm across.
#[test]
fn a_cylinder_leaves_without_a_kink() {
    let (radius, a): (f64, f64) = (60.0, 15.0);
    let depth = a * a / (2.0 * radius) + a * DECAY_MM / radius;
    let per_mm = 2.0 * a * (SPRING * (depth - a * a / (6.0 * radius)) + STRENGTH / radius);
    for step_mm in [1.0, 0.5] {
        let columns = tied(row(80.0, step_mm));
        let plane = columns.plane();
        let body = Indenter::rigid(of_place(plane, |p| p.x * p.x / (2.0 * radius)));
        let settled = settled(&columns, &body, &LoadCase::at(per_mm * step_mm, DVec2::ZERO));
        near(settled.pose.sink_mm, depth, 5e-3);
        near(settled.pressure_kpa[plane.len() / 2], 1000.0 * (SPRING * depth + STRENGTH / radius), 5e-3);
        let width = settled.pressure_kpa.iter().filter(|&&p| p > 0.0).count() as f64 * step_mm;
        assert!((width - 2.0 * a).abs() <= 2.0 * step_mm, "{width}");
    }
}

/// Ball: a/R = (δ − a²/2R)/ℓ·K₁(a/ℓ)/K₀(a/ℓ), p = k(δ − r²/2R) + 2G/R inside, F = πa²(k(δ − a²/4R) + 2G/R).
#[test]
fn a_ball_leaves_without_a_kink() {
    let (radius, a): (f64, f64) = (40.0, 14.0);
    let (k0, k1) = bessel_k(a / DECAY_MM);
    let depth = a * a / (2.0 * radius) + a * DECAY_MM / radius * k0 / k1;
    let force_n = PI * a * a * (SPRING * (depth - a * a / (4.0 * radius)) + 2.0 * STRENGTH / radius);
    let error = |step_mm: f64| {
        let columns = tied(centred(45.0, step_mm));
        let settled = settled(&columns, &ball(columns.plane(), radius), &LoadCase::at(force_n, DVec2::ZERO));
        near(settled.pose.sink_mm, depth, 5e-3);
        let most = 1000.0 * (SPRING * depth + 2.0 * STRENGTH / radius);
        near(settled.pressure_kpa[columns.plane().len() / 2], most, 5e-3);
        near(greatest(&settled.pressure_kpa), most, 5e-3);
        (settled.pose.sink_mm - depth).abs()
    };
    let errors = [2.0, 1.0, 0.5].map(error);
    assert!(errors[1] < errors[0] && errors[2] < errors[1], "{errors:?}");
}

/// Flat disc of radius a: F = πa²kδ + 2πaGδ/ℓ·K₁(a/ℓ)/K₀(a/ℓ). A sharp
/// edge stands at the outermost nodes under it, which here lie half a step to either side: the answer is as near as that.
#[test]
fn a_disc_bears_on_its_edge() {
    let (a, depth): (f64, f64) = (20.0, 1.2);
    let (k0, k1) = bessel_k(a / DECAY_MM);
    let force_n = PI * a * a * SPRING * depth + 2.0 * PI * a * STRENGTH * depth / DECAY_MM * k1 / k0;
    let error = |step_mm: f64| {
        let columns = tied(centred(60.0, step_mm));
        let plane = columns.plane();
        let body =
            Indenter::rigid(of_place(plane, |p| if p.length() < a + 0.5 * step_mm { 0.0 } else { f64::INFINITY }));
        let settled = settled(&columns, &body, &LoadCase::at(force_n, DVec2::ZERO));
        near(settled.pressure_kpa[plane.len() / 2], 1000.0 * SPRING * settled.pose.sink_mm, 5e-3);
        (settled.pose.sink_mm / depth - 1.0).abs()
    };
    let errors = [2.0, 1.0, 0.5].map(error);
    assert!(errors[1] < 0.02 && errors[2] < 0.01 && errors[2] < 0.6 * errors[0], "{errors:?}");
}

/// A level body that covers everything has no side to drag along: the shear layer changes nothing.
#[test]
fn a_block_over_everything_feels_no_shear_layer() {
    let plane = centred(30.0, 1.0);
    let load = LoadCase::at(300.0, DVec2::ZERO);
    let alone = settled(&even(plane, 10.0, 10.0 * SPRING, Curve::Linear), &flat(&plane), &load);
    let tied = settled(&tied(plane), &flat(&plane), &load);
    alone.compression_mm.iter().zip(&tied.compression_mm).for_each(|(a, b)| assert!((a - b).abs() < 1e-6));
    near(alone.pose.sink_mm, tied.pose.sink_mm, 1e-6);
}

/// A single layer: k = K/H, G = μH/9, a third of μH/3; cut in two it is the same; a stiff base under a soft cover leaves the cover's.
#[test]
fn the_two_parameters_of_layers() {
    let layer = |thickness_mm, modulus_mpa, poisson| Bonded { thickness_mm, modulus_mpa, poisson };
    let (k, g) = two_parameters(&[layer(12.0, 0.6, 0.2)]).unwrap();
    near(k, 0.6 * 1.1111 / 12.0, 1e-4);
    near(g, 0.6 / 2.4 * 12.0 / 9.0, 1e-12);
    let cut = two_parameters(&[layer(5.0, 0.6, 0.2), layer(7.0, 0.6, 0.2)]).unwrap();
    near(cut.0, k, 1e-12);
    near(cut.1, g, 1e-12);
    let on_rock = two_parameters(&[layer(12.0, 0.6, 0.2), layer(5.0, 1e7, 0.0)]).unwrap();
    near(on_rock.0, k, 1e-5);
    near(on_rock.1, g, 1e-5);
    assert!(two_parameters(&[]).is_err() && two_parameters(&[layer(0.0, 1.0, 0.1)]).is_err());
}
