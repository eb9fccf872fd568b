//! The skin as triangles, out of a function of space.

use super::skin::Skin;
use super::solid::Sloped;
use fast_surface_nets::ndshape::{RuntimeShape, Shape};
use fast_surface_nets::{SurfaceNetsBuffer, surface_nets};
use glam::{DVec3, dvec3};
use mesh::TriMesh;

/// Where a function of space is sampled: coordinates along each axis, rising.
pub(super) struct Lattice {
    pub(super) axes: [Vec<f64>; 3],
}

impl Lattice {
    /// Samples every `step_mm` over the box `lo`…`hi`.
    pub(super) fn even(lo: DVec3, hi: DVec3, step_mm: f64) -> Lattice {
        Lattice::stretched(lo, hi, step_mm, &|_| 1.0)
    }

    /// Samples about every `step_mm`, nearer or farther by `stretch` of the coordinate.
    pub(super) fn stretched(lo: DVec3, hi: DVec3, step_mm: f64, stretch: &dyn Fn(f64) -> f64) -> Lattice {
        let axes = std::array::from_fn(|axis| {
            let mut samples = vec![lo[axis]];
            let mut at = lo[axis];
            while at < hi[axis] {
                at += step_mm * stretch(at);
                samples.push(at);
            }
            samples
        });
        Lattice { axes }
    }

    fn size(&self) -> [u32; 3] {
        [0, 1, 2].map(|axis| self.axes[axis].len() as u32)
    }

    fn at(&self, [i, j, k]: [u32; 3]) -> DVec3 {
        dvec3(self.axes[0][i as usize], self.axes[1][j as usize], self.axes[2][k as usize])
    }

    /// The place at fractional indices.
    fn between(&self, index: [f32; 3]) -> DVec3 {
        let axis = |axis: usize| {
            let samples = &self.axes[axis];
            let low = (index[axis].max(0.0) as usize).min(samples.len().saturating_sub(2));
            let share = f64::from(index[axis]) - low as f64;
            samples[low] + share * (samples[low + 1] - samples[low])
        };
        dvec3(axis(0), axis(1), axis(2))
    }
}

/// The largest closed surface of `skin`: every edge in two triangles, every vertex in one fan,
/// outside facing out, vertices on the skin. Its distance must not be steeper than 1 mm per mm and be positive on the
/// rim of the lattice.
pub(super) fn skin_mesh(skin: &dyn Skin, lattice: &Lattice) -> TriMesh {
    let size = lattice.size();
    if size.iter().any(|&n| n < 4) {
        return TriMesh::default();
    }
    let shape = RuntimeShape::<u32, 3>::new(size);
    let mut values = vec![0.0_f32; shape.usize()];
    sample(skin, lattice, &shape, &mut values, [[0, 0, 0], size]);
    part_sheets(&mut values, size);
    let mut net = SurfaceNetsBuffer::default();
    surface_nets(&values, &shape, [0; 3], size.map(|n| n - 1), &mut net);
    let positions = net.positions.iter().map(|&index| settle(skin, lattice, index)).collect();
    let triangles = net.indices.chunks_exact(3).map(|t| [t[0], t[1], t[2]]).collect();
    let (positions, triangles) = largest_piece(positions, triangles);
    // Indices come from the net and positions from finite samples: nothing can be refused.
    TriMesh::new(positions, triangles).unwrap_or_default()
}

/// Fills a box of samples; boxes that the skin does not come near get one value of the right sign.
fn sample(skin: &dyn Skin, lattice: &Lattice, shape: &RuntimeShape<u32, 3>, values: &mut [f32], bounds: [[u32; 3]; 2]) {
    let [from, to] = bounds;
    let (lo, hi) = (lattice.at(from), lattice.at(to.map(|n| n - 1)));
    let extent = [0, 1, 2].map(|axis| to[axis] - from[axis]);
    let middle = skin.distance((lo + hi) / 2.0);
    // One sample further than the box, or a crossing between two boxes would be missed.
    let last = [0, 1, 2].map(|axis| {
        let samples = &lattice.axes[axis];
        let next = (to[axis] as usize).min(samples.len() - 1);
        (samples[next] - hi[axis]).max(lo[axis] - samples[(from[axis] as usize).saturating_sub(1)])
    });
    let reach = (hi - lo).length() / 2.0 + DVec3::from_array(last).max_element();
    if middle.abs() > reach {
        fill(shape, values, bounds, |_| middle as f32);
    } else if extent.iter().all(|&n| n <= 3) {
        fill(shape, values, bounds, |index| skin.distance(lattice.at(index)) as f32);
    } else {
        let axis =
            if extent[0] >= extent[1] && extent[0] >= extent[2] { 0 } else { 1 + usize::from(extent[2] > extent[1]) };
        let half = from[axis] + extent[axis] / 2;
        let (mut low_end, mut high_start) = (to, from);
        low_end[axis] = half;
        high_start[axis] = half;
        sample(skin, lattice, shape, values, [from, low_end]);
        sample(skin, lattice, shape, values, [high_start, to]);
    }
}

fn fill(shape: &RuntimeShape<u32, 3>, values: &mut [f32], [from, to]: [[u32; 3]; 2], value: impl Fn([u32; 3]) -> f32) {
    for k in from[2]..to[2] {
        for j in from[1]..to[1] {
            for i in from[0]..to[0] {
                values[shape.linearize([i, j, k]) as usize] = value([i, j, k]);
            }
        }
    }
}

/// A net puts one vertex into a cell, so a cell through which two sheets run would weld them there. Fills such cells,
/// least distance first, until one sheet at most runs through each: narrower clefts than a cell close up.
fn part_sheets(values: &mut [f32], size: [u32; 3]) {
    let [nx, ny, nz] = size.map(|n| n as usize);
    let strides = [1, nx, nx * ny];
    let corner = |c: usize| (c & 1) * strides[0] + (c >> 1 & 1) * strides[1] + (c >> 2 & 1) * strides[2];
    let one_sheet: Vec<bool> = (0..256_usize).map(|inside| connected(inside) && connected(!inside & 255)).collect();
    let mut cells: Vec<usize> = Vec::new();
    for k in 0..nz - 1 {
        for j in 0..ny - 1 {
            cells.extend((0..nx - 1).map(|i| i + nx * (j + ny * k)));
        }
    }
    // A cell may have to be looked at again after a neighbour was filled.
    while let Some(cell) = cells.pop() {
        let inside = (0..8).filter(|&c| values[cell + corner(c)] < 0.0).fold(0, |set, c| set | 1 << c);
        if one_sheet[inside] {
            continue;
        }
        let least = (0..8)
            .filter(|&c| inside >> c & 1 == 0)
            .map(|c| cell + corner(c))
            .min_by(|&a, &b| values[a].total_cmp(&values[b]));
        let Some(least) = least else { continue };
        // As deep inside as it was outside.
        values[least] = -values[least].max(f32::MIN_POSITIVE);
        cells.extend((0..8).filter_map(|c| least.checked_sub(corner(c))));
    }
}

/// Whether the corners of a cube in `set` (bit = corner, corner bits = x, y, z) hang together along its edges.
fn connected(set: usize) -> bool {
    let mut reached = set & set.wrapping_neg();
    for _ in 0..8 {
        for c in 0..8 {
            if reached >> c & 1 == 1 {
                reached |= set & (1 << (c ^ 1) | 1 << (c ^ 2) | 1 << (c ^ 4));
            }
        }
    }
    reached == set
}

/// A vertex of the net brought onto the skin, if the skin is within its cell.
fn settle(skin: &dyn Skin, lattice: &Lattice, index: [f32; 3]) -> DVec3 {
    let start = lattice.between(index);
    let low = index.map(|i| i as u32);
    let cell = (lattice.at([low[0] + 1, low[1] + 1, low[2] + 1]) - lattice.at(low)).min_element();
    let mut p = start;
    for _ in 0..3 {
        let Sloped(distance, slope) = skin.sloped(p);
        let steep = slope.length_squared();
        if steep < 0.01 {
            return start;
        }
        p -= slope * (distance / steep);
    }
    if p.is_finite() && p.distance(start) < 0.5 * cell { p } else { start }
}

/// The triangles hanging together with the most others, and the vertices they use.
pub(super) fn largest_piece(positions: Vec<DVec3>, triangles: Vec<[u32; 3]>) -> (Vec<DVec3>, Vec<[u32; 3]>) {
    let mut leader: Vec<u32> = (0..positions.len() as u32).collect();
    fn find(leader: &mut [u32], mut v: u32) -> u32 {
        while leader[v as usize] != v {
            leader[v as usize] = leader[leader[v as usize] as usize];
            v = leader[v as usize];
        }
        v
    }
    for &[a, b, c] in &triangles {
        for other in [b, c] {
            let (x, y) = (find(&mut leader, a), find(&mut leader, other));
            leader[x.max(y) as usize] = x.min(y);
        }
    }
    let mut counts = vec![0_u32; positions.len()];
    for &[a, ..] in &triangles {
        counts[find(&mut leader, a) as usize] += 1;
    }
    let largest = (0..counts.len()).rev().max_by_key(|&v| counts[v]).unwrap_or(0) as u32;
    let kept = triangles.into_iter().filter(|&[a, ..]| find(&mut leader, a) == largest).collect();
    used(&positions, kept)
}

/// The triangles over only the positions they use.
pub(super) fn used(positions: &[DVec3], mut triangles: Vec<[u32; 3]>) -> (Vec<DVec3>, Vec<[u32; 3]>) {
    const UNUSED: u32 = u32::MAX;
    let mut renamed = vec![UNUSED; positions.len()];
    let mut kept = Vec::new();
    for v in triangles.iter_mut().flatten() {
        let name = &mut renamed[*v as usize];
        if *name == UNUSED {
            *name = kept.len() as u32;
            kept.push(positions[*v as usize]);
        }
        *v = *name;
    }
    (kept, triangles)
}
