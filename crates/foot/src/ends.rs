//! The two ends of the foot axis: rearmost point of the heel and tips of the toes.

use crate::curved::curved;
use crate::view::{FROM_BEHIND, FROM_TOES, View, edge_mm, part};
use glam::DVec3;
use mesh::TriMesh;

/// Sample distance of the views, mm.
const STEP_MM: f64 = 1.0;

/// Triangles of the toes are split into sides of about this length, mm: flat ones lie less than 0.1 mm inside a tip.
const SIDE_MM: f64 = 2.0;

/// Above this share of the foot length, skin behind is calf, and skin in front is instep.
const END_HEIGHT: f64 = 0.24;

/// The rearmost point is taken in the middle of what lies within this of it, mm: a flat heel has no single one.
const CAP_MM: f64 = 0.5;

/// Rearmost point of the heel. `skin` lies in the foot frame or near it: +x to the toes, heel near x = 0.
pub(crate) fn rearmost(skin: &TriMesh, length_mm: f64) -> Option<DVec3> {
    let end = part(skin, |p| p.x < 0.1 * length_mm && p.z < END_HEIGHT * length_mm);
    // Mean over 3 mm: on a heel that is round with a radius of 30 mm that is too far forward by 0.03 mm.
    let view = View::of(&end, FROM_BEHIND, STEP_MM).smoothed(1);
    let rearmost = view.nearest_where(|p| p.z < END_HEIGHT * length_mm)?;
    let cap: Vec<DVec3> =
        view.every(1).into_iter().filter(|p| p.z < END_HEIGHT * length_mm && p.x < rearmost.x + CAP_MM).collect();
    let middle = cap.iter().sum::<DVec3>() / cap.len() as f64;
    Some(DVec3::new(rearmost.x, middle.y, middle.z))
}

/// What the front of the foot shows.
#[derive(Clone, Debug)]
pub(crate) struct Front {
    /// The toes, their skin bulged between the vertices.
    toes: View,
    /// Most forward point of each millimetre of breadth, from the lateral side to the medial one.
    profile: Vec<DVec3>,
    /// Least and greatest y of the ball.
    ball: (f64, f64),
    /// Length of the foot, about.
    length_mm: f64,
    /// How far around a tip its cap is fitted.
    cap_mm: f64,
}

/// A toe's tip, and 0 … 1 how clearly it stands out between its neighbours.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Tip {
    pub(crate) at: DVec3,
    pub(crate) confidence: f64,
}

/// Where the second toe's tip lies, from the medial border of the ball to the lateral one; common anatomy, no source.
const SECOND_TOE: f64 = 0.41;

/// How far to either side it may lie, as a share of the same breadth: less than the way to the third toe.
const SECOND_TOE_REACH: f64 = 0.12;

/// The same where no toe lies medial of it: a hallux that has drifted comes nearer than a second toe ever is off.
const NO_HALLUX_REACH: f64 = 0.06;

/// Tips of neighbouring toes are at least this far apart, as a share of the breadth of the ball.
const APART: f64 = 0.10;

/// Summits farther behind the front than this share of the foot length are no first or second toe, but bumps of the
/// border. The second toe is rarely 0.05 shorter than the first.
const TOES: f64 = 0.12;

/// Breadth of a toe is taken this far behind its tip, mm.
const TIP_MM: f64 = 4.0;

/// A second toe is narrower there than this share of the ball, a hallux broader. Common anatomy, no source.
const SLENDER: f64 = 0.165;

/// A tip that stands out by this much is certain, mm.
const CLEAR_MM: f64 = 4.0;

/// A tip is the summit of the cap that fits the skin around it so far across, as a share of the foot length: less than
/// half the breadth of a second toe; coarse triangles need it all …
const CAP_REACH: f64 = 0.022;

/// … and no farther than so many sides of its triangles, or fine scans would lose the shape of a pointed tip …
const CAP_SIDES: f64 = 2.0;

/// … but at least so far, mm: over less the noise left in fine scans decides.
const CAP_LEAST_MM: f64 = 3.0;

/// A cap reaches so far behind its tip, as a share of the foot length: gaps between toes are deeper.
const CAP_DEPTH: f64 = 0.012;

/// Toes that differ by less than this are equally long, mm: the most medial one is the farthest then.
const LEVEL_MM: f64 = 0.1;

/// Summits this far behind the farthest are not the farthest toe, mm: a fitted cap lies that near the skin.
const FRONT_MM: f64 = 3.0;

/// Between two toes that differ by less than this the finder cannot tell for sure which one is longer, mm: twice the
/// standard deviation of the difference of two tips in triangles of 3 to 6 mm with noise of 0.3 mm (random phantoms).
pub(crate) const UNSURE_MM: f64 = 0.8;

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
        let cap_mm = (CAP_SIDES * edge_mm(&end)).max(CAP_LEAST_MM).min(CAP_REACH * length_mm);
        let toes = View::of(&curved(&end, SIDE_MM), FROM_TOES, STEP_MM);
        let profile: Vec<DVec3> =
            toes.smoothed(1).profile_where(|p| p.z < END_HEIGHT * length_mm).into_iter().flatten().collect();
        (!profile.is_empty() && ball.0 < ball.1).then_some(Front { toes, profile, ball, length_mm, cap_mm })
    }

    /// Tip of the most forward toe, of toes equally long the most medial one, and how clearly it lies in front of the
    /// next: 0.5 for toes equally long.
    pub(crate) fn farthest(&self) -> Option<Tip> {
        let front = self.profile.iter().copied().max_by(|a, b| a.x.total_cmp(&b.x))?;
        let summits = (0..self.profile.len()).filter(|&k| self.prominence(k) > NOISE_MM).map(|k| self.profile[k]);
        let tips: Vec<DVec3> = summits.filter(|p| p.x > front.x - FRONT_MM).map(|p| self.tip(p)).collect();
        let farthest_mm = tips.iter().map(|tip| tip.x).fold(f64::NEG_INFINITY, f64::max);
        // The outline runs medially: the last is the most medial one.
        let at = tips.iter().copied().rev().find(|tip| tip.x > farthest_mm - LEVEL_MM).unwrap_or(front);
        let apart = APART * (self.ball.1 - self.ball.0);
        let others = tips.iter().filter(|tip| (tip.y - at.y).abs() > apart);
        let lead_mm = others.map(|tip| at.x - tip.x).fold(UNSURE_MM, f64::min).max(0.0);
        Some(Tip { at, confidence: 0.5 + 0.45 * lead_mm / UNSURE_MM })
    }

    /// The tip at a summit of the outline: of single samples noise and the place of the vertices would decide.
    pub(crate) fn tip(&self, summit: DVec3) -> DVec3 {
        self.toes.cap(summit, self.cap_mm, CAP_DEPTH * self.length_mm).unwrap_or(summit)
    }

    /// Tip of the second toe.
    ///
    /// The most medial summit of the outline is the hallux, wherever it has drifted; the next one is the second toe if
    /// it lies near where that usually is. A foot without a hallux has the second toe first. Otherwise the toe does
    /// not stand out, and the outline at its usual place is the answer.
    pub(crate) fn second_toe(&self) -> Option<Tip> {
        let (lateral, medial) = self.ball;
        let expected = medial - SECOND_TOE * (medial - lateral);
        let off = |k: usize| (self.profile[k].y - expected).abs() / (medial - lateral);
        let toes_from = self.farthest()?.at.x - TOES * self.length_mm;
        // From the medial side. Two summits close together are one toe with a bump.
        let is_toe = |&k: &usize| self.profile[k].x > toes_from && self.prominence(k) > NOISE_MM;
        let mut tips: Vec<usize> = Vec::new();
        for k in (0..self.profile.len()).rev().filter(is_toe) {
            match tips.last_mut() {
                Some(last) if self.profile[*last].y - self.profile[k].y < APART * (medial - lateral) => {
                    if self.profile[k].x > self.profile[*last].x {
                        *last = k;
                    }
                }
                _ => tips.push(k),
            }
        }
        let after_hallux = tips.iter().skip(1).copied().find(|&k| off(k) < SECOND_TOE_REACH);
        let without_hallux = tips.first().copied().filter(|&k| off(k) < NO_HALLUX_REACH && self.is_slender(k));
        let found = after_hallux.or(without_hallux);
        if let Some(k) = found {
            let confidence = 0.5 + 0.5 * (self.prominence(k) / CLEAR_MM).min(1.0);
            return Some(Tip { at: self.tip(self.profile[k]), confidence });
        }
        let nearest = (0..self.profile.len()).min_by(|&a, &b| off(a).total_cmp(&off(b)))?;
        Some(Tip { at: self.profile[nearest], confidence: 0.3 })
    }

    /// Whether a toe is too narrow for a hallux.
    fn is_slender(&self, summit: usize) -> bool {
        let foot_of_tip = self.profile[summit].x - TIP_MM;
        let side = |toe: &mut dyn Iterator<Item = &DVec3>| toe.take_while(|p| p.x > foot_of_tip).count();
        let lateral = side(&mut self.profile[..summit].iter().rev());
        let medial = side(&mut self.profile[summit + 1..].iter());
        (lateral + medial + 1) as f64 * STEP_MM < SLENDER * (self.ball.1 - self.ball.0)
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
