//! Takes in many random phantom scans and prints how far pose, landmarks and measures are off the truth:
//! `cargo run --release -p solewright-foot --example intake_survey -- 500`. A development aid: it prints, it does not
//! judge.
//!
//! Every scan has another body, another position in space and another unit, with noise of 0.3 mm, small holes, stray
//! pieces, with and without leg, open or closed on top, and sometimes a sheet of floor. A third argument asks for
//! others: `sole` (the sole alone), `print` (in foam), `joined` (grown together with the floor), `spikes`, `clicks` (the
//! pose by hand), `cloud` (points only), `sole_cloud`.

#![allow(clippy::print_stdout, reason = "printing is all it does")]

use base::{LengthUnit, Report, Side, Work};
use foot::phantom::{Phantom, Scan, ScanSwitches, random};
use foot::{
    LandmarkId, Pose, PoseHints, Preparation, ScanKind, find_landmarks, find_pose, measures, pose_from_clicks, prepare,
    skin_of_points,
};
use glam::{DAffine3, DQuat, DVec3};
use std::collections::BTreeMap;

fn main() {
    let count: u64 = std::env::args().nth(1).and_then(|n| n.parse().ok()).unwrap_or(50);
    let first: u64 = std::env::args().nth(2).and_then(|n| n.parse().ok()).unwrap_or(0);
    let what = std::env::args().nth(3).unwrap_or_default();
    let mut errors: BTreeMap<String, Vec<(f64, u64)>> = BTreeMap::new();
    let mut wrong = Vec::new();
    for seed in first..first + count {
        if let Err(why) = survey(seed, &what, &mut errors) {
            wrong.push(format!("seed {seed}: {why}"));
        }
    }
    println!("{:32} {:>5} {:>8} {:>8} {:>8} {:>8} {:>8}", "what", "n", "mean", "rms", "95 %", "worst", "seed");
    for (what, values) in &errors {
        let n = values.len() as f64;
        let mean = values.iter().map(|(v, _)| v).sum::<f64>() / n;
        let rms = (values.iter().map(|(v, _)| v * v).sum::<f64>() / n).sqrt();
        let mut sizes: Vec<(f64, u64)> = values.iter().map(|&(v, seed)| (v.abs(), seed)).collect();
        sizes.sort_by(|a, b| a.0.total_cmp(&b.0));
        let at = |share: f64| sizes[((n * share) as usize).min(sizes.len() - 1)];
        let (worst, seed) = at(1.0);
        println!("{what:32} {:5} {mean:8.2} {rms:8.2} {:8.2} {worst:8.2} {seed:8}", values.len(), at(0.95).0);
    }
    println!("{} of {count} refused, or taken for another side or unit", wrong.len());
    wrong.iter().for_each(|why| println!("  {why}"));
}

/// One scan; what is off goes to `errors`, in mm or the measure's unit.
fn survey(seed: u64, what: &str, errors: &mut BTreeMap<String, Vec<(f64, u64)>>) -> Result<(), String> {
    let mut params = random(seed);
    params.side = if seed.is_multiple_of(2) { Side::Left } else { Side::Right };
    let side = params.side;
    let phantom = Phantom::new(params).map_err(|e| e.to_string())?;
    let unit = LengthUnit::ALL[(seed / 2) as usize % 4];
    let has_floor = seed.is_multiple_of(5);
    let is_sole = matches!(what, "sole" | "print" | "sole_cloud");
    let mut scan = phantom.scan(&ScanSwitches {
        triangle_mm: [1.5, 2.0, 3.0][seed as usize % 3],
        uneven: seed % 7 < 3,
        noise_sigma_mm: 0.3,
        holes: (seed % 4) as usize,
        pose: any_pose(seed),
        unit,
        seed,
        leg: !seed.is_multiple_of(3),
        open_top: seed % 4 < 2,
        stray_pieces: if is_sole { 0 } else { (seed % 3) as usize },
        floor_sheet: has_floor && !is_sole,
        floor_joined: what == "joined",
        sole_only_mm: matches!(what, "sole" | "sole_cloud").then_some(10.0 * (seed % 5) as f64),
        impression_mm: (what == "print").then_some(18.0 + 3.0 * (seed % 5) as f64),
        spikes: if what == "spikes" { 12 } else { 0 },
    });
    let (work, mut report) = (Work::quiet(), Report::default());
    let quiet = &mut Report::default();
    let points = scan.mesh.positions().to_vec();
    if matches!(what, "cloud" | "sole_cloud") {
        scan.mesh = skin_of_points("phantom", &points, None, &work, quiet).map_err(|e| e.to_string())?;
    }
    let pose = if what == "clicks" {
        let kind = None;
        pose_from_clicks("phantom", &scan.mesh, unit, kind, clicks(&phantom, &scan, seed), &work, &mut report)
    } else {
        find_pose("phantom", &scan.mesh, &PoseHints::default(), &work, &mut report)
    };
    let pose = pose.map_err(|e| e.to_string())?;
    if matches!(what, "cloud" | "sole_cloud") {
        scan.mesh =
            skin_of_points("phantom", &points, Some(&pose.foot_from_scan), &work, quiet).map_err(|e| e.to_string())?;
    }
    let mut put = |what: &str, value: f64| errors.entry(what.to_owned()).or_default().push((value, seed));
    put("side confidence missing", 1.0 - pose.side_confidence);
    if pose.side != side {
        return Err(format!("{} taken for {}", side.word(), pose.side.word()));
    }
    if pose.unit != unit {
        return Err(format!("{} taken for {}", unit.symbol(), pose.unit.symbol()));
    }
    let (tilt_deg, turn_deg) = off_deg(&pose, &scan.foot_from_scan);
    put("pose: tilt, degrees", tilt_deg);
    put("pose: turn of axis, degrees", turn_deg);
    put("pose: foot length", pose.foot_length_mm - phantom.truth().foot_length_mm);

    if (pose.kind == ScanKind::Impression) != (what == "print") {
        return Err(format!("taken for {}", pose.kind.word()));
    }
    let how = Preparation { kind: pose.kind, ..Preparation::of_foot(110.0) };
    let foot =
        prepare("phantom", &scan.mesh, &pose.foot_from_scan, &how, &work, &mut report).map_err(|e| e.to_string())?;
    let landmarks = find_landmarks(&foot);
    // Found points, taken back to the scan and then to the true frame.
    let true_from_found = scan.foot_from_scan * pose.foot_from_scan.inverse();
    for (&id, &truth) in &phantom.truth().landmarks {
        match landmarks.get(&id) {
            Some(found) => {
                let off = true_from_found.transform_point3(found.at) - truth;
                put(&format!("{}: distance", id.id()), off.length());
                put(&format!("{}: along x", id.id()), off.x);
                if id == LandmarkId::ArchApex {
                    put("arch_apex: z", off.z);
                }
            }
            None => put(&format!("{}: missing", id.id()), 1.0),
        }
    }
    let truth = phantom.truth();
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
            match measure.eval(&foot, &landmarks) {
                Ok(measured) => put(&format!("measure {id}"), measured.value - truth),
                Err(_) if !foot.has_dorsum => put(&format!("measure {id}: missing"), 1.0),
                Err(why) => return Err(format!("{id}: {why}")),
            }
        }
    }
    Ok(())
}

/// Heel and both sides of the ball, each off by up to 12 mm along the skin.
fn clicks(phantom: &Phantom, scan: &Scan, seed: u64) -> [DVec3; 3] {
    let truth = &phantom.truth().landmarks;
    let places = [LandmarkId::Pternion, LandmarkId::MetatarsaleTibiale, LandmarkId::MetatarsaleFibulare];
    let back = scan.foot_from_scan.inverse();
    let mut k = 0.0;
    places.map(|id| {
        k += 1.0;
        let turn = seed as f64 * 2.4 + k * 2.0;
        let p = truth[&id] + 12.0 * DVec3::new(libm::cos(turn), libm::sin(turn), -0.5);
        let at = back.transform_point3(p);
        let off = |q: &&DVec3| q.distance_squared(at);
        let nearest = scan.mesh.positions().iter().min_by(|a, b| off(a).total_cmp(&off(b)));
        nearest.copied().unwrap_or(at)
    })
}

/// Some position in space, the same for the same seed.
fn any_pose(seed: u64) -> DAffine3 {
    let mut state = seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x5DEE_CE66;
    let mut unit = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as f64 / f64::from(1u32 << 31)
    };
    // Even over all rotations (Shoemake 1992).
    let [u, v, w] = [unit(), unit(), unit()].map(|x| x * std::f64::consts::TAU);
    let (a, b) = ((1.0 - u / std::f64::consts::TAU).sqrt(), (u / std::f64::consts::TAU).sqrt());
    let turn = DQuat::from_xyzw(a * libm::sin(v), a * libm::cos(v), b * libm::sin(w), b * libm::cos(w));
    let shift = DVec3::new(unit() - 0.5, unit() - 0.5, unit() - 0.5) * 2000.0;
    DAffine3::from_rotation_translation(turn, shift)
}

/// By how much the found frame is tilted against the true one, and turned about the upright, degrees.
fn off_deg(pose: &Pose, truth: &DAffine3) -> (f64, f64) {
    let axis = |map: &DAffine3, axis: DVec3| (map.matrix3.transpose() * axis).normalize_or_zero();
    let tilt = axis(&pose.foot_from_scan, DVec3::Z).angle_between(axis(truth, DVec3::Z));
    let turn = axis(&pose.foot_from_scan, DVec3::X).dot(axis(truth, DVec3::Y));
    (tilt.to_degrees(), libm::asin(turn).to_degrees())
}
