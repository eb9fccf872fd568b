//! Where a ray meets a mesh, and which point of a mesh is nearest.
//!
//! Guaranteed: answers are those of going through all triangles, found through a tree of boxes; the same mesh gives the
//! same tree. Both sides of a triangle count. Not guaranteed: which of two triangles is named at a shared edge.

use crate::TriMesh;
use glam::DVec3;
use std::sync::Arc;

/// Most triangles in a leaf: fewer cost more boxes, more cost more triangle tests.
const LEAF: usize = 4;

/// A mesh prepared for rays and nearest points.
#[derive(Clone, Debug)]
pub struct RayCaster {
    mesh: Arc<TriMesh>,
    /// Triangles in the order of the leaves.
    order: Vec<u32>,
    /// The tree: the first child of a branch follows it at once.
    nodes: Vec<Node>,
}

/// A box with the triangles `order[first..first + count]`, or a branch (`count` 0) whose second child is `first`.
#[derive(Clone, Copy, Debug)]
struct Node {
    lo: DVec3,
    hi: DVec3,
    first: u32,
    count: u32,
}

/// Where a ray meets a mesh.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hit {
    /// From the ray's origin, mm.
    pub distance_mm: f64,
    /// Index of the triangle.
    pub triangle: u32,
    /// The point.
    pub point: DVec3,
}

impl RayCaster {
    /// Prepares `mesh`. Takes time in proportion to n log n for n triangles.
    #[must_use]
    pub fn new(mesh: impl Into<Arc<TriMesh>>) -> RayCaster {
        let mesh = mesh.into();
        let mut items: Vec<Item> = mesh.triangles().iter().enumerate().map(|(k, &t)| Item::of(&mesh, k, t)).collect();
        let mut nodes = Vec::with_capacity(2 * items.len() / LEAF + 2);
        if !items.is_empty() {
            build(&mut nodes, &mut items, 0);
        }
        RayCaster { order: items.iter().map(|item| item.triangle).collect(), nodes, mesh }
    }

    /// The mesh.
    #[must_use]
    pub fn mesh(&self) -> &TriMesh {
        &self.mesh
    }

    /// The nearest point where the ray from `origin` along `direction` (any length) meets the mesh.
    #[must_use]
    pub fn cast(&self, origin: DVec3, direction: DVec3) -> Option<Hit> {
        let direction = direction.try_normalize()?;
        let inverse = DVec3::ONE / direction;
        let mut best: Option<(f64, u32)> = None;
        let entry = |node: &Node| entry_distance(node, origin, inverse);
        let mut stack = vec![(0, entry(self.nodes.first()?)?)];
        while let Some((index, distance)) = stack.pop() {
            if best.is_some_and(|(nearest, _)| distance > nearest) {
                continue;
            }
            let node = &self.nodes[index];
            if node.count == 0 {
                let mut children = [index + 1, node.first as usize].map(|child| (child, entry(&self.nodes[child])));
                // The nearer child goes on top.
                if children[0].1 < children[1].1 {
                    children.swap(0, 1);
                }
                stack.extend(children.into_iter().filter_map(|(child, entry)| Some((child, entry?))));
                continue;
            }
            for &triangle in &self.order[node.first as usize..(node.first + node.count) as usize] {
                let corners = self.mesh.corners(self.mesh.triangles()[triangle as usize]);
                if let Some(distance) = ray_triangle(corners, origin, direction)
                    && best.is_none_or(|best| (distance, triangle) < best)
                {
                    best = Some((distance, triangle));
                }
            }
        }
        let (distance_mm, triangle) = best?;
        Some(Hit { distance_mm, triangle, point: origin + direction * distance_mm })
    }

    /// The point of the mesh nearest to `p` and its triangle; `None` for an empty mesh or a `p` that is not finite.
    #[must_use]
    pub fn nearest_point(&self, p: DVec3) -> Option<(DVec3, u32)> {
        if !p.is_finite() {
            return None;
        }
        let mut best: Option<(f64, u32, DVec3)> = None;
        let gap = |node: &Node| p.distance_squared(p.clamp(node.lo, node.hi));
        let mut stack = vec![(0, gap(self.nodes.first()?))];
        while let Some((index, distance)) = stack.pop() {
            if best.is_some_and(|(nearest, ..)| distance > nearest) {
                continue;
            }
            let node = &self.nodes[index];
            if node.count == 0 {
                let mut children = [index + 1, node.first as usize].map(|child| (child, gap(&self.nodes[child])));
                if children[0].1 < children[1].1 {
                    children.swap(0, 1);
                }
                stack.extend(children);
                continue;
            }
            for &triangle in &self.order[node.first as usize..(node.first + node.count) as usize] {
                let point = nearest_on_triangle(self.mesh.corners(self.mesh.triangles()[triangle as usize]), p);
                let distance = p.distance_squared(point);
                if best.is_none_or(|(nearest, other, _)| (distance, triangle) < (nearest, other)) {
                    best = Some((distance, triangle, point));
                }
            }
        }
        best.map(|(_, triangle, point)| (point, triangle))
    }
}

/// A triangle while the tree is built.
#[derive(Clone, Copy)]
struct Item {
    lo: DVec3,
    hi: DVec3,
    triangle: u32,
}

impl Item {
    fn of(mesh: &TriMesh, index: usize, triangle: [u32; 3]) -> Item {
        let [a, b, c] = mesh.corners(triangle);
        Item { lo: a.min(b).min(c), hi: a.max(b).max(c), triangle: index as u32 }
    }
}

/// Adds the node of `items` and all below it; `offset` is where they lie in the order.
fn build(nodes: &mut Vec<Node>, items: &mut [Item], offset: usize) {
    let grow = |(lo, hi): (DVec3, DVec3), item: &Item| (lo.min(item.lo), hi.max(item.hi));
    let (lo, hi) = items.iter().fold((DVec3::INFINITY, DVec3::NEG_INFINITY), grow);
    let here = nodes.len();
    nodes.push(Node { lo, hi, first: offset as u32, count: items.len() as u32 });
    if items.len() <= LEAF {
        return;
    }
    let size = hi - lo;
    let axis = match () {
        () if size.x >= size.y && size.x >= size.z => 0,
        () if size.y >= size.z => 1,
        () => 2,
    };
    // Half of the triangles on each side of the median along the longest axis; the index decides between equals.
    let half = items.len() / 2;
    let centre = |item: &Item| item.lo[axis] + item.hi[axis];
    items.select_nth_unstable_by(half, |a, b| centre(a).total_cmp(&centre(b)).then(a.triangle.cmp(&b.triangle)));
    let (low, high) = items.split_at_mut(half);
    build(nodes, low, offset);
    let second = nodes.len() as u32;
    build(nodes, high, offset + half);
    (nodes[here].first, nodes[here].count) = (second, 0);
}

/// Distance at which a ray enters the box, 0 inside; `None` if it misses. `inverse` is 1 / direction by component.
fn entry_distance(node: &Node, origin: DVec3, inverse: DVec3) -> Option<f64> {
    let (mut enter, mut leave) = (0.0f64, f64::INFINITY);
    for axis in 0..3 {
        let near = (node.lo[axis] - origin[axis]) * inverse[axis];
        let far = (node.hi[axis] - origin[axis]) * inverse[axis];
        if near.is_nan() || far.is_nan() {
            // 0 · ∞: the ray runs in a side of the box, which counts as inside.
            continue;
        }
        enter = enter.max(near.min(far));
        leave = leave.min(near.max(far));
    }
    // Rounding must not lose a triangle on the side of its box.
    (enter <= leave * (1.0 + 1e-12) + 1e-12).then_some(enter)
}

/// Distance along the ray of unit `direction` to the triangle, by Möller and Trumbore (1997).
fn ray_triangle([a, b, c]: [DVec3; 3], origin: DVec3, direction: DVec3) -> Option<f64> {
    // A hair outside still counts, so that no ray slips through between two triangles.
    const SLACK: f64 = 1e-12;
    let (u_edge, v_edge) = (b - a, c - a);
    let across = direction.cross(v_edge);
    let volume = u_edge.dot(across);
    let from_a = origin - a;
    let u = from_a.dot(across) / volume;
    let turned = from_a.cross(u_edge);
    let v = direction.dot(turned) / volume;
    let distance = v_edge.dot(turned) / volume;
    // Parallel to the triangle the quotients are infinite or not numbers, and fail here.
    (u >= -SLACK && v >= -SLACK && u + v <= 1.0 + SLACK && distance >= 0.0 && distance.is_finite()).then_some(distance)
}

/// The nearest point of a triangle: the corner, side or inside whose region `p` is in (after Ericson, Real-Time
/// Collision Detection, 2005, 5.1.5).
fn nearest_on_triangle([a, b, c]: [DVec3; 3], p: DVec3) -> DVec3 {
    let normal = (b - a).cross(c - a);
    let is_beside = |from: DVec3, to: DVec3| normal.cross(to - from).dot(p - from) < 0.0;
    let sides = [(a, b), (b, c), (c, a)];
    let square = normal.length_squared();
    if square > 0.0 && sides.iter().all(|&(from, to)| !is_beside(from, to)) {
        return p - normal * (normal.dot(p - a) / square);
    }
    let mut best = a;
    for (from, to) in sides {
        let along = to - from;
        let share = (along.dot(p - from) / along.length_squared()).clamp(0.0, 1.0);
        let point = if share.is_nan() { from } else { from + along * share };
        if p.distance_squared(point) < p.distance_squared(best) {
            best = point;
        }
    }
    best
}
