use super::*;
use case::Edit;
use foot::phantom::{Phantom, PhantomParams, ScanSwitches};
use std::sync::LazyLock;

/// A small binary STL of a phantom foot, made once.
fn scan_file() -> Vec<u8> {
    static FILE: LazyLock<Vec<u8>> = LazyLock::new(make_scan_file);
    FILE.clone()
}

fn make_scan_file() -> Vec<u8> {
    let phantom = Phantom::new(PhantomParams::default()).unwrap();
    let scan = phantom.scan(&ScanSwitches { triangle_mm: 5.0, ..ScanSwitches::default() });
    let mut bytes = vec![0; 80];
    bytes.extend((scan.mesh.triangles().len() as u32).to_le_bytes());
    for &triangle in scan.mesh.triangles() {
        bytes.extend([0; 12]);
        for corner in scan.mesh.corners(triangle) {
            corner.to_array().iter().for_each(|&n| bytes.extend((n as f32).to_le_bytes()));
        }
        bytes.extend([0; 2]);
    }
    bytes
}

fn ask(host: &mut Host, request: Request) -> Answer<Vec<u8>> {
    host.answer(request, Vec::new(), &engine::InHouse, &|_, _| {})
}

fn title(text: &str) -> Edit {
    Edit::SetTitle { title: text.to_owned() }
}

fn add(name: &str, side: Option<Side>) -> Request {
    Request::AddScans { names: vec![name.to_owned()], side, kind: None, heights: None }
}

fn add_scan(host: &mut Host) -> Answer<Vec<u8>> {
    let request = add("foot.stl", Some(Side::Right));
    host.answer(request, vec![scan_file()], &engine::InHouse, &|_, _| {})
}

fn names(state: &State) -> Vec<PartName> {
    state
        .parts
        .iter()
        .map(|part| match part.name {
            PartName::HardnessGrid(_) => PartName::HardnessGrid(GridFrame::default()),
            PartName::ThicknessGrid(_) => PartName::ThicknessGrid(GridFrame::default()),
            name => name,
        })
        .collect()
}

#[test]
fn a_step_brings_the_snapshot_and_what_to_keep() {
    let mut host = Host::default();
    let state = ask(&mut host, Request::Apply(title("Boots"))).state.unwrap();
    assert_eq!(state.snapshot.unwrap().title, "Boots");
    assert!(state.kept.unwrap().json.contains("Boots"));
}

#[test]
fn a_preview_is_shown_but_not_kept_until_it_is_committed() {
    let mut host = Host::default();
    ask(&mut host, Request::Begin);
    let state = ask(&mut host, Request::Preview(title("half typed"))).state.unwrap();
    assert_eq!(state.snapshot.unwrap().title, "half typed");
    assert_eq!(state.kept, None);
    let state = ask(&mut host, Request::Commit).state.unwrap();
    assert!(state.kept.unwrap().json.contains("half typed"));
    let state = ask(&mut host, Request::Commit).state.unwrap();
    assert_eq!(state.kept, None, "nothing new to keep");
}

#[test]
fn what_is_refused_says_why_and_shows_nothing() {
    let mut host = Host::default();
    let edit = Edit::SetSurface { side: Side::Left, param: "cup_depth_mm".to_owned(), value: Some(12.0) };
    let answer = ask(&mut host, Request::Apply(edit));
    assert!(answer.outcome.unwrap_err().contains("left foot"));
    assert_eq!(answer.state, None);
    let answer = ask(&mut host, add("a.stl", None));
    assert!(answer.outcome.unwrap_err().contains("choose it again"));
    let answer = host.answer(
        Request::Open { name: "a.solewright".to_owned() },
        vec![vec![1, 2, 3]],
        &engine::InHouse,
        &|_, _| {},
    );
    assert!(answer.outcome.unwrap_err().contains("a.solewright"));
}

#[test]
fn buffers_come_when_they_change_and_only_then() {
    let mut host = Host::default();
    let answer = add_scan(&mut host);
    let Ok(Reply::Added(added)) = &answer.outcome else { panic!("{:?}", answer.outcome) };
    assert_eq!(added.iter().map(|added| added.side).collect::<Vec<_>>(), [Side::Right]);
    let state = answer.state.unwrap();
    assert_eq!(state.kept.as_ref().unwrap().scans.len(), 1);
    let all = [
        PartName::FootPositions,
        PartName::FootNormals,
        PartName::FootIndices,
        PartName::FootColours,
        PartName::InsolePositions,
        PartName::InsoleNormals,
        PartName::InsoleIndices,
        PartName::InsoleShoreA,
        PartName::HardnessGrid(GridFrame::default()),
        PartName::ThicknessGrid(GridFrame::default()),
    ];
    let sent = names(&state);
    let problems = state.snapshot.map(|snapshot| snapshot.problems);
    assert!(sent.len() == all.len() && all.iter().all(|name| sent.contains(name)), "{sent:?} {problems:?}");

    let state = ask(&mut host, Request::Apply(title("no buffer changes"))).state.unwrap();
    assert_eq!(names(&state), []);

    let deeper = Edit::SetSurface { side: Side::Right, param: "cup_depth_mm".to_owned(), value: Some(15.0) };
    let state = ask(&mut host, Request::Preview(deeper)).state.unwrap();
    assert_eq!(
        names(&state),
        [PartName::InsolePositions, PartName::InsoleNormals, PartName::ThicknessGrid(GridFrame::default())],
        "heights changed: no triangles, no hardness"
    );

    let harder = Edit::SetBaseHardness { side: Side::Right, shore_a: 50.0 };
    let state = ask(&mut host, Request::Apply(harder)).state.unwrap();
    assert_eq!(names(&state), [PartName::InsoleShoreA, PartName::HardnessGrid(GridFrame::default())]);

    let state = ask(&mut host, Request::Snapshot).state.unwrap();
    assert_eq!(state.parts.len(), all.len(), "the whole state again");

    let state = ask(&mut host, Request::Apply(Edit::RemoveFoot { side: Side::Right })).state.unwrap();
    assert!(!state.parts.is_empty() && state.parts.iter().all(|part| part.content == Content::Gone));
    let state = ask(&mut host, Request::Undo).state.unwrap();
    assert_eq!(state.parts.len(), all.len(), "undo brings all of it back");
}

#[test]
fn a_handle_moved_is_one_step_with_its_previews() {
    let mut host = Host::default();
    add_scan(&mut host);
    let placed = ask(&mut host, Request::Place { side: Side::Right, kind: "metatarsal_pad".to_owned(), at: None });
    let snapshot = placed.state.unwrap().snapshot.unwrap();
    let foot = snapshot.feet.right.unwrap();
    let handle = foot
        .handles
        .iter()
        .find(|handle| matches!(handle.target, engine::Target::Element { .. }))
        .expect("a pad can be taken hold of");
    let move_to = |x: f64, phase| Request::Move {
        side: Side::Right,
        target: handle.target.clone(),
        to: [handle.at[0] + x, handle.at[1], handle.at[2]],
        phase,
    };
    ask(&mut host, Request::Begin);
    for x in [1.0, 2.0, 3.0] {
        let answer = ask(&mut host, move_to(x, Phase::Preview));
        assert!(answer.state.is_some_and(|state| !state.parts.is_empty()), "{:?}", answer.outcome);
    }
    let moved = ask(&mut host, move_to(4.0, Phase::Commit)).state.unwrap();
    let before = &foot.elements[0];
    assert_ne!(moved.snapshot.unwrap().feet.right.unwrap().elements[0].params, before.params);
    assert_eq!(ask(&mut host, Request::Undo).outcome, Ok(Reply::Stepped(true)));
    let undone = ask(&mut host, Request::Snapshot).state.unwrap().snapshot.unwrap();
    assert_eq!(undone.feet.right.unwrap().elements[0].params, before.params, "one undo takes all of it back");
}

#[test]
fn watched_cuts_come_with_every_state() {
    let mut host = Host::default();
    add_scan(&mut host);
    let cuts = vec![(Side::Right, Cut::Longitudinal(0.0)), (Side::Left, Cut::Transverse(60.0))];
    let state = ask(&mut host, Request::Watch { cuts }).state.unwrap();
    assert_eq!(state.snapshot, None);
    let [Some(along), None] = &state.sections[..] else { panic!("{:?}", state.sections) };
    assert!(!along.top.is_empty());
    let state = ask(&mut host, Request::Apply(title("with sections"))).state.unwrap();
    assert_eq!(state.sections.len(), 2);
}

#[test]
fn a_kept_case_is_put_back_as_it_was() {
    let mut host = Host::default();
    add_scan(&mut host);
    let state = ask(&mut host, Request::Apply(title("Kept"))).state.unwrap();
    let kept = state.kept.unwrap();
    let Ok(Reply::Files(files)) = ask(&mut host, Request::ScanBytes { hash: kept.scans[0].clone() }).outcome else {
        panic!("the scan is there")
    };
    assert_eq!(files[0].bytes, scan_file());

    let mut fresh = Host::default();
    let answer = fresh.answer(
        Request::Restore { json: kept.json.clone() },
        vec![files[0].bytes.clone()],
        &engine::InHouse,
        &|_, _| {},
    );
    let restored = answer.state.unwrap();
    assert_eq!(restored.kept, Some(kept.clone()));
    assert_eq!(restored.snapshot.unwrap().title, "Kept");

    let refused = fresh.answer(Request::Restore { json: kept.json }, Vec::new(), &engine::InHouse, &|_, _| {});
    assert!(refused.outcome.unwrap_err().contains("foot.stl"));
}

#[test]
fn a_state_survives_the_way_through_a_message_head() {
    // The postcard format cannot say what a reader must be told to skip or guess: a new field or variant in a view must
    // come back as it went in.
    let mut host = Host::default();
    let snapshot = add_scan(&mut host).state.unwrap().snapshot.unwrap();
    let bytes = postcard::to_stdvec(&snapshot).unwrap();
    assert_eq!(postcard::from_bytes::<Snapshot>(&bytes).unwrap(), snapshot);
    for edit in [
        title("a"),
        Edit::SetRegion {
            side: Side::Left,
            id: 1,
            name: None,
            points: None,
            shore_a: Some(30.0),
            transition_mm: None,
            on: None,
        },
        Edit::Together { label: "both".to_owned(), edits: vec![title("b")] },
        Edit::SetSize { size: Some(last::Size { system: "paris".to_owned(), value: 42.0 }) },
    ] {
        let request = Request::Apply(edit);
        let bytes = postcard::to_stdvec(&request).unwrap();
        assert_eq!(postcard::from_bytes::<Request>(&bytes).unwrap(), request);
    }
}
