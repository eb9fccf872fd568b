mod apply;
mod error;

pub use apply::{CUT_HEIGHT, NAVICULAR_HEIGHT, mirrored_item};
pub use error::EditError;

use crate::{Case, ScanRef, SecondScan};
use base::{LengthUnit, Note, ParamSpec, Params, Side};
use foot::{CleanStep, LandmarkId, ScanKind, WeightBearing};
use insole::sculpt::{self, SculptLayer};
use last::{InsoleLength, ShoeInsole, Size, Trim};
use scan::HeightScale;
use serde::{Deserialize, Serialize};

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
        /// Its id in `last::PARAMS` or `last::PROFILE`.
        param: String,
        /// The number; `None`: fitted or by default again.
        value: Option<f64>,
    },
    /// Takes the numbers of a named last; what is fitted to the foot stays as it is unless the last has a number for it.
    UseLast {
        /// The side.
        side: Side,
        /// Its name.
        name: String,
        /// Its numbers, ids of `last::PARAMS` and `last::PROFILE`.
        params: Params,
    },
    /// Draws the outline by hand, or lets it be fitted again.
    SetOutline {
        /// The side.
        side: Side,
        /// Knots of the whole outline, before it is trimmed; `None`: fitted.
        points: Option<Vec<[f64; 2]>>,
    },
    /// Chooses how far forward the insole reaches; its trim line goes where that length has it.
    SetInsoleLength {
        /// The side.
        side: Side,
        /// The length.
        length: InsoleLength,
    },
    /// Moves the trim line by hand, or back to where the length has it.
    SetTrim {
        /// The side.
        side: Side,
        /// The line; `None`: by the length.
        trim: Option<Trim>,
    },
    /// Lays the shoe's own insole on the foot, or takes it away.
    SetShoeInsole {
        /// The side.
        side: Side,
        /// The insole as traced.
        shoe: Option<ShoeInsole>,
    },
    /// States a number of the shoe.
    SetShoe {
        /// The side.
        side: Side,
        /// Its id in `last::SHOE`.
        param: String,
        /// The number; `None`: not measured, or by default.
        value: Option<f64>,
    },
    /// Keeps the fitted outline inside the shoe's own insole, or lets it go over.
    LimitToShoe {
        /// The side.
        side: Side,
        /// Whether it is kept inside.
        on: bool,
    },
    /// Chooses a size for one foot, where it differs from the pair's.
    SetFootSize {
        /// The side.
        side: Side,
        /// The size; `None`: the pair's.
        size: Option<Size>,
    },
    /// Chooses the rule by which a size is proposed.
    SetSizeRule {
        /// Its id in `last::rules::ALL`; `None`: by the allowance set here.
        rule: Option<String>,
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
        /// Points of the curve it is drawn to; empty: not drawn.
        #[serde(default)]
        curve: Vec<[f64; 2]>,
        /// What it says.
        #[serde(default)]
        text: String,
    },
    /// Changes an element, and its twin on the other foot with it.
    SetElement {
        /// The side.
        side: Side,
        /// The element's id in this foot.
        id: u32,
        /// The numbers to set; others stay.
        #[serde(default)]
        params: Params,
        /// Points of the curve it is drawn to; `None`: they stay.
        #[serde(default)]
        curve: Option<Vec<[f64; 2]>>,
        /// What it says; `None`: that stays.
        #[serde(default)]
        text: Option<String>,
    },
    /// Lets an element and one on the other foot change together, mirrored, or each by itself from now on. Where the other
    /// foot has none yet it is given a copy.
    TwinElement {
        /// The side.
        side: Side,
        /// The element's id in this foot.
        id: u32,
        /// Whether they change together.
        on: bool,
    },
    /// Switches an element on or off, and its twin.
    SwitchElement {
        /// The side.
        side: Side,
        /// The element's id in this foot.
        id: u32,
        /// Whether it acts.
        on: bool,
    },
    /// Takes an element away, and its twin.
    RemoveElement {
        /// The side.
        side: Side,
        /// The element's id in this foot.
        id: u32,
    },
    /// Puts tiles of the sculpted layer in place of those at the same places: one stroke of the brush.
    Sculpt {
        /// The side.
        side: Side,
        /// What the stroke did, in a word.
        tool: sculpt::Tool,
        /// The tiles as they are afterwards.
        tiles: Vec<sculpt::Tile>,
    },
    /// Switches the sculpted layer on or off.
    SwitchSculpt {
        /// The side.
        side: Side,
        /// Whether it acts.
        on: bool,
    },
    /// Replaces the sculpted layer as a whole.
    SetSculpt {
        /// The side.
        side: Side,
        /// The layer.
        layer: SculptLayer,
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

impl Edit {
    /// Adds an element of a kind, neither drawn nor written.
    #[must_use]
    pub fn add_element(side: Side, kind: &str, params: Params) -> Edit {
        Edit::AddElement { side, kind: kind.to_owned(), params, curve: Vec::new(), text: String::new() }
    }

    /// Sets numbers of an element.
    #[must_use]
    pub fn set_element(side: Side, id: u32, params: Params) -> Edit {
        Edit::SetElement { side, id, params, curve: None, text: None }
    }

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
            Edit::SetLast { param, .. } => {
                format!("set {}", last::param(param).map_or(param.as_str(), |spec| spec.label))
            }
            Edit::UseLast { name, .. } => format!("take last {name}"),
            Edit::SetOutline { points: Some(_), .. } => "change outline".into(),
            Edit::SetOutline { points: None, .. } => "fit outline again".into(),
            Edit::SetInsoleLength { length, .. } => format!("insole {}", length.label().to_ascii_lowercase()),
            Edit::SetTrim { .. } => "move trim line".into(),
            Edit::SetShoeInsole { shoe: Some(_), .. } => "lay shoe's insole".into(),
            Edit::SetShoeInsole { shoe: None, .. } => "remove shoe's insole".into(),
            Edit::SetShoe { param, .. } => format!("set {}", label_of(last::SHOE, param)),
            Edit::LimitToShoe { on: true, .. } => "keep inside the shoe".into(),
            Edit::LimitToShoe { on: false, .. } => "let go over the shoe".into(),
            Edit::SetFootSize { side, .. } => format!("choose {} size", side.word()),
            Edit::SetSizeRule { .. } => "choose size rule".into(),
            Edit::SetSurface { param, .. } => format!("set {}", label_of(insole::PARAMS, param)),
            Edit::AddElement { kind, .. } => {
                format!("add {}", insole::elements::by_id(kind).map_or(kind.as_str(), |element| element.label()))
            }
            Edit::SetElement { .. } => "change element".into(),
            Edit::SwitchElement { on, .. } => if *on { "switch element on" } else { "switch element off" }.into(),
            Edit::RemoveElement { .. } => "remove element".into(),
            Edit::TwinElement { on: true, .. } => "change element on both feet".into(),
            Edit::TwinElement { on: false, .. } => "change element by itself".into(),
            Edit::Sculpt { tool, .. } => format!("{} with the brush", tool.label().to_ascii_lowercase()),
            Edit::SwitchSculpt { on, .. } => format!("switch sculpting {}", if *on { "on" } else { "off" }),
            Edit::SetSculpt { layer, .. } if layer.is_empty() => "take sculpting away".into(),
            Edit::SetSculpt { .. } => "set sculpting".into(),
            Edit::SetBaseHardness { .. } => "set base hardness".into(),
            Edit::AddRegion { .. } => "add hardness region".into(),
            Edit::SetRegion { .. } => "change hardness region".into(),
            Edit::RemoveRegion { .. } => "remove hardness region".into(),
            Edit::Together { label, .. } => label.clone(),
        }
    }
}

fn label_of<'a>(specs: &'a [ParamSpec], id: &'a str) -> &'a str {
    specs.iter().find(|spec| spec.id == id).map_or(id, |spec| spec.label)
}
