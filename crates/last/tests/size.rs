//! Size systems against published rows and formulas.

use last::{ALL, Counts, MondopointLabel, Size, SizeError, system};
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
    let known = "mondopoint, cm, paris, uk, uk-c, us-m, us-w, us-c";
    assert_eq!(error.to_string(), format!("there is no size system `verst`: use {known}"));
}

#[test]
fn every_system_is_complete() {
    for system in ALL {
        assert_eq!(ALL.iter().filter(|other| other.id == system.id).count(), 1);
        assert!(system.unit_mm > 0.0 && system.step > 0.0 && !system.source.text.is_empty());
        assert_eq!(system.counts == Counts::FootLength, ["mondopoint", "cm"].contains(&system.id));
        assert!(system.least < system.greatest && system.joins.is_none_or(|id| last::system(id).is_some()));
    }
}

proptest! {
    #[test]
    fn a_size_comes_back_within_half_a_step_and_a_proposal_holds_the_foot(
        index in 0..ALL.len(), foot_mm in 150.0..320.0, allowance_mm in 0.0..25.0,
    ) {
        let system = &ALL[index];
        let step_mm = system.step_mm();
        let exact = system.value_for(foot_mm, allowance_mm);
        // Within a step of its ends either answer is right.
        if exact < system.least - system.step || exact > system.greatest + system.step {
            let refused = Size::propose(system.id, foot_mm, allowance_mm).unwrap_err();
            prop_assert!(matches!(refused, SizeError::BeyondScale { .. }), "{}", refused);
        }
        prop_assume!(exact >= system.least && exact <= system.greatest - system.step);
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

/// isegoria.net, Shoe Sizes, 2012: size = 3 · last in inches less 24 (US men), 22½ (US women), 11⅔ (US children), 25 (UK
/// adults), 12 (UK children); Paris points are 3/2 · last in cm.
#[test]
fn every_scale_in_inches_is_the_published_one() {
    for (id, less) in [("us-m", 24.0), ("us-w", 22.5), ("us-c", 35.0 / 3.0), ("uk", 25.0), ("uk-c", 12.0)] {
        for last_mm in [180.0, 231.3, 290.0] {
            assert!((value(id, last_mm, 0.0) - (3.0 * last_mm / 25.4 - less)).abs() < 1e-9, "{id}");
        }
    }
    // sizes.shoes: the child's size 0 is 4 inches.
    assert!((system("uk-c").unwrap().length_mm(0.0) - 101.6).abs() < 1e-9);
}

/// UK sizes go on from the child's 13½ to the adult's 1, half a size further, and so every length has one UK number.
#[test]
fn the_child_and_adult_scales_of_the_uk_join() {
    let length = |text: &str| text.parse::<Size>().unwrap().last_length_mm(0.0).unwrap();
    assert!((length("uk:1") - length("uk-c:13") - 25.4 / 3.0).abs() < 1e-9);
    assert!((length("uk:1") - length("uk-c:13.5") - 25.4 / 6.0).abs() < 1e-9);
    let beyond = "uk-c:14".parse::<Size>().unwrap_err().to_string();
    assert_eq!(beyond, "uk-c:14 is beyond the scale UK, children, which goes from 0 to 13.5: use uk");
    assert!("uk:0.5".parse::<Size>().unwrap_err().to_string().ends_with("use uk-c"));
    for tenth in 900..3100 {
        let foot_mm = f64::from(tenth) / 10.0;
        let proposed = ["uk", "uk-c"].map(|id| Size::propose(id, foot_mm, 12.0));
        let found: Vec<_> = proposed.into_iter().filter_map(Result::ok).collect();
        assert_eq!(found.len(), 1, "{foot_mm}: {found:?}");
        let room_mm = found[0].last_length_mm(0.0).unwrap() - foot_mm - 12.0;
        assert!(room_mm > -0.01 && room_mm < 25.4 / 6.0, "{foot_mm} {}", found[0]);
    }
}

#[test]
fn centimetres_name_the_foot_in_half_steps() {
    assert_eq!(Size::propose("cm", 261.2, 12.0).unwrap().to_string(), "cm:26.5");
    assert_eq!(Size::propose("cm", 260.0, 30.0).unwrap().to_string(), "cm:26");
    assert!(("cm:26.5".parse::<Size>().unwrap().last_length_mm(12.0).unwrap() - 277.0).abs() < 1e-9);
}

/// ISO 9407:2019: foot length in mm, then its linear width in mm, no unit printed.
#[test]
fn a_mondopoint_label_has_length_and_breadth() {
    let label = MondopointLabel::for_foot(261.2, Some(101.6)).unwrap();
    assert_eq!(label.to_string(), "265/102");
    assert_eq!("265/102".parse::<MondopointLabel>().unwrap(), label);
    assert_eq!(label.size().unwrap().to_string(), "mondopoint:265");
    assert_eq!(MondopointLabel::for_foot(260.0, None).unwrap().to_string(), "260");
    assert_eq!("247.5 / 96".parse::<MondopointLabel>().unwrap().to_string(), "247.5/96");
    for bad in ["", "/", "265/", "/102", "265/102/1", "long/102", "265/wide"] {
        assert!(matches!(bad.parse::<MondopointLabel>(), Err(SizeError::NotALabel { .. })), "{bad}");
    }
    assert!(matches!("265/10.2".parse::<MondopointLabel>(), Err(SizeError::Width { .. })));
    assert!(matches!("265/NaN".parse::<MondopointLabel>(), Err(SizeError::Width { .. })));
    assert!(matches!("26.5/102".parse::<MondopointLabel>(), Err(SizeError::OutOfRange { .. })));
}
