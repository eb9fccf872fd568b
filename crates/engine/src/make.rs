//! Hands the finished pair to the workshop.

use crate::bend::Bend;
use crate::engine::PairDerived;
use crate::stages::{Derived, Shaped};
use crate::view::{ClassView, FindingView, FootView, MadeFile, MeasureView, Snapshot};
use crate::{EngineError, Workshop};
use base::{BySide, Note, Params, Side};
use case::{Case, FootCase};
use foot::WeightBearing;
use glam::{DAffine3, DMat3, DVec2, DVec3};
use making::formats::SPACING;
use making::{ClassRow, FootModel, LandmarkRow, MakeModel, MeasureRow, Reading, SideModel, SolidPlan};
use mesh::TriMesh;

/// Points of outlines as made, mm apart.
const OUTLINE_MM: f64 = 0.5;
/// What made it, as printed on the sheet.
const PROGRAM: &str = concat!("Solewright ", env!("CARGO_PKG_VERSION"));

/// The files of the families named, all when none is named, made in `workshop`.
pub(crate) fn make(
    case: &Case,
    pair: &PairDerived,
    snapshot: &Snapshot,
    only: &[&str],
    options: &Params,
    workshop: &dyn Workshop,
) -> Result<Vec<MadeFile>, EngineError> {
    let only: Vec<String> = only.iter().map(|family| (*family).to_owned()).collect();
    let with_solids = workshop.need_solids(&only)?;
    let problem = pair.problems.iter().find_map(|(side, problem)| Some((side, problem.clone()?)));
    if let (true, Some((side, reason))) = (with_solids, problem) {
        return Err(EngineError::Surface { side, reason });
    }
    // One out of range is refused by the format that has it.
    let spacing_mm = options.get(SPACING.id).copied().filter(|mm| SPACING.accepts(*mm)).unwrap_or(SPACING.default);
    let model = model(case, pair, snapshot, with_solids.then_some(spacing_mm))?;
    Ok(workshop.make(&model, &only, options)?)
}

/// A file name's stem for a case title.
pub(crate) fn file_stem(title: &str) -> String {
    making::formats::slug(title)
}

fn model(
    case: &Case,
    pair: &PairDerived,
    snapshot: &Snapshot,
    solids_mm: Option<f64>,
) -> Result<MakeModel, EngineError> {
    let mut sides = BySide::<Option<SideModel>>::default();
    let mut feet = BySide::<Option<FootModel>>::default();
    for (side, foot) in case.feet.iter() {
        if let (Some(foot), Some(derived), Some(view)) = (foot, &pair.feet[side], &snapshot.feet[side]) {
            feet[side] = Some(foot_model(derived, view));
            if let Some(spacing_mm) = solids_mm {
                sides[side] = Some(side_model(side, foot, derived, view, snapshot, spacing_mm)?);
            }
        }
    }
    Ok(MakeModel {
        title: case.title.clone(),
        notes: case.notes.clone(),
        date: String::new(),
        program: PROGRAM.to_owned(),
        size: snapshot.size.as_ref().map(|size| format!("{} ({})", size.used, size.reason)).unwrap_or_default(),
        mass_kg: case.mass_kg,
        weight_bearing: case.weight_bearing,
        density_g_cm3: None,
        sides,
        feet,
        findings: notes_of(&snapshot.findings, None),
    })
}

/// A foot as the foot report tells of it.
fn foot_model(derived: &Derived, view: &FootView) -> FootModel {
    let scanned = &derived.scanned;
    let of_steps = view.steps.iter().filter_map(|step| step.note.clone());
    FootModel {
        scan_name: view.scan_name.clone(),
        format: view.format.clone(),
        unit: view.unit.symbol().to_owned(),
        kind: view.kind.word().to_owned(),
        silhouette: scanned.foot.silhouette.clone(),
        print: scanned.foot.print.clone(),
        profile: profile(&scanned.display),
        landmarks: view
            .landmarks
            .iter()
            .map(|landmark| LandmarkRow {
                id: landmark.id.id().to_owned(),
                label: landmark.label.clone(),
                at: landmark.at.into(),
                confidence: landmark.confidence,
                by_hand: landmark.by_hand,
            })
            .collect(),
        measures: view.measures.iter().map(measure_row).collect(),
        changes: view.second.iter().flat_map(|second| &second.changes).map(measure_row).collect(),
        second: view.second.as_ref().map(|second| (second.scan_name.clone(), loaded(second.state).to_owned())),
        notes: view.intake_notes.iter().cloned().chain(of_steps).collect(),
    }
}

fn loaded(state: WeightBearing) -> &'static str {
    match state {
        WeightBearing::None => "not loaded",
        WeightBearing::Half => "half loaded",
        WeightBearing::Full => "fully loaded",
    }
}

fn measure_row(measure: &MeasureView) -> MeasureRow {
    let point = |p: &[f32; 3]| DVec3::new(p[0].into(), p[1].into(), p[2].into());
    let class = |class: &ClassView| ClassRow {
        author: class.author.clone(),
        class: class.class.clone(),
        limits: class.limits.clone(),
    };
    MeasureRow {
        id: measure.id.clone(),
        label: measure.label.clone(),
        unit: measure.unit.clone(),
        digits: digits(&measure.unit),
        value: measure.value,
        missing: measure.missing.clone(),
        definition: measure.definition.clone(),
        source: measure.source.clone(),
        path: measure.path.iter().map(|line| line.iter().map(point).collect()).collect(),
        classes: measure.classes.iter().map(class).collect(),
        disagreement: measure.disagreement.clone(),
    }
}

/// The outline of the skin seen from the medial side, (x, z).
fn profile(skin: &TriMesh) -> Vec<Vec<DVec2>> {
    // Lying on its lateral side, the foot's outline from above is that from its medial side.
    let lying = skin.transformed(&DAffine3::from_mat3(DMat3::from_cols(DVec3::X, DVec3::NEG_Z, DVec3::Y)));
    mesh::silhouette(&lying, PROFILE_MM)
}

/// Spacing of the samples of the profile, mm: finer than a line on paper.
const PROFILE_MM: f64 = 0.5;

/// Digits after the point: a ratio needs more than a length in mm.
fn digits(unit: &str) -> usize {
    if unit.is_empty() { 3 } else { 1 }
}

fn side_model(
    side: Side,
    foot: &FootCase,
    derived: &Derived,
    view: &FootView,
    snapshot: &Snapshot,
    spacing_mm: f64,
) -> Result<SideModel, EngineError> {
    let fail = |reason: String| EngineError::Solid { side, reason };
    let (Some(outlined), Some(shaped)) = (&derived.outlined, &derived.shaped) else {
        return Err(fail("nothing is shaped yet: bring in a scan".into()));
    };
    let outline = outlined.outline.polygon(OUTLINE_MM);
    let rim = outlined.outline.polygon(spacing_mm);
    let plan = SolidPlan::new(&rim, spacing_mm).map_err(|error| fail(error.to_string()))?;
    let surface = &shaped.surface;
    let bend = Bend::of(foot, outlined);
    let faces = |p: DVec2| {
        let (top, bottom) = surface.top_and_bottom(p);
        let lift = bend.as_ref().map_or(0.0, |bend| bend.height(p));
        (top + lift, bottom + lift)
    };
    let solid = plan.solid(faces).map_err(|error| fail(error.to_string()))?;
    Ok(SideModel {
        solid,
        outline,
        silhouette: derived.scanned.foot.silhouette.clone(),
        print: derived.scanned.foot.print.clone(),
        last_outline: outlined.fitted.outline.polygon(OUTLINE_MM),
        shoe_outline: outlined.shoe.as_ref().map(|shoe| shoe.polygon(OUTLINE_MM)).unwrap_or_default(),
        trim: outlined.trim.map(|(_, ends)| ends),
        top: Some(top_grid(shaped)),
        landmarks: derived.landmarks.value.as_ref().clone(),
        measures: readings(view),
        arch: Some(*surface.base().arch()),
        surface: view.surface.iter().map(|field| (field.id.clone(), field.value)).collect(),
        elements: foot.elements.clone(),
        hardness: foot.hardness.clone(),
        findings: notes_of(&snapshot.findings, Some(side)),
    })
}

/// The top over the samples of the thickness, `NaN` outside the outline.
fn top_grid(shaped: &Shaped) -> mesh::Grid {
    let mut grid = shaped.thickness.clone();
    for row in 0..grid.rows {
        for column in 0..grid.columns {
            let index = row * grid.columns + column;
            if grid.values[index].is_finite() {
                grid.values[index] = shaped.surface.top(grid.at(column, row)) as f32;
            }
        }
    }
    grid
}

fn readings(view: &FootView) -> Vec<Reading> {
    let measured = view.measures.iter().filter_map(|measure| {
        Some(Reading {
            id: measure.id.clone(),
            label: measure.label.clone(),
            value: measure.value?,
            unit: measure.unit.clone(),
            digits: digits(&measure.unit),
        })
    });
    let of_outline = view.outline_sizes.iter().map(|(label, mm)| Reading {
        id: label.to_ascii_lowercase().replace(' ', "_"),
        label: label.clone(),
        value: *mm,
        unit: "mm".to_owned(),
        digits: 1,
    });
    measured.chain(of_outline).collect()
}

fn notes_of(findings: &[FindingView], side: Option<Side>) -> Vec<Note> {
    let on_side = findings.iter().filter(|finding| finding.side == side);
    on_side
        .map(|finding| Note {
            code: finding.rule.clone(),
            severity: finding.severity,
            text: finding.text.clone(),
            advice: finding.advice.clone(),
        })
        .collect()
}
