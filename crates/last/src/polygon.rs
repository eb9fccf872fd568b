//! Closed plan polygons: area, crossings, signed distance. Corners in mm, the first not repeated.

use glam::DVec2;
use mesh::Grid;

/// The edges of a closed polygon, corner by corner, the last back to the first.
pub(crate) fn edges(corners: &[DVec2]) -> impl Iterator<Item = (DVec2, DVec2)> + '_ {
    corners.iter().copied().zip(corners.iter().copied().cycle().skip(1))
}

/// Signed area, mm²: positive counter-clockwise (the shoelace formula).
pub(crate) fn area_mm2(corners: &[DVec2]) -> f64 {
    let Some(&origin) = corners.first() else { return 0.0 };
    edges(corners).map(|(a, b)| (a - origin).perp_dot(b - origin)).sum::<f64>() / 2.0
}

/// A place where the polygon crosses or touches itself, if any.
pub(crate) fn crossing(corners: &[DVec2]) -> Option<DVec2> {
    let count = corners.len();
    let mut order: Vec<usize> = (0..count).collect();
    let ends = |edge: usize| (corners[edge], corners[(edge + 1) % count]);
    let least_x = |edge: usize| {
        let (a, b) = ends(edge);
        a.x.min(b.x)
    };
    order.sort_by(|&i, &j| least_x(i).total_cmp(&least_x(j)));
    for (rank, &i) in order.iter().enumerate() {
        let (a, b) = ends(i);
        let (far_x, low, high) = (a.x.max(b.x), a.y.min(b.y), a.y.max(b.y));
        for &j in order[rank + 1..].iter().take_while(|&&j| least_x(j) <= far_x) {
            let (c, d) = ends(j);
            let neighbours = (i + 1) % count == j || (j + 1) % count == i;
            if neighbours || c.y.max(d.y) < low || c.y.min(d.y) > high {
                continue;
            }
            if let Some(at) = meeting(a, b, c, d) {
                return Some(at);
            }
        }
    }
    None
}

/// Where the closed segments ab and cd meet, if they do.
fn meeting(a: DVec2, b: DVec2, c: DVec2, d: DVec2) -> Option<DVec2> {
    let side = |p: DVec2, q: DVec2, r: DVec2| (q - p).perp_dot(r - p);
    let (of_c, of_d) = (side(a, b, c), side(a, b, d));
    let (of_a, of_b) = (side(c, d, a), side(c, d, b));
    if of_c * of_d > 0.0 || of_a * of_b > 0.0 {
        return None;
    }
    let apart = of_c - of_d;
    if apart == 0.0 {
        // On one line (all four are zero there): they meet if the spans along it overlap.
        let along = b - a;
        let (s, t) = ((c - a).dot(along), (d - a).dot(along));
        let overlap = s.max(t) >= 0.0 && s.min(t) <= along.length_squared();
        return overlap.then_some(c);
    }
    Some(c.lerp(d, of_c / apart))
}

/// A simple closed polygon, with boxes round runs of its edges so that far ones are passed over.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Polygon {
    corners: Vec<DVec2>,
    /// Box round every run of [`RUN`] edges.
    boxes: Vec<(DVec2, DVec2)>,
    bounds: (DVec2, DVec2),
}

/// Edges in one box. Fewer: more boxes to look at; more: more edges in the box that counts. 6 … 16 cost the same.
const RUN: usize = 8;

/// Samples along the side of a tile of the distance grid. Smaller: more tiles that look at all edges; larger: more edges
/// kept for each tile. 6 … 12 cost the same.
const TILE: usize = 8;

/// Added to what counts as near, mm, so that rounding never leaves a tile without an edge.
const ROUNDING_MM: f64 = 1e-6;

impl Polygon {
    pub(crate) fn new(corners: Vec<DVec2>) -> Polygon {
        let first = corners.first().copied().unwrap_or_default();
        let around = |points: &mut dyn Iterator<Item = DVec2>, start: DVec2| {
            points.fold((start, start), |(lo, hi), p| (lo.min(p), hi.max(p)))
        };
        let bounds = around(&mut corners.iter().copied(), first);
        let boxes = (0..corners.len())
            .step_by(RUN)
            .map(|start| {
                let end = (start + RUN).min(corners.len());
                let mut of_run = (start..=end).map(|corner| corners[corner % corners.len()]);
                around(&mut of_run, corners[start])
            })
            .collect();
        Polygon { corners, boxes, bounds }
    }

    pub(crate) fn corners(&self) -> &[DVec2] {
        &self.corners
    }

    pub(crate) fn bounds(&self) -> (DVec2, DVec2) {
        self.bounds
    }

    fn edge(&self, index: usize) -> (DVec2, DVec2) {
        let next = if index + 1 == self.corners.len() { 0 } else { index + 1 };
        (self.corners[index], self.corners[next])
    }

    pub(crate) fn contains(&self, p: DVec2) -> bool {
        let mut inside = false;
        for (run, &(lo, hi)) in self.boxes.iter().enumerate() {
            if p.y < lo.y || p.y > hi.y || p.x > hi.x {
                continue;
            }
            for index in run * RUN..(run * RUN + RUN).min(self.corners.len()) {
                let (a, b) = self.edge(index);
                inside ^= passes_right(a, b, p);
            }
        }
        inside
    }

    pub(crate) fn signed_distance_mm(&self, p: DVec2) -> f64 {
        let mut least = f64::INFINITY;
        for (run, &(lo, hi)) in self.boxes.iter().enumerate() {
            if p.distance_squared(p.clamp(lo, hi)) >= least {
                continue;
            }
            for index in run * RUN..(run * RUN + RUN).min(self.corners.len()) {
                let (a, b) = self.edge(index);
                least = least.min(square_distance(a, b, p));
            }
        }
        if self.contains(p) { -least.sqrt() } else { least.sqrt() }
    }

    /// Tile by tile: an edge farther from the tile's centre than the nearest one by more than the tile's diameter cannot be
    /// nearest to any of its samples.
    pub(crate) fn distance_onto(&self, grid: &mut Grid) {
        let mut near = Vec::new();
        let mut distances = vec![0.0; self.corners.len()];
        for row in (0..grid.rows).step_by(TILE) {
            let last_row = (row + TILE).min(grid.rows) - 1;
            for column in (0..grid.columns).step_by(TILE) {
                let last_column = (column + TILE).min(grid.columns) - 1;
                let (lo, hi) = (grid.at(column, row), grid.at(last_column, last_row));
                let (centre, diameter) = ((lo + hi) / 2.0, lo.distance(hi));
                let mut least = f64::INFINITY;
                for (index, distance) in distances.iter_mut().enumerate() {
                    let (a, b) = self.edge(index);
                    *distance = square_distance(a, b, centre);
                    least = least.min(*distance);
                }
                let reach = least.sqrt() + diameter + ROUNDING_MM;
                near.clear();
                near.extend((0..distances.len()).filter(|&i| distances[i] <= reach * reach).map(|i| self.edge(i)));
                // Where no edge comes near, one answer holds for the whole tile.
                let one_side = (least.sqrt() > diameter).then(|| self.contains(centre));
                for r in row..=last_row {
                    for c in column..=last_column {
                        let p = grid.at(c, r);
                        let square = near.iter().fold(f64::INFINITY, |l, &(a, b)| l.min(square_distance(a, b, p)));
                        let inside = one_side.unwrap_or_else(|| self.contains(p));
                        grid.values[r * grid.columns + c] =
                            if inside { -square.sqrt() as f32 } else { square.sqrt() as f32 };
                    }
                }
            }
        }
    }

    /// Least and greatest y where the polygon meets the line at `x`.
    pub(crate) fn span_at_x(&self, x: f64) -> Option<(f64, f64)> {
        let (mut lo, mut hi) = (f64::INFINITY, f64::NEG_INFINITY);
        for (a, b) in edges(&self.corners).filter(|(a, b)| (a.x - x) * (b.x - x) <= 0.0) {
            // Not a number for an edge along the line, and then without effect: the edges beside it bring its ends.
            let y = a.y + (b.y - a.y) * ((x - a.x) / (b.x - a.x));
            (lo, hi) = (lo.min(y), hi.max(y));
        }
        (lo <= hi).then_some((lo, hi))
    }
}

/// Square of the distance from `p` to the segment ab, mm².
fn square_distance(a: DVec2, b: DVec2, p: DVec2) -> f64 {
    let (along, to) = (b - a, p - a);
    let share = (to.dot(along) / along.length_squared()).clamp(0.0, 1.0);
    (to - along * share).length_squared()
}

/// Whether the ray from `p` along +x passes through the edge ab, which owns its lower end but not its upper one.
fn passes_right(a: DVec2, b: DVec2, p: DVec2) -> bool {
    if (a.y <= p.y) == (b.y <= p.y) {
        return false;
    }
    let side = (b - a).perp_dot(p - a);
    if b.y > a.y { side > 0.0 } else { side < 0.0 }
}
