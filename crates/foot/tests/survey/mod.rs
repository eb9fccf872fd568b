//! Takes in random phantom scans and holds what is found against the truth: shared by the example `accuracy`, which
//! runs many and prints a table, and by the tests, which run a few.
//!
//! Every scan has another body, another position in space, another unit and another triangle size, with the noise of a
//! scanner, holes, stray pieces, with and without leg, open or closed on top, and sometimes a sheet of floor.

#![allow(unreachable_pub, reason = "a module of an example and of a test, neither of which has a library's surface")]

use base::{LengthUnit, Report, Side, Work};
use foot::phantom::{Phantom, ScanSwitches, random};
use foot::{LandmarkId, Pose, PoseHints, Preparation, find_landmarks, find_pose, measures, prepare};
use glam::{DAffine3, DQuat, DVec3};
use std::collections::BTreeMap;

/// Standard deviation of a hand-held scanner's noise along the normals, mm; common practice, no source.
const NOISE_SIGMA_MM: f64 = 0.3;

/// Greatest length of a triangle's short sides, mm: a mesh thinned for the mail.
const COARSEST_MM: f64 = 6.0;

/// Half the breadth of a 95 % interval in standard errors.
const Z_95: f64 = 1.96;

/// What is allowed of one kind of error; lengths in mm.
pub struct Criterion {
    /// Name of the error as it is collected.
    pub what: &'static str,
    /// mean ± 1.96·SD/√N lies wholly within this to either side of zero.
    pub interval: Option<f64>,
    /// Most for the middle one of the errors' sizes.
    pub median: Option<f64>,
    /// Most for the size that 95 % of the errors keep within.
    pub most_of: Option<f64>,
}

const fn criterion(what: &'static str, interval: Option<f64>, median: Option<f64>, most_of: Option<f64>) -> Criterion {
    Criterion { what, interval, median, most_of }
}

/// All criteria.
///
/// Foot and ball girth: 2 mm on the interval of the mean is what ISO 20685 allows between scan and hand for feet, by a
/// textbook chapter on anthropometry for apparel that restates it. The others are this project's own.
pub const CRITERIA: &[Criterion] = &[
    criterion("foot_length_mm", Some(2.0), Some(0.5), None),
    criterion("foot_breadth_mm", Some(2.0), Some(0.5), None),
    criterion("heel_breadth_mm", Some(2.0), Some(0.5), None),
    criterion("ball_girth_mm", Some(2.0), None, None),
    criterion("arch_apex_height_mm", None, None, Some(0.7)),
    criterion("pternion: distance", None, Some(2.0), Some(5.0)),
    criterion("akropodion: distance", None, Some(2.0), Some(5.0)),
    criterion("metatarsale_tibiale: distance", None, Some(2.0), Some(5.0)),
    criterion("metatarsale_fibulare: distance", None, Some(2.0), Some(5.0)),
];

/// Errors of one kind over many scans.
#[allow(dead_code, reason = "only the example prints all of it")]
pub struct Spread {
    pub count: usize,
    pub mean: f64,
    pub median: f64,
    pub most_of: f64,
    pub worst: f64,
    pub worst_seed: u64,
    /// Half the breadth of the mean's 95 % interval.
    pub half_interval: f64,
}

impl Spread {
    fn of(errors: &[(f64, u64)]) -> Spread {
        let count = errors.len();
        let n = count.max(1) as f64;
        let mean = errors.iter().map(|(e, _)| e).sum::<f64>() / n;
        let variance = errors.iter().map(|(e, _)| (e - mean) * (e - mean)).sum::<f64>() / (n - 1.0).max(1.0);
        let mut sizes: Vec<(f64, u64)> = errors.iter().map(|&(e, seed)| (e.abs(), seed)).collect();
        sizes.sort_by(|a, b| a.0.total_cmp(&b.0));
        let at = |share: f64| sizes[((n * share) as usize).min(count - 1)];
        let (worst, worst_seed) = at(1.0);
        let half_interval = Z_95 * (variance / n).sqrt();
        Spread { count, mean, median: at(0.5).0, most_of: at(0.95).0, worst, worst_seed, half_interval }
    }

    /// Whether the errors keep to what is allowed, with `slack` times as much for all but the interval, which allows
    /// for their number by itself.
    pub fn passes(&self, criterion: &Criterion, slack: f64) -> bool {
        let within = |value: f64, allowed: Option<f64>| allowed.is_none_or(|allowed| value <= allowed);
        within(self.mean.abs() + self.half_interval, criterion.interval)
            && within(self.median / slack, criterion.median)
            && within(self.most_of / slack, criterion.most_of)
    }
}

/// What a survey found.
#[derive(Default)]
pub struct Findings {
    errors: BTreeMap<String, Vec<(f64, u64)>>,
    /// Scans that were refused, or taken for another side or unit, with their seed.
    pub wrong: Vec<String>,
}

impl Findings {
    /// Takes in the scans of all seeds, in triangles from `finest_mm` to 6 mm.
    pub fn of(seeds: impl Iterator<Item = u64>, finest_mm: f64) -> Findings {
        let mut findings = Findings::default();
        for seed in seeds {
            if let Err(why) = survey(seed, finest_mm, &mut findings.errors) {
                findings.wrong.push(format!("seed {seed}: {why}"));
            }
        }
        findings
    }

    /// Adds what was found on other seeds.
    #[allow(dead_code, reason = "only the example surveys in two threads")]
    pub fn add(&mut self, other: Findings) {
        for (what, errors) in other.errors {
            self.errors.entry(what).or_default().extend(errors);
        }
        self.wrong.extend(other.wrong);
    }

    /// Each kind of error with its spread.
    #[allow(dead_code, reason = "only the example prints a table")]
    pub fn spreads(&self) -> impl Iterator<Item = (&str, Spread)> {
        self.errors.iter().map(|(what, errors)| (&what[..], Spread::of(errors)))
    }

    /// Why the criteria do not hold with [slack](Spread::passes); empty if they do.
    pub fn failures(&self, slack: f64) -> Vec<String> {
        let failed = CRITERIA.iter().filter_map(|criterion| {
            let Some(errors) = self.errors.get(criterion.what) else {
                return Some(format!("{}: never found", criterion.what));
            };
            let spread = Spread::of(errors);
            (!spread.passes(criterion, slack)).then(|| {
                let Spread { mean, half_interval, median, most_of, .. } = spread;
                format!(
                    "{}: mean {mean:.2} ± {half_interval:.2}, median {median:.2}, 95 % {most_of:.2}",
                    criterion.what
                )
            })
        });
        self.wrong.iter().cloned().chain(failed).collect()
    }
}

/// One scan; what is off goes to `errors`, in mm or the measure's unit.
fn survey(seed: u64, finest_mm: f64, errors: &mut BTreeMap<String, Vec<(f64, u64)>>) -> Result<(), String> {
    let mut put = |what: &str, error: f64| errors.entry(what.to_owned()).or_default().push((error, seed));
    let mut chance = Chance::of(seed);
    let mut params = random(seed);
    params.side = if chance.next() < 0.5 { Side::Left } else { Side::Right };
    let side = params.side;
    let phantom = Phantom::new(params).map_err(|e| e.to_string())?;
    let unit = LengthUnit::ALL[(chance.next() * 4.0) as usize];
    let scan = phantom.scan(&ScanSwitches {
        triangle_mm: finest_mm * libm::pow(COARSEST_MM / finest_mm, chance.next()),
        uneven: chance.next() < 0.4,
        noise_sigma_mm: NOISE_SIGMA_MM,
        holes: (chance.next() * 4.0) as usize,
        pose: chance.pose(),
        unit,
        seed,
        leg: chance.next() < 0.7,
        open_top: chance.next() < 0.5,
        stray_pieces: (chance.next() * 3.0) as usize,
        floor_sheet: chance.next() < 0.2,
        ..ScanSwitches::default()
    });
    let (work, mut report) = (Work::quiet(), Report::default());
    let pose =
        find_pose("phantom", &scan.mesh, &PoseHints::default(), &work, &mut report).map_err(|e| e.to_string())?;
    put("side confidence missing", 1.0 - pose.side_confidence);
    if pose.side != side {
        return Err(format!("{} taken for {}", side.word(), pose.side.word()));
    }
    if pose.unit != unit {
        return Err(format!("{} taken for {}", unit.symbol(), pose.unit.symbol()));
    }
    let (tilt_deg, turn_deg) = off_deg(&pose, &scan.foot_from_scan);
    put("frame: tilt, degrees", tilt_deg);
    put("frame: turn of axis, degrees", turn_deg);

    let foot = prepare("phantom", &scan.mesh, &pose.foot_from_scan, &Preparation::of_foot(110.0), &work, &mut report)
        .map_err(|e| e.to_string())?;
    let landmarks = find_landmarks(&foot);
    let truth = phantom.truth();
    // Found points, taken back to the scan and then to the true frame.
    let true_from_found = scan.foot_from_scan * pose.foot_from_scan.inverse();
    for (&id, &truth) in &truth.landmarks {
        let Some(found) = landmarks.get(&id) else {
            // Malleoli and hidden toes may be missing; what is promised may not.
            if CRITERIA.iter().any(|criterion| criterion.what.starts_with(id.id())) {
                return Err(format!("{}: not found", id.id()));
            }
            continue;
        };
        let off = true_from_found.transform_point3(found.at) - truth;
        put(&format!("{}: distance", id.id()), off.length());
        put(&format!("{}: along x", id.id()), off.x);
        if id == LandmarkId::ArchApex {
            put("arch_apex: z in the true frame", off.z);
        }
    }
    let known = [
        ("foot_length_mm", truth.foot_length_mm),
        ("foot_breadth_mm", truth.foot_breadth_mm),
        ("heel_breadth_mm", truth.heel_breadth_mm),
        ("ball_girth_mm", truth.ball_girth_mm),
        ("arch_apex_height_mm", truth.arch_apex_height_mm),
        ("instep_height_mm", truth.instep_height_mm),
        ("arch_index", truth.arch_index),
    ];
    for measure in measures::ALL {
        let id = measure.spec().id;
        if let Some((_, truth)) = known.iter().find(|(known, _)| *known == id) {
            let measured = measure.eval(&foot, &landmarks).map_err(|why| format!("{id}: {why}"))?;
            put(id, measured.value - truth);
        }
    }
    Ok(())
}

/// By how much the found frame is tilted against the true one, and turned about the upright, degrees.
fn off_deg(pose: &Pose, truth: &DAffine3) -> (f64, f64) {
    let axis = |map: &DAffine3, axis: DVec3| (map.matrix3.transpose() * axis).normalize_or_zero();
    let tilt = axis(&pose.foot_from_scan, DVec3::Z).angle_between(axis(truth, DVec3::Z));
    let turn = axis(&pose.foot_from_scan, DVec3::X).dot(axis(truth, DVec3::Y));
    (tilt.to_degrees(), libm::asin(turn).to_degrees())
}

/// Numbers that are the same for the same seed, and have nothing to do with those the phantom draws.
pub struct Chance(u64);

impl Chance {
    pub fn of(seed: u64) -> Chance {
        Chance(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x5DEE_CE66)
    }

    /// Evenly in 0 ≤ x < 1 (a linear congruential generator's upper bits).
    pub fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as f64 / f64::from(1u32 << 31)
    }

    /// Some position in space: even over all rotations (Shoemake 1992).
    pub fn pose(&mut self) -> DAffine3 {
        let [u, v, w] = [self.next(), self.next(), self.next()];
        let [v, w] = [v, w].map(|x| x * std::f64::consts::TAU);
        let (a, b) = ((1.0 - u).sqrt(), u.sqrt());
        let turn = DQuat::from_xyzw(a * libm::sin(v), a * libm::cos(v), b * libm::sin(w), b * libm::cos(w));
        let shift = DVec3::new(self.next() - 0.5, self.next() - 0.5, self.next() - 0.5) * 2000.0;
        DAffine3::from_rotation_translation(turn, shift)
    }
}
