//! Points by their neighbours: thinning, nearest neighbours, the distance between points.

use glam::{DVec2, DVec3};

/// Points of a leaf of the tree: fewer make it deeper, more make the search in it longer.
const LEAF: usize = 8;

/// So many points, about, tell how far apart all are.
const ASKED: usize = 1000;

/// Neighbours of a point in a net of triangles.
pub(crate) const NET: usize = 6;

/// At most one point per cube of this size: the mean of those in it. In the order of the cubes, whatever the order of
/// the points.
pub(crate) fn thinned(points: &[DVec3], cube: f64) -> Vec<DVec3> {
    let lo = points.iter().copied().fold(DVec3::INFINITY, DVec3::min);
    // What is farther out than the cubes can be counted is taken together at the end.
    let place = |x: f64| ((x / cube) as u64).min((1 << 21) - 1);
    let key = |p: DVec3| (p - lo).to_array().into_iter().fold(0, |key, x| key << 21 | place(x));
    let mut keyed: Vec<(u64, u32)> = points.iter().zip(0..).map(|(&p, k)| (key(p), k)).collect();
    keyed.sort_unstable();
    let same = keyed.chunk_by(|a, b| a.0 == b.0);
    same.map(|cube| cube.iter().map(|&(_, k)| points[k as usize]).sum::<DVec3>() / cube.len() as f64).collect()
}

/// Points in a tree that halves them again and again across their longer side.
pub(crate) struct Near<'a> {
    points: &'a [DVec3],
    /// Numbers of the points; each half of the tree is a half of them.
    order: Vec<u32>,
}

impl<'a> Near<'a> {
    pub(crate) fn of(points: &'a [DVec3]) -> Near<'a> {
        let mut order: Vec<u32> = (0..points.len() as u32).collect();
        halve(points, &mut order, 0);
        Near { points, order }
    }

    /// The `count` points nearest to `at`, nearest first, as squares of their distance and numbers.
    pub(crate) fn nearest(&self, at: DVec3, count: usize) -> Vec<(f64, u32)> {
        let mut found = Vec::with_capacity(count + 1);
        if count > 0 {
            self.search(&self.order, 0, at, count, &mut found);
        }
        found
    }

    fn search(&self, order: &[u32], axis: usize, at: DVec3, count: usize, found: &mut Vec<(f64, u32)>) {
        if order.len() <= LEAF {
            order.iter().for_each(|&k| self.offer(k, at, count, found));
            return;
        }
        let middle = order.len() / 2;
        let (before, rest) = (&order[..middle], &order[middle + 1..]);
        let off = at[axis] - self.points[order[middle] as usize][axis];
        let (first, second) = if off < 0.0 { (before, rest) } else { (rest, before) };
        self.offer(order[middle], at, count, found);
        let next = (axis + 1) % 3;
        self.search(first, next, at, count, found);
        if found.len() < count || found.last().is_none_or(|last| off * off <= last.0) {
            self.search(second, next, at, count, found);
        }
    }

    fn offer(&self, k: u32, at: DVec3, count: usize, found: &mut Vec<(f64, u32)>) {
        let squared = self.points[k as usize].distance_squared(at);
        if found.len() == count && found.last().is_some_and(|last| squared >= last.0) {
            return;
        }
        let place = found.partition_point(|other| other.0 <= squared);
        found.insert(place, (squared, k));
        found.truncate(count);
    }
}

/// How far apart points are where they are sparse: nine in ten are nearer to as many neighbours as those in a net of
/// triangles have.
pub(crate) fn typical_distance(points: &[DVec3]) -> f64 {
    let near = Near::of(points);
    let some = points.iter().step_by(points.len() / ASKED + 1);
    let mut distances: Vec<f64> =
        some.filter_map(|&at| near.nearest(at, NET + 1).last().map(|last| last.0.sqrt())).collect();
    base::sort_numbers(&mut distances);
    distances.get(distances.len() * 9 / 10).copied().unwrap_or(0.0)
}

/// Puts the middle one across `axis` in the middle, and so on with both halves.
fn halve(points: &[DVec3], order: &mut [u32], axis: usize) {
    if order.len() <= LEAF {
        return;
    }
    let middle = order.len() / 2;
    let by = |a: &u32, b: &u32| points[*a as usize][axis].total_cmp(&points[*b as usize][axis]).then(a.cmp(b));
    order.select_nth_unstable_by(middle, by);
    // The middle one stays where it is.
    halve(points, &mut order[..middle], (axis + 1) % 3);
    halve(points, &mut order[middle + 1..], (axis + 1) % 3);
}

/// The box of some points in plan.
pub(crate) fn plan_box(points: impl Iterator<Item = DVec3>) -> (DVec2, DVec2) {
    points.map(|p| p.truncate()).fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(lo, hi), p| (lo.min(p), hi.max(p)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Numbers without a pattern, some of them equal.
    fn some_points(count: usize) -> Vec<DVec3> {
        let mut state = 7_u64;
        let mut next = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            ((state >> 40) % 50) as f64
        };
        (0..count).map(|_| DVec3::new(next(), next(), next() / 10.0)).collect()
    }

    #[test]
    fn the_nearest_are_those_of_a_search_through_all() {
        let points = some_points(700);
        let near = Near::of(&points);
        for (k, &at) in points.iter().enumerate().step_by(13) {
            let at = at + DVec3::splat(k as f64 / 300.0);
            let mut all: Vec<f64> = points.iter().map(|p| p.distance_squared(at)).collect();
            all.sort_by(f64::total_cmp);
            let found: Vec<f64> = near.nearest(at, 9).iter().map(|n| n.0).collect();
            assert_eq!(found, all[..9]);
        }
        assert_eq!(near.nearest(DVec3::ZERO, 1000).len(), 700);
        assert!(near.nearest(DVec3::ZERO, 0).is_empty() && Near::of(&[]).nearest(DVec3::ZERO, 3).is_empty());
    }

    #[test]
    fn a_cube_has_one_point_the_mean_of_its_own() {
        let points = [DVec3::ZERO, DVec3::new(0.5, 0.0, 0.25), DVec3::new(2.0, 0.0, 0.0), DVec3::new(0.25, 0.75, 0.5)];
        assert_eq!(thinned(&points, 1.0), [DVec3::splat(0.25), DVec3::new(2.0, 0.0, 0.0)]);
        assert!(thinned(&[], 1.0).is_empty());
    }
}
