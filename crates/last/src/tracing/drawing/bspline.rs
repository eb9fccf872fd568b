use super::shape::Pen;
use crate::tracing::DrawingFault;
use glam::{DAffine2, DVec2, DVec3};

/// A rational B-spline, evaluated by the algorithm of de Boor (1972) on homogeneous coordinates.
#[derive(Clone, Debug)]
pub(super) struct BSpline {
    degree: usize,
    /// As many as control points, and degree + 1 more; never falling.
    knots: Vec<f64>,
    /// x·w, y·w, w.
    control: Vec<DVec3>,
}

/// Highest degree that is read; drawing programs write 2 or 3.
const MOST_DEGREE: usize = 15;
/// How often a span between knots is halved at most: 1024 pieces.
const MOST_HALVINGS: usize = 10;

impl BSpline {
    /// # Errors
    /// What does not make a spline.
    pub(super) fn new(
        degree: usize,
        knots: Vec<f64>,
        points: &[DVec2],
        weights: &[f64],
    ) -> Result<BSpline, DrawingFault> {
        let unsound = |what| Err(DrawingFault::Unsound { what });
        if degree == 0 || degree > MOST_DEGREE || points.len() <= degree {
            return unsound("the spline's degree is below 1, above 15, or not below the number of its control points");
        }
        if knots.len() != points.len() + degree + 1 {
            return unsound("the spline has not as many knots as its control points and its degree ask for");
        }
        let (first, last) = (knots[degree], knots[points.len()]);
        if knots.windows(2).any(|pair| pair[0] > pair[1]) || first >= last {
            return unsound("the spline's knots do not rise");
        }
        if !weights.is_empty() && weights.len() != points.len() {
            return unsound("the spline has not as many weights as control points");
        }
        if weights.iter().any(|weight| !(1e-6..=1e6).contains(weight)) {
            return unsound("a weight of the spline is not above zero");
        }
        let weight = |index: usize| weights.get(index).copied().unwrap_or(1.0);
        let control = points.iter().enumerate().map(|(index, p)| p.extend(1.0) * weight(index)).collect();
        Ok(BSpline { degree, knots, control })
    }

    pub(super) fn mapped(&self, map: &DAffine2) -> BSpline {
        let point = |p: &DVec3| (map.matrix2 * p.truncate() + map.translation * p.z).extend(p.z);
        BSpline { control: self.control.iter().map(point).collect(), ..self.clone() }
    }

    /// The control points.
    pub(super) fn points(&self) -> impl Iterator<Item = DVec2> + '_ {
        self.control.iter().map(|p| p.truncate() / p.z)
    }

    pub(super) fn start(&self) -> DVec2 {
        let start = self.knots[self.degree];
        let span = (self.degree..self.control.len()).find(|&span| self.knots[span + 1] > start).unwrap_or(self.degree);
        self.at(span, start)
    }

    pub(super) fn end(&self) -> DVec2 {
        let last = self.control.len();
        let end = self.knots[last];
        let span = (self.degree..last).rev().find(|&span| self.knots[span] < end).unwrap_or(self.degree);
        self.at(span, end)
    }

    /// The point at `t` between the knots `span` and `span + 1`.
    fn at(&self, span: usize, t: f64) -> DVec2 {
        let degree = self.degree;
        let mut ring = [DVec3::ZERO; MOST_DEGREE + 1];
        ring[..=degree].copy_from_slice(&self.control[span - degree..=span]);
        for level in 1..=degree {
            for index in (level..=degree).rev() {
                let knot = span - degree + index;
                let (low, high) = (self.knots[knot], self.knots[knot + degree + 1 - level]);
                let share = if high > low { (t - low) / (high - low) } else { 0.0 };
                ring[index] = ring[index - 1].lerp(ring[index], share);
            }
        }
        ring[degree].truncate() / ring[degree].z
    }

    pub(super) fn flatten(&self, pen: &mut Pen) -> Result<(), DrawingFault> {
        for span in self.degree..self.control.len() {
            let (from, to) = (self.knots[span], self.knots[span + 1]);
            if from < to {
                // Twice its degree, so that no wave of it passes between the points looked at.
                let pieces = 2 * self.degree;
                let step = (to - from) / pieces as f64;
                let at = |t| (t, self.at(span, t));
                for piece in 0..pieces {
                    let start = from + step * piece as f64;
                    self.halve(span, at(start), at(start + step), MOST_HALVINGS, pen)?;
                }
            }
        }
        Ok(())
    }

    /// Halves until the middle lies on the chord; half the sag, as the curve may leave the chord a little beside its middle.
    fn halve(
        &self,
        span: usize,
        from: (f64, DVec2),
        to: (f64, DVec2),
        left: usize,
        pen: &mut Pen,
    ) -> Result<(), DrawingFault> {
        let t = (from.0 + to.0) / 2.0;
        let middle = (t, self.at(span, t));
        let (chord, into) = (to.1 - from.1, middle.1 - from.1);
        let share = into.dot(chord) / chord.length_squared();
        // Not a number where the ends are one point, and then 0.
        let foot = if share > 0.0 { chord * share.min(1.0) } else { DVec2::ZERO };
        let is_flat = into.distance(foot) <= pen.sag_mm() / 2.0;
        if is_flat || left == 0 {
            return pen.to(to.1);
        }
        self.halve(span, from, middle, left - 1, pen)?;
        self.halve(span, middle, to, left - 1, pen)
    }
}
