//! Open pieces whose ends meet become one curve.

use super::{Curve, length_mm};
use base::{Report, Severity};
use glam::DVec2;
use std::collections::{BTreeMap, VecDeque};

/// Most ends in one square that are looked at: an outline has two, a hatching without end must not take time without end.
const MOST_MEETING: usize = 64;

/// The curves with pieces joined whose ends lie within `within_mm`, the nearest first. Curves without extent are left out.
pub(super) fn joined(curves: Vec<Curve>, within_mm: f64, report: &mut Report) -> Vec<Curve> {
    let (closed, open): (Vec<Curve>, Vec<Curve>) =
        curves.into_iter().map(|curve| close(curve, within_mm)).partition(|curve| curve.closed);
    let mut open: Vec<Curve> = open.into_iter().filter(|curve| length_mm(curve) > within_mm).collect();
    // A piece drawn twice would lead back where the chain came from.
    let drawn: Vec<Vec<[u64; 2]>> = open.iter().map(either_way).collect();
    let order = base::order(open.len(), &|a, b| drawn[a].cmp(&drawn[b]));
    let mut is_again = vec![false; open.len()];
    order.windows(2).for_each(|pair| is_again[pair[1]] = drawn[pair[0]] == drawn[pair[1]]);
    let mut is_again = is_again.into_iter();
    open.retain(|_| is_again.next() != Some(true));
    let pieces = open.len();
    let mut ends = Ends::of(&open, within_mm);
    let mut left: Vec<Option<Curve>> = open.into_iter().map(Some).collect();
    let mut chains = Vec::new();
    for index in 0..left.len() {
        let Some(first) = left[index].take() else { continue };
        ends.remove(index, &first);
        chains.push(close(chain(first, &mut left, &mut ends, within_mm), within_mm));
    }
    if chains.len() < pieces {
        let text = format!("{pieces} open pieces were joined into {} where their ends meet.", chains.len());
        report.add(Severity::Info, "drawing_pieces_joined", text, "");
    }
    let has_extent = |curve: &Curve| curve.points.len() > if curve.closed { 2 } else { 1 };
    closed.into_iter().chain(chains).filter(has_extent).collect()
}

/// The points of a piece, the same whichever way it is drawn.
fn either_way(curve: &Curve) -> Vec<[u64; 2]> {
    let bits: Vec<[u64; 2]> = curve.points.iter().map(|p| [p.x.to_bits(), p.y.to_bits()]).collect();
    let turned = bits.iter().rev().copied().collect();
    bits.min(turned)
}

/// Closed, if its ends meet; without a repeated first point.
fn close(mut curve: Curve, within_mm: f64) -> Curve {
    if let [first, .., last] = curve.points[..]
        && first.distance(last) <= within_mm
        && (curve.closed || length_mm(&curve) > 4.0 * within_mm)
    {
        curve.closed = true;
        if curve.points.len() > 3 {
            curve.points.pop();
        }
    }
    curve
}

/// Grows a piece at its end, and then at its start, until nothing meets it or it closes.
fn chain(first: Curve, left: &mut [Option<Curve>], ends: &mut Ends, within_mm: f64) -> Curve {
    let Curve { points, label, .. } = first;
    let mut points = VecDeque::from(points);
    for at_front in [false, true] {
        while let (Some(&front), Some(&back)) = (points.front(), points.back()) {
            let (here, other) = if at_front { (front, back) } else { (back, front) };
            let gap = if points.len() > 2 { here.distance(other) } else { f64::INFINITY };
            let Some((index, is_end)) = ends.nearest(here, gap.min(within_mm)) else { break };
            let Some(mut next) = left[index].take() else { break };
            ends.remove(index, &next);
            if is_end {
                next.points.reverse();
            }
            // The two ends become one, midway.
            let mut added = next.points.into_iter();
            let Some(met) = added.next().map(|start| (start + here) / 2.0) else { break };
            if at_front {
                points.pop_front();
                points.push_front(met);
                added.for_each(|p| points.push_front(p));
            } else {
                points.pop_back();
                points.push_back(met);
                points.extend(added);
            }
        }
    }
    Curve { points: points.into(), closed: false, label }
}

/// The ends of the pieces not used yet, by squares as wide as they may lie apart.
struct Ends {
    within_mm: f64,
    squares: BTreeMap<(i64, i64), Vec<End>>,
}

/// Index of the piece, whether it is its end (or its start), and where.
type End = (usize, bool, DVec2);

impl Ends {
    fn of(curves: &[Curve], within_mm: f64) -> Ends {
        let mut ends = Ends { within_mm, squares: BTreeMap::new() };
        for (index, curve) in curves.iter().enumerate() {
            for (p, is_end) in ends_of(curve) {
                let square = ends.squares.entry(ends.square(p)).or_default();
                if square.len() < MOST_MEETING {
                    square.push((index, is_end, p));
                }
            }
        }
        ends
    }

    fn square(&self, p: DVec2) -> (i64, i64) {
        let q = (p / self.within_mm).floor();
        (q.x as i64, q.y as i64)
    }

    fn remove(&mut self, index: usize, curve: &Curve) {
        for (p, _) in ends_of(curve) {
            if let Some(square) = self.squares.get_mut(&self.square(p)) {
                square.retain(|(other, _, _)| *other != index);
            }
        }
    }

    /// The piece whose start or end (`true`) is nearest to `p`, closer than `reach`; of two as near, the first drawn.
    fn nearest(&self, p: DVec2, reach: f64) -> Option<(usize, bool)> {
        let (column, row) = self.square(p);
        let mut best = (reach, None);
        for near in (-1..=1).flat_map(|up| (-1..=1).map(move |right| (column + right, row + up))) {
            for (index, is_end, end) in self.squares.get(&near).into_iter().flatten() {
                let apart = end.distance(p);
                let is_first = best.1.is_some_and(|best: (usize, bool)| (*index, *is_end) < best);
                if apart < best.0 || (apart <= best.0 && is_first) {
                    best = (apart, Some((*index, *is_end)));
                }
            }
        }
        best.1
    }
}

fn ends_of(curve: &Curve) -> impl Iterator<Item = (DVec2, bool)> {
    let start = curve.points.first().map(|p| (*p, false));
    start.into_iter().chain(curve.points.last().map(|p| (*p, true)))
}
