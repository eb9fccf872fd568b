//! The malleoli: where the ankle bulges farthest to the medial and to the lateral side.

use super::profile::{between_samples, prominence, summits, uphill};
use crate::view::{View, part};
use crate::{Foot, Landmark, LandmarkId, Landmarks};
use glam::{DMat3, DVec3};
use std::ops::Range;

/// Heights between which a malleolus bulges, shares of foot length. The lateral one lies at about 0.27, the medial one
/// at about 0.32 of the foot length, from memory.
pub(super) const HEIGHTS: Range<f64> = 0.19..0.46;

/// Where along the foot, shares of foot length: in front of the heel's end and behind the navicular, so that neither
/// counts as ankle. Common anatomy, no source.
pub(super) const ALONG: Range<f64> = 0.14..0.31;

/// Skin must reach this share of the foot length up for a malleolus to be in the scan at all.
pub(super) const LEAST_TOP: f64 = 0.30;

/// Sample distance, mm.
const STEP_MM: f64 = 1.0;

/// A bulge lower than this is no malleolus, mm.
const NOISE_MM: f64 = 0.3;

/// A malleolus that stands out by this much is certain, mm.
const CLEAR_MM: f64 = 4.0;

/// How much a millimetre up counts against a millimetre out while bulges are told apart: a shoulder above which the leg
/// becomes slender counts as a bulge even where the foot below reaches as far.
const LEAN: f64 = 0.08;

/// Confidence of a shoulder that is no bulge by itself.
pub(super) const SHOULDER: f64 = 0.2;

/// Where the skin reaches farthest this near to the front or rear end of what is looked at, it is not the ankle's, mm.
const END_MM: f64 = 2.0;

/// From the bulge so found, its farthest point lies at most this many samples down.
const TO_SUMMIT: usize = 8;

/// A bulge is taken between samples this far apart.
const BEND: usize = 4;

/// Axes of the views from the medial and from the lateral side: columns run up.
const SIDES: [(LandmarkId, DMat3); 2] = [
    (LandmarkId::MalleolusMedialis, DMat3::from_cols(DVec3::Z, DVec3::X, DVec3::Y)),
    (LandmarkId::MalleolusLateralis, DMat3::from_cols(DVec3::Z, DVec3::NEG_X, DVec3::NEG_Y)),
];

/// Adds the malleoli that the scan shows.
pub(super) fn find(foot: &Foot, length_mm: f64, found: &mut Landmarks) {
    for (id, axes) in SIDES {
        let profile = profile_of(foot, length_mm, axes);
        if let Some((at, stands_out_mm)) = bulge(&profile, axes.z_axis) {
            let confidence = SHOULDER + 0.7 * (stands_out_mm / CLEAR_MM).min(1.0);
            found.insert(id, Landmark { at, confidence, by_hand: false });
        }
    }
}

/// The farthest skin of the ankle on the side of a malleolus, one point a millimetre up.
pub(super) fn profile(foot: &Foot, length_mm: f64, id: LandmarkId) -> Vec<DVec3> {
    SIDES.into_iter().find(|side| side.0 == id).map_or_else(Vec::new, |side| profile_of(foot, length_mm, side.1))
}

fn profile_of(foot: &Foot, length_mm: f64, axes: DMat3) -> Vec<DVec3> {
    let within = |p: DVec3| {
        p.z > HEIGHTS.start * length_mm
            && p.z < HEIGHTS.end * length_mm
            && p.x > ALONG.start * length_mm
            && p.x < ALONG.end * length_mm
    };
    let profile = View::of(&part(&foot.mesh, within), axes, STEP_MM).smoothed(1).profile_where(within);
    let ankle = ALONG.start * length_mm + END_MM..ALONG.end * length_mm - END_MM;
    let is_ankle = |p: &Option<DVec3>| p.is_some_and(|p| ankle.contains(&p.x));
    // From where the leg is, down to where the foot in front reaches out as far.
    let mut leg: Vec<DVec3> =
        profile.into_iter().rev().skip_while(|p| !is_ankle(p)).map_while(|p| p.filter(|_| is_ankle(&p))).collect();
    leg.reverse();
    leg
}

/// The uppermost bulge or shoulder, and how far it stands out from what is above and below, mm. Above a malleolus the leg
/// is slender; below it heel and tarsus bulge as well.
fn bulge(profile: &[DVec3], out: DVec3) -> Option<(DVec3, f64)> {
    let reach: Vec<f64> = profile.iter().map(|p| p.dot(out)).collect();
    let leaning: Vec<f64> = profile.iter().map(|p| p.dot(out) + LEAN * p.z).collect();
    let uppermost = summits(&leaning, NOISE_MM).pop()?;
    let down: Vec<usize> = (uppermost.saturating_sub(TO_SUMMIT)..=uppermost).rev().collect();
    match uphill(&reach, down) {
        Some(k) => Some((between_samples(profile, out, k, BEND), prominence(&reach, k))),
        None => Some((profile[uppermost], 0.0)),
    }
}
