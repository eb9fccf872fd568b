//! How thick the soft tissue is between skin and bone, where that was published: under the heel and under the metatarsal heads.

use crate::{LandmarkId, Landmarks};
use base::Source;
use glam::DVec2;

/// Heel pad without load, mm; over studies 12.5 to 24.5.
pub const HEEL_PAD_MM: f64 = 20.0;
/// Under the second metatarsal head without load, mm. Taken for the other heads too, which is an estimate.
pub const HEAD_PAD_MM: f64 = 15.2;
/// Where the numbers come from.
pub const SOURCE: Source = Source::seen(
    "heel pad 20 ± 2 mm unloaded: Uzel et al. 2006 (PMID 16513397), 12.5 to 24.5 mm over studies: Naemi et al. 2016; second \
     metatarsal head 15.2 mm: Cavanagh 1999, J Biomech 32 (NASA technical report 20040141955); the other heads alike: an estimate",
);

/// The heel pad is taken to reach this far round the heel centre, mm; common anatomy, no source.
const HEEL_RADIUS_MM: f64 = 24.0;
/// A head's pad reaches this far round it, mm; common anatomy, no source.
const HEAD_RADIUS_MM: f64 = 9.0;

/// Thickness of the soft tissue at a place of the plan, mm, without load; `None` where nothing was published. An estimate for
/// orientation: people differ by a third.
#[must_use]
pub fn thickness_mm(landmarks: &Landmarks, p: DVec2) -> Option<f64> {
    let near =
        |id: LandmarkId, radius: f64| landmarks.get(&id).is_some_and(|mark| mark.at.truncate().distance(p) <= radius);
    if near(LandmarkId::HeelCentre, HEEL_RADIUS_MM) {
        return Some(HEEL_PAD_MM);
    }
    let heads = [
        LandmarkId::MetatarsalHead1,
        LandmarkId::MetatarsalHead2,
        LandmarkId::MetatarsalHead3,
        LandmarkId::MetatarsalHead4,
        LandmarkId::MetatarsalHead5,
    ];
    heads.into_iter().any(|id| near(id, HEAD_RADIUS_MM)).then_some(HEAD_PAD_MM)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Landmark;
    use glam::DVec3;

    #[test]
    fn thickness_is_told_under_heel_and_heads_only() {
        let mark = |x: f64, y: f64| Landmark { at: DVec3::new(x, y, 0.0), confidence: 1.0, by_hand: false };
        let landmarks: Landmarks =
            [(LandmarkId::HeelCentre, mark(38.0, 0.0)), (LandmarkId::MetatarsalHead2, mark(190.0, 14.0))].into();
        assert_eq!(thickness_mm(&landmarks, DVec2::new(50.0, 5.0)), Some(HEEL_PAD_MM));
        assert_eq!(thickness_mm(&landmarks, DVec2::new(186.0, 10.0)), Some(HEAD_PAD_MM));
        assert_eq!(thickness_mm(&landmarks, DVec2::new(110.0, 0.0)), None);
        assert_eq!(thickness_mm(&Landmarks::new(), DVec2::new(50.0, 5.0)), None);
    }
}
