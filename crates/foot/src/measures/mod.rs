//! The standards' measures, one a file. [`ALL`] lists them in the order of a measure sheet.
//!
//! A measure is read off the foot's shape and its landmarks, so a landmark that is moved by hand moves the measures
//! that hang on it. To add one: a file beside these and a line in [`ALL`].

mod arch_apex_height;
mod arch_height_index;
mod arch_index;
mod ball_girth;
mod ball_length;
mod chippaux_smirak;
mod classes;
mod foot_breadth;
mod foot_breadth_along_ball;
mod foot_length;
mod foot_length_heel_centre_axis;
mod hallux_angle;
mod heel_breadth;
mod instep_girth;
mod instep_height;
mod malleolus_heights;
mod navicular_height;
mod normalised_navicular_height;
mod sole_area;
mod staheli;
mod toe_height;
mod truncated_length;

use crate::print::{BallLine, ToelessPrint};
use crate::{Foot, LandmarkId, Landmarks};
use base::Source;
use glam::{DVec2, DVec3};
use mesh::outline::perimeter_mm;
use mesh::{Plane, convex_hull_2d, section};
use serde::Serialize;
use std::ops::RangeInclusive;
use thiserror::Error;

pub use classes::{Band, Classes, Reference, disagreement};
pub(crate) use classes::{above, below, up_to};

pub use crate::print::{
    arch_height_index as arch_height_index_of, arch_index as arch_index_of,
    chippaux_smirak_percent as chippaux_smirak_percent_of, staheli_index as staheli_index_of,
};

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
    /// What authors call such values; empty if nobody drew limits that are known here.
    pub classes: &'static [Classes],
    /// Published values to hold it against, where there are no limits.
    pub references: &'static [Reference],
}

/// A value with the line it was measured along.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Measured {
    /// In the unit of the measure.
    pub value: f64,
    /// What to draw to show it: lines in the foot frame, mm. A closed line ends where it starts.
    pub path: Vec<Vec<DVec3>>,
}

/// Why a measure has no value on this foot.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum MeasureError {
    /// A landmark it needs was not found.
    #[error("the {} is missing: place it by hand", .0.label().to_ascii_lowercase())]
    MissingLandmark(LandmarkId),
    /// The landmarks it needs lie where the measure makes no sense.
    #[error("the {} lies where it cannot be: move it", .0.label().to_ascii_lowercase())]
    MisplacedLandmark(LandmarkId),
    /// The skin it runs over was not scanned.
    #[error("the skin is missing {0}; scan it again or measure by hand")]
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
pub const ALL: &[&dyn Measure] = &[
    &foot_length::FootLength,
    &foot_length_heel_centre_axis::FootLengthHeelCentreAxis,
    &ball_length::BallLength,
    &truncated_length::TruncatedLength,
    &foot_breadth::FootBreadth,
    &foot_breadth_along_ball::FootBreadthAlongBall,
    &heel_breadth::HeelBreadth,
    &ball_girth::BallGirth,
    &instep_girth::InstepGirth,
    &instep_height::InstepHeight,
    &toe_height::ToeHeight,
    &hallux_angle::HalluxAngle,
    &malleolus_heights::MEDIALIS,
    &malleolus_heights::LATERALIS,
    &navicular_height::NavicularHeight,
    &normalised_navicular_height::NormalisedNavicularHeight,
    &arch_apex_height::ArchApexHeight,
    &arch_height_index::ArchHeightIndex,
    &arch_index::ArchIndex,
    &chippaux_smirak::ChippauxSmirak,
    &staheli::Staheli,
    &sole_area::SoleArea,
];

/// What is missing from a scan of the sole only.
const TOP: &str = "above: the top of the foot was not scanned";

/// The position of a landmark.
fn at(landmarks: &Landmarks, id: LandmarkId) -> Result<DVec3, MeasureError> {
    landmarks.get(&id).map(|landmark| landmark.at).ok_or(MeasureError::MissingLandmark(id))
}

/// The position of a landmark that lies on skin which a scan of the sole does not show.
fn at_top(foot: &Foot, landmarks: &Landmarks, id: LandmarkId) -> Result<DVec3, MeasureError> {
    match at(landmarks, id) {
        Err(_) if !foot.has_dorsum => Err(MeasureError::MissingSkin(TOP)),
        found => found,
    }
}

/// Distance along the foot axis from the pternion, which must lie behind.
fn along_axis(landmarks: &Landmarks, to: LandmarkId) -> Result<Measured, MeasureError> {
    let (heel, end) = (at(landmarks, LandmarkId::Pternion)?, at(landmarks, to)?);
    if end.x <= heel.x {
        return Err(MeasureError::MisplacedLandmark(to));
    }
    let path = vec![DVec3::new(heel.x, heel.y, 0.0), DVec3::new(end.x, heel.y, 0.0), DVec3::new(end.x, end.y, 0.0)];
    Ok(Measured { value: end.x - heel.x, path: vec![path] })
}

/// Height of a landmark over the support plane.
fn height(p: DVec3) -> Measured {
    Measured { value: p.z, path: vec![vec![p.with_z(0.0), p]] }
}

/// The tape pulled tight round the foot in a plane, and through the points given, which lie in it.
fn tape(foot: &Foot, plane: &Plane, through: &[DVec3], place: &'static str) -> Result<Measured, MeasureError> {
    if !foot.has_dorsum {
        return Err(MeasureError::MissingSkin(TOP));
    }
    let mut points: Vec<DVec3> = section(&foot.mesh, plane).into_iter().flat_map(|line| line.points).collect();
    if points.len() < 3 {
        return Err(MeasureError::MissingSkin(place));
    }
    points.extend(through);
    let flat: Vec<DVec2> = points.iter().map(|&p| plane.to_2d(p)).collect();
    let hull = convex_hull_2d(&flat);
    let mut path: Vec<DVec3> = hull.iter().map(|&p| plane.to_3d(p)).collect();
    path.extend(path.first().copied());
    Ok(Measured { value: perimeter_mm(&hull), path: vec![path] })
}

/// The silhouette's greatest extent along y within a part of the foot, as lateral and medial end.
fn breadth_of(silhouette: &[DVec2], within_mm: RangeInclusive<f64>) -> Option<[DVec2; 2]> {
    let part = || silhouette.iter().copied().filter(|p| within_mm.contains(&p.x));
    let lateral = part().min_by(|a, b| a.y.total_cmp(&b.y))?;
    let medial = part().max_by(|a, b| a.y.total_cmp(&b.y))?;
    Some([lateral, medial])
}

/// The toeless print, with the ball line through the metatarsal heads.
fn toeless_print(foot: &Foot, landmarks: &Landmarks) -> Result<ToelessPrint, MeasureError> {
    let length_mm = at(landmarks, LandmarkId::Akropodion)?.x - at(landmarks, LandmarkId::Pternion)?.x;
    let medial = at(landmarks, LandmarkId::MetatarsaleTibiale)?.truncate();
    let lateral = at(landmarks, LandmarkId::MetatarsaleFibulare)?.truncate();
    if medial.y <= lateral.y {
        return Err(MeasureError::MisplacedLandmark(LandmarkId::MetatarsaleTibiale));
    }
    ToelessPrint::of(foot, BallLine { medial, lateral }, length_mm).ok_or(MeasureError::MissingSkin("under the sole"))
}

/// A line across a slice of the print, from end to end.
fn across(print: &ToelessPrint, slice: usize) -> Vec<DVec3> {
    let (medial, lateral) = print.ends_mm[slice];
    [medial, lateral].map(|y| DVec3::new(print.x_of(slice), y, 0.0)).to_vec()
}

#[cfg(test)]
mod tests;
