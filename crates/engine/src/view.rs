//! What a client shows: plain data, in the foot frame of its side, mm. A client draws it and sends edits back;
//! it never computes a measure or a surface itself.

use base::{BySide, LengthUnit, Note, ParamSpec, Severity, Side};
use foot::{CleanStep, LandmarkId, ScanKind, WeightBearing};
use scan::HeightScale;
use serde::{Deserialize, Serialize};

pub use crate::compare::{ALIKE_MM, CompareView, CompareWith};
pub use crate::measured::{MeasuredPlace, MeasuredView};
pub use making::MadeFile;

pub use crate::view_outline::{OutlineHand, OutlineRequest, OutlineView, ResidualView, WidthView};

/// Everything about a case but the big buffers.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Snapshot {
    /// Grows with every change; results of an older revision are stale.
    pub revision: u64,
    /// The practice's label of the case.
    pub title: String,
    /// Notes for the job sheet.
    pub notes: String,
    /// State in which the feet were scanned, if stated.
    pub weight_bearing: Option<WeightBearing>,
    /// Body mass, kg, if stated.
    pub mass_kg: Option<f64>,
    /// The size and how it came about.
    pub size: Option<SizeView>,
    /// What undo would take back.
    pub undo: Option<String>,
    /// What redo would do again.
    pub redo: Option<String>,
    /// The feet.
    pub feet: BySide<Option<FootView>>,
    /// Why a foot that is in the case cannot be derived, in words.
    pub problems: BySide<Option<String>>,
    /// Advice, the gravest first.
    pub findings: Vec<FindingView>,
}

/// The shoe size used.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SizeView {
    /// `paris:42`.
    pub used: String,
    /// Chosen by the practitioner, or proposed from the longer foot.
    pub chosen: bool,
    /// How it was proposed, in words.
    pub reason: String,
    /// Length of the last, mm.
    pub last_length_mm: f64,
    /// Every system with the same length in its own numbers.
    pub systems: Vec<SystemView>,
    /// Rule by which it is proposed.
    pub rule: String,
    /// What every rule says of the foot that decides: texts disagree.
    pub rules: Vec<RuleView>,
    /// Mondopoint of that foot as marked on a shoe, with its width: `265/102`.
    pub mondopoint: Option<String>,
}

/// What one rule makes of a foot length.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RuleView {
    /// Id: `paris_15`.
    pub id: String,
    /// Label as shown.
    pub label: String,
    /// The rule as written.
    pub formula: String,
    /// The number before it is rounded up.
    pub exact: f64,
    /// The smallest size that holds the foot; `None` where the scale has none.
    pub size: Option<f64>,
    /// Where it comes from.
    pub source: String,
}

/// One size system.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SystemView {
    /// Id: `paris`.
    pub id: String,
    /// Label as shown.
    pub label: String,
    /// Step between sizes.
    pub step: f64,
    /// The size used, in this system, rounded to its step.
    pub value: f64,
    /// Where the scale comes from.
    pub source: String,
}

/// One foot and its insole.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FootView {
    /// File name of the scan.
    pub scan_name: String,
    /// Name of the scan file's format.
    pub format: String,
    /// Unit the scan was read in.
    pub unit: LengthUnit,
    /// What the scan shows.
    pub kind: ScanKind,
    /// The scale of a height image.
    pub heights: Option<HeightScale>,
    /// Whether the top of the foot was scanned.
    pub has_dorsum: bool,
    /// How much of an impression's depth the foam gave back.
    pub foam_return: ParamView,
    /// What was noticed on the way in, but for the steps of cleaning.
    pub intake_notes: Vec<Note>,
    /// The steps of cleaning, in their order.
    pub steps: Vec<StepView>,
    /// Outlines of the holes of the sole that were closed, on the sole.
    pub closed: Vec<Vec<[f32; 3]>>,
    /// The skin where the leg is cut; empty without a leg.
    pub leg_cut: Vec<[f32; 3]>,
    /// Leg cut above the support plane, mm.
    pub cut_height_mm: f64,
    /// Revision of each stage's buffers: fetch again what has changed.
    pub revs: Revs,
    /// Landmarks, heel to toe.
    pub landmarks: Vec<LandmarkView>,
    /// Landmarks that were not found.
    pub missing: Vec<MissingView>,
    /// Measures, in the order of a foot report.
    pub measures: Vec<MeasureView>,
    /// The same foot in another state of loading.
    pub second: Option<SecondView>,
    /// Outline of the foot in plan, closed.
    pub silhouette: Vec<[f32; 2]>,
    /// Contours of the bearing area.
    pub print: Vec<Vec<[f32; 2]>>,
    /// The insole's outline, closed, counter-clockwise.
    pub outline: Vec<[f32; 2]>,
    /// What it came from, and the shoe.
    pub edge: OutlineView,
    /// Insole length and breadths, label and mm.
    pub outline_sizes: Vec<(String, f64)>,
    /// Largest and mean distance between fitted outline and the foot's own, mm.
    pub fit_residual_mm: Option<(f64, f64)>,
    /// Size of this foot's insole: `paris:42`, and whether it was chosen apart from the pair's.
    pub size: Option<(String, bool)>,
    /// Name of the last whose numbers were taken.
    pub last_name: Option<String>,
    /// Numbers of the last and outline.
    pub last: Vec<ParamView>,
    /// Numbers of the last's bottom, its joint girth first.
    pub profile: Vec<ParamView>,
    /// Numbers of the bearing surface.
    pub surface: Vec<ParamView>,
    /// How the arch support height came about.
    pub arch: ArchView,
    /// Thinnest place of the insole: mm and where.
    pub thinnest: (f64, [f64; 2]),
    /// Elements in order.
    pub elements: Vec<ElementView>,
    /// Whether the sculpted layer acts; `None`: nothing is sculpted.
    pub sculpted: Option<bool>,
    /// How it differs from what it is compared with; `None` while it is not.
    pub compare: Option<CompareView>,
    /// Shore A outside all regions.
    pub base_shore_a: f64,
    /// Hardness regions in order.
    pub regions: Vec<RegionView>,
    /// Least and greatest Shore A on this insole.
    pub shore_a_range: (f64, f64),
    /// Steepest change of hardness, Shore A per mm, and where.
    pub steepest: (f64, [f64; 2]),
    /// Everything that can be taken hold of.
    pub handles: Vec<HandleView>,
}

/// Revisions of what is fetched as buffers.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Revs {
    /// The foot's mesh.
    pub foot: u64,
    /// The insole's mesh and thickness.
    pub surface: u64,
    /// The hardness field.
    pub hardness: u64,
    /// The difference from what it is compared with; 0 while it is not.
    pub difference: u64,
}

/// A landmark as shown.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LandmarkView {
    /// Which.
    pub id: LandmarkId,
    /// Name.
    pub label: String,
    /// Where.
    pub at: [f64; 3],
    /// 0 … 1.
    pub confidence: f64,
    /// Placed by hand.
    pub by_hand: bool,
    /// Where it was looked for and why there.
    pub clue: String,
    /// What shows that on the foot.
    pub clue_lines: Vec<Vec<[f32; 3]>>,
}

/// A landmark that was not found.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MissingView {
    /// Which.
    pub id: LandmarkId,
    /// Why.
    pub clue: String,
}

/// A step of cleaning as shown.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct StepView {
    /// Which.
    pub step: CleanStep,
    /// Whether it is done.
    pub on: bool,
    /// What it did; `None`: there was nothing to do, or it is off.
    pub note: Option<Note>,
}

/// The same foot in another state of loading.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SecondView {
    /// File name of the scan.
    pub scan_name: String,
    /// How the foot was loaded.
    pub state: WeightBearing,
    /// Height of the navicular felt in this state, mm.
    pub navicular_height_mm: Option<f64>,
    /// Why nothing is to be had from it.
    pub problem: Option<String>,
    /// What changes between the two states.
    pub changes: Vec<MeasureView>,
    /// What is missing or was assumed.
    pub notes: Vec<String>,
}

/// A measure as shown.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MeasureView {
    /// Id with unit: `foot_length_mm`.
    pub id: String,
    /// Name.
    pub label: String,
    /// Unit as printed.
    pub unit: String,
    /// The value, or `None` with the reason.
    pub value: Option<f64>,
    /// Why there is no value.
    pub missing: Option<String>,
    /// Definition.
    pub definition: String,
    /// Source of the definition.
    pub source: String,
    /// Lines to draw on the foot.
    pub path: Vec<Vec<[f32; 3]>>,
    /// Classes that authors published, each with its author.
    pub classes: Vec<ClassView>,
    /// What the authors disagree about at this value.
    pub disagreement: Option<String>,
}

/// The class of a value by one author.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ClassView {
    /// Whose classes.
    pub author: String,
    /// The class of the value; empty without a value.
    pub class: String,
    /// All classes with their limits, in words.
    pub limits: String,
}

/// A number with its field.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ParamView {
    /// Id: `cup_depth_mm`.
    pub id: String,
    /// Label.
    pub label: String,
    /// Unit as printed.
    pub unit: String,
    /// Least accepted.
    pub min: f64,
    /// Greatest accepted.
    pub max: f64,
    /// Step of a spinner.
    pub step: f64,
    /// One sentence on what it does.
    pub help: String,
    /// The value in force.
    pub value: f64,
    /// Decided by the practitioner; else computed, fitted or by default.
    pub decided: bool,
    /// What the values 0, 1, 2 … are called, for a choice; empty for a number.
    pub words: Vec<String>,
    /// Usual range in practice.
    pub usual: Option<(f64, f64)>,
}

impl ParamView {
    /// The field of `spec` showing `value`.
    #[must_use]
    pub fn new(spec: &ParamSpec, value: f64, decided: bool) -> Self {
        ParamView {
            id: spec.id.to_owned(),
            label: spec.label.to_owned(),
            unit: spec.unit.to_owned(),
            min: spec.min,
            max: spec.max,
            step: spec.step,
            help: spec.help.to_owned(),
            value,
            decided,
            words: Vec::new(),
            usual: None,
        }
    }

    /// The same with the names of a choice.
    #[must_use]
    pub fn named(self, words: &[&str]) -> Self {
        ParamView { words: words.iter().map(|&word| word.to_owned()).collect(), ..self }
    }
}

/// How the arch support height came about.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct ArchView {
    /// Plantar height at the medial arch apex, mm.
    pub apex_mm: f64,
    /// Share of it that the support fills.
    pub fill: f64,
    /// Their product, mm.
    pub computed_mm: f64,
    /// The height in force, mm.
    pub used_mm: f64,
    /// Bounds of the computed height, mm.
    pub bounds_mm: (f64, f64),
    /// Set by the practitioner.
    pub by_hand: bool,
}

/// An element as shown.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ElementView {
    /// Id in this foot.
    pub id: u32,
    /// Kind: `metatarsal_pad`.
    pub kind: String,
    /// Name of the kind.
    pub label: String,
    /// What it is for.
    pub help: String,
    /// Source.
    pub source: String,
    /// Acts.
    pub on: bool,
    /// This program knows the kind; else it is kept but does nothing.
    pub known: bool,
    /// What to beware of.
    pub caution: String,
    /// Its numbers.
    pub params: Vec<ParamView>,
    /// Where it begins in plan, closed lines.
    pub rim: Vec<Vec<[f32; 2]>>,
    /// Points of the curve it is drawn to; empty: not drawn.
    pub curve: Vec<[f64; 2]>,
    /// It can be drawn to a curve.
    pub can_be_drawn: bool,
    /// What it says, for a kind that writes.
    pub text: Option<String>,
    /// It changes with one on the other foot.
    pub twin: bool,
}

/// A hardness region as shown.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RegionView {
    /// Id in this foot.
    pub id: u32,
    /// Name.
    pub name: String,
    /// Points of its curve.
    pub points: Vec<[f64; 2]>,
    /// The smooth closed curve through them.
    pub curve: Vec<[f32; 2]>,
    /// Target Shore A.
    pub shore_a: f64,
    /// Transition width, mm.
    pub transition_mm: f64,
    /// Acts.
    pub on: bool,
}

/// Advice as shown.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FindingView {
    /// Id of the rule.
    pub rule: String,
    /// How much it weighs.
    pub severity: Severity,
    /// The foot it speaks of; `None`: the pair.
    pub side: Option<Side>,
    /// What was found, with numbers.
    pub text: String,
    /// What to do.
    pub advice: String,
    /// Where it comes from.
    pub source: String,
    /// Place on that foot.
    pub at: Option<[f64; 3]>,
}

/// What a handle moves.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Target {
    /// A landmark.
    Landmark {
        /// Which.
        id: LandmarkId,
    },
    /// A handle of an element.
    Element {
        /// The element's id in this foot.
        id: u32,
        /// The handle's id.
        handle: String,
    },
    /// A point of the curve that an element is drawn to.
    ElementPoint {
        /// The element's id in this foot.
        id: u32,
        /// Index of the point.
        index: usize,
    },
    /// The curve that an element is drawn to, taken anywhere: no handle of its own is listed.
    ElementCurve {
        /// The element's id in this foot.
        id: u32,
        /// Where it was taken, hundredths of a millimetre.
        from: [i32; 2],
    },
    /// An element as a whole, taken anywhere on it: no handle of its own is listed.
    ElementBody {
        /// The element's id in this foot.
        id: u32,
        /// Where it was taken, hundredths of a millimetre.
        from: [i32; 2],
    },
    /// A point of a hardness region.
    RegionPoint {
        /// The region's id in this foot.
        id: u32,
        /// Index of the point.
        index: usize,
    },
    /// The height at which the leg is cut.
    LegCut,
    /// A knot of the whole edge.
    OutlineKnot {
        /// Its index.
        index: usize,
    },
    /// The curve of the whole edge, taken anywhere: no handle of its own is listed.
    OutlineCurve {
        /// Where along it, millionths of its length from its first knot.
        along: u32,
    },
    /// An end of the trim line.
    TrimEnd {
        /// 0 lateral, 1 medial.
        end: usize,
    },
    /// The shoe's own insole, as a whole.
    ShoeInsole {
        /// Turned about the heel; else shifted.
        turn: bool,
    },
    /// A number of the bearing surface that is a height.
    Surface {
        /// Its id in `insole::PARAMS`.
        param: String,
    },
}

/// How a handle moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Moves {
    /// On the foot's skin.
    Skin,
    /// In plan, lying on the insole's top.
    Plan,
    /// Up and down only.
    Vertical,
}

/// Something to take hold of: shown and draggable in plan, 3D view and section alike.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HandleView {
    /// What it moves.
    pub target: Target,
    /// Its name, with the number it sets where it sets one.
    pub label: String,
    /// How it moves.
    pub moves: Moves,
    /// Where it is.
    pub at: [f64; 3],
}

/// A vertical cut.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Cut {
    /// Along the foot at this y, mm; drawn over x.
    Longitudinal(f64),
    /// Across the foot at this x, mm; drawn over y.
    Transverse(f64),
    /// Along a line drawn on the plan, from its first to its second end; drawn over the distance from the first.
    Line([f64; 2], [f64; 2]),
}

impl Cut {
    /// The place of the plan this far along the cut, mm.
    #[must_use]
    pub fn at(&self, along: f64) -> [f64; 2] {
        match *self {
            Cut::Longitudinal(y) => [along, y],
            Cut::Transverse(x) => [x, along],
            Cut::Line([x, y], [to_x, to_y]) => {
                let length = ((to_x - x) * (to_x - x) + (to_y - y) * (to_y - y)).sqrt().max(f64::MIN_POSITIVE);
                [x + (to_x - x) * along / length, y + (to_y - y) * along / length]
            }
        }
    }
}

/// The lines of one cut: (mm along the cut, z mm).
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct SectionView {
    /// The skin of the foot, pieces.
    pub skin: Vec<Vec<[f32; 2]>>,
    /// Top of the insole made, below the cover.
    pub top: Vec<[f32; 2]>,
    /// Bottom of the insole.
    pub bottom: Vec<[f32; 2]>,
    /// Top of the cover; empty without one.
    pub cover: Vec<[f32; 2]>,
    /// Estimate of where the soft tissue under heel and metatarsal heads ends, pieces.
    pub tissue: Vec<Vec<[f32; 2]>>,
    /// Top of what the insole is compared with; empty while it is not.
    pub other: Vec<[f32; 2]>,
    /// Shore A at each point of `top`.
    pub shore_a: Vec<f32>,
    /// The last's bottom, to which the insole made is bent; empty while it is flat.
    pub last_bottom: Vec<[f32; 2]>,
}

/// A mesh ready for the graphics card: three floats a vertex.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MeshBuffers {
    /// x y z, mm.
    pub positions: Vec<f32>,
    /// Unit normals.
    pub normals: Vec<f32>,
    /// Three indices a triangle, counter-clockwise from outside.
    pub indices: Vec<u32>,
    /// sRGB, three bytes a vertex; empty: none.
    pub colours: Vec<u8>,
}

/// Samples on a regular grid, `NaN` outside the insole; rows along +y, columns along +x.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct GridBuffers {
    /// Position of the first sample, mm.
    pub origin_mm: [f64; 2],
    /// Distance between samples, mm.
    pub step_mm: f64,
    /// Samples a row.
    pub columns: usize,
    /// Rows.
    pub rows: usize,
    /// `columns * rows` samples.
    pub values: Vec<f32>,
}
