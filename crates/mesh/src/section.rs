//! Sections: the curve in which a plane meets the surface.
//!
//! Guaranteed: the section of a closed mesh consists of closed curves only, wherever the plane lies; that of a
//! consistently wound one runs counter-clockwise round the material, seen from the normal's tip.
//!
//! Not guaranteed: a vertex exactly on the plane counts as above it, so a plane in which a face lies gives that face's
//! outline only if the body is below, and touching in a point gives nothing or a curve of no length.

use crate::chain::chains;
use crate::{Plane, TriMesh};
use glam::DVec3;

/// Points joined by straight lines.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Polyline {
    /// The points; of a closed line the first is not repeated at the end.
    pub points: Vec<DVec3>,
    /// Whether the last point is joined to the first.
    pub closed: bool,
}

impl Polyline {
    /// Length, of a closed line all round, mm.
    #[must_use]
    pub fn length_mm(&self) -> f64 {
        let open: f64 = self.points.windows(2).map(|pair| pair[0].distance(pair[1])).sum();
        match (self.closed, self.points.first(), self.points.last()) {
            (true, Some(first), Some(last)) => open + last.distance(*first),
            _ => open,
        }
    }
}

/// The curves in which `plane` meets `mesh`, the longest first.
#[must_use]
pub fn section(mesh: &TriMesh, plane: &Plane) -> Vec<Polyline> {
    let heights: Vec<f64> = mesh.positions().iter().map(|&p| plane.height_mm(p)).collect();
    let is_above = |vertex: u32| heights[vertex as usize] >= 0.0;
    let mut segments = Vec::new();
    for &[a, b, c] in mesh.triangles() {
        let [lone, next, last] = match [is_above(a), is_above(b), is_above(c)] {
            [x, y, z] if x == y && y == z => continue,
            [_, y, z] if y == z => [a, b, c],
            [x, _, z] if x == z => [b, c, a],
            _ => [c, a, b],
        };
        // Seen from outside with the normal upwards, the curve runs to the right.
        let (left, right) = if is_above(lone) { (next, last) } else { (last, next) };
        segments.push([edge_key(lone, left), edge_key(lone, right)]);
    }
    let point = |key: u64| {
        let [from, to] = [(key >> 32) as usize, key as u32 as usize];
        let share = heights[from] / (heights[from] - heights[to]);
        mesh.positions()[from].lerp(mesh.positions()[to], share)
    };
    let mut lines: Vec<Polyline> = chains(&segments)
        .into_iter()
        .map(|chain| {
            let mut points: Vec<DVec3> = chain.keys.into_iter().map(point).collect();
            points.dedup();
            if chain.is_closed && points.len() > 1 && points.first() == points.last() {
                points.pop();
            }
            Polyline { points, closed: chain.is_closed }
        })
        .collect();
    base::sort_by_key(&mut lines, |line| std::cmp::Reverse(line.length_mm().to_bits()));
    lines
}

/// An edge as one number, the same from both its triangles.
fn edge_key(a: u32, b: u32) -> u64 {
    u64::from(a.min(b)) << 32 | u64::from(a.max(b))
}
