//! Columns that stand alone against closed forms: Winkler's foundation as in Johnson 1985, Contact Mechanics, section 4.3 (the
//! formulas from memory; the numbers worked out from them by hand).
#![allow(clippy::unwrap_used, reason = "helpers of tests: a failure is the test's failure")]

mod common;

use common::{ball, centred, even, everywhere, filled, flat, greatest, layer, near, of_place, sound};
use contact::{
    Bend, Columns, ContactError, Curve, Hinge, Indenter, Layer, LoadCase, Plane, Pose, Settled, Table, Workspace,
    confinement, settle,
};
use glam::DVec2;

fn settled(columns: &Columns, indenter: &Indenter, load: &LoadCase) -> Settled {
    let settled = settle(columns, indenter, load, None, &mut Workspace::default()).unwrap();
    sound(columns.plane(), &settled, load.force_n, load.at_mm);
    settled
}

/// Where the pressure along +x from the origin falls to zero, from its last two values.
fn radius_mm(columns: &Columns, settled: &Settled) -> f64 {
    let plane = columns.plane();
    let row = (plane.rows / 2 * plane.columns..).take(plane.columns);
    let touching: Vec<usize> = row.filter(|&node| settled.pressure_kpa[node] > 0.0).collect();
    let (a, b) = (touching[touching.len() - 2], touching[touching.len() - 1]);
    let (a, b) = ([plane.at(a).x, settled.pressure_kpa[a]], [plane.at(b).x, settled.pressure_kpa[b]]);
    b[0] + (b[0] - a[0]) * b[1] / (a[1] - b[1])
}

/// p = K·u/h, a² = 2Rδ, F = πKa⁴/(4Rh), p0 = Kδ/h, twice the mean: K 0.5 MPa, h 10, R 30 mm, F 100 N give a 16.625 and δ 4.607 mm, p0 230.3.
#[test]
fn a_ball_on_springs_converges_with_the_grid() {
    let exact = (4.0_f64 * 30.0 * 10.0 * 100.0 / (std::f64::consts::PI * 0.5)).sqrt().sqrt();
    near(exact, 16.625, 1e-4);
    let error = |step_mm| {
        let columns = even(centred(25.0, step_mm), 10.0, 0.5, Curve::Linear);
        let settled = settled(&columns, &ball(columns.plane(), 30.0), &LoadCase::at(100.0, DVec2::ZERO));
        near(settled.pose.sink_mm, 4.607, 5e-3);
        near(greatest(&settled.pressure_kpa), 230.3, 5e-3);
        near(radius_mm(&columns, &settled), 16.625, 5e-3);
        assert!(settled.pose.slope.length() < 1e-9);
        (settled.pose.sink_mm - exact * exact / 60.0).abs()
    };
    let errors = [2.0, 1.0, 0.5].map(error);
    assert!(errors[1] < errors[0] && errors[2] < 0.5 * errors[1], "{errors:?}");
}

/// 350 N on 50 cm² are 70 kPa; 6 mm of 1 MPa give way by 0.42 mm.
#[test]
fn a_flat_block_presses_evenly() {
    for step_mm in [1.0, 0.5] {
        let columns = even(filled(DVec2::new(100.0, 50.0), step_mm), 6.0, 1.0, Curve::Linear);
        let settled = settled(&columns, &flat(columns.plane()), &LoadCase::at(350.0, DVec2::ZERO));
        settled.pressure_kpa.iter().for_each(|&p| near(p, 70.0, 1e-9));
        near(settled.pose.sink_mm, 0.42, 1e-9);
    }
}

/// A block of 60 by 120 mm under 400 N, `e` off its middle: mean·(1 ± 6e/L) while that is positive, then a triangle over 3(L/2 − e).
#[test]
fn a_block_out_of_the_middle_tilts_and_lifts_off() {
    for (e, most, least) in [(0.0, 55.56, 55.56), (10.0, 83.33, 27.78), (20.0, 111.11, 0.0), (30.0, 148.15, 0.0)] {
        for step_mm in [1.0, 0.5] {
            let columns = even(filled(DVec2::new(120.0, 60.0), step_mm), 6.0, 1.0, Curve::Linear);
            let found = settled(&columns, &flat(columns.plane()), &LoadCase::at(400.0, DVec2::new(e, 0.0)));
            let under = |x: f64| found.pose.depth_mm(DVec2::new(x, 0.0)) * 1000.0 / 6.0;
            near(under(60.0), most, 5e-3);
            assert!(e > 20.0 || (under(-60.0) - least).abs() < 5e-3 * most, "{}", under(-60.0));
            if e > 20.0 {
                near(60.0 + found.pose.sink_mm / found.pose.slope.x - e, 90.0, 5e-3);
                assert_eq!(
                    found.pressure_kpa.iter().filter(|&&p| p > 0.0).count(),
                    (90.0 * 60.0 / (step_mm * step_mm)) as usize
                );
            }
        }
    }
}

/// The same block under moments in place of an offset; a force down at (x, y) has the moments (−F·y, F·x).
#[test]
fn moments_are_as_good_as_a_place() {
    let load = LoadCase::with_moments(400.0, DVec2::new(5.0, -3.0), DVec2::new(-400.0 * 7.0, 400.0 * 11.0));
    assert!((load.at_mm - DVec2::new(16.0, 4.0)).length() < 1e-12);
}

/// 3 mm of 0.7319 MPa on 6 mm of 1.6896 MPa: 0.13072 N/mm³; at 200 kPa 0.820 + 0.710 = 1.530 mm.
#[test]
fn layers_in_series_add_their_compressions() {
    let plane = filled(DVec2::splat(40.0), 1.0);
    let layers = vec![layer(&plane, 3.0, 0.7319, Curve::Linear), layer(&plane, 6.0, 1.6896, Curve::Linear)];
    let columns = Columns::new(plane, vec![true; plane.len()], layers).unwrap();
    let settled = settled(&columns, &flat(&plane), &LoadCase::at(0.2 * 1600.0, DVec2::ZERO));
    near(settled.pose.sink_mm, 1.530, 5e-4);
    near(columns.pressure_kpa(7, 1.0).unwrap(), 130.72, 1e-4);
    near(columns.compression_mm(7, 200.0).unwrap(), 1.530, 5e-4);
}

#[test]
fn the_table_of_confinement_is_met() {
    let table =
        [(0.0, 1.0), (0.1, 1.0227), (0.2, 1.1111), (0.3, 1.3462), (0.4, 2.1429), (0.45, 3.7931), (0.49, 17.114)];
    for (poisson, ratio) in table {
        near(confinement(poisson).unwrap(), ratio, 5e-5);
    }
    assert!(confinement(0.5).is_err() && confinement(-0.1).is_err() && confinement(f64::NAN).is_err());
}

/// Under a paraboloid on columns of any kind F = 2πR·Φ(δ), Φ the energy per area: −E h l²(ln(1 − s) + s) with s = ε/l for
/// σ = Eε/(1 − ε/l).
#[test]
fn a_ball_on_columns_that_lock() {
    let (modulus, height, radius, lock, share): (f64, f64, f64, f64, f64) = (0.3, 12.0, 40.0, 0.6, 0.8);
    let energy = -modulus * height * lock * lock * (libm::log(1.0 - share) + share);
    let force_n = 2.0 * std::f64::consts::PI * radius * energy;
    let exact = Curve::Locking { strain: lock };
    // The same curve measured at 60 strains, and split into two layers.
    let rows: Vec<[f64; 2]> = (1..=60).map(|i| lock * f64::from(i) / 65.0).map(|e| [e, e / (1.0 - e / lock)]).collect();
    let measured = Curve::Table(Table::new(&rows).unwrap());
    for step_mm in [1.0, 0.5] {
        let plane = centred(30.0, step_mm);
        let split = vec![layer(&plane, 4.0, modulus, exact.clone()), layer(&plane, 8.0, modulus, exact.clone())];
        let split = Columns::new(plane, vec![true; plane.len()], split).unwrap();
        for columns in
            [even(plane, height, modulus, exact.clone()), split, even(plane, height, modulus, measured.clone())]
        {
            let settled = settled(&columns, &ball(&plane, radius), &LoadCase::at(force_n, DVec2::ZERO));
            near(settled.pose.sink_mm, share * lock * height, 5e-3);
            near(greatest(&settled.pressure_kpa), 1000.0 * modulus * share * lock / (1.0 - share), 5e-3);
        }
    }
}

/// A table of two points on a line is the line; straight on beyond its end and in the middle.
#[test]
fn a_straight_table_is_linear() {
    let plane = centred(20.0, 1.0);
    let table = Table::new(&[[0.05, 0.05], [0.12, 0.12]]).unwrap();
    let load = LoadCase::at(150.0, DVec2::new(2.0, 1.0));
    let [a, b] = [Curve::Linear, Curve::Table(table)]
        .map(|curve| settled(&even(plane, 10.0, 0.5, curve), &ball(&plane, 30.0), &load));
    a.pressure_kpa.iter().zip(&b.pressure_kpa).for_each(|(a, b)| assert!((a - b).abs() < 1e-6));
}

/// All lengths doubled and the forces four times: the same pressures, depths doubled.
#[test]
fn twice_the_size_is_the_same_pressure() {
    let [small, large] = [1.0, 2.0].map(|scale| {
        let plane = centred(25.0 * scale, scale);
        let columns = even(plane, 10.0 * scale, 0.5, Curve::Locking { strain: 0.8 });
        let load = LoadCase::at(90.0 * scale * scale, DVec2::new(4.0, -2.0) * scale);
        settled(&columns, &ball(&plane, 30.0 * scale), &load)
    });
    near(large.pose.sink_mm, 2.0 * small.pose.sink_mm, 1e-9);
    small.pressure_kpa.iter().zip(&large.pressure_kpa).for_each(|(&a, &b)| assert!((a - b).abs() < 1e-6));
}

/// A case mirrored in y gives the mirrored pressures.
#[test]
fn the_mirror_image_is_pressed_alike() {
    let plane = centred(25.0, 1.0);
    let case = |side: f64| {
        let uneven = |p: DVec2| 0.4 + 0.006 * (p.y * side) + 0.004 * p.x;
        let modulus_mpa = of_place(&plane, uneven);
        let layer = Layer { thickness_mm: everywhere(&plane, 9.0), modulus_mpa, curve: Curve::Linear };
        let columns = Columns::new(plane, vec![true; plane.len()], vec![layer]).unwrap();
        let body = Indenter::rigid(of_place(&plane, |p| p.x * p.x / 50.0 + (p.y * side - 3.0).powi(2) / 90.0));
        settled(&columns, &body, &LoadCase::at(120.0, DVec2::new(3.0, 5.0 * side)))
    };
    let (one, other) = (case(1.0), case(-1.0));
    for (node, &p) in one.pressure_kpa.iter().enumerate() {
        let (column, row) = (node % plane.columns, node / plane.columns);
        let mirrored = other.pressure_kpa[(plane.rows - 1 - row) * plane.columns + column];
        assert!((p - mirrored).abs() < 1e-6, "{p} {mirrored}");
    }
    let Pose { slope, .. } = one.pose;
    assert!((slope * DVec2::new(1.0, -1.0) - other.pose.slope).length() < 1e-9);
}

/// Two flat bodies of length L on either side of a hinge, the force F over it and a moment M pressing the far one down. Each carries
/// half of the force, with depth s + c·x from the hinge: sL + cL²/2 = F/2kW and sL²/2 + cL³/3 = M/kW; the bend is −2c.
#[test]
fn two_bodies_hold_each_other_at_the_hinge() {
    let (k, length, width, force_n, moment): (f64, f64, f64, f64, f64) = (0.1, 60.0, 40.0, 300.0, 5000.0);
    let (a, b) = (force_n / (2.0 * k * width), moment / (k * width));
    let turn = (b - a * length / 2.0) * 12.0 / length.powi(3);
    let sink = a / length - turn * length / 2.0;
    for step_mm in [1.0, 0.5] {
        let columns = even(filled(DVec2::new(2.0 * length, width), step_mm), 10.0, 10.0 * k, Curve::Linear);
        let hinge = Some(Hinge { on_mm: DVec2::new(0.0, 7.0), to_far: DVec2::new(2.0, 0.0) });
        let body = Indenter { hinge, ..flat(columns.plane()) };
        let load = LoadCase { bend: Bend::MomentNmm(moment), ..LoadCase::at(force_n, DVec2::ZERO) };
        let settled = settled(&columns, &body, &load);
        near(settled.pose.sink_mm, sink, 5e-3);
        near(settled.pose.bend, -2.0 * turn, 5e-3);
        near(settled.pose.slope.x, -turn, 5e-3);
        // A force in front of the hinge would lift the near body off if the moment did not hold it.
        let ahead = LoadCase { at_mm: DVec2::new(20.0, 0.0), ..load };
        let refused = settle(&columns, &body, &ahead, None, &mut Workspace::default()).unwrap_err();
        assert!(matches!(refused, ContactError::HingeOpens { least_n_mm, .. } if (least_n_mm - 6000.0).abs() < 1e-6));
    }
}

/// What nothing can carry is refused, with the reason.
#[test]
fn a_force_outside_is_refused() {
    let plane = filled(DVec2::splat(20.0), 1.0);
    let columns = even(plane, 10.0, 0.5, Curve::Linear);
    let refused = |indenter: &Indenter, at: DVec2| {
        settle(&columns, indenter, &LoadCase::at(10.0, at), None, &mut Workspace::default()).unwrap_err()
    };
    let outside = refused(&flat(&plane), DVec2::new(11.0, 0.0));
    assert!(outside.to_string().contains("x 11.0, y 0.0 mm"), "{outside}");
    let half = Indenter::rigid(of_place(&plane, |p| if p.x < 0.0 { 0.0 } else { f64::NAN }));
    assert!(matches!(refused(&half, DVec2::new(3.0, 0.0)), ContactError::OutsideSupport { .. }));
    let none = Indenter::rigid(everywhere(&plane, f64::NAN));
    assert_eq!(refused(&none, DVec2::ZERO), ContactError::NothingBears);
}

/// Planes that are none are refused, not run over.
#[test]
fn a_plane_without_nodes_or_place_is_refused() {
    let plane = |origin_mm, step_mm, columns, rows| Plane { origin_mm, step_mm, columns, rows };
    let none = plane(DVec2::ZERO, 1.0, 0, 7);
    assert_eq!(none.resultant(&[]).unwrap(), None);
    let columns = Columns::new(none, Vec::new(), vec![layer(&none, 1.0, 1.0, Curve::Linear)]).unwrap();
    let columns = columns.with_shear(&[]).unwrap();
    let refused = settle(&columns, &flat(&none), &LoadCase::at(1.0, DVec2::ZERO), None, &mut Workspace::default());
    assert_eq!(refused.unwrap_err(), ContactError::NothingBears);
    for bad in [
        plane(DVec2::NAN, 1.0, 1, 1),
        plane(DVec2::ZERO, 0.0, 1, 1),
        plane(DVec2::ZERO, f64::INFINITY, 1, 1),
        plane(DVec2::ZERO, 1.0, usize::MAX, 2),
    ] {
        assert!(Columns::new(bad, vec![true], Vec::new()).is_err(), "{bad:?}");
    }
}
