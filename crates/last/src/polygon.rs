//! Closed plan polygons: crossings, signed distance. Corners in mm, the first not repeated.

use glam::DVec2;
use mesh::Grid;
use mesh::outline::near_edges;

/// The edges of a closed polygon, corner by corner, the last back to the first.
pub(crate) fn edges(corners: &[DVec2]) -> impl Iterator<Item = (DVec2, DVec2)> + '_ {
    corners.iter().copied().zip(corners.iter().copied().cycle().skip(1))
}

/// `count` points at even distances along a closed polygon.
pub(crate) fn evenly(corners: &[DVec2], count: usize) -> Vec<DVec2> {
    let whole_mm: f64 = edges(corners).map(|(a, b)| a.distance(b)).sum();
    let mut points = Vec::with_capacity(count);
    let mut passed_mm = 0.0;
    for (a, b) in edges(corners) {
        let edge_mm = a.distance(b);
        while points.len() < count && points.len() as f64 * whole_mm / count as f64 <= passed_mm + edge_mm {
            let into_mm = points.len() as f64 * whole_mm / count as f64 - passed_mm;
            points.push(if edge_mm > 0.0 { a.lerp(b, into_mm / edge_mm) } else { a });
        }
        passed_mm += edge_mm;
    }
    points
}

/// A place where the polygon crosses or touches itself, if any.
pub(crate) fn crossing(corners: &[DVec2]) -> Option<DVec2> {
    let ends = |edge: usize| (corners[edge], corners[(edge + 1) % corners.len()]);
    near_edges(corners).find_map(|(i, j)| {
        let ((a, b), (c, d)) = (ends(i), ends(j));
        meeting(a, b, c, d)
    })
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
    edges: Vec<Edge>,
    /// Box round every run of [`RUN`] edges.
    boxes: Vec<(DVec2, DVec2)>,
    bounds: (DVec2, DVec2),
}

/// An edge made ready for distances.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Edge {
    from: DVec2,
    to: DVec2,
    along: DVec2,
    /// One over the square of its length, 1/mm².
    inverse_square: f64,
}

/// Edges in one box. Fewer: more boxes to look at; more: more edges in the box that counts. 6 … 16 cost the same.
const RUN: usize = 8;

/// Samples along the side of a tile of the distance grid. Smaller: more tiles that look at all boxes; larger: more edges kept
/// for each tile. 4 … 8 cost the same.
const TILE: usize = 6;

/// Added to what counts as near, mm, so that rounding never leaves a tile without an edge.
const ROUNDING_MM: f64 = 1e-6;

impl Polygon {
    pub(crate) fn new(corners: Vec<DVec2>) -> Polygon {
        let edge = |(from, to): (DVec2, DVec2)| Edge {
            from,
            to,
            along: to - from,
            inverse_square: 1.0 / from.distance_squared(to),
        };
        let edges: Vec<Edge> = edges(&corners).map(edge).collect();
        let start = (DVec2::INFINITY, DVec2::NEG_INFINITY);
        let around = |edges: &[Edge]| {
            edges.iter().fold(start, |(lo, hi), e| (lo.min(e.from).min(e.to), hi.max(e.from).max(e.to)))
        };
        let boxes = edges.chunks(RUN).map(around).collect();
        let bounds = around(&edges);
        Polygon { corners, edges, boxes, bounds }
    }

    pub(crate) fn corners(&self) -> &[DVec2] {
        &self.corners
    }

    pub(crate) fn bounds(&self) -> (DVec2, DVec2) {
        self.bounds
    }

    pub(crate) fn contains(&self, p: DVec2) -> bool {
        let mut inside = false;
        for (run, (lo, hi)) in self.runs() {
            if p.y >= lo.y && p.y <= hi.y && p.x <= hi.x {
                run.iter().for_each(|edge| inside ^= edge.passes_right_of(p));
            }
        }
        inside
    }

    pub(crate) fn signed_distance_mm(&self, p: DVec2) -> f64 {
        let distance = self.square_distance(p).sqrt();
        if self.contains(p) { -distance } else { distance }
    }

    /// Square of the distance to the nearest edge, mm².
    fn square_distance(&self, p: DVec2) -> f64 {
        // The nearest box first: it mostly holds the nearest edge, and then no other is opened.
        let to_box = |(_, (lo, hi)): &(&[Edge], (DVec2, DVec2))| p.distance_squared(p.clamp(*lo, *hi));
        let nearest = self.runs().min_by(|a, b| to_box(a).total_cmp(&to_box(b)));
        let mut least = nearest.map_or(f64::INFINITY, |(run, _)| least_square(run, p));
        for run in self.runs() {
            if to_box(&run) < least {
                least = least.min(least_square(run.0, p));
            }
        }
        least
    }

    /// Every run of edges with its box.
    fn runs(&self) -> impl Iterator<Item = (&[Edge], (DVec2, DVec2))> {
        self.edges.chunks(RUN).zip(self.boxes.iter().copied())
    }

    /// Tile by tile: an edge farther from the tile's centre than the nearest one by more than the tile's diameter cannot be
    /// nearest to any of its samples.
    pub(crate) fn distance_onto(&self, grid: &mut Grid) {
        let mut near: Vec<Edge> = Vec::new();
        for row in (0..grid.rows).step_by(TILE) {
            let last_row = (row + TILE).min(grid.rows) - 1;
            for column in (0..grid.columns).step_by(TILE) {
                let last_column = (column + TILE).min(grid.columns) - 1;
                let (lo, hi) = (grid.at(column, row), grid.at(last_column, last_row));
                let (centre, diameter) = ((lo + hi) / 2.0, lo.distance(hi));
                let least = self.square_distance(centre).sqrt();
                let reach = least + diameter + ROUNDING_MM;
                near.clear();
                for (run, (lo, hi)) in self.runs() {
                    if centre.distance_squared(centre.clamp(lo, hi)) <= reach * reach {
                        near.extend(run.iter().filter(|edge| edge.square_distance(centre) <= reach * reach));
                    }
                }
                // Where no edge comes near, one answer holds for the whole tile.
                let one_side = (least > diameter).then(|| self.contains(centre));
                for r in row..=last_row {
                    for c in column..=last_column {
                        let p = grid.at(c, r);
                        let distance = least_square(&near, p).sqrt() as f32;
                        let inside = one_side.unwrap_or_else(|| self.contains(p));
                        grid.values[r * grid.columns + c] = if inside { -distance } else { distance };
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

fn least_square(edges: &[Edge], p: DVec2) -> f64 {
    edges.iter().fold(f64::INFINITY, |least, edge| least.min(edge.square_distance(p)))
}

impl Edge {
    /// Square of the distance to `p`, mm².
    fn square_distance(&self, p: DVec2) -> f64 {
        let to = p - self.from;
        let share = (to.dot(self.along) * self.inverse_square).clamp(0.0, 1.0);
        (to - self.along * share).length_squared()
    }

    /// Whether the ray from `p` along +x passes through the edge, which owns its lower end but not its upper one.
    fn passes_right_of(&self, p: DVec2) -> bool {
        if (self.from.y <= p.y) == (self.to.y <= p.y) {
            return false;
        }
        let side = self.along.perp_dot(p - self.from);
        if self.along.y > 0.0 { side > 0.0 } else { side < 0.0 }
    }
}
