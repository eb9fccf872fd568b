use base::{BySide, Note, Params};
use foot::{Landmarks, WeightBearing};
use glam::{DVec2, DVec3};
use hardness::HardnessPlan;
use insole::{ArchSupport, Edge, ElementItem};
use mesh::{ClosedMesh, Grid};
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// A finished pair, or one insole of it, and the feet it is for, as plain data: all a format needs to know.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct MakeModel {
    /// The practice's own label of the case.
    pub title: String,
    /// Free notes for the job sheet.
    pub notes: String,
    /// Date as it shall be printed; empty leaves a line to fill in.
    pub date: String,
    /// Name and version of the program.
    pub program: String,
    /// Shoe size as it shall be printed.
    pub size: String,
    /// Body mass, kg, if given.
    pub mass_kg: Option<f64>,
    /// State in which the feet were scanned.
    pub weight_bearing: Option<WeightBearing>,
    /// Density of the insole's material, g/cm³, if given: for the mass estimate.
    pub density_g_cm3: Option<f64>,
    /// The insoles; none where the feet were only measured.
    pub sides: BySide<Option<SideModel>>,
    /// The feet as measured, for the foot report.
    pub feet: BySide<Option<FootModel>>,
    /// Findings that concern the pair as a whole.
    pub findings: Vec<Note>,
}

/// One finished insole in the foot frame, mm.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct SideModel {
    /// The closed solid.
    pub solid: ClosedMesh,
    /// Outline, closed counter-clockwise polygon without a repeated point.
    pub outline: Vec<DVec2>,
    /// Plan outline of the foot; may be empty.
    pub silhouette: Vec<DVec2>,
    /// Contours of the foot's print in plan, closed without a repeated point, holes among them; may be empty.
    pub print: Vec<Vec<DVec2>>,
    /// Bottom outline of the last, closed without a repeated point, if the insole is for one; else empty.
    pub last_outline: Vec<DVec2>,
    /// Outline taken of the shoe or of its own insole, closed without a repeated point; may be empty.
    pub shoe_outline: Vec<DVec2>,
    /// Ends of the line along which the made insole is to be trimmed, if it is.
    pub trim: Option<[DVec2; 2]>,
    /// Height of the top, sampled over the outline's bounds, for the contour lines of the drawing.
    pub top: Option<Grid>,
    /// The foot's landmarks.
    pub landmarks: Landmarks,
    /// The foot's measures.
    pub measures: Vec<Reading>,
    /// How high the arch is supported and why.
    pub arch: Option<ArchSupport>,
    /// Numbers of the bearing surface as used, by the ids of [`insole::PARAMS`].
    pub surface: Params,
    /// Elements, in the order they were placed; those that are off are listed as such.
    #[serde(with = "as_json")]
    pub elements: Vec<ElementItem>,
    /// Hardness of the insole.
    #[serde(with = "as_json")]
    pub hardness: HardnessPlan,
    /// Findings that concern this side.
    pub findings: Vec<Note>,
}

impl SideModel {
    /// The insole's edge as its elements need it; `None` if the outline is none.
    #[must_use]
    pub fn edge(&self) -> Option<Arc<Edge>> {
        Edge::new(&self.outline).ok().map(Arc::new)
    }
}

/// One measured or derived number as a table shows it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// Stable id; readings of both sides with the same id share a row.
    pub id: String,
    /// Label in the trade's words.
    pub label: String,
    /// The number.
    pub value: f64,
    /// Unit as printed, empty for none.
    pub unit: String,
    /// Digits after the point.
    pub digits: usize,
}

/// One foot as scanned and measured, in the foot frame, mm.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct FootModel {
    /// Name of the scan.
    pub scan_name: String,
    /// Format of its file, as printed.
    pub format: String,
    /// Unit of its file, as printed.
    pub unit: String,
    /// What the scan shows: `foot` or `impression`.
    pub kind: String,
    /// Plan outline of the foot, closed without a repeated point; may be empty.
    pub silhouette: Vec<DVec2>,
    /// Contours of the print in plan, closed without a repeated point, holes among them; may be empty.
    pub print: Vec<Vec<DVec2>>,
    /// Outline of the foot seen from the medial side, (x, z), closed curves without a repeated point; may be empty.
    pub profile: Vec<Vec<DVec2>>,
    /// The landmarks, in the order in which a table lists them.
    pub landmarks: Vec<LandmarkRow>,
    /// The measures, in the order of a measure sheet.
    pub measures: Vec<MeasureRow>,
    /// What changes between this scan and the second one; may be empty.
    pub changes: Vec<MeasureRow>,
    /// The second scan: its name, and its state of loading in words.
    pub second: Option<(String, String)>,
    /// What was done to the scan on the way in.
    pub notes: Vec<Note>,
}

/// A landmark as a table shows it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct LandmarkRow {
    /// Stable id; rows of both sides with the same id share a number.
    pub id: String,
    /// Name in the trade's words.
    pub label: String,
    /// Foot frame, mm.
    pub at: DVec3,
    /// 0 (a guess) … 1 (unmistakable).
    pub confidence: f64,
    /// Placed by the practitioner.
    pub by_hand: bool,
}

/// A measure as a table shows it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct MeasureRow {
    /// Stable id; rows of both sides with the same id share a row.
    pub id: String,
    /// Name in the trade's words.
    pub label: String,
    /// Unit as printed, empty for a ratio.
    pub unit: String,
    /// Digits after the point.
    pub digits: usize,
    /// The value, if there is one.
    pub value: Option<f64>,
    /// Why there is none, and what to do.
    pub missing: Option<String>,
    /// What is measured between what.
    pub definition: String,
    /// Where the definition comes from.
    pub source: String,
    /// The lines it was measured along, foot frame, mm. A closed line ends where it starts.
    pub path: Vec<Vec<DVec3>>,
    /// What published limits make of the value, an author a row.
    pub classes: Vec<ClassRow>,
    /// Where the authors disagree: a sentence that says so.
    pub disagreement: Option<String>,
}

/// A value judged by one author's limits.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct ClassRow {
    /// Whose limits, and when published.
    pub author: String,
    /// The class the value falls into.
    pub class: String,
    /// The limits, in words and numbers.
    pub limits: String,
}

/// Writes what also stands in the case file as JSON inside any format: it may leave fields out, which a format without
/// field names cannot.
mod as_json {
    use serde::de::DeserializeOwned;
    use serde::{Deserialize, Deserializer, Serialize, Serializer, de, ser};

    pub(super) fn serialize<T: Serialize, S: Serializer>(value: &T, serializer: S) -> Result<S::Ok, S::Error> {
        serde_json::to_string(value).map_err(ser::Error::custom)?.serialize(serializer)
    }

    pub(super) fn deserialize<'de, T: DeserializeOwned, D: Deserializer<'de>>(deserializer: D) -> Result<T, D::Error> {
        serde_json::from_str(&String::deserialize(deserializer)?).map_err(de::Error::custom)
    }
}
