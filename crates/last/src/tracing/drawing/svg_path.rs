//! The data of a path (SVG 2, 9.3).

use super::shape::{Arc, Segment, Shape};
use super::svg_text::Scanner;
use crate::tracing::DrawingFault;
use glam::DVec2;
use std::f64::consts::TAU;

/// One shape for every subpath, in user units.
pub(super) fn shapes(data: &str) -> Result<Vec<Shape>, DrawingFault> {
    let mut path = Path::default();
    let mut scanner = Scanner::of(data);
    if scanner.peek().is_none() || data.trim_ascii() == "none" {
        return Ok(Vec::new());
    }
    while scanner.peek().is_some() {
        let command = scanner.letter().ok_or_else(|| scanner.unexpected("a path command"))?;
        if !path.has_moved && !matches!(command, b'M' | b'm') {
            return Err(DrawingFault::Unsound { what: "the path does not start with a move (M)" });
        }
        path.draw(command, &mut scanner)?;
        while scanner.has_number() {
            // After a move, further points are lines.
            let again = match command {
                b'M' => b'L',
                b'm' => b'l',
                b'Z' | b'z' => return Err(scanner.unexpected("a path command")),
                other => other,
            };
            path.draw(again, &mut scanner)?;
        }
    }
    path.finish(false);
    Ok(path.done)
}

#[derive(Default)]
struct Path {
    done: Vec<Shape>,
    open: Option<Shape>,
    has_moved: bool,
    here: DVec2,
    start: DVec2,
    /// The second control point of the curve just drawn, for its smooth successor.
    cubic: Option<DVec2>,
    quadratic: Option<DVec2>,
}

impl Path {
    fn draw(&mut self, command: u8, scanner: &mut Scanner) -> Result<(), DrawingFault> {
        let origin = if command.is_ascii_lowercase() { self.here } else { DVec2::ZERO };
        let (cubic, quadratic) = (self.cubic.take(), self.quadratic.take());
        let mirrored = |control: Option<DVec2>, here: DVec2| control.map_or(here, |control| here * 2.0 - control);
        match command.to_ascii_uppercase() {
            b'M' => {
                self.finish(false);
                self.here = origin + scanner.pair()?;
                self.start = self.here;
                self.has_moved = true;
                self.open = Some(Shape { label: String::new(), start: self.here, segments: Vec::new(), closed: false });
            }
            b'L' => {
                let to = origin + scanner.pair()?;
                self.add(Segment::Line(to), to);
            }
            b'H' => {
                let to = DVec2::new(origin.x + scanner.number()?, self.here.y);
                self.add(Segment::Line(to), to);
            }
            b'V' => {
                let to = DVec2::new(self.here.x, origin.y + scanner.number()?);
                self.add(Segment::Line(to), to);
            }
            b'C' => {
                let (a, b, to) = (origin + scanner.pair()?, origin + scanner.pair()?, origin + scanner.pair()?);
                self.add(Segment::Cubic([a, b, to]), to);
                self.cubic = Some(b);
            }
            b'S' => {
                let a = mirrored(cubic, self.here);
                let (b, to) = (origin + scanner.pair()?, origin + scanner.pair()?);
                self.add(Segment::Cubic([a, b, to]), to);
                self.cubic = Some(b);
            }
            b'Q' => {
                let (control, to) = (origin + scanner.pair()?, origin + scanner.pair()?);
                self.add_quadratic(control, to);
            }
            b'T' => {
                let control = mirrored(quadratic, self.here);
                let to = origin + scanner.pair()?;
                self.add_quadratic(control, to);
            }
            b'A' => {
                let (radii, turned_deg) = (scanner.pair()?, scanner.number()?);
                let (is_large, is_positive) = (scanner.flag()?, scanner.flag()?);
                let to = origin + scanner.pair()?;
                let segment = arc(self.here, to, radii.abs(), turned_deg, is_large, is_positive);
                self.add(segment.map_or(Segment::Line(to), Segment::Arc), to);
            }
            b'Z' => {
                self.finish(true);
                self.here = self.start;
            }
            _ => return Err(DrawingFault::Unsound { what: "the path has a command that SVG does not know" }),
        }
        Ok(())
    }

    fn add(&mut self, segment: Segment, to: DVec2) {
        // After a Z the next subpath starts where the last one did.
        let (label, start) = (String::new(), self.here);
        let open = self.open.get_or_insert_with(|| Shape { label, start, segments: Vec::new(), closed: false });
        open.segments.push(segment);
        self.here = to;
    }

    /// A quadratic curve as the cubic that it is.
    fn add_quadratic(&mut self, control: DVec2, to: DVec2) {
        let (a, b) = (self.here.lerp(control, 2.0 / 3.0), to.lerp(control, 2.0 / 3.0));
        self.add(Segment::Cubic([a, b, to]), to);
        self.quadratic = Some(control);
    }

    fn finish(&mut self, closed: bool) {
        if let Some(shape) = self.open.take().filter(|shape| !shape.segments.is_empty()) {
            self.done.push(Shape { closed, ..shape });
        }
    }
}

/// From ends to centre (SVG 2, B.2.4 and B.2.5). `None`: a line.
fn arc(from: DVec2, to: DVec2, radii: DVec2, turned_deg: f64, is_large: bool, is_positive: bool) -> Option<Arc> {
    if radii.min_element() <= 0.0 || from == to {
        return None;
    }
    let (sin, cos) = libm::sincos(turned_deg.to_radians());
    let (x_axis, y_axis) = (DVec2::new(cos, sin), DVec2::new(-sin, cos));
    let half = (from - to) / 2.0;
    // In a frame where the ellipse is the unit circle.
    let unit = DVec2::new(half.dot(x_axis), half.dot(y_axis)) / radii;
    let too_far = unit.length();
    // Too small radii are enlarged until the ends can be reached.
    let radii = radii * too_far.max(1.0);
    let unit = unit / too_far.max(1.0);
    let square = unit.length_squared();
    let mut share = ((1.0 - square) / square).max(0.0).sqrt();
    if is_large == is_positive {
        share = -share;
    }
    let centre_unit = DVec2::new(unit.y, -unit.x) * share;
    let centre = (from + to) / 2.0 + x_axis * (centre_unit.x * radii.x) + y_axis * (centre_unit.y * radii.y);
    let angle = |v: DVec2| libm::atan2(v.y, v.x);
    let (start, end) = (angle(unit - centre_unit), angle(-unit - centre_unit));
    let mut turn = (end - start).rem_euclid(TAU);
    if !is_positive {
        turn -= TAU;
    }
    let sound = centre.is_finite() && turn.is_finite();
    sound.then_some(Arc { centre, u: x_axis * radii.x, v: y_axis * radii.y, from: start, turn })
}
