//! Height fields of a mesh: what a straight line along z meets first.
//!
//! Guaranteed: the value at a sample is the exact height of the surface there, up to rounding, not a mean over a cell;
//! a sample on the edge between two triangles is never missed; the order of triangles does not matter. Cost grows with
//! the number of triangles and of samples under them.
//!
//! Not guaranteed: what is narrower than a step can fall between samples. Walls that stand exactly upright have no
//! height of their own; the surfaces they join do.

use crate::{Grid, TriMesh};
use glam::{DAffine3, DVec2, DVec3};

/// The lowest z of the mesh at every sample of `grid`; `NaN` where there is no mesh. Earlier values are discarded.
#[must_use]
pub fn height_from_below(mesh: &TriMesh, grid: Grid) -> Grid {
    rasterised(mesh, grid, |new, old| new < old)
}

/// The highest z of the mesh at every sample of `grid`; `NaN` where there is no mesh. Earlier values are discarded.
#[must_use]
pub fn height_from_above(mesh: &TriMesh, grid: Grid) -> Grid {
    rasterised(mesh, grid, |new, old| new > old)
}

/// The highest z of the mesh moved by `map`, sampled every `step_mm` over all of it; `NaN` where there is no mesh.
#[must_use]
pub fn height_from_above_moved(mesh: &TriMesh, map: &DAffine3, step_mm: f64) -> Grid {
    let positions: Vec<DVec3> = mesh.positions().iter().map(|&p| map.transform_point3(p)).collect();
    let first = positions.first().copied().unwrap_or_default();
    let (lo, hi) = positions.iter().fold((first, first), |(lo, hi), &p| (lo.min(p), hi.max(p)));
    let grid = Grid::over(lo.truncate(), hi.truncate(), step_mm);
    of_triangles(&positions, mesh.triangles(), grid, |new, old| new > old)
}

fn rasterised(mesh: &TriMesh, grid: Grid, is_better: impl Fn(f32, f32) -> bool) -> Grid {
    of_triangles(mesh.positions(), mesh.triangles(), grid, is_better)
}

fn of_triangles(
    positions: &[DVec3],
    triangles: &[[u32; 3]],
    mut grid: Grid,
    is_better: impl Fn(f32, f32) -> bool,
) -> Grid {
    grid.values.fill(f32::NAN);
    if grid.step_mm.is_nan() || grid.step_mm <= 0.0 || grid.values.len() != grid.columns * grid.rows {
        return grid;
    }
    for &triangle in triangles {
        let [a, b, c] = triangle;
        let corners = [positions[a as usize], positions[b as usize], positions[c as usize]];
        let [a, b, c] = [corners[0].truncate(), corners[1].truncate(), corners[2].truncate()];
        let (lo, hi) = (a.min(b).min(c), a.max(b).max(c));
        let Some([columns, rows]) = samples_in(&grid, lo, hi) else { continue };
        let facet = Facet::new(triangle, corners);
        for row in rows {
            for column in columns.clone() {
                if let Some(z) = facet.height_at(grid.at(column, row)) {
                    let value = &mut grid.values[row * grid.columns + column];
                    if value.is_nan() || is_better(z as f32, *value) {
                        *value = z as f32;
                    }
                }
            }
        }
    }
    grid
}

/// The columns and rows whose samples can lie in the box; `None` if there is none, as for most triangles of a scan.
fn samples_in(grid: &Grid, lo: DVec2, hi: DVec2) -> Option<[std::ops::Range<usize>; 2]> {
    // The box grows by far less than a step, so that rounding here excludes no sample; the facet decides exactly.
    const MARGIN: f64 = 1e-6;
    let per_step = 1.0 / grid.step_mm;
    let range = |lo: f64, hi: f64, count: usize| {
        let (lo, hi) = (lo * per_step - MARGIN, hi * per_step + MARGIN);
        if hi < 0.0 {
            return None;
        }
        // Conversion cuts off towards zero and saturates.
        let cut = lo as usize;
        let first = cut + usize::from((cut as f64) < lo);
        let past = (hi as usize).saturating_add(1).min(count);
        (first < past).then_some(first..past)
    };
    let (lo, hi) = (lo - grid.origin_mm, hi - grid.origin_mm);
    Some([range(lo.x, hi.x, grid.columns)?, range(lo.y, hi.y, grid.rows)?])
}

/// A triangle over the plane.
struct Facet {
    triangle: [u32; 3],
    corners: [DVec3; 3],
}

impl Facet {
    fn new(triangle: [u32; 3], corners: [DVec3; 3]) -> Facet {
        Facet { triangle, corners }
    }

    /// Height over `p`; `None` beside the triangle or if it stands upright.
    fn height_at(&self, p: DVec2) -> Option<f64> {
        // Weight of a corner: twice the area between p and the side opposite.
        let weights = [self.side(1, 2, p), self.side(2, 0, p), self.side(0, 1, p)];
        let is_inside = weights.iter().all(|&w| w >= 0.0) || weights.iter().all(|&w| w <= 0.0);
        let sum: f64 = weights.iter().sum();
        if !is_inside || sum.abs() <= 0.0 {
            return None;
        }
        let [a, b, c] = self.corners.map(|corner| corner.z);
        let z = (weights[0] * a + weights[1] * b + weights[2] * c) / sum;
        // Of an almost upright triangle the weights are mostly rounding.
        Some(z.clamp(a.min(b).min(c), a.max(b).max(c)))
    }

    /// Twice the signed area between `p` and the side from one corner to another. Computed from the vertex with the
    /// lesser number, so that both triangles at a side get the same number with opposite signs: no sample falls between.
    fn side(&self, from: usize, to: usize, p: DVec2) -> f64 {
        let (a, b) = (self.corners[from].truncate(), self.corners[to].truncate());
        if self.triangle[from] < self.triangle[to] { (b - a).perp_dot(p - a) } else { -(a - b).perp_dot(p - b) }
    }
}
