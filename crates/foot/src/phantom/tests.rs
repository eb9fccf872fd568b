use super::solid::Sloped;
use super::*;
use crate::{LandmarkId, PRINT_HEIGHT_MM, SILHOUETTE_HEIGHT_MM};
use base::{LengthUnit, Side};
use glam::{DAffine3, DQuat, dvec3};
use mesh::{ClosedMesh, Plane, TriMesh, components, hull_girth_mm, section};
use proptest::prelude::*;
use std::sync::LazyLock;

/// Built once for all tests.
static ORDINARY: LazyLock<Phantom> = LazyLock::new(|| Phantom::new(PhantomParams::default()).unwrap());
static FLAT: LazyLock<Phantom> = LazyLock::new(|| Phantom::new(flat()).unwrap());
static HIGH_ARCHED: LazyLock<Phantom> = LazyLock::new(|| Phantom::new(high_arched()).unwrap());

fn bodies() -> [&'static Phantom; 3] {
    [&ORDINARY, &FLAT, &HIGH_ARCHED]
}

fn flat() -> PhantomParams {
    PhantomParams { arch_height_mm: 9.0, midfoot_width_mm: 48.0, instep_height_mm: 61.0, ..PhantomParams::default() }
}

fn high_arched() -> PhantomParams {
    PhantomParams {
        arch_height_mm: 26.0,
        midfoot_width_mm: 18.0,
        instep_height_mm: 70.0,
        toe_claw: [0.1, 0.9, 0.4, 0.3, 0.2],
        ..PhantomParams::default()
    }
}

/// The skin in the foot frame, in triangles of 2 mm.
fn skin(phantom: &Phantom) -> TriMesh {
    let scan = phantom.scan(&ScanSwitches::default());
    scan.mesh.transformed(&scan.foot_from_scan)
}

fn points(mesh: &TriMesh, plane: &Plane) -> Vec<DVec3> {
    section(mesh, plane).into_iter().flat_map(|line| line.points).collect()
}

fn spread(points: impl Iterator<Item = f64>) -> (f64, f64) {
    points.fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), v| (lo.min(v), hi.max(v)))
}

#[test]
fn measures_are_those_asked_for() {
    for phantom in bodies() {
        let (params, truth) = (phantom.params(), phantom.truth());
        for (asked, got) in [
            (params.foot_length_mm, truth.foot_length_mm),
            (params.ball_breadth_mm, truth.foot_breadth_mm),
            (params.heel_breadth_mm, truth.heel_breadth_mm),
            (params.arch_height_mm, truth.arch_apex_height_mm),
            (params.instep_height_mm, truth.instep_height_mm),
            (params.ankle_width_mm, truth.ankle_breadth_mm),
            (params.midfoot_width_mm, truth.midfoot_width_mm),
            (params.ball_length_ratio * params.foot_length_mm, truth.landmarks[&LandmarkId::MetatarsaleTibiale].x),
        ] {
            assert!((asked - got).abs() < 2.0 * MEASURE_TOLERANCE_MM, "{asked} {got}");
        }
    }
}

#[test]
fn landmarks_lie_on_the_skin_and_the_frame_is_the_foot_frame() {
    for phantom in bodies() {
        let landmarks = &phantom.truth().landmarks;
        for id in LandmarkId::ALL {
            assert!(phantom.distance(landmarks[&id]).abs() < 1e-6, "{id:?}");
        }
        let heel = landmarks[&LandmarkId::Pternion];
        assert!(heel.x.abs() < 0.001 && heel.y.abs() < 0.001, "{heel}");
        assert!(landmarks[&LandmarkId::SecondToeTip].y.abs() < 0.001);
        assert!(landmarks[&LandmarkId::MetatarsaleTibiale].y > 0.0);
    }
}

/// The triangles know nothing of how the truth was found: everything is measured once more on them.
#[test]
fn truth_agrees_with_the_triangles() {
    for phantom in bodies() {
        let (truth, mesh) = (phantom.truth(), skin(phantom));
        let landmarks = &truth.landmarks;
        let (rear, front) = spread(mesh.positions().iter().map(|p| p.x).filter(|x| x.is_finite()));
        assert!(rear.abs() < 0.05 && (front - truth.foot_length_mm).abs() < 0.1, "{rear} {front}");
        let low = |from: f64, to: f64| {
            let span = from * truth.foot_length_mm..to * truth.foot_length_mm;
            mesh.positions().iter().copied().filter(move |p| span.contains(&p.x) && p.z < SILHOUETTE_HEIGHT_MM)
        };
        let (lateral, medial) = spread(low(0.5, 1.1).map(|p| p.y));
        assert!((medial - lateral - truth.foot_breadth_mm).abs() < 0.1);
        let (_, first_head) = spread(low(0.64, 0.80).map(|p| p.y));
        assert!((first_head - landmarks[&LandmarkId::MetatarsaleTibiale].y).abs() < 0.05);
        let (fifth_head, _) = spread(low(0.53, 0.72).map(|p| p.y));
        assert!((fifth_head - landmarks[&LandmarkId::MetatarsaleFibulare].y).abs() < 0.05);

        let half = points(&mesh, &Plane::at_x(truth.foot_length_mm / 2.0));
        let (_, top) = spread(half.iter().map(|p| p.z));
        assert!((top - truth.instep_height_mm).abs() < 0.1, "{top}");
        let heel = |x: f64| {
            let below = points(&mesh, &Plane::at_x(x)).into_iter().filter(|p| p.z < SILHOUETTE_HEIGHT_MM);
            let (lateral, medial) = spread(below.map(|p| p.y));
            medial - lateral
        };
        let (_, heel) = spread((0..=20).map(|i| heel((0.10 + 0.005 * f64::from(i)) * truth.foot_length_mm)));
        assert!((heel - truth.heel_breadth_mm).abs() < 0.1, "{heel} {}", truth.heel_breadth_mm);

        let [tibiale, fibulare] =
            [LandmarkId::MetatarsaleTibiale, LandmarkId::MetatarsaleFibulare].map(|id| landmarks[&id]);
        let upright = Plane::through(tibiale, (tibiale - fibulare).with_z(0.0).cross(DVec3::Z)).unwrap();
        let girth = hull_girth_mm(&points(&mesh, &upright), &upright);
        assert!((girth - truth.ball_girth_mm).abs() < 0.3, "{girth} {}", truth.ball_girth_mm);

        // The edge of the sole: triangles that have just turned up by 45° or less, on the medial side.
        let span = ARCH_SPAN.map(|share| share * truth.foot_length_mm);
        let under = mesh.triangles().iter().filter_map(|&t| {
            let middle = mesh.corners(t).iter().sum::<DVec3>() / 3.0;
            let turned = mesh.area_vector(t).normalize_or_zero().z < -core::f64::consts::FRAC_1_SQRT_2;
            let is_arch = middle.x > span[0] && middle.x < span[1] && middle.y > 0.0 && middle.z < SILHOUETTE_HEIGHT_MM;
            (turned && is_arch).then_some(middle.z)
        });
        let (_, apex) = spread(under);
        assert!((apex - truth.arch_apex_height_mm).abs() < 1.0, "{apex} {}", truth.arch_apex_height_mm);
    }
}

#[test]
fn a_flatter_foot_has_a_greater_arch_index() {
    // Classes from memory: high up to 0.21, normal to 0.26, low from there; the print here is geometric.
    let [usual, flat, high] = bodies().map(|phantom| phantom.truth().arch_index);
    assert!(flat > usual + 0.02 && usual > high + 0.02, "{flat} {usual} {high}");
    assert!((0.21..0.275).contains(&usual), "{usual}");
}

#[test]
fn the_arch_is_open_medially_and_the_lateral_border_stands_on_the_ground() {
    let phantom = &*ORDINARY;
    let apex = phantom.truth().landmarks[&LandmarkId::ArchApex];
    assert!(phantom.distance(apex.with_z(PRINT_HEIGHT_MM)) > 5.0);
    let lateral = (-60..0).any(|y| phantom.distance(dvec3(apex.x, f64::from(y), 0.3)) < 0.0);
    assert!(lateral, "nothing bears at x = {}", apex.x);
    // Heel, ball under the first head, and the pulps of hallux and second toe bear.
    let landmarks = &phantom.truth().landmarks;
    let ball = landmarks[&LandmarkId::MetatarsaleTibiale] - dvec3(5.0, 16.0, 0.0);
    let pulps = [LandmarkId::Akropodion, LandmarkId::SecondToeTip].map(|id| landmarks[&id] - dvec3(9.0, 0.0, 0.0));
    for p in [dvec3(35.0, 0.0, 0.0), ball, pulps[0], pulps[1]] {
        assert!(phantom.distance(p.with_z(0.5)) < 0.0, "{p} does not bear");
        assert!(phantom.distance(p.with_z(-0.01)) > 0.0);
    }
}

#[test]
fn there_are_five_toes_with_gaps_between_them() {
    let phantom = &*ORDINARY;
    let places = phantom.places();
    for pair in places.toe_tips.windows(2) {
        // Beside the shorter toe, a little behind its tip.
        let x = pair[0].x.min(pair[1].x) - 5.0;
        let between = |share: f64| (pair[0] + share * (pair[1] - pair[0])).with_x(x).with_z(8.0);
        assert!(phantom.distance(between(0.0)) < 0.0 && phantom.distance(between(1.0)) < 0.0);
        let open = (1..100).map(|i| phantom.distance(between(f64::from(i) / 100.0))).fold(f64::NEG_INFINITY, f64::max);
        assert!(open > 0.0, "toes at {pair:?} are grown together");
    }
}

#[test]
fn the_medial_malleolus_is_higher_and_the_tendon_narrows_above_the_heel() {
    let phantom = &*ORDINARY;
    let places = phantom.places();
    assert!(places.malleolus_medial.z > places.malleolus_lateral.z + 5.0);
    let rear = |z: f64| skin::first_hit(phantom, dvec3(-30.0, 0.0, z), DVec3::X, 80.0).unwrap().x;
    assert!(rear(25.0) < rear(60.0) && rear(60.0) < rear(85.0), "{} {} {}", rear(25.0), rear(60.0), rear(85.0));
}

#[test]
fn a_clean_scan_is_a_closed_mesh_on_the_skin() {
    for uneven in [false, true] {
        let phantom = &*HIGH_ARCHED;
        let scan = phantom.scan(&ScanSwitches { uneven, leg: uneven, ..ScanSwitches::default() });
        assert_eq!(components(&scan.mesh).len(), 1);
        let off = scan.mesh.positions().iter().filter(|&&p| phantom.distance(p).abs() > 0.01 && p.z < 85.0).count();
        // Where clefts narrower than a triangle are closed, vertices stay off the skin.
        assert!(off * 100 < scan.mesh.positions().len(), "{off}");
        let closed = ClosedMesh::new(scan.mesh).unwrap();
        // A foot of this size with some leg holds about a litre.
        assert!((0.6e6..1.6e6).contains(&closed.volume_mm3()), "{}", closed.volume_mm3());
    }
}

#[test]
fn left_and_right_are_mirror_images() {
    let [left, right] = Side::ALL.map(|side| {
        let phantom = Phantom::new(PhantomParams { side, ..PhantomParams::default() }).unwrap();
        let scan = phantom.scan(&ScanSwitches { triangle_mm: 4.0, ..ScanSwitches::default() });
        (phantom, scan)
    });
    assert_eq!(left.0.truth(), right.0.truth());
    let mirror = dvec3(1.0, -1.0, 1.0);
    assert!(left.1.mesh.positions().iter().zip(right.1.mesh.positions()).all(|(l, r)| *l == *r * mirror));
    assert!(left.1.foot_from_scan.matrix3.determinant() < 0.0 && right.1.foot_from_scan.matrix3.determinant() > 0.0);
    ClosedMesh::new(left.1.mesh).unwrap();
    ClosedMesh::new(right.1.mesh).unwrap();
}

#[test]
fn the_scan_transform_is_exact_in_every_unit_and_pose() {
    let phantom = &*ORDINARY;
    for unit in LengthUnit::ALL {
        let turn = DQuat::from_axis_angle(dvec3(1.0, -2.0, 0.5).normalize(), 2.3);
        let pose = DAffine3::from_rotation_translation(turn, dvec3(310.0, -75.0, 912.0));
        let scan = phantom.scan(&ScanSwitches { triangle_mm: 5.0, unit, pose, ..ScanSwitches::default() });
        let size = scan.mesh.bounds().map(|(lo, hi)| (hi - lo).length() * unit.mm()).unwrap();
        assert!((200.0..400.0).contains(&size));
        let foot = scan.mesh.transformed(&scan.foot_from_scan);
        let on_skin = foot.positions().iter().filter(|&&p| phantom.distance(p).abs() < 0.01).count();
        assert!(on_skin * 100 > foot.positions().len() * 97);
    }
}

#[test]
fn the_same_seed_gives_the_same_scan_and_another_one_does_not() {
    let phantom = &*ORDINARY;
    let scan = |seed| {
        phantom.scan(&ScanSwitches {
            triangle_mm: 4.0,
            noise_sigma_mm: 0.2,
            holes: 3,
            stray_pieces: 2,
            seed,
            ..ScanSwitches::default()
        })
    };
    assert_eq!(scan(7).mesh, scan(7).mesh);
    assert_ne!(scan(7).mesh, scan(8).mesh);
    assert_eq!(Phantom::new(PhantomParams::default()).unwrap().truth(), phantom.truth());
}

#[test]
fn switches_do_what_they_say() {
    let phantom = &*ORDINARY;
    let rough = ScanSwitches { triangle_mm: 3.0, ..ScanSwitches::default() };
    let clean = phantom.scan(&rough).mesh;
    let top = |mesh: &TriMesh| mesh.bounds().unwrap().1.z;
    let short = phantom.scan(&ScanSwitches { leg: false, ..rough }).mesh;
    assert!((top(&clean) - 130.0).abs() < 1.0 && (top(&short) - 0.36 * 255.0).abs() < 1.0);

    let loops = |mesh: &TriMesh| mesh::boundary_loops(mesh).len();
    assert_eq!(loops(&clean), 0);
    assert_eq!(loops(&phantom.scan(&ScanSwitches { open_top: true, ..rough }).mesh), 1);
    let holed = phantom.scan(&ScanSwitches { holes: 4, ..rough }).mesh;
    assert!((1..=8).contains(&loops(&holed)) && holed.triangles().len() < clean.triangles().len());

    let stray = phantom.scan(&ScanSwitches { stray_pieces: 3, ..rough }).mesh;
    assert_eq!(components(&stray).len(), 4);
    let floor = phantom.scan(&ScanSwitches { floor_sheet: true, ..rough }).mesh;
    assert_eq!(components(&floor).len(), 2);
    assert!(floor.bounds().unwrap().0.x < -30.0);

    let noisy = phantom.scan(&ScanSwitches { noise_sigma_mm: 0.3, ..rough }).mesh;
    let moved = noisy.positions().iter().zip(clean.positions()).map(|(a, b)| a.distance_squared(*b));
    let sigma = (moved.sum::<f64>() / clean.positions().len() as f64).sqrt();
    assert!((sigma - 0.3).abs() < 0.03, "{sigma}");

    let fine = phantom.scan(&ScanSwitches { triangle_mm: 1.5, ..rough }).mesh.triangles().len();
    let share = fine as f64 / clean.triangles().len() as f64;
    assert!((3.5..4.5).contains(&share), "{share}");
}

#[test]
fn absurd_parameters_are_refused_with_their_name() {
    let usual = PhantomParams::default;
    for (params, what) in [
        (PhantomParams { foot_length_mm: f64::NAN, ..usual() }, "foot_length_mm"),
        (PhantomParams { foot_length_mm: 26.0, ..usual() }, "foot_length_mm"),
        (PhantomParams { ball_breadth_mm: 130.0, ..usual() }, "ball_breadth_mm"),
        (PhantomParams { toe_claw: [0.0, 2.0, 0.0, 0.0, 0.0], ..usual() }, "toe_claw"),
    ] {
        let message = Phantom::new(params).unwrap_err().to_string();
        assert!(message.starts_with(what), "{message}");
    }
}

#[test]
fn parameters_are_read_back_as_written_and_missing_ones_are_usual() {
    let params = random(5);
    let text = serde_json::to_string(&params).unwrap();
    assert_eq!(serde_json::from_str::<PhantomParams>(&text).unwrap(), params);
    let few: PhantomParams = serde_json::from_str(r#"{"foot_length_mm": 270}"#).unwrap();
    assert_eq!(few, PhantomParams { foot_length_mm: 270.0, ..PhantomParams::default() });
    for (spec, value) in PhantomParams::default().values() {
        assert_eq!(spec.default.to_bits(), value.to_bits(), "{}", spec.id);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(10))]

    /// Every random body can be built, is one closed piece, and looks like a foot in numbers.
    #[test]
    fn random_bodies_are_feet(seed in any::<u64>()) {
        let params = random(seed);
        let phantom = Phantom::new(params.clone()).map_err(|e| TestCaseError::fail(format!("{e}: {params:?}")))?;
        let truth = phantom.truth();
        for id in LandmarkId::ALL {
            prop_assert!(phantom.distance(truth.landmarks[&id]).abs() < 0.02, "{:?}", id);
        }
        prop_assert!((truth.foot_length_mm - params.foot_length_mm).abs() < 0.1);
        // Girth over length 0.930 ± 0.042 in men, 0.927 ± 0.042 in women (computed from the ANSUR II records).
        let girth = truth.ball_girth_mm / truth.foot_length_mm;
        prop_assert!((0.75..1.12).contains(&girth), "{}", girth);
        prop_assert!((0.02..0.40).contains(&truth.arch_index), "{}", truth.arch_index);
        let scan = phantom.scan(&ScanSwitches { triangle_mm: 3.0, ..ScanSwitches::default() });
        prop_assert_eq!(components(&scan.mesh).len(), 1);
        prop_assert!(ClosedMesh::new(scan.mesh).is_ok());
    }

    /// The slope that comes with a distance is the slope of that distance.
    #[test]
    fn slopes_are_those_of_the_distance(x in -20.0..280.0, y in -70.0..70.0, z in -10.0..140.0) {
        let phantom = &*ORDINARY;
        let p = dvec3(x, y, z);
        let Sloped(distance, slope) = phantom.sloped(p);
        prop_assert_eq!(distance.to_bits(), phantom.distance(p).to_bits());
        // Creases are only met by chance: a slope seen over two steps lies between those on either side.
        for axis in DVec3::AXES {
            let along = |h: f64| (phantom.distance(p + axis * h) - phantom.distance(p - axis * h)) / (2.0 * h);
            let (near, far) = (along(1e-4), along(2e-4));
            prop_assert!((near - far).abs() > 1e-3 || (slope.dot(axis) - near).abs() < 1e-2, "{} {}", slope, near);
        }
    }
}
