//! A body made from a pressure map on a flat plate presses that map again.
#![allow(clippy::unwrap_used, reason = "helpers of tests: a failure is the test's failure")]

mod common;

use common::{ball, centred, even, everywhere, greatest, layer, near, of_place};
use contact::{Columns, ContactError, Curve, Indenter, LoadCase, Plane, Workspace, plate, settle};
use glam::DVec2;

/// An invented map: three hills, kPa, and nothing between them.
fn map(plane: &Plane) -> Vec<f64> {
    let hill = |p: DVec2, x: f64, y: f64, most: f64, wide: f64| {
        let far = (p - DVec2::new(x, y)).length() / wide;
        most * (1.0 - far * far).max(0.0)
    };
    of_place(plane, |p| {
        hill(p, -18.0, 0.0, 210.0, 14.0) + hill(p, 14.0, 9.0, 160.0, 11.0) + hill(p, 18.0, -9.0, 240.0, 9.0)
    })
}

#[test]
fn the_map_comes_back_in_every_cell() {
    let plane = centred(36.0, 1.0);
    let pressed = map(&plane);
    let soft = Curve::Locking { strain: 0.7 };
    for (strength, curve) in [(0.0, Curve::Linear), (0.0, soft.clone()), (0.6, Curve::Linear), (4.0, soft)] {
        let layers = vec![layer(&plane, 14.0, 0.4, curve), layer(&plane, 2.0, 3.0, Curve::Linear)];
        let columns = Columns::new(plane, vec![true; plane.len()], layers).unwrap();
        let columns = columns.with_shear(&everywhere(&plane, strength)).unwrap();
        let mut workspace = Workspace::default();
        let made = plate(&columns, &pressed, &mut workspace).unwrap();
        assert!(made.compression_mm.iter().all(|&w| w >= -1e-6));
        // Where nothing is pressed the body may as well be higher.
        for clearance_mm in [0.0, 4.0] {
            let profile =
                made.profile_mm.iter().zip(&pressed).map(|(z, &p)| if p > 0.0 { *z } else { z + clearance_mm });
            let body = Indenter::rigid(profile.collect());
            let settled = settle(&columns, &body, &made.load, None, &mut workspace).unwrap();
            near(settled.pose.sink_mm, made.sink_mm, 1e-4);
            for (found, &measured) in settled.pressure_kpa.iter().zip(&pressed) {
                assert!((found - measured).abs() <= 0.01 * measured + 1e-4 * greatest(&pressed), "{found} {measured}");
            }
        }
    }
}

/// Without ties it is explicit: a ball's map gives the ball's profile.
#[test]
fn a_ball_is_recognized() {
    let columns = even(centred(25.0, 1.0), 10.0, 0.5, Curve::Linear);
    let plane = *columns.plane();
    let body = ball(&plane, 30.0);
    let load = LoadCase::at(100.0, DVec2::ZERO);
    let mut workspace = Workspace::default();
    let settled = settle(&columns, &body, &load, None, &mut workspace).unwrap();
    let made = plate(&columns, &settled.pressure_kpa, &mut workspace).unwrap();
    near(made.load.force_n, 100.0, 1e-8);
    for (node, &p) in settled.pressure_kpa.iter().enumerate() {
        assert!(p <= 0.0 || (made.profile_mm[node] - body.profile_mm[node]).abs() < 1e-9);
        assert!(p > 0.0 || made.profile_mm[node] <= body.profile_mm[node]);
    }
}

#[test]
fn a_map_that_cannot_be_is_refused() {
    let plane = centred(10.0, 1.0);
    let bears: Vec<bool> = (0..plane.len()).map(|node| plane.at(node).x < 5.0).collect();
    let columns = Columns::new(plane, bears, vec![layer(&plane, 10.0, 1.0, Curve::Linear)]).unwrap();
    let refused = |map: &[f64]| plate(&columns, map, &mut Workspace::default()).unwrap_err();
    assert_eq!(refused(&everywhere(&plane, 0.0)), ContactError::NothingPressed);
    assert!(matches!(refused(&everywhere(&plane, 5.0)), ContactError::BadValue { column: 15, row: 0, .. }));
    assert!(matches!(refused(&everywhere(&plane, -1.0)), ContactError::BadValue { column: 0, row: 0, .. }));
    assert!(matches!(refused(&[1.0, 2.0]), ContactError::WrongSize { found: 2, expected: 441, .. }));
}
