//! Undo is exact, gestures are one step, refused edits change nothing, and what is saved opens again.
#![allow(clippy::float_cmp, reason = "what was set must come back to the last bit")]
#![allow(clippy::unwrap_used, reason = "helpers of tests: a failure is the test's failure")]

use base::{LengthUnit, Params, Side};
use case::file::{Blobs, content_hash};
use case::{Case, Edit, EditError, FootCase, History, ScanRef, SecondScan, file};
use foot::{CleanStep, LandmarkId, ScanKind, WeightBearing};
use insole::sculpt::{SculptLayer, Tile, Tool};
use last::{InsoleLength, ShoeInsole, Size, Trim};
use proptest::prelude::*;

const IDENTITY: [f64; 16] = [1.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 1.0];

fn scan(bytes: &[u8]) -> ScanRef {
    ScanRef { hash: content_hash(bytes), name: "left foot.stl".into() }
}

fn with_left_foot() -> Case {
    add_scan(b"scan").applied_to(&Case::default()).unwrap()
}

fn add_scan(bytes: &[u8]) -> Edit {
    let (unit, kind) = (LengthUnit::Millimetre, ScanKind::Foot);
    Edit::AddScan {
        side: Side::Left,
        scan: scan(bytes),
        unit,
        foot_from_scan: IDENTITY,
        kind,
        heights: None,
        notes: Vec::new(),
    }
}

fn second(bytes: &[u8]) -> SecondScan {
    let (unit, state) = (LengthUnit::Millimetre, WeightBearing::Full);
    SecondScan {
        scan: scan(bytes),
        unit,
        foot_from_scan: IDENTITY,
        state,
        pose_notes: Vec::new(),
        navicular_height_mm: None,
    }
}

fn left(case: &Case) -> &FootCase {
    case.feet.left.as_ref().unwrap()
}

fn side() -> impl Strategy<Value = Side> {
    prop_oneof![4 => Just(Side::Left), 1 => Just(Side::Right)]
}

/// Any edit, most of them fitting a case with a left foot.
fn edit() -> impl Strategy<Value = Edit> {
    let point = [-100.0..300.0f64, -60.0..60.0f64];
    let points = prop::collection::vec(point.clone(), 2..8);
    prop_oneof![
        "[a-z ]{0,8}".prop_map(|title| Edit::SetTitle { title }),
        prop::option::of(prop::sample::select(WeightBearing::ALL.to_vec()))
            .prop_map(|state| Edit::SetWeightBearing { state }),
        prop::option::of(0.0..400.0f64).prop_map(|mass_kg| Edit::SetMass { mass_kg }),
        (0.0..60.0f64)
            .prop_map(|value| Edit::SetSize { size: Some(Size { system: "paris".into(), value: value.round() }) }),
        (side(), prop::sample::select(LandmarkId::ALL.to_vec()), [-50.0..300.0f64, -60.0..60.0f64, -5.0..90.0f64])
            .prop_map(|(side, landmark, at)| Edit::PlaceLandmark { side, landmark, at }),
        (side(), prop::sample::select(LandmarkId::ALL.to_vec()))
            .prop_map(|(side, landmark)| Edit::ReleaseLandmark { side, landmark }),
        (side(), prop::sample::select(insole::PARAMS.to_vec()), prop::option::of(0.0..30.0f64))
            .prop_map(|(side, spec, value)| Edit::SetSurface { side, param: spec.id.into(), value }),
        (side(), prop::sample::select(last::PARAMS.to_vec()), prop::option::of(0.0..120.0f64))
            .prop_map(|(side, spec, value)| Edit::SetLast { side, param: spec.id.into(), value }),
        (side(), prop::sample::select(vec!["metatarsal_pad", "relief", "anvil"])).prop_map(|(side, kind)| {
            Edit::AddElement { side, kind: kind.into(), params: Params::new(), curve: Vec::new(), text: String::new() }
        }),
        shape_edit(),
        (side(), 1..4u32, -50.0..250.0f64).prop_map(|(side, id, x)| Edit::set_element(
            side,
            id,
            [("x_mm".to_owned(), x)].into()
        )),
        (side(), 1..4u32, any::<bool>()).prop_map(|(side, id, on)| Edit::SwitchElement { side, id, on }),
        (side(), 1..4u32).prop_map(|(side, id)| Edit::RemoveElement { side, id }),
        (side(), 0.0..100.0f64).prop_map(|(side, shore_a)| Edit::SetBaseHardness { side, shore_a }),
        (side(), points, 0.0..100.0f64, 0.0..50.0f64).prop_map(|(side, points, shore_a, transition_mm)| {
            Edit::AddRegion { side, name: "region".into(), points, shore_a, transition_mm }
        }),
        (side(), 1..4u32).prop_map(|(side, id)| Edit::RemoveRegion { side, id }),
        (side(), prop::sample::select(LengthUnit::ALL.to_vec())).prop_map(|(side, unit)| Edit::SetUnit { side, unit }),
        side().prop_map(|side| Edit::SwitchSide { side }),
        side().prop_map(|side| Edit::AddSecondScan { side, second: second(b"second") }),
        side().prop_map(|side| Edit::RemoveSecondScan { side }),
        (side(), prop::option::of(-5.0..130.0f64))
            .prop_map(|(side, height_mm)| Edit::SetSecondNavicular { side, height_mm }),
        (side(), 0.0..40.0f64).prop_map(|(side, percent)| Edit::SetFoamReturn { side, percent }),
        (side(), prop::sample::select(CleanStep::ALL.to_vec()), any::<bool>())
            .prop_map(|(side, step, on)| Edit::SwitchCleanStep { side, step, on }),
        side().prop_map(|side| Edit::RemoveFoot { side }),
        fit_edit(),
    ]
}

/// Any edit of elements drawn and twinned, and of what is sculpted.
fn shape_edit() -> impl Strategy<Value = Edit> {
    let tiles = || {
        let tile = (-70..20i16, -3..3i16, prop::collection::vec(-900..900i16, 60..66));
        prop::collection::vec(tile.prop_map(|(x, y, heights)| Tile { at: [x, y], heights }), 0..3)
    };
    let curve = || prop::collection::vec([100.0..290.0f64, -60.0..60.0f64], 0..7);
    prop_oneof![
        (side(), 1..4u32, any::<bool>()).prop_map(|(side, id, on)| Edit::TwinElement { side, id, on }),
        (side(), 1..4u32, curve()).prop_map(|(side, id, curve)| Edit::SetElement {
            side,
            id,
            params: Params::new(),
            curve: Some(curve),
            text: Some("A 7".into())
        }),
        (side(), tiles()).prop_map(|(side, tiles)| Edit::Sculpt { side, tool: Tool::Raise, tiles }),
        (side(), tiles()).prop_map(|(side, tiles)| Edit::SetSculpt { side, layer: SculptLayer { on: true, tiles } }),
        (side(), any::<bool>()).prop_map(|(side, on)| Edit::SwitchSculpt { side, on }),
    ]
}

/// Any edit of size, last, outline and shoe.
fn fit_edit() -> impl Strategy<Value = Edit> {
    let size = || prop::option::of((150.0..600.0f64).prop_map(|value| Size { system: "mondopoint".into(), value }));
    // Some of them cross themselves and are refused.
    let points = || prop::collection::vec([-20.0..290.0f64, -60.0..60.0f64], 2..7);
    prop_oneof![
        (side(), size()).prop_map(|(side, size)| Edit::SetFootSize { side, size }),
        prop::option::of(prop::sample::select(vec!["paris_15".to_owned(), "uk_own".to_owned(), "ells".to_owned()]))
            .prop_map(|rule| Edit::SetSizeRule { rule }),
        (side(), 0.0..1.5f64).prop_map(|(side, shape)| Edit::UseLast {
            side,
            name: "winter boot".into(),
            params: [("toe_shape".to_owned(), shape)].into()
        }),
        (side(), prop::option::of(points())).prop_map(|(side, points)| Edit::SetOutline { side, points }),
        (side(), prop::sample::select(InsoleLength::ALL.to_vec()))
            .prop_map(|(side, length)| Edit::SetInsoleLength { side, length }),
        (side(), prop::option::of(-50.0..300.0f64))
            .prop_map(|(side, x)| Edit::SetTrim { side, trim: x.map(|x| Trim { lateral_x: x, medial_x: x + 20.0 }) }),
        (side(), prop::option::of(points())).prop_map(|(side, points)| Edit::SetShoeInsole {
            side,
            shoe: points.map(|points| ShoeInsole { name: "insole.svg".into(), points, notes: Vec::new() })
        }),
        (side(), prop::sample::select(last::SHOE.to_vec()), prop::option::of(0.0..250.0f64))
            .prop_map(|(side, spec, value)| Edit::SetShoe { side, param: spec.id.into(), value }),
        (side(), any::<bool>()).prop_map(|(side, on)| Edit::LimitToShoe { side, on }),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    #[test]
    fn undo_and_redo_are_exact_and_every_case_survives_its_file(edits in prop::collection::vec(edit(), 1..24)) {
        let mut history = History::starting_at(with_left_foot());
        let mut seen = vec![history.case().as_ref().clone()];
        for edit in &edits {
            let before = history.case().as_ref().clone();
            match history.apply(edit) {
                Ok(()) if **history.case() != before => seen.push(history.case().as_ref().clone()),
                _ => prop_assert_eq!(history.case().as_ref(), &before),
            }
            let json = file::to_json(history.case());
            prop_assert_eq!(&file::from_json("case", &json).unwrap(), history.case().as_ref());
        }
        for expected in seen.iter().rev().skip(1) {
            prop_assert!(history.undo());
            prop_assert_eq!(history.case().as_ref(), expected);
        }
        prop_assert!(!history.undo());
        for expected in seen.iter().skip(1) {
            prop_assert!(history.redo());
            prop_assert_eq!(history.case().as_ref(), expected);
        }
        prop_assert!(!history.redo());
    }

    #[test]
    fn a_case_file_that_was_damaged_is_refused_and_never_panics(at in 0usize..2000, value: u8, cut in 0usize..2000) {
        let bytes = file::save("case", &with_left_foot(), &Blobs::from([(content_hash(b"scan"), b"scan".to_vec().into())])).unwrap();
        let mut damaged = bytes.clone();
        let at = at % damaged.len();
        damaged[at] = value;
        // A byte that nothing depends on may be changed; what opens must then be the case that was saved.
        if let Ok((case, _)) = file::open("case", &damaged) {
            prop_assert_eq!(case, with_left_foot());
        }
        prop_assert!(file::open("case", &bytes[..cut % bytes.len()]).is_err());
    }
}

#[test]
fn a_gesture_is_one_step_and_previews_replace_each_other() {
    let mut history = History::starting_at(with_left_foot());
    history.begin();
    for depth in [9.0, 10.0, 11.0] {
        let param = "cup_depth_mm".to_owned();
        history.preview(&Edit::SetSurface { side: Side::Left, param, value: Some(depth) }).unwrap();
    }
    assert!(history.committed().feet.left.as_ref().unwrap().surface.is_empty(), "autosave does not see a preview");
    history.commit();
    assert_eq!(left(history.case()).surface["cup_depth_mm"], 11.0);
    assert!(history.undo());
    assert_eq!(**history.case(), with_left_foot());
    assert!(!history.undo());
}

#[test]
fn a_gesture_without_change_or_cancelled_leaves_no_step() {
    let mut history = History::starting_at(with_left_foot());
    history.begin();
    history.commit();
    history.begin();
    history.preview(&Edit::SetTitle { title: "x".into() }).unwrap();
    history.cancel();
    assert_eq!((**history.case()).clone(), with_left_foot());
    assert_eq!(history.undo_label(), None);
}

#[test]
fn a_number_out_of_range_is_refused_with_the_range() {
    let mut history = History::starting_at(with_left_foot());
    let error = history
        .apply(&Edit::SetSurface { side: Side::Left, param: "cup_depth_mm".into(), value: Some(99.0) })
        .unwrap_err();
    assert!(matches!(error, EditError::OutOfRange { value: 99.0, .. }), "{error}");
    assert!(error.to_string().contains("99 mm") && error.to_string().contains("choose"), "{error}");
    for value in [f64::NAN, f64::INFINITY] {
        assert!(
            history
                .apply(&Edit::SetSurface { side: Side::Left, param: "cup_depth_mm".into(), value: Some(value) })
                .is_err()
        );
    }
    assert!(
        history.apply(&Edit::SetSurface { side: Side::Right, param: "cup_depth_mm".into(), value: Some(9.0) }).is_err()
    );
    assert!(history.apply(&Edit::SetSurface { side: Side::Left, param: "colour".into(), value: Some(9.0) }).is_err());
}

#[test]
fn edits_together_apply_whole_or_not_at_all() {
    let mut history = History::starting_at(with_left_foot());
    let fits = Edit::SetTitle { title: "half".into() };
    let fails = Edit::RemoveRegion { side: Side::Left, id: 9 };
    assert!(history.apply(&Edit::Together { label: "both".into(), edits: vec![fits, fails] }).is_err());
    assert_eq!(**history.case(), with_left_foot());
}

#[test]
fn another_unit_scales_pose_and_landmarks_alike() {
    let place = Edit::PlaceLandmark { side: Side::Left, landmark: LandmarkId::Pternion, at: [1.0, 2.0, 3.0] };
    let unit = Edit::SetUnit { side: Side::Left, unit: LengthUnit::Inch };
    let case = unit.applied_to(&place.applied_to(&with_left_foot()).unwrap()).unwrap();
    assert_eq!(left(&case).foot_from_scan[0], 25.4);
    for (found, expected) in left(&case).landmarks[&LandmarkId::Pternion].iter().zip([25.4, 50.8, 76.2]) {
        assert!((found - expected).abs() < 1e-12);
    }
}

#[test]
fn the_other_side_is_the_mirror_image_and_needs_a_free_place() {
    let mut history = History::starting_at(with_left_foot());
    history
        .apply(&Edit::PlaceLandmark { side: Side::Left, landmark: LandmarkId::ArchApex, at: [110.0, 30.0, 15.0] })
        .unwrap();
    history.apply(&Edit::SwitchSide { side: Side::Left }).unwrap();
    let moved = history.case().feet.right.clone().unwrap();
    assert!(history.case().feet.left.is_none());
    assert_eq!(moved.landmarks[&LandmarkId::ArchApex], [110.0, -30.0, 15.0]);
    assert_eq!(moved.foot_from_scan[5], -1.0);
    history.apply(&add_scan(b"other")).unwrap();
    let pair = history.case().clone();
    history.apply(&Edit::SwitchSide { side: Side::Left }).unwrap();
    let hashes = |case: &Case| case.feet.iter().map(|(_, foot)| foot.clone().unwrap().scan.hash).collect::<Vec<_>>();
    assert_eq!(hashes(history.case()), [content_hash(b"scan"), content_hash(b"other")]);
    history.apply(&Edit::SwitchSide { side: Side::Left }).unwrap();
    assert_eq!(history.case(), &pair, "mirrored twice is as before");
}

#[test]
fn a_second_scan_goes_with_its_foot() {
    let mut history = History::starting_at(with_left_foot());
    history.apply(&Edit::AddSecondScan { side: Side::Left, second: second(b"loaded") }).unwrap();
    history.apply(&Edit::SwitchSide { side: Side::Left }).unwrap();
    let moved = history.case().feet.right.clone().unwrap().second.unwrap();
    assert_eq!(moved.foot_from_scan[5], -1.0);
    assert_eq!(file::scans_of(history.case()).len(), 2);
    history.apply(&Edit::RemoveSecondScan { side: Side::Right }).unwrap();
    assert_eq!(file::scans_of(history.case()).len(), 1);
}

#[test]
fn steps_of_cleaning_can_be_left_out_and_done_again() {
    let mut history = History::starting_at(with_left_foot());
    let before = history.case().clone();
    let switch = |on| Edit::SwitchCleanStep { side: Side::Left, step: CleanStep::Holes, on };
    history.apply(&switch(false)).unwrap();
    assert!(!left(history.case()).preparation().does(CleanStep::Holes));
    history.apply(&switch(true)).unwrap();
    assert_eq!(history.case(), &before);
    let foam = |percent| Edit::SetFoamReturn { side: Side::Left, percent };
    assert!(matches!(history.apply(&foam(60.0)), Err(EditError::OutOfRange { .. })));
    history.apply(&foam(8.0)).unwrap();
    assert_eq!(left(history.case()).preparation().foam_return_percent, 8.0);
}

#[test]
fn a_new_scan_keeps_the_design() {
    let mut history = History::starting_at(with_left_foot());
    history.apply(&Edit::add_element(Side::Left, "metatarsal_pad", Params::new())).unwrap();
    history.apply(&Edit::SetSurface { side: Side::Left, param: "cup_depth_mm".into(), value: Some(15.0) }).unwrap();
    history.apply(&add_scan(b"new")).unwrap();
    history.apply(&Edit::SetUnit { side: Side::Left, unit: LengthUnit::Metre }).unwrap();
    let foot = left(history.case());
    assert_eq!((foot.elements.len(), foot.surface["cup_depth_mm"], foot.unit), (1, 15.0, LengthUnit::Metre));
}

#[test]
fn a_newer_file_is_refused_clearly_and_an_unknown_element_is_kept() {
    let newer = file::from_json("later.solewright", r#"{"solewright": 99, "case": {}}"#).unwrap_err().to_string();
    assert!(newer.contains("later.solewright") && newer.contains("version 99"), "{newer}");
    let mut json: serde_json::Value = serde_json::from_str(&file::to_json(&with_left_foot())).unwrap();
    let unknown = serde_json::json!({
        "id": 4, "kind": "spring", "on": true, "params": {"rate": 2.5}, "curve": [], "text": "", "twin": null
    });
    json["case"]["feet"]["left"]["elements"] = serde_json::json!([unknown]);
    let case = file::from_json("case", &json.to_string()).unwrap();
    assert_eq!(left(&case).elements[0].kind, "spring");
    let again: serde_json::Value = serde_json::from_str(&file::to_json(&case)).unwrap();
    assert_eq!(again["case"]["feet"]["left"]["elements"][0], unknown);
}

#[test]
fn a_file_that_is_no_case_says_so() {
    for bytes in [&b""[..], b"solid foot", &[0u8; 400]] {
        let error = file::open("x.solewright", bytes).unwrap_err().to_string();
        assert!(error.starts_with("x.solewright: not a case file"), "{error}");
    }
    let error = file::from_json("x", "{\n  \"solewright\": 1,\n  \"case\": 7}").unwrap_err().to_string();
    assert!(error.contains("line 3"), "{error}");
}

/// Both feet, a relief on the left one.
fn with_relief() -> Case {
    let mut case = with_left_foot();
    case.feet.right = case.feet.left.clone();
    added(&case, "relief")
}

fn added(case: &Case, kind: &str) -> Case {
    Edit::add_element(Side::Left, kind, Params::new()).applied_to(case).unwrap()
}

#[test]
fn twins_change_together_until_they_are_parted() {
    let side = Side::Left;
    let right = |case: &Case| case.feet.right.as_ref().unwrap().elements.clone();
    let apply = |edit: Edit, case: &Case| edit.applied_to(case).unwrap();
    let move_to =
        |x: f64| Edit::SetElement { side, id: 1, params: [("x_mm".to_owned(), x)].into(), curve: None, text: None };
    let case = apply(Edit::TwinElement { side, id: 1, on: true }, &with_relief());
    assert_eq!(right(&case)[0].params, left(&case).elements[0].params);
    let case = apply(move_to(171.0), &case);
    assert_eq!(right(&case)[0].params["x_mm"], 171.0);
    // From the other side too.
    let id = right(&case)[0].id;
    let case = apply(Edit::SwitchElement { side: Side::Right, id, on: false }, &case);
    assert!(!left(&case).elements[0].on);
    let parted = apply(move_to(90.0), &apply(Edit::TwinElement { side, id: 1, on: false }, &case));
    assert_eq!((right(&parted)[0].params["x_mm"], left(&parted).elements[0].params["x_mm"]), (171.0, 90.0));
    let gone = apply(Edit::RemoveElement { side, id: 1 }, &case);
    assert!(right(&gone).is_empty() && left(&gone).elements.is_empty());
    let mut alone = with_relief();
    alone.feet.right = None;
    assert!(Edit::TwinElement { side, id: 1, on: true }.applied_to(&alone).is_err());
}

#[test]
fn what_cannot_be_drawn_or_sculpted_is_refused() {
    let set = |kind: &str, curve: Vec<[f64; 2]>, text: &str| {
        let params = Params::new();
        let (curve, text) = (Some(curve), Some(text.to_owned()));
        let case = added(&with_left_foot(), kind);
        Edit::SetElement { side: Side::Left, id: 1, params, curve, text }.applied_to(&case).map(|_| ())
    };
    let triangle = vec![[150.0, 0.0], [170.0, 0.0], [160.0, 20.0]];
    assert_eq!(set("relief", triangle.clone(), ""), Ok(()));
    assert_eq!(set("metatarsal_pad", triangle, ""), Err(EditError::NotDrawn { what: "Metatarsal pad" }));
    assert_eq!(set("relief", vec![[1.0, 2.0]], ""), Err(EditError::TooFewPoints { points: 1 }));
    assert_eq!(set("relief", Vec::new(), &"x".repeat(41)), Err(EditError::LongText { most: 40 }));
    let tiles = vec![Tile { at: [3, 0], heights: vec![9; 7] }];
    let refused = Edit::Sculpt { side: Side::Left, tool: Tool::Raise, tiles }.applied_to(&with_left_foot());
    assert!(matches!(refused, Err(EditError::BadTile { .. })));
}

/// Version 4: elements drawn, twinned and written, what was sculpted, and the finished edge came in.
#[test]
fn the_fourth_version_opens_and_an_older_design_keeps_its_edges() {
    let case = file::from_json("v4.json", include_str!("v4.json")).unwrap();
    let foot = left(&case);
    assert_eq!((foot.elements[0].curve.len(), foot.elements[0].twin), (3, Some(1)));
    assert_eq!(foot.elements[1].text, "Walk 7");
    assert_eq!((foot.sculpt.on, foot.sculpt.tiles.len(), foot.sculpt.tiles[0].heights[9]), (true, 1, 125));
    assert!(foot.surface.is_empty(), "a design of this version has the edges of this version");
    let older = file::from_json("v3.json", include_str!("v3.json")).unwrap();
    let surface = &left(&older).surface;
    assert_eq!((surface["rim_rounding_mm"], surface["follow_last"]), (0.0, 0.0));
}

/// Version 3: what was decided about size, last, outline and shoe came in.
#[test]
fn the_third_version_opens() {
    let case = file::from_json("v3.json", include_str!("v3.json")).unwrap();
    assert_eq!(case.size_rule.as_deref(), Some("paris_15"));
    let foot = left(&case);
    assert_eq!((foot.length, foot.trim), (InsoleLength::Sulcus, Some(Trim { lateral_x: 171.0, medial_x: 203.5 })));
    assert_eq!((foot.size.clone().unwrap().value, foot.last_name.as_deref()), (265.0, Some("winter boot")));
    assert_eq!(foot.outline.as_ref().unwrap().len(), 4);
    assert_eq!(foot.shoe.insole.as_ref().unwrap().name, "insole.svg");
    assert_eq!((foot.shoe.let_over, foot.shoe.params["depth_toe_mm"]), (true, 34.0));
}

#[test]
fn an_outline_that_crosses_itself_is_refused_with_the_place() {
    let points = Some(vec![[0.0, 0.0], [200.0, 40.0], [200.0, -40.0], [0.0, 30.0]]);
    let error = Edit::SetOutline { side: Side::Left, points }.applied_to(&with_left_foot()).unwrap_err();
    assert!(error.to_string().contains("crosses itself at ("), "{error}");
}

/// Version 2: what was decided about a scan came in.
#[test]
fn the_second_version_opens() {
    let case = file::from_json("v2.json", include_str!("v2.json")).unwrap();
    assert_eq!((case.title.as_str(), case.weight_bearing), ("Second pair, autumn", Some(WeightBearing::None)));
    let foot = left(&case);
    assert_eq!((foot.kind, foot.cut_height_mm, foot.foam_return_percent), (ScanKind::Foot, 96.0, 4.0));
    assert!(!foot.preparation().does(CleanStep::Spikes) && foot.preparation().does(CleanStep::Holes));
    let second = foot.second.as_ref().unwrap();
    assert_eq!((second.state, second.navicular_height_mm), (WeightBearing::Full, Some(37.5)));
}

/// Version 1 as it was first released: every released version must open for good.
#[test]
fn the_first_version_opens() {
    let case = file::from_json("v1.json", include_str!("v1.json")).unwrap();
    assert_eq!(case.title, "Walking shoe, spring");
    assert_eq!(case.size, Some(Size { system: "paris".into(), value: 42.0 }));
    let foot = case.feet.right.as_ref().unwrap();
    assert_eq!((foot.elements.len(), foot.hardness.regions.len(), foot.landmarks.len()), (1, 1, 1));
}
