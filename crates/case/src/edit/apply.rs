//! What each edit does to a case.

use super::{Edit, EditError};
use crate::{Case, FootCase, pose_from_rows, rows_from_pose};
use base::{ParamSpec, Params, Side};
use glam::{DAffine3, DVec2, DVec3};
use hardness::Region;
use insole::ElementItem;
use insole::elements::Element;
use insole::sculpt::{SculptLayer, Tile};
use last::{Outline, Size};

const MASS: ParamSpec = spec("mass_kg", "Body mass", "kg", 10.0, 300.0, 75.0);
/// Height of the navicular over the support plane, felt for and measured by hand.
pub const NAVICULAR_HEIGHT: ParamSpec = spec("navicular_height_mm", "Navicular height", "mm", 0.0, 120.0, 45.0);
/// Height of the leg cut over the support plane.
pub const CUT_HEIGHT: ParamSpec = spec("cut_height_mm", "Leg cut", "mm", 40.0, 200.0, crate::DEFAULT_CUT_HEIGHT_MM);

const fn spec(
    id: &'static str,
    label: &'static str,
    unit: &'static str,
    min: f64,
    max: f64,
    default: f64,
) -> ParamSpec {
    ParamSpec { id, label, unit, min, max, default, step: 1.0, help: "" }
}

/// Nothing on a foot is farther than this from its origin, mm.
const REACH_MM: f64 = 1000.0;

impl Edit {
    pub(super) fn apply(&self, case: &mut Case) -> Result<(), EditError> {
        match self {
            Edit::SetTitle { title } => case.title.clone_from(title),
            Edit::SetNotes { notes } => case.notes.clone_from(notes),
            Edit::SetWeightBearing { state } => case.weight_bearing = *state,
            Edit::SetMass { mass_kg } => {
                mass_kg.map(|kg| checked(&MASS, kg)).transpose()?;
                case.mass_kg = *mass_kg;
            }
            Edit::SetSize { size } => {
                checked_size(size.as_ref())?;
                case.size.clone_from(size);
            }
            Edit::AddScan { side, scan, unit, foot_from_scan, kind, heights, notes } => {
                pose_from_rows(foot_from_scan).ok_or(EditError::BadPose)?;
                let fresh = FootCase {
                    kind: *kind,
                    heights: *heights,
                    pose_notes: notes.clone(),
                    ..FootCase::new(scan.clone(), *unit, *foot_from_scan)
                };
                let place = &mut case.feet[*side];
                *place = Some(match place.take() {
                    Some(old) => FootCase {
                        size: old.size,
                        last_name: old.last_name,
                        last: old.last,
                        outline: old.outline,
                        length: old.length,
                        trim: old.trim,
                        shoe: old.shoe,
                        surface: old.surface,
                        elements: old.elements,
                        sculpt: old.sculpt,
                        hardness: old.hardness,
                        ..fresh
                    },
                    None => fresh,
                });
            }
            Edit::AddSecondScan { side, second } => {
                pose_from_rows(&second.foot_from_scan).ok_or(EditError::BadPose)?;
                foot_of(case, *side)?.second = Some(second.clone());
            }
            Edit::SetSecondNavicular { side, height_mm } => {
                height_mm.map(|height| checked(&NAVICULAR_HEIGHT, height)).transpose()?;
                let missing = EditError::NoSecondScan { side: *side };
                foot_of(case, *side)?.second.as_mut().ok_or(missing)?.navicular_height_mm = *height_mm;
            }
            Edit::RemoveSecondScan { side } => foot_of(case, *side)?.second = None,
            Edit::RemoveFoot { side } => {
                case.feet[*side].take().ok_or(EditError::NoFoot { side: *side })?;
            }
            Edit::SwitchSide { side } => {
                let other = side.other();
                let moved = case.feet[*side].take().ok_or(EditError::NoFoot { side: *side })?;
                case.feet[*side] = case.feet[other].take().map(mirrored).transpose()?;
                case.feet[other] = Some(mirrored(moved)?);
            }
            Edit::SetUnit { side, unit } => {
                let foot = foot_of(case, *side)?;
                let scale = DAffine3::from_scale(DVec3::splat(unit.mm() / foot.unit.mm()));
                foot.unit = *unit;
                repose(foot, |pose| scale * pose)?;
            }
            Edit::SetPose { side, foot_from_scan } => {
                let pose = pose_from_rows(foot_from_scan).ok_or(EditError::BadPose)?;
                repose(foot_of(case, *side)?, |_| pose)?;
            }
            Edit::SetCutHeight { side, cut_height_mm } => {
                foot_of(case, *side)?.cut_height_mm = checked(&CUT_HEIGHT, *cut_height_mm)?;
            }
            Edit::SetFoamReturn { side, percent } => {
                foot_of(case, *side)?.foam_return_percent = checked(&foot::FOAM_RETURN, *percent)?;
            }
            Edit::SwitchCleanStep { side, step, on } => {
                let off = &mut foot_of(case, *side)?.steps_off;
                if *on {
                    off.remove(step)
                } else {
                    off.insert(*step)
                };
            }
            Edit::PlaceLandmark { side, landmark, at } => {
                near(at, landmark.label())?;
                foot_of(case, *side)?.landmarks.insert(*landmark, *at);
            }
            Edit::ReleaseLandmark { side, landmark } => {
                foot_of(case, *side)?.landmarks.remove(landmark);
            }
            Edit::SetLast { side, param, value } => {
                set_last(&mut foot_of(case, *side)?.last, param, *value)?;
            }
            Edit::UseLast { side, name, params } => {
                let foot = foot_of(case, *side)?;
                for (param, value) in params {
                    set_last(&mut foot.last, param, Some(*value))?;
                }
                foot.last_name = Some(name.clone());
            }
            Edit::SetOutline { side, points } => {
                points.as_ref().map(|points| checked_outline(points)).transpose()?;
                foot_of(case, *side)?.outline.clone_from(points);
            }
            Edit::SetInsoleLength { side, length } => {
                let foot = foot_of(case, *side)?;
                foot.length = *length;
                foot.trim = None;
            }
            Edit::SetTrim { side, trim } => {
                if let Some(trim) = trim {
                    near(&[trim.lateral_x, trim.medial_x], "the trim line")?;
                }
                foot_of(case, *side)?.trim = *trim;
            }
            Edit::SetShoeInsole { side, shoe } => {
                shoe.as_ref().map(|shoe| checked_outline(&shoe.points)).transpose()?;
                foot_of(case, *side)?.shoe.insole.clone_from(shoe);
            }
            Edit::SetShoe { side, param, value } => {
                set(&mut foot_of(case, *side)?.shoe.params, last::SHOE, "the shoe", param, *value)?;
            }
            Edit::LimitToShoe { side, on } => foot_of(case, *side)?.shoe.let_over = !*on,
            Edit::SetFootSize { side, size } => {
                checked_size(size.as_ref())?;
                foot_of(case, *side)?.size.clone_from(size);
            }
            Edit::SetSizeRule { rule } => {
                if let Some(rule) = rule.as_deref().filter(|rule| last::rules::rule(rule).is_none()) {
                    let known = last::rules::ALL.iter().map(|rule| rule.id).collect::<Vec<_>>().join(", ");
                    let reason = format!("there is no size rule `{rule}`: use {known}");
                    return Err(EditError::BadSize { reason });
                }
                case.size_rule.clone_from(rule);
            }
            Edit::SetSurface { side, param, value } => {
                set(&mut foot_of(case, *side)?.surface, insole::PARAMS, "the bearing surface", param, *value)?;
            }
            Edit::AddElement { side, kind, params, curve, text } => {
                let foot = foot_of(case, *side)?;
                let mut item = ElementItem {
                    id: foot.elements.iter().map(|item| item.id).max().unwrap_or(0) + 1,
                    ..ElementItem::new(kind, base::defaults(element_kind(kind)?.params()))
                };
                change_element(&mut item, params, Some(curve), Some(text))?;
                foot.elements.push(item);
            }
            Edit::SetElement { side, id, params, curve, text } => {
                each_twin(case, *side, *id, |item| change_element(item, params, curve.as_ref(), text.as_ref()))?;
            }
            Edit::TwinElement { side, id, on: true } => twin(case, *side, *id)?,
            Edit::TwinElement { side, id, on: false } => each_twin(case, *side, *id, |item| {
                item.twin = None;
                Ok(())
            })?,
            Edit::SwitchElement { side, id, on } => each_twin(case, *side, *id, |item| {
                item.on = *on;
                Ok(())
            })?,
            Edit::RemoveElement { side, id } => {
                let twin = element_of(case, *side, *id)?.twin;
                foot_of(case, *side)?.elements.retain(|item| item.id != *id);
                if let (Some(twin), Some(other)) = (twin, &mut case.feet[side.other()]) {
                    other.elements.retain(|item| item.twin != Some(twin));
                }
            }
            Edit::Sculpt { side, tiles, .. } => {
                checked_tiles(tiles)?;
                foot_of(case, *side)?.sculpt.put(tiles);
            }
            Edit::SwitchSculpt { side, on } => foot_of(case, *side)?.sculpt.on = *on,
            Edit::SetSculpt { side, layer } => {
                checked_tiles(&layer.tiles)?;
                let mut whole = SculptLayer { on: layer.on, tiles: Vec::new() };
                whole.put(&layer.tiles);
                foot_of(case, *side)?.sculpt = whole;
            }
            Edit::SetBaseHardness { side, shore_a } => {
                foot_of(case, *side)?.hardness.base_shore_a = checked(&hardness::SHORE_A, *shore_a)?;
            }
            Edit::AddRegion { side, name, points, shore_a, transition_mm } => {
                let regions = &mut foot_of(case, *side)?.hardness.regions;
                regions.push(Region {
                    id: regions.iter().map(|region| region.id).max().unwrap_or(0) + 1,
                    name: name.clone(),
                    points: checked_points(points)?,
                    shore_a: checked(&hardness::SHORE_A, *shore_a)?,
                    transition_mm: checked(&hardness::TRANSITION, *transition_mm)?,
                    on: true,
                });
            }
            Edit::SetRegion { side, id, name, points, shore_a, transition_mm, on } => {
                let region = region_of(case, *side, *id)?;
                if let Some(name) = name {
                    region.name.clone_from(name);
                }
                if let Some(points) = points {
                    region.points = checked_points(points)?;
                }
                if let Some(value) = shore_a {
                    region.shore_a = checked(&hardness::SHORE_A, *value)?;
                }
                if let Some(value) = transition_mm {
                    region.transition_mm = checked(&hardness::TRANSITION, *value)?;
                }
                if let Some(on) = on {
                    region.on = *on;
                }
            }
            Edit::RemoveRegion { side, id } => {
                region_of(case, *side, *id)?;
                foot_of(case, *side)?.hardness.regions.retain(|region| region.id != *id);
            }
            Edit::Together { edits, .. } => {
                for edit in edits {
                    edit.apply(case)?;
                }
            }
        }
        Ok(())
    }
}

fn foot_of(case: &mut Case, side: Side) -> Result<&mut FootCase, EditError> {
    case.feet[side].as_mut().ok_or(EditError::NoFoot { side })
}

fn element_of(case: &mut Case, side: Side, id: u32) -> Result<&mut ElementItem, EditError> {
    let items = &mut foot_of(case, side)?.elements;
    items.iter_mut().find(|item| item.id == id).ok_or(EditError::NoSuchItem { side, what: "element", id })
}

fn region_of(case: &mut Case, side: Side, id: u32) -> Result<&mut Region, EditError> {
    let regions = &mut foot_of(case, side)?.hardness.regions;
    regions.iter_mut().find(|region| region.id == id).ok_or(EditError::NoSuchItem { side, what: "region", id })
}

fn element_kind(kind: &str) -> Result<&'static dyn Element, EditError> {
    insole::elements::by_id(kind).ok_or_else(|| EditError::UnknownElement {
        kind: kind.to_owned(),
        known: insole::elements::ALL.iter().map(|element| element.id()).collect::<Vec<_>>().join(", "),
    })
}

fn change_element(
    item: &mut ElementItem,
    params: &Params,
    curve: Option<&Vec<[f64; 2]>>,
    text: Option<&String>,
) -> Result<(), EditError> {
    let element = element_kind(&item.kind)?;
    set_all(&mut item.params, element.params(), element.id(), params)?;
    if let Some(curve) = curve {
        if !curve.is_empty() && !element.is_drawn() {
            return Err(EditError::NotDrawn { what: element.label() });
        }
        item.curve = if curve.is_empty() { Vec::new() } else { checked_points(curve)? };
        lay_on_curve(item, element.params());
    }
    if let Some(text) = text {
        if text.chars().count() > MOST_LETTERS {
            return Err(EditError::LongText { most: MOST_LETTERS });
        }
        item.text.clone_from(text);
    }
    Ok(())
}

/// What is drawn lies where its curve does: its place is the middle of that, so that it is taken hold of there.
fn lay_on_curve(item: &mut ElementItem, specs: &[ParamSpec]) {
    let Some(&first) = item.curve.first() else { return };
    let ends = |axis: usize| item.curve.iter().fold([first[axis]; 2], |[lo, hi], p| [lo.min(p[axis]), hi.max(p[axis])]);
    for (axis, id) in ["x_mm", "y_mm"].into_iter().enumerate() {
        let [lo, hi] = ends(axis);
        let middle = (lo + hi) / 2.0;
        if specs.iter().any(|spec| spec.id == id && spec.accepts(middle)) {
            item.params.insert(id.to_owned(), middle);
        }
    }
}

/// Longer texts find no room on an insole.
const MOST_LETTERS: usize = 40;

/// Changes an element and, where it has one, its twin on the other foot. Feet are designed mirrored, so that the same
/// numbers are the mirror image.
fn each_twin(
    case: &mut Case,
    side: Side,
    id: u32,
    change: impl Fn(&mut ElementItem) -> Result<(), EditError>,
) -> Result<(), EditError> {
    let item = element_of(case, side, id)?;
    let twin = item.twin;
    change(item)?;
    if let (Some(twin), Some(other)) = (twin, &mut case.feet[side.other()]) {
        other.elements.iter_mut().filter(|item| item.twin == Some(twin)).try_for_each(change)?;
    }
    Ok(())
}

/// Gives an element a twin: the other foot's own element of that kind that has none yet, as this one is now, or else a copy.
fn twin(case: &mut Case, side: Side, id: u32) -> Result<(), EditError> {
    let number = Side::ALL.iter().filter_map(|&side| case.feet[side].as_ref()).flat_map(|foot| &foot.elements);
    let number = number.filter_map(|item| item.twin).max().unwrap_or(0) + 1;
    let other = side.other();
    foot_of(case, other)?;
    let item = element_of(case, side, id)?;
    if item.twin.is_some() {
        return Ok(());
    }
    item.twin = Some(number);
    let copy = mirrored_item(item.clone());
    let items = &mut foot_of(case, other)?.elements;
    match items.iter_mut().find(|item| item.kind == copy.kind && item.twin.is_none()) {
        Some(item) => *item = ElementItem { id: item.id, ..copy },
        None => {
            let id = items.iter().map(|item| item.id).max().unwrap_or(0) + 1;
            items.push(ElementItem { id, ..copy });
        }
    }
    Ok(())
}

/// An element as it is on the other foot: the same numbers, but for writing, which is not mirrored.
#[must_use]
pub fn mirrored_item(mut item: ElementItem) -> ElementItem {
    if let Some(foot) = item.params.get_mut(insole::elements::WRITTEN_FOR) {
        *foot = 1.0 - *foot;
    }
    item
}

fn checked_tiles(tiles: &[Tile]) -> Result<(), EditError> {
    tiles.iter().try_for_each(|tile| tile.check()).map_err(|error| EditError::BadTile { reason: error.to_string() })
}

/// Moves the pose and carries hand-placed landmarks along, so that they stay on the skin they were put on.
fn repose(foot: &mut FootCase, change: impl FnOnce(DAffine3) -> DAffine3) -> Result<(), EditError> {
    let before = pose_from_rows(&foot.foot_from_scan).ok_or(EditError::BadPose)?;
    let after = change(before);
    let moved = after * before.inverse();
    foot.foot_from_scan = rows_from_pose(&after);
    pose_from_rows(&foot.foot_from_scan).ok_or(EditError::BadPose)?;
    for at in foot.landmarks.values_mut() {
        *at = moved.transform_point3(DVec3::from_array(*at)).to_array();
    }
    Ok(())
}

/// A foot as one of the other side.
fn mirrored(mut foot: FootCase) -> Result<FootCase, EditError> {
    let mirror = DAffine3::from_scale(DVec3::new(1.0, -1.0, 1.0));
    foot.elements = foot.elements.into_iter().map(mirrored_item).collect();
    repose(&mut foot, |pose| mirror * pose)?;
    if let Some(second) = &mut foot.second {
        let pose = pose_from_rows(&second.foot_from_scan).ok_or(EditError::BadPose)?;
        second.foot_from_scan = rows_from_pose(&(mirror * pose));
    }
    Ok(foot)
}

fn checked(spec: &ParamSpec, value: f64) -> Result<f64, EditError> {
    if spec.accepts(value) {
        return Ok(value);
    }
    Err(EditError::OutOfRange { label: spec.label.to_owned(), value, min: spec.min, max: spec.max, unit: spec.unit })
}

fn checked_points(points: &[[f64; 2]]) -> Result<Vec<[f64; 2]>, EditError> {
    if points.len() < 3 {
        return Err(EditError::TooFewPoints { points: points.len() });
    }
    points.iter().try_for_each(|point| near(point, "a point of the region"))?;
    Ok(points.to_vec())
}

fn checked_outline(points: &[[f64; 2]]) -> Result<(), EditError> {
    points.iter().try_for_each(|point| near(point, "a point of the outline"))?;
    let points: Vec<DVec2> = points.iter().map(|&point| point.into()).collect();
    Outline::through(&points).map(|_| ()).map_err(|error| EditError::BadOutline { reason: error.to_string() })
}

fn checked_size(size: Option<&Size>) -> Result<(), EditError> {
    let checked = size.map(Size::check).transpose();
    checked.map(|_| ()).map_err(|error| EditError::BadSize { reason: error.to_string() })
}

fn near(at: &[f64], what: &str) -> Result<(), EditError> {
    let fits = at.iter().all(|n| n.is_finite() && n.abs() <= REACH_MM);
    if fits { Ok(()) } else { Err(EditError::BadPlace { what: what.to_owned() }) }
}

fn set(params: &mut Params, specs: &[ParamSpec], of: &str, id: &str, value: Option<f64>) -> Result<(), EditError> {
    let spec = specs.iter().find(|spec| spec.id == id).ok_or_else(|| EditError::UnknownParam {
        of: of.to_owned(),
        param: id.to_owned(),
        known: specs.iter().map(|spec| spec.id).collect::<Vec<_>>().join(", "),
    })?;
    match value {
        Some(value) => params.insert(id.to_owned(), checked(spec, value)?),
        None => params.remove(id),
    };
    Ok(())
}

/// Sets a number of the last, in plan or of its bottom.
fn set_last(params: &mut Params, id: &str, value: Option<f64>) -> Result<(), EditError> {
    let known = || last::PARAMS.iter().chain(last::PROFILE).map(|spec| spec.id).collect::<Vec<_>>().join(", ");
    let spec = last::param(id).ok_or_else(|| EditError::UnknownParam {
        of: "the last".to_owned(),
        param: id.to_owned(),
        known: known(),
    })?;
    match value {
        Some(value) => {
            last::check(spec, value).map_err(|error| EditError::BadLast { reason: error.to_string() })?;
            params.insert(id.to_owned(), value)
        }
        None => params.remove(id),
    };
    Ok(())
}

fn set_all(params: &mut Params, specs: &[ParamSpec], of: &str, values: &Params) -> Result<(), EditError> {
    values.iter().try_for_each(|(id, value)| set(params, specs, of, id, Some(*value)))
}
