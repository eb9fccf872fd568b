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
    /// Most medial point of the bulge of the medial malleolus.
    MalleolusMedialis,
    /// Most lateral point of the bulge of the lateral malleolus.
    MalleolusLateralis,
    /// Estimate of the place under the first metatarsal head, on the skin of the sole.
    #[serde(rename = "metatarsal_head_1")]
    MetatarsalHead1,
    /// The same under the second.
    #[serde(rename = "metatarsal_head_2")]
    MetatarsalHead2,
    /// The same under the third.
    #[serde(rename = "metatarsal_head_3")]
    MetatarsalHead3,
    /// The same under the fourth.
    #[serde(rename = "metatarsal_head_4")]
    MetatarsalHead4,
    /// The same under the fifth.
    #[serde(rename = "metatarsal_head_5")]
    MetatarsalHead5,
    /// Tip of the hallux: its most forward point along the foot axis.
    HalluxTip,
    /// Tip of the third toe.
    ThirdToeTip,
    /// Tip of the fourth toe.
    FourthToeTip,
    /// Tip of the fifth toe.
    FifthToeTip,
}

impl LandmarkId {
    /// All landmarks, heel to toe as a table lists them.
    pub const ALL: [LandmarkId; 20] = [
        LandmarkId::Pternion,
        LandmarkId::HeelCentre,
        LandmarkId::MalleolusMedialis,
        LandmarkId::MalleolusLateralis,
        LandmarkId::ArchApex,
        LandmarkId::Navicular,
        LandmarkId::Instep,
        LandmarkId::MetatarsaleTibiale,
        LandmarkId::MetatarsaleFibulare,
        LandmarkId::MetatarsalHead1,
        LandmarkId::MetatarsalHead2,
        LandmarkId::MetatarsalHead3,
        LandmarkId::MetatarsalHead4,
        LandmarkId::MetatarsalHead5,
        LandmarkId::HalluxTip,
        LandmarkId::SecondToeTip,
        LandmarkId::ThirdToeTip,
        LandmarkId::FourthToeTip,
        LandmarkId::FifthToeTip,
        LandmarkId::Akropodion,
    ];

    /// The metatarsal heads, first to fifth.
    pub const METATARSAL_HEADS: [LandmarkId; 5] = [
        LandmarkId::MetatarsalHead1,
        LandmarkId::MetatarsalHead2,
        LandmarkId::MetatarsalHead3,
        LandmarkId::MetatarsalHead4,
        LandmarkId::MetatarsalHead5,
    ];

    /// The tips of the toes, hallux first.
    pub const TOE_TIPS: [LandmarkId; 5] = [
        LandmarkId::HalluxTip,
        LandmarkId::SecondToeTip,
        LandmarkId::ThirdToeTip,
        LandmarkId::FourthToeTip,
        LandmarkId::FifthToeTip,
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
            LandmarkId::MalleolusMedialis => "malleolus_medialis",
            LandmarkId::MalleolusLateralis => "malleolus_lateralis",
            LandmarkId::MetatarsalHead1 => "metatarsal_head_1",
            LandmarkId::MetatarsalHead2 => "metatarsal_head_2",
            LandmarkId::MetatarsalHead3 => "metatarsal_head_3",
            LandmarkId::MetatarsalHead4 => "metatarsal_head_4",
            LandmarkId::MetatarsalHead5 => "metatarsal_head_5",
            LandmarkId::HalluxTip => "hallux_tip",
            LandmarkId::ThirdToeTip => "third_toe_tip",
            LandmarkId::FourthToeTip => "fourth_toe_tip",
            LandmarkId::FifthToeTip => "fifth_toe_tip",
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
            LandmarkId::MalleolusMedialis => "Medial malleolus",
            LandmarkId::MalleolusLateralis => "Lateral malleolus",
            LandmarkId::MetatarsalHead1 => "Metatarsal head 1 (estimate)",
            LandmarkId::MetatarsalHead2 => "Metatarsal head 2 (estimate)",
            LandmarkId::MetatarsalHead3 => "Metatarsal head 3 (estimate)",
            LandmarkId::MetatarsalHead4 => "Metatarsal head 4 (estimate)",
            LandmarkId::MetatarsalHead5 => "Metatarsal head 5 (estimate)",
            LandmarkId::HalluxTip => "Tip of the hallux",
            LandmarkId::ThirdToeTip => "Third toe tip",
            LandmarkId::FourthToeTip => "Fourth toe tip",
            LandmarkId::FifthToeTip => "Fifth toe tip",
        }
    }
}

/// One landmark in the foot frame.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Landmark {
    /// Foot frame, mm.
    pub at: DVec3,
    /// 0 (a guess) … 1 (unmistakable); 1 when placed by hand.
    pub confidence: f64,
    /// Placed by the practitioner: stays when others are found anew.
    pub by_hand: bool,
}

/// Where a landmark was looked for and why it is there, or why it could not be found.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Clue {
    /// One or two plain sentences with their numbers.
    pub text: String,
    /// What to draw on the foot: the window that was searched, a section, a profile. Lines in the foot frame, mm; a
    /// closed line ends where it starts.
    pub lines: Vec<Vec<DVec3>>,
}

/// The landmarks of a foot, with a clue for every one, found or not.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct FoundLandmarks {
    /// Those that were found.
    pub landmarks: Landmarks,
    /// A clue for each of [`LandmarkId::ALL`].
    pub clues: BTreeMap<LandmarkId, Clue>,
}

/// The landmarks found or placed on one foot. One that could not be found is missing.
pub type Landmarks = BTreeMap<LandmarkId, Landmark>;
