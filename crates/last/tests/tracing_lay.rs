//! Contours put anywhere, turned, mirrored and stretched, come back onto the foot.

#![allow(clippy::unwrap_used, reason = "a test may stop at what it did not expect")]

use base::Params;
use foot::{Landmark, LandmarkId, Landmarks};
use glam::{DVec2, DVec3};
use last::tracing::{TracingError, lay};
use last::{FootPlan, Outline, fit};
use proptest::prelude::*;
use std::f64::consts::TAU;

/// An outline of the family for a foot of this length.
fn outline(foot_mm: f64, numbers: &[(&str, f64)]) -> Outline {
    let tip = Landmark { at: DVec3::new(foot_mm, 10.0, 12.0), confidence: 1.0, by_hand: false };
    let landmarks = Landmarks::from([(LandmarkId::Akropodion, tip)]);
    let foot = FootPlan { silhouette: &[], landmarks: &landmarks };
    let params: Params = numbers.iter().map(|(id, value)| ((*id).to_owned(), *value)).collect();
    fit(&foot, foot_mm + 15.0, &params).unwrap().outline
}

/// Turned, shifted and perhaps mirrored as a file or a picture may have it.
fn moved(points: &[DVec2], mirrored: bool, turn: f64, shift: DVec2) -> Vec<DVec2> {
    let mirror = DVec2::new(1.0, if mirrored { -1.0 } else { 1.0 });
    points.iter().map(|p| DVec2::from_angle(turn).rotate(*p * mirror) + shift).collect()
}

/// Turn between two contours that run alike from the same start, radians, and the shift at the heel, mm.
fn between(laid: &[DVec2], truth: &[DVec2]) -> (f64, f64) {
    let long = |points: &[DVec2]| {
        let mean = points.iter().copied().sum::<DVec2>() / points.len() as f64;
        let rear = points.iter().copied().min_by(|a, b| a.x.total_cmp(&b.x)).unwrap();
        (mean, rear)
    };
    let ((mean, rear), (true_mean, true_rear)) = (long(laid), long(truth));
    let turn = (mean - rear).angle_to(true_mean - true_rear);
    (turn.abs(), (mean.distance(true_mean)).max(rear.x - true_rear.x))
}

/// Farthest that a laid contour lies from where it came from, mm.
fn apart(laid: &[DVec2], truth: &Outline) -> f64 {
    laid.iter().map(|p| truth.signed_distance_mm(*p).abs()).fold(0.0, f64::max)
}

#[test]
fn the_outline_itself_comes_back_and_can_be_edited() {
    let onto = outline(260.0, &[]);
    let fine = onto.polygon(0.1);
    assert!(fine.len() > 5000);
    for (mirrored, turn) in [(false, 0.0), (false, 2.0), (true, 4.0), (true, 5.9)] {
        let laid = lay(&moved(&fine, mirrored, turn, DVec2::new(3000.0, -40.0)), &onto).unwrap();
        assert_eq!(laid.mirrored, mirrored);
        assert!(apart(&laid.points, &onto) < 0.05 && laid.residual_mm.0 < 0.05, "{:?}", laid.residual_mm);
        assert!(laid.report.notes.is_empty(), "{:?}", laid.report);
        let back = moved(
            &moved(&fine, mirrored, turn, DVec2::new(3000.0, -40.0)),
            laid.mirrored,
            laid.turn_deg.to_radians(),
            laid.shift_mm,
        );
        assert!(back.iter().zip(&fine).all(|(a, b)| a.distance(*b) < 0.05));
        assert!(laid.turn_deg > -180.0 && laid.turn_deg <= 180.0);
        let (edited, off_mm) = Outline::following(&laid.points, 0.2).unwrap();
        assert!(off_mm <= 0.2 && edited.knots().len() <= 64, "{off_mm} {}", edited.knots().len());
        assert!((edited.area_mm2() / onto.area_mm2() - 1.0).abs() < 2e-3);
    }
}

/// Contours of thousands of points with steps of a pixel, as pictures give them, and of a few long edges.
#[test]
fn ragged_and_sparse_contours_can_be_followed() {
    let onto = outline(260.0, &[]);
    let ragged: Vec<DVec2> = onto.polygon(0.05).into_iter().map(|p| (p * 10.0).round() / 10.0).collect();
    let laid = lay(&ragged, &onto).unwrap();
    let (_, off_mm) = Outline::following(&laid.points, 0.3).unwrap();
    assert!(off_mm <= 0.3, "{off_mm}");
    let laid = lay(&onto.polygon(12.0), &onto).unwrap();
    assert!(Outline::following(&laid.points, 0.6).unwrap().1 <= 0.6);
}

#[test]
fn what_looks_the_same_from_both_sides_is_not_mirrored() {
    let onto = outline(260.0, &[]);
    let egg: Vec<DVec2> = (0..400)
        .map(|k| DVec2::from_angle(f64::from(k) / 400.0 * TAU))
        .map(|p| DVec2::new(136.0 + 136.0 * p.x, p.y * (38.0 + 9.0 * p.x)))
        .collect();
    let laid = lay(&moved(&egg, true, 2.5, DVec2::new(50.0, 70.0)), &onto).unwrap();
    assert!(!laid.mirrored);
    assert_eq!(laid.report.notes[0].code, "contour_side_unclear");
    // Its narrow end is the heel all the same.
    let width = |x: f64| {
        let near = laid.points.iter().filter(|p| (p.x - x).abs() < 3.0).map(|p| p.y);
        near.clone().fold(f64::MIN, f64::max) - near.fold(f64::MAX, f64::min)
    };
    assert!(width(60.0) < width(200.0));
}

/// A shoe's insole is longer than the outline in front of the ball only, and rounder there.
#[test]
fn a_longer_front_leaves_the_heel_in_place() {
    let onto = outline(255.0, &[("toe_allowance_mm", 8.0)]);
    let longer = outline(255.0, &[("toe_allowance_mm", 15.0), ("toe_shape", 0.8)]);
    for (mirrored, turn) in [(false, 1.0), (true, 3.0)] {
        let laid = lay(&moved(&longer.polygon(0.5), mirrored, turn, DVec2::new(9.0, -40.0)), &onto).unwrap();
        assert_eq!(laid.mirrored, mirrored);
        let (turn, shift) = between(&laid.points, &longer.polygon(1.0));
        assert!(turn.to_degrees() < 1.0 && shift < 1.5, "{} {shift}", turn.to_degrees());
        assert!(laid.residual_mm.0 > 5.0);
    }
}

#[test]
fn what_is_no_contour_is_refused() {
    let onto = outline(260.0, &[]);
    assert_eq!(lay(&[], &onto).unwrap_err(), TracingError::Contour);
    assert_eq!(lay(&[DVec2::ZERO; 50], &onto).unwrap_err(), TracingError::Contour);
    assert_eq!(lay(&[DVec2::ZERO, DVec2::NAN, DVec2::ONE], &onto).unwrap_err(), TracingError::Contour);
    let small: Vec<DVec2> = onto.polygon(1.0).iter().map(|p| *p * 0.1).collect();
    let error = lay(&small, &onto).unwrap_err();
    assert!(
        error.to_string().starts_with("the contour is 2") && error.to_string().ends_with(error.advice()),
        "{error}"
    );
    let _ = lay(&[DVec2::ZERO, DVec2::new(1e300, 0.0), DVec2::new(0.0, 1e300)], &onto).unwrap_err();
    // A line there and back has a direction, if no inside.
    let flat = lay(&[DVec2::ZERO, DVec2::new(250.0, 0.0), DVec2::new(125.0, 0.001)], &onto);
    assert!(flat.is_err() || flat.unwrap().points.iter().all(|p| p.is_finite()));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(120))]

    /// Longer or shorter along the foot, or larger and smaller as a whole.
    #[test]
    fn stretched_contours_come_back(
        foot_mm in 200.0..300.0,
        swing_deg in 4.0..12.0,
        toe_shape in 0.0..1.0,
        inner in 71.0..77.0,
        outer in 60.0..67.0,
        waist_offset_mm in -8.0..-1.0,
        ball_offset_mm in -7.0..0.0,
        ball in 0.35..0.41,
        length in 0.9..1.15,
        is_whole: bool,
        mirrored: bool,
        turn in 0.0..TAU,
        x in -500.0..500.0,
    ) {
        let onto = outline(foot_mm, &[
            ("swing_deg", swing_deg), ("toe_shape", toe_shape), ("inner_ball_percent", inner),
            ("outer_ball_percent", outer), ("waist_offset_mm", waist_offset_mm), ("ball_offset_mm", ball_offset_mm),
            ("ball_width_mm", ball * foot_mm),
        ]);
        let fine = onto.polygon(0.4);
        let rear = fine.iter().copied().min_by(|a, b| a.x.total_cmp(&b.x)).unwrap();
        let stretch = DVec2::new(length, if is_whole { length } else { 1.0 });
        let truth: Vec<DVec2> = fine.iter().map(|p| rear + (*p - rear) * stretch).collect();
        let laid = lay(&moved(&truth, mirrored, turn, DVec2::new(x, -x)), &onto).unwrap();
        prop_assert_eq!(laid.mirrored, mirrored);
        let truth = Outline::through(&truth.iter().copied().step_by(4).collect::<Vec<_>>()).unwrap();
        let (turn, shift) = between(&laid.points, &truth.polygon(1.0));
        prop_assert!(turn.to_degrees() < 1.0 && shift < 1.0, "{}° {shift} mm", turn.to_degrees());
        prop_assert!(apart(&laid.points, &truth) < 1.0, "{}", apart(&laid.points, &truth));
    }
}
