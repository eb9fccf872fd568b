//! Times the budgeted work on a bumpy sphere of about a million triangles: `cargo run --release --example bench`.
//! A development aid: it prints, it does not judge.

#![allow(clippy::print_stdout, reason = "printing is all it does")]

use base::{Report, Work};
use glam::DVec3;
use solewright_mesh::{TriMesh, shapes, stl};
use std::hint::black_box;
use std::time::Instant;

fn main() {
    let scan = bumpy(8);
    let mut bytes = Vec::new();
    time("write stl", || {
        bytes.clear();
        let _ = stl::write_stl(&scan, "bench", &mut bytes);
    });
    println!("{} triangles, {} MB", scan.triangles().len(), bytes.len() / 1_000_000);
    time("read stl", || stl::read_stl("bench", &bytes, &Work::quiet(), &mut Report::default()));
    let shuffled = shuffled(&bytes);
    time("read stl, triangles shuffled", || stl::read_stl("bench", &shuffled, &Work::quiet(), &mut Report::default()));
}

/// A foot-sized ellipsoid with bumps.
fn bumpy(levels: u32) -> TriMesh {
    let sphere = shapes::icosphere(1.0, levels);
    let bump = |p: DVec3| 1.0 + 0.02 * libm::sin(9.0 * p.x) * libm::sin(8.0 * p.y + 1.0) * libm::sin(7.0 * p.z + 2.0);
    let positions = sphere.positions().iter().map(|&p| p * DVec3::new(130.0, 50.0, 40.0) * bump(p)).collect();
    TriMesh::new(positions, sphere.triangles().to_vec()).unwrap_or_default()
}

/// The same file with its triangles in an order without any locality.
fn shuffled(bytes: &[u8]) -> Vec<u8> {
    let mut out = bytes.to_vec();
    let count = (bytes.len() - 84) / 50;
    let mut state = 1u64;
    for k in (1..count).rev() {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let other = (state >> 33) as usize % (k + 1);
        for byte in 0..50 {
            out.swap(84 + 50 * k + byte, 84 + 50 * other + byte);
        }
    }
    out
}

fn time<T>(what: &str, mut work: impl FnMut() -> T) {
    let mut times: Vec<f64> = (0..5)
        .map(|_| {
            let start = Instant::now();
            black_box(work());
            start.elapsed().as_secs_f64() * 1000.0
        })
        .collect();
    times.sort_by(f64::total_cmp);
    println!("{what:40} median {:8.1} ms   least {:8.1} ms", times[2], times[0]);
}
