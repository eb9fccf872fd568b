//! Fit: the edge by hand, its length, the shoe, and what comes of them.
#![allow(clippy::unwrap_used, reason = "helpers of tests: a failure is the test's failure")]

use base::{Side, Work};
use case::Edit;
use engine::view::{FootView, OutlineHand, OutlineRequest};
use engine::{Engine, ScanFile, ScanHints, Target};
use foot::phantom::{Phantom, PhantomParams, ScanSwitches};
use glam::{DAffine3, DVec2};
use last::{InsoleLength, Keep, Outline, OutlineChange, Trim};
use std::fmt::Write as _;
use std::sync::OnceLock;

const SIDE: Side = Side::Right;

fn engine() -> Engine {
    static FILE: OnceLock<Vec<u8>> = OnceLock::new();
    let bytes = FILE.get_or_init(|| {
        let phantom = Phantom::new(PhantomParams { side: SIDE, ..PhantomParams::default() }).unwrap();
        let switches = ScanSwitches { triangle_mm: 4.0, pose: DAffine3::IDENTITY, ..ScanSwitches::default() };
        let mut bytes = Vec::new();
        mesh::stl::write_stl(&phantom.scan(&switches).mesh, "phantom", &mut bytes).unwrap();
        bytes
    });
    let mut engine = Engine::new();
    let hints = ScanHints { side: Some(SIDE), ..ScanHints::default() };
    engine.add_scans(&[ScanFile::new("right.stl", bytes.as_slice())], &hints, &Work::quiet()).unwrap();
    engine
}

fn foot(engine: &mut Engine) -> FootView {
    let snapshot = engine.snapshot();
    assert_eq!(snapshot.problems[SIDE], None);
    snapshot.feet[SIDE].clone().unwrap()
}

fn outline(points: &[[f32; 2]]) -> Outline {
    let spaced = points.iter().step_by(4).map(|p| p.map(f64::from).into());
    Outline::through(&spaced.collect::<Vec<DVec2>>()).unwrap()
}

#[test]
fn a_dragged_edge_point_is_one_step_made_on_the_edge_as_it_was_and_undone_exactly() {
    let mut engine = engine();
    let before = engine.case().clone();
    let knot = foot(&mut engine).edge.knots[3];
    engine.begin();
    for step in 1..=5 {
        let to = [knot[0], knot[1] - f64::from(step), 0.0];
        let edit = engine.move_edit(SIDE, &Target::OutlineKnot { index: 3 }, to).unwrap();
        engine.preview(&edit).unwrap();
        foot(&mut engine);
    }
    engine.commit();
    let view = foot(&mut engine);
    assert!(view.edge.by_hand);
    assert!((view.edge.knots[3][1] - (knot[1] - 5.0)).abs() < 0.011);
    assert!((view.edge.knots[9][1] - foot_fitted(&view)[9][1]).abs() < 0.011);
    assert!(engine.undo());
    assert_eq!(engine.case(), &before);
}

/// Knots of the last outline are not shown; the edge's others are where they were fitted.
fn foot_fitted(view: &FootView) -> Vec<[f64; 2]> {
    let mut fresh = engine();
    assert_eq!(view.edge.last.len(), foot(&mut fresh).edge.last.len());
    foot(&mut fresh).edge.knots
}

#[test]
fn with_the_area_kept_a_gesture_does_not_drift() {
    let mut engine = engine();
    engine.set_hand(OutlineHand { keep: Keep::Area, snap: false });
    let area = outline(&foot(&mut engine).edge.whole).area_mm2();
    let knot = foot(&mut engine).edge.knots[3];
    engine.begin();
    for step in 1..=20 {
        let to = [knot[0], knot[1] - 0.3 * f64::from(step), 0.0];
        let edit = engine.move_edit(SIDE, &Target::OutlineKnot { index: 3 }, to).unwrap();
        engine.preview(&edit).unwrap();
    }
    engine.commit();
    let now = outline(&foot(&mut engine).edge.whole).area_mm2();
    assert!((now / area - 1.0).abs() < 0.001, "{area} {now}");
}

#[test]
fn an_edge_that_would_cross_itself_is_refused_with_the_place_and_nothing_changes() {
    let mut engine = engine();
    let before = engine.case().clone();
    let change = OutlineChange::MoveKnot { index: 3, to: [150.0, 200.0] };
    let request = OutlineRequest { change, hand: OutlineHand::default() };
    let error = engine.outline_edit(SIDE, &request).unwrap_err().to_string();
    assert!(error.contains("crosses itself at ("), "{error}");
    assert_eq!(engine.case(), &before);
}

#[test]
fn each_length_gives_a_shorter_insole_that_can_be_made() {
    let mut engine = engine();
    let mut before = f64::INFINITY;
    for length in InsoleLength::ALL {
        engine.apply(&Edit::SetInsoleLength { side: SIDE, length }).unwrap();
        let view = foot(&mut engine);
        let long = view.outline_sizes[0].1;
        assert!(long < before - 10.0, "{length:?} {long}");
        before = long;
        assert!(view.thinnest.0 > 0.0);
        let made = engine.make(&["solid"]).unwrap();
        assert!(!made.is_empty());
    }
    // A trim line by hand, dragged beyond the insole, stops at what can be cut.
    let edit = engine.move_edit(SIDE, &Target::TrimEnd { end: 1 }, [900.0, 40.0, 0.0]).unwrap();
    engine.apply(&edit).unwrap();
    assert!(foot(&mut engine).edge.trim_by_hand);
    engine.apply(&Edit::SetInsoleLength { side: SIDE, length: InsoleLength::Full }).unwrap();
    assert_eq!(foot(&mut engine).edge.trim, None);
    // What does not cross the insole leaves everything measured, and says why there is no insole.
    let trim = Some(Trim { lateral_x: 900.0, medial_x: 900.0 });
    engine.apply(&Edit::SetTrim { side: SIDE, trim }).unwrap();
    let snapshot = engine.snapshot();
    assert!(snapshot.problems[SIDE].as_ref().unwrap().contains("does not cross the insole"));
}

/// An outline drawing in mm, turned and put somewhere.
fn drawing(outline: &Outline, grown_mm: f64) -> String {
    let mut points = String::new();
    for p in outline.polygon(1.0) {
        let out = -outline.spline().derivative(outline.nearest(p).parameter_mm).normalize().perp();
        let at = DVec2::from_angle(0.7).rotate(p + out * grown_mm) + DVec2::new(150.0, 40.0);
        // y runs down in SVG.
        write!(points, "{:.3},{:.3} ", at.x, 400.0 - at.y).unwrap();
    }
    format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="600mm" height="400mm" viewBox="0 0 600 400"><polygon points="{points}"/></svg>"#
    )
}

#[test]
fn a_traced_shoe_keeps_the_fitted_edge_inside_and_one_drawn_outside_is_found() {
    let mut engine = engine();
    let fitted = outline(&foot(&mut engine).edge.last);
    // A shoe two millimetres narrower all round.
    let edit = engine.trace_drawing_edit(SIDE, "shoe.svg", drawing(&fitted, -2.0).as_bytes()).unwrap();
    engine.apply(&edit).unwrap();
    let view = foot(&mut engine);
    assert_eq!(view.edge.shoe_name.as_deref(), Some("shoe.svg"));
    let shoe = outline(&view.edge.shoe);
    for p in outline(&view.edge.whole).corners() {
        assert!(shoe.signed_distance_mm(*p) < -0.3, "{p} {}", shoe.signed_distance_mm(*p));
    }
    let codes = |engine: &mut Engine| engine.snapshot().findings.iter().map(|f| f.text.clone()).collect::<Vec<_>>();
    assert!(codes(&mut engine).iter().any(|text| text.contains("kept inside the shoe")));
    engine.apply(&Edit::LimitToShoe { side: SIDE, on: false }).unwrap();
    assert!(codes(&mut engine).iter().any(|text| text.contains("outside the shoe's own insole")));
    // Drawn along the shoe it lies inside by the clearance.
    let edit = engine.follow_shoe_edit(SIDE).unwrap();
    engine.apply(&edit).unwrap();
    let whole = outline(&foot(&mut engine).edge.whole);
    let off = whole.corners().iter().map(|p| (shoe.signed_distance_mm(*p) + 0.5).abs()).fold(0.0, f64::max);
    assert!(off < 0.5, "{off}");
    let error = engine.trace_drawing_edit(SIDE, "shoe.svg", b"<svg/>").unwrap_err().to_string();
    assert!(error.starts_with("shoe.svg: "), "{error}");
}

#[test]
fn a_shoe_that_is_too_shallow_is_a_finding_with_its_place() {
    let mut engine = engine();
    for (param, mm) in [("depth_toe_mm", 15.0), ("depth_ball_mm", 150.0)] {
        engine.apply(&Edit::SetShoe { side: SIDE, param: param.into(), value: Some(mm) }).unwrap();
    }
    let findings = engine.snapshot().findings;
    let depth: Vec<_> = findings.iter().filter(|finding| finding.rule == "shoe_depth").collect();
    assert_eq!(depth.len(), 1);
    assert!(depth[0].text.contains("too shallow at the toes") && depth[0].at.unwrap()[0] > 200.0, "{:?}", depth[0]);
}
