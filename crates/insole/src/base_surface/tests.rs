use super::*;
use crate::PARAMS;
use crate::test_foot::{APEX_MM, TestFoot, skin};
use proptest::prelude::*;

const APEX: DVec2 = DVec2::new(108.0, 20.0);

/// Points of a grid inside the outline.
fn inside(outline: &[DVec2], step: f64) -> Vec<DVec2> {
    let rim = Rim::new(outline).unwrap();
    let (lo, hi) = rim.bounds();
    let grid = Grid::over(lo, hi, step);
    (0..grid.values.len())
        .map(|i| grid.at(i % grid.columns, i / grid.columns))
        .filter(|&p| rim.near(p).inside_mm > 0.0)
        .collect()
}

#[test]
fn the_arch_has_the_height_used_at_its_apex() {
    for (id, value) in
        [("smoothing_mm", 3.0), ("arch_height_mm", 8.0), ("arch_height_mm", 19.0), ("cup_depth_mm", 18.0)]
    {
        let surface = TestFoot::new().set(id, value).surface().unwrap();
        let (height, used) = (surface.height(APEX), surface.arch().used_mm);
        assert!((height - used).abs() < 0.05, "{height} instead of {used} mm with {id} = {value}");
    }
    let surface = TestFoot::new().surface().unwrap();
    assert!((surface.arch().used_mm - 0.75 * skin(APEX, APEX_MM).unwrap()).abs() < 1e-9, "scanned without load");
}

#[test]
fn a_flat_foot_gets_an_arch_by_hand() {
    let foot = TestFoot::with_apex(1.0).set("arch_height_mm", 14.0);
    let surface = foot.surface().unwrap();
    assert!((surface.height(APEX) - 14.0).abs() < 0.05);
    assert!(surface.height(DVec2::new(108.0, -25.0)) < 4.0, "the lateral side is not lifted");
    assert!(surface.pressing().mm > 10.0, "and it is known to press: {:?}", surface.pressing());
}

#[test]
fn the_rim_of_the_heel_cup_has_its_depth_and_the_cup_the_shape_of_the_heel() {
    for depth in [8.0, 12.0, 18.0] {
        let foot = TestFoot::new().set("cup_depth_mm", depth).set("heel_expansion_mm", 0.0);
        let surface = foot.surface().unwrap();
        for &p in foot.outline.iter().filter(|p| p.x < 45.0) {
            assert!(
                (surface.height(p) - depth).abs() < 0.6,
                "the rim stands {} instead of {depth} at {p}",
                surface.height(p)
            );
        }
    }
    let surface = TestFoot::new().set("heel_expansion_mm", 0.0).surface().unwrap();
    for p in inside(&TestFoot::outline_around(0.0), 3.0) {
        if p.distance(DVec2::new(38.0, -2.0)) < 20.0 {
            let off = surface.height(p) - skin(p, APEX_MM).unwrap();
            assert!(off.abs() < 0.7, "{off} mm off the heel's skin at {p}");
        }
    }
}

#[test]
fn the_heel_expansion_leaves_room_beside_the_heel() {
    let height = |expansion: f64| {
        let mut foot = TestFoot::new().set("heel_expansion_mm", expansion);
        foot.outline = TestFoot::outline_around(4.0);
        foot.surface().unwrap().height(DVec2::new(38.0, 24.0))
    };
    assert!(height(4.0) < height(2.0) && height(2.0) < height(0.0));
}

#[test]
fn the_forefoot_is_flat_and_the_sides_run_out() {
    let foot = TestFoot::new();
    let surface = foot.surface().unwrap();
    let (tibiale, fibulare) = (DVec2::new(192.0, 43.0), DVec2::new(168.0, -50.0));
    let forward = (fibulare - tibiale).perp().normalize();
    for p in inside(&foot.outline, 2.0) {
        // The spline carries what lies behind the edge up to four steps on.
        if (p - tibiale).dot(forward) > -8.0 + 4.0 * 1.0 {
            assert!(surface.height(p).abs() < 1e-9, "{} at {p}", surface.height(p));
        }
    }
    let at = |x: f64, medial: bool| {
        let edge = foot
            .outline
            .iter()
            .filter(|p| (p.y > 0.0) == medial)
            .min_by(|a, b| (a.x - x).abs().total_cmp(&(b.x - x).abs()));
        surface.height(*edge.unwrap())
    };
    assert!(at(108.0, true) > at(108.0, false) + 6.0, "medial {} and lateral {}", at(108.0, true), at(108.0, false));
    assert!(at(108.0, false) > 1.5 && at(80.0, false) > at(108.0, false) && at(50.0, false) > at(80.0, false));
}

#[test]
fn under_the_arch_of_an_unloaded_foot_it_lies_nowhere_above_the_skin() {
    let foot = TestFoot::new();
    let surface = foot.surface().unwrap();
    let rim = Rim::new(&foot.outline).unwrap();
    for p in inside(&foot.outline, 2.0) {
        // Nearer to the outline is the wall, which has the height prescribed.
        if rim.near(p).inside_mm > 12.0 && p.x > 60.0 && p.x < 170.0 {
            let above = surface.height(p) - skin(p, APEX_MM).unwrap_or(f64::INFINITY);
            assert!(above < 0.3, "{above} mm above the skin at {p}");
        }
    }
    assert!(surface.pressing().mm < 1.5, "{:?}", surface.pressing());
}

/// No ridge and no step: nowhere is it bent more than a rounding of 6 mm radius, of 2 mm in the wall of the cup and its
/// rim, and the bend itself does not jump.
#[test]
fn it_is_smooth_everywhere() {
    let h = 0.25;
    let bent = |surface: &BaseSurface, p: DVec2, axis: DVec2| {
        (surface.height(p + axis * h) - 2.0 * surface.height(p) + surface.height(p - axis * h)) / (h * h)
    };
    for foot in [
        TestFoot::new(),
        TestFoot::with_apex(1.0).set("arch_height_mm", 14.0),
        TestFoot::new().set("cup_depth_mm", 18.0),
    ] {
        let surface = foot.surface().unwrap();
        let rim = Rim::new(&foot.outline).unwrap();
        for p in inside(&foot.outline, 1.7) {
            let most = if rim.near(p).inside_mm > 10.0 { 0.16 } else { 0.5 };
            for axis in [DVec2::X, DVec2::Y, DVec2::new(0.6, 0.8)] {
                let here = bent(&surface, p, axis);
                assert!(here.abs() < most, "bent by {here} per mm at {p}");
                let jump = here - bent(&surface, p + axis * 0.1, axis);
                assert!(jump.abs() < 0.05, "the bend jumps by {jump} at {p}");
            }
        }
    }
}

#[test]
fn holes_in_the_scan_hardly_show() {
    let whole = TestFoot::new().surface().unwrap();
    let mut foot = TestFoot::new();
    for index in 0..foot.sole.values.len() {
        let p = foot.sole.at(index % foot.sole.columns, index / foot.sole.columns);
        let hole = |x: f64, y: f64, r: f64| p.distance(DVec2::new(x, y)) < r;
        if hole(38.0, 0.0, 6.0) || hole(100.0, 10.0, 6.0) || hole(120.0, -20.0, 8.0) {
            foot.sole.values[index] = f32::NAN;
        }
    }
    let holed = foot.surface().unwrap();
    for p in inside(&foot.outline, 3.0) {
        let off = (whole.height(p) - holed.height(p)).abs();
        assert!(off < 0.6, "{off} mm off at {p}");
    }
}

#[test]
fn a_scanners_noise_does_not_reach_the_surface() {
    let clean = TestFoot::new().surface().unwrap();
    let mut foot = TestFoot::new();
    let mut state = 12345_u32;
    for value in &mut foot.sole.values {
        // A linear congruential generator (Numerical Recipes): ±0.5 mm, each sample on its own.
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        *value += (f64::from(state) / f64::from(u32::MAX) - 0.5) as f32;
    }
    let noisy = foot.surface().unwrap();
    let off: Vec<f64> = inside(&foot.outline, 2.0).into_iter().map(|p| clean.height(p) - noisy.height(p)).collect();
    // A Gaussian of 2.5 mm takes white noise down by 1 / (2 √π · 2.5) = 0.11, from 0.29 to 0.03 mm in the mean.
    let mean = (off.iter().map(|off| off * off).sum::<f64>() / off.len() as f64).sqrt();
    assert!(mean > 0.005 && mean < 0.06, "{mean} mm of noise are left");
    assert!(off.iter().all(|off| off.abs() < 0.3));
}

#[test]
fn an_apex_beside_the_outline_has_its_height_at_the_nearest_edge() {
    let mut foot = TestFoot::new();
    if let Some(mark) = foot.landmarks.get_mut(&LandmarkId::ArchApex) {
        mark.at = DVec2::new(108.0, 38.0).extend(20.0);
    }
    let surface = foot.surface().unwrap();
    assert!((surface.arch_at().x - 108.0).abs() < 6.0 && surface.arch_at().y < 34.0);
    assert!((surface.height(surface.arch_at()) - 15.0).abs() < 0.2, "{}", surface.height(surface.arch_at()));
    assert_eq!(TestFoot::new().surface().unwrap().arch_at(), APEX);
}

#[test]
fn an_outline_far_beyond_the_foot_or_well_inside_it_keeps_its_rim() {
    for wider in [-5.0, 4.0, 12.0] {
        let mut foot = TestFoot::new();
        foot.outline = TestFoot::outline_around(wider);
        let surface = foot.surface().unwrap();
        for &p in foot.outline.iter().filter(|p| p.x < 45.0) {
            let height = surface.height(p);
            assert!((height - 12.0).abs() < 0.6, "{wider} mm wider the rim stands {height} at {p}");
        }
        assert!((surface.height(APEX) - surface.arch().used_mm).abs() < 0.1);
    }
}

#[test]
fn a_finer_or_coarser_sole_gives_nearly_the_same_surface() {
    let fine = TestFoot::new().surface().unwrap();
    let mut foot = TestFoot::new();
    let mut sole = Grid::over(DVec2::new(-5.3, -60.7), DVec2::new(265.0, 60.0), 2.0);
    for index in 0..sole.values.len() {
        let p = sole.at(index % sole.columns, index / sole.columns);
        sole.values[index] = skin(p, APEX_MM).map_or(f32::NAN, |z| z as f32);
    }
    foot.sole = sole;
    let coarse = foot.surface().unwrap();
    for p in inside(&foot.outline, 3.0) {
        let off = (fine.height(p) - coarse.height(p)).abs();
        assert!(off < 0.8, "{off} mm off at {p}");
    }
}

#[test]
fn what_cannot_work_is_refused_with_its_reason() {
    let with = |change: &dyn Fn(&mut TestFoot)| {
        let mut foot = TestFoot::new();
        change(&mut foot);
        foot.surface().err()
    };
    let without = |id| {
        with(&|foot| {
            foot.landmarks.remove(&id);
        })
    };
    for id in [LandmarkId::ArchApex, LandmarkId::MetatarsaleTibiale, LandmarkId::MetatarsaleFibulare] {
        assert_eq!(without(id), Some(SurfaceError::LandmarkMissing(id)));
    }
    assert_eq!(without(LandmarkId::HeelCentre), None);
    let moved = |id, x: f64| {
        with(&|foot| {
            if let Some(mark) = foot.landmarks.get_mut(&id) {
                mark.at.x = x;
            }
        })
    };
    for (id, x) in [(LandmarkId::ArchApex, 200.0), (LandmarkId::ArchApex, 20.0), (LandmarkId::HeelCentre, f64::NAN)] {
        assert!(matches!(moved(id, x), Some(SurfaceError::LandmarkOrder { .. })), "{id:?} at {x}");
    }
    assert!(matches!(with(&|foot| foot.outline.clear()), Some(SurfaceError::Outline { .. })));
    assert!(matches!(with(&|foot| foot.outline.reverse()), Some(SurfaceError::Outline { .. })));
    assert!(matches!(with(&|foot| foot.outline[3].y = f64::NAN), Some(SurfaceError::Outline { .. })));
    assert_eq!(with(&|foot| foot.sole.values.fill(f32::NAN)), Some(SurfaceError::NoSole));
    assert_eq!(with(&|foot| foot.sole.origin_mm.x += 1000.0), Some(SurfaceError::NoSole));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn any_parameters_give_a_finite_surface_with_the_arch_used(
        values in proptest::collection::vec(-0.2..1.2f64, PARAMS.len()),
        apex in (85.0..135.0f64, 5.0..30.0f64, 0.0..35.0f64),
    ) {
        let mut foot = TestFoot::new();
        for (spec, share) in PARAMS.iter().zip(values) {
            // Some of them out of range on purpose.
            foot.params.insert(spec.id.to_owned(), spec.min + share * (spec.max - spec.min));
        }
        let at = DVec2::new(apex.0, apex.1);
        if let Some(mark) = foot.landmarks.get_mut(&LandmarkId::ArchApex) {
            mark.at = at.extend(apex.2);
        }
        match foot.surface() {
            Ok(surface) => {
                for p in inside(&foot.outline, 6.0) {
                    let height = surface.height(p);
                    prop_assert!(height.is_finite() && height > -25.0 && height < 80.0, "{} at {}", height, p);
                }
                // On the outline itself the edge's height rules.
                let at = surface.arch_at();
                if Rim::new(&foot.outline).unwrap().near(at).inside_mm > 6.0 {
                    let (height, used) = (surface.height(at), surface.arch().used_mm);
                    prop_assert!((height - used).abs() < 0.2, "{} instead of {}", height, used);
                }
            }
            Err(error) => prop_assert!(matches!(error, SurfaceError::LandmarkOrder { .. }), "{}", error),
        }
    }
}
