use crate::{Case, FootCase, ScanRef, SecondScan, pose_from_rows, rows_from_pose};
use base::{LengthUnit, Note, ParamSpec, Params, Side};
use foot::{CleanStep, LandmarkId, ScanKind, WeightBearing};
use glam::{DAffine3, DVec3};
use hardness::Region;
use insole::ElementItem;
use last::Size;
use scan::HeightScale;
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// One change to a case. What the page, the headless bench, undo and replay all speak.
///
/// Coordinates are in the foot frame of the side named, mm. A value out of its range is refused, never clipped.
///
/// ```
/// # use case::Edit;
/// let edit: Edit = serde_json::from_str(r#"{"set_title": {"title": "Left boot"}}"#)?;
/// # Ok::<(), serde_json::Error>(())
/// ```
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Edit {
    /// Names the case.
    SetTitle {
        /// The practice's own label.
        title: String,
    },
    /// Writes the notes of the job sheet.
    SetNotes {
        /// Free text.
        notes: String,
    },
    /// States how the feet were loaded when scanned.
    SetWeightBearing {
        /// The state; `None`: not known.
        state: Option<WeightBearing>,
    },
    /// States the body mass.
    SetMass {
        /// kg, 10…300; `None`: not known.
        mass_kg: Option<f64>,
    },
    /// Chooses the pair's shoe size.
    SetSize {
        /// The size; `None`: the one proposed from the longer foot.
        size: Option<Size>,
    },
    /// Puts a scanned foot on a side. A design already there stays and is laid on the new scan; landmarks placed by
    /// hand belong to the old scan and go with it.
    AddScan {
        /// The side.
        side: Side,
        /// The file, by content.
        scan: ScanRef,
        /// Unit of the file's numbers.
        unit: LengthUnit,
        /// Scan file's coordinates → foot frame, row-major.
        foot_from_scan: [f64; 16],
        /// What it shows.
        #[serde(default)]
        kind: ScanKind,
        /// Its scale if it is a height image.
        #[serde(default)]
        heights: Option<HeightScale>,
        /// What the finder said about how it lies.
        #[serde(default)]
        notes: Vec<Note>,
    },
    /// Puts a second scan of a foot beside the first, in another state of loading; replaces the one before.
    AddSecondScan {
        /// The side.
        side: Side,
        /// The scan.
        second: SecondScan,
    },
    /// States how high the navicular was felt in the state of the second scan.
    SetSecondNavicular {
        /// The side.
        side: Side,
        /// mm over the support plane, 0…120; `None`: not known.
        height_mm: Option<f64>,
    },
    /// Takes the second scan of a foot away.
    RemoveSecondScan {
        /// The side.
        side: Side,
    },
    /// Takes a foot and its design out of the case.
    RemoveFoot {
        /// The side.
        side: Side,
    },
    /// Declares that the foot found to be `side` is the other one: it moves over, mirrored, and changes places with the
    /// one that is there.
    SwitchSide {
        /// The side it is on now.
        side: Side,
    },
    /// Declares another unit for the scan's numbers.
    SetUnit {
        /// The side.
        side: Side,
        /// The unit.
        unit: LengthUnit,
    },
    /// Sets the pose of the scan by hand; landmarks placed by hand stay on the skin they were put on.
    SetPose {
        /// The side.
        side: Side,
        /// Scan file's coordinates → foot frame, row-major.
        foot_from_scan: [f64; 16],
    },
    /// Cuts the leg at another height.
    SetCutHeight {
        /// The side.
        side: Side,
        /// mm above the support plane, 40…200.
        cut_height_mm: f64,
    },
    /// States how much of an impression's depth the foam gave back.
    SetFoamReturn {
        /// The side.
        side: Side,
        /// Per cent, see `foot::FOAM_RETURN`.
        percent: f64,
    },
    /// Switches a step of cleaning on or off.
    SwitchCleanStep {
        /// The side.
        side: Side,
        /// The step.
        step: CleanStep,
        /// Whether it is done.
        on: bool,
    },
    /// Places a landmark by hand.
    PlaceLandmark {
        /// The side.
        side: Side,
        /// Which.
        landmark: LandmarkId,
        /// Where.
        at: [f64; 3],
    },
    /// Gives a landmark back to the finder.
    ReleaseLandmark {
        /// The side.
        side: Side,
        /// Which.
        landmark: LandmarkId,
    },
    /// Decides a number of the last and outline.
    SetLast {
        /// The side.
        side: Side,
        /// Its id in `last::PARAMS`.
        param: String,
        /// The number; `None`: fitted or by default again.
        value: Option<f64>,
    },
    /// Decides a number of the bearing surface.
    SetSurface {
        /// The side.
        side: Side,
        /// Its id in `insole::PARAMS`.
        param: String,
        /// The number; `None`: computed or by default again.
        value: Option<f64>,
    },
    /// Adds an element on top.
    AddElement {
        /// The side.
        side: Side,
        /// Its id in `insole::elements::ALL`.
        kind: String,
        /// Its numbers; what is missing has its default.
        params: Params,
    },
    /// Sets numbers of an element.
    SetElement {
        /// The side.
        side: Side,
        /// The element's id in this foot.
        id: u32,
        /// The numbers to set; others stay.
        params: Params,
    },
    /// Switches an element on or off.
    SwitchElement {
        /// The side.
        side: Side,
        /// The element's id in this foot.
        id: u32,
        /// Whether it acts.
        on: bool,
    },
    /// Takes an element away.
    RemoveElement {
        /// The side.
        side: Side,
        /// The element's id in this foot.
        id: u32,
    },
    /// Sets the hardness outside all regions.
    SetBaseHardness {
        /// The side.
        side: Side,
        /// Shore A.
        shore_a: f64,
    },
    /// Adds a hardness region over those before.
    AddRegion {
        /// The side.
        side: Side,
        /// Its name.
        name: String,
        /// At least three points of its closed curve.
        points: Vec<[f64; 2]>,
        /// Target Shore A.
        shore_a: f64,
        /// Width of the transition across its curve, mm.
        transition_mm: f64,
    },
    /// Changes a region; what is `None` stays.
    SetRegion {
        /// The side.
        side: Side,
        /// The region's id in this foot.
        id: u32,
        /// Its name.
        #[serde(default)]
        name: Option<String>,
        /// All its points.
        #[serde(default)]
        points: Option<Vec<[f64; 2]>>,
        /// Target Shore A.
        #[serde(default)]
        shore_a: Option<f64>,
        /// Width of the transition, mm.
        #[serde(default)]
        transition_mm: Option<f64>,
        /// Whether it acts.
        #[serde(default)]
        on: Option<bool>,
    },
    /// Takes a region away.
    RemoveRegion {
        /// The side.
        side: Side,
        /// The region's id in this foot.
        id: u32,
    },
    /// Several edits as one step.
    Together {
        /// What they do, as shown beside undo.
        label: String,
        /// The edits, in order.
        edits: Vec<Edit>,
    },
}

/// Why an edit does not fit the case.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum EditError {
    /// There is no foot on that side.
    #[error("there is no {} foot in this case: bring in its scan first", side.word())]
    NoFoot {
        /// The side.
        side: Side,
    },
    /// There is no second scan on that side.
    #[error("the {} foot has no second scan: bring it in first", side.word())]
    NoSecondScan {
        /// The side.
        side: Side,
    },
    /// A number is outside its range.
    #[error("{label} is {value} {unit}, outside {min} to {max} {unit}: choose a value in that range")]
    OutOfRange {
        /// Label of the number.
        label: String,
        /// The value asked for.
        value: f64,
        /// Least accepted.
        min: f64,
        /// Greatest accepted.
        max: f64,
        /// Unit.
        unit: &'static str,
    },
    /// No such parameter.
    #[error("{of} has no number called `{param}`; it has: {known}")]
    UnknownParam {
        /// Whose number.
        of: String,
        /// The id asked for.
        param: String,
        /// The ids there are.
        known: String,
    },
    /// No such kind of element.
    #[error("there is no element called `{kind}`; there are: {known}")]
    UnknownElement {
        /// The kind asked for.
        kind: String,
        /// The kinds there are.
        known: String,
    },
    /// No such element or region.
    #[error("the {} foot has no {what} number {id}", side.word())]
    NoSuchItem {
        /// The side.
        side: Side,
        /// `element` or `region`.
        what: &'static str,
        /// The id asked for.
        id: u32,
    },
    /// A pose that is not one.
    #[error(
        "the pose must be 16 finite numbers, row by row, with a last row of 0 0 0 1 and a matrix that can be inverted"
    )]
    BadPose,
    /// Coordinates that are not on any foot.
    #[error(
        "{what} lies at a place that is not a finite number within 1 m of the foot: give millimetres in the foot frame"
    )]
    BadPlace {
        /// What was to be placed.
        what: String,
    },
    /// A region with too few points.
    #[error("a hardness region needs at least 3 points, not {points}")]
    TooFewPoints {
        /// How many were given.
        points: usize,
    },
    /// A shoe size that is not one.
    #[error("{reason}")]
    BadSize {
        /// What is wrong with it and what to do.
        reason: String,
    },
}

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
    /// The case with this edit applied; `case` itself is untouched.
    ///
    /// # Errors
    /// What does not fit, with the range or the names that would.
    pub fn applied_to(&self, case: &Case) -> Result<Case, EditError> {
        let mut next = case.clone();
        self.apply(&mut next)?;
        Ok(next)
    }

    /// What was done, in a few words, for undo and the log.
    #[must_use]
    pub fn label(&self) -> String {
        match self {
            Edit::SetTitle { .. } => "name the case".into(),
            Edit::SetNotes { .. } => "write notes".into(),
            Edit::SetWeightBearing { .. } => "state weight bearing".into(),
            Edit::SetMass { .. } => "state body mass".into(),
            Edit::SetSize { .. } => "choose size".into(),
            Edit::AddScan { side, .. } => format!("add {} scan", side.word()),
            Edit::AddSecondScan { side, .. } => format!("add second {} scan", side.word()),
            Edit::SetSecondNavicular { .. } => "state height of navicular".into(),
            Edit::RemoveSecondScan { side } => format!("remove second {} scan", side.word()),
            Edit::SetFoamReturn { .. } => "state how much foam came back".into(),
            Edit::SwitchCleanStep { step, on: true, .. } => format!("do again: {}", step.label().to_ascii_lowercase()),
            Edit::SwitchCleanStep { step, on: false, .. } => {
                format!("leave out: {}", step.label().to_ascii_lowercase())
            }
            Edit::RemoveFoot { side } => format!("remove {} foot", side.word()),
            Edit::SwitchSide { side } => format!("declare {} foot", side.other().word()),
            Edit::SetUnit { unit, .. } => format!("read scan in {}", unit.symbol()),
            Edit::SetPose { .. } => "set pose".into(),
            Edit::SetCutHeight { .. } => "cut leg".into(),
            Edit::PlaceLandmark { landmark, .. } => format!("place {}", landmark.label()),
            Edit::ReleaseLandmark { landmark, .. } => format!("find {} again", landmark.label()),
            Edit::SetLast { param, .. } => format!("set {}", label_of(last::PARAMS, param)),
            Edit::SetSurface { param, .. } => format!("set {}", label_of(insole::PARAMS, param)),
            Edit::AddElement { kind, .. } => {
                format!("add {}", insole::elements::by_id(kind).map_or(kind.as_str(), |element| element.label()))
            }
            Edit::SetElement { .. } => "change element".into(),
            Edit::SwitchElement { on, .. } => if *on { "switch element on" } else { "switch element off" }.into(),
            Edit::RemoveElement { .. } => "remove element".into(),
            Edit::SetBaseHardness { .. } => "set base hardness".into(),
            Edit::AddRegion { .. } => "add hardness region".into(),
            Edit::SetRegion { .. } => "change hardness region".into(),
            Edit::RemoveRegion { .. } => "remove hardness region".into(),
            Edit::Together { label, .. } => label.clone(),
        }
    }

    fn apply(&self, case: &mut Case) -> Result<(), EditError> {
        match self {
            Edit::SetTitle { title } => case.title.clone_from(title),
            Edit::SetNotes { notes } => case.notes.clone_from(notes),
            Edit::SetWeightBearing { state } => case.weight_bearing = *state,
            Edit::SetMass { mass_kg } => {
                mass_kg.map(|kg| checked(&MASS, kg)).transpose()?;
                case.mass_kg = *mass_kg;
            }
            Edit::SetSize { size } => {
                if let Some(size) = size {
                    size.check().map_err(|error| EditError::BadSize { reason: error.to_string() })?;
                }
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
                        last: old.last,
                        surface: old.surface,
                        elements: old.elements,
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
                set(&mut foot_of(case, *side)?.last, last::PARAMS, "the last", param, *value)?;
            }
            Edit::SetSurface { side, param, value } => {
                set(&mut foot_of(case, *side)?.surface, insole::PARAMS, "the bearing surface", param, *value)?;
            }
            Edit::AddElement { side, kind, params } => {
                let foot = foot_of(case, *side)?;
                let specs = element_specs(kind)?;
                let mut item = ElementItem {
                    id: foot.elements.iter().map(|item| item.id).max().unwrap_or(0) + 1,
                    kind: kind.clone(),
                    on: true,
                    params: base::defaults(specs),
                };
                set_all(&mut item.params, specs, kind, params)?;
                foot.elements.push(item);
            }
            Edit::SetElement { side, id, params } => {
                let item = element_of(case, *side, *id)?;
                let specs = element_specs(&item.kind)?;
                let kind = item.kind.clone();
                set_all(&mut item.params, specs, &kind, params)?;
            }
            Edit::SwitchElement { side, id, on } => element_of(case, *side, *id)?.on = *on,
            Edit::RemoveElement { side, id } => {
                element_of(case, *side, *id)?;
                foot_of(case, *side)?.elements.retain(|item| item.id != *id);
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

fn element_specs(kind: &str) -> Result<&'static [ParamSpec], EditError> {
    insole::elements::by_id(kind).map(|element| element.params()).ok_or_else(|| EditError::UnknownElement {
        kind: kind.to_owned(),
        known: insole::elements::ALL.iter().map(|element| element.id()).collect::<Vec<_>>().join(", "),
    })
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

fn set_all(params: &mut Params, specs: &[ParamSpec], of: &str, values: &Params) -> Result<(), EditError> {
    values.iter().try_for_each(|(id, value)| set(params, specs, of, id, Some(*value)))
}

fn label_of<'a>(specs: &'a [ParamSpec], id: &'a str) -> &'a str {
    specs.iter().find(|spec| spec.id == id).map_or(id, |spec| spec.label)
}
