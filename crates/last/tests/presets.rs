//! Presets: each makes a last for every foot, and own ones come back from their files or are refused with the reason.

use base::{Params, value_of};
use foot::{Landmark, LandmarkId, Landmarks};
use glam::{DVec2, DVec3};
use last::rules::AT_RISK_ALLOWANCE;
use last::{
    BottomPlan, FootPlan, LastBottom, PARAMS, PRESETS, PROFILE, PresetError, PresetFile, TOE_ALLOWANCE, TOE_SHAPES,
    check, fit, param, preset,
};
use proptest::prelude::*;

/// A foot at the mean proportions of a survey, with toes to 260 mm, scaled.
#[allow(clippy::unwrap_used)] // Lint settings know only test functions, not their helpers.
fn foot_of(foot_mm: f64) -> (Vec<DVec2>, Landmarks) {
    let scale = foot_mm / 260.0;
    let at = |x: f64, y: f64| Landmark { at: DVec3::new(x, y, 10.0) * scale, confidence: 1.0, by_hand: false };
    let landmarks = Landmarks::from([
        (LandmarkId::Akropodion, at(260.0, 20.0)),
        (LandmarkId::SecondToeTip, at(258.0, 0.0)),
        (LandmarkId::MetatarsaleTibiale, at(193.0, 42.0)),
        (LandmarkId::MetatarsaleFibulare, at(163.0, -54.0)),
    ]);
    // Its outline is a last's without room before the toes.
    let bare = Params::from([(TOE_ALLOWANCE.id.to_owned(), 0.0)]);
    let plan = FootPlan { silhouette: &[], landmarks: &landmarks };
    (fit(&plan, foot_mm, &bare).unwrap().outline.polygon(1.0), landmarks)
}

/// The numbers for the plan and for the profile.
fn parted(params: &Params) -> (Params, Params) {
    params.clone().into_iter().partition(|(id, _)| PARAMS.iter().any(|spec| spec.id == id))
}

#[test]
fn every_preset_is_complete_and_in_range() {
    for own in PRESETS {
        assert_eq!(PRESETS.iter().filter(|other| other.id == own.id).count(), 1, "{}", own.id);
        assert_eq!(preset(own.id), Some(own));
        assert!(!own.label.is_empty() && !own.purpose.is_empty() && !own.source.text.is_empty());
        assert!(TOE_SHAPES.iter().any(|shape| shape.id == own.toe), "{}", own.toe);
        let params = own.params();
        assert_eq!(params.len(), 4 + own.numbers.len(), "{}: a number twice", own.id);
        for (id, value) in &params {
            check(param(id).unwrap(), *value).unwrap();
        }
        // Style only: what is fitted to the foot stays fitted.
        assert!(!params.keys().any(|id| ["width", "offset", "swing", "ball", "girth"].iter().any(|w| id.contains(w))));
    }
}

/// Narrative review, J Foot Ankle Res 2020, 10.1186/s13047-020-00439-3: toe allowance of at least 10 to 16 and at most 15 to
/// 20 mm.
#[test]
fn presets_keep_the_published_allowance_or_say_that_they_cannot() {
    for own in PRESETS {
        let allowance_mm = value_of(&own.params(), &TOE_ALLOWANCE);
        let within = allowance_mm >= AT_RISK_ALLOWANCE.minimum_mm.0 && allowance_mm <= AT_RISK_ALLOWANCE.maximum_mm.1;
        assert!(within || own.caution.is_some_and(|text| text.contains("without feeling")), "{}", own.id);
    }
}

#[test]
fn every_preset_fits_feet_from_a_childs_to_the_longest() {
    for own in PRESETS {
        let (in_plan, in_profile) = parted(&own.params());
        for foot_mm in (150..=310).step_by(20).map(f64::from) {
            let (silhouette, landmarks) = foot_of(foot_mm);
            let foot = FootPlan { silhouette: &silhouette, landmarks: &landmarks };
            // `fit` refuses a curve that crosses itself.
            let fitted = fit(&foot, foot_mm + 40.0, &in_plan).unwrap_or_else(|error| panic!("{} {error}", own.id));
            let allowance_mm = value_of(&in_plan, &TOE_ALLOWANCE);
            assert!((fitted.toe_room_mm - allowance_mm).abs() < 1e-9 && fitted.outline.area_mm2() > 0.0);
            let (greatest_mm, mean_mm) = fitted.residual_mm.unwrap();
            assert!(greatest_mm < 5.0 && mean_mm < 1.5, "{} {foot_mm}: {greatest_mm:.2} {mean_mm:.2}", own.id);
            let bottom = LastBottom::new(BottomPlan::of(&fitted), &in_profile).unwrap();
            let steepest = fitted.outline.corners().iter().map(|&p| bottom.gradient(p).length()).fold(0.0, f64::max);
            // A heel for adults is no heel for a child's foot.
            let is_meant = if own.id == "child" { foot_mm <= 240.0 } else { foot_mm >= 210.0 };
            assert!(steepest < 1.0 || !is_meant, "{} {foot_mm}: as steep as 45° somewhere: {steepest:.2}", own.id);
        }
    }
}

#[test]
fn a_preset_comes_back_from_its_file() {
    for own in PRESETS {
        let file = PresetFile::from(own);
        let text = file.to_json().unwrap();
        assert!(text.starts_with("{\n  \"solewright_last\": 1"));
        assert_eq!(PresetFile::from_json("x", &text).unwrap(), file);
        assert_eq!(file.params, own.params());
    }
    let bare = r#"{"solewright_last": 1, "name": "Mine", "params": {}}"#;
    assert_eq!(PresetFile::from_json("mine", bare).unwrap(), PresetFile::new("Mine", "", Params::new()));
}

fn refused(text: &str) -> String {
    PresetFile::from_json("mine.last.json", text).map_or_else(|error| error.to_string(), |_| "accepted".to_owned())
}

#[test]
fn bad_files_are_refused_with_place_and_reason() {
    let with = |params: &str| refused(&format!(r#"{{"solewright_last": 1, "name": "Mine", "params": {params}}}"#));
    for (error, has) in [
        (refused(""), "line 1, column 0: EOF while parsing a value"),
        (refused("PK\u{3}\u{4}"), "not a last preset: line 1, column 1"),
        (refused("[]"), "not a last preset"),
        (refused(r#"{"name": "Mine", "params": {}}"#), "missing field `solewright_last`"),
        (refused(r#"{"solewright_last": 2, "shape": "later"}"#), "saved in version 2"),
        (refused(r#"{"solewright_last": -1}"#), "not a last preset"),
        (refused(r#"{"solewright_last": 1, "params": {}}"#), "missing field `name`"),
        (refused(r#"{"solewright_last": 1, "name": " ", "params": {}}"#), "needs a name of 1 to 80 letters"),
        (refused(r#"{"solewright_last": 1, "name": "Mine", "params": {}, "width": 3}"#), "unknown field `width`"),
        (refused(r#"{"solewright_last": 1, "name": "Mine"}"#), "missing field `params`"),
        (with("[12]"), "expected numbers by id"),
        (with(r#"{"toe_spring_mm": "10"}"#), "invalid type: string"),
        (with(r#"{"toe_spring_mm": null}"#), "invalid type: null"),
        (with(r#"{"toe_spring_mm": 1e999}"#), "number out of range"),
        (with(r#"{"toe_spring_mm": 10, "toe_spring_mm": 12}"#), "`toe_spring_mm` is given twice"),
        (with(r#"{"toe_spring_mm": 31}"#), "Toe spring cannot be 31 mm: it goes from 0 to 30"),
        (with(r#"{"bottom_radius_mm": 59}"#), "Bottom radius cannot be 59 mm: it goes from 60 to 400, or 0"),
        (with(r#"{"instep_girth_mm": 250}"#), "a last has no number `instep_girth_mm`"),
        (with(r#"{"instep_girth_mm": 250}"#), "toe_allowance_mm"),
    ] {
        assert!(error.starts_with("mine.last.json: ") && error.contains(has), "{error}\nhas not: {has}");
    }
    let long = "n".repeat(81);
    let error = PresetFile::new(long, "", Params::new()).to_json().unwrap_err();
    assert!(matches!(error, PresetError::Name { .. }));
    let error = PresetFile::new("Mine", "", Params::from([("swing_deg".to_owned(), f64::NAN)])).to_json().unwrap_err();
    assert!(matches!(error, PresetError::OutOfRange { .. }), "{error}");
}

proptest! {
    #[test]
    fn any_numbers_in_range_come_back_to_the_last_bit(
        shares in proptest::collection::vec(proptest::option::of(0.0..=1.0), PARAMS.len() + PROFILE.len()),
        name in "\\PC{1,80}", note in any::<String>(),
    ) {
        let specs = PARAMS.iter().chain(PROFILE);
        let params: Params = specs.zip(shares).filter_map(|(spec, share)| {
            let share: f64 = share?;
            let value = spec.min + share * (spec.max - spec.min);
            check(spec, value).is_ok().then(|| (spec.id.to_owned(), value))
        }).collect();
        prop_assume!(!name.trim().is_empty());
        let file = PresetFile::new(name, note, params);
        prop_assert_eq!(PresetFile::from_json("x", &file.to_json().unwrap()).unwrap(), file);
    }

    #[test]
    fn no_text_makes_the_reader_panic(text in any::<String>(), at in 0usize..400, byte in any::<char>()) {
        let _ = PresetFile::from_json("x", &text);
        let mut whole: Vec<char> = PresetFile::from(&PRESETS[0]).to_json().unwrap_or_default().chars().collect();
        let at = at % whole.len();
        whole[at] = byte;
        let changed: String = whole.into_iter().collect();
        if let Ok(file) = PresetFile::from_json("x", &changed) {
            prop_assert!(file.to_json().is_ok());
        }
    }
}
