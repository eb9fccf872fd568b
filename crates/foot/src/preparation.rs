use base::{ParamSpec, Params};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// What a scan shows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ScanKind {
    /// The foot's own skin, or a cast of it in plaster: outside is outside.
    #[default]
    Foot,
    /// A negative: the print a foot left in foam, or a hollow plaster shell. Its skin is the foot's sole seen from below.
    Impression,
}

impl ScanKind {
    /// Both kinds.
    pub const ALL: [ScanKind; 2] = [ScanKind::Foot, ScanKind::Impression];

    /// Lower-case word, as used in files and on the command line.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            ScanKind::Foot => "foot",
            ScanKind::Impression => "impression",
        }
    }
}

/// One thing that is done to a scan on the way in. Each says in the report what it did, under its [`CleanStep::id`],
/// and each can be switched off.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CleanStep {
    /// Takes the floor away, loose or grown together with the foot.
    Floor,
    /// Keeps the foot's own piece and leaves loose ones out.
    StrayPieces,
    /// Takes the flat rim of a foam box away.
    Rim,
    /// Takes spikes away: vertices that stand out from all their neighbours.
    Spikes,
    /// Cuts the leg off.
    Leg,
    /// Turns triangles so that all face out.
    Windings,
    /// Closes holes in the sole.
    Holes,
}

impl CleanStep {
    /// All steps, in the order in which they are done.
    pub const ALL: [CleanStep; 7] = [
        CleanStep::Floor,
        CleanStep::StrayPieces,
        CleanStep::Rim,
        CleanStep::Spikes,
        CleanStep::Leg,
        CleanStep::Windings,
        CleanStep::Holes,
    ];

    /// snake_case id: in case files, and the code of its note.
    #[must_use]
    pub fn id(self) -> &'static str {
        match self {
            CleanStep::Floor => "floor",
            CleanStep::StrayPieces => "stray_pieces",
            CleanStep::Rim => "rim",
            CleanStep::Spikes => "spikes",
            CleanStep::Leg => "leg",
            CleanStep::Windings => "windings",
            CleanStep::Holes => "holes",
        }
    }

    /// Name as shown.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            CleanStep::Floor => "Take the floor away",
            CleanStep::StrayPieces => "Leave loose pieces out",
            CleanStep::Rim => "Take the rim of the box away",
            CleanStep::Spikes => "Take spikes away",
            CleanStep::Leg => "Cut the leg off",
            CleanStep::Windings => "Turn triangles outside out",
            CleanStep::Holes => "Close holes in the sole",
        }
    }
}

/// By how much foam came back up under the foot once it was lifted out, before the print was scanned.
pub const FOAM_RETURN: ParamSpec = ParamSpec {
    id: "foam_return_percent",
    label: "Foam that came back",
    unit: "%",
    min: 0.0,
    max: 30.0,
    default: 0.0,
    step: 1.0,
    help: "Share of the print's depth that the foam gave back before it was scanned: the print is deepened by as much. \
           Depends on the foam; its maker knows. Common practice, no source.",
};

/// How a scan is made ready: what the practitioner decided about it.
#[derive(Clone, Debug, PartialEq)]
pub struct Preparation {
    /// What it shows.
    pub kind: ScanKind,
    /// Height of the leg cut over the support plane, mm.
    pub cut_height_mm: f64,
    /// Share of an impression's depth that the foam gave back, per cent: see [`FOAM_RETURN`].
    pub foam_return_percent: f64,
    /// Steps that are not done.
    pub off: BTreeSet<CleanStep>,
}

impl Preparation {
    /// Every step done, the leg cut at `cut_height_mm`.
    #[must_use]
    pub fn of_foot(cut_height_mm: f64) -> Preparation {
        Preparation {
            kind: ScanKind::Foot,
            cut_height_mm,
            foam_return_percent: base::value_of(&Params::new(), &FOAM_RETURN),
            off: BTreeSet::new(),
        }
    }

    /// Whether a step is done.
    #[must_use]
    pub fn does(&self, step: CleanStep) -> bool {
        !self.off.contains(&step)
    }
}
