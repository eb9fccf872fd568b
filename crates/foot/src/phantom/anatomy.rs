//! Where the bones, pads and muscles of the phantom lie. All places are given for one nominal foot (250 mm long, ball
//! 94 mm, heel 67 mm broad, instep 64 mm high) and carried over to the person's proportions by [`Scale`].
//! The places are drawn after common anatomy (no source): they make a phantom look and measure like a foot, no more.

use super::PhantomParams;
use super::knobs::Knobs;
use super::solid::{Group, Piece, Places, Strand, Tissue, Vault};
use super::toes::toe;
use glam::{DVec3, dvec3};

pub(super) const NOMINAL_LENGTH_MM: f64 = 250.0;
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

/// Nominal place or size → the person's, as factors.
pub(super) struct Scale {
    /// The foot as a whole.
    size: f64,
    /// Lengths from heel to ball.
    length: f64,
    /// Breadths of heel and ball, and over the malleoli.
    heel: f64,
    ball: f64,
    ankle: f64,
    /// Heights and thicknesses of heel and ball, the middle between breadth and size.
    heel_thickness: f64,
    pub(super) ball_thickness: f64,
    /// Heights in the middle of the foot.
    instep: f64,
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
        // Leg: its core, the tendon behind, the shin, the ridge of the dorsum, the ligaments under the medial
        // malleolus.
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
    strands.extend(metatarsals(params).iter().map(|knots| s.strand(knots, 12.0)));
    strands
}

/// The navicular tuberosity in the nominal foot.
const NAVICULAR: [f64; 3] = [96.0, 21.0, 42.0];

/// The metatarsals, fanned out by the splay.
fn metatarsals(params: &PhantomParams) -> [[[f64; 4]; 3]; 5] {
    let fan = 1.0 + SPLAY_OF_HEADS * (params.forefoot_splay - USUAL_SPLAY);
    METATARSALS.map(|[base, [sx, sy, sz, sr], [hx, hy, hz, hr]]| {
        [base, [sx, sy * (1.0 + fan) / 2.0, sz, sr], [hx, hy * fan, hz, hr]]
    })
}

/// The tissue of one foot.
pub(super) fn tissue(params: &PhantomParams, knobs: &Knobs) -> Tissue {
    let s = Scale::of(params, knobs);
    let splay = params.forefoot_splay - USUAL_SPLAY;
    let heads = metatarsals(params).map(|[.., [x, y, z, _]]| s.at(x, y, z));
    let toes: [_; 5] = std::array::from_fn(|number| toe(&s, params, knobs, number, heads[number], splay));
    let toe_tips = std::array::from_fn(|number| toes[number].1);
    Tissue {
        body: Group::new(body(&s, params)),
        toes: toes.map(|(strands, _)| Group::new(strands)),
        vault: vault(&s, params, knobs),
        top_mm: params.leg_height_mm,
        places: Places {
            heel_back: s.at(1.0, 0.0, 28.0),
            toe_tips,
            mt1_medial: s.at(184.0, 42.0, 16.0),
            mt5_lateral: s.at(163.0, -50.0, 12.0),
            heel_medial: s.at(45.0, 33.0, 20.0),
            heel_lateral: s.at(45.0, -33.0, 20.0),
            heads,
            navicular: s.at(NAVICULAR[0], NAVICULAR[1], NAVICULAR[2]),
            malleolus_medial: s.leg(62.0, 36.0, 82.0),
            malleolus_lateral: s.leg(49.0, -36.0, 72.0),
            medial_column: s.at(104.0, 12.0, 34.0),
        },
    }
}

/// The hollow of the medial arch.
fn vault(s: &Scale, params: &PhantomParams, knobs: &Knobs) -> Vault {
    // The print ends about this far medial of the vault's edge.
    const PRINT_BEYOND_EDGE_MM: f64 = 20.0;
    // A line along the lateral border, and the medial border at the crown.
    let [rear, front, medial] = [s.at(60.0, -34.0, 0.0), s.at(155.0, -49.0, 0.0), s.at(104.0, 31.0, 0.0)];
    let slope = (front.y - rear.y) / (front.x - rear.x);
    let edge = rear.y - slope * rear.x + params.midfoot_width_mm + knobs.band_mm.at - PRINT_BEYOND_EDGE_MM;
    Vault {
        height_mm: params.arch_height_mm + knobs.arch_mm.at,
        along_mm: [42.0 * s.length, 104.0 * s.length, 178.0 * s.length],
        edge_mm: edge,
        edge_slope: slope,
        // It still rises where it meets the medial border.
        rise_mm: (1.15 * (medial.y - edge - slope * medial.x)).max(12.0),
    }
}
