use super::truth::Asked;
use super::{MEASURE_TOLERANCE_MM, PhantomFault, PhantomParams};

/// One number of the anatomy that is turned until a measure of the skin is what was asked for.
#[derive(Clone, Copy, Debug)]
pub(super) struct Knob {
    /// Where it stands.
    pub(super) at: f64,
    /// How much the measure is taken to answer to it, and what it was before the last turn.
    answer: Option<f64>,
    before: Option<(f64, f64)>,
}

/// How much of its measure a knob is turned by at once, mm.
const MOST_AT_ONCE_MM: f64 = 8.0;

impl Knob {
    fn new(at: f64) -> Knob {
        Knob { at, answer: None, before: None }
    }

    /// Turns it by what the measure misses. `answer`: first guess of the measure's change for a turn by 1.
    fn turn(&mut self, asked: f64, got: f64, answer: f64) {
        // Other knobs turn too, so what seems to be this one's answer is only believed within bounds.
        let expected = self.answer.unwrap_or(answer);
        let seen = self.before.map_or(expected, |(at, measure)| (got - measure) / (self.at - at));
        let believed = if seen.is_finite() { seen.clamp(0.5 * expected, 2.0 * expected) } else { expected };
        let believed = believed.clamp(0.2 * answer, 4.0 * answer);
        self.answer = Some(believed);
        self.before = Some((self.at, got));
        // Far turns would leave the region in which the answers hold.
        let most = MOST_AT_ONCE_MM / answer.max(1.0);
        self.at += ((asked - got) / believed).clamp(-most, most);
    }
}

/// Corrections that make the finished skin meet the measures asked for.
#[derive(Clone, Copy, Debug)]
pub(super) struct Knobs {
    /// Share of the length from heel to ball.
    pub(super) hind: Knob,
    /// Share of the toes' length.
    pub(super) toes: Knob,
    /// Share of the ball's breadth.
    pub(super) ball: Knob,
    /// Share of the heel's breadth.
    pub(super) heel: Knob,
    /// Share of the instep's height.
    pub(super) instep: Knob,
    /// Share of the breadth over the malleoli.
    pub(super) ankle: Knob,
    /// Added to the vault's height, mm.
    pub(super) arch_mm: Knob,
    /// Added to the vault's distance from the lateral border, mm.
    pub(super) band_mm: Knob,
}

impl Default for Knobs {
    fn default() -> Self {
        let (share, added) = (Knob::new(1.0), Knob::new(0.0));
        Knobs {
            hind: share,
            toes: share,
            ball: share,
            heel: share,
            instep: share,
            ankle: share,
            arch_mm: added,
            band_mm: added,
        }
    }
}

impl Knobs {
    /// Turns every knob by what its measure misses; the measure that misses most, while one does.
    pub(super) fn turn(&mut self, params: &PhantomParams, got: &Asked) -> Option<PhantomFault> {
        let ball_mm = params.ball_length_ratio * params.foot_length_mm;
        let toes_mm = params.foot_length_mm - ball_mm;
        let targets = [
            ("ball_length_ratio", &mut self.hind, ball_mm, got.tibiale.x, ball_mm),
            ("foot_length_mm", &mut self.toes, toes_mm, got.foot_length_mm - got.tibiale.x, toes_mm),
            ("ball_breadth_mm", &mut self.ball, params.ball_breadth_mm, got.foot_breadth_mm, params.ball_breadth_mm),
            ("heel_breadth_mm", &mut self.heel, params.heel_breadth_mm, got.heel_breadth_mm, params.heel_breadth_mm),
            ("instep_height_mm", &mut self.instep, params.instep_height_mm, got.instep.z, params.instep_height_mm),
            ("ankle_width_mm", &mut self.ankle, params.ankle_width_mm, got.ankle_breadth_mm, params.ankle_width_mm),
            ("arch_height_mm", &mut self.arch_mm, params.arch_height_mm, got.arch_apex.z, 1.0),
            ("midfoot_width_mm", &mut self.band_mm, params.midfoot_width_mm, got.midfoot_width_mm, 1.0),
        ];
        let mut worst: Option<PhantomFault> = None;
        let mut most = MEASURE_TOLERANCE_MM;
        for (what, knob, asked, got, answer) in targets {
            let miss = (asked - got).abs();
            if miss > most || miss.is_nan() {
                most = miss;
                worst = Some(PhantomFault::Unreached { what, asked, got });
            }
            knob.turn(asked, got, answer);
        }
        worst
    }
}
