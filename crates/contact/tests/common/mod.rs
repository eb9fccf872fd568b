//! Planes, profiles and judgements that the tests share.
#![allow(dead_code, reason = "each file of tests uses a part")]

use contact::{Columns, Curve, Indenter, Layer, Plane, Settled};
use glam::DVec2;

/// A plane whose nodes' squares fill the box of this size round the origin.
pub(crate) fn filled(size_mm: DVec2, step_mm: f64) -> Plane {
    let [columns, rows] = [size_mm.x, size_mm.y].map(|size| (size / step_mm).round() as usize);
    let origin_mm = DVec2::new(columns as f64 - 1.0, rows as f64 - 1.0) * (-0.5 * step_mm);
    Plane { origin_mm, step_mm, columns, rows }
}

/// A plane with a node at the origin.
pub(crate) fn centred(half_mm: f64, step_mm: f64) -> Plane {
    let half = (half_mm / step_mm).round();
    let side = 2 * half as usize + 1;
    Plane { origin_mm: DVec2::splat(-half * step_mm), step_mm, columns: side, rows: side }
}

pub(crate) fn everywhere(plane: &Plane, value: f64) -> Vec<f64> {
    vec![value; plane.len()]
}

pub(crate) fn of_place(plane: &Plane, f: impl Fn(DVec2) -> f64) -> Vec<f64> {
    (0..plane.len()).map(|node| f(plane.at(node))).collect()
}

pub(crate) fn layer(plane: &Plane, thickness_mm: f64, modulus_mpa: f64, curve: Curve) -> Layer {
    Layer { thickness_mm: everywhere(plane, thickness_mm), modulus_mpa: everywhere(plane, modulus_mpa), curve }
}

/// Even columns over the whole plane.
pub(crate) fn even(plane: Plane, thickness_mm: f64, modulus_mpa: f64, curve: Curve) -> Columns {
    Columns::new(plane, vec![true; plane.len()], vec![layer(&plane, thickness_mm, modulus_mpa, curve)]).unwrap()
}

/// A ball, as the paraboloid that textbooks put in its place.
pub(crate) fn ball(plane: &Plane, radius_mm: f64) -> Indenter {
    Indenter::rigid(of_place(plane, |p| p.length_squared() / (2.0 * radius_mm)))
}

pub(crate) fn flat(plane: &Plane) -> Indenter {
    Indenter::rigid(everywhere(plane, 0.0))
}

pub(crate) fn greatest(values: &[f64]) -> f64 {
    values.iter().copied().fold(f64::NEG_INFINITY, f64::max)
}

pub(crate) fn near(found: f64, expected: f64, share: f64) {
    assert!((found - expected).abs() <= share * expected.abs(), "{found} is not {expected} within {share}");
}

/// What every answer owes: force and moments met far better than to 0.1 %, no pull, balance at every node.
pub(crate) fn sound(plane: &Plane, settled: &Settled, force_n: f64, at_mm: DVec2) {
    let (force, at) = plane.resultant(&settled.pressure_kpa).unwrap().unwrap();
    near(force, force_n, 1e-6);
    let size = plane.step_mm * plane.columns.max(plane.rows) as f64;
    assert!((at - at_mm).length() < 1e-5 * size, "{at} is not {at_mm}");
    assert!(settled.pressure_kpa.iter().all(|&p| p >= 0.0 && p.is_finite()));
    assert!(settled.residuals.local_kpa <= 1e-5 * greatest(&settled.pressure_kpa));
}
