use crate::SurfaceError;
use crate::rim::{Near, Rim};
use crate::spline_grid::SplineGrid;
use glam::DVec2;
use mesh::Grid;

/// The insole's edge as surface and elements need it: how far inside it a point lies, prepared once for an outline.
#[derive(Clone, Debug)]
pub struct Edge {
    pub(crate) rim: Rim,
    /// Where the bearing surface is sampled; holds no values.
    pub(crate) grid: Grid,
    /// Of each node of `grid` within [`Edge::REACH_MM`] of the edge, the nearest point of the edge.
    pub(crate) near: Vec<Option<Near>>,
    inside: SplineGrid,
}

/// Sample distance, mm. Half of it changes the surface by less than 0.02 mm.
const STEP_MM: f64 = 1.0;
/// How far beyond the outline everything is prepared, mm: the spline reaches two steps beyond a point, and a section
/// drawn across the edge shall not end in it.
const MARGIN_MM: f64 = 6.0;
/// Least outline, mm²; a child's smallest insole has ten times as much.
const LEAST_AREA_MM2: f64 = 500.0;

impl Edge {
    /// Distances from the edge are told up to this, mm; further inside they stay this.
    pub const REACH_MM: f64 = 16.0;

    /// Prepares the edge given as a closed counter-clockwise polygon without a repeated point, about 1 mm between points.
    ///
    /// # Errors
    /// If the outline encloses nothing or has a coordinate that is not finite.
    pub fn new(outline: &[DVec2]) -> Result<Edge, SurfaceError> {
        let refused = |area_mm2| SurfaceError::Outline { points: outline.len(), area_mm2 };
        let rim = Rim::new(outline).ok_or(refused(0.0))?;
        if rim.area_mm2() < LEAST_AREA_MM2 {
            return Err(refused(rim.area_mm2()));
        }
        let (lo, hi) = rim.bounds();
        let mut grid = Grid::over(lo - MARGIN_MM, hi + MARGIN_MM, STEP_MM);
        grid.values = Vec::new();
        let near = rim.near_nodes(&grid, Edge::REACH_MM, |_| true);
        let mut inside = Vec::with_capacity(near.len());
        for row in near.chunks(grid.columns) {
            // Along a row nobody crosses the edge unseen: far from it a point is where the last near one was.
            let mut far = -Edge::REACH_MM;
            for near in row {
                let mm = near.map_or(far, |near| near.inside_mm.clamp(-Edge::REACH_MM, Edge::REACH_MM));
                far = Edge::REACH_MM.copysign(mm);
                inside.push(mm);
            }
        }
        let inside = SplineGrid::new(&grid, &inside);
        Ok(Edge { rim, grid, near, inside })
    }

    /// How far inside the edge `p` lies, mm, at most [`Edge::REACH_MM`]; negative outside. Twice continuously
    /// differentiable; within 0.05 mm of the distance where the edge's radius is greater than that.
    #[must_use]
    pub fn inside_mm(&self, p: DVec2) -> f64 {
        self.inside.at(p)
    }

    /// How far each sample of a 1 mm grid over the insole, a little beyond its edge, lies outside, mm; negative inside. Distances
    /// are told up to [`Edge::REACH_MM`].
    #[must_use]
    pub fn samples(&self) -> Grid {
        // Two samples beyond the edge are enough to draw it.
        const SKIPPED: usize = MARGIN_MM as usize - 2;
        let (columns, rows) = (self.grid.columns - 2 * SKIPPED, self.grid.rows - 2 * SKIPPED);
        let mut values = Vec::with_capacity(columns * rows);
        for row in 0..rows {
            let mut far = -Edge::REACH_MM;
            let start = (row + SKIPPED) * self.grid.columns + SKIPPED;
            for near in &self.near[start..start + columns] {
                let inside = near.map_or(far, |near| near.inside_mm.clamp(-Edge::REACH_MM, Edge::REACH_MM));
                far = Edge::REACH_MM.copysign(inside);
                values.push(-inside as f32);
            }
        }
        Grid { origin_mm: self.grid.at(SKIPPED, SKIPPED), step_mm: self.grid.step_mm, columns, rows, values }
    }

    /// Whether `p` may lie within `reach_mm` (up to [`Edge::REACH_MM`]) of the edge; no answer is wrong by saying yes.
    pub(crate) fn may_be_within(&self, p: DVec2, reach_mm: f64) -> bool {
        let node = ((p - self.grid.origin_mm) / self.grid.step_mm).round();
        let (columns, rows) = (self.grid.columns as f64, self.grid.rows as f64);
        if !(node.x >= 0.0 && node.y >= 0.0 && node.x < columns && node.y < rows) {
            return true;
        }
        let near = self.near[node.y as usize * self.grid.columns + node.x as usize];
        // The node is no further from `p` than the diagonal of half a cell.
        near.is_some_and(|near| near.inside_mm < reach_mm + self.grid.step_mm)
    }

    /// The edge's y at `x`, lateral and medial; `None` where the insole is not.
    #[must_use]
    pub fn width_at(&self, x: f64) -> Option<(f64, f64)> {
        self.rim.width_at(x)
    }

    /// Least and greatest corner of the insole in plan.
    #[must_use]
    pub fn bounds(&self) -> (DVec2, DVec2) {
        self.rim.bounds()
    }

    /// Points along the edge, closed, counter-clockwise.
    #[must_use]
    pub fn points(&self) -> &[DVec2] {
        &self.rim.points
    }
}
