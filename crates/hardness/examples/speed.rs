//! How long the hardness of a pair takes: 30 regions a pair on 1 mm samples. Run with `--release`.

#![allow(clippy::print_stdout)] // It is for reading.

use glam::DVec2;
use hardness::{HardnessField, HardnessPlan, Region};
use mesh::Grid;
use std::time::Instant;

/// An outline 270 mm by 95 mm, as an ellipse.
fn outline() -> Vec<DVec2> {
    (0..270)
        .map(|i| DVec2::from_angle(f64::from(i) / 270.0 * std::f64::consts::TAU) * DVec2::new(135.0, 47.5))
        .collect()
}

/// Blobs of 15 to 25 mm radius all over the insole.
fn plan(regions: u32, transition_mm: f64) -> HardnessPlan {
    let region = |id: u32| {
        let share = f64::from(id) / f64::from(regions);
        let centre = DVec2::new(-110.0 + 220.0 * share, 25.0 * (share * 40.0 - (share * 40.0).floor() - 0.5));
        let radius = 15.0 + 10.0 * (share * 17.0 - (share * 17.0).floor());
        let point =
            |i: u32| (centre + DVec2::from_angle(f64::from(i)) * radius * (1.0 + 0.1 * f64::from(i % 2))).to_array();
        let shore_a = 20.0 + 40.0 * share;
        Region { id, name: String::new(), points: (0..6).map(point).collect(), shore_a, transition_mm, on: true }
    };
    HardnessPlan { base_shore_a: 35.0, regions: (0..regions).map(region).collect() }
}

fn main() {
    let outline = outline();
    let template = Grid::over(DVec2::new(-136.0, -49.0), DVec2::new(136.0, 49.0), 1.0);
    let median_us = |work: &dyn Fn()| {
        let mut times: Vec<u128> = (0..101)
            .map(|_| {
                let start = Instant::now();
                work();
                start.elapsed().as_micros()
            })
            .collect();
        times.sort_unstable();
        times[50]
    };
    println!("two feet, 15 regions each, 1 mm, median of 101 runs:");
    for transition_mm in [2.0, 5.0, 10.0, 20.0, 40.0] {
        let plan = plan(15, transition_mm);
        let field = HardnessField::new(&plan);
        let build = 2 * median_us(&|| drop(std::hint::black_box(HardnessField::new(&plan))));
        let sample = 2 * median_us(&|| drop(std::hint::black_box(field.sample(&template))));
        let slope = 2 * median_us(&|| drop(std::hint::black_box(field.sample_with_slope(&template))));
        let steepest = 2 * median_us(&|| _ = std::hint::black_box(field.steepest(&outline)));
        println!(
            "transition {transition_mm:4} mm: build {build} us, sample {sample} us, with slope {slope} us, steepest {steepest} us"
        );
    }
}
