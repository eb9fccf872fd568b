//! How a cloud of points lies: the search for a pose on points instead of triangles.

use super::sample::Sample;
use super::search::{Candidate, LEAST_PIECE, SAMPLES, Sampled};
use glam::{DAffine3, DMat3, DVec3};
use mesh::eigen_symmetric;
use std::collections::{BTreeMap, BTreeSet};

/// Cells that a cloud is thinned to before its pose is sought: about one in 15 mm² of a foot.
const CELLS: usize = SAMPLES / 2;

/// Rounds of finding the size of the cells.
const ROUNDS: usize = 6;

/// Cells of a surface at any slant over its area in cells: the mean over all slants of |nx| + |ny| + |nz|.
const CELLS_PER_AREA: f64 = 1.5;

/// Points that are looked at: more say nothing more about how a foot lies.
const POINTS: usize = 60_000;

/// How the foot in a cloud lies, roughly: scan → a frame with the sole below and the toes at +x, in the scan's unit,
/// and the foot's length in that unit. `None` if nothing in it stands.
pub(crate) fn lie_of(points: &[DVec3]) -> Option<(DAffine3, f64)> {
    let some: Vec<DVec3> = points.iter().copied().step_by(points.len().div_ceil(POINTS).max(1)).collect();
    let (lo, hi) = bounds(&some)?;
    let mut cell = (hi - lo).length() / 60.0;
    let mut cells = BTreeMap::new();
    for _ in 0..ROUNDS {
        if !(cell > 0.0 && cell.is_finite()) {
            return None;
        }
        cells = cells_of(&some, lo, cell);
        let ratio = cells.len() as f64 / CELLS as f64;
        if (0.7..1.4).contains(&ratio) || (ratio < 1.0 && cells.len() * 3 > some.len()) {
            break;
        }
        cell *= ratio.sqrt().clamp(0.25, 4.0);
    }
    let sample_area = cell * cell / CELLS_PER_AREA;
    let mut found: Option<Candidate> = None;
    for cluster in clusters(&cells) {
        let sampled_from = |cells: &Cells, keys: &[[i32; 3]]| {
            let (samples, share) = samples(cells, keys, cell);
            Sampled::of_samples(samples, sample_area * share)
        };
        let mut sampled = sampled_from(&cells, &cluster);
        if let Some(kept) = sampled.without_level() {
            // What the floor carries may be two feet, or a foot and the edge of the floor.
            let per_cell = (kept.len() / cluster.len().max(1)).max(1);
            let is_kept = kept.chunks(per_cell).map(|cell| cell.iter().all(|kept| *kept));
            let cells: Cells =
                cluster.iter().zip(is_kept).filter(|(_, kept)| *kept).map(|(key, _)| (*key, cells[key])).collect();
            let largest = clusters(&cells).into_iter().next()?;
            sampled = sampled_from(&cells, &largest);
        }
        let candidate = Candidate::of(sampled);
        found = match (found, candidate) {
            (Some(found), Some(next)) if next.likeness.score() > found.likeness.score() => Some(next),
            (None, next) => next,
            (found, _) => found,
        };
    }
    let guess = found?.guess;
    let turn = guess.frame.transpose();
    Some((DAffine3 { matrix3: turn, translation: -(turn * guess.origin) }, guess.length))
}

/// Samples of some cells: each cell's mean, spread over the cell along its skin where there are few cells, so that
/// samples leave no gaps. Also the share of a cell's area that each stands for.
fn samples(cells: &Cells, keys: &[[i32; 3]], cell: f64) -> (Vec<Sample>, f64) {
    let across = (CELLS as f64 / keys.len().max(1) as f64).sqrt().ceil().clamp(1.0, MOST_ACROSS);
    let places = (0..across as usize).map(|k| ((k as f64 + 0.5) / across - 0.5) * cell);
    let mut samples = Vec::new();
    for key in keys {
        let Some(&(sum, count)) = cells.get(key) else { continue };
        let normal = normal(cells, *key);
        let u = normal.any_orthonormal_vector();
        let v = normal.cross(u);
        for along in places.clone() {
            samples.extend(places.clone().map(|aside| Sample { at: sum / count + u * along + v * aside, normal }));
        }
    }
    (samples, 1.0 / (across * across))
}

/// Most samples across a cell.
const MOST_ACROSS: f64 = 4.0;

/// The cells that hang together, groups as large as a foot only, the largest first; each in the order of their numbers.
fn clusters(cells: &Cells) -> Vec<Vec<[i32; 3]>> {
    let mut open: BTreeSet<[i32; 3]> = cells.keys().copied().collect();
    let mut found = Vec::new();
    while let Some(first) = open.pop_first() {
        let mut cluster = vec![first];
        let mut next = 0;
        while let Some(&key) = cluster.get(next) {
            next += 1;
            cluster.extend(around(key).filter(|side| open.remove(side)));
        }
        cluster.sort_unstable();
        found.push(cluster);
    }
    found.sort_by_key(|cluster| std::cmp::Reverse(cluster.len()));
    let largest = found.first().map_or(0, Vec::len);
    found.retain(|cluster| cluster.len() as f64 > LEAST_PIECE * largest as f64);
    found
}

/// The cells around one, and itself.
fn around(key: [i32; 3]) -> impl Iterator<Item = [i32; 3]> {
    (0..27).map(move |k| {
        let step = [k % 3 - 1, k / 3 % 3 - 1, k / 9 - 1];
        std::array::from_fn(|axis| key[axis].saturating_add(step[axis]))
    })
}

/// Sum and number of the points in each cell.
type Cells = BTreeMap<[i32; 3], (DVec3, f64)>;

fn cells_of(points: &[DVec3], lo: DVec3, cell: f64) -> Cells {
    let mut cells = Cells::new();
    for &p in points {
        let key = ((p - lo) / cell).floor().to_array().map(|x| x as i32);
        let (sum, count) = cells.entry(key).or_insert((DVec3::ZERO, 0.0));
        *sum += p;
        *count += 1.0;
    }
    cells
}

/// Direction in which the cells around one spread least.
fn normal(cells: &Cells, key: [i32; 3]) -> DVec3 {
    let near: Vec<DVec3> = around(key).filter_map(|side| cells.get(&side)).map(|(sum, count)| sum / *count).collect();
    let mean = near.iter().sum::<DVec3>() / near.len().max(1) as f64;
    let spread = near.iter().fold(DMat3::ZERO, |sum, &p| {
        let d = p - mean;
        sum + DMat3::from_cols(d * d.x, d * d.y, d * d.z)
    });
    eigen_symmetric(spread).vectors[2]
}

pub(crate) fn bounds(points: &[DVec3]) -> Option<(DVec3, DVec3)> {
    let first = *points.first()?;
    Some(points.iter().fold((first, first), |(lo, hi), &p| (lo.min(p), hi.max(p))))
}
