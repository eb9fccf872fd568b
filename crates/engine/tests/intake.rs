//! Scans of every kind come in: alone, in pairs, two in a file, as impressions, points and heights, in two states.
#![allow(clippy::unwrap_used, reason = "helpers of tests: a failure is the test's failure")]

use base::{Side, Work};
use case::Edit;
use engine::{Added, Engine, EngineError, ScanFile, ScanHints, Target};
use foot::phantom::{Phantom, PhantomParams, ScanSwitches};
use foot::{CleanStep, ScanKind, WeightBearing};
use glam::{DAffine3, DQuat, DVec3};
use mesh::TriMesh;

fn turned(degrees: f64) -> DAffine3 {
    let turn = DQuat::from_axis_angle(DVec3::new(0.2, -0.4, 0.9).normalize(), degrees.to_radians());
    DAffine3::from_rotation_translation(turn, DVec3::new(30.0, 400.0, -70.0))
}

fn phantom(params: PhantomParams) -> Phantom {
    Phantom::new(params).unwrap()
}

fn scan_of(side: Side, switches: &ScanSwitches) -> TriMesh {
    phantom(PhantomParams { side, ..PhantomParams::default() }).scan(switches).mesh
}

fn switches() -> ScanSwitches {
    ScanSwitches { triangle_mm: 3.0, pose: turned(40.0), ..ScanSwitches::default() }
}

fn stl(mesh: &TriMesh) -> Vec<u8> {
    let mut bytes = Vec::new();
    mesh::stl::write_stl(mesh, "phantom", &mut bytes).unwrap();
    bytes
}

fn add(engine: &mut Engine, files: &[(&str, Vec<u8>)]) -> Result<Vec<Added>, EngineError> {
    let files: Vec<ScanFile> = files.iter().map(|(name, bytes)| ScanFile::new(name, bytes)).collect();
    engine.add_scans(&files, &ScanHints::default(), &Work::quiet())
}

fn measure(engine: &mut Engine, side: Side, id: &str) -> f64 {
    let snapshot = engine.snapshot();
    let foot = snapshot.feet[side].as_ref().unwrap();
    foot.measures.iter().find(|measure| measure.id == id).unwrap().value.unwrap()
}

#[test]
fn a_pair_comes_in_as_one_step() {
    let mut engine = Engine::new();
    let (left, right) = (scan_of(Side::Left, &switches()), scan_of(Side::Right, &switches()));
    let added = add(&mut engine, &[("b.stl", stl(&right)), ("a.stl", stl(&left))]).unwrap();
    assert_eq!(added.iter().map(|added| added.side).collect::<Vec<_>>(), [Side::Right, Side::Left]);
    assert_eq!(engine.snapshot().undo.as_deref(), Some("add both scans"));
    assert!(engine.undo());
    assert!(engine.snapshot().feet.iter().all(|(_, foot)| foot.is_none()));
    let three = [("a.stl", stl(&left)), ("b.stl", stl(&right)), ("c.stl", stl(&left))];
    let error = add(&mut engine, &three).unwrap_err();
    assert!(matches!(error, EngineError::TooManyFeet { count: 3, .. }), "{error}");
}

#[test]
fn two_feet_in_one_file_are_a_pair() {
    let beside = DAffine3::from_translation(DVec3::new(0.0, 160.0, 0.0));
    let plain = ScanSwitches { triangle_mm: 3.0, ..ScanSwitches::default() };
    let (left, right) = (scan_of(Side::Left, &plain).transformed(&beside), scan_of(Side::Right, &plain));
    let first = left.positions().len() as u32;
    let positions = [left.positions(), right.positions()].concat();
    let more = right.triangles().iter().map(|t| t.map(|v| v + first));
    let both = TriMesh::new(positions, left.triangles().iter().copied().chain(more).collect()).unwrap();
    let bytes = stl(&both.transformed(&turned(75.0)));

    let mut engine = Engine::new();
    let added = add(&mut engine, &[("both.stl", bytes.clone())]).unwrap();
    assert_eq!(added.len(), 2);
    let truth = phantom(PhantomParams::default()).truth().foot_length_mm;
    for side in Side::ALL {
        let length = measure(&mut engine, side, "foot_length_mm");
        assert!((length - truth).abs() < 1.5, "{length} {truth}");
    }
    // What was saved opens again with both feet out of the one file.
    let saved = engine.save().unwrap();
    let mut again = Engine::new();
    again.open("case.solewright", &saved).unwrap();
    let breadth = |engine: &mut Engine| measure(engine, Side::Left, "foot_breadth_mm");
    assert!((breadth(&mut again) - breadth(&mut engine)).abs() < 1e-9);

    let mut one = Engine::new();
    let hints = ScanHints { side: Some(Side::Left), ..ScanHints::default() };
    let file = ScanFile::new("both.stl", &bytes);
    let added = one.add_scans(&[file], &hints, &Work::quiet()).unwrap();
    assert_eq!(added.iter().map(|added| added.side).collect::<Vec<_>>(), [Side::Left]);
}

#[test]
fn two_states_of_loading_are_compared() {
    let arch = |arch_height_mm, instep_height_mm| {
        let params = PhantomParams { arch_height_mm, instep_height_mm, ..PhantomParams::default() };
        stl(&phantom(params).scan(&switches()).mesh)
    };
    let mut engine = Engine::new();
    let side = add(&mut engine, &[("hanging.stl", arch(20.0, 67.0))]).unwrap()[0].side;
    let loaded = ScanFile::new("standing.stl", &arch(15.0, 62.0));
    let full = WeightBearing::Full;
    engine.add_second_scan(side, full, &loaded, &ScanHints::default(), &Work::quiet()).unwrap();
    let second = engine.snapshot().feet[side].clone().unwrap().second.unwrap();
    assert!(second.problem.is_some(), "the state of the first is asked for");
    engine.apply(&Edit::SetWeightBearing { state: Some(WeightBearing::None) }).unwrap();
    engine.apply(&Edit::SetMass { mass_kg: Some(80.0) }).unwrap();
    let second = engine.snapshot().feet[side].clone().unwrap().second.unwrap();
    assert_eq!(second.problem, None);
    let arch_drop = second.changes.iter().find(|change| change.id == "arch_drop_mm").unwrap().value.unwrap();
    assert!((arch_drop - 5.0).abs() < 1.0, "{arch_drop}");
    let saved = engine.save().unwrap();
    let mut again = Engine::new();
    again.open("case.solewright", &saved).unwrap();
    assert_eq!(again.snapshot().feet[side].clone().unwrap().second.unwrap(), second);
}

#[test]
fn three_points_lay_a_foot_anew() {
    let mut engine = Engine::new();
    let side = add(&mut engine, &[("right.stl", stl(&scan_of(Side::Right, &switches())))]).unwrap()[0].side;
    let before = measure(&mut engine, side, "foot_length_mm");
    let good = engine.case().feet[side].clone().unwrap().foot_from_scan;
    // Laid wrongly by hand: on its side and the wrong way round.
    let wrong = DAffine3::from_quat(DQuat::from_euler(glam::EulerRot::XYZ, 1.4, 0.2, 2.5));
    let pose = wrong * case::pose_from_rows(&good).unwrap();
    engine.apply(&Edit::SetPose { side, foot_from_scan: case::rows_from_pose(&pose) }).unwrap();
    // Where a hand would click: some millimetres off on the skin.
    let on_foot = [[6.0, 3.0, 4.0], [188.0, 38.0, 6.0], [160.0, -42.0, 8.0]];
    let clicks = on_foot.map(|at| wrong.transform_point3(DVec3::from_array(at)).to_array());
    let edit = engine.pose_edit(side, clicks, &Work::quiet()).unwrap();
    engine.apply(&edit).unwrap();
    let after = measure(&mut engine, side, "foot_length_mm");
    assert!((after - before).abs() < 0.3, "{before} {after}");
    let bad = engine.pose_edit(side, [[0.0; 3]; 3], &Work::quiet()).unwrap_err().to_string();
    assert!(bad.contains("right.stl"), "{bad}");
}

#[test]
fn steps_can_be_left_out_and_the_leg_cut_elsewhere() {
    let mut engine = Engine::new();
    let scan = scan_of(Side::Left, &ScanSwitches { stray_pieces: 2, ..switches() });
    let side = add(&mut engine, &[("left.stl", stl(&scan))]).unwrap()[0].side;
    let step = |engine: &mut Engine, step: CleanStep| {
        let foot = engine.snapshot().feet[side].clone().unwrap();
        foot.steps.into_iter().find(|view| view.step == step).unwrap()
    };
    let strays = step(&mut engine, CleanStep::StrayPieces);
    assert!(strays.on && strays.note.is_some(), "{strays:?}");
    engine.apply(&Edit::SwitchCleanStep { side, step: CleanStep::Leg, on: false }).unwrap();
    let top = |engine: &mut Engine| {
        let mesh = engine.foot_mesh(side).unwrap();
        mesh.positions.as_chunks::<3>().0.iter().map(|p| p[2]).fold(0.0, f32::max)
    };
    assert!(top(&mut engine) > 120.0);
    assert!(!step(&mut engine, CleanStep::Leg).on);
    engine.undo();
    let edit = engine.move_edit(side, &Target::LegCut, [60.0, 0.0, 92.4]).unwrap();
    assert_eq!(edit, Edit::SetCutHeight { side, cut_height_mm: 92.4 });
    engine.apply(&edit).unwrap();
    assert!((top(&mut engine) - 92.4).abs() < 0.5);
}

#[test]
fn an_impression_can_be_declared_and_deepened() {
    let mut engine = Engine::new();
    let side = add(&mut engine, &[("foot.stl", stl(&scan_of(Side::Left, &switches())))]).unwrap()[0].side;
    let before = engine.case().clone();
    assert!(matches!(engine.retake_edit(side.other(), None, None, &Work::quiet()), Err(EngineError::NoFoot { .. })));
    // A box of foam with the print of the same foot.
    let print = ScanSwitches { impression_mm: Some(25.0), ..switches() };
    let mut engine = Engine::new();
    let added = add(&mut engine, &[("box.stl", stl(&scan_of(Side::Left, &print)))]).unwrap();
    assert_eq!((added[0].kind, added[0].side), (ScanKind::Impression, Side::Left));
    let apex = measure(&mut engine, Side::Left, "arch_apex_height_mm");
    let again = engine.retake_edit(Side::Left, Some(ScanKind::Impression), None, &Work::quiet()).unwrap();
    engine.apply(&again).unwrap();
    assert!((measure(&mut engine, Side::Left, "arch_apex_height_mm") - apex).abs() < 0.2);
    engine.apply(&Edit::SetFoamReturn { side: Side::Left, percent: 20.0 }).unwrap();
    let deeper = measure(&mut engine, Side::Left, "arch_apex_height_mm");
    assert!(deeper > 1.1 * apex, "{apex} {deeper}");
    assert_eq!(before.feet.left.unwrap().kind, ScanKind::Foot);
}

#[test]
fn points_and_colours_come_along() {
    // A cloud in a table, and the same skin as a coloured mesh.
    let scan = scan_of(Side::Right, &ScanSwitches { triangle_mm: 1.5, ..switches() });
    let table: String = scan.positions().iter().map(|p| format!("{:.3},{:.3},{:.3}\n", p.x, p.y, p.z)).collect();
    let mut engine = Engine::new();
    let added = add(&mut engine, &[("points.csv", table.into_bytes())]).unwrap();
    assert_eq!(added[0].side, Side::Right);
    let length = measure(&mut engine, Side::Right, "foot_length_mm");
    let truth = phantom(PhantomParams::default()).truth().foot_length_mm;
    assert!((length - truth).abs() < 3.0, "{length} {truth}");
    let shown = engine.snapshot().feet.right.unwrap();
    assert!(
        !shown.has_dorsum && shown.outline.len() > 100 && shown.arch.used_mm > 5.0,
        "a sole is enough for an insole"
    );
    let girth = shown.measures.iter().find(|measure| measure.id == "instep_girth_mm").unwrap();
    assert!(girth.missing.as_ref().unwrap().contains("top of the foot was not scanned"));
    let mut again = Engine::new();
    again.open("case.solewright", &engine.save().unwrap()).unwrap();
    assert_eq!(again.snapshot().feet.right.unwrap().measures, shown.measures);

    let mut obj: String =
        scan.positions().iter().map(|p| format!("v {:.4} {:.4} {:.4} 0.8 0.2 0.1\n", p.x, p.y, p.z)).collect();
    obj.extend(scan.triangles().iter().map(|t| format!("f {} {} {}\n", t[0] + 1, t[1] + 1, t[2] + 1)));
    let mut engine = Engine::new();
    add(&mut engine, &[("coloured.obj", obj.into_bytes())]).unwrap();
    let mesh = engine.foot_mesh(Side::Right).unwrap();
    assert_eq!(mesh.colours.len(), mesh.positions.len());
    assert!(
        mesh.colours.as_chunks::<3>().0.iter().filter(|rgb| **rgb == [204, 51, 26]).count() * 10
            > mesh.colours.len() * 3
    );
}
