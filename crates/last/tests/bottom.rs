//! The last's bottom: its heights in closed form, its gradient by differences, and that flat is exactly flat.

use base::Params;
use glam::DVec2;
use last::{
    BOTTOM_RADIUS, BottomPlan, FootPlan, HEEL_PITCH, JOINT_GIRTH, LastBottom, PARAMS, PROFILE, SEAT_DEPTH, TOE_SPRING,
    fit, joint_girth_mm,
};
use proptest::prelude::*;

#[allow(clippy::unwrap_used)] // Lint settings know only test functions, not their helpers.
fn plan() -> BottomPlan {
    let foot = FootPlan { silhouette: &[], landmarks: &foot::Landmarks::new() };
    BottomPlan::of(&fit(&foot, 272.0, &Params::new()).unwrap())
}

/// Pitch, spring, radius and seat depth, mm.
fn params(numbers: [f64; 4]) -> Params {
    [HEEL_PITCH, TOE_SPRING, BOTTOM_RADIUS, SEAT_DEPTH].iter().map(|spec| spec.id.to_owned()).zip(numbers).collect()
}

#[allow(clippy::unwrap_used)]
fn bottom(numbers: [f64; 4]) -> LastBottom {
    LastBottom::new(plan(), &params(numbers)).unwrap()
}

#[test]
fn the_plan_is_that_of_the_last() {
    let plan = plan();
    // A foot of 260 mm in a last with 12 mm before the toes.
    assert!(plan.rear_x.abs() < 1e-12 && (plan.tip_x - 272.0).abs() < 1e-9);
    assert!((plan.tread_x.0 - 0.63 * 260.0).abs() < 1e-9 && (plan.tread_x.1 - 0.74 * 260.0).abs() < 1e-9);
    let in_order = [plan.rear_x, plan.heel.x, plan.breast_x, plan.waist_x, plan.tread_x.0, plan.tread_x.1, plan.tip_x];
    assert!(in_order.is_sorted(), "{in_order:?}");
    assert!((plan.tread_point().x - 0.685 * 260.0).abs() < 1e-9);
}

#[test]
fn pitch_and_spring_are_reached_and_the_tread_is_flat() {
    let plan = plan();
    let bottom = bottom([20.0, 10.0, 0.0, 0.0]);
    let height = |x: f64| bottom.height(DVec2::new(x, 7.0));
    assert!((height(plan.heel.x) - 20.0).abs() < 1e-12 && (height(plan.rear_x) - 20.0).abs() < 1e-12);
    assert!((height((plan.breast_x + plan.tread_x.0) / 2.0) - 10.0).abs() < 1e-12, "half the pitch midway");
    // A quarter of the way the S of 3t² − 2t³ stands at 27/32.
    let quarter = plan.breast_x + (plan.tread_x.0 - plan.breast_x) / 4.0;
    assert!((height(quarter) - 20.0 * 27.0 / 32.0).abs() < 1e-12);
    for share in [0.0, 0.3, 0.5, 1.0] {
        let x = plan.tread_x.0 + (plan.tread_x.1 - plan.tread_x.0) * share;
        assert!(height(x).abs() < 1e-12 && bottom.gradient(DVec2::new(x, 0.0)).length() < 1e-12);
    }
    assert!((height(plan.tip_x) - 10.0).abs() < 1e-9);
    assert!((height((plan.tip_x + plan.tread_x.1) / 2.0) - 2.5).abs() < 1e-9);
}

/// The sagitta s of an arc over a chord c has the radius c²/(8 s) + s/2 (any book of formulas).
#[test]
fn the_forefoot_has_the_radius_asked_for() {
    let plan = plan();
    for radius in [60.0, 150.0, 400.0] {
        let bottom = bottom([0.0, 0.0, radius, 0.0]);
        for x in [plan.tread_x.0, plan.tread_point().x, plan.tread_x.1, plan.tip_x] {
            assert!(bottom.height(DVec2::new(x, plan.ball_y)).abs() < 1e-12);
            for side in [-1.0, 1.0] {
                let sagitta = bottom.height(DVec2::new(x, plan.ball_y + side * plan.half_ball));
                let chord = 2.0 * plan.half_ball;
                assert!((chord * chord / (8.0 * sagitta) + sagitta / 2.0 - radius).abs() < 1e-6, "{radius} {sagitta}");
                assert!(sagitta > 0.0, "the edges are up");
            }
        }
        assert!(bottom.height(DVec2::new(plan.waist_x, plan.ball_y + 30.0)).abs() < 1e-12, "flat from the waist back");
    }
}

#[test]
fn a_moulded_seat_is_deepest_at_its_centre() {
    let plan = plan();
    let bottom = bottom([15.0, 0.0, 0.0, 5.0]);
    let over = |x: f64, y: f64| bottom.height(plan.heel + DVec2::new(x, y)) - 15.0;
    assert!(over(0.0, 0.0).abs() < 1e-12);
    assert!((over(0.0, plan.half_heel) - 5.0).abs() < 1e-12 && (over(0.0, -plan.half_heel) - 5.0).abs() < 1e-12);
    assert!((over(plan.rear_x - plan.heel.x, 0.0) - 5.0).abs() < 1e-12);
    assert!((over(0.0, plan.half_heel / 2.0) - 1.25).abs() < 1e-12);
    let waist =
        bottom.height(DVec2::new(plan.waist_x, plan.heel.y + 25.0)) - bottom.height(DVec2::new(plan.waist_x, 0.0));
    assert!(waist.abs() < 1e-12, "none left at the waist");
}

#[test]
fn without_numbers_the_bottom_is_exactly_flat() {
    for flat in [LastBottom::new(plan(), &Params::new()).unwrap(), bottom([0.0; 4])] {
        assert!(flat.is_flat());
        for x in -20..300 {
            for y in -70..70 {
                let p = DVec2::new(f64::from(x), f64::from(y));
                assert_eq!(flat.height(p).to_bits(), 0.0_f64.to_bits());
                assert_eq!(flat.gradient(p), DVec2::ZERO);
            }
        }
    }
    // The joint girth does not bend the bottom.
    let girth = Params::from([(JOINT_GIRTH.id.to_owned(), 260.0)]);
    assert!(LastBottom::new(plan(), &girth).unwrap().is_flat());
    assert_eq!((joint_girth_mm(&girth), joint_girth_mm(&Params::new())), (Some(260.0), None));
}

#[test]
fn a_number_out_of_its_range_is_refused_with_the_range() {
    for spec in PROFILE {
        for value in [spec.max + 1.0, -1.0, f64::NAN] {
            let error = LastBottom::new(plan(), &Params::from([(spec.id.to_owned(), value)])).unwrap_err();
            assert_eq!(error.label, spec.label);
        }
    }
    let error = LastBottom::new(plan(), &params([0.0, 0.0, 30.0, 0.0])).unwrap_err();
    assert_eq!(error.to_string(), "Bottom radius cannot be 30 mm: it goes from 60 to 400, or 0 for a flat bottom");
}

#[test]
fn every_number_is_complete() {
    for spec in PARAMS.iter().chain(PROFILE) {
        assert_eq!(PARAMS.iter().chain(PROFILE).filter(|other| other.id == spec.id).count(), 1, "{}", spec.id);
        assert!(spec.accepts(spec.default) && spec.step > 0.0 && !spec.help.is_empty());
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Every seam, and points between: the gradient is the slope of the heights, and neither leaps.
    #[test]
    fn height_and_gradient_go_on_everywhere(
        pitch in 0.0..80.0, spring in 0.0..30.0, radius in 60.0..400.0, seat in 0.0..8.0,
        x in -30.0..310.0, y in -90.0..90.0, seam in 0..9,
    ) {
        let bottom = bottom([pitch, spring, radius, seat]);
        let plan = bottom.plan();
        let seams = [
            plan.heel.x, plan.breast_x, plan.waist_x, plan.tread_x.0, plan.tread_x.1, plan.tip_x, plan.rear_x, x, x,
        ];
        for p in [
            DVec2::new(seams[seam as usize], y),
            DVec2::new(x, plan.ball_y + 0.9 * radius),
            DVec2::new(plan.heel.x, plan.heel.y + plan.half_heel),
        ] {
            let height = bottom.height(p);
            prop_assert!(height.is_finite() && height >= -1e-12);
            let step = 1e-4;
            for axis in [DVec2::X, DVec2::Y] {
                let [before, after] = [p - axis * step, p + axis * step];
                let slope = (bottom.height(after) - bottom.height(before)) / (2.0 * step);
                prop_assert!((slope - bottom.gradient(p).dot(axis)).abs() < 1e-3, "{} {} {}", p, slope, bottom.gradient(p));
                prop_assert!(bottom.gradient(before).distance(bottom.gradient(after)) < 1e-3, "{}", p);
            }
        }
    }

    #[test]
    fn the_shank_only_falls_and_the_toe_only_rises(pitch in 1.0..80.0, spring in 1.0..30.0, x in 0.0..271.0) {
        let bottom = bottom([pitch, spring, 0.0, 0.0]);
        let slope = bottom.gradient(DVec2::new(x, 0.0)).x;
        let behind = x < bottom.plan().tread_point().x;
        prop_assert!(behind && slope <= 0.0 || !behind && slope >= 0.0);
    }
}
