use glam::DVec3;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The landmarks, in the words of the standards.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LandmarkId {
    /// Rearmost point of the heel.
    Pternion,
    /// Tip of the most forward toe.
    Akropodion,
    /// Tip of the second toe: with the pternion it gives the foot axis.
    SecondToeTip,
    /// Most medial point of the first metatarsal head.
    MetatarsaleTibiale,
    /// Most lateral point of the fifth metatarsal head.
    MetatarsaleFibulare,
    /// Centre of the heel's bearing area, on the skin of the sole.
    HeelCentre,
    /// Highest point of the medial longitudinal arch, on the skin of the sole.
    ArchApex,
    /// Estimate of the navicular tuberosity on the medial side.
    Navicular,
    /// Instep: top of the foot's dorsum over half the foot length.
    Instep,
}

impl LandmarkId {
    /// All landmarks, heel to toe as a table lists them.
    pub const ALL: [LandmarkId; 9] = [
        LandmarkId::Pternion,
        LandmarkId::HeelCentre,
        LandmarkId::ArchApex,
        LandmarkId::Navicular,
        LandmarkId::Instep,
        LandmarkId::MetatarsaleTibiale,
        LandmarkId::MetatarsaleFibulare,
        LandmarkId::SecondToeTip,
        LandmarkId::Akropodion,
    ];

    /// snake_case id, as in files and on the command line.
    #[must_use]
    pub fn id(self) -> &'static str {
        match self {
            LandmarkId::Pternion => "pternion",
            LandmarkId::Akropodion => "akropodion",
            LandmarkId::SecondToeTip => "second_toe_tip",
            LandmarkId::MetatarsaleTibiale => "metatarsale_tibiale",
            LandmarkId::MetatarsaleFibulare => "metatarsale_fibulare",
            LandmarkId::HeelCentre => "heel_centre",
            LandmarkId::ArchApex => "arch_apex",
            LandmarkId::Navicular => "navicular",
            LandmarkId::Instep => "instep",
        }
    }

    /// Name as shown.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            LandmarkId::Pternion => "Pternion",
            LandmarkId::Akropodion => "Akropodion",
            LandmarkId::SecondToeTip => "Second toe tip",
            LandmarkId::MetatarsaleTibiale => "Metatarsale tibiale",
            LandmarkId::MetatarsaleFibulare => "Metatarsale fibulare",
            LandmarkId::HeelCentre => "Heel centre",
            LandmarkId::ArchApex => "Medial arch apex",
            LandmarkId::Navicular => "Navicular (estimate)",
            LandmarkId::Instep => "Instep",
        }
    }
}

/// One landmark in the foot frame.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Landmark {
    /// Foot frame, mm.
    pub at: DVec3,
    /// 0 (a guess) … 1 (unmistakable); 1 when placed by hand.
    pub confidence: f64,
    /// Placed by the practitioner: stays when others are found anew.
    pub by_hand: bool,
}

/// The landmarks found or placed on one foot. One that could not be found is missing.
pub type Landmarks = BTreeMap<LandmarkId, Landmark>;
