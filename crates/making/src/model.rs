use base::{BySide, Note, Params};
use foot::{Landmarks, WeightBearing};
use glam::DVec2;
use hardness::HardnessPlan;
use insole::{ArchSupport, ElementItem};
use mesh::{ClosedMesh, Grid};

/// A finished pair, or one insole of it, as plain data: all a format needs to know.
#[derive(Clone, Debug, Default)]
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
    /// The insoles.
    pub sides: BySide<Option<SideModel>>,
    /// Findings that concern the pair as a whole.
    pub findings: Vec<Note>,
}

/// One finished insole in the foot frame, mm.
#[derive(Clone, Debug)]
pub struct SideModel {
    /// The closed solid.
    pub solid: ClosedMesh,
    /// Outline, closed counter-clockwise polygon without a repeated point.
    pub outline: Vec<DVec2>,
    /// Plan outline of the foot; may be empty.
    pub silhouette: Vec<DVec2>,
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
    pub elements: Vec<ElementItem>,
    /// Hardness of the insole.
    pub hardness: HardnessPlan,
    /// Findings that concern this side.
    pub findings: Vec<Note>,
}

/// One measured or derived number as a table shows it.
#[derive(Clone, Debug, PartialEq)]
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
