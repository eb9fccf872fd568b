//! Where the bones, pads and muscles of the phantom lie. All places are given for one nominal foot (250 mm long, ball
//! 94 mm, heel 67 mm broad, instep 64 mm high) and carried over to the person's proportions by [`Scale`].
//! The places are drawn after common anatomy (no source): they make a phantom look and measure like a foot, no more.

use super::PhantomParams;
use super::knobs::Knobs;
use super::solid::{Group, Piece, Places, Strand, Tissue, Vault};
use glam::{DMat3, DVec3, dvec3};

const NOMINAL_LENGTH_MM: f64 = 250.0;
const NOMINAL_BALL_BREADTH_MM: f64 = 94.0;
const NOMINAL_HEEL_BREADTH_MM: f64 = 67.0;
const NOMINAL_INSTEP_MM: f64 = 64.0;
const NOMINAL_ANKLE_MM: f64 = 70.0;
const NOMINAL_BALL_RATIO: f64 = 0.74;

fn ramp(from: f64, to: f64, x: f64) -> f64 {
    let t = ((x - from) / (to - from)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

fn mix(a: f64, b: f64, t: f64) -> f64 {
    a + (b - a) * t
}

/// Nominal place or size → the person's.
struct Scale {
    size: f64,
    length: f64,
    heel: f64,
    ball: f64,
    ball_thickness: f64,
    heel_thickness: f64,
    instep: f64,
    ankle: f64,
    splay: f64,
}

impl Scale {
    fn of(params: &PhantomParams, knobs: &Knobs) -> Scale {
        let length = params.foot_length_mm / NOMINAL_LENGTH_MM;
        let heel = params.heel_breadth_mm / NOMINAL_HEEL_BREADTH_MM;
        let ball = params.ball_breadth_mm / NOMINAL_BALL_BREADTH_MM;
        Scale {
            size: length,
            length: length * params.ball_length_ratio / NOMINAL_BALL_RATIO * knobs.hind.at,
            heel: heel * knobs.heel.at,
            ball: ball * knobs.ball.at,
            ball_thickness: (ball * length).sqrt(),
            heel_thickness: (heel * length).sqrt(),
            instep: params.instep_height_mm / NOMINAL_INSTEP_MM * knobs.instep.at,
            ankle: params.ankle_width_mm / NOMINAL_ANKLE_MM * knobs.ankle.at,
            splay: params.forefoot_splay,
        }
    }

    /// A place in the foot.
    fn at(&self, x: f64, y: f64, z: f64) -> DVec3 {
        // Heights follow the instep in the middle of the foot, where it is measured.
        let arch = ramp(30.0, 110.0, x) * (1.0 - ramp(140.0, 190.0, x));
        let thickness = mix(self.heel_thickness, self.ball_thickness, ramp(50.0, 170.0, x));
        dvec3(x * self.length, y * self.breadth(x, z), z * mix(thickness, self.instep, arch))
    }

    /// Breadth at nominal x and z: the heel's, the ball's, and under the ankle the ankle's.
    fn breadth(&self, x: f64, z: f64) -> f64 {
        let ankle = ramp(35.0, 65.0, z) * (1.0 - ramp(80.0, 120.0, x));
        mix(mix(self.heel, self.ball, ramp(50.0, 170.0, x)), self.ankle, ankle)
    }

    /// A thickness at nominal x and z.
    fn thick(&self, x: f64, z: f64, r: f64) -> f64 {
        r * (self.breadth(x, z) * self.size).sqrt()
    }

    /// A place in the leg.
    fn leg(&self, x: f64, y: f64, z: f64) -> DVec3 {
        dvec3(x * self.length, y * self.ankle, z * self.heel_thickness)
    }

    fn leg_thick(&self, r: f64) -> f64 {
        r * (self.ankle * self.heel_thickness).sqrt()
    }

    fn strand(&self, knots: &[[f64; 4]], blend: f64) -> Strand {
        let knots: Vec<_> = knots.iter().map(|&[x, y, z, r]| (self.at(x, y, z), self.thick(x, z, r))).collect();
        Strand::through(&knots, blend)
    }

    fn pad(&self, at: [f64; 3], radii: [f64; 3], yaw_deg: f64, blend: f64) -> Strand {
        let [x, y, z] = at;
        let broad = self.breadth(x, z);
        let radii = dvec3(self.thick(x, z, radii[0]), broad * radii[1], self.thick(x, z, radii[2]));
        Strand::of(Piece::ellipsoid(self.at(x, y, z), radii, yaw_deg.to_radians()), blend)
    }

    fn leg_strand(&self, knots: &[[f64; 4]], blend: f64) -> Strand {
        let knots: Vec<_> = knots.iter().map(|&[x, y, z, r]| (self.leg(x, y, z), self.leg_thick(r))).collect();
        Strand::through(&knots, blend)
    }
}

/// Splay of the nominal foot.
const USUAL_SPLAY: f64 = 0.3;
/// How much farther apart than usual full splay puts the metatarsal heads, as a share of their distance.
const SPLAY_OF_HEADS: f64 = 0.12;
/// How far full splay turns each toe away from the next one, degrees.
const SPLAY_OF_TOES_DEG: f64 = 3.5;

/// A metatarsal from base to head as x, y, z, radius.
const METATARSALS: [[[f64; 4]; 3]; 5] = [
    [[116.0, 13.0, 43.0, 15.0], [150.0, 19.5, 29.0, 13.0], [184.0, 26.0, 16.0, 15.0]],
    [[108.0, 5.0, 48.0, 13.0], [150.0, 6.0, 30.0, 11.5], [191.0, 5.5, 15.0, 11.5]],
    [[106.0, -6.0, 43.0, 13.0], [146.0, -8.5, 27.5, 11.0], [185.0, -10.5, 14.0, 11.0]],
    [[100.0, -16.0, 35.0, 13.0], [138.0, -22.0, 22.5, 10.5], [175.5, -25.5, 13.0, 10.5]],
    [[88.0, -27.0, 22.0, 14.0], [126.0, -34.0, 16.0, 11.0], [163.0, -39.0, 12.5, 11.0]],
];

/// Everything but the toes.
fn body(s: &Scale, params: &PhantomParams) -> Vec<Strand> {
    // The medial muscles hang as low as the arch asked for and a little lower, so that the vault cuts into them.
    let hang = (params.arch_height_mm / s.at(108.0, 0.0, 1.0).z + 8.0).min(28.0);
    let mut strands = vec![
        // Heel: fat pad, calcaneus.
        s.pad([37.0, 0.0, 24.0], [37.0, 32.5, 31.0], 0.0, 8.0),
        s.strand(&[[36.0, 0.0, 34.0, 29.0], [42.0, 0.0, 50.0, 28.0], [52.0, 0.0, 66.0, 27.0]], 14.0),
        s.strand(&[[56.0, -1.0, 44.0, 28.0], [72.0, -2.0, 32.0, 26.0], [94.0, -17.0, 28.0, 20.0]], 16.0),
        // Leg: its core, the tendon behind, the shin, the ridge of the dorsum, the ligaments under the medial malleolus.
        s.leg_strand(&[[52.0, 0.0, 72.0, 29.0], [48.0, 0.0, 104.0, 27.0], [47.0, 0.0, 180.0, 30.0]], 16.0),
        s.leg_strand(
            &[
                [19.0, 0.0, 44.0, 11.0],
                [21.5, 0.0, 70.0, 9.5],
                [23.5, 0.0, 96.0, 9.0],
                [26.0, 0.0, 130.0, 13.0],
                [31.0, 0.0, 180.0, 20.0],
            ],
            20.0,
        ),
        Strand::through(
            &[
                (s.leg(62.0, 3.0, 180.0), s.leg_thick(25.0)),
                (s.leg(68.0, 3.0, 120.0), s.leg_thick(22.0)),
                (s.leg(76.0, 3.0, 92.0), s.leg_thick(19.0)),
                (s.at(89.0, 4.0, 70.0), s.thick(89.0, 70.0, 16.0)),
            ],
            18.0,
        ),
        s.strand(
            &[
                [74.0, 2.0, 72.0, 22.0],
                [92.0, 5.0, 60.0, 20.0],
                [112.0, 8.0, 50.0, 18.0],
                [140.0, 11.0, 37.0, 14.0],
                [182.0, 12.0, 18.0, 11.0],
            ],
            16.0,
        ),
        s.strand(&[[54.0, 16.0, 60.0, 17.0], [78.0, 19.0, 56.0, 16.0], [102.0, 18.0, 43.0, 13.5]], 14.0),
        // Tibia and fibula with their malleoli, the medial one higher.
        s.leg_strand(
            &[[52.0, 6.0, 150.0, 17.0], [57.0, 11.0, 114.0, 14.0], [62.0, 19.5, 86.0, 15.0], [63.0, 18.0, 68.0, 12.0]],
            16.0,
        ),
        s.leg_strand(
            &[
                [45.0, -8.0, 150.0, 16.0],
                [47.0, -14.0, 106.0, 12.5],
                [49.0, -22.5, 76.0, 12.5],
                [51.0, -21.0, 58.0, 9.5],
            ],
            16.0,
        ),
        // Tarsus: cuboid side, navicular tuberosity, base of the fifth metatarsal.
        s.strand(&[[70.0, -8.0, 44.0, 22.0], [92.0, -14.0, 36.0, 19.0], [112.0, -18.0, 29.0, 15.0]], 18.0),
        s.pad(NAVICULAR, [17.0, 8.0, 12.0], -8.0, 18.0),
        s.pad([86.0, -33.0, 16.0], [16.0, 8.0, 11.0], 8.0, 18.0),
        // Muscles of the sole: abductor of the hallux, short flexor, abductor of the fifth toe.
        s.strand(
            &[
                [50.0, 14.0, 18.0, 17.0],
                [80.0, 15.0, 0.5 * (18.0 + hang), 16.0],
                [110.0, 15.0, hang, 15.0],
                [140.0, 18.0, 0.5 * (15.0 + hang), 14.5],
                [174.0, 23.0, 15.0, 14.0],
            ],
            16.0,
        ),
        s.strand(&[[50.0, 0.0, 11.0, 20.0], [120.0, -4.0, 10.0, 20.0], [176.0, -2.0, 8.0, 17.0]], 16.0),
        s.strand(&[[48.0, -14.0, 11.5, 19.0], [100.0, -26.0, 9.5, 17.0], [158.0, -35.0, 8.0, 14.0]], 16.0),
        s.pad([140.0, -6.0, 10.0], [56.0, 36.0, 17.0], -4.0, 12.0),
        // Ball: the pad across under the heads, thicker under the first.
        s.strand(
            &[[184.0, 26.0, 7.5, 13.0], [194.0, 9.0, 6.5, 12.5], [190.0, -12.0, 6.5, 12.5], [168.0, -37.0, 6.5, 12.0]],
            12.0,
        ),
        s.pad([181.0, 27.0, 11.0], [21.0, 15.0, 17.0], 6.0, 12.0),
        // Webs: what joins the roots of the toes.
        s.strand(
            &[
                [197.0, 24.0, 13.0, 11.0],
                [204.0, 14.0, 13.0, 9.5],
                [206.0, 0.0, 13.0, 9.0],
                [201.0, -15.0, 12.5, 8.5],
                [189.0, -30.0, 12.0, 8.0],
                [178.0, -40.0, 11.5, 8.0],
            ],
            10.0,
        ),
    ];
    strands.extend(metatarsals(s).iter().map(|knots| s.strand(knots, 12.0)));
    strands
}

/// The navicular tuberosity in the nominal foot.
const NAVICULAR: [f64; 3] = [96.0, 21.0, 42.0];

/// The metatarsals, fanned out from the second by the splay.
fn metatarsals(s: &Scale) -> [[[f64; 4]; 3]; 5] {
    let fan = 1.0 + SPLAY_OF_HEADS * (s.splay - USUAL_SPLAY);
    METATARSALS.map(|[base, [sx, sy, sz, sr], [hx, hy, hz, hr]]| {
        [base, [sx, sy * (1.0 + fan) / 2.0, sz, sr], [hx, hy * fan, hz, hr]]
    })
}

/// A toe of the nominal foot: lengths of its phalanges, radius at root, knuckle and tip, and how far it turns medially, degrees.
struct Toe {
    phalanges: [f64; 3],
    radii: [f64; 4],
    yaw_deg: f64,
}

const TOES: [Toe; 5] = [
    Toe { phalanges: [31.0, 14.0, 9.5], radii: [14.5, 11.8, 11.2, 10.0], yaw_deg: 1.0 },
    Toe { phalanges: [27.0, 15.0, 10.0], radii: [9.5, 7.8, 7.0, 7.2], yaw_deg: -1.0 },
    Toe { phalanges: [24.0, 13.0, 9.5], radii: [9.0, 7.4, 6.7, 6.8], yaw_deg: -1.5 },
    Toe { phalanges: [23.5, 12.5, 9.5], radii: [8.6, 7.0, 6.4, 6.5], yaw_deg: 0.5 },
    Toe { phalanges: [22.5, 10.5, 9.0], radii: [8.6, 7.0, 6.4, 6.6], yaw_deg: -1.5 },
];

/// Which way a toe points, degrees towards medial.
fn toe_yaw_deg(params: &PhantomParams, number: usize) -> f64 {
    let spread = SPLAY_OF_TOES_DEG * (params.forefoot_splay - USUAL_SPLAY);
    if number == 0 {
        return FIRST_RAY_DEG - params.hallux_valgus_deg + spread;
    }
    // A hallux that leans over pushes the toes beside it, each a little less than the one before.
    let pushed = (params.hallux_valgus_deg - spread - PUSHES_FROM_DEG).max(0.0) * [0.0, 0.75, 0.55, 0.4, 0.25][number];
    TOES[number].yaw_deg - pushed - spread * (number as f64 - 1.0)
}

/// Direction of the first metatarsal against the foot axis, degrees towards medial.
const FIRST_RAY_DEG: f64 = 9.0;
/// Hallux valgus from which the hallux touches the second toe, degrees.
const PUSHES_FROM_DEG: f64 = 11.0;

fn toe(s: &Scale, params: &PhantomParams, knobs: &Knobs, number: usize) -> (Vec<Strand>, DVec3) {
    let [_, _, [hx, hy, hz, _]] = metatarsals(s)[number];
    let toe = &TOES[number];
    let size = s.ball_thickness;
    let claw = params.toe_claw[number];
    let lengths = toe
        .phalanges
        .map(|l| l * params.toe_length[number] * knobs.toes.at * params.foot_length_mm / NOMINAL_LENGTH_MM);
    let yaw = toe_yaw_deg(params, number).to_radians();
    let radii = toe.radii.map(|r| r * size);
    // Pitch of each phalanx against the one before, downwards positive.
    let bends: [f64; 3] =
        if number == 0 { [0.0, 8.0 + 50.0 * claw, 4.0] } else { [0.0, 24.0 + 60.0 * claw, 10.0 + 25.0 * claw] };
    let root = s.at(hx, hy, hz);
    let tip_z = radii[3] - 2.6;
    let chain = |first: f64| {
        let mut at = root;
        let mut pitch = first;
        let mut points = [root; 4];
        for i in 0..3 {
            pitch += bends[i].to_radians();
            at += lengths[i]
                * dvec3(libm::cos(pitch) * libm::cos(yaw), libm::cos(pitch) * libm::sin(yaw), -libm::sin(pitch));
            points[i + 1] = at;
        }
        points
    };
    // The toe is lifted at its root until its tip just rests on the ground.
    let (mut low, mut high) = (-1.2_f64, 0.8_f64);
    for _ in 0..40 {
        let mid = (low + high) / 2.0;
        if chain(mid)[3].z > tip_z { low = mid } else { high = mid }
    }
    let p = chain((low + high) / 2.0);
    let axes = DMat3::from_rotation_z(yaw);
    let knots: Vec<_> = p.into_iter().zip(radii).collect();
    let mut strands = vec![Strand::through(&knots, 3.0)];
    let pulp = |centre: DVec3, radii: DVec3| Strand::of(Piece::tilted_ellipsoid(centre, radii * size, axes), 4.0);
    strands.push(if number == 0 {
        pulp(p[2] + 0.45 * (p[3] - p[2]) - dvec3(0.0, 0.0, 1.0) * size, dvec3(14.0, 12.4, 9.8))
    } else {
        pulp(p[3] - dvec3(1.0, 0.0, 0.5) * size, dvec3(8.5, if number < 3 { 7.5 } else { 7.0 }, 6.6))
    });
    (strands, p[3] + radii[3] * dvec3(libm::cos(yaw), libm::sin(yaw), 0.0))
}

/// The tissue of one foot.
pub(super) fn tissue(params: &PhantomParams, knobs: &Knobs) -> Tissue {
    let s = Scale::of(params, knobs);
    let toes: [_; 5] = std::array::from_fn(|number| toe(&s, params, knobs, number));
    let lateral = |x: f64, y: f64| s.at(x, y, 0.0);
    let (a, b) = (lateral(60.0, -34.0), lateral(155.0, -49.0));
    let slope = (b.y - a.y) / (b.x - a.x);
    // The print ends about this far medial of the vault's edge.
    const PRINT_BEYOND_EDGE_MM: f64 = 20.0;
    let edge = a.y - slope * a.x + params.midfoot_width_mm + knobs.band_mm.at - PRINT_BEYOND_EDGE_MM;
    let crown = s.at(104.0, 31.0, 0.0);
    Tissue {
        body: Group::new(body(&s, params)),
        toes: std::array::from_fn(|number| Group::new(toes[number].0.clone())),
        vault: Vault {
            height_mm: params.arch_height_mm + knobs.arch_mm.at,
            along_mm: [42.0 * s.length, 104.0 * s.length, 178.0 * s.length],
            edge_mm: edge,
            edge_slope: slope,
            // It still rises where it meets the medial border.
            rise_mm: (1.15 * (crown.y - edge - slope * crown.x)).max(12.0),
        },
        top_mm: params.leg_height_mm,
        places: Places {
            heel_back: s.at(1.0, 0.0, 28.0),
            toe_tips: std::array::from_fn(|number| toes[number].1),
            mt1_medial: s.at(184.0, 42.0, 16.0),
            mt5_lateral: s.at(163.0, -50.0, 12.0),
            heel_medial: s.at(45.0, 33.0, 20.0),
            heel_lateral: s.at(45.0, -33.0, 20.0),
            navicular: s.at(NAVICULAR[0], NAVICULAR[1], NAVICULAR[2]),
            malleolus_medial: s.leg(62.0, 36.0, 82.0),
            malleolus_lateral: s.leg(49.0, -36.0, 72.0),
            medial_column: s.at(104.0, 12.0, 34.0),
        },
    }
}
