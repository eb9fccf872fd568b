//! Size systems against published rows and formulas.

use last::{ALL, Counts, Size, SizeError, system};
use proptest::prelude::*;

#[allow(clippy::unwrap_used)] // Lint settings know only test functions, not their helpers.
fn value(id: &str, foot_mm: f64, allowance_mm: f64) -> f64 {
    system(id).unwrap().value_for(foot_mm, allowance_mm)
}

/// Three published converter rules for the Paris point differ only in the allowance they put between foot and last:
/// 1.5·(FL cm + 1.5) is 15 mm, 1.5·FL cm + 2 is 13.3 mm, (FL + 20 mm)/6.67 is 20 mm.
#[test]
fn paris_points_are_those_of_the_published_rules() {
    assert!((value("paris", 260.0, 15.0) - 41.25).abs() < 1e-9);
    assert!((value("paris", 260.0, 40.0 / 3.0) - 41.0).abs() < 1e-9);
    assert!((value("paris", 260.0, 20.0) - 42.0).abs() < 1e-9);
    for (foot_mm, by_15, by_2) in
        [(230.0, 36.75, 36.5), (240.0, 38.25, 38.0), (250.0, 39.75, 39.5), (270.0, 42.75, 42.5), (280.0, 44.25, 44.0)]
    {
        assert!((value("paris", foot_mm, 15.0) - by_15).abs() < 1e-9);
        assert!((value("paris", foot_mm, 40.0 / 3.0) - by_2).abs() < 1e-9);
    }
    // ISO/TS 19407:2015: one size is 2/3 cm of last, from zero.
    let size = Size { system: "paris".into(), value: 42.0 };
    assert!((size.last_length_mm(99.0).unwrap() - 280.0).abs() < 1e-9);
}

/// Published converter rules: UK = 3·FL in − 23, US men = 3·FL in − 22, which is an allowance of two thirds of an inch.
#[test]
fn uk_and_us_sizes_are_those_of_the_published_rules() {
    let allowance_mm = 2.0 / 3.0 * 25.4;
    for (foot_mm, uk, us) in [
        (230.0, 4.17, 5.17),
        (240.0, 5.35, 6.35),
        (250.0, 6.53, 7.53),
        (260.0, 7.71, 8.71),
        (270.0, 8.89, 9.89),
        (280.0, 10.07, 11.07),
    ] {
        assert!((value("uk", foot_mm, allowance_mm) - uk).abs() < 0.006, "{foot_mm}");
        assert!((value("us-m", foot_mm, allowance_mm) - us).abs() < 0.006, "{foot_mm}");
        assert!((value("uk", foot_mm, allowance_mm) - (3.0 * foot_mm / 25.4 - 23.0)).abs() < 1e-9);
    }
    // One size is a third of an inch, 8.47 mm (Jurca et al. 2019); last lengths of UK 7, 7½ and 8 by (size + 25)/3 inch, from
    // memory.
    for (uk, last_mm) in [(7.0, 270.9), (7.5, 275.2), (8.0, 279.4)] {
        let size = Size { system: "uk".into(), value: uk };
        assert!((size.last_length_mm(0.0).unwrap() - last_mm).abs() < 0.06);
    }
}

#[test]
fn mondopoint_is_the_foot_length_in_mm_in_steps_of_five() {
    let size = Size::propose("mondopoint", 261.2, 12.0).unwrap();
    assert_eq!(size.to_string(), "mondopoint:265");
    assert!((size.foot_length_mm(12.0).unwrap() - 265.0).abs() < 1e-12);
    assert!((size.last_length_mm(12.0).unwrap() - 277.0).abs() < 1e-12);
    assert_eq!(Size::propose("mondopoint", 260.0, 12.0).unwrap().to_string(), "mondopoint:260");
}

#[test]
fn a_size_is_written_and_read_alike() {
    for text in ["paris:42", "paris:42.5", "uk:8", "us-m:9.5", "mondopoint:265"] {
        assert_eq!(text.parse::<Size>().unwrap().to_string(), text);
    }
    assert!(matches!("paris".parse::<Size>(), Err(SizeError::NotASize { .. })));
    assert!(matches!("paris:big".parse::<Size>(), Err(SizeError::NotASize { .. })));
    assert!(matches!("paris:NaN".parse::<Size>(), Err(SizeError::OutOfRange { .. })));
    assert!(matches!("paris:420".parse::<Size>(), Err(SizeError::OutOfRange { .. })));
    let error = "verst:3".parse::<Size>().unwrap_err();
    assert_eq!(error.to_string(), "there is no size system `verst`: use mondopoint, paris, uk, us-m");
}

#[test]
fn every_system_is_complete() {
    for system in ALL {
        assert_eq!(ALL.iter().filter(|other| other.id == system.id).count(), 1);
        assert!(system.unit_mm > 0.0 && system.step > 0.0 && !system.source.text.is_empty());
        assert_eq!(system.counts == Counts::FootLength, system.id == "mondopoint");
    }
}

proptest! {
    #[test]
    fn a_size_comes_back_within_half_a_step_and_a_proposal_holds_the_foot(
        index in 0..ALL.len(), foot_mm in 150.0..320.0, allowance_mm in 0.0..25.0,
    ) {
        let system = &ALL[index];
        let step_mm = system.step * system.unit_mm;
        let nearest = Size::nearest(system.id, foot_mm, allowance_mm).unwrap();
        let back_mm = nearest.foot_length_mm(allowance_mm).unwrap();
        prop_assert!((back_mm - foot_mm).abs() <= step_mm / 2.0 + 1e-9);
        let proposed = Size::propose(system.id, foot_mm, allowance_mm).unwrap();
        let room_mm = proposed.last_length_mm(allowance_mm).unwrap() - foot_mm - allowance_mm;
        prop_assert!(room_mm > -0.01 && room_mm < step_mm, "{proposed} leaves {room_mm}");
        // Proposing for the foot that fills the proposal stays there.
        let again = Size::propose(system.id, proposed.foot_length_mm(allowance_mm).unwrap(), allowance_mm).unwrap();
        prop_assert_eq!(again, proposed);
    }
}
