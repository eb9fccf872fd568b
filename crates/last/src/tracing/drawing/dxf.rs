//! DXF in text form: sections, blocks and the unit. Group codes as DXF's published reference lists them: 0 what follows,
//! 2 name, 8 layer, 10 and 20 a point, 70 flags; `$INSUNITS` (1 inch, 2 foot, 4 mm, 5 cm, 6 m, 14 dm) is the unit.
//!
//! Blocks are placed once over (as pattern files do with their pieces); a block in a block is left out and reported.
//!
//! The crate `dxf` reads every kind of entity, table and object, which costs the page more than all of this tool's readers
//! together; seven curves in pairs of lines do not need it. `tests/outside/test_tracing.py` checks this module with files
//! that another library wrote.

use super::dxf_shapes::{Corner, Entity, Facing, entity, facing, polyline};
use super::dxf_text::{Record, each_record};
use super::join::joined;
use super::left_out::LeftOut;
use super::shape::{Pen, Shape};
use super::{Curve, Fault, Read, long_side_mm, sorted};
use crate::tracing::{DrawingFault, Place};
use base::{LengthUnit, Note, Report, Severity};
use glam::{DAffine2, DVec2};
use std::collections::BTreeMap;

/// Most segments after blocks were placed.
const MOST_SEGMENTS: usize = 1 << 20;

pub(super) fn read(bytes: &[u8]) -> Result<Read, Fault> {
    let mut file = File::default();
    let text = &bytes[mesh::sniff::after_byte_order_mark(bytes)..];
    each_record(text, |record| file.take(record))?;
    if file.polyline.is_some() {
        return Err((Place::File, DrawingFault::CutShort { what: "a polyline" }));
    }
    let mut report = Report::default();
    if !file.has_ended {
        let text = "The file has no end (EOF): the copy may have been cut short.";
        report.add(Severity::Check, "drawing_without_end", text, "Check that nothing of the outline is missing.");
    }
    file.place_blocks()?;
    file.left_out.report(&mut report);
    let (mm, unit) = unit(file.unit, &file.shapes)?;
    let map = DAffine2::from_scale(DVec2::splat(mm));
    let shapes = file.shapes.into_iter().map(|(place, shape)| (place, shape.mapped(&map))).collect();
    Ok(Read { shapes, unit, report })
}

#[derive(Default)]
struct File {
    section: String,
    block: Option<String>,
    blocks: BTreeMap<String, Block>,
    inserts: Vec<Insert>,
    polyline: Option<Polyline>,
    shapes: Vec<(Place, Shape)>,
    unit: Option<i64>,
    left_out: LeftOut,
    has_ended: bool,
}

#[derive(Default)]
struct Block {
    base: DVec2,
    shapes: Vec<(Place, Shape)>,
}

struct Insert {
    place: Place,
    block: String,
    /// From the block's base point.
    map: DAffine2,
}

/// A POLYLINE whose vertices come one record each.
struct Polyline {
    place: Place,
    label: String,
    corners: Vec<Corner>,
    facing: Facing,
    closed: bool,
    /// Why it is not a curve in the plane, if it is none.
    left_out: Option<&'static str>,
}

impl File {
    fn take(&mut self, record: Record) -> Result<(), Fault> {
        match record.kind {
            "SECTION" => {
                self.section = record.text(2).unwrap_or_default();
                if self.section == "HEADER" {
                    self.unit = header_unit(&record)?;
                }
            }
            "ENDSEC" => self.section.clear(),
            "EOF" => self.has_ended = true,
            _ if !matches!(self.section.as_str(), "BLOCKS" | "ENTITIES") => {}
            "BLOCK" => {
                let name = record.text(2).unwrap_or_default();
                let base = DVec2::new(record.number_or(10, 0.0)?, record.number_or(20, 0.0)?);
                self.blocks.insert(name.clone(), Block { base, shapes: Vec::new() });
                self.block = Some(name);
            }
            "ENDBLK" => self.block = None,
            "VERTEX" => self.vertex(&record)?,
            "SEQEND" => self.end_polyline(),
            // Texts of a block, and windows onto the sheet.
            "ATTRIB" | "ATTDEF" | "VIEWPORT" => {}
            // On the printed sheet, or invisible.
            _ if record.flags(67)? == 1 || record.flags(60)? == 1 => {}
            "POLYLINE" => {
                self.end_polyline();
                self.polyline = Some(begin_polyline(&record)?);
            }
            "INSERT" => self.insert(&record)?,
            _ => match entity(&record)? {
                Entity::Shape(shape) => self.add(record.place(), shape),
                Entity::LeftOut(kind) => self.left_out.add(&kind),
            },
        }
        Ok(())
    }

    fn add(&mut self, place: Place, shape: Shape) {
        match self.block.as_ref().and_then(|name| self.blocks.get_mut(name)) {
            Some(block) => block.shapes.push((place, shape)),
            None => self.shapes.push((place, shape)),
        }
    }

    fn vertex(&mut self, record: &Record) -> Result<(), Fault> {
        let Some(polyline) = &mut self.polyline else { return Ok(()) };
        // The frame of control points round a smoothed polyline is not part of it.
        if record.flags(70)? & 16 == 0 {
            polyline.corners.push(Corner { at: record.point(10)?, bulge: record.number_or(42, 0.0)? });
        }
        Ok(())
    }

    fn end_polyline(&mut self) {
        let Some(Polyline { place, label, corners, facing, closed, left_out }) = self.polyline.take() else { return };
        match (left_out, polyline(&corners, facing, closed)) {
            (Some(why), _) => self.left_out.add(&format!("POLYLINE {why}")),
            (None, Some(shape)) => self.add(place, Shape { label, ..shape }),
            (None, None) => self.left_out.add("POLYLINE without extent"),
        }
    }

    fn insert(&mut self, record: &Record) -> Result<(), Fault> {
        let facing = facing(record)?;
        if self.block.is_some() || facing == Facing::Aslant {
            self.left_out.add("INSERT (a block in a block, or aslant)");
            return Ok(());
        }
        let number = |code, usual| record.number_or(code, usual);
        if number(70, 1.0)? > 1.0 || number(71, 1.0)? > 1.0 {
            self.left_out.add("INSERT in rows (placed once)");
        }
        let at = record.point(10)?;
        let scale = DVec2::new(number(41, 1.0)?, number(42, 1.0)?);
        let map = DAffine2::from_scale_angle_translation(scale, number(50, 0.0)?.to_radians(), at);
        let flip = if facing == Facing::Down { DVec2::new(-1.0, 1.0) } else { DVec2::ONE };
        let map = DAffine2::from_scale(flip) * map;
        self.inserts.push(Insert { place: record.place(), block: record.text(2).unwrap_or_default(), map });
        Ok(())
    }

    fn place_blocks(&mut self) -> Result<(), Fault> {
        let mut left = MOST_SEGMENTS;
        for Insert { place, block, map } in std::mem::take(&mut self.inserts) {
            let Some(block) = self.blocks.get(&block) else {
                self.left_out.add("INSERT of a block that is not there");
                continue;
            };
            let map = map * DAffine2::from_translation(-block.base);
            for (_, shape) in &block.shapes {
                let size = shape.segments.iter().map(|segment| segment.size()).sum();
                left = left
                    .checked_sub(size)
                    .ok_or_else(|| (place.clone(), DrawingFault::TooMany { most: MOST_SEGMENTS }))?;
                self.shapes.push((place.clone(), shape.mapped(&map)));
            }
        }
        Ok(())
    }
}

fn begin_polyline(record: &Record) -> Result<Polyline, Fault> {
    let flags = record.flags(70)?;
    let facing = facing(record)?;
    let left_out = match facing {
        _ if flags & (16 | 64) != 0 => Some("that is a mesh"),
        // A polyline in space is written in the drawing's own axes.
        Facing::Aslant if flags & 8 == 0 => Some("drawn aslant"),
        _ => None,
    };
    let facing = if flags & 8 != 0 { Facing::Up } else { facing };
    let label = record.text(8).unwrap_or_default();
    Ok(Polyline { place: record.place(), label, corners: Vec::new(), facing, closed: flags & 1 != 0, left_out })
}

/// The value of `$INSUNITS`.
fn header_unit(record: &Record) -> Result<Option<i64>, Fault> {
    let mut groups = record.groups.iter().skip_while(|group| group.code != 9 || group.text() != "$INSUNITS");
    groups.next();
    let value = groups.next().filter(|group| group.code == 70);
    Ok(value.map(|group| group.number()).transpose()?.map(|number| number as i64))
}

/// Millimetres in a unit of the drawing.
fn unit(stated: Option<i64>, shapes: &[(Place, Shape)]) -> Result<(f64, Note), Fault> {
    let known = match stated {
        Some(1) => Some((25.4, "inches")),
        Some(2) => Some((304.8, "feet")),
        Some(4) => Some((1.0, "millimetres")),
        Some(5) => Some((10.0, "centimetres")),
        Some(6) => Some((1000.0, "metres")),
        Some(14) => Some((100.0, "decimetres")),
        _ => None,
    };
    if let Some((mm, name)) = known {
        let text = format!("The drawing says that its unit is {name}.");
        let code = "drawing_unit_stated".to_owned();
        return Ok((mm, Note { code, severity: Severity::Info, text, advice: String::new() }));
    }
    let long = longest(shapes)?;
    // How many times longer or shorter than an insole.
    let off = |unit: &LengthUnit| libm::log(long * unit.mm() / USUAL_MM).abs();
    let unit = LengthUnit::ALL.into_iter().min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or(LengthUnit::Millimetre);
    let (long_mm, symbol) = (long * unit.mm(), unit.symbol());
    let note = Note {
        code: "drawing_unit_guessed".to_owned(),
        severity: Severity::Check,
        text: format!(
            "The drawing has no unit: {symbol} was taken, by which its largest curve is {long_mm:.0} mm long."
        ),
        advice: "Check a length you know.".to_owned(),
    };
    Ok((unit.mm(), note))
}

/// A usual length of an insole, mm (common practice).
const USUAL_MM: f64 = 260.0;

/// Long side of the largest curve, in the drawing's unit. The drawing is measured as if it was as large as one insole.
fn longest(shapes: &[(Place, Shape)]) -> Result<f64, Fault> {
    const ROUGH_MM: f64 = 0.3;
    let bounds = shapes.iter().map(|(_, shape)| shape.bounds());
    let bounds = bounds.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)));
    let Some((lo, hi)) = bounds.filter(|(lo, hi)| lo.is_finite() && hi.is_finite() && lo != hi) else {
        return Ok(USUAL_MM);
    };
    let scale = USUAL_MM / (hi - lo).max_element();
    let map = DAffine2::from_scale(DVec2::splat(scale)) * DAffine2::from_translation(-lo);
    let mut pen = Pen::new(ROUGH_MM);
    let mut curves = Vec::with_capacity(shapes.len());
    for (place, shape) in shapes {
        let points = pen.flatten(&shape.mapped(&map)).map_err(|fault| (place.clone(), fault))?;
        curves.push(Curve { points, closed: shape.closed, label: String::new() });
    }
    let curves = sorted(joined(curves, ROUGH_MM, &mut Report::default()));
    Ok(curves.first().map_or(USUAL_MM, |curve| long_side_mm(&curve.points) / scale))
}
