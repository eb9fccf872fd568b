//! Spikes: vertices that stand out from all their neighbours.

use crate::CleanStep;
use base::{Report, Severity};
use glam::DVec3;
use mesh::TriMesh;
use std::collections::{BTreeMap, BTreeSet};

/// A side is long if it is so many times as long as the usual one at either of its ends. Noise with a standard deviation
/// of a whole triangle's side does not get there on all sides of a vertex at once.
const LONG: f64 = 3.0;

/// A spike is so many times as high as what it stands on is wide (root mean square from its middle).
const SLENDER: f64 = 1.5;

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
/// A spike is a group of a few vertices whose sides to all others are long, and that is farther from them than they are
/// from each other.
pub(crate) fn laid_down(mesh: &TriMesh) -> Option<(TriMesh, usize)> {
    let usual = usual_sides(mesh);
    let positions = mesh.positions();
    let is_long = |a: u32, b: u32| {
        let length = positions[a as usize].distance(positions[b as usize]);
        length > LONG * f64::from(usual[a as usize].min(usual[b as usize]))
    };
    // Vertices that have a long side; of those with another side too, the spike may be a group.
    let mut with_long: BTreeSet<u32> = BTreeSet::new();
    for &[a, b, c] in mesh.triangles() {
        for (from, to) in [(a, b), (b, c), (c, a)] {
            if is_long(from, to) {
                with_long.extend([from, to]);
            }
        }
    }
    if with_long.is_empty() {
        return None;
    }
    let mut around: BTreeMap<u32, BTreeSet<u32>> = BTreeMap::new();
    for &[a, b, c] in mesh.triangles() {
        for (from, to, other) in [(a, b, c), (b, c, a), (c, a, b)] {
            if with_long.contains(&from) {
                around.entry(from).or_default().extend([to, other].into_iter().filter(|&v| v != from));
            }
        }
    }
    let mut seen = BTreeSet::new();
    let mut spikes: Vec<Vec<u32>> = Vec::new();
    for &start in &with_long {
        if !seen.contains(&start)
            && let Some(group) = group_of(start, &around, &is_long)
        {
            seen.extend(group.iter().copied());
            if stands_out(&group, &around, positions) {
                spikes.push(group);
            }
        }
    }
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

/// Per vertex the harmonic mean of its sides: short ones count, so that a spike beside it does not.
fn usual_sides(mesh: &TriMesh) -> Vec<f32> {
    let mut sums = vec![(0.0_f32, 0.0_f32); mesh.positions().len()];
    for &triangle in mesh.triangles() {
        let [a, b, c] = mesh.corners(triangle);
        let lengths = [a.distance(b), b.distance(c), c.distance(a)];
        for (k, length) in lengths.into_iter().enumerate().filter(|(_, length)| *length > 0.0) {
            let part = 1.0 / length as f32;
            for v in [triangle[k], triangle[(k + 1) % 3]] {
                let (sum, count) = &mut sums[v as usize];
                *sum += part;
                *count += 1.0;
            }
        }
    }
    sums.into_iter().map(|(sum, count)| if sum > 0.0 { count / sum } else { f32::INFINITY }).collect()
}

/// The vertices that hang together with one by sides that are not long, if they are few and known on all sides.
fn group_of(
    start: u32,
    around: &BTreeMap<u32, BTreeSet<u32>>,
    is_long: &impl Fn(u32, u32) -> bool,
) -> Option<Vec<u32>> {
    let mut group = vec![start];
    let mut next = 0;
    while let Some(&v) = group.get(next) {
        next += 1;
        // A vertex without a long side is not the spike's.
        for &n in around.get(&v)? {
            if !is_long(v, n) && !group.contains(&n) {
                group.push(n);
            }
        }
        if group.len() > MOST_TOGETHER {
            return None;
        }
    }
    Some(group)
}

/// The vertices next to a group.
fn ring_of(group: &[u32], around: &BTreeMap<u32, BTreeSet<u32>>) -> Vec<u32> {
    let ring: BTreeSet<u32> = group.iter().filter_map(|v| around.get(v)).flatten().copied().collect();
    ring.into_iter().filter(|v| !group.contains(v)).collect()
}

/// Whether a group is farther from its neighbours than they are from each other.
fn stands_out(group: &[u32], around: &BTreeMap<u32, BTreeSet<u32>>, positions: &[DVec3]) -> bool {
    let ring = ring_of(group, around);
    if ring.len() < 3 {
        return false;
    }
    let mean = |of: &[u32]| of.iter().map(|&v| positions[v as usize]).sum::<DVec3>() / of.len() as f64;
    let (foot, top) = (mean(&ring), mean(group));
    let radius = ring.iter().map(|&v| positions[v as usize].distance_squared(foot)).sum::<f64>() / ring.len() as f64;
    top.distance(foot) > SLENDER * radius.sqrt()
}
