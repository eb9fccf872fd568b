use base::{BySide, LengthUnit, Note, Params};
use foot::{CleanStep, LandmarkId, Preparation, ScanKind, WeightBearing};
use hardness::HardnessPlan;
use insole::ElementItem;
use insole::sculpt::SculptLayer;
use last::{InsoleLength, ShoeInsole, Size, Trim};
use scan::HeightScale;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// Height above the support plane at which the leg is cut when nothing else was decided, mm.
/// Above it nothing that an insole needs is left; below about 80 mm the malleoli would be lost.
pub const DEFAULT_CUT_HEIGHT_MM: f64 = 110.0;

/// One person's pair, as decided by the practitioner. Plain data; equality is exact.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Case {
    /// The practice's own label of the case. No name is needed for the work.
    pub title: String,
    /// Free notes for the job sheet.
    pub notes: String,
    /// State in which the feet were scanned. Asked, never assumed.
    pub weight_bearing: Option<WeightBearing>,
    /// Body mass, kg, if given.
    pub mass_kg: Option<f64>,
    /// Shoe size of the pair; `None`: the one proposed from the longer foot.
    pub size: Option<Size>,
    /// Rule by which the size is proposed, one of `last::rules::ALL`; `None`: Paris points by the allowance set here.
    pub size_rule: Option<String>,
    /// The feet.
    pub feet: BySide<Option<FootCase>>,
}

/// A scan file, by content.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct ScanRef {
    /// SHA-256 of the file, lower-case hexadecimal.
    pub hash: String,
    /// The file's name as it came in.
    pub name: String,
}

/// What was decided for one foot. Coordinates are in its foot frame, mm.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FootCase {
    /// The scan it is made from.
    pub scan: ScanRef,
    /// Unit of the scan file's numbers.
    pub unit: LengthUnit,
    /// Scan file's coordinates → foot frame, row-major, with the unit's scale and the mirror of a left foot.
    /// Found once when the scan came in and kept, so that a better finder never moves an old design.
    pub foot_from_scan: [f64; 16],
    /// What the scan shows.
    #[serde(default)]
    pub kind: ScanKind,
    /// Scale of the scan if it is a height image.
    #[serde(default)]
    pub heights: Option<HeightScale>,
    /// What the finder said when it laid the scan into the foot frame.
    #[serde(default)]
    pub pose_notes: Vec<Note>,
    /// Height of the leg cut above the support plane, mm.
    #[serde(default = "default_cut_height")]
    pub cut_height_mm: f64,
    /// Share of an impression's depth that its foam gave back, per cent.
    #[serde(default)]
    pub foam_return_percent: f64,
    /// Steps of cleaning that are switched off.
    #[serde(default)]
    pub steps_off: BTreeSet<CleanStep>,
    /// The same foot scanned in another state of loading, to compare with.
    #[serde(default)]
    pub second: Option<SecondScan>,
    /// Landmarks placed by hand.
    #[serde(default)]
    pub landmarks: BTreeMap<LandmarkId, [f64; 3]>,
    /// The foot's own size, where it differs from the pair's.
    #[serde(default)]
    pub size: Option<Size>,
    /// Name of the last whose numbers were taken.
    #[serde(default)]
    pub last_name: Option<String>,
    /// Decided numbers of the last and outline; what is missing is fitted or has its default.
    #[serde(default)]
    pub last: Params,
    /// Knots of the whole outline as drawn by hand; `None`: fitted.
    #[serde(default)]
    pub outline: Option<Vec<[f64; 2]>>,
    /// How far forward the insole reaches.
    #[serde(default)]
    pub length: InsoleLength,
    /// The trim line as moved by hand; `None`: where the length has it.
    #[serde(default)]
    pub trim: Option<Trim>,
    /// The shoe it goes into.
    #[serde(default)]
    pub shoe: ShoeCase,
    /// Decided numbers of the bearing surface; what is missing is computed or has its default.
    #[serde(default)]
    pub surface: Params,
    /// Elements on the surface, in the order they were placed.
    #[serde(default)]
    pub elements: Vec<ElementItem>,
    /// What was shaped with the brush.
    #[serde(default)]
    pub sculpt: SculptLayer,
    /// Hardness of the insole.
    #[serde(default)]
    pub hardness: HardnessPlan,
}

/// What was decided about the shoe of one foot.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct ShoeCase {
    /// Its own insole as traced.
    pub insole: Option<ShoeInsole>,
    /// Whether the fitted outline may go over it.
    pub let_over: bool,
    /// Decided numbers, by the ids of `last::SHOE`.
    pub params: Params,
}

/// A second scan of a foot, in another state of loading. Only compared with, never designed on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SecondScan {
    /// The scan.
    pub scan: ScanRef,
    /// Unit of the scan file's numbers.
    pub unit: LengthUnit,
    /// Scan file's coordinates → foot frame, row-major.
    pub foot_from_scan: [f64; 16],
    /// How the foot was loaded.
    pub state: WeightBearing,
    /// What the finder said when it laid the scan into the foot frame.
    #[serde(default)]
    pub pose_notes: Vec<Note>,
    /// Height of the navicular over the support plane in this state, felt for and measured by hand, mm.
    #[serde(default)]
    pub navicular_height_mm: Option<f64>,
}

fn default_cut_height() -> f64 {
    DEFAULT_CUT_HEIGHT_MM
}

impl FootCase {
    /// A foot as it comes in: nothing decided yet but scan and pose.
    #[must_use]
    pub fn new(scan: ScanRef, unit: LengthUnit, foot_from_scan: [f64; 16]) -> Self {
        FootCase {
            scan,
            unit,
            foot_from_scan,
            kind: ScanKind::Foot,
            heights: None,
            pose_notes: Vec::new(),
            cut_height_mm: DEFAULT_CUT_HEIGHT_MM,
            foam_return_percent: 0.0,
            steps_off: BTreeSet::new(),
            second: None,
            landmarks: BTreeMap::new(),
            size: None,
            last_name: None,
            last: Params::new(),
            outline: None,
            length: InsoleLength::Full,
            trim: None,
            shoe: ShoeCase::default(),
            surface: Params::new(),
            elements: Vec::new(),
            sculpt: SculptLayer::default(),
            hardness: HardnessPlan::default(),
        }
    }

    /// How the scan is made ready.
    #[must_use]
    pub fn preparation(&self) -> Preparation {
        Preparation {
            kind: self.kind,
            cut_height_mm: self.cut_height_mm,
            foam_return_percent: self.foam_return_percent,
            off: self.steps_off.clone(),
        }
    }
}
