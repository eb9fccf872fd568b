use glam::DVec2;

/// A closed plan curve through its knots whose position, direction and curvature are continuous everywhere: the
/// periodic cubic spline over the chord lengths between the knots.
///
/// The parameter `t` runs from 0 at knot 0 through the summed chord lengths, in mm, to [`ClosedSpline::period_mm`],
/// and repeats. The curve may cross itself: [`crate::Outline`] is the one that may not.
#[derive(Clone, Debug, PartialEq)]
pub struct ClosedSpline {
    knots: Vec<DVec2>,
    /// Second derivative at every knot, 1/mm.
    bends: Vec<DVec2>,
    /// Parameter at every knot, and the period at the end.
    starts_mm: Vec<f64>,
}

/// Why points do not make a closed curve.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum SplineError {
    /// Fewer than three points.
    #[error("a closed curve needs at least 3 points, not {count}: add points")]
    TooFew {
        /// How many there were.
        count: usize,
    },
    /// A coordinate is infinite or not a number.
    #[error("point {index} has a coordinate that is not a finite number: place it again")]
    NotFinite {
        /// Index of the point.
        index: usize,
    },
    /// A point lies on the one after it.
    #[error("points {index} and the one after it lie on one place ({x_mm:.1}, {y_mm:.1}) mm: remove one")]
    Doubled {
        /// Index of the first of the two.
        index: usize,
        /// Where, mm.
        x_mm: f64,
        /// Where, mm.
        y_mm: f64,
    },
}

/// Neighbouring knots nearer than this are one knot, mm: far below what a hand can place, far above rounding, which
/// would otherwise make curvature without bound.
const DOUBLED_MM: f64 = 0.01;

/// Most pieces one span is cut into: bounds the work for knots kilometres apart.
const MOST_PIECES: f64 = 512.0;

impl ClosedSpline {
    /// The curve through `points`, in their order.
    ///
    /// # Errors
    /// Fewer than three points, one that is not finite, or one that lies on its successor.
    pub fn through(points: &[DVec2]) -> Result<ClosedSpline, SplineError> {
        let count = points.len();
        if count < 3 {
            return Err(SplineError::TooFew { count });
        }
        if let Some(index) = points.iter().position(|p| !p.is_finite()) {
            return Err(SplineError::NotFinite { index });
        }
        let mut starts_mm = Vec::with_capacity(count + 1);
        let mut total_mm = 0.0;
        for (index, &point) in points.iter().enumerate() {
            starts_mm.push(total_mm);
            let chord_mm = point.distance(points[(index + 1) % count]);
            if chord_mm < DOUBLED_MM {
                return Err(SplineError::Doubled { index, x_mm: point.x, y_mm: point.y });
            }
            total_mm += chord_mm;
        }
        starts_mm.push(total_mm);
        let chords_mm: Vec<f64> = starts_mm.windows(2).map(|pair| pair[1] - pair[0]).collect();
        Ok(ClosedSpline { knots: points.to_vec(), bends: bends(points, &chords_mm), starts_mm })
    }

    /// The knots, in order.
    #[must_use]
    pub fn knots(&self) -> &[DVec2] {
        &self.knots
    }

    /// Parameter at knot `index`, mm; the period at the number of knots and beyond.
    #[must_use]
    pub fn parameter_of_knot(&self, index: usize) -> f64 {
        self.starts_mm[index.min(self.knots.len())]
    }

    /// The parameter after which the curve repeats, mm: the summed chords, a little less than its length.
    #[must_use]
    pub fn period_mm(&self) -> f64 {
        self.starts_mm[self.knots.len()]
    }

    /// Position at parameter `t`, mm.
    #[must_use]
    pub fn at(&self, t: f64) -> DVec2 {
        let (span, s) = self.locate(t);
        self.span_at(span, s)
    }

    /// First derivative at `t`, without unit.
    #[must_use]
    pub fn derivative(&self, t: f64) -> DVec2 {
        let (span, s) = self.locate(t);
        let Span { a, b, bend_a, bend_b, chord_mm: h } = self.span(span);
        (b - a) / h + bend_b * (3.0 * s * s / h - h) / 6.0 - bend_a * (3.0 * (h - s) * (h - s) / h - h) / 6.0
    }

    /// Second derivative at `t`, 1/mm: continuous across the knots.
    #[must_use]
    pub fn second_derivative(&self, t: f64) -> DVec2 {
        let (span, s) = self.locate(t);
        let Span { bend_a, bend_b, chord_mm: h, .. } = self.span(span);
        bend_a.lerp(bend_b, s / h)
    }

    /// A closed polygon with its corners on the curve (the first not repeated) that stays within `sag_mm` of it, and
    /// the parameter of every corner. The knots are among the corners.
    ///
    /// # Tolerance
    /// The number of corners grows with the root of 1/`sag_mm`, at most 512 a span.
    #[must_use]
    pub fn flatten(&self, sag_mm: f64) -> (Vec<DVec2>, Vec<f64>) {
        let mut corners = Vec::new();
        let mut parameters = Vec::new();
        for span in 0..self.knots.len() {
            let Span { bend_a, bend_b, chord_mm, .. } = self.span(span);
            // A chord over a parameter step p lies within p²·max|second derivative|/8 of the curve, and the second
            // derivative is linear along a span, so its greatest value is at an end.
            let bend = bend_a.length().max(bend_b.length());
            let pieces = (chord_mm * (bend / (8.0 * sag_mm)).sqrt()).ceil().clamp(1.0, MOST_PIECES);
            for piece in 0..pieces as usize {
                let s = chord_mm * piece as f64 / pieces;
                corners.push(self.span_at(span, s));
                parameters.push(self.starts_mm[span] + s);
            }
        }
        (corners, parameters)
    }

    /// The span that holds `t` and how far into it `t` is.
    fn locate(&self, t: f64) -> (usize, f64) {
        let t = t.rem_euclid(self.period_mm());
        let span = self.starts_mm.partition_point(|&start| start <= t).clamp(1, self.knots.len()) - 1;
        (span, t - self.starts_mm[span])
    }

    fn span(&self, span: usize) -> Span {
        let next = (span + 1) % self.knots.len();
        Span {
            a: self.knots[span],
            b: self.knots[next],
            bend_a: self.bends[span],
            bend_b: self.bends[next],
            chord_mm: self.starts_mm[span + 1] - self.starts_mm[span],
        }
    }

    fn span_at(&self, span: usize, s: f64) -> DVec2 {
        let Span { a, b, bend_a, bend_b, chord_mm: h } = self.span(span);
        let (u, v) = ((h - s) / h, s / h);
        a * u + b * v + (bend_a * (u * u * u - u) + bend_b * (v * v * v - v)) * (h * h / 6.0)
    }
}

/// The piece of the curve between two knots.
struct Span {
    a: DVec2,
    b: DVec2,
    bend_a: DVec2,
    bend_b: DVec2,
    chord_mm: f64,
}

/// The second derivatives that make the first derivatives agree at every knot. The system is tridiagonal but for its
/// two corners; it is solved as a tridiagonal one plus a rank-one correction (Sherman and Morrison 1950). Its diagonal
/// outweighs the rest of each row, so elimination without pivoting is stable.
fn bends(points: &[DVec2], chords_mm: &[f64]) -> Vec<DVec2> {
    let n = points.len();
    let before = |i: usize| (i + n - 1) % n;
    let slope = |i: usize| (points[(i + 1) % n] - points[i]) / chords_mm[i];
    let mut diagonal: Vec<f64> = (0..n).map(|i| 2.0 * (chords_mm[before(i)] + chords_mm[i])).collect();
    let right: Vec<DVec2> = (0..n).map(|i| (slope(i) - slope(before(i))) * 6.0).collect();
    // The corner entry is chords[n − 1]; gamma moves it into the first and last diagonal entry.
    let corner = chords_mm[n - 1];
    let gamma = -diagonal[0];
    diagonal[0] -= gamma;
    diagonal[n - 1] -= corner * corner / gamma;
    let mut spread = vec![0.0; n];
    spread[0] = gamma;
    spread[n - 1] = corner;

    // Forward elimination of both right sides, then back substitution; off[i] couples i and i + 1.
    let off = chords_mm;
    let (mut solution, mut correction) = (right, spread);
    for i in 1..n {
        let factor = off[i - 1] / diagonal[i - 1];
        diagonal[i] -= factor * off[i - 1];
        let (above, above_correction) = (solution[i - 1], correction[i - 1]);
        solution[i] -= above * factor;
        correction[i] -= above_correction * factor;
    }
    for i in (0..n).rev() {
        if i + 1 < n {
            let (below, below_correction) = (solution[i + 1], correction[i + 1]);
            solution[i] -= below * off[i];
            correction[i] -= below_correction * off[i];
        }
        solution[i] /= diagonal[i];
        correction[i] /= diagonal[i];
    }
    let ratio = corner / gamma;
    let scale = 1.0 / (1.0 + correction[0] + ratio * correction[n - 1]);
    let share = (solution[0] + solution[n - 1] * ratio) * scale;
    solution.iter().zip(&correction).map(|(&s, &c)| s - share * c).collect()
}
