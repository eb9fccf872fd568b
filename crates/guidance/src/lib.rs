//! Findings: advice on a design, each with its number, its reason and its source. One rule a file in [`rules`].
//!
//! A finding never changes anything: the practitioner's own values always win.

mod placed;
pub mod rules;

pub use placed::{PlacedFacts, placed};

use base::{Severity, Side, Source};
use foot::{LandmarkId, Landmarks, WeightBearing};
use glam::{DVec2, DVec3};
use insole::{ArchSupport, ElementItem, Extreme, Thin};

/// What the rules look at: one foot and its insole.
#[derive(Clone, Copy, Debug)]
pub struct Facts<'a> {
    /// The side spoken of.
    pub side: Side,
    /// State in which the foot was scanned, if stated.
    pub weight_bearing: Option<WeightBearing>,
    /// The landmarks.
    pub landmarks: &'a Landmarks,
    /// Foot length, mm, if it could be measured.
    pub foot_length_mm: Option<f64>,
    /// Contours of the bearing area.
    pub print: &'a [Vec<DVec2>],
    /// Length of the pair's last, mm.
    pub last_length_mm: f64,
    /// Toe allowance in force, mm.
    pub toe_allowance_mm: f64,
    /// Ball girth of the foot, mm, if it could be measured.
    pub ball_girth_mm: Option<f64>,
    /// Joint girth of the last, mm, if it was decided.
    pub last_girth_mm: Option<f64>,
    /// The insole, as far as it could be derived.
    pub insole: Option<InsoleFacts<'a>>,
    /// The elements.
    pub elements: &'a [ElementItem],
    /// What came of those that act and are known.
    pub placed: &'a [PlacedFacts<'a>],
    /// Places where the shoe's depth was measured.
    pub depths: &'a [DepthPlace],
}

/// A place where the shoe's depth was measured, and what has to find room there.
#[derive(Clone, Debug, PartialEq)]
pub struct DepthPlace {
    /// `heel`, `waist`, `ball`, `toes`.
    pub label: &'static str,
    /// Depth of the shoe over its own bottom, mm.
    pub depth_mm: f64,
    /// What needs room, mm over the shoe's bottom; `None`: not known, the scan does not show it.
    pub needs_mm: Option<f64>,
    /// What that is: `foot and insole`.
    pub by: &'static str,
    /// Where, foot frame, mm.
    pub at: DVec3,
}

/// What the rules look at on the insole.
#[derive(Clone, Copy, Debug)]
pub struct InsoleFacts<'a> {
    /// Its outline.
    pub outline: &'a last::Outline,
    /// Its arch support.
    pub arch: &'a ArchSupport,
    /// Where most thickness is missing, or least is to spare.
    pub thinnest: Thin,
    /// The steepest place of its top before the edge is finished, degrees from level.
    pub steepest_slope: Extreme,
    /// Steeper than this cannot be made, degrees.
    pub slope_limit_deg: f64,
    /// Heel cup depth in force, mm.
    pub cup_depth_mm: f64,
    /// Steepest change of hardness.
    pub steepest: hardness::Steepest,
}

/// One piece of advice.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// Id of the rule.
    pub rule: &'static str,
    /// How much it weighs.
    pub severity: Severity,
    /// The foot it speaks of; `None`: the pair.
    pub side: Option<Side>,
    /// What was found, with its numbers.
    pub text: String,
    /// What to do.
    pub advice: String,
    /// Why, and who says so.
    pub source: Source,
    /// Where on that foot, foot frame, mm.
    pub at: Option<DVec3>,
}

/// One rule over the facts of a foot.
#[derive(Clone, Copy)]
pub struct Rule {
    /// Stable id, snake_case.
    pub id: &'static str,
    /// What it watches for, in one sentence.
    pub about: &'static str,
    /// Where its limit comes from.
    pub source: Source,
    /// What it finds.
    pub check: fn(&Facts) -> Vec<Advice>,
}

/// What a rule found.
#[derive(Clone, Debug, PartialEq)]
pub struct Advice {
    /// How much it weighs.
    pub severity: Severity,
    /// What was found, with its numbers.
    pub text: String,
    /// What to do.
    pub advice: String,
    /// Where, foot frame, mm.
    pub at: Option<DVec3>,
}

impl Advice {
    /// Advice without a place.
    #[must_use]
    pub fn new(severity: Severity, text: impl Into<String>, advice: impl Into<String>) -> Self {
        Advice { severity, text: text.into(), advice: advice.into(), at: None }
    }

    /// The same advice at a place.
    #[must_use]
    pub fn at(self, at: DVec3) -> Self {
        Advice { at: Some(at), ..self }
    }
}

/// Everything the rules find on one foot, the gravest first, in the order of the rules otherwise.
#[must_use]
pub fn findings(facts: &Facts) -> Vec<Finding> {
    let mut all: Vec<Finding> = rules::ALL
        .iter()
        .flat_map(|rule| {
            (rule.check)(facts).into_iter().map(|advice| Finding {
                rule: rule.id,
                severity: advice.severity,
                side: Some(facts.side),
                text: advice.text,
                advice: advice.advice,
                source: rule.source,
                at: advice.at,
            })
        })
        .collect();
    base::sort_by_key(&mut all, |finding| std::cmp::Reverse(finding.severity));
    all
}

/// Position of the metatarsal-head line at a given y: the straight line through both metatarsale points.
///
/// The heads of the middle rays lie a few mm in front of it, so a distance to it is on the cautious side.
pub(crate) fn metatarsal_line_x(landmarks: &Landmarks, y: f64) -> Option<f64> {
    let at = |id| landmarks.get(&id).map(|landmark| landmark.at);
    let (medial, lateral) = (at(LandmarkId::MetatarsaleTibiale)?, at(LandmarkId::MetatarsaleFibulare)?);
    let across = medial.y - lateral.y;
    (across.abs() > 1.0).then(|| lateral.x + (medial.x - lateral.x) * (y - lateral.y) / across)
}
