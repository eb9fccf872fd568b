//! Lines of equal value on a grid, for drawing: marching squares, joined into polylines.
//!
//! Guarantee: a line is exact for values linear along grid edges; nothing is drawn next to a sample that is not a
//! number. Non-guarantee: of the two ways to join a saddle, one is taken without looking at the middle.

use super::geometry::P2;
use crate::worker::Grid;
use std::collections::BTreeMap;

/// A grid edge: index of its lower sample, and whether it runs along a row.
type Edge = (usize, bool);

/// The lines on which `grid` has the value `level`, in the grid's own coordinates, mm. Closed ones end where they
/// begin. Cost grows with the number of samples.
pub(crate) fn isolines(grid: &Grid, level: f32) -> Vec<Vec<P2>> {
    join(segments(grid, level))
        .into_iter()
        .map(|line| line.into_iter().map(|edge| place(grid, edge, level)).collect())
        .collect()
}

fn segments(grid: &Grid, level: f32) -> Vec<(Edge, Edge)> {
    let mut found = Vec::new();
    let columns = grid.frame.columns;
    for row in 0..grid.frame.rows.saturating_sub(1) {
        for column in 0..columns.saturating_sub(1) {
            let i = row * columns + column;
            let corners =
                [i, i + 1, i + columns + 1, i + columns].map(|k| grid.values.get(k).copied().unwrap_or(f32::NAN));
            if corners.iter().any(|value| value.is_nan()) {
                continue;
            }
            // Edges in the order in which the corners are walked: bottom, right, top, left.
            let edges = [(i, true), (i + 1, false), (i + columns, true), (i, false)];
            let crossed: Vec<Edge> =
                (0..4).filter(|&k| (corners[k] < level) != (corners[(k + 1) % 4] < level)).map(|k| edges[k]).collect();
            for pair in crossed.chunks_exact(2) {
                found.push((pair[0], pair[1]));
            }
        }
    }
    found
}

fn join(segments: Vec<(Edge, Edge)>) -> Vec<Vec<Edge>> {
    let mut at: BTreeMap<Edge, Vec<usize>> = BTreeMap::new();
    for (index, (a, b)) in segments.iter().enumerate() {
        at.entry(*a).or_default().push(index);
        at.entry(*b).or_default().push(index);
    }
    let mut used = vec![false; segments.len()];
    let mut lines = Vec::new();
    // Open lines first, from their ends, so that no line is started in its middle.
    let ends = at.iter().filter(|(_, list)| list.len() == 1).map(|(_, list)| list[0]);
    let order: Vec<usize> = ends.chain(0..segments.len()).collect();
    for first in order {
        if used[first] {
            continue;
        }
        used[first] = true;
        let (a, b) = segments[first];
        let starts_at_end = at.get(&a).is_some_and(|list| list.len() == 1);
        let (start, mut head) = if starts_at_end { (a, b) } else { (b, a) };
        let mut line = vec![start, head];
        while let Some(next) = at.get(&head).and_then(|list| list.iter().copied().find(|&k| !used[k])) {
            used[next] = true;
            let (a, b) = segments[next];
            head = if a == head { b } else { a };
            line.push(head);
        }
        lines.push(line);
    }
    lines
}

fn place(grid: &Grid, (index, along_row): Edge, level: f32) -> P2 {
    let (column, row) = (index % grid.frame.columns, index / grid.frame.columns);
    let other = if along_row { index + 1 } else { index + grid.frame.columns };
    let (a, b) = (grid.values[index], grid.values[other]);
    let share = f64::from((level - a) / (b - a)).clamp(0.0, 1.0);
    let (dx, dy) = if along_row { (share, 0.0) } else { (0.0, share) };
    [
        grid.frame.origin_mm[0] + (column as f64 + dx) * grid.frame.step_mm,
        grid.frame.origin_mm[1] + (row as f64 + dy) * grid.frame.step_mm,
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::protocol::GridFrame;
    use std::rc::Rc;

    fn grid(size: usize, value: impl Fn(f64, f64) -> f64) -> Grid {
        let values = (0..size * size).map(|i| value((i % size) as f64, (i / size) as f64) as f32).collect();
        Grid {
            frame: GridFrame { origin_mm: [0.0, 0.0], step_mm: 1.0, columns: size, rows: size },
            values: Rc::new(values),
        }
    }

    #[test]
    fn a_cone_has_one_round_closed_line() {
        let cone = grid(41, |x, y| ((x - 20.0).powi(2) + (y - 20.0).powi(2)).sqrt());
        let lines = isolines(&cone, 12.3);
        assert_eq!(lines.len(), 1);
        assert_eq!(lines[0].first(), lines[0].last());
        for [x, y] in &lines[0] {
            let radius = ((x - 20.0).powi(2) + (y - 20.0).powi(2)).sqrt();
            // Linear interpolation along an edge of 1 mm misses a circle of 12 mm by at most 1²/(8·12) mm.
            assert!((radius - 12.3).abs() < 0.011, "{radius}");
        }
    }

    #[test]
    fn a_slope_has_one_straight_open_line_and_holes_stay_empty() {
        let slope = grid(11, |x, _| x);
        let lines = isolines(&slope, 4.25);
        assert_eq!(lines.len(), 1);
        assert_eq!(lines[0].len(), 11);
        assert!(lines[0].iter().all(|[x, _]| (x - 4.25).abs() < 1e-6));
        let holed = grid(11, |x, y| if y > 4.0 { f64::NAN } else { x });
        assert_eq!(isolines(&holed, 4.25)[0].len(), 5);
        assert!(isolines(&slope, 40.0).is_empty());
    }
}
