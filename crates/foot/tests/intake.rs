//! Intake from the scan file to the measures, on phantoms that know the truth about themselves.

#![allow(clippy::unwrap_used, reason = "helpers of tests, not only the tests, may stop at once")]

use base::{LengthUnit, Report, Severity, Side, Work};
use foot::phantom::{Phantom, PhantomParams, Scan, ScanSwitches};
use foot::{
    IntakeError, LandmarkId, Landmarks, Pose, PoseHints, Preparation, find_landmarks, find_pose, measures, prepare,
    snap,
};
use glam::{DAffine3, DQuat, DVec3, dvec3};
use mesh::TriMesh;
use mesh::shapes::{cuboid, icosphere};
use proptest::prelude::*;

fn pose_of(mesh: &TriMesh, hints: &PoseHints) -> (Result<Pose, IntakeError>, Report) {
    let mut report = Report::default();
    (find_pose("left.stl", mesh, hints, &Work::quiet(), &mut report), report)
}

fn pose(mesh: &TriMesh) -> Pose {
    pose_of(mesh, &PoseHints::default()).0.unwrap()
}

fn error(mesh: &TriMesh) -> IntakeError {
    pose_of(mesh, &PoseHints::default()).0.unwrap_err()
}

fn foot_and_report(mesh: &TriMesh, pose: &Pose) -> (foot::Foot, Report) {
    let mut report = Report::default();
    let foot =
        prepare("left.stl", mesh, &pose.foot_from_scan, &Preparation::of_foot(110.0), &Work::quiet(), &mut report)
            .unwrap();
    (foot, report)
}

fn measure(id: &str, foot: &foot::Foot, landmarks: &Landmarks) -> f64 {
    let measure = measures::ALL.iter().find(|measure| measure.spec().id == id).unwrap();
    measure.eval(foot, landmarks).unwrap().value
}

fn default_scan(switches: &ScanSwitches) -> Scan {
    Phantom::new(PhantomParams::default()).unwrap().scan(switches)
}

fn turned(axis: DVec3, turn: f64, shift: DVec3) -> DAffine3 {
    DAffine3::from_rotation_translation(DQuat::from_axis_angle(axis.normalize_or(DVec3::Z), turn), shift)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_triangles_are_taken_or_refused_without_a_panic(
        points in proptest::collection::vec((-1.0..1.0f64, -1.0..1.0f64, -1.0..1.0f64), 3..60),
        corners in proptest::collection::vec((0usize..60, 0usize..60, 0usize..60), 200..400),
        size in -300.0..300.0f64,
        flat in any::<bool>(),
    ) {
        let scale = libm::pow(10.0, size);
        let squeeze = if flat { dvec3(1.0, 0.4, 0.0) } else { dvec3(1.0, 0.4, 0.3) };
        let positions: Vec<DVec3> = points.iter().map(|&p| DVec3::from(p) * squeeze * scale).collect();
        let vertex = |k: usize| (k % positions.len()) as u32;
        let triangles = corners.iter().map(|&(a, b, c)| [vertex(a), vertex(b), vertex(c)]).collect();
        let mesh = TriMesh::new(positions.clone(), triangles).unwrap();
        let (work, mut report) = (Work::quiet(), Report::default());
        if let Ok(pose) = pose_of(&mesh, &PoseHints::default()).0 {
            let _ = prepare("left.stl", &mesh, &pose.foot_from_scan, &Preparation::of_foot(110.0), &work, &mut report);
        }
        // A frame that has nothing to do with the scan.
        if let Ok(foot) = prepare("left.stl", &mesh, &DAffine3::IDENTITY, &Preparation::of_foot(110.0), &work, &mut report) {
            let landmarks = find_landmarks(&foot);
            for measure in measures::ALL {
                let _ = measure.eval(&foot, &landmarks);
            }
        }
    }
}

#[test]
fn a_mirrored_scan_is_the_other_foot() {
    let scan =
        default_scan(&ScanSwitches { pose: turned(dvec3(1.0, 2.0, -1.0), 2.0, DVec3::ZERO), ..Default::default() });
    let mirrored = scan.mesh.transformed(&DAffine3::from_scale(dvec3(1.0, 1.0, -1.0)));
    let (right, left) = (pose(&scan.mesh), pose(&mirrored));
    assert_eq!((right.side, left.side), (Side::Right, Side::Left));
    let feet = [(&scan.mesh, right), (&mirrored, left)].map(|(mesh, pose)| foot_and_report(mesh, &pose).0);
    let landmarks = feet.each_ref().map(find_landmarks);
    for spec in measures::ALL.iter().map(|measure| measure.spec()) {
        let [a, b] = [0, 1].map(|k| measure(spec.id, &feet[k], &landmarks[k]));
        // The search looks from the same directions at both, so they agree to the smoothing of the support plane.
        let allowed = if spec.unit == "mm" { 0.5 } else { 0.02 * a.abs().max(0.5) };
        assert!((a - b).abs() < allowed, "{}: {a} and {b}", spec.id);
    }
    // The frame mirrors a left foot, so outside stays outside and medial is +y in both.
    for (foot, landmarks) in feet.iter().zip(&landmarks) {
        assert!(foot.mesh.signed_volume_mm3() > 0.0);
        assert!(landmarks[&LandmarkId::MetatarsaleTibiale].at.y > landmarks[&LandmarkId::MetatarsaleFibulare].at.y);
    }
}

#[test]
fn what_is_known_is_not_guessed() {
    let scan = default_scan(&ScanSwitches { unit: LengthUnit::Centimetre, ..Default::default() });
    let hints = PoseHints { side: Some(Side::Right), unit: Some(LengthUnit::Centimetre), ..PoseHints::default() };
    let (pose, report) = pose_of(&scan.mesh, &hints);
    let pose = pose.unwrap();
    assert_eq!((pose.side, pose.side_confidence, pose.unit_guessed), (Side::Right, 1.0, false));
    assert_eq!(report.notes, []);

    let wrong = PoseHints { side: Some(Side::Left), ..PoseHints::default() };
    let (pose, report) = pose_of(&scan.mesh, &wrong);
    assert_eq!(pose.unwrap().side, Side::Left);
    let note = report.notes.iter().find(|note| note.code == "side_contradicted").unwrap();
    assert_eq!(note.severity, Severity::Check);

    let wrong = PoseHints { unit: Some(LengthUnit::Metre), ..PoseHints::default() };
    let error = pose_of(&scan.mesh, &wrong).0.unwrap_err();
    assert!(matches!(error, IntakeError::ImpossibleSize { .. }), "{error}");
}

#[test]
fn what_is_no_foot_is_refused_with_a_reason() {
    let says = |error: IntakeError, words: &str| {
        let text = error.to_string();
        assert!(text.starts_with("left.stl: ") && text.contains(words), "{text}");
    };
    says(error(&cuboid(DVec3::ZERO, DVec3::splat(200.0))), "too few");
    says(error(&icosphere(120.0, 4)), "does not look like one foot");
    says(error(&divided(&cuboid(DVec3::ZERO, DVec3::splat(200.0)))), "does not look like one foot");
    says(error(&divided(&cuboid(DVec3::ZERO, dvec3(250.0, 95.0, 65.0)))), "does not look like one foot");
    says(error(&TriMesh::default()), "too few");
    let flat = divided(&cuboid(DVec3::ZERO, dvec3(250.0, 95.0, 0.0)));
    says(error(&flat), "does not look like one foot");

    // A trunk on two legs, with two arms, in cells of 20 mm.
    let parts = [
        ([-10, -3, 40], [10, 4, 80]),
        ([-9, -3, 0], [-2, 3, 40]),
        ([2, -3, 0], [9, 3, 40]),
        ([-18, -2, 36], [-13, 3, 76]),
        ([13, -2, 36], [18, 3, 76]),
        ([-18, -2, 72], [18, 3, 76]),
    ];
    says(error(&blocks(&parts, 20.0)), "whole body");

    let one = default_scan(&ScanSwitches::default()).mesh;
    let other = one.transformed(&turned(DVec3::Z, 0.2, dvec3(0.0, 180.0, 0.0)));
    says(error(&joined(&one, &other)), "two feet");

    let scaled = one.transformed(&DAffine3::from_scale(DVec3::splat(3.3)));
    says(error(&scaled), "no foot in mm, cm, m, in");

    let above = without(&one, |p| p.z < 12.0);
    says(error(&above), "the sole is missing");
}

#[test]
fn large_holes_in_the_sole_are_refused_and_small_ones_closed() {
    let scan = default_scan(&ScanSwitches::default()).mesh;
    let torn = without(&scan, |p| p.z < 20.0 && p.distance(dvec3(60.0, 0.0, 0.0)) < 25.0);
    let found = pose(&torn);
    let (foot, report) = foot_and_report(&torn, &found);
    assert!((foot.closed_mm2 - 25.0 * 25.0 * std::f64::consts::PI).abs() < 300.0, "{}", foot.closed_mm2);
    assert_eq!(report.notes.iter().map(|note| &note.code[..]).collect::<Vec<_>>(), ["leg", "holes"]);
    // The hole lies in the heel and its edge of the arch: a membrane is near where the skin was.
    let (whole, _) = foot_and_report(&scan, &found);
    let k = foot.sole.values.iter().zip(&whole.sole.values);
    let worst = k.filter(|(a, b)| a.is_finite() && b.is_finite()).map(|(a, b)| (a - b).abs()).fold(0.0, f32::max);
    assert!(worst < 8.0, "{worst}");

    let half = without(&scan, |p| p.z < 12.0 && p.x > 40.0);
    let found = pose(&scan);
    let error = prepare(
        "left.stl",
        &half,
        &found.foot_from_scan,
        &Preparation::of_foot(110.0),
        &Work::quiet(),
        &mut Report::default(),
    );
    assert!(matches!(error, Err(IntakeError::SoleMissing { .. })), "{:?}", error.err());
}

#[test]
fn leg_strays_and_turned_triangles_are_dealt_with() {
    let scan = default_scan(&ScanSwitches { open_top: true, stray_pieces: 2, ..Default::default() }).mesh;
    // Every third triangle the wrong way round.
    let flip = |(k, &[a, b, c]): (usize, &[u32; 3])| if k % 3 == 0 { [a, c, b] } else { [a, b, c] };
    let mixed = scan.triangles().iter().enumerate().map(flip).collect();
    let mixed = TriMesh::new(scan.positions().to_vec(), mixed).unwrap();
    let found = pose(&mixed);
    let (foot, report) = foot_and_report(&mixed, &found);
    let codes: Vec<&str> = report.notes.iter().map(|note| &note.code[..]).collect();
    assert_eq!(codes, ["stray_pieces", "leg", "windings"]);
    let (lo, hi) = foot.mesh.bounds().unwrap();
    assert!(hi.z < 110.0 + 1e-6 && lo.z > -1.0, "{lo} {hi}");
    let (straight, _) = foot_and_report(&scan, &found);
    // The cut's rim is another where triangles lie the other way round, and noise is calmed up to the rim.
    let volumes = foot.mesh.signed_volume_mm3() / straight.mesh.signed_volume_mm3();
    assert!((volumes - 1.0).abs() < 1e-4, "{volumes}");
    // Under the open leg the dorsum is the height of the cut, not the sole seen through the leg.
    let heel = foot.dorsum.sample(glam::dvec2(50.0, 0.0)).unwrap();
    assert!(heel > 100.0, "{heel}");
}

#[test]
fn silhouette_and_print_lie_in_each_other() {
    let scan = default_scan(&ScanSwitches::default());
    let (foot, _) = foot_and_report(&scan.mesh, &pose(&scan.mesh));
    let area = |outline: &[glam::DVec2]| mesh::outline::signed_area_mm2(outline);
    let (plan, print) = (area(&foot.silhouette), foot.print.iter().map(|outline| area(outline)).sum::<f64>());
    assert!(plan > 0.0 && print > 0.2 * plan && print < plan, "{plan} {print}");
}

#[test]
fn snapping_finds_the_nearest_skin() {
    let scan = default_scan(&ScanSwitches { triangle_mm: 4.0, ..Default::default() });
    let (foot, _) = foot_and_report(&scan.mesh, &pose(&scan.mesh));
    for p in [dvec3(100.0, 60.0, 20.0), dvec3(120.0, 0.0, -3.0), dvec3(900.0, 0.0, 0.0)] {
        let at = snap(&foot, p);
        let nearest = foot.mesh.positions().iter().map(|q| q.distance(p)).fold(f64::INFINITY, f64::min);
        assert!(at.distance(p) <= nearest + 1e-9, "{at}");
        assert!(snap(&foot, at).distance(at) < 1e-9);
    }
}

#[test]
fn cancelled_work_stops() {
    let scan = default_scan(&ScanSwitches { triangle_mm: 4.0, ..Default::default() });
    let stop = |_: &str, _: f64| false;
    let (work, mut report) = (Work::new(&stop), Report::default());
    let found = find_pose("left.stl", &scan.mesh, &PoseHints::default(), &work, &mut report);
    assert!(matches!(found, Err(IntakeError::Cancelled(_))), "{found:?}");
    let foot = prepare("left.stl", &scan.mesh, &DAffine3::IDENTITY, &Preparation::of_foot(110.0), &work, &mut report);
    assert!(matches!(foot, Err(IntakeError::Cancelled(_))), "{foot:?}");
}

/// Every triangle split into four, five times.
fn divided(mesh: &TriMesh) -> TriMesh {
    (0..5).fold(mesh.clone(), |mesh, _| {
        let mut positions = mesh.positions().to_vec();
        let mut triangles = Vec::new();
        for &[a, b, c] in mesh.triangles() {
            let mut middle = |p: u32, q: u32| {
                positions.push((positions[p as usize] + positions[q as usize]) / 2.0);
                positions.len() as u32 - 1
            };
            let (ab, bc, ca) = (middle(a, b), middle(b, c), middle(c, a));
            triangles.extend([[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]);
        }
        welded(&TriMesh::new(positions, triangles).unwrap())
    })
}

/// Vertices at the same micrometre become one.
fn welded(mesh: &TriMesh) -> TriMesh {
    let mut known = std::collections::BTreeMap::new();
    let mut positions = Vec::new();
    let number: Vec<u32> = mesh
        .positions()
        .iter()
        .map(|p| {
            let key = (p * 1e3).round().to_array().map(|x| x as i64);
            *known.entry(key).or_insert_with(|| {
                positions.push(*p);
                positions.len() as u32 - 1
            })
        })
        .collect();
    let triangles = mesh.triangles().iter().map(|t| t.map(|v| number[v as usize])).collect();
    TriMesh::new(positions, triangles).unwrap()
}

/// The surface of the cells in any of the boxes (from, to), each cell a cube.
fn blocks(boxes: &[([i32; 3], [i32; 3])], cell_mm: f64) -> TriMesh {
    let is_full = |cell: [i32; 3]| {
        boxes.iter().any(|(from, to)| (0..3).all(|axis| cell[axis] >= from[axis] && cell[axis] < to[axis]))
    };
    let mut surface = TriMesh::default();
    let span = |axis: usize| {
        let from = boxes.iter().map(|b| b.0[axis]).min().unwrap_or(0);
        from..boxes.iter().map(|b| b.1[axis]).max().unwrap_or(0)
    };
    for x in span(0) {
        for y in span(1) {
            for z in span(2).filter(|&z| is_full([x, y, z])) {
                let lo = dvec3(f64::from(x), f64::from(y), f64::from(z)) * cell_mm;
                let cube = cuboid(lo, lo + DVec3::splat(cell_mm));
                let is_outside = |t: &[u32; 3]| {
                    let out = cube.area_vector(*t).normalize_or_zero().to_array().map(|n| n.round() as i32);
                    !is_full([x + out[0], y + out[1], z + out[2]])
                };
                let sides = cube.triangles().iter().copied().filter(is_outside).collect();
                surface = joined(&surface, &TriMesh::new(cube.positions().to_vec(), sides).unwrap());
            }
        }
    }
    welded(&surface)
}

fn joined(a: &TriMesh, b: &TriMesh) -> TriMesh {
    let first = a.positions().len() as u32;
    let positions = [a.positions(), b.positions()].concat();
    let more = b.triangles().iter().map(|t| t.map(|v| v + first));
    TriMesh::new(positions, a.triangles().iter().copied().chain(more).collect()).unwrap()
}

/// The mesh without the triangles that lie wholly where `gone` holds.
fn without(mesh: &TriMesh, gone: impl Fn(DVec3) -> bool) -> TriMesh {
    let triangles = mesh.triangles().iter().copied().filter(|&t| !mesh.corners(t).into_iter().all(&gone)).collect();
    TriMesh::new(mesh.positions().to_vec(), triangles).unwrap()
}
