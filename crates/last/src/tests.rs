//! The family over its whole range, and the fit on feet made up here.

use crate::family::{Extent, outline};
use crate::*;
use base::{Params, Severity, value_of};
use foot::{Landmark, LandmarkId, Landmarks};
use glam::{DVec2, DVec3};
use proptest::prelude::*;

fn any_params() -> impl Strategy<Value = Params> {
    proptest::collection::vec(0.0..=1.0, PARAMS.len()).prop_map(|shares| {
        let value =
            |(spec, share): (&base::ParamSpec, f64)| (spec.id.to_owned(), spec.min + share * (spec.max - spec.min));
        PARAMS.iter().zip(shares).map(value).collect()
    })
}

fn landmark(x: f64, y: f64) -> Landmark {
    Landmark { at: DVec3::new(x, y, 10.0), confidence: 1.0, by_hand: false }
}

/// Landmarks of a foot 260 mm long at the survey's mean proportions.
fn landmarks() -> Landmarks {
    Landmarks::from([
        (LandmarkId::Akropodion, landmark(260.0, 20.0)),
        (LandmarkId::SecondToeTip, landmark(258.0, 0.0)),
        (LandmarkId::MetatarsaleTibiale, landmark(193.0, 42.0)),
        (LandmarkId::MetatarsaleFibulare, landmark(163.0, -54.0)),
    ])
}

/// A member of the family as a foot: the fit must find it again, but for the waist, which it draws in.
fn foot_like(width_scale: f64, heel_offset_mm: f64) -> (Params, Vec<DVec2>) {
    let mut params = base::defaults(PARAMS);
    for (spec, width_mm) in [(BALL_WIDTH, 97.0), (WAIST_WIDTH, 68.0), (HEEL_WIDTH, 66.0)] {
        params.insert(spec.id.to_owned(), width_mm * width_scale);
    }
    params.insert(HEEL_OFFSET.id.to_owned(), heel_offset_mm);
    let extent = Extent { rear_x: 0.0, tip_x: 260.0, foot_mm: 260.0 };
    let polygon = outline(&params, extent).unwrap().polygon(1.0);
    (params, polygon)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    #[test]
    fn every_member_of_the_family_is_simple_and_has_the_widths_and_length_asked_for(
        params in any_params(),
        foot_mm in 110.0..340.0,
        room_mm in -15.0..30.0,
    ) {
        let extent = Extent { rear_x: -value_of(&params, &HEEL_MARGIN), tip_x: foot_mm + room_mm, foot_mm };
        // `Outline::through` refuses a curve that crosses itself.
        let outline = outline(&params, extent).unwrap();
        prop_assert!(outline.area_mm2() > 0.0);
        let (lo, hi) = outline.bounds();
        prop_assert!((lo.x - extent.rear_x).abs() < 0.1 && (hi.x - extent.tip_x).abs() < 0.1, "{lo} {hi} {extent:?}");
        // The heel, waist and ball points are knots, so that each width is between two knots.
        let apart = |spec: &base::ParamSpec| {
            let width = value_of(&params, spec);
            outline.knots().iter().any(|a| outline.knots().iter().any(|b| (a.y - b.y - width).abs() < 1e-9))
        };
        prop_assert!(apart(&BALL_WIDTH) && apart(&WAIST_WIDTH) && apart(&HEEL_WIDTH));
    }

    #[test]
    fn a_fit_finds_the_widths_of_a_foot_of_the_family(scale in 0.8..1.2, heel_offset_mm in -5.0..5.0) {
        let (params, silhouette) = foot_like(scale, heel_offset_mm);
        let mut given = Params::new();
        given.insert(SWING.id.to_owned(), value_of(&params, &SWING));
        let mut landmarks = landmarks();
        // The family's own ball stands at its default places, on the foot's outline.
        let ball = value_of(&params, &BALL_WIDTH);
        let offset = value_of(&params, &BALL_OFFSET);
        let (inner_x, outer_x) = (INNER_BALL.default * 2.6, OUTER_BALL.default * 2.6);
        landmarks.insert(LandmarkId::MetatarsaleTibiale, landmark(inner_x, offset + ball / 2.0));
        landmarks.insert(LandmarkId::MetatarsaleFibulare, landmark(outer_x, offset - ball / 2.0));
        let fitted = fit(&FootPlan { silhouette: &silhouette, landmarks: &landmarks }, 280.0, &given).unwrap();
        for spec in [&BALL_WIDTH, &HEEL_WIDTH] {
            let (found, truth) = (value_of(&fitted.params, spec), value_of(&params, spec));
            // The waist that is drawn in bends heel and ball a little.
            prop_assert!((found - truth).abs() < 2.0, "{} {found} for {truth}", spec.id);
        }
        prop_assert!((value_of(&fitted.params, &HEEL_OFFSET) - heel_offset_mm).abs() < 1.0);
        prop_assert!(value_of(&fitted.params, &WAIST_WIDTH) < value_of(&params, &WAIST_WIDTH));
        let (greatest, mean) = fitted.residual_mm.unwrap();
        prop_assert!(greatest < 3.0 && mean < 0.8, "{greatest} {mean}");
    }

    #[test]
    fn no_silhouette_makes_the_fit_panic_or_leave_the_ranges(
        points in proptest::collection::vec((-50.0..300.0, -80.0..80.0), 0..40),
        size_mm in 100.0..400.0,
    ) {
        let silhouette: Vec<DVec2> = points.into_iter().map(DVec2::from).collect();
        let fitted = fit(&FootPlan { silhouette: &silhouette, landmarks: &landmarks() }, size_mm, &Params::new()).unwrap();
        for spec in PARAMS {
            prop_assert!(spec.accepts(value_of(&fitted.params, spec)));
        }
        prop_assert!(fitted.length_mm <= size_mm + 1e-9);
    }
}

#[test]
fn without_silhouette_the_landmarks_and_the_proportions_decide_and_a_note_says_so() {
    let fitted = fit(&FootPlan { silhouette: &[], landmarks: &landmarks() }, 280.0, &Params::new()).unwrap();
    assert!((value_of(&fitted.params, &BALL_WIDTH) - 96.0).abs() < 1e-9);
    // Gordon et al. 2014, means of both sexes: heel breadth is 0.268 and 0.273 of the foot length.
    assert!((value_of(&fitted.params, &HEEL_WIDTH) / 260.0 - 0.270).abs() < 0.003);
    assert_eq!(fitted.residual_mm, None);
    assert_eq!(fitted.report.notes[0].code, "outline_without_silhouette");
    assert!((fitted.length_mm - 272.0).abs() < 1e-9 && (fitted.toe_room_mm - 12.0).abs() < 1e-9);
}

#[test]
fn nothing_known_but_the_size_still_gives_an_outline() {
    let fitted = fit(&FootPlan { silhouette: &[], landmarks: &Landmarks::new() }, 272.0, &Params::new()).unwrap();
    assert!((fitted.length_mm - 272.0).abs() < 1e-9);
    assert_eq!(fitted.report.notes.len(), 3);
}

#[test]
fn decided_numbers_stay_as_they_were_decided() {
    let (_, silhouette) = foot_like(1.0, 0.0);
    let decided: Params =
        [(BALL_WIDTH.id, 105.0), (SWING.id, 2.0), (TOE_SHAPE.id, 1.0)].map(|(k, v)| (k.to_owned(), v)).into();
    let fitted = fit(&FootPlan { silhouette: &silhouette, landmarks: &landmarks() }, 280.0, &decided).unwrap();
    for (id, value) in &decided {
        assert_eq!(fitted.params[id].to_bits(), value.to_bits(), "{id}");
    }
    assert_eq!(fitted.params.len(), PARAMS.len());
}

#[test]
fn a_bunion_does_not_pull_the_ball_over() {
    let (params, mut silhouette) = foot_like(1.0, 0.0);
    let plain = fit(&FootPlan { silhouette: &silhouette, landmarks: &landmarks() }, 280.0, &Params::new()).unwrap();
    for p in silhouette.iter_mut().filter(|p| (p.x - 185.0).abs() < 12.0 && p.y > 0.0) {
        p.y += 12.0;
    }
    let swollen = fit(&FootPlan { silhouette: &silhouette, landmarks: &landmarks() }, 280.0, &Params::new()).unwrap();
    let change = value_of(&swollen.params, &BALL_WIDTH) - value_of(&plain.params, &BALL_WIDTH);
    assert!(change.abs() < 4.0, "{change} of {}", value_of(&params, &BALL_WIDTH));
}

#[test]
fn a_last_too_short_for_the_foot_bounds_the_insole_and_is_reported() {
    let foot = FootPlan { silhouette: &foot_like(1.0, 0.0).1, landmarks: &landmarks() };
    let severity_for = |size_mm: f64| {
        let fitted = fit(&foot, size_mm, &Params::new()).unwrap();
        assert!((fitted.length_mm - size_mm.min(272.0)).abs() < 1e-9);
        fitted.report.notes.iter().find(|note| note.code == "toe_room_short").map(|note| note.severity)
    };
    assert_eq!(severity_for(275.0), None);
    assert_eq!(severity_for(271.0), None);
    assert_eq!(severity_for(266.0), Some(Severity::Check));
    assert_eq!(severity_for(255.0), Some(Severity::Stop));
}

#[test]
fn toes_beyond_the_edge_are_reported() {
    let (_, mut silhouette) = foot_like(1.0, 0.0);
    let codes = |silhouette: &[DVec2]| -> Vec<String> {
        let fitted = fit(&FootPlan { silhouette, landmarks: &landmarks() }, 280.0, &Params::new()).unwrap();
        fitted.report.notes.into_iter().map(|note| note.code).collect()
    };
    assert!(codes(&silhouette).is_empty());
    for p in silhouette.iter_mut().filter(|p| (p.x - 225.0).abs() < 8.0 && p.y < 0.0) {
        p.y -= 15.0;
    }
    assert_eq!(codes(&silhouette), ["toes_over_edge"]);
}

#[test]
fn a_number_out_of_its_range_is_refused_with_the_range() {
    let foot = FootPlan { silhouette: &[], landmarks: &landmarks() };
    for (spec, value) in PARAMS.iter().flat_map(|spec| [(spec, spec.max + 1.0), (spec, f64::NAN)]) {
        let params = Params::from([(spec.id.to_owned(), value)]);
        let error = fit(&foot, 280.0, &params).unwrap_err();
        assert!(matches!(error, FitError::OutOfRange { label, .. } if label == spec.label), "{error}");
    }
    for length in [f64::NAN, f64::INFINITY, 10.0, -3.0] {
        assert!(matches!(fit(&foot, length, &Params::new()), Err(FitError::Length { .. })));
    }
}

#[test]
fn a_fitted_outline_looks_like_an_insole() {
    let (_, silhouette) = foot_like(1.0, 0.0);
    let fitted = fit(&FootPlan { silhouette: &silhouette, landmarks: &landmarks() }, 280.0, &Params::new()).unwrap();
    let width = |x: f64| fitted.outline.width_at(x).map(|(outer, inner)| inner - outer).unwrap();
    let (lo, hi) = fitted.outline.bounds();
    let widest_x = (0..272).map(f64::from).max_by(|a, b| width(a + 0.5).total_cmp(&width(b + 0.5))).unwrap();
    assert!((163.0..193.0).contains(&widest_x), "widest between the two balls, not at {widest_x}");
    assert!(width(112.0) < width(44.0) + 6.0 && width(112.0) < 0.75 * width(widest_x), "a waist");
    // Hollow of either side against the straight line from heel to ball.
    let hollow = |side: fn((f64, f64)) -> f64, ball_x: f64| {
        let at = |x: f64| side(fitted.outline.width_at(x).unwrap());
        (at(44.0) + (at(ball_x) - at(44.0)) * (112.0 - 44.0) / (ball_x - 44.0) - at(112.0)).abs()
    };
    assert!(hollow(|w| w.1, 193.0) > 2.0 * hollow(|w| w.0, 163.0), "the inner waist is the hollower");
    let tip = fitted.outline.corners().iter().max_by(|a, b| a.x.total_cmp(&b.x)).unwrap();
    assert!(tip.y > (lo.y + hi.y) / 2.0 + 3.0, "the toe's tip lies to the medial side");
}
