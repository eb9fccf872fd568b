use super::sample::Sample;
use glam::{DMat3, DVec3};
use mesh::eigen_symmetric;
use std::collections::BTreeSet;

/// Slices across the long axis of the shape.
const SLICES: usize = 24;

/// Cells along each side of a slice, over the length of the shape: coarse enough that samples leave no gaps.
const CELLS: f64 = 40.0;

/// A part of a slice with fewer than this share of its cells is a finger or noise.
const PART: f64 = 0.15;

/// The share of the slices across the long axis that fall into two or more parts: legs and arms of a body, or two feet
/// joined by something. 0 for most single bodies.
pub(super) fn share_of_split_slices(samples: &[Sample]) -> f64 {
    let centre = samples.iter().map(|s| s.at).sum::<DVec3>() / samples.len().max(1) as f64;
    let spread = samples.iter().fold(DMat3::ZERO, |sum, s| {
        let p = s.at - centre;
        sum + DMat3::from_cols(p * p.x, p * p.y, p * p.z)
    });
    let [long, u, v] = eigen_symmetric(spread).vectors;
    let (lo, hi) = samples
        .iter()
        .map(|s| (s.at - centre).dot(long))
        .fold((0.0_f64, 0.0_f64), |(lo, hi), x| (lo.min(x), hi.max(x)));
    let length = hi - lo;
    if length <= 0.0 || samples.is_empty() {
        return 0.0;
    }
    let mut slices = vec![BTreeSet::new(); SLICES];
    for sample in samples {
        let p = sample.at - centre;
        let slice = ((p.dot(long) - lo) / length * SLICES as f64) as usize;
        let cell = |axis: DVec3| (p.dot(axis) / length * CELLS).floor() as i32;
        slices[slice.min(SLICES - 1)].insert((cell(u), cell(v)));
    }
    let split = slices.into_iter().filter(|slice| parts(slice.clone()) > 1).count();
    split as f64 / SLICES as f64
}

/// How many connected parts of some size a set of cells has.
fn parts(mut cells: BTreeSet<(i32, i32)>) -> usize {
    let least = (PART * cells.len() as f64).max(2.0);
    let mut count = 0;
    while let Some(first) = cells.pop_first() {
        let mut open = vec![first];
        let mut size = 0.0;
        while let Some((x, y)) = open.pop() {
            size += 1.0;
            for k in 0..9 {
                open.extend(cells.take(&(x + k % 3 - 1, y + k / 3 - 1)));
            }
        }
        count += usize::from(size >= least);
    }
    count
}
