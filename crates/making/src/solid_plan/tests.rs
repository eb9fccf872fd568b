use super::*;
use crate::test_model::blob;
use proptest::prelude::*;

fn rectangle(x: f64, y: f64) -> Vec<DVec2> {
    vec![DVec2::ZERO, DVec2::new(x, 0.0), DVec2::new(x, y), DVec2::new(0.0, y)]
}

/// Every triangle counter-clockwise, area as enclosed, inner edges shared by two, rim edges by one.
fn check(plan: &SolidPlan) {
    let mut sum = 0.0;
    for &[a, b, c] in plan.triangles() {
        let [a, b, c] = [a, b, c].map(|n| plan.xy()[n as usize]);
        let doubled = (b - a).perp_dot(c - a);
        assert!(doubled > 0.0, "a triangle turned over or flat at {a}");
        sum += doubled / 2.0;
    }
    let enclosed = area(plan.rim());
    assert!((sum - enclosed).abs() < 1e-9 * enclosed, "the triangles cover {sum} of {enclosed} mm²");
}

#[test]
fn a_flat_slab_has_area_times_thickness() {
    for spacing in [0.5, 1.0, 3.0] {
        let outline = blob(260.0, 95.0, 0.3, 700);
        let plan = SolidPlan::new(&outline, spacing).unwrap();
        check(&plan);
        let solid = plan.solid(|_| (1.0, -3.0)).unwrap();
        let expected = area(plan.rim()) * 4.0;
        assert!((solid.volume_mm3() - expected).abs() < 1e-9 * expected);
        let walls: f64 = (0..plan.rim).map(|a| plan.rim()[a].distance(plan.rim()[(a + 1) % plan.rim]) * 4.0).sum();
        assert!((solid.area_mm2() - 2.0 * area(plan.rim()) - walls).abs() < 1e-6 * expected);
    }
}

#[test]
fn a_cuboid_keeps_its_corners_and_measures() {
    let plan = SolidPlan::new(&rectangle(20.0, 10.0), 1.0).unwrap();
    check(&plan);
    let solid = plan.solid(|_| (5.0, 0.0)).unwrap();
    assert!((solid.volume_mm3() - 1000.0).abs() < 1e-9);
    assert_eq!(solid.bounds(), (DVec3::ZERO, DVec3::new(20.0, 10.0, 5.0)));
}

#[test]
fn a_tilted_top_has_the_volume_of_its_mean_height() {
    // A prism under a plane: area times the height over the centroid, whatever the triangles.
    let plan = SolidPlan::new(&rectangle(30.0, 12.0), 0.7).unwrap();
    let solid = plan.solid(|p| (2.0 + 0.1 * p.x + 0.2 * p.y, 0.0)).unwrap();
    let expected = 30.0 * 12.0 * (2.0 + 1.5 + 1.2);
    assert!((solid.volume_mm3() - expected).abs() < 1e-9 * expected);
}

#[test]
fn no_triangle_of_an_insole_is_a_sliver() {
    for spacing in [0.5, 1.0] {
        let plan = SolidPlan::new(&blob(265.0, 98.0, 0.25, (700.0 / spacing) as usize), spacing).unwrap();
        let least = plan
            .triangles()
            .iter()
            .map(|t| {
                let [a, b, c] = t.map(|n| plan.xy()[n as usize]);
                (b - a).perp_dot(c - a) / 2.0
            })
            .fold(f64::INFINITY, f64::min);
        assert!(least > 0.01, "the least triangle has {least} mm² at {spacing} mm");
    }
}

#[test]
fn inner_points_stay_where_they_are_while_the_outline_moves() {
    let points = |plan: &SolidPlan| -> Vec<DVec2> {
        plan.xy()[plan.rim..].iter().copied().filter(|p| p.distance(DVec2::new(100.0, 0.0)) < 20.0).collect()
    };
    let before = SolidPlan::new(&blob(260.0, 95.0, 0.3, 700), 1.0).unwrap();
    let after = SolidPlan::new(&blob(262.5, 97.1, 0.2, 700), 1.0).unwrap();
    assert!(points(&before).len() > 1000);
    assert_eq!(points(&before), points(&after));
}

#[test]
fn narrow_outlines_have_no_whole_square_and_still_close() {
    let plan = SolidPlan::new(&rectangle(40.0, 1.5), 1.0).unwrap();
    check(&plan);
    assert!((plan.solid(|_| (1.0, 0.0)).unwrap().volume_mm3() - 60.0).abs() < 1e-9);
}

#[test]
fn bad_input_is_refused_with_its_reason() {
    let good = blob(260.0, 95.0, 0.3, 300);
    for spacing in [0.0, -1.0, f64::NAN, f64::INFINITY, 0.01] {
        assert!(matches!(SolidPlan::new(&good, spacing), Err(SolidError::Spacing(_))));
    }
    let clockwise: Vec<DVec2> = good.iter().rev().copied().collect();
    assert!(matches!(SolidPlan::new(&clockwise, 1.0), Err(SolidError::Outline { .. })));
    assert!(matches!(SolidPlan::new(&[], 1.0), Err(SolidError::Outline { .. })));
    let mut broken = good.clone();
    broken[7].x = f64::NAN;
    assert!(matches!(SolidPlan::new(&broken, 1.0), Err(SolidError::Outline { .. })));
    // A loop that crosses itself, its larger part counter-clockwise.
    let eight = [(0.0, 0.0), (60.0, 0.0), (0.0, 40.0), (30.0, 40.0)].map(|(x, y)| DVec2::new(x, y));
    assert!(matches!(SolidPlan::new(&eight, 1.0), Err(SolidError::Crossing { .. })));
}

#[test]
fn a_top_below_the_bottom_is_refused_with_its_place() {
    let plan = SolidPlan::new(&rectangle(20.0, 10.0), 1.0).unwrap();
    let hole = |p: DVec2| if p.distance(DVec2::new(12.0, 5.0)) < 0.5 { -1.0 } else { 2.0 };
    assert_eq!(
        plan.solid(|p| (hole(p), 0.0)).err(),
        Some(SolidError::NoThickness { mm: -1.0, at: DVec2::new(12.0, 5.0) })
    );
    assert!(matches!(plan.solid(|_| (f64::NAN, 0.0)), Err(SolidError::NoThickness { .. })));
    assert!(matches!(plan.solid(|_| (f64::INFINITY, 0.0)), Err(SolidError::NoThickness { .. })));
}

#[test]
fn a_left_insole_is_mirrored_and_stays_outside_out() {
    let plan = SolidPlan::new(&blob(100.0, 40.0, 0.2, 200), 2.0).unwrap();
    let solid = plan.solid(|p| (2.0 + 0.05 * p.y, 0.0)).unwrap();
    assert_eq!(in_shoe_frame(solid.mesh(), Side::Right).as_ref(), solid.mesh());
    let left = ClosedMesh::new(in_shoe_frame(solid.mesh(), Side::Left).into_owned()).unwrap();
    assert!((left.volume_mm3() - solid.volume_mm3()).abs() < 1e-9 * solid.volume_mm3());
    let (a, b) = (solid.mesh().positions()[5], left.mesh().positions()[5]);
    assert_eq!((a.x, a.y, a.z), (b.x, -b.y, b.z));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    #[test]
    fn any_smooth_outline_gives_a_closed_solid(
        length in 30.0..320.0f64, width in 12.0..120.0f64, waist in -0.2..0.6f64, count in 24usize..400,
        spacing in 0.8..6.0f64, turn in 0.0..3.0f64, shift in -50.0..50.0f64,
    ) {
        let (sin, cos) = libm::sincos(turn);
        let outline: Vec<DVec2> = blob(length, width, waist, count)
            .into_iter()
            .map(|p| DVec2::new(p.x * cos - p.y * sin, p.x * sin + p.y * cos) + shift)
            .collect();
        let plan = SolidPlan::new(&outline, spacing).unwrap();
        check(&plan);
        let solid = plan.solid(|p| (3.0 + 0.01 * p.y, 0.0));
        prop_assert!(solid.is_ok(), "{:?}", solid.err());
    }
}
