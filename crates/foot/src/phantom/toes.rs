//! The toes: three phalanges each, bent so far that the tip rests on the ground, and a pulp.

use super::PhantomParams;
use super::anatomy::{NOMINAL_LENGTH_MM, Scale};
use super::knobs::Knobs;
use super::solid::{Piece, Strand};
use glam::{DMat3, DVec3, dvec3};

/// A toe of the nominal foot.
struct Toe {
    /// Lengths of its phalanges from the root, mm.
    phalanges: [f64; 3],
    /// Radii at the root, the two joints and the tip, mm.
    radii: [f64; 4],
    /// Half lengths of its pulp along, across and up, mm.
    pulp: [f64; 3],
    /// How far the second and third phalanx bend down against the one before, degrees: lying, and what full clawing
    /// adds.
    bends_deg: [[f64; 2]; 2],
    /// Which way it points, degrees towards medial; the hallux follows its metatarsal instead.
    yaw_deg: f64,
}

/// How a small toe bends.
const SMALL_TOE_BENDS: [[f64; 2]; 2] = [[24.0, 60.0], [10.0, 25.0]];

/// Hallux first.
const TOES: [Toe; 5] = [
    Toe {
        phalanges: [31.0, 14.0, 9.5],
        radii: [14.5, 11.8, 11.2, 10.0],
        pulp: [14.0, 12.4, 9.8],
        bends_deg: [[8.0, 50.0], [4.0, 0.0]],
        yaw_deg: 0.0,
    },
    Toe {
        phalanges: [27.0, 15.0, 10.0],
        radii: [9.5, 7.8, 7.0, 7.2],
        pulp: [8.5, 7.5, 6.6],
        bends_deg: SMALL_TOE_BENDS,
        yaw_deg: -1.0,
    },
    Toe {
        phalanges: [24.0, 13.0, 9.5],
        radii: [9.0, 7.4, 6.7, 6.8],
        pulp: [8.5, 7.5, 6.6],
        bends_deg: SMALL_TOE_BENDS,
        yaw_deg: -1.5,
    },
    Toe {
        phalanges: [23.5, 12.5, 9.5],
        radii: [8.6, 7.0, 6.4, 6.5],
        pulp: [8.5, 7.0, 6.6],
        bends_deg: SMALL_TOE_BENDS,
        yaw_deg: 0.5,
    },
    Toe {
        phalanges: [22.5, 10.5, 9.0],
        radii: [8.6, 7.0, 6.4, 6.6],
        pulp: [8.5, 7.0, 6.6],
        bends_deg: SMALL_TOE_BENDS,
        yaw_deg: -1.5,
    },
];

/// Direction of the first metatarsal against the foot axis, degrees towards medial.
const FIRST_RAY_DEG: f64 = 9.0;
/// Hallux valgus from which the hallux touches the second toe, degrees.
const PUSHES_FROM_DEG: f64 = 11.0;
/// How much of that turn each toe takes up.
const PUSHED: [f64; 5] = [0.0, 0.75, 0.55, 0.4, 0.25];
/// How far full splay turns each toe away from the next one, degrees.
const SPLAY_DEG: f64 = 3.5;
/// How deep a tip would reach under the ground if it did not flatten, mm: makes a print of the size of a coin.
const TIP_SINKS_MM: f64 = 2.6;

/// The toe at the metatarsal head `root`, and about where its tip is; `splay` against the usual one.
pub(super) fn toe(
    s: &Scale,
    params: &PhantomParams,
    knobs: &Knobs,
    number: usize,
    root: DVec3,
    splay: f64,
) -> (Vec<Strand>, DVec3) {
    let toe = &TOES[number];
    let size = s.ball_thickness;
    let length = params.toe_length[number] * knobs.toes.at * params.foot_length_mm / NOMINAL_LENGTH_MM;
    let radii = toe.radii.map(|r| r * size);
    let bends = toe.bends_deg.map(|[lying, clawed]| (lying + clawed * params.toe_claw[number]).to_radians());
    let yaw = yaw_deg(params, number, splay).to_radians();
    let ahead = dvec3(libm::cos(yaw), libm::sin(yaw), 0.0);
    let joints = |pitch: f64| {
        let pitches = [pitch, pitch + bends[0], pitch + bends[0] + bends[1]];
        let mut joints = [root; 4];
        for (i, pitch) in pitches.into_iter().enumerate() {
            let along = ahead * libm::cos(pitch) - DVec3::Z * libm::sin(pitch);
            joints[i + 1] = joints[i] + toe.phalanges[i] * length * along;
        }
        joints
    };
    // The toe is lifted at its root until its tip just rests on the ground.
    let tip_z = radii[3] - TIP_SINKS_MM;
    let (mut low, mut high) = (-1.2_f64, 0.8_f64);
    for _ in 0..40 {
        let mid = (low + high) / 2.0;
        if joints(mid)[3].z > tip_z { low = mid } else { high = mid }
    }
    let joints = joints((low + high) / 2.0);
    let knots: Vec<_> = joints.into_iter().zip(radii).collect();
    // The hallux has its pulp under the middle of its last phalanx, the others at its end.
    let pulp_at = if number == 0 {
        joints[2] + 0.45 * (joints[3] - joints[2]) - size * DVec3::Z
    } else {
        joints[3] - size * dvec3(1.0, 0.0, 0.5)
    };
    let pulp = Piece::tilted_ellipsoid(pulp_at, DVec3::from_array(toe.pulp) * size, DMat3::from_rotation_z(yaw));
    (vec![Strand::through(&knots, 3.0), Strand::of(pulp, 4.0)], joints[3] + radii[3] * ahead)
}

/// Which way a toe points, degrees towards medial.
fn yaw_deg(params: &PhantomParams, number: usize, splay: f64) -> f64 {
    let spread = SPLAY_DEG * splay;
    if number == 0 {
        return FIRST_RAY_DEG - params.hallux_valgus_deg + spread;
    }
    // A hallux that leans over pushes the toes beside it, each a little less than the one before.
    let pushed = (params.hallux_valgus_deg - spread - PUSHES_FROM_DEG).max(0.0) * PUSHED[number];
    TOES[number].yaw_deg - pushed - spread * (number as f64 - 1.0)
}
