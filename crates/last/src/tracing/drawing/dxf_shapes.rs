//! The entities of DXF that are curves.

use super::Fault;
use super::bspline::BSpline;
use super::dxf_text::Record;
use super::shape::{Arc, Segment, Shape};
use glam::DVec2;
use std::f64::consts::TAU;

/// A corner of a polyline and the bulge of what follows it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Corner {
    pub at: DVec2,
    pub bulge: f64,
}

/// What a record is.
pub(super) enum Entity {
    Shape(Shape),
    /// Something else, as messages name it.
    LeftOut(String),
}

/// How a flat entity stands to the drawing's plane (its extrusion, groups 210 to 230).
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Facing {
    Up,
    /// Seen from behind: its x runs against the drawing's.
    Down,
    /// Seen aslant.
    Aslant,
}

pub(super) fn facing(record: &Record) -> Result<Facing, Fault> {
    let (x, y, z) = (record.number_or(210, 0.0)?, record.number_or(220, 0.0)?, record.number_or(230, 1.0)?);
    let is_flat = x.abs().max(y.abs()) <= 1e-6 * z.abs();
    Ok(if !is_flat {
        Facing::Aslant
    } else if z > 0.0 {
        Facing::Up
    } else {
        Facing::Down
    })
}

/// Reads an entity of one record. Polylines of several records and blocks are left to the caller.
pub(super) fn entity(record: &Record) -> Result<Entity, Fault> {
    let facing = facing(record)?;
    let left_out = |what: &str| Ok(Entity::LeftOut(format!("{} {what}", record.kind)));
    let flips = |p: DVec2| if facing == Facing::Down { DVec2::new(-p.x, p.y) } else { p };
    let shape = match record.kind {
        "LINE" => {
            let (from, to) = (record.point(10)?, record.point(11)?);
            shape(record, from, vec![Segment::Line(to)], false)
        }
        _ if facing == Facing::Aslant => return left_out("drawn aslant"),
        "ARC" | "CIRCLE" => {
            let (centre, radius) = (record.point(10)?, record.number_or(40, 0.0)?);
            if radius <= 0.0 {
                return Err(record.unsound("its radius is not above zero"));
            }
            let (from, turn) = if record.kind == "ARC" {
                let (from, to) = (record.number_or(50, 0.0)?.to_radians(), record.number_or(51, 360.0)?.to_radians());
                (from, turn_between(from, to))
            } else {
                (0.0, TAU)
            };
            let (u, v) = (flips(DVec2::X * radius), DVec2::Y * radius);
            let is_whole = record.kind == "CIRCLE";
            arc(record, Arc { centre: flips(centre), u, v, from, turn }, is_whole)
        }
        "ELLIPSE" => {
            let (centre, u, ratio) = (record.point(10)?, record.point(11)?, record.number_or(40, 1.0)?);
            let (from, to) = (record.number_or(41, 0.0)?, record.number_or(42, TAU)?);
            let v = u.perp() * if facing == Facing::Down { -ratio } else { ratio };
            let turn = turn_between(from, to);
            arc(record, Arc { centre, u, v, from, turn }, turn >= TAU - 1e-9)
        }
        "LWPOLYLINE" => match polyline(&corners(record)?, facing, record.flags(70)? & 1 != 0) {
            Some(shape) => Shape { label: record.text(8).unwrap_or_default(), ..shape },
            None => return left_out("without extent"),
        },
        "SPLINE" => return spline(record),
        _ => return Ok(Entity::LeftOut(record.kind.chars().take(40).collect())),
    };
    Ok(Entity::Shape(shape))
}

/// Counter-clockwise, radians; ends at one place are a whole turn.
fn turn_between(from: f64, to: f64) -> f64 {
    let turn = (to - from).rem_euclid(TAU);
    if turn < 1e-12 { TAU } else { turn }
}

fn shape(record: &Record, start: DVec2, segments: Vec<Segment>, closed: bool) -> Shape {
    Shape { label: record.text(8).unwrap_or_default(), start, segments, closed }
}

fn arc(record: &Record, arc: Arc, closed: bool) -> Shape {
    shape(record, arc.start(), vec![Segment::Arc(arc)], closed)
}

/// Corners of an LWPOLYLINE: a group 10 begins one, 20 and 42 belong to it.
fn corners(record: &Record) -> Result<Vec<Corner>, Fault> {
    let mut corners: Vec<Corner> = Vec::new();
    for group in &record.groups {
        match (group.code, corners.last_mut()) {
            (10, _) => corners.push(Corner { at: DVec2::new(group.number()?, f64::NAN), bulge: 0.0 }),
            (20, Some(corner)) => corner.at.y = group.number()?,
            (42, Some(corner)) => corner.bulge = group.number()?,
            _ => {}
        }
    }
    if corners.iter().any(|corner| corner.at.is_nan()) {
        return Err(record.unsound("it lacks a coordinate"));
    }
    Ok(corners)
}

/// Lines and arcs from corner to corner, without a label. `None` without two corners.
pub(super) fn polyline(corners: &[Corner], facing: Facing, closed: bool) -> Option<Shape> {
    let flip = |corner: &Corner| match facing {
        Facing::Down => Corner { at: DVec2::new(-corner.at.x, corner.at.y), bulge: -corner.bulge },
        Facing::Up | Facing::Aslant => *corner,
    };
    let mut corners: Vec<Corner> = corners.iter().map(flip).collect();
    let first = *corners.first()?;
    if closed {
        corners.push(first);
    }
    let segment = |pair: &[Corner]| {
        let arc = Arc::bulged(pair[0].at, pair[1].at, pair[0].bulge);
        arc.map_or(Segment::Line(pair[1].at), Segment::Arc)
    };
    let segments: Vec<Segment> = corners.windows(2).map(segment).collect();
    (!segments.is_empty()).then(|| Shape { label: String::new(), start: first.at, segments, closed })
}

fn spline(record: &Record) -> Result<Entity, Fault> {
    let (x, y) = (record.numbers(10)?, record.numbers(20)?);
    if x.is_empty() {
        return Ok(Entity::LeftOut("SPLINE without control points".to_owned()));
    }
    if x.len() != y.len() {
        return Err(record.unsound("it lacks a coordinate"));
    }
    let points: Vec<DVec2> = x.into_iter().zip(y).map(DVec2::from).collect();
    let degree = record.number_or(71, 3.0)?.clamp(0.0, 100.0) as usize;
    let spline = BSpline::new(degree, record.numbers(40)?, &points, &record.numbers(41)?);
    let spline = spline.map_err(|fault| (record.place(), fault))?;
    let closed = record.flags(70)? & 1 != 0;
    Ok(Entity::Shape(shape(record, spline.start(), vec![Segment::Spline(spline)], closed)))
}
