//! The standards' measures, one a file. [`ALL`] lists them in the order of a measure sheet.

mod foot_length;

use crate::{Foot, LandmarkId, Landmarks};
use base::Source;
use glam::DVec3;
use serde::Serialize;
use thiserror::Error;

/// What a measure is, apart from its value.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct MeasureSpec {
    /// Stable id, snake_case with its unit: `foot_length_mm`.
    pub id: &'static str,
    /// Name in the trade's words.
    pub label: &'static str,
    /// Unit as printed: `mm`, `%`, empty for a ratio.
    pub unit: &'static str,
    /// What is measured between what, in one or two sentences.
    pub definition: &'static str,
    /// Where the definition comes from.
    pub source: Source,
}

/// A value with the line it was measured along.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Measured {
    /// In the unit of the measure.
    pub value: f64,
    /// What to draw to show it: open or closed lines in the foot frame, mm.
    pub path: Vec<Vec<DVec3>>,
}

/// Why a measure has no value on this foot.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum MeasureError {
    /// A landmark it needs was not found.
    #[error("the {} is missing: place it by hand", .0.label().to_lowercase())]
    MissingLandmark(LandmarkId),
    /// The landmarks it needs lie where the measure makes no sense.
    #[error("the {} lies where it cannot be: move it", .0.label().to_lowercase())]
    MisplacedLandmark(LandmarkId),
    /// The skin it runs over was not scanned.
    #[error("the skin is missing {0}: scan it again or measure by hand")]
    MissingSkin(&'static str),
}

/// One measure.
pub trait Measure: Sync {
    /// What it is.
    fn spec(&self) -> &'static MeasureSpec;

    /// Measures a foot.
    ///
    /// # Errors
    /// What is missing, and what to do.
    fn eval(&self, foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError>;
}

/// Every measure.
pub const ALL: &[&dyn Measure] = &[&foot_length::FootLength];

/// The position of a landmark.
fn at(landmarks: &Landmarks, id: LandmarkId) -> Result<DVec3, MeasureError> {
    landmarks.get(&id).map(|landmark| landmark.at).ok_or(MeasureError::MissingLandmark(id))
}
