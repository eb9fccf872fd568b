//! Lasts for kinds of shoes, to begin with.
//!
//! A preset holds style only: toe, room before the toes, and the bottom. Widths, offsets, swing and the places of the balls
//! are the foot's and stay fitted. Heights are millimetres whatever the foot's length: all but the child's shoe are meant for
//! adults.

use crate::family::PARAMS;
use crate::profile::PROFILE;
use crate::toe::toe_shape;
use base::{ParamSpec, Params, Source};

/// Numbers of a last for a kind of shoe.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LastPreset {
    /// Stable id: `walking`.
    pub id: &'static str,
    /// Label in the trade's words.
    pub label: &'static str,
    /// What it is for.
    pub purpose: &'static str,
    /// Id of its toe shape, one of [`crate::TOE_SHAPES`].
    pub toe: &'static str,
    /// Its other numbers, by id out of [`PARAMS`] and [`PROFILE`].
    pub numbers: &'static [(&'static str, f64)],
    /// What to mind, above all with feet that do not feel.
    pub caution: Option<&'static str>,
    /// Where its numbers come from.
    pub source: Source,
}

const PRACTICE: Source = Source::practice("common practice, no source: a start to change at the shoe");

/// The presets. Toe allowances lie in the range of 10 to 20 mm that fit studies in diabetes ask for; where a kind of shoe
/// cannot have that, its caution says so.
pub const PRESETS: &[LastPreset] = &[
    shoe(
        "walking",
        "Walking shoe",
        "Everyday walking, laced or with straps.",
        "round",
        &bottom(12.0, 12.0, 12.0, 0.0, 3.0),
    ),
    shoe(
        "town",
        "Town shoe, laced",
        "Closed leather shoe for office and street.",
        "almond",
        &bottom(15.0, 20.0, 8.0, 200.0, 3.0),
    ),
    LastPreset {
        caution: Some(
            "Held by toe and heel alone: no room for more before the toes, little for an insole. Not for feet without feeling.",
        ),
        ..shoe("court", "Court shoe", "Slip-on with a heel, cut low.", "pointed", &bottom(8.0, 45.0, 2.0, 120.0, 4.0))
    },
    LastPreset {
        caution: Some(
            "The toe allowance is below what fit studies in diabetes ask for, as toes end freely before the edge. An open toe does not protect a foot without feeling.",
        ),
        ..shoe(
            "sandal",
            "Sandal with buckles",
            "Open toe, straps over ball and instep.",
            "oblique",
            &bottom(6.0, 15.0, 8.0, 0.0, 5.0),
        )
    },
    shoe("ankle_boot", "Ankle boot", "Laced over the ankle.", "round", &bottom(13.0, 18.0, 10.0, 250.0, 3.0)),
    LastPreset {
        source: Source::practice(
            "common practice; a trade glossary (sneakerfactory.net) gives a stiff hiking boot about 15 mm of toe spring",
        ),
        ..shoe(
            "hiking_boot",
            "Hiking boot",
            "Stiff sole, room for going downhill.",
            "round",
            &bottom(16.0, 15.0, 15.0, 0.0, 3.0),
        )
    },
    LastPreset {
        caution: Some("The cap does not give: check that no toe touches it, also bent and swollen."),
        ..shoe("safety", "Safety shoe", "Toe cap and stiff sole.", "deep", &bottom(16.0, 15.0, 12.0, 0.0, 3.0))
    },
    shoe(
        "therapeutic",
        "Depth shoe, therapeutic",
        "Deep and broad toe for a thick custom insole.",
        "deep",
        &bottom(14.0, 8.0, 12.0, 0.0, 0.0),
    ),
    shoe(
        "rocker",
        "Shoe with rocker sole",
        "Stiff rolling sole that spares the forefoot.",
        "deep",
        &bottom(14.0, 10.0, 20.0, 0.0, 0.0),
    ),
    LastPreset {
        caution: Some("Holds a dressing: choose girth and width over it."),
        ..shoe(
            "dressing",
            "Shoe over a dressing",
            "After surgery or with a wound, for a short time.",
            "square",
            &bottom(18.0, 5.0, 10.0, 0.0, 0.0),
        )
    },
    LastPreset {
        caution: Some("The allowance holds room to grow: measure again every three months (common practice)."),
        ..shoe(
            "child",
            "Child's shoe",
            "Growing feet: nearly flat, full before the toes.",
            "oblique",
            &bottom(15.0, 4.0, 6.0, 0.0, 2.0),
        )
    },
    shoe("running", "Running shoe", "Rolls easily, cushioned.", "oblique", &bottom(13.0, 10.0, 15.0, 0.0, 4.0)),
    LastPreset {
        caution: Some("Loose at the heel unless it has a strap or a back."),
        source: Source::practice(
            "common practice; a trade glossary (sneakerfactory.net) gives a slip-on shoe about 5 mm of toe spring",
        ),
        ..shoe("house", "House shoe", "Soft and low, for indoors.", "round", &bottom(12.0, 5.0, 5.0, 0.0, 2.0))
    },
    shoe("winter_boot", "Winter boot", "Lined, worn with thick socks.", "deep", &bottom(18.0, 15.0, 12.0, 0.0, 3.0)),
];

/// Toe allowance, heel pitch, toe spring, bottom radius and seat depth, mm.
const fn bottom(allowance: f64, pitch: f64, spring: f64, radius: f64, seat: f64) -> [(&'static str, f64); 5] {
    [
        (crate::TOE_ALLOWANCE.id, allowance),
        (crate::HEEL_PITCH.id, pitch),
        (crate::TOE_SPRING.id, spring),
        (crate::BOTTOM_RADIUS.id, radius),
        (crate::SEAT_DEPTH.id, seat),
    ]
}

const fn shoe(
    id: &'static str,
    label: &'static str,
    purpose: &'static str,
    toe: &'static str,
    numbers: &'static [(&'static str, f64)],
) -> LastPreset {
    LastPreset { id, label, purpose, toe, numbers, caution: None, source: PRACTICE }
}

/// The preset with this id.
#[must_use]
pub fn preset(id: &str) -> Option<&'static LastPreset> {
    PRESETS.iter().find(|preset| preset.id == id)
}

/// The number of a last with this id, in plan or profile.
#[must_use]
pub fn param(id: &str) -> Option<&'static ParamSpec> {
    PARAMS.iter().chain(PROFILE).find(|spec| spec.id == id)
}

impl LastPreset {
    /// Its numbers by id, out of [`PARAMS`] and [`PROFILE`].
    #[must_use]
    pub fn params(&self) -> Params {
        let mut params = toe_shape(self.toe).map(|toe| toe.params()).unwrap_or_default();
        params.extend(self.numbers.iter().map(|(id, value)| ((*id).to_owned(), *value)));
        params
    }
}
