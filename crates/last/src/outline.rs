use crate::polygon::{Polygon, crossing, edges, evenly};
use crate::spline::{ClosedSpline, SplineError};
use glam::DVec2;
use mesh::Grid;
use mesh::outline::signed_area_mm2;

/// The edge of an insole in plan: a closed curve with continuous curvature that does not cross itself, counter-clockwise
/// in the foot frame (x to the toes, y to the medial side, mm).
///
/// Lengths, areas and distances are taken on a polygon with its corners on the curve that stays within
/// [`SAG_MM`] of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    spline: ClosedSpline,
    polygon: Polygon,
    parameters: Vec<f64>,
    /// Length of the polygon up to every corner, and the whole length at the end, mm.
    lengths_mm: Vec<f64>,
}

/// How far the polygon that stands for the curve may lie off it, mm: a tenth of what the finest insole process holds.
pub const SAG_MM: f64 = 0.005;

/// Why points do not make an outline.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum OutlineError {
    /// The points do not make a closed curve.
    #[error("the outline's points do not make a curve: {0}")]
    Curve(#[from] SplineError),
    /// The curve crosses or touches itself.
    #[error("the outline crosses itself at ({x_mm:.1}, {y_mm:.1}) mm: move or remove a point near there")]
    CrossesItself {
        /// Where, mm.
        x_mm: f64,
        /// Where, mm.
        y_mm: f64,
    },
}

/// The point of an outline nearest to some place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nearest {
    /// Parameter on the curve, mm.
    pub parameter_mm: f64,
    /// The point, mm.
    pub at: DVec2,
    /// How far the place is from it, mm.
    pub distance_mm: f64,
}

impl Outline {
    /// The outline through `points`, which become its knots. Clockwise points are taken in the opposite order, the first
    /// staying first.
    ///
    /// # Errors
    /// Too few points, one that is not finite, doubled points, or a curve that crosses itself.
    pub fn through(points: &[DVec2]) -> Result<Outline, OutlineError> {
        let mut spline = ClosedSpline::through(points)?;
        let (mut corners, mut parameters) = spline.flatten(SAG_MM);
        if signed_area_mm2(&corners) < 0.0 {
            let mut turned = points.to_vec();
            turned[1..].reverse();
            spline = ClosedSpline::through(&turned)?;
            (corners, parameters) = spline.flatten(SAG_MM);
        }
        if let Some(at) = crossing(&corners) {
            return Err(OutlineError::CrossesItself { x_mm: at.x, y_mm: at.y });
        }
        let mut lengths_mm = Vec::with_capacity(corners.len() + 1);
        let mut length_mm = 0.0;
        lengths_mm.push(0.0);
        for (a, b) in edges(&corners) {
            length_mm += a.distance(b);
            lengths_mm.push(length_mm);
        }
        Ok(Outline { spline, polygon: Polygon::new(corners), parameters, lengths_mm })
    }

    /// An outline that follows a drawn one, such as a shoe's own insole out of a drawing, with as few of 12 to 96 evenly
    /// spaced knots as bring it within `within_mm`, and how far it lies off the drawing at most, mm. A drawing with corners is
    /// rounded there, so check that distance.
    ///
    /// # Errors
    /// As [`Outline::through`].
    pub fn following(drawn: &[DVec2], within_mm: f64) -> Result<(Outline, f64), OutlineError> {
        let mut drawn = drawn.to_vec();
        drawn.dedup();
        while drawn.len() > 1 && drawn.first() == drawn.last() {
            drawn.pop();
        }
        // Refuses what is no closed line before it is measured.
        ClosedSpline::through(&drawn)?;
        let mut best: Option<(Outline, f64)> = None;
        let mut refused = None;
        for count in FOLLOWING_KNOTS {
            match Outline::through(&evenly(&drawn, count)) {
                Ok(outline) => {
                    let off = drawn.iter().map(|&p| outline.signed_distance_mm(p).abs()).fold(0.0, f64::max);
                    if off <= within_mm {
                        return Ok((outline, off));
                    }
                    if best.as_ref().is_none_or(|(_, least)| off < *least) {
                        best = Some((outline, off));
                    }
                }
                Err(error) => refused = Some(error),
            }
        }
        best.ok_or_else(|| refused.unwrap_or(OutlineError::Curve(SplineError::TooFew { count: drawn.len() })))
    }

    /// The knots, counter-clockwise.
    #[must_use]
    pub fn knots(&self) -> &[DVec2] {
        self.spline.knots()
    }

    /// The curve itself, with its derivatives.
    #[must_use]
    pub fn spline(&self) -> &ClosedSpline {
        &self.spline
    }

    /// Position at parameter `t` (mm, repeats after [`ClosedSpline::period_mm`]), mm.
    #[must_use]
    pub fn at(&self, t: f64) -> DVec2 {
        self.spline.at(t)
    }

    /// A polygon with corners on the curve at even distances along it, as near to `spacing_mm` as an even division
    /// allows, counter-clockwise, the first corner (knot 0) not repeated. At least 8 corners, at most 100,000.
    #[must_use]
    pub fn polygon(&self, spacing_mm: f64) -> Vec<DVec2> {
        let length_mm = self.length_mm();
        let count = (length_mm / spacing_mm).round().clamp(8.0, 100_000.0) as usize;
        let corners = self.parameters.len();
        let mut edge = 0;
        (0..count)
            .map(|index| {
                let along_mm = length_mm * index as f64 / count as f64;
                while edge + 1 < corners && self.lengths_mm[edge + 1] <= along_mm {
                    edge += 1;
                }
                let share = (along_mm - self.lengths_mm[edge]) / (self.lengths_mm[edge + 1] - self.lengths_mm[edge]);
                let start = self.parameters[edge];
                let end = self.parameters.get(edge + 1).copied().unwrap_or(self.spline.period_mm());
                self.spline.at(start + (end - start) * share)
            })
            .collect()
    }

    /// The polygon that stands for the curve: corners on it, never farther than [`SAG_MM`] from it, counter-clockwise.
    #[must_use]
    pub fn corners(&self) -> &[DVec2] {
        self.polygon.corners()
    }

    /// Enclosed area, mm².
    #[must_use]
    pub fn area_mm2(&self) -> f64 {
        signed_area_mm2(self.corners())
    }

    /// Length of the curve, mm.
    #[must_use]
    pub fn length_mm(&self) -> f64 {
        self.lengths_mm.last().copied().unwrap_or(0.0)
    }

    /// Least and greatest corner of the bounding box, mm.
    #[must_use]
    pub fn bounds(&self) -> (DVec2, DVec2) {
        self.polygon.bounds()
    }

    /// Distance from `p` to the outline, mm, negative inside. Exact for the polygon of [`Outline::corners`].
    #[must_use]
    pub fn signed_distance_mm(&self, p: DVec2) -> f64 {
        self.polygon.signed_distance_mm(p)
    }

    /// Whether `p` is inside.
    #[must_use]
    pub fn contains(&self, p: DVec2) -> bool {
        self.polygon.contains(p)
    }

    /// The signed distance at every sample of a grid over the bounding box grown by `margin_mm`: the same numbers as
    /// [`Outline::signed_distance_mm`], many times cheaper together.
    #[must_use]
    pub fn distance_grid(&self, step_mm: f64, margin_mm: f64) -> Grid {
        let (lo, hi) = self.bounds();
        let margin = DVec2::splat(margin_mm);
        let mut grid = Grid::over(lo - margin, hi + margin, step_mm);
        self.distance_onto(&mut grid);
        grid
    }

    /// Writes the signed distance at every sample of `grid`, whatever was there before.
    pub fn distance_onto(&self, grid: &mut Grid) {
        self.polygon.distance_onto(grid);
    }

    /// The outermost lateral (least) and medial (greatest) y of the outline on the line across the foot at `x`, mm;
    /// `None` beside the outline.
    #[must_use]
    pub fn width_at(&self, x: f64) -> Option<(f64, f64)> {
        self.polygon.span_at_x(x)
    }

    /// The point of the curve nearest to `p`, to [`SAG_MM`].
    #[must_use]
    pub fn nearest(&self, p: DVec2) -> Nearest {
        let mut best = (f64::INFINITY, 0, 0.0);
        for (index, (a, b)) in edges(self.corners()).enumerate() {
            let along = b - a;
            let share = ((p - a).dot(along) / along.length_squared()).clamp(0.0, 1.0);
            let distance = p.distance_squared(a + along * share);
            if distance < best.0 {
                best = (distance, index, share);
            }
        }
        let (_, index, share) = best;
        let start = self.parameters[index];
        let end = self.parameters.get(index + 1).copied().unwrap_or(self.spline.period_mm());
        let parameter_mm = start + (end - start) * share;
        let at = self.spline.at(parameter_mm);
        Nearest { parameter_mm, at, distance_mm: p.distance(at) }
    }

    /// The outline with knot `index` moved to `to`. An index out of range changes nothing.
    ///
    /// # Errors
    /// As [`Outline::through`].
    pub fn with_knot_moved(&self, index: usize, to: DVec2) -> Result<Outline, OutlineError> {
        let mut knots = self.knots().to_vec();
        if let Some(knot) = knots.get_mut(index) {
            *knot = to;
        }
        Outline::through(&knots)
    }

    /// The outline with one more knot, on the curve where it is nearest to `near`, and the new knot's index.
    ///
    /// # Errors
    /// As [`Outline::through`]: doubled points where a knot is there already.
    pub fn with_knot_added(&self, near: DVec2) -> Result<(Outline, usize), OutlineError> {
        let nearest = self.nearest(near);
        let mut knots = self.knots().to_vec();
        let index = (1..knots.len())
            .find(|&index| self.spline.parameter_of_knot(index) > nearest.parameter_mm)
            .unwrap_or(knots.len());
        knots.insert(index, nearest.at);
        Ok((Outline::through(&knots)?, index))
    }

    /// The outline without knot `index`. An index out of range changes nothing.
    ///
    /// # Errors
    /// As [`Outline::through`]: too few points when only three are left.
    pub fn without_knot(&self, index: usize) -> Result<Outline, OutlineError> {
        let mut knots = self.knots().to_vec();
        if index < knots.len() {
            knots.remove(index);
        }
        Outline::through(&knots)
    }
}

/// Numbers of knots tried for a drawn outline, fewest first: few are handier to edit and smoother.
const FOLLOWING_KNOTS: [usize; 7] = [12, 16, 24, 32, 48, 64, 96];
