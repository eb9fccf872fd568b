//! Which lines of the measuring paths are drawn where, and where their keys stand.

use super::{Marked, key};
use crate::MeasureRow;
use crate::formats::sheet::page::bounds;
use glam::{DVec2, DVec3, Vec3Swizzles};

/// A line that rises by less than this share of its reach over the ground is drawn in plan alone.
const FLAT: f64 = 0.1;
/// Lines that lie within this of each other are one line with two keys, mm.
const SAME_MM: f64 = 0.05;
/// A line that runs at least this share of the foot's length along its axis is drawn beside the foot.
const LONG: f64 = 0.25;

/// How many ways to draw a line there are: the classes `d0`, `d1`, … of the page's style.
const DASHES: usize = 4;

/// A line of one or more measures in the points of a view, mm.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Stroke {
    /// Keys of the measures: more than one where they run along the same line, none for the lesser loops of a measure.
    pub(super) keys: Vec<String>,
    /// Which of the ways to draw a line: the same on both feet.
    pub(super) dash: usize,
    /// The line.
    pub(super) points: Vec<DVec2>,
}

/// The lines seen in plan: those drawn where they were measured, and the lengths along the foot axis, which are drawn
/// beside the foot as their two ends, shortest first.
pub(super) fn in_plan(marked: &Marked<'_>) -> (Vec<Stroke>, Vec<Stroke>) {
    let length = bounds(marked.foot.silhouette.iter().copied()).map_or(0.0, |(lo, hi)| hi.x - lo.x);
    let (mut lines, mut lengths) = (Vec::new(), Vec::new());
    for (place, row, line) in paths(marked) {
        let closed = line.len() > 3 && line.first() == line.last();
        if !closed && !is_flat(line) {
            continue;
        }
        // Of many loops, such as the contours of a print, the longest alone is named.
        let named = !closed || row.path.iter().all(|other| length_of(other) <= length_of(line));
        let keys = if named { vec![key(place)] } else { Vec::new() };
        let points: Vec<DVec2> = line.iter().map(|p| p.truncate()).collect();
        // The arms of an angle stay where they are.
        match along_axis(&points).filter(|[a, b]| row.unit != "°" && (b.x - a.x).abs() > LONG * length) {
            Some(ends) => add(&mut lengths, place, keys, ends.to_vec()),
            None => add(&mut lines, place, keys, points),
        }
    }
    let long =
        |stroke: &Stroke| stroke.points.iter().fold(0.0_f64, |most, p| most.max((p.x - stroke.points[0].x).abs()));
    base::sort_by(&mut lengths, |a, b| long(a).total_cmp(&long(b)));
    (lines, lengths)
}

/// The lines seen from the medial side.
pub(super) fn from_medial(marked: &Marked<'_>) -> Vec<Stroke> {
    let mut lines = Vec::new();
    for (place, _, line) in paths(marked).filter(|(.., line)| !is_flat(line)) {
        add(&mut lines, place, vec![key(place)], line.iter().map(|p| p.xz()).collect());
    }
    lines
}

/// Every line of every measure with a value, with the measure and its place in the table.
fn paths<'a>(marked: &'a Marked<'_>) -> impl Iterator<Item = (usize, &'a MeasureRow, &'a [DVec3])> {
    marked.measures.iter().filter(|(_, row)| row.value.is_some_and(f64::is_finite)).flat_map(|&(place, row)| {
        let drawn = row.path.iter().filter(|line| line.len() > 1 && line.iter().all(|p| p.is_finite()));
        drawn.map(move |line| (place, row, line.as_slice()))
    })
}

fn length_of(line: &[DVec3]) -> f64 {
    line.windows(2).map(|pair| pair[0].distance(pair[1])).sum()
}

fn is_flat(line: &[DVec3]) -> bool {
    let rise = line.iter().fold(0.0_f64, |most, p| most.max((p.z - line[0].z).abs()));
    let reach = line.iter().fold(0.0_f64, |most, p| most.max(p.truncate().distance(line[0].truncate())));
    rise <= FLAT * reach
}

/// The ends of a line one piece of which runs along the foot axis for as long as the whole.
fn along_axis(points: &[DVec2]) -> Option<[DVec2; 2]> {
    let (&first, &last) = (points.first()?, points.last()?);
    let whole = (last.x - first.x).abs();
    let runs =
        |pair: &[DVec2]| (pair[1].x - pair[0].x).abs() >= whole - SAME_MM && (pair[1].y - pair[0].y).abs() < SAME_MM;
    (points.len() <= 4 && points.windows(2).any(runs)).then_some([first, last])
}

/// Adds a line, or its keys to the same line of another measure.
fn add(strokes: &mut Vec<Stroke>, place: usize, keys: Vec<String>, points: Vec<DVec2>) {
    let same = |a: &[DVec2]| a.len() == points.len() && a.iter().zip(&points).all(|(a, b)| a.distance(*b) < SAME_MM);
    match strokes.iter_mut().find(|stroke| same(&stroke.points)) {
        Some(stroke) => {
            let new: Vec<String> = keys.into_iter().filter(|key| !stroke.keys.contains(key)).collect();
            stroke.keys.extend(new);
        }
        None => strokes.push(Stroke { keys, dash: place % DASHES, points }),
    }
}

/// Places for labels that want to stand at `wanted`, from `lo` to `hi`, `gap` apart at least, or less where there is no
/// room, and moved as little as can be (least squares, by pooling neighbours that are in each other's way), in the order
/// given.
pub(super) fn spread(wanted: &[f64], gap: f64, lo: f64, hi: f64) -> Vec<f64> {
    let steps = wanted.len().saturating_sub(1) as f64;
    let gap = if gap * steps > hi - lo { (hi - lo).max(0.0) / steps } else { gap };
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    base::sort_by(&mut order, |&a: &usize, &b: &usize| wanted[a].total_cmp(&wanted[b]));
    // Without the gaps, labels may touch but not change places: each block is a mean and how many share it.
    let mut blocks: Vec<(f64, usize)> = Vec::new();
    for (rank, &index) in order.iter().enumerate() {
        let mut block = (wanted[index] - gap * rank as f64, 1);
        while let Some(&(mean, count)) = blocks.last().filter(|(mean, _)| *mean > block.0) {
            blocks.pop();
            let both = count + block.1;
            block = ((mean * count as f64 + block.0 * block.1 as f64) / both as f64, both);
        }
        blocks.push(block);
    }
    let means = blocks.into_iter().flat_map(|(mean, count)| std::iter::repeat_n(mean, count));
    let mut places = vec![0.0; wanted.len()];
    for (rank, (index, mean)) in order.into_iter().zip(means).enumerate() {
        // What is best between bounds is what is best without them, clipped.
        places[index] = mean.min(hi - gap * steps).max(lo) + gap * rank as f64;
    }
    places
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_keep_their_distance_and_move_as_little_as_can_be() {
        let spread = |wanted: &[f64], gap| spread(wanted, gap, 0.0, 40.0);
        assert_eq!(spread(&[0.0, 10.0, 30.0], 5.0), [0.0, 10.0, 30.0]);
        assert_eq!(spread(&[10.0, 10.0], 4.0), [8.0, 12.0]);
        // Given out of order, the last two in each other's way: 20 and 21 move to 18.5 and 22.5.
        assert_eq!(spread(&[21.0, 0.0, 20.0], 4.0), [22.5, 0.0, 18.5]);
        assert!(spread(&[], 4.0).is_empty());
        // Between the bounds, and closer together where there is no room.
        assert_eq!(spread(&[0.0, 0.0, 39.0], 4.0), [0.0, 4.0, 39.0]);
        assert_eq!(spread(&[40.0, 40.0], 4.0), [36.0, 40.0]);
        assert_eq!(spread(&[7.0, 7.0, 7.0], 30.0), [0.0, 20.0, 40.0]);
    }

    #[test]
    fn a_length_along_the_axis_is_known_by_its_long_piece() {
        let v = DVec2::new;
        assert_eq!(along_axis(&[v(0.0, 3.0), v(180.0, 3.0), v(180.0, 40.0)]), Some([v(0.0, 3.0), v(180.0, 40.0)]));
        assert_eq!(along_axis(&[v(0.0, 0.0), v(180.0, 9.0)]), None);
        assert_eq!(along_axis(&[]), None);
    }
}
