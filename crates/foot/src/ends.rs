//! The two ends of the foot axis: rearmost point of the heel and tips of the toes.

use crate::view::{FROM_BEHIND, FROM_TOES, View, part};
use glam::DVec3;
use mesh::TriMesh;

/// Sample distance of the views, mm.
const STEP_MM: f64 = 1.0;

/// Above this share of the foot length, skin behind is calf, and skin in front is instep.
const END_HEIGHT: f64 = 0.24;

/// Rearmost point of the heel. `skin` lies in the foot frame or near it: +x to the toes, heel near x = 0.
pub(crate) fn rearmost(skin: &TriMesh, length_mm: f64) -> Option<DVec3> {
    let end = part(skin, |p| p.x < 0.1 * length_mm && p.z < END_HEIGHT * length_mm);
    // Mean over 3 mm: on a heel that is round with a radius of 30 mm that is too far forward by 0.03 mm.
    View::of(&end, FROM_BEHIND, STEP_MM).smoothed(1).nearest_where(|p| p.z < END_HEIGHT * length_mm)
}

/// What the front of the foot shows.
#[derive(Clone, Debug)]
pub(crate) struct Front {
    /// Most forward point of each millimetre of breadth, from the lateral side to the medial one.
    profile: Vec<DVec3>,
    /// Least and greatest y of the ball.
    ball: (f64, f64),
}

/// A toe's tip, and 0 … 1 how clearly it stands out between its neighbours.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Tip {
    pub(crate) at: DVec3,
    pub(crate) confidence: f64,
}

/// Where the second toe's tip lies, from the medial border of the ball to the lateral one; common anatomy, no source.
const SECOND_TOE: f64 = 0.41;

/// How far to either side it may lie, as a share of the same breadth: half the way to the first and third toes.
const SECOND_TOE_REACH: f64 = 0.11;

/// A tip that stands out by this much is certain, mm.
const CLEAR_MM: f64 = 4.0;

/// A summit lower than this is the scanner's noise, mm.
const NOISE_MM: f64 = 0.4;

impl Front {
    /// Looks at the front of the foot; `skin` as for [`rearmost`].
    pub(crate) fn of(skin: &TriMesh, length_mm: f64) -> Option<Front> {
        let ball = skin
            .positions()
            .iter()
            .filter(|p| p.x > 0.55 * length_mm && p.x < 0.85 * length_mm && p.z < 0.16 * length_mm)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), p| (lo.min(p.y), hi.max(p.y)));
        let end = part(skin, |p| p.x > 0.75 * length_mm && p.z < END_HEIGHT * length_mm);
        let profile: Vec<DVec3> = View::of(&end, FROM_TOES, STEP_MM)
            .smoothed(1)
            .profile_where(|p| p.z < END_HEIGHT * length_mm)
            .into_iter()
            .flatten()
            .collect();
        (!profile.is_empty() && ball.0 < ball.1).then_some(Front { profile, ball })
    }

    /// Tip of the most forward toe.
    pub(crate) fn farthest(&self) -> Option<DVec3> {
        self.profile.iter().copied().max_by(|a, b| a.x.total_cmp(&b.x))
    }

    /// Tip of the second toe: the summit of the outline where the second toe usually is, or else the outline there.
    pub(crate) fn second_toe(&self) -> Option<Tip> {
        let (lateral, medial) = self.ball;
        let expected = medial - SECOND_TOE * (medial - lateral);
        let reach = SECOND_TOE_REACH * (medial - lateral);
        let summit = (0..self.profile.len())
            .filter(|&k| (self.profile[k].y - expected).abs() <= reach)
            .map(|k| {
                let off = (self.profile[k].y - expected) / reach;
                (k, self.prominence(k) * (1.0 - 0.5 * off * off))
            })
            .max_by(|a, b| a.1.total_cmp(&b.1))?;
        if summit.1 > NOISE_MM {
            let confidence = 0.5 + 0.5 * (summit.1 / CLEAR_MM).min(1.0);
            return Some(Tip { at: self.profile[summit.0], confidence });
        }
        let nearest = |a: &&DVec3, b: &&DVec3| (a.y - expected).abs().total_cmp(&(b.y - expected).abs());
        self.profile.iter().min_by(nearest).map(|&at| Tip { at, confidence: 0.3 })
    }

    /// How far the outline falls on the less deep side of a summit before it rises higher, mm; 0 on a slope.
    fn prominence(&self, summit: usize) -> f64 {
        let top = self.profile[summit].x;
        let fall = |side: &mut dyn Iterator<Item = &DVec3>| {
            let mut least = top;
            for p in side {
                if p.x > top {
                    break;
                }
                least = least.min(p.x);
            }
            top - least
        };
        let lateral = fall(&mut self.profile[..summit].iter().rev());
        let medial = fall(&mut self.profile[summit + 1..].iter());
        lateral.min(medial)
    }
}
