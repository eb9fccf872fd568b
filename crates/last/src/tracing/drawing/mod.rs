//! The curves of a drawing, in millimetres.
//!
//! Read are SVG (W3C, "Scalable Vector Graphics (SVG) 2", 2018; lengths by W3C, "CSS Values and Units Module Level 3") and
//! DXF in text form (its group codes are told in `dxf.rs`). What is not a curve, such as text or hatching, is left out and
//! reported. Of a stroke its middle line counts, whatever its width.

mod bspline;
mod dxf;
mod dxf_shapes;
mod dxf_text;
mod join;
mod left_out;
mod shape;
mod svg;
mod svg_path;
mod svg_shapes;
mod svg_text;

use super::{DrawingFault, Place, TracingError};
use base::{Note, Report, Severity};
use glam::DVec2;
use mesh::outline::signed_area_mm2;
use mesh::sniff;
use serde::Serialize;
use shape::{Pen, Shape};
use std::cmp::Reverse;

/// How far a curve's points may lie off it, mm.
pub const SAG_MM: f64 = 0.02;
/// Ends of open pieces nearer than this are joined, mm.
pub const JOIN_MM: f64 = 0.1;

/// Lengths of shoes' insoles, mm. A drawing out of this range is read, and reported.
const INSOLE_MM: std::ops::RangeInclusive<f64> = 100.0..=400.0;

/// The curves of a drawing.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Drawing {
    /// Closed curves, the largest area first; then open ones, the longest first. At least one.
    pub curves: Vec<Curve>,
    /// In which unit the drawing was taken to be, and how that is known.
    pub unit: Note,
    /// What was left out, joined or looks wrong.
    pub report: Report,
}

/// One curve of a drawing.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Curve {
    /// Points within [`SAG_MM`] of the drawn curve, y up, mm. A closed curve runs counter-clockwise, and its first point is
    /// not repeated.
    pub points: Vec<DVec2>,
    /// Whether it comes back to its first point.
    pub closed: bool,
    /// Id or layer of the first piece; empty if it has none.
    pub label: String,
}

/// A fault with its place, as the readers of the formats tell it.
type Fault = (Place, DrawingFault);

/// What a reader of a format gives: shapes in mm, each with its place.
struct Read {
    shapes: Vec<(Place, Shape)>,
    unit: Note,
    report: Report,
}

/// Reads an SVG or DXF drawing, told apart by content. `name` is used in messages only.
///
/// # Errors
/// [`TracingError::Drawing`] with file, place, reason and advice.
pub fn read(name: &str, bytes: &[u8]) -> Result<Drawing, TracingError> {
    let named = |(place, fault)| TracingError::Drawing { name: name.to_owned(), place, fault };
    let Read { shapes, unit, mut report } = match Format::of(bytes).map_err(|fault| named((Place::File, fault)))? {
        Format::Svg => svg::read(bytes),
        Format::Dxf => dxf::read(bytes),
    }
    .map_err(named)?;
    let mut pen = Pen::new(SAG_MM);
    let mut curves = Vec::with_capacity(shapes.len());
    for (place, shape) in shapes {
        let points = pen.flatten(&shape).map_err(|fault| named((place, fault)))?;
        curves.push(Curve { points, closed: shape.closed, label: shape.label });
    }
    let curves = sorted(join::joined(curves, JOIN_MM, &mut report));
    let Some(first) = curves.first() else {
        let left_out = report.notes.first().map(|note| format!(" ({})", note.text)).unwrap_or_default();
        return Err(named((Place::File, DrawingFault::NoCurves { left_out })));
    };
    look(first, &mut report);
    Ok(Drawing { curves, unit, report })
}

enum Format {
    Svg,
    Dxf,
}

impl Format {
    fn of(bytes: &[u8]) -> Result<Format, DrawingFault> {
        if bytes.is_empty() {
            return Err(DrawingFault::Empty);
        }
        let start = &bytes[sniff::after_byte_order_mark(bytes)..];
        let head = &start[..start.len().min(64)];
        if head.windows(10).any(|word| word == b"Binary DXF") && !sniff::is_text(bytes) {
            return Err(DrawingFault::BinaryDxf);
        }
        let looks_like = match start {
            [b'A', b'C', b'1', b'0', ..] => "a DWG drawing",
            [0x1f, 0x8b, ..] => "a packed file (a packed SVG, svgz, is one)",
            _ if start.trim_ascii_start().starts_with(b"<") => return Ok(Format::Svg),
            _ if dxf_text::starts_like_dxf(start) => return Ok(Format::Dxf),
            _ => sniff::looks_like(bytes).unwrap_or("nothing known"),
        };
        Err(DrawingFault::OtherFormat { looks_like })
    }
}

/// Length of a curve, mm.
fn length_mm(curve: &Curve) -> f64 {
    curve.points.windows(2).map(|pair| pair[0].distance(pair[1])).sum()
}

/// Largest first, and closed ones counter-clockwise.
fn sorted(mut curves: Vec<Curve>) -> Vec<Curve> {
    for curve in curves.iter_mut().filter(|curve| curve.closed && signed_area_mm2(&curve.points) < 0.0) {
        curve.points.reverse();
    }
    // Of numbers not below zero the bits rise as they do.
    base::sort_by_key(&mut curves, |curve| {
        let size = if curve.closed { signed_area_mm2(&curve.points).abs() } else { length_mm(curve) };
        (!curve.closed, Reverse(size.to_bits()))
    });
    curves
}

/// The greatest distance between points of a curve along x or y, or along its longest direction for slanted ones, nearly.
fn long_side_mm(points: &[DVec2]) -> f64 {
    const DIRECTIONS: u32 = 16;
    let extent = |index: u32| {
        let direction = DVec2::from_angle(f64::from(index) * std::f64::consts::PI / f64::from(DIRECTIONS));
        let along = points.iter().map(|p| p.dot(direction));
        along.clone().fold(f64::NEG_INFINITY, f64::max) - along.fold(f64::INFINITY, f64::min)
    };
    (0..DIRECTIONS).map(extent).fold(0.0, f64::max)
}

/// Reports a drawing whose first curve can hardly be an insole.
fn look(first: &Curve, report: &mut Report) {
    if !first.closed {
        report.add(
            Severity::Check,
            "drawing_without_closed_curve",
            "No curve of the drawing is closed.",
            format!("Close the insole's edge in the drawing: its pieces must meet within {JOIN_MM} mm."),
        );
    }
    let long_mm = long_side_mm(&first.points);
    if !INSOLE_MM.contains(&long_mm) {
        report.add(
            Severity::Check,
            "drawing_size",
            format!("The largest curve is {long_mm:.1} mm long; insoles are 100 to 400 mm."),
            "Check the drawing's unit against a length you know.",
        );
    }
}
