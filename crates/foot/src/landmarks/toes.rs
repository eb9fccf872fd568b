//! The tips of the first, third, fourth and fifth toe, each the most forward point of its toe along the foot axis.

use super::profile::{between_samples, prominence, summits, uphill};
use crate::ends::Front;
use crate::view::{FROM_TOES, View, part};
use crate::{Foot, Landmark, LandmarkId, Landmarks};
use glam::DVec3;

/// Sample distance of the outline, mm.
const STEP_MM: f64 = 1.0;

/// Above this share of the foot length, what lies in front is instep.
const END_HEIGHT: f64 = 0.24;

/// Toes end in front of this share of the foot length; the fifth lies farthest back.
const TOES_FROM: f64 = 0.72;

/// Tips of neighbouring toes are at least this far apart, as a share of the breadth of the ball.
const APART: f64 = 0.10;

/// The tip of the hallux lies this far medial of that of the second toe, as a share of the same breadth; common
/// anatomy, no source.
const HALLUX: f64 = 0.24;

/// The tips of the third, fourth and fifth toe lie this far along from the second toe's tip to the lateral border of
/// the ball; common anatomy, no source.
const SMALL_TOES: [f64; 3] = [0.30, 0.57, 0.83];

/// How far a tip may lie from its usual place, as a share of the breadth of the ball: more than the way to the next.
const REACH: f64 = 0.20;

/// A summit lower than this is the scanner's noise, mm.
const NOISE_MM: f64 = 0.3;

/// A tip that stands out by this much is certain, mm.
const CLEAR_MM: f64 = 3.0;

/// How far the tips of the small toes recede for each millimetre to the lateral side, mm: seen along that slant a toe
/// stands out that is hidden from straight ahead by the one beside it. Common anatomy, no source.
const RECEDE: f64 = 0.5;

/// From where a toe stands out along the slant, its tip lies at most this many samples to the medial side.
const TO_TIP: usize = 6;

/// A second toe of no more confidence than this was placed where it usually lies, not where it was seen.
const DOUBTFUL: f64 = 0.35;

/// A summit is taken between samples this far apart.
const BEND: usize = 2;

/// Confidence of a toe that does not stand out: the outline at its usual place.
pub(super) const NOT_SEEN: f64 = 0.2;

/// The outline of the toes: the most forward skin of each millimetre of breadth, from the lateral side to the medial.
pub(super) fn outline(foot: &Foot, length_mm: f64) -> Vec<DVec3> {
    let is_toe = |p: DVec3| p.x > TOES_FROM * length_mm && p.z < END_HEIGHT * length_mm;
    View::of(&part(&foot.mesh, is_toe), FROM_TOES, STEP_MM)
        .smoothed(1)
        .profile_where(is_toe)
        .into_iter()
        .flatten()
        .collect()
}

/// Adds the tips that can be seen, given the second toe's tip and both sides of the ball.
pub(super) fn find(foot: &Foot, length_mm: f64, front: &Front, found: &mut Landmarks) {
    let place = |id: LandmarkId| found.get(&id).map(|landmark| landmark.at);
    let (Some(second), Some(medial), Some(lateral)) = (
        place(LandmarkId::SecondToeTip),
        place(LandmarkId::MetatarsaleTibiale),
        place(LandmarkId::MetatarsaleFibulare),
    ) else {
        return;
    };
    let second_is_clear = found.get(&LandmarkId::SecondToeTip).is_some_and(|tip| tip.confidence > DOUBTFUL);
    let breadth = medial.y - lateral.y;
    let outline = outline(foot, length_mm);
    if outline.is_empty() || breadth.is_nan() || breadth <= 0.0 {
        return;
    }
    let heights: Vec<f64> = outline.iter().map(|p| p.x).collect();
    let slanted: Vec<f64> = outline.iter().map(|p| p.x - RECEDE * p.y).collect();
    let mut put = |id: LandmarkId, at: DVec3, confidence: f64| {
        if at.is_finite() {
            found.insert(id, Landmark { at, confidence, by_hand: false });
        }
    };
    let certainty = |prominence: f64| 0.4 + 0.5 * (prominence / CLEAR_MM).min(1.0);
    let small_tip = |k: usize| {
        let medially = (k..=(k + TO_TIP).min(outline.len() - 1)).collect();
        let farther = uphill(&heights, medially);
        // Without a summit straight ahead the toe's shoulder along the slant is the nearest there is to a tip.
        let at = farther.map_or(outline[k], |j| between_samples(&outline, DVec3::X, j, BEND));
        (at, certainty(prominence(&slanted, k)))
    };
    // The outline at a place, where no tip is seen.
    let usual = |y: f64| {
        let nearest = outline.iter().min_by(|a, b| (a.y - y).abs().total_cmp(&(b.y - y).abs()));
        nearest.filter(|p| (p.y - y).abs() < 2.0 * STEP_MM).map(|&p| (p, NOT_SEEN))
    };

    // A second toe that does not stand out may have been placed on the flank of a hallux that leans over to it.
    let apart = if second_is_clear { APART } else { APART / 2.0 };
    let is_hallux = |&k: &usize| outline[k].y > second.y + apart * breadth;
    let first = summits(&heights, NOISE_MM).into_iter().filter(is_hallux);
    let hallux = first.max_by(|&a, &b| heights[a].total_cmp(&heights[b]));
    let hallux_tip = |k: usize| (front.tip(outline[k]), certainty(prominence(&heights, k)));
    if let Some((at, confidence)) = hallux.map(hallux_tip).or_else(|| usual(second.y + HALLUX * breadth)) {
        put(LandmarkId::HalluxTip, at, confidence);
    }

    let expected = SMALL_TOES.map(|share| second.y + share * (lateral.y - second.y));
    let seen = merged(summits(&slanted, NOISE_MM), &outline, &slanted, APART * breadth);
    let small: Vec<usize> = seen.into_iter().rev().filter(|&k| outline[k].y < second.y - APART * breadth).collect();
    let ys: Vec<f64> = small.iter().map(|&k| outline[k].y).collect();
    let ids = [LandmarkId::ThirdToeTip, LandmarkId::FourthToeTip, LandmarkId::FifthToeTip];
    for ((id, y), which) in ids.into_iter().zip(expected).zip(matched(&ys, &expected, REACH * breadth)) {
        let (at, confidence) = match which.map(|which| small_tip(small[which])).or_else(|| usual(y)) {
            Some(tip) => tip,
            None => continue,
        };
        put(id, at, confidence);
    }
}

/// Of summits closer together than `apart_mm`, the highest: one toe with a bump.
fn merged(summits: Vec<usize>, outline: &[DVec3], heights: &[f64], apart_mm: f64) -> Vec<usize> {
    let mut kept: Vec<usize> = Vec::new();
    for k in summits {
        match kept.last_mut() {
            Some(last) if outline[k].y - outline[*last].y < apart_mm => {
                if heights[k] > heights[*last] {
                    *last = k;
                }
            }
            _ => kept.push(k),
        }
    }
    kept
}

/// Which of `seen` (from medial to lateral) is which of three toes expected at `expected`, in the same order: of all
/// ways, the one with the least squares of the distances, a toe not seen counting as one at `reach`.
fn matched(seen: &[f64], expected: &[f64; 3], reach: f64) -> [Option<usize>; 3] {
    let cost = |toe: usize, which: Option<usize>| {
        let off = which.map_or(1.0, |which| (seen[which] - expected[toe]) / reach);
        off * off
    };
    let choices = || std::iter::once(None).chain((0..seen.len()).map(Some));
    let mut best = ([None; 3], f64::INFINITY);
    for third in choices() {
        for fourth in choices() {
            for fifth in choices() {
                let chosen: Vec<usize> = [third, fourth, fifth].into_iter().flatten().collect();
                if !chosen.windows(2).all(|pair| pair[0] < pair[1]) {
                    continue;
                }
                let sum = cost(0, third) + cost(1, fourth) + cost(2, fifth);
                if sum < best.1 {
                    best = ([third, fourth, fifth], sum);
                }
            }
        }
    }
    best.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn toes_are_told_apart_by_their_order_and_place() {
        let usual = [-10.0, -22.0, -34.0];
        assert_eq!(matched(&[-11.0, -24.0, -33.0], &usual, 15.0), [Some(0), Some(1), Some(2)]);
        // The fourth does not stand out.
        assert_eq!(matched(&[-11.0, -35.0], &usual, 15.0), [Some(0), None, Some(1)]);
        assert_eq!(matched(&[-36.0], &usual, 15.0), [None, None, Some(0)]);
        assert_eq!(matched(&[], &usual, 15.0), [None; 3]);
        // A bump far beyond is no toe.
        assert_eq!(matched(&[-80.0], &usual, 15.0), [None; 3]);
    }
}
