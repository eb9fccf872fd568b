//! Intake of what is not one clean foot: soles alone, prints in foam, joint floors, pairs, spikes, clouds, and poses by
//! hand, on phantoms that know the truth about themselves.

#![allow(clippy::unwrap_used, reason = "helpers of tests, not only the tests, may stop at once")]

use base::{LengthUnit, Report, Side, Work};
use foot::measures::Measured;
use foot::phantom::{Phantom, PhantomParams, Scan, ScanSwitches, random};
use foot::{
    CleanStep, Foot, IntakeError, LandmarkId, Pose, PoseHints, Preparation, ScanKind, find_feet, find_landmarks,
    find_pose, measures, pose_from_clicks, prepare, seek_landmarks, skin_of_points,
};
use glam::{DAffine3, DQuat, DVec3, dvec3};
use mesh::TriMesh;
use proptest::prelude::*;

fn posed(mesh: &TriMesh) -> Pose {
    find_pose("scan", mesh, &PoseHints::default(), &Work::quiet(), &mut Report::default()).unwrap()
}

fn prepared(mesh: &TriMesh, pose: &Pose, off: &[CleanStep]) -> (Foot, Vec<String>) {
    let mut report = Report::default();
    let how = Preparation { kind: pose.kind, off: off.iter().copied().collect(), ..Preparation::of_foot(110.0) };
    let foot = prepare("scan", mesh, &pose.foot_from_scan, &how, &Work::quiet(), &mut report).unwrap();
    (foot, report.notes.into_iter().map(|note| note.code).collect())
}

fn measured(foot: &Foot, id: &str) -> f64 {
    let measure = measures::ALL.iter().find(|measure| measure.spec().id == id).unwrap();
    measure.eval(foot, &find_landmarks(foot)).unwrap().value
}

/// A phantom on the side of its seed; some random bodies do not fit together.
fn phantom(seed: u64) -> Option<Phantom> {
    let mut params = random(seed);
    params.side = if seed.is_multiple_of(2) { Side::Left } else { Side::Right };
    Phantom::new(params).ok()
}

fn rough(seed: u64, at: DAffine3) -> ScanSwitches {
    ScanSwitches {
        triangle_mm: 2.0,
        noise_sigma_mm: 0.3,
        pose: at,
        unit: LengthUnit::ALL[seed as usize % 4],
        seed,
        leg: seed % 4 < 2,
        open_top: seed.is_multiple_of(3),
        ..ScanSwitches::default()
    }
}

fn clicks(phantom: &Phantom, scan: &Scan, off_mm: DVec3) -> [DVec3; 3] {
    let back = scan.foot_from_scan.inverse();
    [LandmarkId::Pternion, LandmarkId::MetatarsaleTibiale, LandmarkId::MetatarsaleFibulare]
        .map(|id| back.transform_point3(phantom.truth().landmarks[&id] + off_mm))
}

/// What must hold of a phantom's intake in any position.
fn check(seed: u64, at: DAffine3) {
    let Some(phantom) = phantom(seed) else { return };
    let (side, truth) = (phantom.params().side, phantom.truth());
    let allow = |what: &str, off: f64, allowed: f64| {
        assert!(off.abs() <= allowed, "seed {seed}: {what} is off by {off:.2}, more than {allowed}");
    };
    let taken = |what: &str, pose: &Pose, kind: ScanKind| {
        let unit = LengthUnit::ALL[seed as usize % 4];
        assert_eq!((pose.side, pose.unit, pose.kind), (side, unit, kind), "seed {seed}: {what}");
    };

    // A sole alone ends before the outline does: without any wall up to some millimetres on every side.
    let wall = (seed % 5) as f64 * 10.0;
    let scan = phantom.scan(&ScanSwitches { sole_only_mm: Some(wall), ..rough(seed, at) });
    let pose = posed(&scan.mesh);
    taken("sole", &pose, ScanKind::Foot);
    let (foot, _) = prepared(&scan.mesh, &pose, &[]);
    assert!(!foot.has_dorsum && foot.dorsum.values.iter().all(|z| z.is_nan()));
    allow("length of the sole", measured(&foot, "foot_length_mm") - truth.foot_length_mm, 8.0);
    allow("arch of the sole", measured(&foot, "arch_apex_height_mm") - truth.arch_apex_height_mm, 2.5);

    let by_hand = |scan: &Scan| {
        let clicks = clicks(&phantom, scan, dvec3(5.0, -6.0, -4.0));
        let unit = LengthUnit::ALL[seed as usize % 4];
        pose_from_clicks("scan", &scan.mesh, unit, None, clicks, &Work::quiet(), &mut Report::default()).unwrap()
    };
    let hand = by_hand(&scan);
    taken("sole by hand", &hand, ScanKind::Foot);
    allow("length by hand", hand.foot_length_mm - pose.foot_length_mm, 1.5);

    let depth = 18.0 + (seed % 4) as f64 * 4.0;
    let scan = phantom.scan(&ScanSwitches { impression_mm: Some(depth), ..rough(seed, at) });
    let pose = posed(&scan.mesh);
    taken("print", &pose, ScanKind::Impression);
    let (foot, notes) = prepared(&scan.mesh, &pose, &[]);
    for code in ["rim", "impression"] {
        assert_eq!(notes.iter().filter(|note| *note == code).count(), 1, "seed {seed}: {notes:?}");
    }
    assert!(!foot.has_dorsum);
    allow("length of the print", measured(&foot, "foot_length_mm") - truth.foot_length_mm, 4.0);
    allow("breadth of the print", measured(&foot, "foot_breadth_mm") - truth.foot_breadth_mm, 2.0);
    taken("print by hand", &by_hand(&scan), ScanKind::Impression);

    let scan = phantom.scan(&ScanSwitches { floor_joined: true, ..rough(seed, at) });
    let pose = posed(&scan.mesh);
    taken("joint floor", &pose, ScanKind::Foot);
    let (foot, notes) = prepared(&scan.mesh, &pose, &[]);
    assert_eq!(notes.iter().filter(|code| *code == "floor").count(), 1, "seed {seed}");
    allow("length on a joint floor", measured(&foot, "foot_length_mm") - truth.foot_length_mm, 2.0);
    allow("breadth on a joint floor", measured(&foot, "foot_breadth_mm") - truth.foot_breadth_mm, 2.0);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn soles_prints_and_joint_floors_are_taken_in_in_any_position(
        seed in 0u64..10_000,
        axis in (-1.0..1.0f64, -1.0..1.0f64, -1.0..1.0f64),
        turn in 0.0..std::f64::consts::TAU,
    ) {
        let turn = DQuat::from_axis_angle(DVec3::from(axis).normalize_or(DVec3::Z), turn);
        check(seed, DAffine3::from_rotation_translation(turn, dvec3(300.0, -80.0, 40.0)));
    }
}

fn pair(switches: &ScanSwitches, bridged: bool) -> TriMesh {
    let foot = |side: Side, y: f64, turn: f64| {
        let phantom = Phantom::new(PhantomParams { side, ..PhantomParams::default() }).unwrap();
        let pose = DAffine3::from_rotation_translation(DQuat::from_rotation_z(turn), dvec3(0.0, y, 0.0));
        phantom.scan(&ScanSwitches { pose, ..*switches })
    };
    foot(Side::Left, 110.0, 0.12).beside(&foot(Side::Right, -110.0, -0.1), bridged)
}

#[test]
fn two_feet_in_one_file_are_a_pair() {
    for (floor_joined, sole_only_mm) in [(false, None), (true, None), (false, Some(15.0))] {
        let both = pair(&ScanSwitches { floor_joined, sole_only_mm, ..ScanSwitches::default() }, floor_joined);
        let one = find_pose("both", &both, &PoseHints::default(), &Work::quiet(), &mut Report::default());
        assert!(matches!(&one, Err(e @ IntakeError::TwoFeet { .. }) if e.to_string().contains("pair")), "{one:?}");
        let poses = find_feet("both", &both, &PoseHints::default(), &Work::quiet(), &mut Report::default()).unwrap();
        let sides: Vec<Side> = poses.iter().map(|pose| pose.side).collect();
        assert_eq!(sides, [Side::Left, Side::Right]);
        for pose in &poses {
            let (foot, notes) = prepared(&both, pose, &[]);
            assert!(notes.contains(&"stray_pieces".to_owned()), "{notes:?}");
            // Which of the two is told by where the heel is in the scan.
            let heel = pose.foot_from_scan.inverse().transform_point3(DVec3::ZERO);
            assert_eq!(heel.y > 0.0, pose.side == Side::Left, "{heel}");
            assert!(foot.mesh.positions().iter().all(|p| p.y.abs() < 80.0));
            assert!((measured(&foot, "foot_length_mm") - 255.0).abs() < 4.0);
        }
    }
    let one = Phantom::new(PhantomParams::default()).unwrap().scan(&ScanSwitches::default());
    let alone = find_feet("one", &one.mesh, &PoseHints::default(), &Work::quiet(), &mut Report::default()).unwrap();
    assert_eq!(alone, [posed(&one.mesh)]);
}

#[test]
fn spikes_are_laid_down_and_counted_and_noise_is_none() {
    let phantom = Phantom::new(PhantomParams::default()).unwrap();
    let switches = ScanSwitches { noise_sigma_mm: 0.3, triangle_mm: 1.5, leg: false, ..ScanSwitches::default() };
    let clean = phantom.scan(&switches);
    let pose = posed(&clean.mesh);
    let (_, notes) = prepared(&clean.mesh, &pose, &[]);
    assert!(!notes.contains(&"spikes".to_owned()), "{notes:?}");

    let spiked = phantom.scan(&ScanSwitches { spikes: 9, ..switches });
    let found = posed(&spiked.mesh);
    let off = found.foot_from_scan.matrix3.z_axis.angle_between(pose.foot_from_scan.matrix3.z_axis);
    assert!(off < 0.01, "{off}");
    let mut report = Report::default();
    let how = Preparation::of_foot(110.0);
    let foot = prepare("scan", &spiked.mesh, &found.foot_from_scan, &how, &Work::quiet(), &mut report).unwrap();
    let texts: Vec<&str> = report.notes.iter().filter(|n| n.code == "spikes").map(|n| &n.text[..]).collect();
    assert_eq!(texts, ["9 spikes laid down."]);
    let farthest = foot
        .mesh
        .positions()
        .iter()
        .map(|&p| clean.mesh.positions().iter().map(|q| q.distance_squared(p)).fold(f64::INFINITY, f64::min));
    assert!(farthest.fold(0.0, f64::max).sqrt() < 4.0);
}

#[test]
fn a_step_that_is_off_leaves_no_note_and_the_foot_can_be_used() {
    let phantom = Phantom::new(PhantomParams::default()).unwrap();
    let foot = phantom.scan(&ScanSwitches {
        floor_sheet: true,
        stray_pieces: 2,
        spikes: 3,
        holes: 9,
        open_top: true,
        ..ScanSwitches::default()
    });
    let print = phantom.scan(&ScanSwitches { impression_mm: Some(24.0), ..ScanSwitches::default() });
    for scan in [&foot, &print] {
        let pose = posed(&scan.mesh);
        let (_, all) = prepared(&scan.mesh, &pose, &[]);
        for step in CleanStep::ALL {
            let count = |notes: &[String]| notes.iter().filter(|code| *code == step.id()).count();
            assert!(count(&all) <= 1, "{all:?}");
            let mut report = Report::default();
            let how = Preparation { kind: pose.kind, off: [step].into(), ..Preparation::of_foot(110.0) };
            let Ok(foot) = prepare("scan", &scan.mesh, &pose.foot_from_scan, &how, &Work::quiet(), &mut report) else {
                continue;
            };
            assert!(report.notes.iter().all(|note| note.code != step.id()));
            let landmarks = find_landmarks(&foot);
            for measure in measures::ALL {
                let _ = measure.eval(&foot, &landmarks);
            }
            match step {
                CleanStep::Leg if pose.kind == ScanKind::Foot => {
                    assert!(foot.mesh.bounds().unwrap().1.z > 115.0);
                }
                CleanStep::Holes => assert!(foot.closed.is_empty() && foot.closed_mm2 == 0.0),
                _ => {}
            }
        }
    }
    let pose = posed(&foot.mesh);
    let (closed, codes) = prepared(&foot.mesh, &pose, &[]);
    assert_eq!(codes, ["floor", "stray_pieces", "spikes", "leg", "holes"]);
    assert_eq!(closed.closed.is_empty(), closed.closed_mm2 == 0.0);
    let area: f64 = closed.closed.iter().map(|outline| mesh::outline::signed_area_mm2(outline)).sum();
    assert!((area / closed.closed_mm2 - 1.0).abs() < 0.4, "{area} {}", closed.closed_mm2);
}

/// What was not done is not said: only the leg is cut off, and the print dug out of its rim.
#[test]
fn clean_scans_give_no_notes_of_what_was_not_wrong() {
    for (seed, uneven) in [(0, true), (1, false), (2, true)] {
        let Some(phantom) = phantom(seed) else { continue };
        let switches = ScanSwitches { uneven, triangle_mm: 2.5, seed, ..ScanSwitches::default() };
        for (kind, switches) in [
            ("closed", switches),
            ("open", ScanSwitches { open_top: true, ..switches }),
            ("ankle", ScanSwitches { leg: false, open_top: true, ..switches }),
            ("sole", ScanSwitches { sole_only_mm: Some(8.0 + 8.0 * seed as f64), ..switches }),
            ("print", ScanSwitches { impression_mm: Some(20.0 + 6.0 * seed as f64), ..switches }),
        ] {
            let scan = phantom.scan(&switches);
            let (_, notes) = prepared(&scan.mesh, &posed(&scan.mesh), &[]);
            let usual = |code: &str| match kind {
                // FIXME: a clean print gives a note of turned triangles now and then; whether any were is not known.
                "print" => ["rim", "impression", "windings", "holes"].contains(&code),
                // The gaps between toes are closed in a sole that does not reach round them.
                "sole" => code == "holes",
                _ => code == "leg",
            };
            assert!(notes.iter().all(|code| usual(code)), "{kind} of seed {seed}: {notes:?}");
        }
    }
}

/// A scan of the sole has each measure as the whole foot has it, or says that the top is missing.
#[test]
fn a_sole_alone_measures_what_it_shows_and_nothing_else() {
    for seed in [1, 2] {
        let Some(phantom) = phantom(seed) else { continue };
        let foot = |sole_only_mm: Option<f64>| {
            let scan = phantom.scan(&ScanSwitches { sole_only_mm, ..ScanSwitches::default() });
            let how = Preparation::of_foot(110.0);
            prepare("scan", &scan.mesh, &scan.foot_from_scan, &how, &Work::quiet(), &mut Report::default()).unwrap()
        };
        let (whole, sole) = (foot(None), foot(Some(30.0)));
        assert!(whole.has_dorsum && !sole.has_dorsum);
        let landmarks = [&whole, &sole].map(find_landmarks);
        let mut missing = Vec::new();
        for measure in measures::ALL {
            let spec = measure.spec();
            let Ok(Measured { value: expected, .. }) = measure.eval(&whole, &landmarks[0]) else { continue };
            match measure.eval(&sole, &landmarks[1]) {
                Ok(found) => {
                    // A wall of 30 mm ends over the widest part of the outline, but the landmarks on it may lie higher.
                    let allowed = match spec.unit {
                        "mm" => 1.0,
                        "" => 0.02,
                        _ => 2.0,
                    };
                    let off = found.value - expected;
                    assert!(off.abs() <= allowed, "seed {seed}: {} {expected} is off by {off}", spec.id);
                }
                Err(why) => {
                    assert!(why.to_string().contains("the top of the foot was not scanned"), "{}: {why}", spec.id);
                    missing.push(spec.id);
                }
            }
        }
        for id in ["ball_girth_mm", "instep_girth_mm", "instep_height_mm", "toe_height_mm", "arch_height_index"] {
            assert!(missing.contains(&id), "seed {seed}: {id} has a value on a sole alone");
        }
    }
}

/// Foam that gave back a fifth of its depth makes every height less by a fifth: 1 / (1 − 0.2) puts it back.
#[test]
fn a_print_is_deepened_by_what_the_foam_gave_back() {
    let phantom = Phantom::new(PhantomParams::default()).unwrap();
    let scan = phantom.scan(&ScanSwitches { impression_mm: Some(26.0), ..ScanSwitches::default() });
    let pose = posed(&scan.mesh);
    let with = |foam_return_percent: f64| {
        let how = Preparation { kind: ScanKind::Impression, foam_return_percent, ..Preparation::of_foot(110.0) };
        prepare("scan", &scan.mesh, &pose.foot_from_scan, &how, &Work::quiet(), &mut Report::default()).unwrap()
    };
    let (plain, deep) = (with(0.0), with(20.0));
    let heights = plain.sole.values.iter().zip(&deep.sole.values).filter(|(a, b)| a.is_finite() && b.is_finite());
    let worst = heights.map(|(a, b)| (b - a / 0.8).abs()).fold(0.0, f32::max);
    assert!(worst < 0.01, "{worst}");
}

#[test]
fn a_print_that_was_trimmed_is_known_by_its_triangles_or_by_being_told() {
    let phantom = Phantom::new(PhantomParams::default()).unwrap();
    let sole = phantom.scan(&ScanSwitches { sole_only_mm: Some(22.0), ..ScanSwitches::default() }).mesh;
    let turned = sole.triangles().iter().map(|&[a, b, c]| [a, c, b]).collect();
    let print = TriMesh::new(sole.positions().to_vec(), turned).unwrap();
    let pose = posed(&print);
    assert_eq!((pose.kind, pose.side), (ScanKind::Impression, Side::Right));
    let hints = PoseHints { kind: Some(ScanKind::Foot), ..PoseHints::default() };
    let told = find_pose("scan", &print, &hints, &Work::quiet(), &mut Report::default()).unwrap();
    assert_eq!((told.kind, told.side), (ScanKind::Foot, Side::Right));
    for pose in [pose, told] {
        let (foot, _) = prepared(&print, &pose, &[]);
        assert!((measured(&foot, "foot_length_mm") - 255.0).abs() < 2.0);
        let down: f64 = foot.mesh.triangles().iter().map(|&t| foot.mesh.area_vector(t).z).sum();
        assert!(down < 0.0);
    }
}

#[test]
fn clicks_that_mean_no_foot_are_refused() {
    let phantom = Phantom::new(PhantomParams::default()).unwrap();
    let scan = phantom.scan(&ScanSwitches { triangle_mm: 3.0, ..ScanSwitches::default() });
    let [heel, medial, lateral] = clicks(&phantom, &scan, DVec3::ZERO);
    let by = |clicks: [DVec3; 3]| {
        let unit = LengthUnit::Millimetre;
        pose_from_clicks("scan", &scan.mesh, unit, None, clicks, &Work::quiet(), &mut Report::default())
    };
    assert_eq!(by([heel, medial, lateral]).unwrap().side, Side::Right);
    // The sides of the ball exchanged: a left foot, by hand.
    assert_eq!(by([heel, lateral, medial]).unwrap().side, Side::Left);
    let far = dvec3(0.0, 0.0, 500.0);
    for clicks in [
        [heel; 3],
        [heel, medial, medial + DVec3::X],
        [heel, heel.lerp(medial, 0.5), medial],
        [heel, medial, DVec3::NAN],
        [heel * 1e300, medial, lateral],
        [heel + far, medial + far, lateral + far],
    ] {
        let refused = by(clicks);
        assert!(matches!(refused, Err(IntakeError::Clicks { .. })), "{refused:?}");
    }
}

/// The foot in a cloud, taken in twice: without a pose, and with the one found on that.
fn taken_from_points(points: &[DVec3]) -> (Foot, Pose) {
    let skin = |pose: Option<&DAffine3>| {
        skin_of_points("cloud", points, pose, &Work::quiet(), &mut Report::default()).unwrap()
    };
    let pose = posed(&skin(None));
    let sole = skin(Some(&pose.foot_from_scan));
    assert_eq!(sole, skin(Some(&pose.foot_from_scan)));
    let in_foot = sole.transformed(&pose.foot_from_scan);
    assert!(in_foot.triangles().iter().all(|&t| in_foot.area_vector(t).z <= 1e-9));
    (prepared(&sole, &pose, &[]).0, pose)
}

/// Over 16 seeds, triangles of 1.5 to 6 mm, even and uneven: whole feet up to 3 mm are within 0.7 mm of the length and
/// 1.2 mm of the breadth, at 6 mm within 2.1 mm of both; arches within 0.5 and 1.5 mm.
#[test]
fn clouds_become_soles_however_uneven() {
    for (seed, triangle_mm, uneven, floor_sheet, allowed_mm) in
        [(3, 2.0, false, true, 1.5), (1, 3.0, true, false, 1.5), (0, 6.0, true, false, 3.0)]
    {
        let Some(phantom) = phantom(seed) else { continue };
        // One whose points have no coordinate above zero.
        let turn = DQuat::from_rotation_x(1.0) * DQuat::from_rotation_z(2.0 + seed as f64);
        let at = DAffine3::from_rotation_translation(turn, dvec3(-900.0, -700.0, -800.0));
        let scan = phantom.scan(&ScanSwitches { floor_sheet, triangle_mm, uneven, ..rough(seed, at) });
        let (foot, pose) = taken_from_points(scan.mesh.positions());
        let truth = phantom.truth();
        assert_eq!((pose.side, pose.unit), (phantom.params().side, LengthUnit::ALL[seed as usize % 4]), "seed {seed}");
        for (id, truth) in [
            ("foot_length_mm", truth.foot_length_mm),
            ("foot_breadth_mm", truth.foot_breadth_mm),
            ("arch_apex_height_mm", truth.arch_apex_height_mm),
        ] {
            // A floor that was seen under the arch hides it in a cloud, which has no sides to tell them by.
            let off = measured(&foot, id) - truth;
            let is_hidden = floor_sheet && id == "arch_apex_height_mm";
            assert!(is_hidden || off.abs() < allowed_mm, "seed {seed}: {id} is off by {off}");
        }
        // The heel is where the truth has it: heights from below are right.
        let heel = foot.sole.sample(truth.landmarks[&LandmarkId::HeelCentre].truncate()).unwrap();
        assert!(heel.abs() < 1.0, "seed {seed}: {heel}");
    }
}

/// Of a sole with walls of 15 mm and more most of the outline is there.
#[test]
fn clouds_of_soles_become_soles() {
    for (seed, wall, triangle_mm, uneven) in [(5, 25.0, 2.0, false), (6, 15.0, 4.0, true)] {
        let Some(phantom) = phantom(seed) else { continue };
        let turn = DQuat::from_rotation_y(2.5 + seed as f64);
        let at = DAffine3::from_rotation_translation(turn, dvec3(10.0, 400.0, -70.0));
        let switches = ScanSwitches { sole_only_mm: Some(wall), triangle_mm, uneven, ..rough(seed, at) };
        let (foot, pose) = taken_from_points(phantom.scan(&switches).mesh.positions());
        let truth = phantom.truth();
        assert_eq!((pose.side, pose.unit), (phantom.params().side, LengthUnit::ALL[seed as usize % 4]), "seed {seed}");
        let off = measured(&foot, "foot_length_mm") - truth.foot_length_mm;
        assert!(off.abs() < 3.0, "seed {seed}: {off}");
        let off = measured(&foot, "arch_apex_height_mm") - truth.arch_apex_height_mm;
        assert!(off.abs() < 2.0, "seed {seed}: {off}");
    }
}

#[test]
fn too_few_points_and_points_that_are_none_are_refused() {
    let few = skin_of_points("cloud", &[DVec3::ONE; 20], None, &Work::quiet(), &mut Report::default());
    assert!(matches!(few, Err(IntakeError::TooFewPoints { points: 20, .. })), "{few:?}");
    let none = skin_of_points("cloud", &[DVec3::NAN; 600], None, &Work::quiet(), &mut Report::default());
    assert!(matches!(none, Err(IntakeError::TooFewPoints { points: 0, .. })), "{none:?}");
    let one = skin_of_points("cloud", &[DVec3::ONE; 600], None, &Work::quiet(), &mut Report::default());
    assert!(one.is_err(), "{one:?}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 8, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn anything_is_taken_or_refused_without_a_panic(
        points in proptest::collection::vec((-1.0..1.0f64, -1.0..1.0f64, -1.0..1.0f64), 3..60),
        corners in proptest::collection::vec((0usize..60, 0usize..60, 0usize..60), 200..400),
        cloud in proptest::collection::vec((-1.0..1.0f64, -1.0..1.0f64, -1.0..1.0f64), 500..900),
        size in -300.0..300.0f64,
        flat in any::<bool>(),
        usual in any::<bool>(),
    ) {
        let scale = if usual { 130.0 } else { libm::pow(10.0, size) };
        let squeeze = if flat { dvec3(1.0, 0.4, 0.0) } else { dvec3(1.0, 0.4, 0.3) };
        let positions: Vec<DVec3> = points.iter().map(|&p| DVec3::from(p) * squeeze * scale).collect();
        let vertex = |k: usize| (k % positions.len()) as u32;
        let triangles = corners.iter().map(|&(a, b, c)| [vertex(a), vertex(b), vertex(c)]).collect();
        let mesh = TriMesh::new(positions.clone(), triangles).unwrap();
        let (work, mut report) = (Work::quiet(), Report::default());
        let _ = find_feet("any", &mesh, &PoseHints::default(), &work, &mut report);
        let clicks = [positions[0], positions[1], positions[2]];
        let _ = pose_from_clicks("any", &mesh, LengthUnit::Millimetre, Some(ScanKind::Impression), clicks, &work, &mut report);
        let on_foot = [DVec3::ZERO, dvec3(150.0, 40.0, 0.0), dvec3(140.0, -40.0, 0.0)];
        let _ = pose_from_clicks("any", &mesh, LengthUnit::Millimetre, None, on_foot, &work, &mut report);
        for foam_return_percent in [0.0, 30.0, 1e9, f64::NAN] {
            let how = Preparation { kind: ScanKind::Impression, foam_return_percent, ..Preparation::of_foot(110.0) };
            let _ = prepare("any", &mesh, &DAffine3::IDENTITY, &how, &work, &mut report);
        }
        for step in CleanStep::ALL {
            let how = Preparation { off: [step].into(), ..Preparation::of_foot(f64::NAN) };
            let _ = prepare("any", &mesh, &DAffine3::IDENTITY, &how, &work, &mut report);
        }
        let cloud: Vec<DVec3> = cloud.iter().map(|&p| DVec3::from(p) * squeeze * scale).collect();
        let zero = DAffine3::from_scale(DVec3::ZERO);
        for pose in [None, Some(&DAffine3::IDENTITY), Some(&zero)] {
            let _ = skin_of_points("any", &cloud, pose, &work, &mut report);
        }
    }
}

/// Small meshes of corners in odd places, the same each time: huge, tiny, flat, in a line, all at one place, far away.
fn odd_mesh(number: u64) -> TriMesh {
    let mut state = number.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x2545_F491_4F6C_DD1D;
    let mut next = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as f64 / f64::from(1_u32 << 31)
    };
    let corner_count = 3 + (next() * 120.0) as usize;
    let scale = [1.0, 130.0, 1e-9, 1e11, 1e300, 1e-300, 250.0][(number % 7) as usize];
    let squeeze =
        [DVec3::ONE, dvec3(1.0, 0.4, 0.3), dvec3(1.0, 0.4, 0.0), DVec3::X, DVec3::ZERO, dvec3(1.0, 1e-7, 1e-7)]
            [(number / 7 % 6) as usize];
    let far =
        [DVec3::ZERO, dvec3(1e12, -1e12, 1e12), dvec3(130.0, 0.0, 30.0), DVec3::splat(-1e6)][(number / 3 % 4) as usize];
    let mut positions: Vec<DVec3> = (0..corner_count)
        .map(|_| dvec3(2.0 * next() - 1.0, 2.0 * next() - 1.0, 2.0 * next() - 1.0) * squeeze * scale + far)
        .collect();
    if number.is_multiple_of(5) {
        // One corner far from all others: sheets of slivers.
        positions[0] = DVec3::splat(1e6 * (1.0 + next()));
    }
    let triangle_count = 200 + (next() * 200.0) as usize;
    let mut vertex = || (next() * corner_count as f64) as u32;
    let triangles = (0..triangle_count).map(|_| [vertex(), vertex(), vertex()]).collect();
    TriMesh::new(positions, triangles).unwrap()
}

#[test]
fn odd_meshes_are_taken_or_refused_at_once() {
    // Every third of them: all kinds of scale, shape and place meet.
    for number in (0..220).step_by(3) {
        let mesh = odd_mesh(number);
        let (work, mut report) = (Work::quiet(), Report::default());
        let poses = find_feet("odd", &mesh, &PoseHints::default(), &work, &mut report).unwrap_or_default();
        let found = poses.iter().map(|pose| (pose.foot_from_scan, pose.kind));
        let any = ScanKind::ALL.map(|kind| (DAffine3::IDENTITY, kind));
        for (pose, kind) in found.chain(any) {
            let how = Preparation { kind, ..Preparation::of_foot(110.0) };
            let Ok(foot) = prepare("odd", &mesh, &pose, &how, &work, &mut report) else { continue };
            // Views of it would take minutes if it lay anywhere.
            let (lo, hi) = foot.mesh.bounds().unwrap();
            assert!(lo.abs().max(hi.abs()).max_element() < 1e4, "{number}: {lo} {hi}");
            let landmarks = seek_landmarks(&foot).landmarks;
            for measure in measures::ALL {
                let _ = measure.eval(&foot, &landmarks);
            }
        }
    }
}
