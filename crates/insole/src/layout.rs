use crate::SurfaceError;
use crate::params::{CUP_DEPTH, CUP_LENGTH, FOREFOOT_BLEND, FOREFOOT_EDGE, HEEL_EXPANSION, LATERAL_HEIGHT, in_range};
use crate::smooth::{gentle_step, step_over};
use base::Params;
use foot::{LandmarkId, Landmarks};
use glam::DVec2;

/// Where on the plan heel, arch and forefoot are, and how high the edge stands: smooth functions of the plan position,
/// hung on the landmarks.
#[derive(Clone, Debug)]
pub(crate) struct Layout {
    heel: DVec2,
    pub(crate) apex: DVec2,
    /// Middle of the line through the metatarsal heads.
    ball: DVec2,
    /// Square to that line, to the toes.
    forward: DVec2,
    forefoot_edge: f64,
    run_out: f64,
    /// From the flat forefoot back to the apex.
    behind: f64,
    cup_end: f64,
    cup_depth: f64,
    lateral_height: f64,
    /// Height of the medial edge abreast of the apex.
    flank: f64,
    /// By how much smaller the heel is taken where it is copied, as a share.
    heel_shrink: f64,
}

/// Heel centre where there is no landmark, as a share of the way from the pternion to the metatarsal heads; a fifth of
/// 0.74 foot lengths is about the 15 % at which the heel's load is centred. From memory.
const HEEL_SHARE: f64 = 0.2;
/// The heel cup's full rim ends at this share of the way to the arch apex at the latest, so that a short foot has a
/// waist too.
const CUP_SHARE: f64 = 0.6;
/// The arch apex must be this far in front of the heel centre and behind the flat forefoot, mm.
const LEAST_APART_MM: f64 = 15.0;
/// Half width of the band along the middle of the foot over which the lateral edge's height passes into the medial's, mm.
const HALF_BAND_MM: f64 = 18.0;
/// The flank goes on rising at this slope from the apex to the medial edge; about 27°. No source.
const FLANK_SLOPE: f64 = 0.5;
/// By no more than this, mm. No source.
const FLANK_RISE_MM: f64 = 8.0;
/// The arch begins to rise this far before the heel cup's full rim ends, as a share of the cup's length.
const ARCH_START: f64 = 0.7;
/// The added arch rises from this far lateral of the apex, mm, or from the middle of the foot if that is further: an arch
/// 14 mm high then rises at no more than 37° across the foot.
const ARCH_REACH_MM: f64 = 35.0;

impl Layout {
    /// `heel_half_width`: half the outline's width at the heel. `edge_distance`: of the apex from the outline, inside
    /// positive. `arch`: height wanted at the apex.
    pub(crate) fn new(
        landmarks: &Landmarks,
        params: &Params,
        heel_half_width: impl Fn(f64) -> f64,
        edge_distance: impl Fn(DVec2) -> f64,
        arch: f64,
    ) -> Result<Layout, SurfaceError> {
        let at = |id| landmarks.get(&id).map(|mark| mark.at.truncate()).ok_or(SurfaceError::LandmarkMissing(id));
        let (tibiale, fibulare) = (at(LandmarkId::MetatarsaleTibiale)?, at(LandmarkId::MetatarsaleFibulare)?);
        let apex = at(LandmarkId::ArchApex)?;
        let ball = (tibiale + fibulare) / 2.0;
        let heel = at(LandmarkId::HeelCentre).unwrap_or(DVec2::new(ball.x * HEEL_SHARE, 0.0));
        let forward = (fibulare - tibiale).perp().normalize_or_zero();
        let forefoot_edge = in_range(params, &FOREFOOT_EDGE);
        let behind = (ball - apex).dot(forward) - forefoot_edge;
        // A comparison that also refuses what is not a number.
        let in_order = forward.x > 0.0 && apex.x - heel.x >= LEAST_APART_MM && behind >= LEAST_APART_MM;
        if !in_order || !heel.is_finite() {
            return Err(SurfaceError::LandmarkOrder {
                reason: format!(
                    "heel centre at {:.0}, arch apex at {:.0}, metatarsal heads at {:.0} and {:.0} mm",
                    heel.x, apex.x, tibiale.x, fibulare.x
                ),
            });
        }
        let half_width = heel_half_width(heel.x).max(in_range(params, &HEEL_EXPANSION) * 2.0 + 1.0);
        Ok(Layout {
            heel,
            apex,
            ball,
            forward,
            forefoot_edge,
            run_out: in_range(params, &FOREFOOT_BLEND).min(behind),
            behind,
            cup_end: in_range(params, &CUP_LENGTH).min(apex.x * CUP_SHARE),
            cup_depth: in_range(params, &CUP_DEPTH),
            lateral_height: in_range(params, &LATERAL_HEIGHT),
            flank: arch + (FLANK_SLOPE * edge_distance(apex).max(0.0)).min(FLANK_RISE_MM),
            heel_shrink: in_range(params, &HEEL_EXPANSION) / half_width,
        })
    }

    /// 1 behind the flat forefoot, 0 on it.
    pub(crate) fn rear(&self, p: DVec2) -> f64 {
        gentle_step(self.behind_forefoot(p) / self.run_out)
    }

    fn behind_forefoot(&self, p: DVec2) -> f64 {
        (self.ball - p).dot(self.forward) - self.forefoot_edge
    }

    /// Height of the edge nearest to `p`: the heel cup's rim, from there the lateral edge on one side and the arch's flank
    /// on the other, which fall from abreast of the apex to the flat forefoot.
    pub(crate) fn edge(&self, p: DVec2) -> f64 {
        let along = step_over(self.cup_end, self.apex.x, p.x);
        let lateral = self.cup_depth + (self.lateral_height - self.cup_depth) * along;
        let medial = self.cup_depth + (self.flank - self.cup_depth) * along;
        let middle = self.middle(p.x);
        let edge = lateral + (medial - lateral) * step_over(middle - HALF_BAND_MM, middle + HALF_BAND_MM, p.y);
        edge * gentle_step(self.behind_forefoot(p) / self.behind)
    }

    /// 0 in the heel, 1 from the arch apex on.
    pub(crate) fn arch_along(&self, x: f64) -> f64 {
        step_over(self.cup_end * ARCH_START, self.apex.x, x)
    }

    /// A raised arch of height 1 at the apex, for what the skin itself does not give.
    pub(crate) fn arch(&self, p: DVec2) -> f64 {
        let from = self.middle(p.x).min(self.apex.y - ARCH_REACH_MM);
        self.arch_along(p.x) * step_over(from, self.apex.y, p.y)
    }

    /// Where on the skin to look for the height of the surface at `p`: nearer to the heel centre than `p`, which leaves
    /// room for the heel's tissue, and `p` itself from the arch on.
    pub(crate) fn on_skin(&self, p: DVec2) -> DVec2 {
        let shrink = self.heel_shrink * (1.0 - step_over(self.cup_end, self.apex.x, p.x));
        let from_heel = p - self.heel;
        DVec2::new(p.x - from_heel.x.min(0.0) * shrink, p.y - from_heel.y * shrink)
    }

    /// The middle of the foot at `x`.
    fn middle(&self, x: f64) -> f64 {
        self.heel.y + (self.ball.y - self.heel.y) * (x - self.heel.x) / (self.ball.x - self.heel.x)
    }
}
