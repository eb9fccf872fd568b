//! How a cloud of points lies: the search for a pose on points instead of triangles.

use super::sample::Sample;
use super::search::{Candidate, LEAST_PIECE, SAMPLES, Sampled};
use crate::near::{Near, thinned};
use glam::{DAffine3, DMat3, DVec3};
use mesh::eigen_symmetric;

/// Points that are looked at: more say nothing more about how a foot lies.
const POINTS: usize = 60_000;

/// Cubes along the diagonal of the cloud that have one point each: 2 mm for a foot with its leg.
const CUBES: f64 = 200.0;

/// A point's neighbours: as many as tell in which plane it lies with them, and how much skin it stands for.
const NEIGHBOURS: usize = 10;

/// No point stands for skin so many times as wide as half of all do, nor hangs together with others so far away.
const MOST_WIDE: f64 = 5.0;

/// Turn from a sample to the next in the skin of a point: the golden angle, which fills a disc evenly.
const GOLDEN_ANGLE: f64 = 2.399_963_229_728_653;

/// A point with the skin it stands for.
struct Patch {
    at: DVec3,
    /// Unit length; of unknown sign.
    normal: DVec3,
    area: f64,
    /// Numbers of the points that hang together with it.
    joined: Vec<u32>,
}

/// How the foot in a cloud lies, roughly: scan → a frame with the sole below and the toes at +x, in the scan's unit,
/// and the foot's length in that unit. `None` if nothing in it stands.
///
/// However uneven the points are: each stands for as much skin as its neighbours leave it, and is seen by samples spread
/// evenly over that.
pub(crate) fn lie_of(points: &[DVec3]) -> Option<(DAffine3, f64)> {
    let some: Vec<DVec3> = points.iter().copied().step_by(points.len().div_ceil(POINTS).max(1)).collect();
    let (lo, hi) = bounds(&some)?;
    let cube = (hi - lo).length() / CUBES;
    if !(cube > 0.0 && cube.is_finite()) {
        return None;
    }
    let patches = patches(&thinned(&some, cube));
    let mut found: Option<Candidate> = None;
    for group in groups(&patches, &vec![true; patches.len()]) {
        let (sampled, owners) = sampled_from(&patches, &group);
        let sampled = match sampled.without_level() {
            None => sampled,
            Some(kept) => {
                // What the floor carries may be two feet, or a foot and the edge of the floor.
                let mut is_kept = vec![false; patches.len()];
                owners.iter().for_each(|&k| is_kept[k as usize] = true);
                owners.iter().zip(&kept).filter(|(_, kept)| !**kept).for_each(|(&k, _)| is_kept[k as usize] = false);
                let largest = groups(&patches, &is_kept).into_iter().next()?;
                sampled_from(&patches, &largest).0
            }
        };
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

/// The points with their skin.
fn patches(points: &[DVec3]) -> Vec<Patch> {
    let near = Near::of(points);
    let around: Vec<Vec<(f64, u32)>> = points.iter().map(|&at| near.nearest(at, NEIGHBOURS + 1)).collect();
    let reach = |k: usize| around[k].last().map_or(0.0, |last| last.0);
    let mut reaches: Vec<f64> = (0..points.len()).map(reach).collect();
    base::sort_numbers(&mut reaches);
    // Squares, as the reaches are.
    let most = MOST_WIDE * MOST_WIDE * reaches.get(reaches.len() / 2).copied().unwrap_or(0.0);
    let patch = |k: usize| {
        let is_joined = |&&(squared, other): &&(f64, u32)| squared <= most && other as usize != k;
        Patch {
            at: points[k],
            normal: normal(around[k].iter().map(|&(_, k)| points[k as usize])),
            area: std::f64::consts::PI * reach(k).min(most) / NEIGHBOURS as f64,
            joined: around[k].iter().filter(is_joined).map(|&(_, other)| other).collect(),
        }
    };
    (0..points.len()).map(patch).collect()
}

/// Samples spread evenly over the skin of some points, and the point that each sample is of.
fn sampled_from(patches: &[Patch], group: &[u32]) -> (Sampled, Vec<u32>) {
    let total: f64 = group.iter().map(|&k| patches[k as usize].area).sum();
    let share = total / SAMPLES as f64;
    let (mut samples, mut owners, mut passed) = (Vec::new(), Vec::new(), 0.0);
    for &k in group {
        let patch = &patches[k as usize];
        passed += patch.area;
        let u = patch.normal.any_orthonormal_vector();
        let v = patch.normal.cross(u);
        // The first lies in the middle, the others round it.
        let count = (passed / share).round() - samples.len() as f64;
        for k_th in 0..count.max(0.0) as usize {
            let out = (patch.area / std::f64::consts::PI * k_th as f64 / count).sqrt();
            let turn = k_th as f64 * GOLDEN_ANGLE;
            let at = patch.at + (u * libm::cos(turn) + v * libm::sin(turn)) * out;
            samples.push(Sample { at, normal: patch.normal });
            owners.push(k);
        }
    }
    (Sampled::of_samples(samples, share), owners)
}

/// The points that hang together of those that are `kept`, groups as large as a foot only, the largest first.
fn groups(patches: &[Patch], kept: &[bool]) -> Vec<Vec<u32>> {
    let mut both_ways: Vec<Vec<u32>> = vec![Vec::new(); patches.len()];
    for (patch, k) in patches.iter().zip(0..) {
        both_ways[k as usize].extend(&patch.joined);
        patch.joined.iter().for_each(|&other| both_ways[other as usize].push(k));
    }
    let mut is_open = kept.to_vec();
    let mut groups = Vec::new();
    for first in 0..patches.len() as u32 {
        if !std::mem::replace(&mut is_open[first as usize], false) {
            continue;
        }
        let (mut group, mut next, mut area) = (vec![first], 0, 0.0);
        while let Some(&k) = group.get(next) {
            next += 1;
            area += patches[k as usize].area;
            let joined = both_ways[k as usize].iter().copied();
            group.extend(joined.filter(|&other| std::mem::replace(&mut is_open[other as usize], false)));
        }
        group.sort_unstable();
        groups.push((area, group));
    }
    base::sort_by(&mut groups, |a, b| b.0.total_cmp(&a.0));
    let largest = groups.first().map_or(0.0, |group| group.0);
    groups.into_iter().filter(|group| group.0 > LEAST_PIECE * largest).map(|group| group.1).collect()
}

/// Direction in which some points spread least.
fn normal(points: impl ExactSizeIterator<Item = DVec3> + Clone) -> DVec3 {
    let mean = points.clone().sum::<DVec3>() / points.len().max(1) as f64;
    let spread = points.fold(DMat3::ZERO, |sum, p| {
        let d = p - mean;
        sum + DMat3::from_cols(d * d.x, d * d.y, d * d.z)
    });
    eigen_symmetric(spread).vectors[2]
}

fn bounds(points: &[DVec3]) -> Option<(DVec3, DVec3)> {
    let first = *points.first()?;
    Some(points.iter().fold((first, first), |(lo, hi), &p| (lo.min(p), hi.max(p))))
}
