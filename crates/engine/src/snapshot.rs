//! Puts together what a client shows.

use crate::engine::{Compared, PairDerived};
use crate::handles;
use crate::outlined::Outlined;
use crate::size::PairSize;
use crate::stages::{Derived, Lines, value_of as measured};
use crate::view::{
    ArchView, ClassView, ElementView, FindingView, FootView, LandmarkView, MeasureView, MissingView, OutlineView,
    ParamView, RegionView, Revs, SecondView, Snapshot, StepView, WidthView,
};
use base::{BySide, Note, ParamSpec, Params, Report, Side, Source, Trust, value_of};
use case::{Case, FootCase, History};
use foot::change::{ChangeRow, LoadingChange, State, loading_change};
use foot::measures::{Classes, MeasureSpec};
use foot::{CleanStep, LandmarkId};
use glam::{DVec2, DVec3};
use guidance::{DepthPlace, Facts, Finding, InsoleFacts};
use insole::ElementItem;
use insole::elements::Element;

/// A region's curve is drawn as a polygon that deviates by at most this, mm.
const CURVE_SAG_MM: f64 = 0.1;

pub(crate) fn snapshot(
    revision: u64,
    history: &History,
    pair: &PairDerived,
    compared: &BySide<Option<Compared>>,
) -> Snapshot {
    let case = history.case();
    let feet = BySide::from_fn(|side| {
        let size = pair.size.as_ref().and_then(|size| size.feet[side].clone());
        let (foot, derived) = (case.feet[side].as_ref()?, pair.feet[side].as_ref()?);
        Some(foot_view(case, foot, size, derived, compared[side].as_ref()))
    });
    Snapshot {
        revision,
        title: case.title.clone(),
        notes: case.notes.clone(),
        weight_bearing: case.weight_bearing,
        mass_kg: case.mass_kg,
        size: pair.size.as_ref().map(PairSize::view),
        undo: history.undo_label().map(str::to_owned),
        redo: history.redo_label().map(str::to_owned),
        feet,
        problems: pair.problems.clone(),
        findings: all_findings(case, pair).iter().map(finding_view).collect(),
    }
}

/// The findings on both feet, the gravest first.
fn all_findings(case: &Case, pair: &PairDerived) -> Vec<Finding> {
    let mut all: Vec<Finding> = Side::ALL
        .into_iter()
        .filter_map(|side| {
            let (foot, derived) = (case.feet[side].as_ref()?, pair.feet[side].as_ref()?);
            let insole = match (&derived.outlined, &derived.shaped, &derived.graded) {
                (Some(outlined), Some(shaped), Some(graded)) => Some(InsoleFacts {
                    // Of a shortened insole the whole edge: that it ends before the ball is meant.
                    outline: &outlined.whole,
                    arch: shaped.surface.base().arch(),
                    thinnest: shaped.thinnest,
                    steepest_slope: shaped.steepest,
                    slope_limit_deg: number(&foot.surface, insole::PARAMS, "steepest_deg"),
                    cup_depth_mm: number(&foot.surface, insole::PARAMS, "cup_depth_mm"),
                    steepest: graded.steepest,
                }),
                _ => None,
            };
            let placed = derived
                .shaped
                .as_ref()
                .map(|shaped| guidance::placed(&foot.elements, &derived.landmarks, &shaped.surface, &shaped.thickness));
            let of_fit = derived.outlined.iter().flat_map(|outlined| fit_findings(side, &outlined.report));
            let of_rules = guidance::findings(&Facts {
                side,
                weight_bearing: case.weight_bearing,
                landmarks: &derived.landmarks,
                foot_length_mm: measured(&derived.measures, "foot_length_mm"),
                print: &derived.scanned.foot.print,
                last_length_mm: pair.size.as_ref().map_or(0.0, |size| size.last_length_of(side)),
                toe_allowance_mm: value_of(&foot.last, &last::TOE_ALLOWANCE),
                insole,
                elements: &foot.elements,
                placed: &placed.unwrap_or_default(),
                ball_girth_mm: measured(&derived.measures, "ball_girth_mm"),
                last_girth_mm: last::joint_girth_mm(&foot.last),
                depths: &depths(foot, derived),
            });
            Some(of_rules.into_iter().chain(of_fit).collect::<Vec<_>>())
        })
        .flatten()
        .collect();
    // What is said of both feet in the same words is said once, of the pair.
    let mut merged: Vec<Finding> = Vec::new();
    for finding in all.drain(..) {
        match merged.iter_mut().find(|kept| kept.rule == finding.rule && kept.text == finding.text && kept.at.is_none())
        {
            Some(kept) => kept.side = None,
            None => merged.push(finding),
        }
    }
    base::sort_by_key(&mut merged, |finding| std::cmp::Reverse(finding.severity));
    merged
}

/// Where the shoe's depth was measured, and what has to find room there.
fn depths(foot: &FootCase, derived: &Derived) -> Vec<DepthPlace> {
    let Some(shaped) = &derived.shaped else { return Vec::new() };
    let at = |id| derived.landmarks.get(&id).map(|landmark| landmark.at);
    let has_top = derived.scanned.foot.has_dorsum;
    let highest = |from: f64, to: f64| {
        let near = derived.scanned.display.positions().iter().filter(|p| p.x >= from && p.x <= to);
        near.copied().max_by(|a, b| a.z.total_cmp(&b.z)).filter(|_| has_top)
    };
    let over_bottom = |p: DVec3| p.z - shaped.surface.bottom(p.truncate());
    let both = "foot and insole";
    let instep = at(LandmarkId::Instep);
    let ball = at(LandmarkId::MetatarsaleTibiale).zip(at(LandmarkId::MetatarsaleFibulare)).map(|(a, b)| 0.5 * (a + b));
    let top_of_ball = ball.and_then(|ball| highest(ball.x - AROUND_BALL_MM, ball.x + AROUND_BALL_MM));
    // Of the toes the highest: the great toe's knuckle, or a bent one.
    let tip = at(LandmarkId::Akropodion);
    let top_of_toes = tip.and_then(|tip| highest(tip.x * TOES_FROM, tip.x));
    // Behind the heel's centre the counter stands round the highest place of the edge, with what elements add there.
    let rim = at(LandmarkId::HeelCentre).and_then(|heel| {
        let behind = derived.outlined.iter().flat_map(|outlined| &outlined.polygon).filter(|p| p.x <= heel.x);
        let rim = behind.map(|&p| p.extend(shaped.surface.height_and_thickness(p).0));
        Some((heel, rim.max_by(|a, b| a.z.total_cmp(&b.z))?))
    });
    // A shell's edge hangs over the shoe: its room counts from where the heel stands.
    let of_rim = rim.map(|(heel, rim)| (rim, rim.z - shaped.surface.base().underside(heel.truncate())));
    let of_foot = |top: Option<DVec3>| top.map(|top| (top, over_bottom(top)));
    [
        ("heel", &last::DEPTH_HEEL, at(LandmarkId::HeelCentre), of_rim, "the heel cup"),
        ("waist", &last::DEPTH_WAIST, instep, of_foot(instep.filter(|_| has_top)), both),
        ("ball", &last::DEPTH_BALL, ball, of_foot(top_of_ball), both),
        ("toes", &last::DEPTH_TOE, tip, of_foot(top_of_toes), both),
    ]
    .into_iter()
    .filter_map(|(label, spec, place, top, by)| {
        let depth_mm = *foot.shoe.params.get(spec.id)?;
        let at = top.map(|(top, _)| top).or(place).unwrap_or_default();
        Some(DepthPlace { label, depth_mm, needs_mm: top.map(|(_, needs_mm)| needs_mm), by, at })
    })
    .collect()
}

/// The foot's height at the ball is looked for this far before and behind it, mm.
const AROUND_BALL_MM: f64 = 8.0;

/// The toes are what lies in front of this share of the foot length (common anatomy, no source).
const TOES_FROM: f64 = 0.84;

/// What the fit of the outline assumed or limited, as findings.
fn fit_findings(side: Side, report: &Report) -> impl Iterator<Item = Finding> {
    report.notes.iter().map(move |note| Finding {
        rule: "outline_fit",
        severity: note.severity,
        side: Some(side),
        text: note.text.clone(),
        advice: note.advice.clone(),
        source: Source::practice("how the outline is fitted; common practice, no source"),
        at: None,
    })
}

fn foot_view(
    case: &Case,
    foot: &FootCase,
    size: Option<(last::Size, bool)>,
    derived: &Derived,
    compared: Option<&Compared>,
) -> FootView {
    let (outlined, shaped, graded) = (derived.outlined.as_ref(), derived.shaped.as_ref(), derived.graded.as_ref());
    let fitted = outlined.map(|outlined| &outlined.fitted);
    let edge = edge_view(foot, derived);
    FootView {
        scan_name: foot.scan.name.clone(),
        format: format_label(derived.scanned.format),
        unit: foot.unit,
        kind: foot.kind,
        heights: foot.heights,
        has_dorsum: derived.scanned.foot.has_dorsum,
        foam_return: ParamView::new(&foot::FOAM_RETURN, foot.foam_return_percent, foot.foam_return_percent > 0.0),
        intake_notes: intake_notes(foot, derived),
        steps: CleanStep::ALL.map(|step| step_view(foot, derived, step)).to_vec(),
        closed: lines(&derived.scanned.closed),
        leg_cut: derived.scanned.leg_cut.iter().map(|p| p.as_vec3().to_array()).collect(),
        cut_height_mm: foot.cut_height_mm,
        revs: Revs {
            foot: derived.scanned.rev,
            surface: shaped.map_or(0, |stage| stage.rev),
            hardness: graded.map_or(0, |stage| stage.rev),
            difference: compared.and_then(|compared| compared.difference.as_ref()).map_or(0, |stage| stage.rev),
        },
        landmarks: LandmarkId::ALL.into_iter().filter_map(|id| landmark_view(derived, id)).collect(),
        missing: LandmarkId::ALL.into_iter().filter_map(|id| missing_view(derived, id)).collect(),
        measures: derived.measures.iter().map(measure_view).collect(),
        second: second_view(case, foot, derived),
        silhouette: floats(&derived.scanned.foot.silhouette),
        print: derived.scanned.foot.print.iter().map(|contour| floats(contour)).collect(),
        outline: outlined.map(|outlined| floats(&outlined.polygon)).unwrap_or_default(),
        outline_sizes: outlined.map(|outlined| outline_sizes(outlined, &edge.widths)).unwrap_or_default(),
        edge,
        fit_residual_mm: fitted.and_then(|fitted| fitted.residual_mm),
        size: size.map(|(size, own)| (size.to_string(), own)),
        last_name: foot.last_name.clone(),
        last: fields(last::PARAMS, &foot.last, |spec| {
            fitted.map_or(spec.default, |fitted| value_of(&fitted.params, spec))
        }),
        profile: fields(last::PROFILE, &foot.last, |spec| spec.default),
        surface: fields(insole::PARAMS, &foot.surface, |spec| computed(spec, foot, derived))
            .into_iter()
            .map(|field| {
                let words = insole::words(&field.id);
                field.named(words)
            })
            .collect(),
        arch: shaped.map(|shaped| arch_view(shaped.surface.base().arch())).unwrap_or_default(),
        thinnest: shaped.map_or((0.0, [0.0; 2]), |shaped| (shaped.thinnest.mm, shaped.thinnest.at.to_array())),
        elements: foot
            .elements
            .iter()
            .enumerate()
            .map(|(index, item)| element_view(item, derived.lines.get(index).map(|stage| stage.value.as_ref())))
            .collect(),
        sculpted: (!foot.sculpt.is_empty()).then_some(foot.sculpt.on),
        compare: compared.map(|compared| compared.view.clone()),
        base_shore_a: foot.hardness.base_shore_a,
        regions: foot.hardness.regions.iter().map(region_view).collect(),
        shore_a_range: graded.map_or((0.0, 0.0), |graded| graded.range),
        steepest: graded
            .map_or((0.0, [0.0; 2]), |graded| (graded.steepest.shore_a_per_mm, graded.steepest.at.to_array())),
        handles: handles::handles(foot, derived),
    }
}

fn landmark_view(derived: &Derived, id: LandmarkId) -> Option<LandmarkView> {
    let landmark = derived.landmarks.get(&id)?;
    Some(LandmarkView {
        id,
        label: id.label().to_owned(),
        at: landmark.at.to_array(),
        confidence: landmark.confidence,
        by_hand: landmark.by_hand,
        clue: clue(derived, id),
        clue_lines: derived.scanned.clues.get(&id).map(|clue| lines(&clue.lines)).unwrap_or_default(),
    })
}

fn clue(derived: &Derived, id: LandmarkId) -> String {
    derived.scanned.clues.get(&id).map(|clue| clue.text.clone()).unwrap_or_default()
}

fn missing_view(derived: &Derived, id: LandmarkId) -> Option<MissingView> {
    (!derived.landmarks.contains_key(&id)).then(|| MissingView { id, clue: clue(derived, id) })
}

fn format_label(id: &str) -> String {
    let format = scan::ALL.iter().find(|format| format.id() == id);
    format.map_or_else(|| id.to_owned(), |format| format.label().to_owned())
}

/// What was noticed on the way in, but for what the steps of cleaning did.
fn intake_notes(foot: &FootCase, derived: &Derived) -> Vec<Note> {
    let is_of_step = |note: &&Note| CleanStep::ALL.iter().any(|step| step.id() == note.code);
    let all = foot.pose_notes.iter().chain(&derived.scanned.notes);
    all.filter(|note| !is_of_step(note)).cloned().collect()
}

fn step_view(foot: &FootCase, derived: &Derived, step: CleanStep) -> StepView {
    let note = derived.scanned.notes.iter().find(|note| note.code == step.id()).cloned();
    StepView { step, on: !foot.steps_off.contains(&step), note }
}

fn measure_view((spec, measured): &crate::stages::MeasureRow) -> MeasureView {
    let (value, missing, path) = match measured {
        Ok(measured) => (Some(measured.value), None, lines(&measured.path)),
        Err(error) => (None, Some(error.to_string()), Vec::new()),
    };
    described(spec, value, missing, path)
}

fn described(spec: &MeasureSpec, value: Option<f64>, missing: Option<String>, path: Vec<Vec<[f32; 3]>>) -> MeasureView {
    MeasureView {
        id: spec.id.to_owned(),
        label: spec.label.to_owned(),
        unit: spec.unit.to_owned(),
        value,
        missing,
        definition: spec.definition.to_owned(),
        source: cited(&spec.source),
        path,
        classes: class_views(spec, value),
        disagreement: value.and_then(|value| foot::measures::disagreement(spec, value)),
    }
}

fn class_views(spec: &MeasureSpec, value: Option<f64>) -> Vec<ClassView> {
    let of_classes = spec.classes.iter().map(|classes| ClassView {
        author: cited(&classes.author),
        class: value.map_or_else(String::new, |value| classes.class_of(value).to_owned()),
        limits: limits(classes),
    });
    let of_references = spec.references.iter().map(|reference| ClassView {
        author: cited(&reference.author),
        class: String::new(),
        limits: format!("{}: {} {}", reference.name, shortest(reference.value), spec.unit).trim_end().to_owned(),
    });
    of_classes.chain(of_references).collect()
}

/// The bands of one author in words: `below 27 low, 27 to 35 normal, from 35 high`.
fn limits(classes: &Classes) -> String {
    let mut from: Option<f64> = None;
    let bands = classes.bands.iter().map(|band| {
        let range = match (from.replace(band.below), band.below.is_finite()) {
            (None, true) => format!("below {}", shortest(band.below)),
            (Some(from), true) => format!("{} to {}", shortest(from), shortest(band.below)),
            (Some(from), false) => format!("from {}", shortest(from)),
            (None, false) => "always".to_owned(),
        };
        format!("{range} {}", band.name)
    });
    let bands = bands.collect::<Vec<_>>().join(", ");
    let whom = classes.whom();
    if whom.is_empty() { bands } else { format!("{whom}: {bands}") }
}

/// A limit as its author wrote it: no more than three places.
fn shortest(value: f64) -> String {
    let text = format!("{value:.3}");
    text.trim_end_matches('0').trim_end_matches('.').replace('-', "\u{2212}")
}

fn second_view(case: &Case, foot: &FootCase, derived: &Derived) -> Option<SecondView> {
    let (second, stage) = (foot.second.as_ref()?, derived.second.as_ref()?);
    let compared = match (stage.value.as_ref(), case.weight_bearing) {
        (Err(problem), _) => Err(problem.clone()),
        (Ok(_), None) => Err("state how the first scan was loaded: what changes depends on it".to_owned()),
        (Ok(landmarks), Some(first)) => {
            let one = State { landmarks: &derived.landmarks, weight_bearing: first };
            let other = State { landmarks, weight_bearing: second.state };
            let (less, more) = if first <= second.state { (one, other) } else { (other, one) };
            loading_change(&less, &more, case.mass_kg).map_err(|error| error.to_string())
        }
    };
    let (problem, change) = match compared {
        Ok(change) => (None, change),
        Err(problem) => (Some(problem), LoadingChange::default()),
    };
    let row = |row: &ChangeRow| {
        let value = row.value(&change);
        described(&row.spec, value, None, Vec::new())
    };
    Some(SecondView {
        scan_name: second.scan.name.clone(),
        state: second.state,
        navicular_height_mm: second.navicular_height_mm,
        changes: if problem.is_some() { Vec::new() } else { foot::change::ALL.iter().map(row).collect() },
        problem,
        notes: change.notes,
    })
}

fn lines(lines: &[Vec<DVec3>]) -> Vec<Vec<[f32; 3]>> {
    lines.iter().map(|line| line.iter().map(|p| p.as_vec3().to_array()).collect()).collect()
}

/// The insole's edge as shown.
fn edge_view(foot: &FootCase, derived: &Derived) -> OutlineView {
    let numbers = fields(last::SHOE, &foot.shoe.params, |spec| spec.default);
    let Some(outlined) = &derived.outlined else { return OutlineView { numbers, ..OutlineView::default() } };
    let drawn = &outlined.drawn;
    OutlineView {
        last: drawn.last.clone(),
        whole: drawn.whole.clone(),
        knots: outlined.whole.knots().iter().map(|knot| knot.to_array()).collect(),
        by_hand: foot.outline.is_some(),
        residuals: drawn.residuals.clone(),
        shoe: drawn.shoe.clone(),
        shoe_name: foot.shoe.insole.as_ref().map(|shoe| shoe.name.clone()),
        shoe_notes: foot.shoe.insole.as_ref().map(|shoe| shoe.notes.clone()).unwrap_or_default(),
        let_over: foot.shoe.let_over,
        length: foot.length,
        trim: outlined.trim.map(|(_, ends)| ends.map(|end| end.to_array())),
        trim_by_hand: foot.trim.is_some(),
        widths: widths(&outlined.whole, derived),
        numbers,
    }
}

fn widths(whole: &last::Outline, derived: &Derived) -> Vec<WidthView> {
    let at = |id| derived.landmarks.get(&id).map(|landmark| landmark.at.x);
    let ball = at(LandmarkId::MetatarsaleTibiale).zip(at(LandmarkId::MetatarsaleFibulare)).map(|(a, b)| 0.5 * (a + b));
    let places = [
        ("heel", "Width at heel", at(LandmarkId::HeelCentre)),
        ("waist", "Width at waist", at(LandmarkId::ArchApex)),
        ("ball", "Width at ball", ball),
    ];
    let width = |(id, label, x): (&str, &str, Option<f64>)| {
        let x_mm = x?;
        let (lateral, medial) = whole.width_at(x_mm)?;
        Some(WidthView { id: id.to_owned(), label: label.to_owned(), x_mm, mm: medial - lateral })
    };
    places.into_iter().filter_map(width).collect()
}

fn outline_sizes(outlined: &Outlined, widths: &[WidthView]) -> Vec<(String, f64)> {
    let (lo, hi) = outlined.outline.bounds();
    let widths = widths.iter().map(|width| (width.label.clone(), width.mm));
    std::iter::once(("Insole length".to_owned(), hi.x - lo.x)).chain(widths).collect()
}

fn fields(specs: &[ParamSpec], decided: &Params, else_value: impl Fn(&ParamSpec) -> f64) -> Vec<ParamView> {
    let field = |spec: &ParamSpec| match decided.get(spec.id) {
        Some(&value) => ParamView::new(spec, value, true),
        None => ParamView::new(spec, else_value(spec), false),
    };
    specs.iter().map(field).collect()
}

/// The value of a number of the surface that was not decided.
fn computed(spec: &ParamSpec, foot: &FootCase, derived: &Derived) -> f64 {
    let base = derived.shaped.as_ref().map(|shaped| shaped.surface.base());
    match (spec.id, base) {
        ("arch_height_mm", Some(base)) => base.arch().used_mm,
        ("arch_fill", Some(base)) => base.arch().fill,
        ("arch_length_mm", Some(base)) => base.own_arch_length_mm(),
        ("min_heel_mm" | "min_arch_mm" | "min_forefoot_mm", _) => {
            number(&foot.surface, insole::PARAMS, "min_thickness_mm")
        }
        _ => spec.default,
    }
}

fn number(params: &Params, specs: &[ParamSpec], id: &str) -> f64 {
    specs.iter().find(|spec| spec.id == id).map_or(0.0, |spec| value_of(params, spec))
}

fn arch_view(arch: &insole::ArchSupport) -> ArchView {
    ArchView {
        apex_mm: arch.apex_height_mm,
        fill: arch.fill,
        computed_mm: arch.computed_mm,
        used_mm: arch.used_mm,
        bounds_mm: arch.bounds_mm,
        by_hand: arch.by_hand,
    }
}

fn element_view(item: &ElementItem, lines: Option<&Lines>) -> ElementView {
    let element = insole::elements::by_id(&item.kind);
    let param = |element: &dyn Element, spec: &ParamSpec| ParamView {
        usual: element.usual(spec.id),
        ..ParamView::new(spec, value_of(&item.params, spec), true).named(element.words(spec.id))
    };
    ElementView {
        id: item.id,
        kind: item.kind.clone(),
        label: element.map_or_else(|| format!("Unknown: {}", item.kind), |element| element.label().to_owned()),
        help: element.map_or_else(String::new, |element| element.help().to_owned()),
        source: element.map_or_else(String::new, |element| cited(&element.source())),
        on: item.on,
        known: element.is_some(),
        caution: element.map_or_else(String::new, |element| element.caution().to_owned()),
        params: element
            .map_or_else(Vec::new, |element| element.params().iter().map(|spec| param(element, spec)).collect()),
        rim: lines.cloned().unwrap_or_default(),
        curve: item.curve.clone(),
        can_be_drawn: element.is_some_and(Element::is_drawn),
        text: element.filter(|element| element.has_text()).map(|_| item.text.clone()),
        twin: item.twin.is_some(),
    }
}

fn region_view(region: &hardness::Region) -> RegionView {
    RegionView {
        id: region.id,
        name: region.name.clone(),
        points: region.points.clone(),
        curve: region_curve(region),
        shore_a: region.shore_a,
        transition_mm: region.transition_mm,
        on: region.on,
    }
}

/// The smooth curve the field goes by; the straight one between the points where there is none.
fn region_curve(region: &hardness::Region) -> Vec<[f32; 2]> {
    let points = region.plan_points();
    match last::ClosedSpline::through(&points) {
        Ok(curve) => floats(&curve.flatten(CURVE_SAG_MM).0),
        Err(_) => floats(&points),
    }
}

fn finding_view(finding: &Finding) -> FindingView {
    FindingView {
        rule: finding.rule.to_owned(),
        severity: finding.severity,
        side: finding.side,
        text: finding.text.clone(),
        advice: finding.advice.clone(),
        source: cited(&finding.source),
        at: finding.at.map(|at| at.to_array()),
    }
}

/// A source with how far to trust it, where that is not plain from its text.
pub(crate) fn cited(source: &Source) -> String {
    match source.trust {
        Trust::Memory if !source.text.contains("memory") => format!("{} (from memory)", source.text),
        Trust::Practice if !source.text.contains("practice") => format!("{} (common practice, no source)", source.text),
        _ => source.text.to_owned(),
    }
}

pub(crate) fn floats(points: &[DVec2]) -> Vec<[f32; 2]> {
    points.iter().map(|p| p.as_vec2().to_array()).collect()
}
