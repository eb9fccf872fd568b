//! Where the five metatarsal heads lie over the sole: an estimate from the two that can be seen from the sides.

use crate::{Foot, Landmark, LandmarkId, Landmarks};
use glam::DVec2;

/// Places of the heads, first to fifth: how far along from the metatarsale tibiale to the metatarsale fibulare, and how
/// far in front of the line between them, both as shares of its length. The second and third lie farthest forward.
/// Common anatomy, no source.
pub(super) const HEADS: [(f64, f64); 5] = [(0.17, 0.03), (0.37, 0.14), (0.54, 0.12), (0.71, 0.06), (0.87, -0.01)];

/// No head can be known better than this without feeling for it.
const MOST_CONFIDENCE: f64 = 0.5;

/// Takes the heads that were not placed by hand from the ball's two points as they stand. Without these points the
/// heads are taken away.
pub(super) fn renew(foot: &Foot, landmarks: &mut Landmarks) {
    let ball = |id: LandmarkId| landmarks.get(&id).copied();
    let line = ball(LandmarkId::MetatarsaleTibiale).zip(ball(LandmarkId::MetatarsaleFibulare));
    for (id, share) in LandmarkId::METATARSAL_HEADS.into_iter().zip(HEADS) {
        if landmarks.get(&id).is_some_and(|head| head.by_hand) {
            continue;
        }
        match line.and_then(|(tibiale, fibulare)| head(foot, tibiale, fibulare, share)) {
            Some(head) => landmarks.insert(id, head),
            None => landmarks.remove(&id),
        };
    }
}

fn head(foot: &Foot, tibiale: Landmark, fibulare: Landmark, (along, ahead): (f64, f64)) -> Option<Landmark> {
    let (medial, lateral) = (tibiale.at.truncate(), fibulare.at.truncate());
    let line = lateral - medial;
    // To the toes: the line runs laterally, that is to −y.
    let forward = DVec2::new(-line.y, line.x);
    let place = medial + along * line + ahead * forward;
    let at = place.extend(foot.sole.sample(place)?);
    let confidence = MOST_CONFIDENCE * tibiale.confidence.min(fibulare.confidence);
    at.is_finite().then_some(Landmark { at, confidence, by_hand: false })
}
