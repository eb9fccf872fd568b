//! What drawings are made of, before it is flattened: lines, cubic curves, arcs of ellipses, splines.

use super::bspline::BSpline;
use crate::tracing::DrawingFault;
use glam::{DAffine2, DVec2};
use std::f64::consts::TAU;

/// One run of segments.
#[derive(Clone, Debug)]
pub(super) struct Shape {
    /// Id or layer.
    pub label: String,
    pub start: DVec2,
    pub segments: Vec<Segment>,
    /// Whether a line runs from the end back to the start.
    pub closed: bool,
}

/// From where the one before ends.
#[derive(Clone, Debug)]
pub(super) enum Segment {
    Line(DVec2),
    /// Two control points and the end.
    Cubic([DVec2; 3]),
    Arc(Arc),
    Spline(BSpline),
}

/// `centre + u·cos t + v·sin t` for t over `turn` radians from `from`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Arc {
    pub centre: DVec2,
    pub u: DVec2,
    pub v: DVec2,
    pub from: f64,
    pub turn: f64,
}

/// Farthest that a curve may reach from the origin, mm.
const FARTHEST_MM: f64 = 10_000.0;
/// Most points of all curves together. An insole within 0.02 mm takes some hundred.
const MOST_POINTS: usize = 1 << 20;
/// Points nearer to the one before are left out, mm.
const SAME_MM: f64 = 1e-6;
/// Most pieces of one cubic or arc: more would reach beyond [`FARTHEST_MM`].
const MOST_PIECES: f64 = 20_000.0;

impl Arc {
    /// A circle's arc from `from` to `to` with the bulge of DXF: the tangent of a quarter of the angle it turns, positive
    /// counter-clockwise. `None` for what is as good as a line.
    pub(super) fn bulged(from: DVec2, to: DVec2, bulge: f64) -> Option<Arc> {
        let chord = to - from;
        let centre = (from + to) / 2.0 + chord.perp() * ((1.0 - bulge * bulge) / (4.0 * bulge));
        let u = from - centre;
        let turn = 4.0 * libm::atan(bulge);
        (bulge.abs() > 1e-9 && centre.is_finite()).then_some(Arc { centre, u, v: u.perp(), from: 0.0, turn })
    }

    /// A whole ellipse or circle.
    pub(super) fn whole(centre: DVec2, u: DVec2, v: DVec2) -> Arc {
        Arc { centre, u, v, from: 0.0, turn: TAU }
    }

    pub(super) fn at(&self, t: f64) -> DVec2 {
        let (sin, cos) = libm::sincos(t);
        self.centre + self.u * cos + self.v * sin
    }

    pub(super) fn start(&self) -> DVec2 {
        self.at(self.from)
    }

    fn mapped(&self, map: &DAffine2) -> Arc {
        let vector = |v| map.transform_vector2(v);
        Arc { centre: map.transform_point2(self.centre), u: vector(self.u), v: vector(self.v), ..*self }
    }
}

impl Segment {
    /// How many points it is written with, about.
    pub(super) fn size(&self) -> usize {
        match self {
            Segment::Spline(spline) => spline.points().count(),
            Segment::Line(_) | Segment::Cubic(_) | Segment::Arc(_) => 1,
        }
    }
}

impl Shape {
    /// The shape moved, turned, stretched or mirrored.
    pub(super) fn mapped(&self, map: &DAffine2) -> Shape {
        let point = |p: DVec2| map.transform_point2(p);
        let segment = |segment: &Segment| match segment {
            Segment::Line(to) => Segment::Line(point(*to)),
            Segment::Cubic(points) => Segment::Cubic(points.map(point)),
            Segment::Arc(arc) => Segment::Arc(arc.mapped(map)),
            Segment::Spline(spline) => Segment::Spline(spline.mapped(map)),
        };
        let segments = self.segments.iter().map(segment).collect();
        Shape { label: self.label.clone(), start: point(self.start), segments, closed: self.closed }
    }

    /// Least and greatest corner of a box round it, mm: the control points' for curves.
    pub(super) fn bounds(&self) -> (DVec2, DVec2) {
        let mut bounds = (self.start, self.start);
        let mut add = |p: DVec2| bounds = (bounds.0.min(p), bounds.1.max(p));
        for segment in &self.segments {
            match segment {
                Segment::Line(to) => add(*to),
                Segment::Cubic(points) => points.iter().for_each(|p| add(*p)),
                Segment::Arc(arc) => (0..=8).for_each(|k| add(arc.at(arc.from + arc.turn * f64::from(k) / 8.0))),
                Segment::Spline(spline) => spline.points().for_each(&mut add),
            }
        }
        bounds
    }
}

/// Collects the points of flattened shapes.
pub(super) struct Pen {
    sag_mm: f64,
    left: usize,
    points: Vec<DVec2>,
}

impl Pen {
    /// A pen that stays within `sag_mm` of curves.
    pub(super) fn new(sag_mm: f64) -> Pen {
        Pen { sag_mm, left: MOST_POINTS, points: Vec::new() }
    }

    pub(super) fn sag_mm(&self) -> f64 {
        self.sag_mm
    }

    /// The points of a shape.
    ///
    /// # Errors
    /// Too many points with those of all shapes before, or too far out.
    pub(super) fn flatten(&mut self, shape: &Shape) -> Result<Vec<DVec2>, DrawingFault> {
        self.to(shape.start)?;
        let mut here = shape.start;
        for segment in &shape.segments {
            here = match segment {
                Segment::Line(to) => *to,
                Segment::Cubic([a, b, to]) => {
                    self.cubic(here, *a, *b, *to)?;
                    *to
                }
                Segment::Arc(arc) => {
                    self.arc(arc)?;
                    arc.at(arc.from + arc.turn)
                }
                Segment::Spline(spline) => {
                    spline.flatten(self)?;
                    spline.end()
                }
            };
            self.to(here)?;
        }
        Ok(std::mem::take(&mut self.points))
    }

    pub(super) fn to(&mut self, p: DVec2) -> Result<(), DrawingFault> {
        if !p.is_finite() || p.abs().max_element() > FARTHEST_MM {
            return Err(DrawingFault::TooFar { most_m: FARTHEST_MM / 1000.0 });
        }
        if self.points.last().is_some_and(|last| last.distance(p) < SAME_MM) {
            return Ok(());
        }
        self.left = self.left.checked_sub(1).ok_or(DrawingFault::TooMany { most: MOST_POINTS })?;
        self.points.push(p);
        Ok(())
    }

    /// A chord over a step h of the parameter lies within h²·max|second derivative|/8 of the curve; a cubic's second
    /// derivative is greatest at an end.
    fn cubic(&mut self, from: DVec2, a: DVec2, b: DVec2, to: DVec2) -> Result<(), DrawingFault> {
        let bend = 6.0 * (from - a * 2.0 + b).length().max((a - b * 2.0 + to).length());
        let pieces = (bend / (8.0 * self.sag_mm)).sqrt().ceil().clamp(1.0, MOST_PIECES);
        for piece in 1..pieces as usize {
            let t = piece as f64 / pieces;
            let s = 1.0 - t;
            self.to(from * (s * s * s) + a * (3.0 * s * s * t) + b * (3.0 * s * t * t) + to * (t * t * t))?;
        }
        Ok(())
    }

    /// As [`Pen::cubic`]; no second derivative of an arc is longer than u and v together.
    fn arc(&mut self, arc: &Arc) -> Result<(), DrawingFault> {
        let bend = (arc.u.length_squared() + arc.v.length_squared()).sqrt();
        let pieces = (arc.turn.abs() * (bend / (8.0 * self.sag_mm)).sqrt()).ceil().clamp(1.0, MOST_PIECES);
        for piece in 0..pieces as usize {
            self.to(arc.at(arc.from + arc.turn * piece as f64 / pieces))?;
        }
        Ok(())
    }
}
