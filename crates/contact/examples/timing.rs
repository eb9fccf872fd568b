//! How long a solve takes on the plane of a foot at 1 mm, from nothing and from the answer to a neighbouring case: prints one JSON
//! object, for the comparison with numpy and scipy in `tests/outside/bench_contact.py`, which solves the same invented case.

#![allow(clippy::print_stdout, reason = "its output is what it is for")]

use contact::{
    Bonded, Columns, ContactError, Curve, Indenter, Layer, LoadCase, Plane, Settled, Workspace, settle, two_parameters,
};
use glam::DVec2;
use serde_json::{Value, json};
use std::time::Instant;

const RUNS: usize = 15;

/// Modulus and thickness of the two layers, MPa and mm: soft tissue, insole.
const LAYERS: [(f64, f64); 2] = [(0.25, 12.0), (1.2, 6.0)];

fn main() -> Result<(), ContactError> {
    let plane = Plane { origin_mm: DVec2::new(0.0, -55.0), step_mm: 1.0, columns: 270, rows: 110 };
    let places = || (0..plane.len()).map(|node| plane.at(node));
    let bears: Vec<bool> = places().map(is_sole).collect();
    let body = |pad_mm: f64| Indenter::rigid(places().map(|p| profile(p) - pad(p) * pad_mm).collect());
    let (level, raised) = (body(0.0), body(0.5));
    let bonded = LAYERS.map(|(modulus_mpa, thickness_mm)| Bonded { thickness_mm, modulus_mpa, poisson: 0.0 });
    let by_rule = two_parameters(&bonded)?.1;
    let load = LoadCase::at(400.0, DVec2::new(115.0, 2.0));
    let mut cases = Vec::new();
    for (curve, law) in [("linear", Curve::Linear), ("locking", Curve::Locking { strain: 0.8 })] {
        for strength in [0.0, by_rule, 3.0 * by_rule] {
            let layers = LAYERS.map(|(modulus, thickness)| layer(&plane, thickness, modulus, law.clone()));
            let columns = Columns::new(plane, bears.clone(), layers.to_vec())?;
            let columns = columns.with_shear(&vec![strength; plane.len()])?;
            let mut workspace = Workspace::default();
            let (cold_ms, start) = timed(|| settle(&columns, &level, &load, None, &mut workspace))?;
            let (warm_ms, warm) = timed(|| settle(&columns, &raised, &load, Some(&start), &mut workspace))?;
            cases.push(json!({
                "curve": curve,
                "shear_n_per_mm": strength,
                "cold": answer(cold_ms, &start),
                "warm": answer(warm_ms, &warm),
            }));
        }
    }
    println!("{}", json!({ "nodes": bears.iter().filter(|bears| **bears).count(), "cases": cases }));
    Ok(())
}

fn answer(ms: f64, settled: &Settled) -> Value {
    let most_kpa = settled.pressure_kpa.iter().copied().fold(0.0, f64::max);
    json!({ "ms": ms, "steps": settled.iterations, "sink_mm": settled.pose.sink_mm, "most_kpa": most_kpa })
}

/// Median of the runs.
fn timed(mut run: impl FnMut() -> Result<Settled, ContactError>) -> Result<(f64, Settled), ContactError> {
    let mut times = Vec::new();
    let mut answer = run()?;
    for _ in 0..RUNS {
        let start = Instant::now();
        answer = run()?;
        times.push(start.elapsed().as_secs_f64() * 1000.0);
    }
    times.sort_by(f64::total_cmp);
    Ok((times[RUNS / 2], answer))
}

fn layer(plane: &Plane, thickness_mm: f64, modulus_mpa: f64, curve: Curve) -> Layer {
    let modulus_mpa = (0..plane.len()).map(|node| modulus_mpa * (1.0 + 0.3 * libm::sin(plane.at(node).x / 30.0)));
    Layer { thickness_mm: vec![thickness_mm; plane.len()], modulus_mpa: modulus_mpa.collect(), curve }
}

fn is_sole(p: DVec2) -> bool {
    let half = 36.0 + 0.06 * (p.x - 135.0) + 6.0 * libm::cos((p.x - 135.0) / 61.0);
    let along = (p.x - 135.0) / 134.0;
    along * along + p.y * p.y / (half * half) < 1.0
}

/// Heel, ball and toes, with an arch on one side.
fn profile(p: DVec2) -> f64 {
    let hill = |x: f64, y: f64, radius: f64| (p - DVec2::new(x, y)).length_squared() / (2.0 * radius);
    let arch = 12.0 * libm::exp(-((p.x - 125.0) / 35.0) * ((p.x - 125.0) / 35.0)) * (1.0 + p.y / 40.0).max(0.0);
    hill(30.0, 0.0, 45.0)
        .min(hill(190.0, 15.0, 60.0))
        .min(hill(180.0, -20.0, 55.0))
        .min(2.0 + hill(240.0, 5.0, 60.0))
        .min(6.0)
        + 0.2 * arch
}

/// A hump behind the ball.
fn pad(p: DVec2) -> f64 {
    let far = (p - DVec2::new(165.0, 0.0)).length() / 20.0;
    if far < 1.0 { (1.0 - far * far) * (1.0 - far * far) } else { 0.0 }
}
