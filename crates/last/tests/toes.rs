//! Toe shapes: what each name gives, and that no numbers make the outline cross itself.

use base::{ParamSpec, Params, value_of};
use foot::{Landmark, LandmarkId, Landmarks};
use glam::DVec3;
use last::{Fitted, FootPlan, HEEL_MARGIN, PARAMS, TOE_ALLOWANCE, TOE_SHAPES, fit, toe_shape};
use proptest::prelude::*;

/// Landmarks of a foot at mean proportions.
fn landmarks(foot_mm: f64) -> Landmarks {
    let at =
        |x: f64, y: f64| Landmark { at: DVec3::new(x, y, 10.0) * (foot_mm / 260.0), confidence: 1.0, by_hand: false };
    Landmarks::from([
        (LandmarkId::Akropodion, at(260.0, 20.0)),
        (LandmarkId::SecondToeTip, at(258.0, 0.0)),
        (LandmarkId::MetatarsaleTibiale, at(193.0, 42.0)),
        (LandmarkId::MetatarsaleFibulare, at(163.0, -54.0)),
    ])
}

#[allow(clippy::unwrap_used)] // Lint settings know only test functions, not their helpers.
fn fitted(params: &Params, foot_mm: f64) -> Fitted {
    fit(&FootPlan { silhouette: &[], landmarks: &landmarks(foot_mm) }, foot_mm + 40.0, params).unwrap()
}

/// Breadth at a share of the length of the named shape, for a foot of 260 mm, and its middle.
#[allow(clippy::unwrap_used)]
fn breadth(shape: &str, share: f64) -> (f64, f64) {
    let fitted = fitted(&toe_shape(shape).unwrap().params(), 260.0);
    let (lo, hi) = fitted.outline.bounds();
    let (outer, inner) = fitted.outline.width_at(lo.x + (hi.x - lo.x) * share).unwrap();
    (inner - outer, (inner + outer) / 2.0)
}

#[test]
fn each_name_gives_what_it_says() {
    let in_order = |share: f64, names: &[&str]| {
        let breadths: Vec<f64> = names.iter().map(|name| breadth(name, share).0).collect();
        assert!(breadths.windows(2).all(|pair| pair[0] + 1.0 < pair[1]), "{share}: {names:?} {breadths:?}");
    };
    in_order(0.97, &["pointed", "almond", "round", "square"]);
    in_order(0.90, &["pointed", "almond", "round", "square"]);
    assert!(breadth("pointed", 0.98).0 < 0.45 * breadth("round", 0.98).0);
    assert!(breadth("deep", 0.92).0 > breadth("round", 0.92).0 + 6.0, "room for bent toes");
    let edges = |(breadth, middle): (f64, f64)| (middle - breadth / 2.0, middle + breadth / 2.0);
    let (oblique, round) = (edges(breadth("oblique", 0.92)), edges(breadth("round", 0.92)));
    assert!(oblique.0 > round.0 + 1.0, "slants to the little toe");
    assert!(oblique.1 > round.1 + 1.0, "and is full before the great toe");
    assert_eq!(toe_shape("pear"), None);
}

#[test]
fn every_toe_shape_is_complete() {
    for shape in TOE_SHAPES {
        assert_eq!(TOE_SHAPES.iter().filter(|other| other.id == shape.id).count(), 1);
        for (id, value) in shape.params() {
            let spec = PARAMS.iter().find(|spec| spec.id == id).unwrap();
            assert!(spec.accepts(value), "{} {id} {value}", shape.id);
        }
    }
    // The first is what a last has before anything is chosen.
    let fresh = base::defaults(PARAMS);
    assert!(TOE_SHAPES[0].params().iter().all(|(id, value)| fresh[id].to_bits() == value.to_bits()));
}

/// A waist four times as broad as heel and ball beside it: the curve through the knots alone swings into a loop there.
#[test]
fn widths_that_leap_give_no_loop() {
    let params: Params = [
        ("ball_offset_mm", 20.0),
        ("ball_width_mm", 45.0),
        ("heel_margin_mm", -10.0),
        ("heel_offset_mm", 20.0),
        ("heel_width_mm", 30.0),
        ("inner_ball_percent", 66.0),
        ("outer_ball_percent", 55.0),
        ("swing_deg", -15.0),
        ("toe_allowance_mm", 0.0),
        ("toe_shape", 0.0),
        ("waist_offset_mm", -20.0),
        ("waist_width_mm", 120.0),
    ]
    .map(|(id, value)| (id.to_owned(), value))
    .into();
    assert!(fitted(&params, 110.0).outline.area_mm2() > 0.0);
}

/// Any numbers in range; half of them at an end of theirs, where trouble lives.
fn any_params() -> impl Strategy<Value = Params> {
    let share = prop_oneof![0.0..=1.0, Just(0.0), Just(1.0)];
    proptest::collection::vec(share, PARAMS.len()).prop_map(|shares| {
        let value = |(spec, share): (&ParamSpec, f64)| (spec.id.to_owned(), spec.min + share * (spec.max - spec.min));
        PARAMS.iter().zip(shares).map(value).collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(800))]

    #[test]
    fn no_numbers_make_the_outline_cross_itself(params in any_params(), foot_mm in 110.0..340.0) {
        let fitted = fit(&FootPlan { silhouette: &[], landmarks: &landmarks(foot_mm) }, foot_mm + 60.0, &params);
        let fitted = fitted.map_err(|error| TestCaseError::fail(format!("{error}: {params:?}")))?;
        let (lo, hi) = fitted.outline.bounds();
        prop_assert!((lo.x + value_of(&params, &HEEL_MARGIN)).abs() < 0.1);
        prop_assert!((hi.x - foot_mm - value_of(&params, &TOE_ALLOWANCE)).abs() < 0.1, "{} {params:?}", hi.x);
        prop_assert_eq!(&fitted.params, &params);
    }
}
