use super::random::SplitMix64;
use base::{ParamSpec, Side};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// One person's foot in numbers. The first group is met by the finished phantom (they are its measures), the second
/// shapes it without being measured. Ranges are in [`PARAMS`].
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct PhantomParams {
    /// Which foot it is; the foot frame does not know, only scans do.
    pub side: Side,
    /// Pternion to akropodion along the foot axis, mm.
    pub foot_length_mm: f64,
    /// Greatest breadth of the ball square to the foot axis, mm.
    pub ball_breadth_mm: f64,
    /// Breadth of the heel, mm.
    pub heel_breadth_mm: f64,
    /// Height of the medial arch apex over the support plane, mm.
    pub arch_height_mm: f64,
    /// Metatarsale tibiale's place along the foot axis as a share of foot length.
    pub ball_length_ratio: f64,
    /// Height of the dorsum over half the foot length, mm.
    pub instep_height_mm: f64,
    /// Breadth over both malleoli, mm.
    pub ankle_width_mm: f64,
    /// Breadth of the lateral band the foot stands on, where the print is narrowest, mm.
    pub midfoot_width_mm: f64,

    /// Height at which the leg ends, mm.
    pub leg_height_mm: f64,
    /// Angle of the hallux towards the second toe against the first metatarsal, degrees.
    pub hallux_valgus_deg: f64,
    /// How much the rays spread, 0 (close together) … 1 (splay foot).
    pub forefoot_splay: f64,
    /// Length of each toe against an ordinary toe of its number, hallux first. Only their proportions count: foot
    /// length decides how long the longest is.
    pub toe_length: [f64; 5],
    /// How far each toe is clawed, hallux first: 0 (lying) … 1 (tip under a high knuckle).
    pub toe_claw: [f64; 5],
}

impl Default for PhantomParams {
    fn default() -> Self {
        PhantomParams {
            side: Side::Right,
            foot_length_mm: 255.0,
            ball_breadth_mm: 96.0,
            heel_breadth_mm: 68.0,
            arch_height_mm: 17.0,
            ball_length_ratio: 0.74,
            instep_height_mm: 65.0,
            ankle_width_mm: 70.0,
            leg_height_mm: 130.0,
            midfoot_width_mm: 34.0,
            hallux_valgus_deg: 9.0,
            forefoot_splay: 0.3,
            toe_length: [1.0; 5],
            toe_claw: [0.0; 5],
        }
    }
}

const fn spec(
    id: &'static str,
    label: &'static str,
    unit: &'static str,
    range: [f64; 4],
    help: &'static str,
) -> ParamSpec {
    let [min, max, default, step] = range;
    ParamSpec { id, label, unit, min, max, default, step, help }
}

/// Unit, range and default of every number in [`PhantomParams`]; the last two hold for each toe.
pub const PARAMS: [ParamSpec; 13] = [
    spec("foot_length_mm", "Foot length", "mm", [150.0, 330.0, 255.0, 1.0], "Pternion to akropodion."),
    spec("ball_breadth_mm", "Ball breadth", "mm", [55.0, 135.0, 96.0, 1.0], "Greatest breadth of the ball."),
    spec("heel_breadth_mm", "Heel breadth", "mm", [38.0, 95.0, 68.0, 1.0], "Breadth of the heel."),
    spec("arch_height_mm", "Arch height", "mm", [6.0, 35.0, 17.0, 0.5], "Height of the medial arch apex."),
    spec(
        "ball_length_ratio",
        "Ball length / foot length",
        "",
        [0.69, 0.78, 0.74, 0.005],
        "Place of metatarsale tibiale.",
    ),
    spec("instep_height_mm", "Instep height", "mm", [36.0, 95.0, 65.0, 1.0], "Dorsum over half the length."),
    spec("ankle_width_mm", "Ankle width", "mm", [42.0, 95.0, 70.0, 1.0], "Breadth over both malleoli."),
    spec("leg_height_mm", "Leg height", "mm", [95.0, 180.0, 130.0, 1.0], "Where the leg ends."),
    spec("midfoot_width_mm", "Midfoot width", "mm", [8.0, 80.0, 34.0, 1.0], "Breadth of the lateral band, about."),
    spec("hallux_valgus_deg", "Hallux valgus", "°", [0.0, 35.0, 9.0, 1.0], "Hallux against first metatarsal."),
    spec("forefoot_splay", "Forefoot splay", "", [0.0, 1.0, 0.3, 0.05], "How much the rays spread."),
    spec("toe_length", "Toe length", "", [0.8, 1.2, 1.0, 0.01], "Against an ordinary toe of its number."),
    spec("toe_claw", "Toe claw", "", [0.0, 1.0, 0.0, 0.05], "How far the toe is clawed."),
];

/// Shares of foot length (ball, heel and ankle breadth, instep height) and of the ball's breadth (midfoot width)
/// between which a body is a foot at all. Wide: surveyed means ± 4 standard deviations and more (ball breadth
/// 0.376 ± 0.017, heel breadth 0.270 ± 0.018 of foot length: computed from the ANSUR II records).
const PROPORTIONS: [(&str, f64, f64); 5] = [
    ("ball_breadth_mm", 0.30, 0.46),
    ("heel_breadth_mm", 0.20, 0.34),
    ("instep_height_mm", 0.19, 0.33),
    ("ankle_width_mm", 0.21, 0.35),
    ("midfoot_width_mm", 0.02, 0.21),
];

/// Why there is no phantom with the parameters asked for.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum PhantomFault {
    /// Outside its range, or not a number.
    #[error("{what} is {value}: choose {min} to {max}")]
    OutOfRange {
        /// Id of the parameter.
        what: &'static str,
        /// What was asked for.
        value: f64,
        /// Least value accepted.
        min: f64,
        /// Greatest value accepted.
        max: f64,
    },
    /// In range, but not together with this foot length.
    #[error("{what} is {value} mm on a foot of {foot_length_mm} mm: choose {min} to {max} mm")]
    OutOfProportion {
        /// Id of the parameter.
        what: &'static str,
        /// What was asked for, mm.
        value: f64,
        /// The foot length it does not go with, mm.
        foot_length_mm: f64,
        /// Least value accepted with it, mm.
        min: f64,
        /// Greatest value accepted with it, mm.
        max: f64,
    },
    /// The other parameters leave no room for it.
    #[error("{what} should be {asked} but comes out as {got}: bring the other parameters nearer to the ordinary")]
    Unreached {
        /// Id of the parameter.
        what: &'static str,
        /// What was asked for.
        asked: f64,
        /// What the skin measured at the end.
        got: f64,
    },
}

impl PhantomParams {
    /// The numbers by id, in the order of [`PARAMS`].
    pub(super) fn values(&self) -> impl Iterator<Item = (&'static ParamSpec, f64)> {
        let singles = [
            self.foot_length_mm,
            self.ball_breadth_mm,
            self.heel_breadth_mm,
            self.arch_height_mm,
            self.ball_length_ratio,
            self.instep_height_mm,
            self.ankle_width_mm,
            self.leg_height_mm,
            self.midfoot_width_mm,
            self.hallux_valgus_deg,
            self.forefoot_splay,
        ];
        let [.., length, claw] = &PARAMS;
        let lengths = self.toe_length.into_iter().map(move |value| (length, value));
        let claws = self.toe_claw.into_iter().map(move |value| (claw, value));
        PARAMS.iter().zip(singles).chain(lengths).chain(claws)
    }

    /// # Errors
    /// The first number out of range or out of proportion.
    pub(super) fn check(&self) -> Result<(), PhantomFault> {
        for (spec, value) in self.values() {
            if !spec.accepts(value) {
                return Err(PhantomFault::OutOfRange { what: spec.id, value, min: spec.min, max: spec.max });
            }
            if let Some((what, least, most)) = PROPORTIONS.into_iter().find(|(what, ..)| *what == spec.id) {
                let foot_length_mm = self.foot_length_mm;
                let (min, max) = (least * foot_length_mm, most * foot_length_mm);
                if value < min || value > max {
                    return Err(PhantomFault::OutOfProportion { what, value, foot_length_mm, min, max });
                }
            }
        }
        Ok(())
    }
}

/// Some plausible body, the same for the same seed: for tests over many feet.
///
/// Lengths, breadths and the ball ratio spread about the surveyed means (breadth 0.376 SD 0.017, heel breadth 0.270 SD
/// 0.018, ball length 0.740 SD 0.014 of foot length: computed from the ANSUR II records), at most 2 standard
/// deviations away; the rest is common practice, no source.
#[must_use]
pub fn random(seed: u64) -> PhantomParams {
    let mut stream = SplitMix64::new(seed);
    let mut about = |mean: f64, deviation: f64| mean + deviation * stream.normal().clamp(-2.0, 2.0);
    let foot_length_mm = about(255.0, 16.0);
    let ball_breadth_mm = foot_length_mm * about(0.376, 0.017);
    let heel_breadth_mm = foot_length_mm * about(0.270, 0.018);
    let arch_height_mm = foot_length_mm * about(0.068, 0.016);
    let ball_length_ratio = about(0.740, 0.014);
    let instep_height_mm = foot_length_mm * about(0.255, 0.015);
    let ankle_width_mm = foot_length_mm * about(0.274, 0.012);
    // A high arch comes with a narrow band, with some freedom.
    let midfoot_width_mm = (ball_breadth_mm * (0.62 - 4.0 * (arch_height_mm / foot_length_mm)) * about(1.0, 0.1))
        .clamp(10.0, 0.68 * heel_breadth_mm);
    let toe_length = std::array::from_fn(|_| about(1.0, 0.04));
    let side = if stream.next() & 1 == 0 { Side::Left } else { Side::Right };
    // Most people have straight toes: a clawed one now and then.
    let toe_claw = std::array::from_fn(|_| (stream.between(-1.5, 0.8)).max(0.0));
    PhantomParams {
        side,
        foot_length_mm,
        ball_breadth_mm,
        heel_breadth_mm,
        arch_height_mm,
        ball_length_ratio,
        instep_height_mm,
        ankle_width_mm,
        leg_height_mm: stream.between(110.0, 150.0),
        midfoot_width_mm,
        hallux_valgus_deg: stream.between(3.0, 22.0),
        forefoot_splay: stream.between(0.0, 0.8),
        toe_length,
        toe_claw,
    }
}
