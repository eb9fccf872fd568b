//! More landmarks, and a clue for every one: where it was looked for and why it is there.
//!
//! Which points they are:
//! - *tips of the toes*: the most forward point of each toe along the foot axis;
//! - *malleoli*: the most medial and the most lateral point of the ankle's bulges, where the scan reaches them;
//! - *metatarsal heads*: estimates on the skin of the sole from metatarsale tibiale and fibulare.
//!
//! There is no instep point beside the [`LandmarkId::Instep`]: the hump over navicular and cuneiforms has no summit on
//! most feet, so that a point on it would be chosen by noise. Instep height and instep girth are both taken at half the
//! foot length.

mod clues;
mod malleoli;
mod metatarsal_heads;
mod profile;
#[cfg(test)]
mod tests;
mod toes;

use crate::ends::Front;
use crate::{Clue, Foot, FoundLandmarks, LandmarkId, Landmarks, find_landmarks};
use std::collections::BTreeMap;

/// Finds the landmarks of a foot as [`find_landmarks`] does, with a clue for every one: where it was looked for and why
/// it is there, or why it could not be found.
///
/// - *Tips of the toes*: the most forward point of each toe along the foot axis; of a toe that hides behind the one
///   beside it, its shoulder.
/// - *Malleoli*: the farthest point of the uppermost bulge on each side of the ankle, where the scan reaches it.
/// - *Metatarsal heads*: estimates on the skin of the sole, at usual shares of the line from metatarsale tibiale to
///   fibulare and in front of it.
#[must_use]
pub fn seek_landmarks(foot: &Foot) -> FoundLandmarks {
    let landmarks = find_landmarks(foot);
    let clues = clues_of(foot, &landmarks);
    FoundLandmarks { landmarks, clues }
}

/// The clues for landmarks as they stand, some of them perhaps placed by hand.
#[must_use]
pub fn clues_of(foot: &Foot, landmarks: &Landmarks) -> BTreeMap<LandmarkId, Clue> {
    clues::of_all(foot, landmarks)
}

/// Takes the estimates that hang on other landmarks anew after those were moved: the metatarsal heads from metatarsale
/// tibiale and fibulare. What was placed by hand stays.
pub fn renew_estimates(foot: &Foot, landmarks: &mut Landmarks) {
    metatarsal_heads::renew(foot, landmarks);
}

/// The sample of a border that reaches farthest out over a metatarsal head.
pub(crate) fn farthest_bulge(reach: &[f64]) -> Option<usize> {
    profile::farthest_bulge(reach)
}

/// Adds the landmarks of this module to those found before.
pub(crate) fn add(foot: &Foot, length_mm: f64, front: Option<&Front>, found: &mut Landmarks) {
    if !foot.has_dorsum {
        found.remove(&LandmarkId::Instep);
    }
    if let Some(front) = front {
        toes::find(foot, length_mm, front, found);
    }
    malleoli::find(foot, length_mm, found);
    metatarsal_heads::renew(foot, found);
}
