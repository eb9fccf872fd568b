//! How a cloud of points lies: the search for a pose on points instead of triangles.

use super::sample::Sample;
use super::search::{Candidate, SAMPLES};
use glam::{DAffine3, DMat3, DVec3};
use mesh::eigen_symmetric;
use std::collections::BTreeMap;

/// Cells that a cloud is thinned to before its pose is sought: about one in 15 mm² of a foot.
const CELLS: usize = SAMPLES / 2;

/// Rounds of finding the size of the cells.
const ROUNDS: usize = 6;

/// Cells of a surface at any slant over its area in cells: the mean over all slants of |nx| + |ny| + |nz|.
const CELLS_PER_AREA: f64 = 1.5;

/// How the foot in a cloud lies, roughly: scan → a frame with the sole below and the toes at +x, in the scan's unit,
/// and the foot's length in that unit. `None` if nothing in it stands.
pub(crate) fn lie_of(points: &[DVec3]) -> Option<(DAffine3, f64)> {
    let (lo, hi) = bounds(points)?;
    let mut cell = (hi - lo).length() / 60.0;
    let mut cells = BTreeMap::new();
    for _ in 0..ROUNDS {
        if !(cell > 0.0 && cell.is_finite()) {
            return None;
        }
        cells = cells_of(points, lo, cell);
        let ratio = cells.len() as f64 / CELLS as f64;
        if (0.7..1.4).contains(&ratio) || (ratio < 1.0 && cells.len() * 3 > points.len()) {
            break;
        }
        cell *= ratio.sqrt().clamp(0.25, 4.0);
    }
    let samples: Vec<Sample> =
        cells.iter().map(|(&key, &(sum, count))| Sample { at: sum / count, normal: normal(&cells, key) }).collect();
    let found = Candidate::of_samples(samples, cell * cell / CELLS_PER_AREA)?;
    let turn = found.guess.frame.transpose();
    Some((DAffine3 { matrix3: turn, translation: -(turn * found.guess.origin) }, found.guess.length))
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
    let (mut around, mut mean) = (Vec::with_capacity(27), DVec3::ZERO);
    for k in 0..27 {
        let step = [k % 3 - 1, k / 3 % 3 - 1, k / 9 - 1];
        let side: [i32; 3] = std::array::from_fn(|axis| key[axis].saturating_add(step[axis]));
        if let Some(&(sum, count)) = cells.get(&side) {
            around.push(sum / count);
            mean += sum / count;
        }
    }
    mean /= around.len().max(1) as f64;
    let spread = around.iter().fold(DMat3::ZERO, |sum, &p| {
        let d = p - mean;
        sum + DMat3::from_cols(d * d.x, d * d.y, d * d.z)
    });
    eigen_symmetric(spread).vectors[2]
}

pub(crate) fn bounds(points: &[DVec3]) -> Option<(DVec3, DVec3)> {
    let first = *points.first()?;
    Some(points.iter().fold((first, first), |(lo, hi), &p| (lo.min(p), hi.max(p))))
}
