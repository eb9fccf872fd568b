use super::paired::{Paired, changes, measures};
use super::{Format, Part, WriteError, check_pair};
use crate::{FootModel, LandmarkRow, MakeModel, MeasureRow};
use base::{BySide, Note, Params, Report};
use foot::WeightBearing;
use glam::{DVec2, DVec3};
use serde::Serialize;
use std::io::{self, Write};

/// The measures of both feet as JSON for another program: every number in full, with landmarks and measuring paths.
#[derive(Clone, Copy, Debug, Default)]
pub struct ReportJson;

/// Name of the schema.
const SCHEMA: &str = "solewright_foot_report";
/// Its version: raised when a reader of the last one could go wrong.
const VERSION: u32 = 1;
/// What the coordinates mean.
const FRAME: &str = "millimetres; origin on the support plane under the pternion, x to the toes along the foot axis, \
                     y to the medial side, z up; a left foot is mirrored into this frame";

impl Format for ReportJson {
    fn id(&self) -> &'static str {
        "report_json"
    }

    fn label(&self) -> &'static str {
        "Foot report (JSON)"
    }

    fn help(&self) -> &'static str {
        "Measures, landmarks and measuring paths of both feet for another program, every number in full."
    }

    fn extension(&self) -> &'static str {
        "json"
    }

    fn media_type(&self) -> &'static str {
        "application/json"
    }

    fn needs_solid(&self) -> bool {
        false
    }

    fn write(
        &self,
        model: &MakeModel,
        part: Part,
        _: &Params,
        out: &mut dyn Write,
        _: &mut Report,
    ) -> Result<(), WriteError> {
        check_pair(self, model, part)?;
        let mut json = serde_json::to_vec(&file(model)).map_err(io::Error::from)?;
        json.push(b'\n');
        out.write_all(&json)?;
        Ok(())
    }
}

/// The file. Keys stand in this order; a number that is not finite is `null`.
#[derive(Serialize)]
struct File<'a> {
    schema: &'static str,
    version: u32,
    program: &'a str,
    title: &'a str,
    date: &'a str,
    weight_bearing: Option<WeightBearing>,
    body_mass_kg: Option<f64>,
    frame: &'static str,
    feet: BySide<Option<Foot<'a>>>,
    differences: Vec<Difference<'a>>,
}

#[derive(Serialize)]
struct Foot<'a> {
    scan: Scan<'a>,
    second_scan: Option<Second<'a>>,
    landmarks: Vec<Landmark<'a>>,
    measures: Vec<Measure<'a>>,
    changes: Vec<Measure<'a>>,
    silhouette_xy_mm: &'a [DVec2],
    print_xy_mm: &'a [Vec<DVec2>],
    profile_xz_mm: &'a [Vec<DVec2>],
    notes: &'a [Note],
}

#[derive(Serialize)]
struct Scan<'a> {
    name: &'a str,
    format: &'a str,
    unit: &'a str,
    kind: &'a str,
}

#[derive(Serialize)]
struct Second<'a> {
    name: &'a str,
    state: &'a str,
}

#[derive(Serialize)]
struct Landmark<'a> {
    id: &'a str,
    label: &'a str,
    at_mm: DVec3,
    confidence: f64,
    by_hand: bool,
}

/// A measure; its value is in `unit`.
#[derive(Serialize)]
struct Measure<'a> {
    id: &'a str,
    label: &'a str,
    unit: &'a str,
    digits: usize,
    value: Option<f64>,
    missing_because: Option<&'a str>,
    classes: Vec<Class<'a>>,
    disagreement: Option<&'a str>,
    definition: &'a str,
    source: &'a str,
    path_mm: &'a [Vec<DVec3>],
}

#[derive(Serialize)]
struct Class<'a> {
    author: &'a str,
    class: &'a str,
    limits: &'a str,
}

/// Of what both feet have; in `unit`.
#[derive(Serialize)]
struct Difference<'a> {
    part: &'static str,
    id: &'a str,
    unit: &'a str,
    left_minus_right: f64,
}

fn file(model: &MakeModel) -> File<'_> {
    let mut differences = Vec::new();
    for (part, rows) in [("measure", measures(model)), ("change", changes(model))] {
        differences.extend(rows.iter().filter_map(|row| difference(part, row)));
    }
    File {
        schema: SCHEMA,
        version: VERSION,
        program: &model.program,
        title: &model.title,
        date: &model.date,
        weight_bearing: model.weight_bearing,
        body_mass_kg: model.mass_kg,
        frame: FRAME,
        feet: BySide::from_fn(|side| model.feet[side].as_ref().map(foot)),
        differences,
    }
}

fn difference<'a>(part: &'static str, row: &Paired<'a>) -> Option<Difference<'a>> {
    Some(Difference { part, id: &row.spec.id, unit: &row.spec.unit, left_minus_right: row.difference()? })
}

fn foot(foot: &FootModel) -> Foot<'_> {
    Foot {
        scan: Scan { name: &foot.scan_name, format: &foot.format, unit: &foot.unit, kind: &foot.kind },
        second_scan: foot.second.as_ref().map(|(name, state)| Second { name, state }),
        landmarks: foot.landmarks.iter().map(landmark).collect(),
        measures: foot.measures.iter().map(measure).collect(),
        changes: foot.changes.iter().map(measure).collect(),
        silhouette_xy_mm: &foot.silhouette,
        print_xy_mm: &foot.print,
        profile_xz_mm: &foot.profile,
        notes: &foot.notes,
    }
}

fn landmark(row: &LandmarkRow) -> Landmark<'_> {
    Landmark { id: &row.id, label: &row.label, at_mm: row.at, confidence: row.confidence, by_hand: row.by_hand }
}

fn measure(row: &MeasureRow) -> Measure<'_> {
    let classes = row.classes.iter();
    Measure {
        id: &row.id,
        label: &row.label,
        unit: &row.unit,
        digits: row.digits,
        value: row.value,
        missing_because: row.missing.as_deref(),
        classes: classes.map(|row| Class { author: &row.author, class: &row.class, limits: &row.limits }).collect(),
        disagreement: row.disagreement.as_deref(),
        definition: &row.definition,
        source: &row.source,
        path_mm: &row.path,
    }
}
