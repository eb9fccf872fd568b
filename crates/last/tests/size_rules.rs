//! Rules from foot to size, pairs and widths, against the published formulas and rows.

use base::{BySide, Side};
use last::rules::{self, AT_RISK_ALLOWANCE, Allowance, SizeRule};
use last::{GIRTH_STEPS, JOINT_GIRTH_GRADE, SizeError, girth_steps, propose_pair, system};
use proptest::prelude::*;

#[allow(clippy::unwrap_used)] // Lint settings know only test functions, not their helpers.
fn rule(id: &str) -> &'static SizeRule {
    rules::rule(id).unwrap()
}

/// A rule's id, and its number for a foot length in mm.
type Published = (&'static str, fn(f64) -> f64);

/// The rules as published, of the foot length in mm. None of them uses the scales of this crate.
const PUBLISHED: [Published; 8] = [
    ("paris_15", |mm| 1.5 * (mm / 10.0 + 1.5)),
    ("paris_13", |mm| 1.5 * mm / 10.0 + 2.0),
    ("paris_20", |mm| (mm + 20.0) / (20.0 / 3.0)),
    ("uk_17", |mm| 3.0 * mm / 25.4 - 23.0),
    ("uk_c_17", |mm| 3.0 * mm / 25.4 - 10.0),
    ("us_m_17", |mm| 3.0 * mm / 25.4 - 22.0),
    ("us_w_plus_1", |mm| 3.0 * mm / 25.4 - 21.0),
    // Published to two places, 9.67.
    ("us_c_17", |mm| 3.0 * mm / 25.4 - 29.0 / 3.0),
];

/// Worked rows for feet of 230 to 280 mm by the published converter rules: Paris with 15 mm and with 1.5 FL + 2, UK, US men.
#[test]
fn the_rules_give_the_published_rows() {
    for (foot_mm, rows) in [
        (230.0, [36.75, 36.5, 4.17, 5.17]),
        (240.0, [38.25, 38.0, 5.35, 6.35]),
        (250.0, [39.75, 39.5, 6.53, 7.53]),
        (260.0, [41.25, 41.0, 7.71, 8.71]),
        (270.0, [42.75, 42.5, 8.89, 9.89]),
        (280.0, [44.25, 44.0, 10.07, 11.07]),
    ] {
        for (id, row) in ["paris_15", "paris_13", "uk_17", "us_m_17"].iter().zip(rows) {
            assert!((rule(id).size_for(foot_mm, 99.0) - row).abs() < 0.006, "{id} {foot_mm}");
        }
    }
    assert!((rule("paris_20").size_for(260.0, 0.0) - 42.0).abs() < 1e-9);
}

#[test]
fn the_table_of_one_foot_shows_the_spread() {
    let answers = rules::all_answers(260.0, 12.0);
    assert_eq!(answers.len(), rules::ALL.len());
    let size = |id: &str| {
        let answer = answers.iter().find(|answer| answer.rule.id == id).unwrap();
        answer.size.as_ref().map(ToString::to_string)
    };
    let paris = ["paris_own", "paris_13", "paris_15", "paris_20"].map(|id| size(id).unwrap());
    assert_eq!(paris, ["paris:41", "paris:41", "paris:41.5", "paris:42"]);
    assert_eq!(size("uk_17").unwrap(), "uk:8");
    // An adult's foot has no child's size, but the number is still told.
    assert_eq!(size("uk_c_17"), None);
    let child = answers.iter().find(|answer| answer.rule.id == "uk_c_17").unwrap();
    assert!((child.exact - (3.0 * 260.0 / 25.4 - 10.0)).abs() < 1e-9);
}

#[test]
fn every_rule_is_complete() {
    for rule in rules::ALL {
        assert_eq!(rules::ALL.iter().filter(|other| other.id == rule.id).count(), 1);
        assert!(rule.id.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_'));
        assert!(system(rule.system).is_some() && !rule.label.is_empty() && !rule.formula.is_empty());
        assert!(!rule.source.text.is_empty());
    }
    // Every system can be chosen with the allowance that is set.
    for system in last::ALL {
        let own = rules::ALL.iter().filter(|rule| rule.system == system.id && rule.allowance == Allowance::Own);
        assert_eq!(own.count(), 1, "{}", system.id);
    }
    assert_eq!(rules::rule("paris"), None);
    assert!(rule("paris_own").heeds_allowance());
    assert!(!rule("paris_15").heeds_allowance() && !rule("mondopoint_own").heeds_allowance());
}

proptest! {
    #[test]
    fn every_rule_is_the_formula_it_was_published_as(index in 0..PUBLISHED.len(), foot_mm in 90.0..330.0) {
        let (id, formula) = PUBLISHED[index];
        prop_assert!((rule(id).size_for(foot_mm, 5.0) - formula(foot_mm)).abs() < 1e-9, "{}", id);
    }

    /// From a foot to the rule's nearest size and back is half a step at most; up to the proposal less than a whole one.
    #[test]
    fn every_rule_comes_back_within_half_a_step(
        index in 0..rules::ALL.len(), foot_mm in 90.0..330.0, allowance_mm in 0.0..30.0,
    ) {
        let rule = &rules::ALL[index];
        let scale = system(rule.system).unwrap();
        let exact = rule.size_for(foot_mm, allowance_mm);
        prop_assume!(exact >= scale.least && exact <= scale.greatest - scale.step);
        let between_mm = rule.allowance_mm(allowance_mm);
        let nearest = last::Size { system: scale.id.into(), value: (exact / scale.step).round() * scale.step };
        prop_assert!((nearest.foot_length_mm(between_mm).unwrap() - foot_mm).abs() <= scale.step_mm() / 2.0 + 1e-9);
        let proposed = rules::propose(rule, foot_mm, allowance_mm).unwrap();
        let over_mm = proposed.foot_length_mm(between_mm).unwrap() - foot_mm;
        prop_assert!(over_mm > -0.01 && over_mm < scale.step_mm(), "{} {}", rule.id, over_mm);
    }

    #[test]
    fn a_pair_is_the_greater_of_its_feet(
        index in 0..rules::ALL.len(), left in 120.0..300.0, right in 120.0..300.0, room in 8.0..20.0, more in -4.0..4.0,
    ) {
        let rule = &rules::ALL[index];
        let allowances_mm = BySide { left: room, right: room + more };
        let lengths_mm = BySide { left: Some(left), right: Some(right) };
        let own = BySide::from_fn(|side| rules::propose(rule, lengths_mm[side].unwrap(), allowances_mm[side]).ok());
        match propose_pair(lengths_mm, allowances_mm, rule) {
            Ok(pair) => {
                prop_assert_eq!(&pair.per_foot, &own);
                prop_assert_eq!(own[pair.decided_by].as_ref(), Some(&pair.size));
                prop_assert!(Side::ALL.iter().filter_map(|&side| own[side].as_ref()).all(|o| o.value <= pair.size.value));
                prop_assert_eq!(pair.differ, pair.reason.contains("split sizes"));
            }
            Err(_) => prop_assert!(own.left.is_none() || own.right.is_none()),
        }
    }
}

#[test]
fn the_foot_that_needs_the_longer_last_decides_and_the_reason_says_so() {
    let pair = |left, right, id: &str| {
        propose_pair(BySide { left, right }, BySide { left: 12.0, right: 12.0 }, rule(id)).unwrap()
    };
    let alike = pair(Some(261.0), Some(262.0), "paris_own");
    assert_eq!((alike.size.to_string().as_str(), alike.differ), ("paris:41.5", false));
    assert_eq!(
        alike.reason,
        "the right foot is 262.0 mm long and needs 12 mm before the toes; it needs the longer last"
    );
    // Paris half sizes are 3.3 mm: 240 and 252 mm are 4 steps apart.
    let apart = pair(Some(252.0), Some(240.0), "paris_own");
    assert!(apart.differ && apart.decided_by == Side::Left);
    assert!(
        apart
            .reason
            .contains("by itself the right foot would take a size 4 steps smaller: split sizes or a toe filler")
    );
    let fixed = pair(Some(260.0), None, "paris_15");
    assert_eq!(fixed.reason, "the left foot is 260.0 mm long and this rule adds 15.0 mm before the toes");
    assert_eq!(fixed.per_foot.right, None);
    let alone = pair(None, Some(260.0), "mondopoint_own");
    assert_eq!(alone.size.to_string(), "mondopoint:260");
    let none = propose_pair(BySide::default(), BySide::default(), rule("paris_own"));
    assert_eq!(none.unwrap_err(), SizeError::NoFoot);
    // A child's foot beside an adult's: the adult's decides, and the other is far from it although off the scale.
    let far = pair(Some(240.0), Some(170.0), "uk_own");
    assert!(far.differ && far.per_foot.right.is_none(), "{far:?}");
}

/// The shorter foot may need the longer last when more room is set for it.
#[test]
fn the_allowance_set_for_each_foot_counts() {
    let lengths_mm = BySide { left: Some(262.0), right: Some(260.0) };
    let pair = propose_pair(lengths_mm, BySide { left: 10.0, right: 16.0 }, rule("paris_own")).unwrap();
    assert_eq!((pair.decided_by, pair.size.to_string().as_str()), (Side::Right, "paris:41.5"));
}

/// Narrative review, J Foot Ankle Res 2020, 10.1186/s13047-020-00439-3: minimum 10 to 16 mm, maximum 15 to 20 mm.
#[test]
fn the_allowance_for_feet_at_risk_is_the_published_one() {
    assert_eq!((AT_RISK_ALLOWANCE.minimum_mm, AT_RISK_ALLOWANCE.maximum_mm), ((10.0, 16.0), (15.0, 20.0)));
    let default_mm = last::TOE_ALLOWANCE.default;
    assert!(default_mm >= AT_RISK_ALLOWANCE.minimum_mm.0 && default_mm <= AT_RISK_ALLOWANCE.maximum_mm.1);
}

/// Trade texts: width steps EU 5, UK about 6, US 4.76 mm; joint girth grows by a quarter inch for every UK or US size.
#[test]
fn widths_are_told_in_steps_of_each_system() {
    let steps = girth_steps(249.0, 240.0);
    let found: Vec<(&str, f64)> = steps.iter().map(|d| (d.step.id, (d.steps * 100.0).round() / 100.0)).collect();
    assert_eq!(found, [("eu", 1.8), ("uk", 1.5), ("us", 1.89)]);
    assert_eq!(steps[0].words, "the foot is 9.0 mm of girth wider than the last: 1.8 width steps (EU, 5 mm each)");
    assert!(girth_steps(230.0, 240.0)[1].words.contains("narrower than the last: 1.7 width steps"));
    assert!(girth_steps(240.5, 240.0)[0].words.contains("the same width"));
    assert!(girth_steps(f64::NAN, 240.0)[0].words.contains("not known"));
    assert!((JOINT_GIRTH_GRADE.0 - 25.4 / 4.0).abs() < 1e-12 && GIRTH_STEPS.iter().all(|s| !s.source.text.is_empty()));
}
