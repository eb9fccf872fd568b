//! Where the bones, pads and muscles of the phantom lie. All places are given for one nominal foot (250 mm long, ball
//! 94 mm, heel 67 mm broad, instep 64 mm high) and carried over to the person's proportions by [`Scale`].
//! The places are drawn after common anatomy (no source): they make a phantom look and measure like a foot, no more.

use super::solid::{Group, Piece, Places, Sole, Tissue};
use super::truth::Asked;
use super::{MEASURE_TOLERANCE_MM, PhantomFault, PhantomParams};
use glam::{DMat3, DVec3, dvec3};

const NOMINAL_LENGTH_MM: f64 = 250.0;
const NOMINAL_BALL_BREADTH_MM: f64 = 94.0;
const NOMINAL_HEEL_BREADTH_MM: f64 = 67.0;
const NOMINAL_INSTEP_MM: f64 = 64.0;
const NOMINAL_ANKLE_MM: f64 = 70.0;
const NOMINAL_BALL_RATIO: f64 = 0.74;

/// Corrections that make the finished skin meet the measures asked for: 1 and 0 to begin with.
#[derive(Clone, Copy, Debug)]
pub(super) struct Knobs {
    /// Length of the foot from heel to ball.
    pub(super) hind: f64,
    /// Length of the toes.
    pub(super) toes: f64,
    /// Breadth of the ball.
    pub(super) ball: f64,
    /// Breadth of the heel.
    pub(super) heel: f64,
    /// Height of the instep.
    pub(super) instep: f64,
    /// Breadth over the malleoli.
    pub(super) ankle: f64,
    /// Added to the vault's height, mm.
    pub(super) arch_mm: f64,
}

impl Default for Knobs {
    fn default() -> Self {
        Knobs { hind: 1.0, toes: 1.0, ball: 1.0, heel: 1.0, instep: 1.0, ankle: 1.0, arch_mm: 0.0 }
    }
}

fn ramp(from: f64, to: f64, x: f64) -> f64 {
    let t = ((x - from) / (to - from)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

fn mix(a: f64, b: f64, t: f64) -> f64 {
    a + (b - a) * t
}

/// Nominal place or size → the person's.
struct Scale {
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
            length: length * params.ball_length_ratio / NOMINAL_BALL_RATIO * knobs.hind,
            heel: heel * knobs.heel,
            ball: ball * knobs.ball,
            ball_thickness: (ball * length).sqrt(),
            heel_thickness: (heel * length).sqrt(),
            instep: params.instep_height_mm / NOMINAL_INSTEP_MM * knobs.instep,
            ankle: params.ankle_width_mm / NOMINAL_ANKLE_MM * knobs.ankle,
            splay: params.forefoot_splay,
        }
    }

    /// A place in the foot.
    fn at(&self, x: f64, y: f64, z: f64) -> DVec3 {
        let forward = ramp(50.0, 170.0, x);
        let breadth = mix(self.heel, self.ball, forward);
        // Heights follow the instep in the middle of the foot, where it is measured.
        let arch = ramp(30.0, 110.0, x) * (1.0 - ramp(140.0, 190.0, x));
        let height = mix(mix(self.heel_thickness, self.ball_thickness, forward), self.instep, arch);
        dvec3(x * self.length, y * breadth, z * height)
    }

    /// A thickness at nominal x.
    fn thick(&self, x: f64, r: f64) -> f64 {
        r * mix(self.heel_thickness, self.ball_thickness, ramp(50.0, 170.0, x))
    }

    /// A place in the leg.
    fn leg(&self, x: f64, y: f64, z: f64) -> DVec3 {
        dvec3(x * self.length, y * self.ankle, z * self.heel_thickness)
    }

    fn leg_thick(&self, r: f64) -> f64 {
        r * (self.ankle * self.heel_thickness).sqrt()
    }

    fn cone(&self, a: [f64; 4], b: [f64; 4], blend: f64) -> Piece {
        let [ax, ay, az, ar] = a;
        let [bx, by, bz, br] = b;
        Piece::cone(self.at(ax, ay, az), self.thick(ax, ar), self.at(bx, by, bz), self.thick(bx, br), blend)
    }

    fn pad(&self, at: [f64; 3], radii: [f64; 3], yaw_deg: f64, blend: f64) -> Piece {
        let [x, y, z] = at;
        let broad = mix(self.heel, self.ball, ramp(50.0, 170.0, x));
        let radii = dvec3(self.thick(x, radii[0]), broad * radii[1], self.thick(x, radii[2]));
        Piece::ellipsoid(self.at(x, y, z), radii, yaw_deg.to_radians(), blend)
    }

    fn leg_cone(&self, a: [f64; 4], b: [f64; 4], blend: f64) -> Piece {
        let [ax, ay, az, ar] = a;
        let [bx, by, bz, br] = b;
        Piece::cone(self.leg(ax, ay, az), self.leg_thick(ar), self.leg(bx, by, bz), self.leg_thick(br), blend)
    }

    fn leg_pad(&self, at: [f64; 3], radii: [f64; 3], blend: f64) -> Piece {
        let [x, y, z] = at;
        Piece::ellipsoid(self.leg(x, y, z), DVec3::from_array(radii.map(|r| self.leg_thick(r))), 0.0, blend)
    }
}

/// A metatarsal: its base and head as x, y, z, radius.
const METATARSALS: [([f64; 4], [f64; 4]); 5] = [
    ([116.0, 13.0, 43.0, 15.0], [184.0, 25.0, 16.5, 15.0]),
    ([108.0, 4.0, 48.0, 13.0], [191.0, 5.5, 15.0, 12.0]),
    ([106.0, -7.0, 43.0, 13.0], [185.0, -10.5, 14.0, 11.0]),
    ([100.0, -17.0, 35.0, 13.0], [175.5, -25.5, 13.0, 10.5]),
    ([88.0, -28.0, 22.0, 14.0], [163.0, -38.5, 12.5, 11.0]),
];

/// Everything but the toes.
fn body(s: &Scale, params: &PhantomParams) -> Vec<Piece> {
    // The medial muscles hang as low as the arch asked for and a little lower, so that the vault cuts into them.
    let hang = (params.arch_height_mm / s.at(108.0, 0.0, 1.0).z + 8.0).min(28.0);
    let mut pieces = vec![
        // Heel: fat pad, calcaneus, its back up to the tendon.
        s.pad([38.0, 0.0, 21.0], [38.0, 33.0, 32.0], 0.0, 8.0),
        s.cone([36.0, 0.0, 36.0, 29.0], [56.0, 1.0, 60.0, 29.0], 12.0),
        s.cone([70.0, -1.0, 25.0, 26.0], [56.0, 0.0, 45.0, 28.0], 14.0),
        s.leg_cone([19.0, 0.0, 50.0, 12.0], [23.0, 0.0, 98.0, 9.0], 22.0),
        s.leg_cone([23.0, 0.0, 98.0, 9.0], [26.0, 0.0, 160.0, 14.0], 12.0),
        // Leg: tibia with its front edge, fibula, calf.
        s.leg_cone([58.0, 8.0, 70.0, 24.0], [56.0, 6.0, 170.0, 24.0], 18.0),
        s.leg_cone([48.0, -14.0, 68.0, 16.0], [48.0, -9.0, 170.0, 19.0], 16.0),
        s.leg_cone([82.0, 2.0, 82.0, 15.0], [68.0, 4.0, 170.0, 17.0], 22.0),
        s.leg_pad([63.0, 25.0, 79.0], [12.0, 9.5, 14.0], 9.0),
        s.leg_pad([50.0, -27.0, 68.0], [11.0, 8.5, 15.0], 9.0),
        // Tarsus.
        s.cone([72.0, 2.0, 66.0, 25.0], [98.0, 6.0, 56.0, 20.0], 16.0),
        s.cone([98.0, 6.0, 54.0, 20.0], [122.0, 8.0, 46.0, 16.0], 12.0),
        s.cone([70.0, -12.0, 36.0, 22.0], [92.0, -21.0, 28.0, 18.0], 14.0),
        // Navicular tuberosity and the base of the fifth metatarsal.
        s.pad(NAVICULAR, [12.0, 7.0, 9.0], -10.0, 12.0),
        s.pad([86.0, -34.0, 16.0], [13.0, 8.0, 10.0], 8.0, 12.0),
        // Muscles of the sole: abductor of the hallux, short flexor, abductor of the fifth toe.
        s.cone([50.0, 15.0, 18.0, 16.0], [108.0, 15.0, hang, 14.0], 14.0),
        s.cone([108.0, 15.0, hang, 14.0], [174.0, 24.0, 15.0, 13.0], 12.0),
        s.cone([50.0, 0.0, 14.0, 19.0], [120.0, -6.0, 16.0, 18.0], 12.0),
        s.cone([120.0, -6.0, 16.0, 18.0], [176.0, -4.0, 12.0, 16.0], 12.0),
        s.cone([48.0, -15.0, 14.0, 19.0], [100.0, -27.0, 12.0, 16.0], 12.0),
        s.cone([100.0, -27.0, 12.0, 16.0], [158.0, -36.0, 10.0, 13.0], 12.0),
        // Ball: the pad across under the heads, thicker under the first and the fifth.
        s.cone([188.0, 22.0, 9.0, 13.0], [194.0, 3.0, 8.0, 12.0], 9.0),
        s.cone([194.0, 3.0, 8.0, 12.0], [168.0, -37.0, 8.0, 12.0], 9.0),
        s.pad([181.0, 27.0, 11.0], [20.0, 15.0, 15.0], 6.0, 8.0),
    ];
    for ([bx, by, bz, br], [hx, hy, hz, hr]) in metatarsals(s) {
        pieces.push(s.cone([bx, by, bz, br], [hx, hy, hz, hr], 9.0));
    }
    pieces
}

/// The navicular tuberosity in the nominal foot.
const NAVICULAR: [f64; 3] = [96.0, 21.0, 42.0];

fn metatarsals(s: &Scale) -> [([f64; 4], [f64; 4]); 5] {
    let _ = s.splay;
    METATARSALS
}

/// A toe of the nominal foot: lengths of its phalanges, radius at root, knuckle and tip, and how far it turns medially, degrees.
struct Toe {
    phalanges: [f64; 3],
    radii: [f64; 4],
    yaw_deg: f64,
}

const TOES: [Toe; 5] = [
    Toe { phalanges: [31.0, 14.0, 9.5], radii: [11.5, 10.0, 10.5, 10.0], yaw_deg: -1.0 },
    Toe { phalanges: [27.0, 15.0, 10.0], radii: [8.5, 7.6, 7.2, 7.2], yaw_deg: -1.0 },
    Toe { phalanges: [24.0, 13.0, 9.5], radii: [8.0, 7.2, 6.8, 6.8], yaw_deg: -1.5 },
    Toe { phalanges: [22.0, 11.5, 9.0], radii: [7.8, 6.9, 6.6, 6.6], yaw_deg: 0.0 },
    Toe { phalanges: [20.0, 9.0, 8.5], radii: [8.2, 7.2, 6.8, 6.8], yaw_deg: 2.0 },
];

fn toe(s: &Scale, params: &PhantomParams, knobs: &Knobs, number: usize) -> (Vec<Piece>, DVec3) {
    let (_, [hx, hy, hz, _]) = metatarsals(s)[number];
    let toe = &TOES[number];
    let size = s.ball_thickness;
    let claw = params.toe_claw[number];
    let lengths =
        toe.phalanges.map(|l| l * params.toe_length[number] * knobs.toes * params.foot_length_mm / NOMINAL_LENGTH_MM);
    let yaw = if number == 0 { 8.6 - params.hallux_valgus_deg } else { toe.yaw_deg }.to_radians();
    let radii = toe.radii.map(|r| r * size);
    // Pitch of each phalanx against the one before, downwards positive.
    let bends: [f64; 3] =
        if number == 0 { [0.0, 8.0 + 50.0 * claw, 4.0] } else { [0.0, 24.0 + 60.0 * claw, 10.0 + 25.0 * claw] };
    let root = s.at(hx, hy, hz);
    let tip_z = radii[3] - 2.0;
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
    let mut pieces = vec![
        Piece::cone(p[0], radii[0], p[1], radii[1], 3.0),
        Piece::cone(p[1], radii[1], p[2], radii[2], 3.0),
        Piece::cone(p[2], radii[2], p[3], radii[3], 3.0),
    ];
    let axes = DMat3::from_rotation_z(yaw);
    if number == 0 {
        let centre = p[2] + 0.45 * (p[3] - p[2]);
        pieces.push(Piece::tilted_ellipsoid(
            centre - dvec3(0.0, 0.0, 1.0) * size,
            dvec3(13.0, 11.8, 9.0) * size,
            axes,
            4.0,
        ));
    } else {
        pieces.push(Piece::tilted_ellipsoid(
            p[3] - dvec3(1.0, 0.0, 0.5) * size,
            dvec3(8.0, 7.2, 6.4) * size,
            axes,
            3.0,
        ));
    }
    (pieces, p[3] + radii[3] * dvec3(libm::cos(yaw), libm::sin(yaw), 0.0))
}

/// The tissue of one foot.
pub(super) fn tissue(params: &PhantomParams, knobs: &Knobs) -> Tissue {
    let s = Scale::of(params, knobs);
    let toes: [_; 5] = std::array::from_fn(|number| toe(&s, params, knobs, number));
    let lateral = |x: f64, y: f64| s.at(x, y, 0.0);
    let (a, b) = (lateral(60.0, -34.0), lateral(155.0, -49.0));
    let slope = (b.y - a.y) / (b.x - a.x);
    Tissue {
        body: Group::new(body(&s, params)),
        toes: std::array::from_fn(|number| Group::new(toes[number].0.clone())),
        sole: Sole {
            height_mm: params.arch_height_mm + knobs.arch_mm,
            along_mm: [42.0 * s.length, 104.0 * s.length, 178.0 * s.length],
            edge_mm: a.y - slope * a.x + params.midfoot_width_mm - 12.0,
            edge_slope: slope,
            rise_mm: 46.0 * s.ball,
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
            malleolus_medial: s.leg(63.0, 36.0, 79.0),
            malleolus_lateral: s.leg(50.0, -36.0, 68.0),
            medial_column: s.at(104.0, 12.0, 34.0),
        },
    }
}

impl Knobs {
    /// Turns every knob by what its measure misses; `Some` measure that misses most while one does.
    pub(super) fn turn(&mut self, params: &PhantomParams, got: &Asked) -> Option<PhantomFault> {
        let ball_mm = params.ball_length_ratio * params.foot_length_mm;
        let toes_mm = params.foot_length_mm - ball_mm;
        let turn = |knob: &mut f64, asked: f64, got: f64| *knob = (*knob * asked / got.max(1.0)).clamp(0.3, 3.0);
        turn(&mut self.hind, ball_mm, got.tibiale.x);
        turn(&mut self.toes, toes_mm, got.foot_length_mm - got.tibiale.x);
        turn(&mut self.ball, params.ball_breadth_mm, got.foot_breadth_mm);
        turn(&mut self.heel, params.heel_breadth_mm, got.heel_breadth_mm);
        turn(&mut self.instep, params.instep_height_mm, got.instep.z);
        turn(&mut self.ankle, params.ankle_width_mm, got.ankle_breadth_mm);
        self.arch_mm += params.arch_height_mm - got.arch_apex.z;
        let misses = [
            ("foot_length_mm", params.foot_length_mm, got.foot_length_mm),
            ("ball_length_ratio", ball_mm, got.tibiale.x),
            ("ball_breadth_mm", params.ball_breadth_mm, got.foot_breadth_mm),
            ("heel_breadth_mm", params.heel_breadth_mm, got.heel_breadth_mm),
            ("instep_height_mm", params.instep_height_mm, got.instep.z),
            ("ankle_width_mm", params.ankle_width_mm, got.ankle_breadth_mm),
            ("arch_height_mm", params.arch_height_mm, got.arch_apex.z),
        ];
        let miss = |(_, asked, got): &(&str, f64, f64)| (asked - got).abs();
        let (what, asked, got) = misses.into_iter().max_by(|a, b| miss(a).total_cmp(&miss(b)))?;
        ((asked - got).abs() > MEASURE_TOLERANCE_MM).then_some(PhantomFault::Unreached { what, asked, got })
    }
}
