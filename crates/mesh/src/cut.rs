//! Cutting along a plane, and the open rims of a mesh.
//!
//! Guaranteed: triangles above the plane are kept as they are, crossing ones are cut so that neighbours still share
//! their vertices, and a closed mesh cut this way has no other rims than those returned. Rims are simple loops that
//! run as the triangles along them do (the hole is on the right, seen from outside).
//!
//! Not guaranteed: vertices closer than [`SNAP_MM`] to the plane are moved onto it. Where the surface already had an
//! open rim that the plane meets, the cut does not close there and is no rim of its own; [`boundary_loops`] has the
//! joint one. In a mesh that is not consistently wound, rims can come out in pieces or not at all.

use crate::chain::chains;
use crate::edges::Edges;
use crate::{Plane, TriMesh};
use glam::DVec3;
use std::collections::BTreeMap;

/// Vertices closer than this to the cutting plane are moved onto it, so that no slivers arise that vanish when the
/// mesh is written with 32-bit coordinates; far below what any scanner resolves.
pub const SNAP_MM: f64 = 1e-4;

/// Which side of the plane stays.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Keep {
    /// The side the normal points to.
    Above,
    /// The other side.
    Below,
}

/// What a cut leaves.
#[derive(Clone, Debug, PartialEq)]
pub struct Cut {
    /// The kept part; vertices are numbered anew in order of first use.
    pub mesh: TriMesh,
    /// The loops of vertices along the plane where the mesh is open now, the longest first.
    pub rims: Vec<Vec<u32>>,
}

/// The part of `mesh` on one side of `plane`, open along it.
#[must_use]
pub fn cut(mesh: &TriMesh, plane: &Plane, keep: Keep) -> Cut {
    let plane = if keep == Keep::Above { *plane } else { plane.flipped() };
    let mut cutter = Cutter::new(mesh, plane);
    for &triangle in mesh.triangles() {
        cutter.add(triangle);
    }
    let rims = cutter.rims();
    Cut { mesh: TriMesh::from_parts(cutter.positions, cutter.triangles), rims }
}

/// The sides of triangles that no other triangle shares, each as its triangle runs along it.
#[must_use]
pub fn open_sides(mesh: &TriMesh) -> Vec<[u32; 2]> {
    let mut open = Vec::new();
    Edges::of(mesh).for_each(|_, _, halves| {
        if let [only] = halves {
            let [from, to, _] = only.corners(mesh.triangles());
            open.push([from, to]);
        }
    });
    open
}

/// The loops of vertices round which `mesh` is open, the longest first.
#[must_use]
pub fn boundary_loops(mesh: &TriMesh) -> Vec<Vec<u32>> {
    loops(mesh.positions(), &open_sides(mesh))
}

/// Chains directed edges into simple loops, the longest first; what does not close is left out.
fn loops(positions: &[DVec3], edges: &[[u32; 2]]) -> Vec<Vec<u32>> {
    let segments: Vec<[u64; 2]> = edges.iter().map(|edge| edge.map(u64::from)).collect();
    let mut loops = Vec::new();
    for chain in chains(&segments).into_iter().filter(|chain| chain.is_closed) {
        split_at_repeats(chain.keys.into_iter().map(|key| key as u32), &mut loops);
    }
    let length = |rim: &[u32]| -> f64 {
        let at = |k: usize| positions[rim[k % rim.len()] as usize];
        (0..rim.len()).map(|k| at(k).distance(at(k + 1))).sum()
    };
    base::sort_by_key(&mut loops, |rim| std::cmp::Reverse(length(rim).to_bits()));
    loops
}

/// Takes a loop apart where it passes a vertex again.
fn split_at_repeats(rim: impl Iterator<Item = u32>, loops: &mut Vec<Vec<u32>>) {
    // Two vertices enclose nothing.
    let mut keep = |rim: Vec<u32>| {
        if rim.len() > 2 {
            loops.push(rim);
        }
    };
    let mut path = Vec::new();
    let mut place = BTreeMap::new();
    for vertex in rim {
        if let Some(&at) = place.get(&vertex) {
            let closed: Vec<u32> = path.drain(at..).collect();
            for vertex in &closed {
                place.remove(vertex);
            }
            keep(closed);
        }
        place.insert(vertex, path.len());
        path.push(vertex);
    }
    keep(path);
}

/// Where a vertex is: below the plane, on it or above.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Where {
    Below,
    On,
    Above,
}

struct Cutter<'a> {
    source: &'a TriMesh,
    plane: Plane,
    heights: Vec<f64>,
    renumbered: Vec<u32>,
    /// New vertices by the edge they cut, the lesser vertex first.
    cuts: BTreeMap<[u32; 2], u32>,
    positions: Vec<DVec3>,
    is_on_plane: Vec<bool>,
    triangles: Vec<[u32; 3]>,
}

impl<'a> Cutter<'a> {
    fn new(source: &'a TriMesh, plane: Plane) -> Self {
        Cutter {
            source,
            plane,
            heights: source.positions().iter().map(|&p| plane.height_mm(p)).collect(),
            renumbered: vec![u32::MAX; source.positions().len()],
            cuts: BTreeMap::new(),
            positions: Vec::new(),
            is_on_plane: Vec::new(),
            triangles: Vec::new(),
        }
    }

    fn place(&self, vertex: u32) -> Where {
        match self.heights[vertex as usize] {
            height if height > SNAP_MM => Where::Above,
            height if height < -SNAP_MM => Where::Below,
            _ => Where::On,
        }
    }

    /// Adds what of a triangle lies above the plane.
    fn add(&mut self, triangle: [u32; 3]) {
        let [a, b, c] = triangle.map(|vertex| self.place(vertex));
        let any = |place: Where| a == place || b == place || c == place;
        if !any(Where::Below) {
            // A triangle in the plane belongs to the body above if it faces down.
            if any(Where::Above) || self.source.area_vector(triangle).dot(self.plane.normal()) < 0.0 {
                let kept = triangle.map(|vertex| self.kept(vertex));
                self.triangles.push(kept);
            }
        } else if any(Where::Above) {
            let polygon = self.clipped(triangle);
            for pair in polygon[1..].windows(2) {
                self.triangles.push([polygon[0], pair[0], pair[1]]);
            }
        }
    }

    /// The corners of the part above of a triangle with corners on both sides.
    fn clipped(&mut self, triangle: [u32; 3]) -> Vec<u32> {
        let mut polygon = Vec::with_capacity(4);
        for k in 0..3 {
            let (here, next) = (triangle[k], triangle[(k + 1) % 3]);
            let (place, next_place) = (self.place(here), self.place(next));
            if place != Where::Below {
                polygon.push(self.kept(here));
            }
            if matches!((place, next_place), (Where::Above, Where::Below) | (Where::Below, Where::Above)) {
                polygon.push(self.cut_point(here.min(next), here.max(next)));
            }
        }
        polygon
    }

    fn kept(&mut self, vertex: u32) -> u32 {
        if self.renumbered[vertex as usize] == u32::MAX {
            let is_on_plane = self.place(vertex) == Where::On;
            let shift = if is_on_plane { self.heights[vertex as usize] } else { 0.0 };
            let position = self.source.positions()[vertex as usize] - self.plane.normal() * shift;
            self.renumbered[vertex as usize] = self.push(position, is_on_plane);
        }
        self.renumbered[vertex as usize]
    }

    /// The vertex where the edge from `lo` to `hi` meets the plane, the same for both its triangles.
    fn cut_point(&mut self, lo: u32, hi: u32) -> u32 {
        if let Some(&vertex) = self.cuts.get(&[lo, hi]) {
            return vertex;
        }
        let [from, to] = [lo, hi].map(|vertex| self.source.positions()[vertex as usize]);
        let [below, above] = [lo, hi].map(|vertex| self.heights[vertex as usize]);
        let vertex = self.push(from + (to - from) * (below / (below - above)), true);
        self.cuts.insert([lo, hi], vertex);
        vertex
    }

    fn push(&mut self, position: DVec3, is_on_plane: bool) -> u32 {
        self.positions.push(position);
        self.is_on_plane.push(is_on_plane);
        self.positions.len() as u32 - 1
    }

    /// Edges in the plane with a triangle on one side only, as loops.
    fn rims(&self) -> Vec<Vec<u32>> {
        let mut uses: BTreeMap<[u32; 2], i32> = BTreeMap::new();
        for &[a, b, c] in &self.triangles {
            for [from, to] in [[a, b], [b, c], [c, a]] {
                if self.is_on_plane[from as usize] && self.is_on_plane[to as usize] {
                    *uses.entry([from.min(to), from.max(to)]).or_default() += if from < to { 1 } else { -1 };
                }
            }
        }
        let open = uses.into_iter().filter(|(_, uses)| uses.abs() == 1);
        let directed: Vec<_> = open.map(|([lo, hi], uses)| if uses > 0 { [lo, hi] } else { [hi, lo] }).collect();
        loops(&self.positions, &directed)
    }
}
