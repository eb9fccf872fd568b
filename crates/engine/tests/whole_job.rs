//! The whole job on one engine: scan in, shape, grade, make, keep; and what must never happen on the way.
#![allow(clippy::float_cmp, reason = "what was set must come back to the last bit")]
#![allow(clippy::unwrap_used, reason = "helpers of tests: a failure is the test's failure")]

use base::{Side, Work};
use case::{Case, Edit};
use engine::view::Moves;
use engine::{Added, Cut, Engine, EngineError, MadeFile, ScanFile, ScanHints, Target};
use foot::phantom::{Phantom, PhantomParams, ScanSwitches};
use foot::{LandmarkId, WeightBearing};
use glam::{DAffine3, DQuat, DVec2, DVec3};
use insole::ElementItem;
use std::sync::{Arc, OnceLock};

/// A scan file of a phantom in some pose.
fn scan_file(side: Side) -> &'static [u8] {
    static FILES: OnceLock<[Vec<u8>; 2]> = OnceLock::new();
    let files = FILES.get_or_init(|| {
        Side::ALL.map(|side| {
            let phantom = Phantom::new(PhantomParams { side, ..PhantomParams::default() }).unwrap();
            let turn = DQuat::from_axis_angle(DVec3::new(0.3, 0.5, 0.81).normalize(), 2.0);
            let pose = DAffine3::from_rotation_translation(turn, DVec3::new(40.0, -90.0, 12.0));
            let switches = ScanSwitches { triangle_mm: 3.0, pose, noise_sigma_mm: 0.1, ..ScanSwitches::default() };
            let mut bytes = Vec::new();
            mesh::stl::write_stl(&phantom.scan(&switches).mesh, "phantom", &mut bytes).unwrap();
            bytes
        })
    });
    &files[usize::from(side == Side::Right)]
}

fn add(engine: &mut Engine, name: &str, bytes: &[u8]) -> Result<Vec<Added>, EngineError> {
    engine.add_scans(&[ScanFile::new(name, bytes)], &ScanHints::default(), &Work::quiet())
}

fn with_right_foot() -> Engine {
    let mut engine = Engine::new();
    let added = add(&mut engine, "right.stl", scan_file(Side::Right)).unwrap();
    assert_eq!(added[0].side, Side::Right);
    engine
}

fn set(engine: &mut Engine, param: &str, value: f64) {
    engine.apply(&Edit::SetSurface { side: Side::Right, param: param.into(), value: Some(value) }).unwrap();
}

fn pad(engine: &mut Engine) {
    let edit = engine.place_edit(Side::Right, "metatarsal_pad", None).unwrap();
    engine.apply(&edit).unwrap();
}

/// After every change: the case survives its file, nothing shown is not a number, handles are where they say.
fn check_invariants(engine: &mut Engine) {
    let json = engine.committed_json();
    assert_eq!(&case::file::from_json("case", &json).unwrap(), engine.case());
    let snapshot = engine.snapshot();
    assert_eq!((snapshot.problems.left.clone(), snapshot.problems.right.clone()), (None, None));
    for (side, foot) in snapshot.feet.iter() {
        let Some(foot) = foot else { continue };
        assert!(foot.handles.iter().flat_map(|handle| handle.at).all(f64::is_finite));
        assert!(foot.outline.iter().flatten().all(|n| n.is_finite()) && foot.outline.len() > 100);
        let mesh = engine.insole_mesh(side).unwrap();
        assert!(mesh.positions.iter().chain(&mesh.normals).all(|n| n.is_finite()));
        assert_eq!(engine.insole_vertex_hardness(side).unwrap().len() * 3, mesh.positions.len());
    }
}

#[test]
fn a_scan_becomes_an_insole_that_fits_it() {
    let mut engine = with_right_foot();
    check_invariants(&mut engine);
    let snapshot = engine.snapshot();
    let foot = snapshot.feet.right.as_ref().unwrap();
    assert_eq!(foot.landmarks.len(), LandmarkId::ALL.len());
    let truth = Phantom::new(PhantomParams { side: Side::Right, ..PhantomParams::default() }).unwrap();
    let length = foot.measures.iter().find(|measure| measure.id == "foot_length_mm").unwrap().value.unwrap();
    assert!((length - truth.truth().foot_length_mm).abs() < 2.0, "{length}");
    let size = snapshot.size.as_ref().unwrap();
    assert!(size.last_length_mm >= length + 10.0, "{size:?}");
    let insole_length = foot.outline_sizes[0].1;
    assert!(insole_length > length && insole_length <= size.last_length_mm + 1e-6, "{insole_length}");
    assert!(foot.arch.used_mm > 5.0 && foot.arch.used_mm < foot.arch.apex_mm, "{:?}", foot.arch);
    assert!(snapshot.findings.iter().any(|finding| finding.rule == "weight_bearing_not_stated"));
    engine.apply(&Edit::SetWeightBearing { state: Some(WeightBearing::Half) }).unwrap();
    let stated = engine.snapshot();
    assert!(!stated.findings.iter().any(|finding| finding.rule == "weight_bearing_not_stated"));
    assert!(stated.feet.right.unwrap().arch.fill > foot.arch.fill);
}

#[test]
fn both_sides_of_one_shape_make_mirror_images() {
    let mut engine = with_right_foot();
    add(&mut engine, "left.stl", scan_file(Side::Left)).unwrap();
    check_invariants(&mut engine);
    let snapshot = engine.snapshot();
    let (left, right) = (snapshot.feet.left.unwrap(), snapshot.feet.right.unwrap());
    for (a, b) in left.landmarks.iter().zip(&right.landmarks) {
        // Other noise, other triangles: the same skin within what they move a landmark by.
        let apart = DVec3::from_array(a.at).distance(DVec3::from_array(b.at));
        assert!(apart < 6.0, "{}: {apart:.1} mm", a.label);
    }
    assert!((left.outline_sizes[0].1 - right.outline_sizes[0].1).abs() < 1.5);
}

#[test]
fn every_handle_can_be_dragged_and_a_drag_is_one_step() {
    let mut engine = with_right_foot();
    pad(&mut engine);
    let points = vec![[10.0, -18.0], [50.0, -20.0], [52.0, 20.0], [12.0, 16.0]];
    let side = Side::Right;
    engine.apply(&Edit::AddRegion { side, name: "heel".into(), points, shore_a: 22.0, transition_mm: 12.0 }).unwrap();
    let handles = engine.snapshot().feet.right.unwrap().handles;
    assert!(handles.len() > LandmarkId::ALL.len() + 4 + 3);
    for handle in handles {
        let before: Case = engine.case().clone();
        let [x, y, z] = handle.at;
        let to = match handle.moves {
            Moves::Skin | Moves::Plan => [x + 3.0, y + 1.5, z],
            Moves::Vertical if z < 0.0 => [x, y, z - 1.5],
            Moves::Vertical => [x, y, z + 1.5],
        };
        engine.begin();
        for share in [0.3, 0.7, 1.0] {
            let place = [0, 1, 2].map(|axis| handle.at[axis] + share * (to[axis] - handle.at[axis]));
            let edit = engine.move_edit(side, &handle.target, place).unwrap();
            engine.preview(&edit).unwrap();
        }
        let moved = engine.snapshot().feet.right.unwrap().handles;
        engine.commit();
        let now = moved.iter().find(|now| now.target == handle.target).unwrap();
        let shift = DVec3::from_array(now.at) - DVec3::from_array(handle.at);
        assert!(shift.length() > 0.5, "{}: moved by {shift}", handle.label);
        if handle.moves == Moves::Vertical {
            assert!((shift.z - (to[2] - z)).abs() < 0.2, "{}: moved by {shift}", handle.label);
        }
        check_invariants(&mut engine);
        assert!(engine.undo());
        assert_eq!(engine.case(), &before, "{}", handle.label);
    }
}

#[test]
fn an_edit_computes_nothing_again_that_it_does_not_touch() {
    let mut engine = with_right_foot();
    pad(&mut engine);
    let before = engine.snapshot().feet.right.unwrap().revs;
    engine.apply(&Edit::SetBaseHardness { side: Side::Right, shore_a: 42.0 }).unwrap();
    let graded = engine.snapshot().feet.right.unwrap().revs;
    assert_eq!((graded.foot, graded.surface), (before.foot, before.surface));
    assert_ne!(graded.hardness, before.hardness);
    set(&mut engine, "cup_depth_mm", 15.0);
    let shaped = engine.snapshot().feet.right.unwrap().revs;
    assert_eq!((shaped.foot, shaped.hardness), (graded.foot, graded.hardness));
    assert_ne!(shaped.surface, graded.surface);
    engine.undo();
    assert_eq!(engine.snapshot().feet.right.unwrap().revs, graded);
    // No insole hangs on the navicular; on the arch apex hangs its surface, not its outline.
    let place = |engine: &mut Engine, id, to| {
        let edit = engine.move_edit(Side::Right, &Target::Landmark { id }, to).unwrap();
        engine.apply(&edit).unwrap();
        engine.snapshot().feet.right.unwrap().revs
    };
    assert_eq!(place(&mut engine, LandmarkId::Navicular, [95.0, 38.0, 45.0]), graded);
    let moved = place(&mut engine, LandmarkId::ArchApex, [104.0, 25.0, 15.0]);
    assert_eq!((moved.foot, moved.hardness), (graded.foot, graded.hardness));
    assert_ne!(moved.surface, graded.surface);
}

#[test]
fn numbers_do_what_they_say() {
    let mut engine = with_right_foot();
    let top_at = |engine: &mut Engine, cut: Cut| {
        engine.section(Side::Right, cut).unwrap().top.iter().map(|p| p[1]).fold(f32::NEG_INFINITY, f32::max)
    };
    let heel = Cut::Transverse(30.0);
    set(&mut engine, "cup_depth_mm", 9.0);
    let shallow = top_at(&mut engine, heel);
    set(&mut engine, "cup_depth_mm", 15.0);
    let deep = top_at(&mut engine, heel);
    assert!((deep - shallow - 6.0).abs() < 1.0, "{shallow} → {deep}");

    set(&mut engine, "arch_height_mm", 14.0);
    let arch = engine.snapshot().feet.right.unwrap().arch;
    assert!(arch.by_hand && (arch.used_mm - 14.0).abs() < 1e-9);

    let thickness = engine.snapshot().feet.right.unwrap().thinnest.0;
    set(&mut engine, "base_thickness_mm", 7.0);
    let thicker = engine.snapshot().feet.right.unwrap().thinnest.0;
    assert!((thicker - thickness - 3.0).abs() < 0.01, "{thickness} → {thicker}");
}

#[test]
fn a_pad_placed_by_its_rule_has_no_finding_and_one_dragged_forward_has() {
    let mut engine = with_right_foot();
    pad(&mut engine);
    let placed =
        |engine: &mut Engine| engine.snapshot().findings.into_iter().find(|f| f.rule == "metatarsal_pad_place");
    assert_eq!(placed(&mut engine), None);
    let first = engine.snapshot().feet.right.unwrap().handles;
    let handle = first.iter().find(|handle| matches!(handle.target, Target::Element { .. })).unwrap();
    let edit = engine.move_edit(Side::Right, &handle.target, [handle.at[0] + 18.0, handle.at[1], 0.0]).unwrap();
    engine.apply(&edit).unwrap();
    let finding = placed(&mut engine).unwrap();
    assert!(finding.text.contains("too far forward"), "{}", finding.text);
}

#[test]
fn an_element_placed_by_a_click_has_its_crest_there() {
    let mut engine = with_right_foot();
    let polygon: Vec<DVec2> =
        engine.snapshot().feet.right.unwrap().outline.iter().map(|p| DVec2::new(p[0].into(), p[1].into())).collect();
    let edge = Arc::new(insole::Edge::new(&polygon).unwrap());
    let mut rigid = 0;
    for element in insole::elements::ALL {
        let mut crest = |at: [f64; 2]| {
            let edit = engine.place_edit(Side::Right, element.id(), Some(at)).unwrap();
            let Edit::AddElement { kind, params, .. } = edit else { panic!("{edit:?}") };
            element.crest(&ElementItem::new(&kind, params), &edge)
        };
        let (one, other) = (crest([120.0, 4.0]), crest([126.0, 1.0]));
        // What hangs on the edge does not move freely.
        if (other - one).distance(DVec2::new(6.0, -3.0)) < 1e-6 {
            rigid += 1;
            assert!(one.distance(DVec2::new(120.0, 4.0)) < 0.1, "{}: {one}", element.id());
        }
    }
    assert!(2 * rigid > insole::elements::ALL.len(), "{rigid} of {} can be put anywhere", insole::elements::ALL.len());
}

#[test]
fn what_is_made_is_closed_and_the_same_every_time() {
    let mut engine = with_right_foot();
    pad(&mut engine);
    let files = engine.make(&[]).unwrap();
    let again = engine.make(&[]).unwrap();
    assert_eq!(files, again);
    let stl: &MadeFile = files.iter().find(|file| file.name.ends_with(".stl")).unwrap();
    let read = mesh::stl::read_stl(&stl.name, &stl.bytes, &Work::quiet(), &mut base::Report::default()).unwrap();
    let solid = mesh::ClosedMesh::new(read).unwrap();
    let (lo, hi) = solid.bounds();
    let sizes = engine.snapshot().feet.right.unwrap().outline_sizes;
    assert!((hi.x - lo.x - sizes[0].1).abs() < 0.3);
    assert!(files.iter().any(|file| file.media_type.starts_with("text/html")));
    assert_eq!(engine.make(&["solid"]).unwrap().len(), 1);
    assert!(engine.make(&["cast"]).unwrap_err().to_string().contains("cast"));
}

#[test]
fn a_case_opens_and_is_restored_as_it_was() {
    let mut engine = with_right_foot();
    pad(&mut engine);
    set(&mut engine, "cup_depth_mm", 13.5);
    let bytes = engine.save().unwrap();
    let mut opened = Engine::new();
    opened.open("case.solewright", &bytes).unwrap();
    assert_eq!(opened.case(), engine.case());
    let (a, b) = (opened.snapshot().feet.right.unwrap(), engine.snapshot().feet.right.unwrap());
    assert_eq!((a.landmarks, a.outline, a.handles), (b.landmarks, b.outline, b.handles));

    let scans = engine.scan_hashes().iter().map(|hash| engine.scan_bytes(hash).unwrap().to_vec()).collect();
    let mut restored = Engine::new();
    restored.restore(&engine.committed_json(), scans).unwrap();
    assert_eq!(restored.case(), engine.case());
    let missing = Engine::new().restore(&engine.committed_json(), Vec::new()).unwrap_err().to_string();
    assert!(missing.contains("right.stl"), "{missing}");
}

#[test]
fn what_cannot_be_taken_in_leaves_the_case_as_it_was() {
    let mut engine = with_right_foot();
    let before = engine.case().clone();
    let mut truncated = scan_file(Side::Left).to_vec();
    truncated.truncate(10_000);
    let huge = [&[b' '; 80][..], &u32::MAX.to_le_bytes()[..], &[0; 50][..]].concat();
    for bytes in [&b""[..], &truncated, &huge, b"not a scan at all"] {
        let error = add(&mut engine, "bad.stl", bytes).unwrap_err().to_string();
        assert!(error.contains("bad.stl"), "{error}");
    }
    assert!(engine.open("bad.solewright", b"nothing").is_err());
    assert!(engine.restore("{}", Vec::new()).is_err());
    let file = ScanFile::new("left.stl", scan_file(Side::Left));
    let cancelled = engine.add_scans(&[file], &ScanHints::default(), &Work::new(&|_, _| false));
    assert!(cancelled.is_err());
    assert_eq!(engine.case(), &before);
}
