#![allow(clippy::float_cmp, reason = "what was set must come back to the last bit")]
mod elements;

use super::ALL;
use crate::{DepthPlace, Facts, Finding, InsoleFacts, findings};
use base::{Severity, Side};
use foot::{Landmark, LandmarkId, Landmarks, WeightBearing};
use glam::{DVec2, DVec3};
use insole::{ArchSupport, ElementItem, Extreme, Thin};
use std::collections::BTreeSet;

fn outline() -> last::Outline {
    let points: Vec<DVec2> = [
        (-5.0, 0.0),
        (60.0, -32.0),
        (160.0, -50.0),
        (250.0, -35.0),
        (275.0, 5.0),
        (240.0, 40.0),
        (170.0, 46.0),
        (60.0, 32.0),
    ]
    .map(DVec2::from)
    .to_vec();
    last::Outline::through(&points).unwrap()
}

fn landmarks() -> Landmarks {
    let place = |id, x, y| (id, Landmark { at: DVec3::new(x, y, 5.0), confidence: 0.9, by_hand: false });
    Landmarks::from([
        place(LandmarkId::ArchApex, 110.0, 20.0),
        place(LandmarkId::MetatarsaleTibiale, 190.0, 45.0),
        place(LandmarkId::MetatarsaleFibulare, 160.0, -45.0),
    ])
}

/// A design without fault, changed by `change`, and what is found on it.
fn found(change: impl FnOnce(&mut Facts, &mut InsoleFacts)) -> Vec<Finding> {
    let (outline, landmarks) = (outline(), landmarks());
    let arch = ArchSupport::new(20.0, &base::Params::new(), WeightBearing::Half);
    let mut insole = InsoleFacts {
        outline: &outline,
        arch: &arch,
        thinnest: Thin { mm: 4.0, least_mm: 2.0, at: DVec2::ZERO },
        steepest_slope: Extreme { mm: 40.0, at: DVec2::ZERO },
        slope_limit_deg: 75.0,
        cup_depth_mm: 12.0,
        steepest: hardness::Steepest { shore_a_per_mm: 1.0, at: DVec2::ZERO },
    };
    let mut facts = Facts {
        side: Side::Left,
        weight_bearing: Some(WeightBearing::Half),
        landmarks: &landmarks,
        foot_length_mm: Some(258.0),
        print: &[],
        last_length_mm: 270.0,
        toe_allowance_mm: 12.0,
        ball_girth_mm: None,
        last_girth_mm: None,
        insole: None,
        elements: &[],
        placed: &[],
        depths: &[],
    };
    change(&mut facts, &mut insole);
    facts.insole = Some(insole);
    findings(&facts)
}

fn rules(found: &[Finding]) -> Vec<&'static str> {
    found.iter().map(|finding| finding.rule).collect()
}

#[test]
fn ids_are_unique_and_every_rule_says_what_and_why() {
    let ids: BTreeSet<&str> = ALL.iter().map(|rule| rule.id).collect();
    assert_eq!(ids.len(), ALL.len());
    for rule in ALL {
        assert!(!rule.about.is_empty() && !rule.source.text.is_empty(), "{}", rule.id);
    }
}

#[test]
fn a_plain_design_has_no_findings() {
    assert_eq!(found(|_, _| {}), []);
}

#[test]
fn an_unknown_weight_bearing_is_asked_for() {
    assert_eq!(rules(&found(|facts, _| facts.weight_bearing = None)), ["weight_bearing_not_stated"]);
}

#[test]
fn a_shallow_shoe_stops_a_tight_one_is_checked_and_a_sole_alone_says_so() {
    let place =
        |depth_mm, needs_mm| DepthPlace { label: "toes", depth_mm, needs_mm, by: "foot and insole", at: DVec3::X };
    let found = |place: DepthPlace| found(|facts, _| facts.depths = Box::leak(Box::new([place])));
    let shallow = found(place(30.0, Some(34.0)));
    assert_eq!(
        (rules(&shallow), shallow[0].severity, shallow[0].at),
        (vec!["shoe_depth"], Severity::Stop, Some(DVec3::X))
    );
    assert!(
        shallow[0].text.contains("4 mm too shallow at the toes: 30 mm of depth, 34 mm needed"),
        "{}",
        shallow[0].text
    );
    assert_eq!(found(place(35.0, Some(34.0)))[0].severity, Severity::Check);
    assert_eq!(found(place(40.0, Some(34.0))), []);
    assert_eq!(found(place(40.0, None))[0].severity, Severity::Info);
}

#[test]
fn a_last_narrower_round_the_ball_is_told_in_steps_of_width() {
    let found = |last_mm| found(|facts, _| (facts.ball_girth_mm, facts.last_girth_mm) = (Some(250.0), Some(last_mm)));
    let narrow = found(240.0);
    assert_eq!(rules(&narrow), ["joint_girth"]);
    // EU width step 5 mm (trade text).
    assert!(narrow[0].text.contains("10 mm less") && narrow[0].text.contains("2.0"), "{}", narrow[0].text);
    assert_eq!(found(249.0), []);
}

#[test]
fn a_short_last_stops() {
    let all = found(|facts, _| facts.last_length_mm = 250.0);
    assert_eq!((rules(&all), all[0].severity), (vec!["size_too_short"], Severity::Stop));
    assert!(all[0].text.contains("-8.0 mm"), "{}", all[0].text);
    assert_eq!(found(|facts, _| facts.last_length_mm = 263.0)[0].severity, Severity::Check);
}

#[test]
fn a_thin_place_is_named_with_its_number_and_a_hole_stops() {
    let thin = found(|_, insole| insole.thinnest.mm = 1.2);
    assert!(thin[0].severity == Severity::Check && thin[0].text.contains("1.2 mm"), "{}", thin[0].text);
    assert_eq!(found(|_, insole| insole.thinnest.mm = -0.5)[0].severity, Severity::Stop);
}

#[test]
fn what_is_steeper_than_can_be_made_is_told_with_its_place() {
    let at = DVec2::new(70.0, 12.0);
    let all = found(|_, insole| insole.steepest_slope = Extreme { mm: 80.2, at });
    assert_eq!((rules(&all), all[0].severity, all[0].at), (vec!["too_steep"], Severity::Check, Some(at.extend(0.0))));
    assert!(all[0].text.contains("81° steep from level where 75° can be made"), "{}", all[0].text);
    assert!(!all[0].advice.is_empty());
    assert_eq!(found(|_, insole| insole.steepest_slope.mm = 75.0), []);
}

#[test]
fn bearing_beyond_the_edge_is_found_with_its_place() {
    let print = vec![vec![DVec2::new(160.0, -56.0), DVec2::new(160.0, 0.0), DVec2::new(150.0, 0.0)]];
    let all = found(|facts, _| facts.print = Box::leak(Box::new(print)));
    assert_eq!(rules(&all), ["print_over_edge"]);
    assert!(all[0].at.unwrap().distance(DVec3::new(160.0, -56.0, 0.0)) < 1e-9);
}

#[test]
fn unusual_numbers_are_remarked() {
    assert_eq!(rules(&found(|_, insole| insole.cup_depth_mm = 22.0)), ["cup_depth_unusual"]);
    assert_eq!(rules(&found(|_, insole| insole.steepest.shore_a_per_mm = 9.0)), ["steep_hardness"]);
    let high = ArchSupport::new(10.0, &[("arch_height_mm".to_owned(), 18.0)].into(), WeightBearing::None);
    assert_eq!(rules(&found(|_, insole| insole.arch = Box::leak(Box::new(high)))), ["arch_above_skin"]);
}

#[test]
fn an_unknown_element_stops() {
    let strange = ElementItem { id: 7, ..ElementItem::new("spring", base::Params::new()) };
    let all = found(|facts, _| facts.elements = Box::leak(Box::new([strange])));
    assert_eq!((rules(&all), all[0].severity), (vec!["inactive_element"], Severity::Stop));
}

#[test]
fn a_doubtful_landmark_is_named() {
    let mut doubtful = landmarks();
    doubtful.get_mut(&LandmarkId::ArchApex).unwrap().confidence = 0.3;
    let all = found(|facts, _| facts.landmarks = Box::leak(Box::new(doubtful)));
    assert!(rules(&all) == ["uncertain_landmark"] && all[0].text.contains("30 %"), "{all:?}");
    // What only enters measures is said once.
    let mut doubtful = landmarks();
    for id in LandmarkId::METATARSAL_HEADS.into_iter().chain([LandmarkId::Navicular]) {
        doubtful.insert(id, foot::Landmark { at: glam::DVec3::ZERO, confidence: 0.4, by_hand: false });
    }
    let all = found(|facts, _| facts.landmarks = Box::leak(Box::new(doubtful)));
    assert_eq!((rules(&all), all[0].severity), (vec!["uncertain_landmark"], Severity::Info));
    assert!(all[0].text.contains("navicular, metatarsal heads 1 to 5."), "{all:?}");
}

#[test]
fn thickness_of_an_unloaded_scan_is_spoken_of() {
    let all = found(|facts, _| facts.weight_bearing = Some(WeightBearing::None));
    assert_eq!((rules(&all), all[0].severity), (vec!["thickness_of_unloaded_scan"], Severity::Info));
    assert!(found(|facts, _| facts.weight_bearing = Some(WeightBearing::Full)).is_empty());
}
