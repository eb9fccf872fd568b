use base::Side;
use glam::{DAffine3, DVec2, DVec3};
use mesh::{ClosedMesh, MeshFault, TriMesh};
use spade::handles::FixedVertexHandle;
use spade::{ConstrainedDelaunayTriangulation, Point2, Triangulation};
use std::borrow::Cow;
use thiserror::Error;

/// The outline divided into triangles: the plan that top and bottom of a solid share.
///
/// Points lie on the outline at about the spacing asked for, and on a regular grid inside it, at whole multiples of the
/// spacing, so that the inner points stay where they are while the outline is dragged. Whole grid squares inside are
/// halved; only the band between them and the outline is triangulated (constrained Delaunay).
#[derive(Clone, Debug)]
pub struct SolidPlan {
    xy: Vec<DVec2>,
    triangles: Vec<[u32; 3]>,
    rim: usize,
    spacing_mm: f64,
}

/// Why no solid can be made.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum SolidError {
    /// The spacing is useless.
    #[error("a spacing of {0} mm cannot be used: choose between {LEAST_SPACING_MM} and {MOST_SPACING_MM} mm")]
    Spacing(f64),
    /// The outline encloses nothing, runs clockwise or has a coordinate that is not finite.
    #[error("the outline has {points} points and encloses {area_mm2:.1} mm² counter-clockwise: fit it anew")]
    Outline {
        /// How many points it has.
        points: usize,
        /// The area it encloses, counter-clockwise positive.
        area_mm2: f64,
    },
    /// The outline crosses or touches itself.
    #[error("the outline crosses itself near x {:.1}, y {:.1} mm: drag its points apart there", .at.x, .at.y)]
    Crossing {
        /// Where.
        at: DVec2,
    },
    /// Top and bottom meet or cross.
    #[error("the insole is {mm:.2} mm thick at x {:.1}, y {:.1} mm: make it thicker there", .at.x, .at.y)]
    NoThickness {
        /// Top minus bottom; `NaN` where one of them has no value.
        mm: f64,
        /// Where.
        at: DVec2,
    },
    /// The solid came out faulty all the same.
    #[error("the solid has {} faults, the first: {first}", .count)]
    Faulty {
        /// How many.
        count: usize,
        /// The first.
        first: MeshFault,
    },
}

/// Finer spacings make files that nothing can use.
const LEAST_SPACING_MM: f64 = 0.1;
/// Coarser spacings do not show an insole.
const MOST_SPACING_MM: f64 = 10.0;
/// Grid points nearer to the outline than this share of the spacing are left out: they would make slivers there. More
/// than a half, so that the outline never passes unseen between the four corners of a grid square.
const CLEARANCE: f64 = 0.55;
/// Points of the outline nearer together than this share of the spacing are merged, for the same reason.
const LEAST_EDGE: f64 = 0.2;

impl SolidPlan {
    /// Divides `outline`, a closed counter-clockwise polygon without a repeated point. Its edges are divided where they
    /// are longer than `spacing_mm`; a smooth outline is best given at that spacing already.
    ///
    /// # Errors
    /// If the spacing is out of range, or the outline encloses nothing, runs clockwise or crosses itself.
    pub fn new(outline: &[DVec2], spacing_mm: f64) -> Result<SolidPlan, SolidError> {
        if !(LEAST_SPACING_MM..=MOST_SPACING_MM).contains(&spacing_mm) {
            return Err(SolidError::Spacing(spacing_mm));
        }
        let area_mm2 = area(outline);
        if !area_mm2.is_finite() || area_mm2 <= spacing_mm * spacing_mm {
            return Err(SolidError::Outline { points: outline.len(), area_mm2 });
        }
        let rim = spaced(outline, spacing_mm);
        if rim.len() < 3 {
            return Err(SolidError::Outline { points: outline.len(), area_mm2 });
        }
        let lattice = Lattice::within(&rim, spacing_mm);
        let mut xy = rim.clone();
        let numbers = lattice.number(&mut xy);
        let mut triangles = lattice.halved_squares(&numbers);
        band(&rim, &lattice, &numbers, &xy, &mut triangles)?;
        Ok(SolidPlan { xy, triangles, rim: rim.len(), spacing_mm })
    }

    /// Plan positions, foot frame, mm: those of the rim first.
    #[must_use]
    pub fn xy(&self) -> &[DVec2] {
        &self.xy
    }

    /// Triangles over [`SolidPlan::xy`], counter-clockwise.
    #[must_use]
    pub fn triangles(&self) -> &[[u32; 3]] {
        &self.triangles
    }

    /// The points on the outline, counter-clockwise.
    #[must_use]
    pub fn rim(&self) -> &[DVec2] {
        &self.xy[..self.rim]
    }

    /// The spacing it was made with, mm.
    #[must_use]
    pub fn spacing_mm(&self) -> f64 {
        self.spacing_mm
    }

    /// The solid between two surfaces, foot frame: `faces` gives the heights of top and bottom. Vertices of the top in the
    /// order of [`SolidPlan::xy`], then those of the bottom.
    ///
    /// # Errors
    /// If the top does not lie above the bottom at some point.
    pub fn solid(&self, faces: impl Fn(DVec2) -> (f64, f64)) -> Result<ClosedMesh, SolidError> {
        let count = self.xy.len();
        let mut positions = vec![DVec3::ZERO; 2 * count];
        for (index, &at) in self.xy.iter().enumerate() {
            let (top, bottom) = faces(at);
            let mm = top - bottom;
            if mm.is_nan() || mm <= 0.0 {
                return Err(SolidError::NoThickness { mm, at });
            }
            positions[index] = at.extend(top);
            positions[count + index] = at.extend(bottom);
        }
        let below = count as u32;
        let rim = self.rim as u32;
        let mut triangles = Vec::with_capacity(2 * self.triangles.len() + 2 * self.rim);
        triangles.extend_from_slice(&self.triangles);
        triangles.extend(self.triangles.iter().map(|&[a, b, c]| [a + below, c + below, b + below]));
        for a in 0..rim {
            let b = (a + 1) % rim;
            triangles.push([a + below, b + below, b]);
            triangles.push([a + below, b, a]);
        }
        TriMesh::new(positions, triangles)
            .map_err(|_| SolidError::NoThickness { mm: f64::NAN, at: self.xy[0] })
            .and_then(|mesh| {
                ClosedMesh::new(mesh).map_err(|faults| SolidError::Faulty { count: faults.len(), first: faults[0] })
            })
    }
}

/// A mesh of the foot frame in shoe coordinates: x to the toes, y to the wearer's left, z up. A right foot's frame is
/// that already; a left one is mirrored back (y → −y, windings turned, so that outside stays outside).
#[must_use]
pub fn in_shoe_frame(mesh: &TriMesh, side: Side) -> Cow<'_, TriMesh> {
    match side {
        Side::Right => Cow::Borrowed(mesh),
        Side::Left => Cow::Owned(mesh.transformed(&DAffine3::from_scale(DVec3::new(1.0, -1.0, 1.0)))),
    }
}

/// Area of a polygon, counter-clockwise positive.
fn area(polygon: &[DVec2]) -> f64 {
    let Some(&last) = polygon.last() else { return 0.0 };
    let mut previous = last;
    let mut doubled = 0.0;
    for &p in polygon {
        doubled += previous.perp_dot(p);
        previous = p;
    }
    doubled / 2.0
}

/// The polygon with long edges divided and points that nearly coincide merged.
fn spaced(outline: &[DVec2], spacing: f64) -> Vec<DVec2> {
    let mut out: Vec<DVec2> = Vec::with_capacity(outline.len());
    for (index, &from) in outline.iter().enumerate() {
        let to = outline[(index + 1) % outline.len()];
        // A hundredth of slack, so that edges of just the spacing stay whole.
        let pieces = ((from.distance(to) / spacing - 0.01).ceil() as usize).max(1);
        for piece in 0..pieces {
            let p = from.lerp(to, piece as f64 / pieces as f64);
            if out.last().is_none_or(|&before| before.distance(p) >= LEAST_EDGE * spacing) {
                out.push(p);
            }
        }
    }
    while out.len() > 3 && out[0].distance(out[out.len() - 1]) < LEAST_EDGE * spacing {
        out.pop();
    }
    out
}

/// Which points of the regular grid lie inside the rim with some clearance.
struct Lattice {
    /// Grid coordinates of `used[0]`.
    first: [i64; 2],
    spacing: f64,
    columns: usize,
    rows: usize,
    used: Vec<bool>,
}

/// Number of a lattice point that has none.
const NONE: u32 = u32::MAX;

impl Lattice {
    fn within(rim: &[DVec2], spacing: f64) -> Lattice {
        let (lo, hi) = rim.iter().fold((rim[0], rim[0]), |(lo, hi), &p| (lo.min(p), hi.max(p)));
        let (first, last) = ((lo / spacing).floor(), (hi / spacing).ceil());
        let (columns, rows) = ((last.x - first.x) as usize + 1, (last.y - first.y) as usize + 1);
        let mut lattice = Lattice {
            first: [first.x as i64, first.y as i64],
            spacing,
            columns,
            rows,
            used: vec![false; columns * rows],
        };
        lattice.mark_inside(rim);
        lattice.clear_near(rim);
        lattice
    }

    fn at(&self, column: usize, row: usize) -> DVec2 {
        DVec2::new((self.first[0] + column as i64) as f64, (self.first[1] + row as i64) as f64) * self.spacing
    }

    /// Even-odd rule along each row. Points on the rim may fall either way: they are cleared anyway.
    fn mark_inside(&mut self, rim: &[DVec2]) {
        let mut crossings: Vec<Vec<f64>> = vec![Vec::new(); self.rows];
        for (index, &a) in rim.iter().enumerate() {
            let b = rim[(index + 1) % rim.len()];
            let (low, high) = if a.y < b.y { (a, b) } else { (b, a) };
            let start = (low.y / self.spacing).ceil() as i64 - self.first[1];
            for row in start.max(0)..self.rows as i64 {
                let y = self.at(0, row as usize).y;
                if y >= high.y {
                    break;
                }
                if y >= low.y {
                    crossings[row as usize].push(low.x + (high.x - low.x) * (y - low.y) / (high.y - low.y));
                }
            }
        }
        for (row, crossings) in crossings.iter_mut().enumerate() {
            base::sort_numbers(crossings);
            for pair in crossings.chunks_exact(2) {
                let column_of =
                    |x: f64| ((x / self.spacing).ceil() as i64 - self.first[0]).clamp(0, self.columns as i64);
                for column in column_of(pair[0])..column_of(pair[1]) {
                    self.used[row * self.columns + column as usize] = true;
                }
            }
        }
    }

    /// Leaves out points too near to the rim.
    fn clear_near(&mut self, rim: &[DVec2]) {
        let clearance = CLEARANCE * self.spacing;
        for (index, &a) in rim.iter().enumerate() {
            let b = rim[(index + 1) % rim.len()];
            let lo = ((a.min(b) - clearance) / self.spacing).ceil();
            let hi = ((a.max(b) + clearance) / self.spacing).floor();
            let clamp =
                |value: f64, first: i64, count: usize| (value as i64 - first).clamp(0, count as i64 - 1) as usize;
            for row in clamp(lo.y, self.first[1], self.rows)..=clamp(hi.y, self.first[1], self.rows) {
                for column in clamp(lo.x, self.first[0], self.columns)..=clamp(hi.x, self.first[0], self.columns) {
                    if distance_squared(self.at(column, row), a, b) < clearance * clearance {
                        self.used[row * self.columns + column] = false;
                    }
                }
            }
        }
    }

    /// Appends the used points to `xy`, row by row; their numbers, [`NONE`] for the others.
    fn number(&self, xy: &mut Vec<DVec2>) -> Vec<u32> {
        let mut numbers = vec![NONE; self.used.len()];
        for row in 0..self.rows {
            for column in 0..self.columns {
                let index = row * self.columns + column;
                if self.used[index] {
                    numbers[index] = xy.len() as u32;
                    xy.push(self.at(column, row));
                }
            }
        }
        numbers
    }

    /// Whether the square with this lower left corner has all four corners.
    fn is_whole(&self, column: i64, row: i64) -> bool {
        if column < 0 || row < 0 || column + 1 >= self.columns as i64 || row + 1 >= self.rows as i64 {
            return false;
        }
        let corner = row as usize * self.columns + column as usize;
        self.used[corner]
            && self.used[corner + 1]
            && self.used[corner + self.columns]
            && self.used[corner + self.columns + 1]
    }

    /// Two triangles for each whole square, the diagonals alternating so that none of the two directions is favoured.
    fn halved_squares(&self, numbers: &[u32]) -> Vec<[u32; 3]> {
        let mut triangles = Vec::with_capacity(2 * self.used.len());
        for row in 0..self.rows.saturating_sub(1) {
            for column in 0..self.columns.saturating_sub(1) {
                if !self.is_whole(column as i64, row as i64) {
                    continue;
                }
                let corner = row * self.columns + column;
                let (a, b) = (numbers[corner], numbers[corner + 1]);
                let (d, c) = (numbers[corner + self.columns], numbers[corner + self.columns + 1]);
                // Parity in absolute grid coordinates: the pattern stays while the outline is dragged.
                if (self.first[0] + self.first[1] + (row + column) as i64) % 2 == 0 {
                    triangles.extend([[a, b, c], [a, c, d]]);
                } else {
                    triangles.extend([[a, b, d], [b, c, d]]);
                }
            }
        }
        triangles
    }
}

/// Triangulates what lies between the whole squares and the rim.
fn band(
    rim: &[DVec2],
    lattice: &Lattice,
    numbers: &[u32],
    xy: &[DVec2],
    triangles: &mut Vec<[u32; 3]>,
) -> Result<(), SolidError> {
    let mut in_plan: Vec<u32> = (0..rim.len() as u32).collect();
    let mut points: Vec<Point2<f64>> = rim.iter().map(|p| Point2::new(p.x, p.y)).collect();
    let mut edges: Vec<[usize; 2]> = (0..rim.len()).map(|a| [a, (a + 1) % rim.len()]).collect();
    // Numbers within the band of the lattice points that belong to it.
    let mut in_band = vec![NONE; numbers.len()];
    for row in 0..lattice.rows {
        for column in 0..lattice.columns {
            let index = row * lattice.columns + column;
            let (c, r) = (column as i64, row as i64);
            let around = [(c - 1, r - 1), (c, r - 1), (c - 1, r), (c, r)];
            if lattice.used[index] && !around.iter().all(|&(c, r)| lattice.is_whole(c, r)) {
                in_band[index] = points.len() as u32;
                in_plan.push(numbers[index]);
                let p = lattice.at(column, row);
                points.push(Point2::new(p.x, p.y));
            }
        }
    }
    for row in 0..lattice.rows {
        for column in 0..lattice.columns {
            let index = row * lattice.columns + column;
            let (c, r) = (column as i64, row as i64);
            let here = lattice.is_whole(c, r);
            if here != lattice.is_whole(c, r - 1) {
                edges.push([in_band[index] as usize, in_band[index + 1] as usize]);
            }
            if here != lattice.is_whole(c - 1, r) {
                edges.push([in_band[index] as usize, in_band[index + lattice.columns] as usize]);
            }
        }
    }
    let given = points.len();
    let mut crossing = None;
    let ends: Vec<[usize; 2]> = edges.clone();
    let cdt = ConstrainedDelaunayTriangulation::<Point2<f64>>::try_bulk_load_cdt(points, edges, |edge| {
        crossing.get_or_insert(edge);
    })
    .map_err(|_| SolidError::Outline { points: rim.len(), area_mm2: area(rim) })?;
    let place = |number: usize| xy[in_plan.get(number).map_or(0, |&n| n as usize)];
    if let Some([a, _]) = crossing {
        return Err(SolidError::Crossing { at: place(a) });
    }
    if cdt.num_vertices() != given || cdt.num_constraints() != ends.len() {
        // A point of the outline lies on another one or on another edge.
        let split = ends.iter().find(|[a, b]| {
            let handle = |n: &usize| FixedVertexHandle::from_index(*n);
            *a.max(b) >= cdt.num_vertices() || !cdt.exists_constraint(handle(a), handle(b))
        });
        return Err(SolidError::Crossing { at: place(split.map_or(0, |edge| edge[0])) });
    }
    // What can be reached from the inner side of the rim without crossing the rim or a whole square. By neighbourhood,
    // not by position: along a straight rim positions cannot tell inside from outside.
    let mut seen = vec![false; cdt.num_all_faces()];
    let mut open: Vec<_> = (0..rim.len())
        .filter_map(|a| {
            let [from, to] = [a, (a + 1) % rim.len()].map(FixedVertexHandle::from_index);
            cdt.get_edge_from_neighbors(from, to)?.face().as_inner()
        })
        .collect();
    while let Some(face) = open.pop() {
        if std::mem::replace(&mut seen[face.index()], true) {
            continue;
        }
        triangles.push(face.vertices().map(|vertex| in_plan[vertex.fix().index()]));
        for edge in face.adjacent_edges() {
            if !edge.is_constraint_edge() {
                open.extend(edge.rev().face().as_inner());
            }
        }
    }
    Ok(())
}

fn distance_squared(p: DVec2, a: DVec2, b: DVec2) -> f64 {
    let along = b - a;
    let t = ((p - a).dot(along) / along.length_squared()).clamp(0.0, 1.0);
    p.distance_squared(a + along * t)
}

#[cfg(test)]
mod tests;
