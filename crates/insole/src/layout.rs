use crate::SurfaceError;
use crate::params::{
    ARCH_FORWARD, ARCH_LENGTH, ARCH_REACH, CONFORM_FOREFOOT, CONFORM_HEEL, CONFORM_LATERAL, CONFORM_MEDIAL,
    CONFORM_TOES, CUP_DEPTH, CUP_FLARE, CUP_LENGTH, FOREFOOT_BLEND, FOREFOOT_EDGE, HEEL_EXPANSION, LATERAL_ARCH,
    LATERAL_HEIGHT, TOE_LINE, TOE_PLATFORM, TRANSVERSE_ARCH, given, in_range,
};
use crate::smooth::{bump, gentle_step, step_over};
use base::{ParamSpec, Params};
use foot::{LandmarkId, Landmarks};
use glam::DVec2;

/// Where on the plan heel, arch and forefoot are, and how high the edge stands: smooth functions of the plan position,
/// hung on the landmarks.
#[derive(Clone, Debug)]
pub(crate) struct Layout {
    heel: DVec2,
    /// Highest place of the arch support.
    pub(crate) apex: DVec2,
    /// Middle of the line through the metatarsal heads.
    ball: DVec2,
    /// Square to that line, to the toes.
    forward: DVec2,
    /// Between the outer landmarks of the ball.
    breadth: f64,
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
    /// How much longer than high the cup's wall is, beyond what it is without flare.
    flare: f64,
    /// The arch begins to rise here, and its flank begins to fall from the apex on so as to end this far in front of it.
    arch_from: f64,
    arch_ahead: f64,
    pub(crate) own_arch_length_mm: f64,
    arch_reach: f64,
    /// Heights added under the lateral column and behind the heads.
    lateral_arch: f64,
    transverse_arch: f64,
    toe_line: f64,
    toe_platform: f64,
    /// Shares of the skin's own form: heel, medial arch, lateral arch, forefoot, toes.
    conform: [f64; 5],
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
/// An arch never begins to rise nearer behind the apex, nor ends nearer in front of it, than this, mm.
const LEAST_RISE_MM: f64 = 15.0;
/// The lateral column's support lies midway between heel centre and fifth metatarsal head, this share of the way long to
/// each side: under cuboid and base of the fifth metatarsal. Common anatomy, no source.
const LATERAL_HALF: f64 = 0.4;
/// It is highest this far lateral of the foot's middle, as a share of the way to the fifth metatarsal head, and as wide.
const LATERAL_OUT: f64 = 0.75;
/// The transverse arch is highest this far behind the line of the heads, mm, and runs out over as much to the front and
/// twice as much to the rear: it carries the shafts. Common practice, no source.
const TRANSVERSE_BEHIND_MM: f64 = 18.0;
/// It runs out across at this share of half the breadth between the outer landmarks.
const TRANSVERSE_HALF: f64 = 0.8;
/// The step to the toes is this long, mm.
const TOE_STEP_MM: f64 = 16.0;

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
        let apex = at(LandmarkId::ArchApex)? + DVec2::X * in_range(params, &ARCH_FORWARD);
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
        let cup_end = in_range(params, &CUP_LENGTH).min(apex.x * CUP_SHARE);
        let own_rise = apex.x - cup_end * ARCH_START;
        // A length given is shared out before and behind the apex as the foot's own is.
        let longer = given(params, &ARCH_LENGTH).map_or(1.0, |length| length / (own_rise + behind));
        let share = |spec: &ParamSpec| in_range(params, spec) / 100.0;
        Ok(Layout {
            heel,
            apex,
            ball,
            breadth: tibiale.distance(fibulare),
            forward,
            forefoot_edge,
            run_out: in_range(params, &FOREFOOT_BLEND).min(behind),
            cup_end,
            cup_depth: in_range(params, &CUP_DEPTH),
            lateral_height: in_range(params, &LATERAL_HEIGHT),
            flank: arch + (FLANK_SLOPE * edge_distance(apex).max(0.0)).min(FLANK_RISE_MM),
            heel_shrink: in_range(params, &HEEL_EXPANSION) / half_width,
            flare: libm::tan(in_range(params, &CUP_FLARE).to_radians()),
            arch_from: apex.x - (own_rise * longer).max(LEAST_RISE_MM),
            own_arch_length_mm: own_rise + behind,
            arch_ahead: (behind * longer).clamp(LEAST_RISE_MM, behind),
            behind,
            arch_reach: in_range(params, &ARCH_REACH),
            lateral_arch: in_range(params, &LATERAL_ARCH),
            transverse_arch: in_range(params, &TRANSVERSE_ARCH),
            toe_line: in_range(params, &TOE_LINE),
            toe_platform: in_range(params, &TOE_PLATFORM),
            conform: [&CONFORM_HEEL, &CONFORM_MEDIAL, &CONFORM_LATERAL, &CONFORM_FOREFOOT, &CONFORM_TOES].map(share),
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
        let lateral = self.cup_depth + (self.lateral_height - self.cup_depth) * self.midfoot(p.x);
        let rising = step_over(self.cup_end.max(self.arch_from), self.apex.x, p.x);
        let falling = gentle_step((self.behind_forefoot(p) - self.behind + self.arch_ahead) / self.arch_ahead);
        let beside = self.cup_depth + (self.lateral_height - self.cup_depth) * self.midfoot(p.x);
        let flank = beside + (self.flank - beside) * rising;
        let medial = flank * falling;
        let lateral = lateral * gentle_step(self.behind_forefoot(p) / self.behind);
        lateral + (medial - lateral) * self.medial(p)
    }

    /// By how much longer the wall below the edge is than without flare, for an edge this high.
    pub(crate) fn flared(&self, p: DVec2, edge: f64) -> f64 {
        edge * self.flare * (1.0 - self.midfoot(p.x))
    }

    /// 0 on the lateral side, 1 on the medial.
    fn medial(&self, p: DVec2) -> f64 {
        let middle = self.middle(p.x);
        step_over(middle - HALF_BAND_MM, middle + HALF_BAND_MM, p.y)
    }

    /// 0 in the heel cup, 1 from abreast of the arch apex on.
    pub(crate) fn midfoot(&self, x: f64) -> f64 {
        step_over(self.cup_end, self.apex.x, x)
    }

    /// 0 in the heel, 1 from the arch apex on.
    pub(crate) fn arch_along(&self, x: f64) -> f64 {
        step_over(self.arch_from, self.apex.x, x)
    }

    /// A raised arch of height 1 at the apex, for what the skin itself does not give.
    pub(crate) fn arch(&self, p: DVec2) -> f64 {
        let from = self.middle(p.x).min(self.apex.y - self.arch_reach);
        // A short reach wins over the foot's middle.
        let from = if self.arch_reach < ARCH_REACH.default { self.apex.y - self.arch_reach } else { from };
        self.arch_along(p.x) * step_over(from, self.apex.y, p.y)
    }

    /// How much of the skin's own form is taken behind the forefoot.
    pub(crate) fn conform_behind(&self, p: DVec2) -> f64 {
        let [heel, medial, lateral, ..] = self.conform;
        let midfoot = lateral + (medial - lateral) * self.medial(p);
        heel + (midfoot - heel) * self.midfoot(p.x)
    }

    /// How much of it under forefoot and toes.
    pub(crate) fn conform_front(&self, p: DVec2) -> f64 {
        let [.., forefoot, toes] = self.conform;
        forefoot + (toes - forefoot) * self.toes(p)
    }

    /// Whether forefoot and toes are flat.
    pub(crate) fn is_flat_in_front(&self) -> bool {
        self.conform[3] <= 0.0 && self.conform[4] <= 0.0 && self.toe_platform == 0.0
    }

    /// 0 under the forefoot, 1 under the toes.
    fn toes(&self, p: DVec2) -> f64 {
        let ahead = (p - self.ball).dot(self.forward) - self.toe_line;
        step_over(-TOE_STEP_MM / 2.0, TOE_STEP_MM / 2.0, ahead)
    }

    /// What the toe platform adds.
    pub(crate) fn platform(&self, p: DVec2) -> f64 {
        self.toe_platform * self.toes(p)
    }

    /// What lateral and transverse arch add.
    pub(crate) fn added_arches(&self, p: DVec2) -> f64 {
        let mut height = 0.0;
        if self.lateral_arch > 0.0 {
            let along = (p.x - self.heel.x) / (self.ball.x - self.heel.x);
            let out = (self.middle(p.x) - p.y) / (self.breadth / 2.0);
            height += self.lateral_arch * bump((along - 0.5) / LATERAL_HALF) * bump((out - LATERAL_OUT) / LATERAL_OUT);
        }
        if self.transverse_arch > 0.0 {
            let behind = (self.ball - p).dot(self.forward) / TRANSVERSE_BEHIND_MM - 1.0;
            let across = (p - self.ball).dot(self.forward.perp()) / (self.breadth / 2.0 * TRANSVERSE_HALF);
            let along = bump(if behind > 0.0 { behind / 2.0 } else { behind });
            height += self.transverse_arch * along * bump(across);
        }
        height
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
