//! How long a solve takes on the plane of a foot at 1 mm: `timing`. An invented sole of hills under a body of two balls and an arch.

#![allow(clippy::print_stdout, reason = "its output is what it is for")]

use contact::{Columns, ContactError, Curve, Indenter, Layer, LoadCase, Plane, Settled, Workspace, settle};
use glam::DVec2;
use std::time::Instant;

const RUNS: usize = 31;

fn main() -> Result<(), ContactError> {
    let plane = Plane { origin_mm: DVec2::new(0.0, -55.0), step_mm: 1.0, columns: 270, rows: 110 };
    let places = || (0..plane.len()).map(|node| plane.at(node));
    let bears: Vec<bool> = places().map(is_sole).collect();
    println!("{} nodes, {} of them bear", plane.len(), bears.iter().filter(|bears| **bears).count());
    let body = |pad_mm: f64| Indenter::rigid(places().map(|p| profile(p) - pad(p) * pad_mm).collect());
    let load = LoadCase::at(400.0, DVec2::new(115.0, 2.0));
    for (name, curve) in [("linear", Curve::Linear), ("locking", Curve::Locking { strain: 0.8 })] {
        for ratio in [0.0, 0.1, 0.2] {
            let tissue = layer(&plane, 12.0, 0.25, curve.clone());
            let insole = layer(&plane, 6.0, 1.2, curve.clone());
            let columns = Columns::new(plane, bears.clone(), vec![tissue, insole])?;
            let columns = columns.with_shear(&vec![ratio * 18.0; plane.len()])?;
            let mut workspace = Workspace::default();
            let cold = |workspace: &mut Workspace| settle(&columns, &body(0.0), &load, None, workspace);
            let start = cold(&mut workspace)?;
            let (cold_ms, _) = timed(|| cold(&mut workspace))?;
            let pushed = body(1.0);
            let (warm_ms, warm) = timed(|| settle(&columns, &pushed, &load, Some(&start), &mut workspace))?;
            println!(
                "{name}, shear layer {:.1} N/mm: cold {cold_ms:.2} ms in {} steps, from the neighbour {warm_ms:.2} ms in {}; most {:.0} kPa",
                ratio * 18.0,
                start.iterations,
                warm.iterations,
                warm.pressure_kpa.iter().copied().fold(0.0, f64::max)
            );
        }
    }
    Ok(())
}

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

/// A hump of 1 mm behind the ball.
fn pad(p: DVec2) -> f64 {
    let far = (p - DVec2::new(165.0, 0.0)).length() / 20.0;
    if far < 1.0 { (1.0 - far * far) * (1.0 - far * far) } else { 0.0 }
}
