//! Spikes: vertices that stand out from all their neighbours.

use crate::CleanStep;
use base::{Report, Severity};
use glam::DVec3;
use mesh::{TriMesh, open_sides};
use std::collections::{BTreeMap, BTreeSet};

/// A side is long if it is so many times as long as the usual one at either of its ends.
const LONG: f64 = 2.0;

/// A spike is so many times as high as what it stands on is wide (root mean square from its middle).
const SLENDER: f64 = 1.2;

/// A spike is so many times as high as half of all vertices stand out from their neighbours: over five standard
/// deviations of the noise.
const OVER_NOISE: f64 = 8.0;

/// So many vertices, about, tell how rough the skin is.
const ASKED: usize = 2000;

/// A spike has at least so many neighbours: at a ragged edge vertices stand out that have fewer.
const LEAST_AROUND: usize = 4;

/// More vertices than this that stand out together are a thing, not a spike.
const MOST_TOGETHER: usize = 8;

/// Rounds of laying a spike down between its neighbours.
const ROUNDS: usize = 20;

/// Lays spikes down between their neighbours.
pub(crate) fn without_spikes(skin: TriMesh, report: &mut Report) -> TriMesh {
    let Some((laid, count)) = laid_down(&skin) else { return skin };
    let text = match count {
        1 => "1 spike laid down.".to_owned(),
        _ => format!("{count} spikes laid down."),
    };
    report.add(Severity::Info, CleanStep::Spikes.id(), text, "");
    laid
}

/// The mesh with its spikes laid down between their neighbours, and how many spikes there were. `None` if there are
/// none.
///
/// A spike is a group of a few vertices, most of whose sides are long, that is farther from its neighbours than they are
/// from each other, and than noise takes a vertex.
pub(crate) fn laid_down(mesh: &TriMesh) -> Option<(TriMesh, usize)> {
    let positions = mesh.positions();
    let is_standing_out = mostly_long(mesh);
    if !is_standing_out.contains(&true) {
        return None;
    }
    let around = around(mesh, |v| is_standing_out[v as usize]);
    let mut seen = BTreeSet::new();
    let mut spikes: Vec<Vec<u32>> = Vec::new();
    for &start in around.keys() {
        if !seen.contains(&start) {
            let group = group_of(start, &around);
            seen.extend(group.iter().copied());
            spikes.push(group);
        }
    }
    let roughness = roughness(mesh);
    spikes.retain(|group| group.len() <= MOST_TOGETHER && stands_out(group, &around, positions, roughness));
    if spikes.is_empty() {
        return None;
    }
    // At a ragged edge corners stand out that are none.
    let edge: BTreeSet<u32> = open_sides(mesh).into_iter().flatten().collect();
    spikes.retain(|group| group.iter().all(|v| !edge.contains(v)));
    if spikes.is_empty() {
        return None;
    }
    let mut laid = positions.to_vec();
    for group in &spikes {
        let ring = ring_of(group, &around);
        let middle = ring.iter().map(|&v| positions[v as usize]).sum::<DVec3>() / ring.len() as f64;
        group.iter().for_each(|&v| laid[v as usize] = middle);
        for _ in 0..ROUNDS {
            for v in group {
                let near = &around[v];
                laid[*v as usize] = near.iter().map(|&n| laid[n as usize]).sum::<DVec3>() / near.len() as f64;
            }
        }
    }
    let count = spikes.len();
    TriMesh::new(laid, mesh.triangles().to_vec()).ok().map(|mesh| (mesh, count))
}

/// Per vertex the harmonic mean of the squares of its sides: short ones count, so that a spike beside it does not.
fn usual_sides(mesh: &TriMesh) -> Vec<f32> {
    let mut sums = vec![(0.0_f32, 0.0_f32); mesh.positions().len()];
    for &triangle in mesh.triangles() {
        let [a, b, c] = mesh.corners(triangle);
        let squares = [a.distance_squared(b), b.distance_squared(c), c.distance_squared(a)];
        for (k, square) in squares.into_iter().enumerate() {
            let part = 1.0 / square as f32;
            // A side of no length says nothing, and one that 32 bits cannot tell from none neither.
            if part.is_finite() {
                for v in [triangle[k], triangle[(k + 1) % 3]] {
                    let (sum, count) = &mut sums[v as usize];
                    *sum += part;
                    *count += 1.0;
                }
            }
        }
    }
    sums.into_iter().map(|(sum, count)| if sum > 0.0 { count / sum } else { f32::INFINITY }).collect()
}

/// Which vertices have more long sides than others.
fn mostly_long(mesh: &TriMesh) -> Vec<bool> {
    let usual = usual_sides(mesh);
    let positions = mesh.positions();
    let mut balance = vec![0_i16; positions.len()];
    for &[a, b, c] in mesh.triangles() {
        for (from, to) in [(a, b), (b, c), (c, a)] {
            let squared = positions[from as usize].distance_squared(positions[to as usize]);
            let is_long = squared > LONG * LONG * f64::from(usual[from as usize].min(usual[to as usize]));
            let by = if is_long { 1 } else { -1 };
            for v in [from, to] {
                balance[v as usize] = balance[v as usize].saturating_add(by);
            }
        }
    }
    balance.into_iter().map(|balance| balance > 0).collect()
}

/// The neighbours of some vertices.
fn around(mesh: &TriMesh, of: impl Fn(u32) -> bool) -> BTreeMap<u32, BTreeSet<u32>> {
    let mut around: BTreeMap<u32, BTreeSet<u32>> = BTreeMap::new();
    for &[a, b, c] in mesh.triangles() {
        for (v, next, last) in [(a, b, c), (b, c, a), (c, a, b)] {
            if of(v) {
                around.entry(v).or_default().extend([next, last].into_iter().filter(|&n| n != v));
            }
        }
    }
    around
}

/// How far a vertex is from the middle of its neighbours: half of all are nearer.
fn roughness(mesh: &TriMesh) -> f64 {
    let positions = mesh.positions();
    let stride = (positions.len() / ASKED).max(1) as u32;
    let around = around(mesh, |v| v.is_multiple_of(stride));
    let mut off: Vec<f64> =
        around.iter().map(|(&v, near)| positions[v as usize].distance(mean(near.iter(), positions))).collect();
    base::sort_numbers(&mut off);
    off.get(off.len() / 2).copied().unwrap_or(0.0)
}

fn mean<'a>(of: impl ExactSizeIterator<Item = &'a u32>, positions: &[DVec3]) -> DVec3 {
    let count = of.len().max(1) as f64;
    of.map(|&v| positions[v as usize]).sum::<DVec3>() / count
}

/// The vertices of `around` that hang together with one of them.
fn group_of(start: u32, around: &BTreeMap<u32, BTreeSet<u32>>) -> Vec<u32> {
    let mut group = vec![start];
    let mut known = BTreeSet::from([start]);
    let mut next = 0;
    while let Some(&v) = group.get(next) {
        next += 1;
        group.extend(around[&v].iter().copied().filter(|n| around.contains_key(n) && known.insert(*n)));
    }
    group
}

/// The vertices next to a group.
fn ring_of(group: &[u32], around: &BTreeMap<u32, BTreeSet<u32>>) -> Vec<u32> {
    let ring: BTreeSet<u32> = group.iter().filter_map(|v| around.get(v)).flatten().copied().collect();
    ring.into_iter().filter(|v| !group.contains(v)).collect()
}

/// Whether a group is farther from its neighbours than they are from each other, and than noise takes a vertex.
fn stands_out(group: &[u32], around: &BTreeMap<u32, BTreeSet<u32>>, positions: &[DVec3], roughness: f64) -> bool {
    let ring = ring_of(group, around);
    if ring.len() < LEAST_AROUND {
        return false;
    }
    let foot = mean(ring.iter(), positions);
    let height = mean(group.iter(), positions).distance(foot);
    let squares = ring.iter().map(|&v| positions[v as usize].distance_squared(foot)).sum::<f64>();
    height > SLENDER * (squares / ring.len() as f64).sqrt() && height > OVER_NOISE * roughness
}
