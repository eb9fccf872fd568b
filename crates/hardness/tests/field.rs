//! The hardness field of whole plans: range, order, smoothness, sampling, and the curves people really draw.

use glam::DVec2;
use hardness::{HardnessField, HardnessPlan, Region, SHORE_A, TRANSITION};
use mesh::Grid;
use proptest::prelude::*;
use std::f64::consts::{PI, TAU};

fn region(id: u32, points: &[[f64; 2]], shore_a: f64, transition_mm: f64) -> Region {
    Region { id, name: format!("Region {id}"), points: points.to_vec(), shore_a, transition_mm, on: true }
}

fn disc(centre: [f64; 2], radius: f64) -> Vec<[f64; 2]> {
    (0..24).map(|i| (DVec2::from(centre) + DVec2::from_angle(f64::from(i) / 24.0 * TAU) * radius).to_array()).collect()
}

fn plan(base_shore_a: f64, regions: Vec<Region>) -> HardnessPlan {
    HardnessPlan { base_shore_a, regions }
}

/// Any points at all: most of these curves cross themselves, often several times.
fn any_region() -> impl Strategy<Value = Region> {
    let points = proptest::collection::vec(proptest::array::uniform2(-30.0..30.0), 3..9);
    (points, SHORE_A.min..SHORE_A.max, TRANSITION.min..TRANSITION.max, proptest::bool::weighted(0.9))
        .prop_map(|(points, shore_a, transition_mm, on)| Region { on, ..region(0, &points, shore_a, transition_mm) })
}

fn any_plan() -> impl Strategy<Value = HardnessPlan> {
    (SHORE_A.min..SHORE_A.max, proptest::collection::vec(any_region(), 0..6)).prop_map(|(base, mut regions)| {
        // Half of them nested in or doubled on the first: the same curve, shrunk or not.
        for index in 1..regions.len() {
            regions[index].id = index as u32;
            if index % 2 == 1 {
                let shrink = [1.0, 0.7, 0.3][index % 3];
                regions[index].points = regions[0].points.iter().map(|[x, y]| [x * shrink, y * shrink]).collect();
            }
        }
        plan(base, regions)
    })
}

fn template(step_mm: f64) -> Grid {
    Grid::over(DVec2::splat(-60.0), DVec2::splat(60.0), step_mm)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3000))]

    #[test]
    fn the_field_keeps_its_range_and_has_no_kink(
        plan in any_plan(), x in -45.0..45.0, y in -45.0..45.0, angle in 0.0..TAU,
    ) {
        let field = HardnessField::new(&plan);
        let inputs = || plan.regions.iter().filter(|r| r.on).map(|r| r.shore_a).chain([plan.base_shore_a]);
        let (least, most) = (inputs().fold(f64::INFINITY, f64::min), inputs().fold(0.0, f64::max));
        let (p, way, step) = (DVec2::new(x, y), DVec2::from_angle(angle), 1e-5);
        let (value, gradient) = field.value_and_gradient(p);
        prop_assert!(value >= least && value <= most, "{value} not in {least}…{most}");
        let ((ahead, slope_ahead), (behind, slope_behind)) =
            (field.value_and_gradient(p + way * step), field.value_and_gradient(p - way * step));
        prop_assert!(((ahead - behind) / (2.0 * step) - gradient.dot(way)).abs() < 1e-4);
        // Each region bends the field by at most its step times 24/R², plus twice the product of its slope with that
        // under it; R is at least 1 mm. A kink would be larger by orders.
        let bound = 5.0 * 80.0 * (24.0 + 2.0 * 5.0) * 2.0 * step;
        prop_assert!((slope_ahead - slope_behind).length() < bound);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(80))]

    #[test]
    fn samples_are_the_values(plan in any_plan(), step_mm in 1.5..4.0) {
        let field = HardnessField::new(&plan);
        let template = template(step_mm);
        let (values, slopes) = field.sample_with_slope(&template);
        prop_assert_eq!(&field.sample(&template).values, &values.values);
        for row in 0..template.rows {
            for column in 0..template.columns {
                let (value, gradient) = field.value_and_gradient(template.at(column, row));
                prop_assert!((f64::from(values.get(column, row)) - value).abs() < 1e-5, "{column} {row}");
                prop_assert!((f64::from(slopes.get(column, row)) - gradient.length()).abs() < 1e-4);
            }
        }
    }

    #[test]
    fn the_steepest_place_is_as_steep_as_a_dense_search_finds(plan in any_plan()) {
        let field = HardnessField::new(&plan);
        let outline: Vec<DVec2> = disc([0.0, 0.0], 28.0).into_iter().map(DVec2::from).collect();
        let steepest = field.steepest(&outline);
        prop_assert!((field.value_and_gradient(steepest.at).1.length() - steepest.shore_a_per_mm).abs() < 1e-9);
        prop_assert!(steepest.at.length() <= 28.0 + 1e-6);
        let slopes = field.sample_with_slope(&template(0.25)).1;
        let mut dense: f32 = 0.0;
        for row in 0..slopes.rows {
            for column in 0..slopes.columns {
                // A little inside, where the outline's polygon surely is.
                if slopes.at(column, row).length() < 27.7 {
                    dense = dense.max(slopes.get(column, row));
                }
            }
        }
        prop_assert!(steepest.shore_a_per_mm >= 0.97 * f64::from(dense), "{steepest:?} {dense}");
    }
}

#[test]
fn a_region_decides_alone_inside_and_changes_nothing_outside() {
    let field = HardnessField::new(&plan(35.0, vec![region(1, &disc([10.0, 5.0], 20.0), 60.0, 10.0)]));
    assert_eq!(field.value(DVec2::new(10.0, 5.0)).to_bits(), 60.0_f64.to_bits());
    assert_eq!(field.value(DVec2::new(10.0 + 14.5, 5.0)).to_bits(), 60.0_f64.to_bits());
    assert_eq!(field.value(DVec2::new(10.0 + 25.1, 5.0)).to_bits(), 35.0_f64.to_bits());
    // The convolution of a disc much larger than R: half way a little outside its edge's mean, within the curvature term.
    let on_edge = field.value(DVec2::new(30.0, 5.0));
    assert!((on_edge - 47.5).abs() < 25.0 * 5.0 / 20.0 / 4.0, "{on_edge}");
}

#[test]
fn the_later_region_lies_over_the_earlier_one() {
    let small = region(1, &disc([0.0, 0.0], 10.0), 70.0, 4.0);
    let large = region(2, &disc([0.0, 0.0], 25.0), 20.0, 4.0);
    let at_centre = |regions| HardnessField::new(&plan(40.0, regions)).value(DVec2::ZERO);
    assert!((at_centre(vec![large.clone(), small.clone()]) - 70.0).abs() < 1e-12);
    assert!((at_centre(vec![small.clone(), large.clone()]) - 20.0).abs() < 1e-12);
    let off = Region { on: false, ..large };
    assert!((at_centre(vec![small, off]) - 70.0).abs() < 1e-12);
}

#[test]
fn a_region_of_the_hardness_under_it_changes_nothing() {
    let field = HardnessField::new(&plan(35.0, vec![region(1, &disc([0.0, 0.0], 10.0), 35.0, 10.0)]));
    for i in 0..200 {
        let (value, gradient) = field.value_and_gradient(DVec2::new(f64::from(i) * 0.1, 1.0));
        assert!((value - 35.0).abs() < 1e-12 && gradient.length() < 1e-12);
    }
}

/// A figure of eight covers both its lobes, whichever way it is drawn.
#[test]
fn both_lobes_of_a_figure_of_eight_are_covered() {
    let mut points: Vec<[f64; 2]> = (0..32)
        .map(|i| f64::from(i) / 32.0 * TAU + 0.01)
        .map(|t| [30.0 * libm::sin(t), 25.0 * libm::sin(2.0 * t)])
        .collect();
    for _ in 0..2 {
        let field = HardnessField::new(&plan(20.0, vec![region(1, &points, 60.0, 4.0)]));
        assert!(field.ignored().is_empty());
        assert!((field.value(DVec2::new(20.0, 0.0)) - 60.0).abs() < 1e-9);
        assert!((field.value(DVec2::new(-20.0, 0.0)) - 60.0).abs() < 1e-9);
        assert!((field.value(DVec2::new(0.0, 20.0)) - 20.0).abs() < 1e-9);
        points.reverse();
    }
}

/// Two lobes that meet in one point drawn twice: the curve touches itself there exactly.
#[test]
fn a_curve_that_touches_itself_exactly_has_no_kink_there() {
    let touch = [0.0, 0.0];
    let points = [touch, [12.0, -9.0], [20.0, 0.0], [12.0, 9.0], touch, [-12.0, 9.0], [-20.0, 0.0], [-12.0, -9.0]];
    let field = HardnessField::new(&plan(20.0, vec![region(1, &points, 60.0, 6.0)]));
    assert!(field.ignored().is_empty());
    assert!((field.value(DVec2::new(12.0, 0.0)) - 60.0).abs() < 1e-9);
    assert!((field.value(DVec2::new(-12.0, 0.0)) - 60.0).abs() < 1e-9);
    for i in 0..400 {
        let p = DVec2::from_angle(f64::from(i)) * f64::from(i) * 0.01;
        let (near, far) = (field.value_and_gradient(p), field.value_and_gradient(p + DVec2::new(1e-6, 1e-6)));
        assert!((near.1 - far.1).length() < 1e-3, "{p}: {} {}", near.1, far.1);
    }
}

#[test]
fn a_region_thinner_than_its_transition_never_reaches_its_hardness() {
    let strip: Vec<[f64; 2]> =
        (0..40).map(|i| f64::from(i) / 40.0 * TAU).map(|t| [40.0 * libm::cos(t), 2.0 * libm::sin(t)]).collect();
    let field = HardnessField::new(&plan(20.0, vec![region(1, &strip, 60.0, 20.0)]));
    let middle = field.value(DVec2::ZERO);
    // Exact for an endless strip of half width a: w(0) = 2·profile(a) − 1 with the profile's slope 16/(5πR) at its middle.
    let bound = 2.0 * 16.0 / (5.0 * PI * 10.0) * 2.0;
    assert!(middle > 28.0 && middle < 20.0 + 40.0 * bound, "{middle}");
}

#[test]
fn regions_that_cover_nothing_are_named_and_leave_the_rest_alone() {
    let good = region(7, &disc([0.0, 0.0], 15.0), 60.0, 5.0);
    let regions = vec![
        region(1, &[], 50.0, 5.0),
        region(2, &[[0.0, 0.0], [10.0, 0.0]], 50.0, 5.0),
        region(3, &[[0.0, 0.0], [f64::NAN, 0.0], [5.0, 5.0]], 50.0, 5.0),
        region(4, &[[1.0, 1.0]; 6], 50.0, 5.0),
        region(5, &disc([0.0, 0.0], 10.0), f64::NAN, 5.0),
        region(6, &disc([0.0, 0.0], 10.0), 50.0, f64::INFINITY),
        region(8, &[[0.0, 0.0], [1e300, 0.0], [0.0, 1e300]], 50.0, 5.0),
        region(9, &[[0.0, 0.0], [10.0, 0.0], [20.0, 0.0]], 50.0, 5.0),
        good.clone(),
    ];
    let field = HardnessField::new(&plan(35.0, regions));
    assert_eq!(field.ignored(), [1, 2, 3, 4, 5, 6, 8, 9]);
    let alone = HardnessField::new(&plan(35.0, vec![good]));
    for i in 0..100 {
        let p = DVec2::new(f64::from(i) * 0.3, 0.0);
        assert_eq!(field.value(p).to_bits(), alone.value(p).to_bits());
    }
}

#[test]
fn doubled_points_and_the_direction_of_drawing_do_not_matter() {
    let points = disc([0.0, 0.0], 15.0);
    let mut doubled = points.clone();
    doubled.insert(3, points[2]);
    doubled.push(points[0]);
    doubled.reverse();
    let [a, b] = [points, doubled].map(|p| HardnessField::new(&plan(35.0, vec![region(1, &p, 60.0, 8.0)])));
    for i in 0..300 {
        let p = DVec2::from_angle(f64::from(i)) * f64::from(i) * 0.08;
        assert!((a.value(p) - b.value(p)).abs() < 1e-9);
    }
}

#[test]
fn the_steepest_change_of_a_large_disc_is_that_of_a_straight_edge() {
    let outline: Vec<DVec2> = disc([0.0, 0.0], 100.0).into_iter().map(DVec2::from).collect();
    for transition_mm in [2.0, 4.0, 10.0, 20.0] {
        let field = HardnessField::new(&plan(30.0, vec![region(1, &disc([0.0, 0.0], 60.0), 50.0, transition_mm)]));
        let exact = 20.0 * 16.0 / (5.0 * PI * transition_mm / 2.0);
        let steepest = field.steepest(&outline);
        assert!((steepest.shore_a_per_mm / exact - 1.0).abs() < 0.01, "{steepest:?} {exact}");
        assert!((steepest.at.length() - 60.0).abs() < transition_mm / 10.0);
    }
    assert_eq!(HardnessField::new(&plan(30.0, vec![])).steepest(&outline).shore_a_per_mm.to_bits(), 0);
    assert_eq!(HardnessField::new(&plan(30.0, vec![])).steepest(&[]).at, DVec2::ZERO);
}

#[test]
fn a_grid_that_lies_beside_or_inside_a_region_is_sampled_alike() {
    let field = HardnessField::new(&plan(30.0, vec![region(1, &disc([0.0, 0.0], 20.0), 50.0, 10.0)]));
    for corner in [[-100.0, -100.0], [-3.0, -3.0], [18.0, -2.0], [-22.0, 15.0], [24.0, 24.0]] {
        let lo = DVec2::from(corner);
        let grid = field.sample(&Grid::over(lo, lo + DVec2::splat(6.0), 1.0));
        for row in 0..grid.rows {
            for column in 0..grid.columns {
                let exact = field.value(grid.at(column, row));
                assert!((f64::from(grid.get(column, row)) - exact).abs() < 1e-5);
            }
        }
    }
}
