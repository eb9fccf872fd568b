//! Editing an outline by hand, its limit in a shoe, and its trim line.

use foot::{Landmark, LandmarkId, Landmarks};
use glam::{DVec2, DVec3};
use last::{
    ChangeError, InsoleLength, Keep, LIMIT_MM, Outline, OutlineChange, OutlineError, Trim, TrimError, changed, fit,
    limited, snapped, trimmed,
};
use proptest::prelude::*;

#[allow(clippy::unwrap_used)] // Lint settings know only test functions, not their helpers.
fn sole(foot_mm: f64, toe_shape: f64) -> Outline {
    let tip = Landmark { at: DVec3::new(foot_mm, 12.0, 12.0), confidence: 1.0, by_hand: false };
    let landmarks = Landmarks::from([(LandmarkId::Akropodion, tip)]);
    let foot = last::FootPlan { silhouette: &[], landmarks: &landmarks };
    let params = base::Params::from([("toe_shape".to_owned(), toe_shape)]);
    fit(&foot, foot_mm + 12.0, &params).unwrap().outline
}

fn any_change() -> impl Strategy<Value = (OutlineChange, Keep)> {
    let place = || (-10.0..285.0, -60.0..60.0).prop_map(|(x, y)| [x, y]);
    let change = prop_oneof![
        (0..22_usize, place()).prop_map(|(index, to)| OutlineChange::MoveKnot { index, to }),
        (place(), -25.0..25.0, -25.0..25.0, 5.0..120.0).prop_map(|(from, dx, dy, reach_mm)| OutlineChange::Pull {
            from,
            to: [from[0] + dx, from[1] + dy],
            reach_mm
        }),
        place().prop_map(|near| OutlineChange::AddKnot { near }),
        (0..24_usize).prop_map(|index| OutlineChange::RemoveKnot { index }),
        (0..22_usize, 0..22_usize).prop_map(|(from, to)| OutlineChange::Straighten { from, to }),
        (0..22_usize, 0..22_usize).prop_map(|(from, to)| OutlineChange::Smooth { from, to }),
        (5.0..260.0, 15.0..150.0).prop_map(|(x_mm, width_mm)| OutlineChange::Width { x_mm, width_mm }),
    ];
    (change, prop_oneof![Just(Keep::Nothing), Just(Keep::Area), Just(Keep::Width)])
}

/// Direction and curvature on both sides of every knot, and no crossing by a check of its own: all pairs of edges.
fn check(outline: &Outline) -> Result<(), TestCaseError> {
    let spline = outline.spline();
    let step = 1e-7;
    for index in 0..spline.knots().len() {
        let t = spline.parameter_of_knot(index);
        let bend = |t: f64| {
            let (d, dd) = (spline.derivative(t), spline.second_derivative(t));
            d.perp_dot(dd) / d.length().powi(3)
        };
        let (before, after) = (spline.derivative(t - step), spline.derivative(t + step));
        prop_assert!((before - after).length() <= 1e-4 * (1.0 + before.length()), "{before} {after}");
        if before.length() > 0.05 {
            prop_assert!((bend(t - step) - bend(t + step)).abs() <= 1e-3 * (1.0 + bend(t).abs()), "knot {index}");
        }
    }
    prop_assert!(outline.area_mm2() > 0.0);
    Ok(())
}

fn crosses(corners: &[DVec2]) -> bool {
    let edge = |i: usize| (corners[i], corners[(i + 1) % corners.len()]);
    let side = |p: DVec2, q: DVec2, r: DVec2| (q - p).perp_dot(r - p);
    (0..corners.len()).any(|i| {
        (i + 2..corners.len()).filter(|&j| (j + 1) % corners.len() != i).any(|j| {
            let ((a, b), (c, d)) = (edge(i), edge(j));
            side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
        })
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(10_000))]

    #[test]
    fn whatever_is_done_by_hand_the_outline_stays_simple_and_its_curvature_whole(
        foot_mm in 180.0..300.0,
        changes in proptest::collection::vec(any_change(), 4),
    ) {
        let mut outline = sole(foot_mm, 0.5);
        for (change, keep) in changes {
            let before = outline.clone();
            match changed(&outline, &change, keep) {
                Ok(next) => {
                    check(&next)?;
                    let adds = matches!(change, OutlineChange::AddKnot { .. } | OutlineChange::RemoveKnot { .. });
                    if keep == Keep::Area && !adds {
                        let off_mm = (next.area_mm2() - before.area_mm2()).abs() / next.length_mm();
                        prop_assert!(off_mm < 0.02, "{change:?}: {off_mm} mm all round");
                    }
                    outline = next;
                }
                Err(ChangeError::Outline(OutlineError::CrossesItself { x_mm, y_mm })) => {
                    prop_assert!(x_mm.is_finite() && y_mm.is_finite());
                }
                Err(error) => prop_assert!(error.to_string().len() > 20),
            }
        }
        prop_assert!(!crosses(&outline.polygon(2.0)), "crosses itself");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn kept_inside_a_shoe_the_outline_never_leaves_it_and_moves_only_where_it_would(
        toe_shape in 0.0..1.0,
        scale in 0.85..1.1,
        turn_deg in -6.0..6.0,
        shift in (-6.0..6.0, -6.0..6.0),
        clearance_mm in 0.0..3.0,
    ) {
        let (outline, other) = (sole(262.0, 0.5), sole(262.0, toe_shape));
        let turn = DVec2::from_angle(f64::to_radians(turn_deg));
        let laid = |p: &DVec2| turn.rotate(*p * scale) + DVec2::new(shift.0, shift.1);
        let shoe = Outline::through(&other.knots().iter().map(laid).collect::<Vec<_>>()).unwrap();
        let kept = limited(&outline, &shoe, clearance_mm).unwrap();
        for p in kept.outline.corners() {
            prop_assert!(shoe.signed_distance_mm(*p) + clearance_mm <= LIMIT_MM, "{p}");
        }
        if kept.moved_mm == 0.0 {
            prop_assert_eq!(&kept.outline, &outline);
        }
        // Where there was room, the edge is where it was: places well inside both lie inside what came.
        for p in outline.polygon(6.0) {
            let inside = p.lerp(DVec2::new(120.0, 0.0), 0.06);
            if shoe.signed_distance_mm(inside) < -clearance_mm - 2.0 && outline.signed_distance_mm(inside) < -1.5 {
                prop_assert!(kept.outline.signed_distance_mm(inside) < 0.0, "{inside} was cut off");
            }
        }
        check(&kept.outline)?;
    }

    #[test]
    fn a_trim_line_leaves_what_lies_behind_it(
        foot_mm in 180.0..300.0, lateral in 0.3..0.8, slant in -0.05..0.15,
    ) {
        let outline = sole(foot_mm, 0.5);
        let trim = Trim { lateral_x: lateral * foot_mm, medial_x: (lateral + slant) * foot_mm };
        let cut = trimmed(&outline, trim).unwrap();
        check(&cut.outline)?;
        let [a, b] = cut.ends;
        let behind = |p: DVec2| (b - a).perp_dot(p - a) / a.distance(b);
        for p in cut.outline.corners() {
            prop_assert!(behind(*p) > -0.6, "{p} lies {} mm before the line", -behind(*p));
            prop_assert!(outline.signed_distance_mm(*p) < 0.15, "{p} lies outside");
        }
        for p in outline.polygon(3.0).into_iter().filter(|p| behind(*p) > 22.0) {
            prop_assert!(cut.outline.signed_distance_mm(p).abs() < 0.1, "{p} was moved");
        }
        // The middle of the line is the front edge.
        prop_assert!(cut.outline.signed_distance_mm((a + b) / 2.0).abs() < 0.6);
    }
}

#[test]
fn lengths_go_by_the_metatarsal_heads() {
    let mark = |x: f64, y: f64| Landmark { at: DVec3::new(x, y, 10.0), confidence: 1.0, by_hand: false };
    let landmarks = Landmarks::from([
        (LandmarkId::MetatarsaleTibiale, mark(190.0, 40.0)),
        (LandmarkId::MetatarsaleFibulare, mark(160.0, -50.0)),
    ]);
    assert_eq!(InsoleLength::Full.trim(&landmarks, 260.0), None);
    let ends = |length: InsoleLength| length.trim(&landmarks, 260.0).unwrap();
    let (sulcus, quarter, heel) =
        (ends(InsoleLength::Sulcus), ends(InsoleLength::ThreeQuarter), ends(InsoleLength::Heel));
    assert!(sulcus.medial_x > 195.0 && sulcus.lateral_x > 165.0 && sulcus.medial_x < 225.0);
    assert!(quarter.medial_x < 185.0 && quarter.lateral_x < 155.0);
    assert!(heel.medial_x < quarter.lateral_x);
    // Without landmarks there is a line too.
    assert!(InsoleLength::ThreeQuarter.trim(&Landmarks::new(), 260.0).is_some());
}

#[test]
fn a_trim_line_beside_the_insole_is_refused_with_the_range() {
    let outline = sole(260.0, 0.5);
    for x in [-5.0, 20.0, 271.0, 400.0, f64::NAN] {
        let error = trimmed(&outline, Trim { lateral_x: x, medial_x: x }).unwrap_err();
        assert!(matches!(error, TrimError::Misses { .. }), "{x}: {error}");
    }
}

#[test]
fn a_width_is_the_one_asked_for_and_the_other_places_stay() {
    let outline = sole(260.0, 0.5);
    let width = |outline: &Outline, x: f64| {
        let (lateral, medial) = outline.width_at(x).unwrap();
        medial - lateral
    };
    let next = changed(&outline, &OutlineChange::Width { x_mm: 112.0, width_mm: 72.0 }, Keep::Nothing).unwrap();
    assert!((width(&next, 112.0) - 72.0).abs() < 0.01);
    assert!((width(&next, 215.0) - width(&outline, 215.0)).abs() < 0.5);
    let refused = changed(&outline, &OutlineChange::Width { x_mm: 112.0, width_mm: 300.0 }, Keep::Nothing);
    assert!(matches!(refused, Err(ChangeError::Width { .. })));
    let refused = changed(&outline, &OutlineChange::Width { x_mm: 300.0, width_mm: 70.0 }, Keep::Nothing);
    assert!(matches!(refused, Err(ChangeError::NoWidth { .. })));
}

#[test]
fn kept_width_stays_while_an_edge_is_pulled() {
    let outline = sole(260.0, 0.5);
    let (_, medial) = outline.width_at(105.0).unwrap();
    let pull = OutlineChange::Pull { from: [105.0, medial], to: [105.0, medial + 6.0], reach_mm: 50.0 };
    let width = |outline: &Outline| outline.width_at(105.0).map(|(lateral, medial)| medial - lateral).unwrap();
    let wider = changed(&outline, &pull, Keep::Nothing).unwrap();
    assert!((width(&wider) - width(&outline) - 6.0).abs() < 0.7, "{}", width(&wider));
    let kept = changed(&outline, &pull, Keep::Width).unwrap();
    assert!((width(&kept) - width(&outline)).abs() < 0.7, "{} {}", width(&kept), width(&outline));
}

#[test]
fn straight_is_straight_and_smooth_takes_a_dent_out() {
    let outline = sole(260.0, 0.5);
    let run = |outline: &Outline| {
        let knots = outline.knots().len();
        // The outer side from heel to ball.
        let at = |x: f64| {
            (0..knots)
                .filter(|&i| outline.knots()[i].y < -10.0)
                .min_by(|&a, &b| (outline.knots()[a].x - x).abs().total_cmp(&(outline.knots()[b].x - x).abs()))
        };
        (at(45.0).unwrap(), at(165.0).unwrap())
    };
    let (from, to) = run(&outline);
    let straight = changed(&outline, &OutlineChange::Straighten { from, to }, Keep::Nothing).unwrap();
    let (a, b) = (straight.knots()[from], straight.knots()[to]);
    let waist = straight.nearest((a + b) / 2.0);
    assert!(waist.distance_mm < 1.0, "{}", waist.distance_mm);

    let (dented, middle) = outline.with_knot_added(DVec2::new(105.0, -40.0)).unwrap();
    let (dented, _) = (dented.with_knot_moved(middle, dented.knots()[middle] + DVec2::new(0.0, 4.0)).unwrap(), middle);
    let bend = |outline: &Outline| {
        let spline = outline.spline();
        (0..400)
            .map(|i| spline.second_derivative(f64::from(i) / 400.0 * spline.period_mm()).length_squared())
            .sum::<f64>()
    };
    let (from, to) = run(&dented);
    let smooth = changed(&dented, &OutlineChange::Smooth { from, to }, Keep::Nothing).unwrap();
    assert!(bend(&smooth) < bend(&dented), "{} {}", bend(&smooth), bend(&dented));
}

#[test]
fn a_place_snaps_to_a_line_when_it_is_near() {
    let outline = sole(260.0, 0.5);
    let on = outline.at(100.0);
    assert!(snapped(&outline, on + DVec2::new(0.0, 1.0), 3.0).distance(on) < 1.01);
    assert_eq!(snapped(&outline, DVec2::new(130.0, 0.0), 3.0), DVec2::new(130.0, 0.0));
}
