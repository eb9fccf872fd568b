use crate::worker::Mesh;
use glam::{DVec2, DVec3};
use std::rc::Rc;

/// Width of a cell, mm: a triangle on the screen is 2 to 4 mm wide, so a cell holds about as many as it has neighbours.
const CELL_MM: f64 = 4.0;
/// No more cells than this: a stray vertex a metre away must not cost a million.
const MOST_CELLS: f64 = 100_000.0;
/// A triangle counts as met this far outside its edges, as a share of its size: no ray slips through a seam.
const SEAM: f64 = 1e-9;

/// A mesh sorted into the cells of a plan grid, to be met by rays. Feet and insoles are wide and flat, so a plan grid
/// finds a hit in microseconds and is built in one pass: cheap enough to build anew whenever the mesh changes.
#[derive(Debug)]
pub(super) struct PickMesh {
    positions: Rc<Vec<f32>>,
    indices: Rc<Vec<u32>>,
    lo: DVec3,
    hi: DVec3,
    cell_mm: f64,
    columns: usize,
    rows: usize,
    /// Where each cell's triangles begin in `triangles`; one more than there are cells.
    starts: Vec<u32>,
    triangles: Vec<u32>,
}

impl PickMesh {
    /// Sorts a mesh; `None` if it has no triangles or a vertex that is no place.
    pub(super) fn new(mesh: &Mesh) -> Option<PickMesh> {
        let vertices = mesh.positions.as_chunks::<3>().0;
        let triangles = mesh.indices.as_chunks::<3>().0;
        let sound = triangles.iter().flatten().all(|&vertex| (vertex as usize) < vertices.len());
        if triangles.is_empty() || !sound {
            return None;
        }
        let none = (DVec3::INFINITY, DVec3::NEG_INFINITY);
        let (lo, hi) = vertices.iter().fold(none, |(lo, hi), v| (lo.min(point(v)), hi.max(point(v))));
        if !(lo.is_finite() && hi.is_finite()) {
            return None;
        }
        let size = hi - lo;
        let cell_mm = CELL_MM.max((size.x * size.y / MOST_CELLS).sqrt());
        let columns = (size.x / cell_mm) as usize + 1;
        let rows = (size.y / cell_mm) as usize + 1;
        let mut sorted = PickMesh {
            positions: Rc::clone(&mesh.positions),
            indices: Rc::clone(&mesh.indices),
            lo,
            hi,
            cell_mm,
            columns,
            rows,
            starts: vec![0; columns * rows + 1],
            triangles: Vec::new(),
        };
        sorted.sort();
        Some(sorted)
    }

    /// Counting sort of the triangles into all cells that their plan boxes touch.
    fn sort(&mut self) {
        let count = self.indices.len() / 3;
        let boxes: Vec<[usize; 4]> = (0..count as u32).map(|triangle| self.cells_of(triangle)).collect();
        for &[c0, r0, c1, r1] in &boxes {
            for row in r0..=r1 {
                self.starts[row * self.columns + c0 + 1..=row * self.columns + c1 + 1].iter_mut().for_each(|n| *n += 1);
            }
        }
        for cell in 1..self.starts.len() {
            self.starts[cell] += self.starts[cell - 1];
        }
        let mut next = self.starts.clone();
        self.triangles = vec![0; self.starts.last().copied().unwrap_or(0) as usize];
        for (triangle, &[c0, r0, c1, r1]) in boxes.iter().enumerate() {
            for row in r0..=r1 {
                for slot in &mut next[row * self.columns + c0..=row * self.columns + c1] {
                    self.triangles[*slot as usize] = triangle as u32;
                    *slot += 1;
                }
            }
        }
    }

    fn cells_of(&self, triangle: u32) -> [usize; 4] {
        let [a, b, c] = self.corners(triangle);
        let (lo, hi) = (a.min(b).min(c), a.max(b).max(c));
        let (c0, r0) = self.cell(lo.truncate());
        let (c1, r1) = self.cell(hi.truncate());
        [c0, r0, c1, r1]
    }

    /// Column and row of a place in plan; of the nearest cell for a place beside the grid.
    fn cell(&self, p: DVec2) -> (usize, usize) {
        let q = (p - self.lo.truncate()) / self.cell_mm;
        ((q.x.max(0.0) as usize).min(self.columns - 1), (q.y.max(0.0) as usize).min(self.rows - 1))
    }

    fn corners(&self, triangle: u32) -> [DVec3; 3] {
        let first = triangle as usize * 3;
        let vertices = self.positions.as_chunks::<3>().0;
        [0, 1, 2].map(|corner| point(&vertices[self.indices[first + corner] as usize]))
    }

    /// Distance along a ray (unit direction) to the first triangle met, mm. Both faces of a triangle are met.
    pub(super) fn first_hit(&self, origin: DVec3, direction: DVec3) -> Option<f64> {
        let (enter, leave) = self.crossing(origin, direction)?;
        let (start, end) = (origin + direction * enter, origin + direction * leave);
        let (mut column, mut row) = self.cell(start.truncate());
        let last = self.cell(end.truncate());
        // Distances along the ray to the next column and row border, and from one border to the next.
        let step = [direction.x, direction.y].map(|d| if d < 0.0 { -1_isize } else { 1 });
        let border = |axis: usize, cell: usize| {
            let edge = self.lo[axis] + (cell + usize::from(step[axis] > 0)) as f64 * self.cell_mm;
            if direction[axis] == 0.0 { f64::INFINITY } else { (edge - origin[axis]) / direction[axis] }
        };
        let mut best: Option<f64> = None;
        loop {
            let (to_column, to_row) = (border(0, column), border(1, row));
            let cell = row * self.columns + column;
            for &triangle in &self.triangles[self.starts[cell] as usize..self.starts[cell + 1] as usize] {
                if let Some(distance) = meet(self.corners(triangle), origin, direction)
                    && best.is_none_or(|best| distance < best)
                {
                    best = Some(distance);
                }
            }
            // A hit beyond this cell may have a nearer one in between: it counts when its cell is reached.
            let exit = to_column.min(to_row);
            if best.is_some_and(|best| best <= exit + self.cell_mm * SEAM) || (column, row) == last || exit > leave {
                return best;
            }
            let (axis, at, limit) = if to_column <= to_row { (0, column, self.columns) } else { (1, row, self.rows) };
            let Some(next) = at.checked_add_signed(step[axis]).filter(|&next| next < limit) else { return best };
            if axis == 0 { column = next } else { row = next }
        }
    }

    /// Greatest height of the mesh over a place in plan, mm.
    pub(super) fn top(&self, at: DVec2) -> Option<f64> {
        let above = at.extend(self.hi.z + 1.0);
        self.first_hit(above, -DVec3::Z).map(|distance| above.z - distance)
    }

    /// Where a ray enters and leaves the bounding box, a hair enlarged.
    fn crossing(&self, origin: DVec3, direction: DVec3) -> Option<(f64, f64)> {
        let hair = DVec3::splat(1e-6);
        let (mut enter, mut leave) = (0.0_f64, f64::INFINITY);
        for axis in 0..3 {
            let (lo, hi) = ((self.lo - hair)[axis] - origin[axis], (self.hi + hair)[axis] - origin[axis]);
            if direction[axis] == 0.0 {
                if lo > 0.0 || hi < 0.0 {
                    return None;
                }
            } else {
                let (a, b) = (lo / direction[axis], hi / direction[axis]);
                enter = enter.max(a.min(b));
                leave = leave.min(a.max(b));
            }
        }
        (enter <= leave).then_some((enter, leave))
    }
}

/// Distance along a ray to a triangle, by Möller and Trumbore (1997, Journal of Graphics Tools 2:21), both faces.
fn meet([a, b, c]: [DVec3; 3], origin: DVec3, direction: DVec3) -> Option<f64> {
    let (ab, ac) = (b - a, c - a);
    let p = direction.cross(ac);
    let determinant = ab.dot(p);
    if determinant == 0.0 {
        return None;
    }
    let from_a = origin - a;
    let u = from_a.dot(p) / determinant;
    let q = from_a.cross(ab);
    let v = direction.dot(q) / determinant;
    let distance = ac.dot(q) / determinant;
    (u >= -SEAM && v >= -SEAM && u + v <= 1.0 + SEAM && distance >= 0.0).then_some(distance)
}

fn point(vertex: &[f32; 3]) -> DVec3 {
    DVec3::new(f64::from(vertex[0]), f64::from(vertex[1]), f64::from(vertex[2]))
}

/// Point of the vertical line through `from` nearest to a ray; `None` for a ray that is vertical itself.
pub(super) fn nearest_on_vertical(from: DVec3, origin: DVec3, direction: DVec3) -> Option<DVec3> {
    // Nearest points of two lines: with w = from − origin, both directions of unit length.
    let w = from - origin;
    let cosine = direction.z;
    let level = 1.0 - cosine * cosine;
    if level < 1e-6 {
        return None;
    }
    let z = (cosine * direction.dot(w) - w.z) / level;
    Some(from + DVec3::Z * z)
}

/// Where a ray meets the level plane at a height; `None` if it runs level or away from it.
pub(super) fn meet_level(z: f64, origin: DVec3, direction: DVec3) -> Option<DVec3> {
    let distance = (z - origin.z) / direction.z;
    (distance.is_finite() && distance >= 0.0).then(|| origin + direction * distance)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// A lumpy closed shape as wide as a foot: a squashed sphere with waves.
    fn lump() -> Mesh {
        let (around, down) = (60_u32, 30_u32);
        let mut positions = Vec::new();
        for i in 0..=down {
            for j in 0..around {
                let (theta, phi) = (
                    std::f64::consts::PI * f64::from(i) / f64::from(down),
                    std::f64::consts::TAU * f64::from(j) / f64::from(around),
                );
                let r = 1.0 + 0.1 * libm::sin(5.0 * phi) * libm::sin(theta);
                let p =
                    DVec3::new(libm::sin(theta) * libm::cos(phi), libm::sin(theta) * libm::sin(phi), libm::cos(theta));
                let p = p * r * DVec3::new(130.0, 50.0, 30.0) + DVec3::new(120.0, 5.0, 20.0);
                positions.extend([p.x as f32, p.y as f32, p.z as f32]);
            }
        }
        let mut indices = Vec::new();
        for i in 0..down {
            for j in 0..around {
                let (a, b) = (i * around + j, i * around + (j + 1) % around);
                indices.extend([a, a + around, b, b, a + around, b + around]);
            }
        }
        Mesh { positions: Rc::new(positions), normals: Rc::default(), indices: Rc::new(indices) }
    }

    fn by_brute_force(mesh: &PickMesh, origin: DVec3, direction: DVec3) -> Option<f64> {
        (0..mesh.indices.len() as u32 / 3)
            .filter_map(|triangle| meet(mesh.corners(triangle), origin, direction))
            .min_by(f64::total_cmp)
    }

    fn coordinate() -> impl Strategy<Value = f64> {
        prop_oneof![-200.0..400.0, Just(0.0), Just(120.0)]
    }

    proptest! {
        #[test]
        fn the_grid_finds_what_a_search_of_all_triangles_finds(
            (x, y, z) in (coordinate(), coordinate(), coordinate()),
            (to_x, to_y, to_z) in (0.0..240.0, -50.0..60.0, -10.0..50.0),
            axis in 0..8,
        ) {
            let mesh = PickMesh::new(&lump()).unwrap();
            let origin = DVec3::new(x, y, z);
            let direction = match axis {
                0 => DVec3::Z, 1 => -DVec3::Z, 2 => DVec3::X, 3 => -DVec3::Y,
                _ => (DVec3::new(to_x, to_y, to_z) - origin).normalize_or(DVec3::X),
            };
            match (mesh.first_hit(origin, direction), by_brute_force(&mesh, origin, direction)) {
                (Some(found), Some(expected)) => prop_assert!((found - expected).abs() < 1e-9),
                (found, expected) => prop_assert_eq!(found, expected),
            }
        }

        #[test]
        fn the_vertical_drag_is_the_nearest_point(
            from in prop::array::uniform3(-100.0..100.0), at in prop::array::uniform3(-500.0..500.0), dz in -20.0..20.0,
        ) {
            let (from, at) = (DVec3::from_array(from), DVec3::from_array(at));
            let direction = (from + DVec3::new(3.0, 4.0, 5.0) - at).normalize_or(DVec3::X);
            let off_ray = |p: DVec3| (p - at).reject_from(direction).length();
            if let Some(nearest) = nearest_on_vertical(from, at, direction) {
                prop_assert_eq!(nearest.truncate(), from.truncate());
                prop_assert!(off_ray(nearest) <= off_ray(nearest + DVec3::Z * dz) + 1e-6);
            }
        }
    }

    #[test]
    fn the_top_is_the_height_over_a_place() {
        let mesh = PickMesh::new(&lump()).unwrap();
        let top = mesh.top(DVec2::new(120.0, 5.0)).unwrap();
        assert!((top - 50.0).abs() < 0.01, "{top}");
        assert_eq!(mesh.top(DVec2::new(120.0, 500.0)), None);
    }

    #[test]
    fn a_broken_mesh_is_met_by_nothing() {
        let mesh = |positions: Vec<f32>, indices: Vec<u32>| Mesh {
            positions: Rc::new(positions),
            normals: Rc::default(),
            indices: Rc::new(indices),
        };
        assert!(PickMesh::new(&mesh(vec![], vec![])).is_none());
        assert!(PickMesh::new(&mesh(vec![0.0; 9], vec![0, 1, 3])).is_none());
        assert!(PickMesh::new(&mesh(vec![f32::NAN; 9], vec![0, 1, 2])).is_none());
        let flat = PickMesh::new(&mesh(vec![0.0; 9], vec![0, 1, 2])).unwrap();
        assert_eq!(flat.first_hit(DVec3::Z, -DVec3::Z), None);
    }

    #[test]
    fn a_level_ray_meets_no_level_plane() {
        assert_eq!(meet_level(0.0, DVec3::Z, DVec3::X), None);
        assert_eq!(meet_level(0.0, DVec3::Z, DVec3::Z), None);
        assert_eq!(meet_level(0.0, DVec3::Z, -DVec3::Z), Some(DVec3::ZERO));
        assert_eq!(nearest_on_vertical(DVec3::X, DVec3::Z, -DVec3::Z), None);
    }
}
