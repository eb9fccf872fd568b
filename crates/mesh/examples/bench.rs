//! Times the budgeted work on a bumpy sphere of about a million triangles: `cargo run --release --example bench`.
//! A development aid: it prints, it does not judge.

#![allow(clippy::print_stdout, reason = "printing is all it does")]

use base::{Report, Work};
use glam::DVec3;
use mesh::*;
use std::hint::black_box;
use std::time::SystemTime;

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
    let (lo, hi) = scan.bounds().unwrap_or_default();
    time("components", || components(&scan));
    time("orient", || orient_consistently(&scan));
    time("boundary loops", || boundary_loops(&scan));
    time("vertex normals", || vertex_normals(&scan));
    time("surface moments", || surface_moments(&scan));
    time("cut", || cut(&scan, &Plane::at_z(10.0), Keep::Below));
    time("cut and fill", || {
        let mut lower = cut(&scan, &Plane::at_z(10.0), Keep::Below);
        fill_flat(&mut lower.mesh, &lower.rims)
    });
    let grid = |step| Grid::over(lo.truncate(), hi.truncate(), step);
    time("height from below, 1 mm", || raster::height_from_below(&scan, grid(1.0)));
    time("height from below, 0.25 mm", || raster::height_from_below(&scan, grid(0.25)));
    time("section", || section(&scan, &Plane::at_x(60.0)));
    time("silhouette, 1 mm", || silhouette(&scan, 1.0));
    time("decimate by clusters of 2 mm", || decimate::by_clusters(&scan, 2.0));
    time("decimate to 60,000", || decimate::by_clusters_to(&scan, 60_000));
    println!("{} triangles", decimate::by_clusters_to(&scan, 60_000).triangles().len());
    let smaller = bumpy(7);
    println!("{} triangles", smaller.triangles().len());
    time("closed mesh", || ClosedMesh::new(smaller.clone()).is_ok());
    let caster = ray::RayCaster::new(smaller.clone());
    time("ray caster", || ray::RayCaster::new(smaller.clone()));
    let points: Vec<DVec3> = bumpy(4).positions().iter().map(|&p| p * 1.3).collect();
    time("2562 rays", || points.iter().filter_map(|&p| caster.cast(p, -p)).count());
    time("2562 nearest points", || points.iter().filter_map(|&p| caster.nearest_point(p)).count());
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
    let mut times: Vec<f64> = (0..7)
        .map(|_| {
            let start = processor_ms();
            black_box(work());
            processor_ms() - start
        })
        .collect();
    times.sort_by(f64::total_cmp);
    println!("{what:40} median {:8.1} ms   least {:8.1} ms", times[3], times[0]);
}

/// Time this process has had the processor, so that other work on the machine does not count; time since the epoch
/// where the system does not tell.
fn processor_ms() -> f64 {
    let told = std::fs::read_to_string("/proc/self/schedstat").ok();
    let nanoseconds = told.and_then(|text| text.split(' ').next()?.parse::<f64>().ok());
    let since_epoch =
        || SystemTime::now().duration_since(SystemTime::UNIX_EPOCH).unwrap_or_default().as_secs_f64() * 1e3;
    nanoseconds.map_or_else(since_epoch, |ns| ns / 1e6)
}
