//! Shape: total contact, what is made of it, and every way in which an element is handled.
#![allow(clippy::unwrap_used, reason = "helpers of tests: a failure is the test's failure")]
#![allow(clippy::float_cmp, reason = "what is kept is kept exactly")]

use base::{Params, Side, Work};
use case::Edit;
use engine::view::{CompareWith, FootView, Moves};
use engine::{Cut, Engine, ScanFile, ScanHints, Target};
use foot::WeightBearing;
use foot::phantom::{self, Phantom, PhantomParams, ScanSwitches};
use glam::{DAffine3, DVec2};
use insole::build::{Build, STARTERS};
use insole::sculpt::{Brush, Tool};
use std::collections::BTreeMap;
use std::sync::{Mutex, OnceLock};

/// The scan of a phantom as a file, each made once.
fn scan(params: PhantomParams) -> Vec<u8> {
    static FILES: OnceLock<Mutex<BTreeMap<String, Vec<u8>>>> = OnceLock::new();
    let mut files = FILES.get_or_init(Mutex::default).lock().unwrap();
    let file = files.entry(format!("{params:?}")).or_insert_with(|| {
        let switches = ScanSwitches { triangle_mm: 3.0, pose: DAffine3::IDENTITY, ..ScanSwitches::default() };
        let mut bytes = Vec::new();
        mesh::stl::write_stl(&Phantom::new(params).unwrap().scan(&switches).mesh, "phantom", &mut bytes).unwrap();
        bytes
    });
    file.clone()
}

fn with_foot(engine: &mut Engine, params: PhantomParams) {
    let side = params.side;
    let hints = ScanHints { side: Some(side), ..ScanHints::default() };
    engine.add_scans(&[ScanFile::new(&format!("{}.stl", side.word()), &scan(params))], &hints, &Work::quiet()).unwrap();
    engine.apply(&Edit::SetWeightBearing { state: Some(WeightBearing::Full) }).unwrap();
}

fn engine() -> Engine {
    let mut engine = Engine::new();
    with_foot(&mut engine, PhantomParams { side: SIDE, ..PhantomParams::default() });
    engine
}

fn pair() -> Engine {
    let mut engine = engine();
    with_foot(&mut engine, PhantomParams { side: Side::Left, ..PhantomParams::default() });
    engine
}

const SIDE: Side = Side::Right;

fn foot(engine: &mut Engine) -> FootView {
    let snapshot = engine.snapshot();
    assert_eq!(snapshot.problems[SIDE], None);
    snapshot.feet[SIDE].clone().unwrap()
}

fn set(engine: &mut Engine, param: &str, value: f64) {
    engine.apply(&Edit::SetSurface { side: SIDE, param: param.to_owned(), value: Some(value) }).unwrap();
}

fn add(engine: &mut Engine, kind: &str) {
    let edit = engine.place_edit(SIDE, kind, None).unwrap();
    engine.apply(&edit).unwrap();
}

/// Median distance between skin and bearing surface where the sole is within the reach of an insole: lower than the cup is
/// deep, and away from the wall, whose height is prescribed.
fn median_gap(engine: &mut Engine) -> f64 {
    let outline: Vec<DVec2> = foot(engine).outline.iter().map(|p| DVec2::new(p[0].into(), p[1].into())).collect();
    let edge = insole::Edge::new(&outline).unwrap();
    let (lo, hi) = edge.bounds();
    let mut points = Vec::new();
    let mut p = lo;
    while p.y < hi.y {
        p.x = lo.x;
        while p.x < hi.x {
            if edge.inside_mm(p) > 12.0 {
                points.push(p.to_array());
            }
            p.x += 4.0;
        }
        p.y += 4.0;
    }
    let mut gaps: Vec<f64> = points
        .chunks(3)
        .flat_map(|three| engine.measured(SIDE, three).unwrap().places)
        .filter_map(|place| Some(place.gap_mm?.abs()).filter(|_| place.height_mm.is_some_and(|z| z < 12.0)))
        .collect();
    assert!(gaps.len() > 300, "{} places", gaps.len());
    base::sort_numbers(&mut gaps);
    gaps[gaps.len() / 2]
}

#[test]
fn total_contact_touches_the_skin_and_a_plain_form_does_not() {
    for seed in [3, 8, 21, 30, 47, 60] {
        let mut engine = Engine::new();
        with_foot(&mut engine, PhantomParams { side: SIDE, ..phantom::random(seed) });
        let plain = {
            ["heel", "medial", "lateral"].iter().for_each(|area| set(&mut engine, &format!("conform_{area}"), 0.0));
            median_gap(&mut engine)
        };
        for area in ["heel", "medial", "lateral", "forefoot", "toes"] {
            set(&mut engine, &format!("conform_{area}"), 100.0);
        }
        for (param, value) in [
            ("arch_fill", 1.0),
            ("heel_expansion_mm", 0.0),
            ("smoothing_mm", 1.0),
            ("cup_depth_mm", 18.0),
            ("lateral_height_mm", 18.0),
            ("forefoot_rim_mm", 12.0),
        ] {
            set(&mut engine, param, value);
        }
        let total = median_gap(&mut engine);
        assert!(total <= 0.3, "foot {seed}: total contact leaves {total} mm in the middle");
        assert!(plain > 3.0 * total, "foot {seed}: {plain} mm plain, {total} mm in total contact");
    }
}

fn stl_heights(engine: &mut Engine) -> Vec<[f64; 3]> {
    let made = engine.make(&["solid_stl"]).unwrap();
    let read =
        mesh::stl::read_stl(&made[0].name, &made[0].bytes, &Work::quiet(), &mut base::Report::default()).unwrap();
    read.positions().iter().map(|p| p.to_array()).collect()
}

/// The insole made is bent to the last's bottom, its thickness and volume unchanged; share 0 leaves it level.
#[test]
fn what_is_made_follows_the_last_as_far_as_asked_for() {
    let mut engine = engine();
    set(&mut engine, "rim_rounding_mm", 0.0);
    let level = stl_heights(&mut engine);
    engine.apply(&Edit::SetLast { side: SIDE, param: "heel_pitch_mm".into(), value: Some(12.0) }).unwrap();
    let pitched = stl_heights(&mut engine);
    let lift = |heights: &[[f64; 3]]| {
        let near = heights.iter().filter(|p| p[0] < 40.0 && p[1].abs() < 10.0);
        near.map(|p| p[2]).fold(f64::INFINITY, f64::min)
    };
    assert!((lift(&pitched) - lift(&level) - 12.0).abs() < 0.05, "{} from {}", lift(&pitched), lift(&level));
    assert!(level.iter().zip(&pitched).all(|(a, b)| (a[0] - b[0]).abs() < 1e-4 && b[2] - a[2] > -0.01));
    set(&mut engine, "follow_last", 0.0);
    assert_eq!(stl_heights(&mut engine), level);
    let section = engine.section(SIDE, Cut::Longitudinal(0.0)).unwrap();
    assert!(section.last_bottom.is_empty());
}

#[test]
fn a_cover_lowers_what_is_made_and_a_shell_has_its_thickness() {
    let mut engine = engine();
    set(&mut engine, "rim_rounding_mm", 0.0);
    let at = [[60.0, 2.0], [110.0, 15.0]];
    let bare = engine.measured(SIDE, &at).unwrap();
    set(&mut engine, "cover_mm", 3.0);
    let covered = engine.measured(SIDE, &at).unwrap();
    for (bare, covered) in bare.places.iter().zip(&covered.places) {
        assert!((bare.height_mm.unwrap() - covered.height_mm.unwrap()).abs() < 1e-9, "the foot lies where it lay");
        assert!((bare.thickness_mm.unwrap() - covered.thickness_mm.unwrap() - 3.0).abs() < 1e-9);
    }
    let section = engine.section(SIDE, Cut::Transverse(60.0)).unwrap();
    assert!(section.cover.len() == section.top.len() && (section.cover[40][1] - section.top[40][1] - 3.0).abs() < 1e-5);
    // The shell is as thick as asked for under the cover too.
    set(&mut engine, "build", 1.0);
    set(&mut engine, "shell_arch_mm", 3.5);
    let shell = engine.measured(SIDE, &at).unwrap();
    // Upright it is thicker by one over the cosine of the slope.
    let [x, y] = at[1];
    let around = engine.measured(SIDE, &[[x - 1.0, y], [x + 1.0, y]]).unwrap().rise_mm.unwrap() / 2.0;
    let across = engine.measured(SIDE, &[[x, y - 1.0], [x, y + 1.0]]).unwrap().rise_mm.unwrap() / 2.0;
    let upright = 3.5 * (1.0 + around * around + across * across).sqrt();
    let made = shell.places[1].thickness_mm.unwrap();
    assert!((made - upright).abs() < 0.08, "{made} instead of {upright}");
}

/// Every handle of every kind of element: away and back gives the case as it was, in one step each.
#[test]
fn an_element_moved_and_moved_back_is_the_same() {
    let mut engine = engine();
    for kind in insole::elements::ALL {
        add(&mut engine, kind.id());
        let id = foot(&mut engine).elements.iter().map(|element| element.id).max().unwrap();
        let handles = foot(&mut engine).handles;
        let of_this = |target: &Target| matches!(target, Target::Element { id: of, .. } if *of == id);
        for handle in handles.iter().filter(|handle| of_this(&handle.target)) {
            let before = engine.case().clone();
            engine.begin();
            let by = if handle.moves == Moves::Vertical { [0.0, 0.0, 1.0] } else { [-3.0, 2.0, 0.0] };
            let to = std::array::from_fn(|k| handle.at[k] + by[k]);
            let away = engine.move_edit(SIDE, &handle.target, to).unwrap();
            engine.preview(&away).unwrap();
            engine.snapshot();
            engine.cancel();
            assert_eq!(engine.case(), &before, "{:?}: Escape restores", handle.target);
            engine.apply(&away).unwrap();
            let moved = engine.case() != &before;
            if moved {
                engine.undo();
            }
            assert_eq!(engine.case(), &before, "{:?}: undo restores", handle.target);
        }
        // As a whole: by so much and back by as much.
        if kind.params().iter().any(|spec| spec.id == "x_mm") {
            let params =
                |engine: &Engine| engine.case().feet[SIDE].as_ref().unwrap().elements.last().unwrap().params.clone();
            let before = params(&engine);
            for (from, to) in [([0, 0], [4.0, -2.0, 0.0]), ([400, -200], [0.0, 0.0, 0.0])] {
                let target = Target::ElementBody { id, from };
                let edit = engine.move_edit(SIDE, &target, to).unwrap();
                engine.apply(&edit).unwrap();
            }
            let after = params(&engine);
            assert!(
                before.iter().all(|(id, value)| (after[id] - value).abs() < 1e-9),
                "{}: {before:?} {after:?}",
                kind.id()
            );
        }
        engine.apply(&Edit::RemoveElement { side: SIDE, id }).unwrap();
    }
}

/// A handle's number goes where it is dragged in the section too: the surface passes through the place.
#[test]
fn a_height_dragged_in_the_section_is_reached() {
    let mut engine = engine();
    for kind in ["metatarsal_pad", "heel_lift", "relief"] {
        add(&mut engine, kind);
        let view = foot(&mut engine);
        let id = view.elements.last().unwrap().id;
        let is_height =
            |target: &Target| matches!(target, Target::Element { id: of, handle } if *of == id && handle == "height");
        let handle = view.handles.iter().find(|handle| is_height(&handle.target)).unwrap_or_else(|| panic!("{kind}"));
        let [x, y, z] = handle.at;
        let edit = engine.move_edit(SIDE, &handle.target, [x, y, z + 1.5]).unwrap();
        engine.apply(&edit).unwrap();
        let now = engine.measured(SIDE, &[[x, y]]).unwrap().places[0].height_mm.unwrap();
        assert!((now - z - 1.5).abs() < 0.02, "{kind}: {now} instead of {}", z + 1.5);
    }
}

#[test]
fn a_drawn_relief_is_moved_by_its_points_its_curve_and_as_a_whole() {
    let mut engine = engine();
    add(&mut engine, "relief");
    let curve = vec![[150.0, 0.0], [170.0, -2.0], [175.0, 15.0], [158.0, 18.0]];
    let draw = Edit::SetElement { side: SIDE, id: 1, params: Params::new(), curve: Some(curve.clone()), text: None };
    engine.apply(&draw).unwrap();
    let drawn = |engine: &Engine| engine.case().feet[SIDE].as_ref().unwrap().elements[0].curve.clone();
    // It is taken hold of in its middle.
    let handles = foot(&mut engine).handles;
    let whole =
        handles.iter().find(|handle| matches!(&handle.target, Target::Element { id: 1, handle } if handle == "centre"));
    assert_eq!(whole.map(|handle| [handle.at[0], handle.at[1]]), Some([162.5, 8.0]));
    let edit = engine.move_edit(SIDE, &Target::ElementPoint { id: 1, index: 2 }, [180.0, 20.0, 0.0]).unwrap();
    engine.apply(&edit).unwrap();
    assert_eq!(drawn(&engine)[2], [180.0, 20.0]);
    engine.undo();
    let edit = engine.move_edit(SIDE, &Target::ElementBody { id: 1, from: [16_000, 500] }, [163.0, 4.0, 0.0]).unwrap();
    engine.apply(&edit).unwrap();
    assert!(
        drawn(&engine)
            .iter()
            .zip(&curve)
            .all(|(now, was)| (now[0] - was[0] - 3.0).abs() < 0.011 && (now[1] - was[1] + 1.0).abs() < 0.011)
    );
    engine.undo();
    let edit = engine.move_edit(SIDE, &Target::ElementCurve { id: 1, from: [17_250, 650] }, [178.0, 6.5, 0.0]).unwrap();
    engine.apply(&edit).unwrap();
    assert!(drawn(&engine).iter().map(|p| p[0]).fold(0.0, f64::max) > 176.0, "{:?}", drawn(&engine));
    let view = foot(&mut engine);
    assert!(view.handles.iter().filter(|handle| matches!(handle.target, Target::ElementPoint { .. })).count() >= 4);
}

#[test]
fn a_stroke_is_one_step_and_flattening_goes_by_the_surface_as_it_was() {
    let mut engine = engine();
    let brush = |tool| Brush { tool, radius_mm: 14.0, strength: 1.0 };
    let at = [[150.0, 5.0]];
    let height = |engine: &mut Engine| engine.measured(SIDE, &at).unwrap().places[0].height_mm.unwrap();
    let (before, case) = (height(&mut engine), engine.case().clone());
    engine.begin();
    for end in [140.0, 150.0, 160.0] {
        let edit = engine.sculpt_edit(SIDE, &brush(Tool::Raise), &[[130.0, 5.0], [end, 5.0]]).unwrap();
        engine.preview(&edit).unwrap();
    }
    engine.commit();
    assert!((height(&mut engine) - before - 1.0).abs() < 0.1, "{} from {before}", height(&mut engine));
    assert_eq!(foot(&mut engine).sculpted, Some(true));
    engine.apply(&Edit::SwitchSculpt { side: SIDE, on: false }).unwrap();
    assert!((height(&mut engine) - before).abs() < 1e-12);
    engine.undo();
    engine.undo();
    assert_eq!(engine.case(), &case);
}

#[test]
fn an_insole_is_compared_with_what_it_was_with_itself_bare_and_with_the_other_foot() {
    let mut engine = pair();
    engine.set_compare(Some(CompareWith::Kept));
    let compared = |engine: &mut Engine| foot(engine).compare.unwrap();
    assert!(compared(&mut engine).missing.is_some());
    engine.set_aside();
    assert_eq!(compared(&mut engine).area_mm2, 0.0);
    add(&mut engine, "metatarsal_pad");
    for with in [CompareWith::Kept, CompareWith::Before, CompareWith::Bare] {
        engine.set_compare(Some(with));
        let view = compared(&mut engine);
        assert!((view.most.0 - 6.0).abs() < 0.1 && view.least.0.abs() < 1e-6, "{view:?}");
        let grid = engine.difference_grid(SIDE).unwrap();
        assert!(grid.values.iter().any(|mm| *mm > 5.9));
        assert!(!engine.section(SIDE, Cut::Longitudinal(view.most.1[1])).unwrap().other.is_empty());
    }
    // Both scans are of one foot, mirrored: without the pad they are alike.
    engine.undo();
    engine.set_compare(Some(CompareWith::Other));
    let view = compared(&mut engine);
    assert!(view.mean_mm < 0.05 && view.most.0 < 0.5, "{view:?}");
    engine.set_compare(None);
    assert!(foot(&mut engine).compare.is_none() && engine.difference_grid(SIDE).is_none());
}

#[test]
fn places_are_measured_as_a_ruler_would() {
    let mut engine = engine();
    let view = engine.measured(SIDE, &[[100.0, 0.0], [130.0, 0.0], [130.0, 40.0]]).unwrap();
    assert!((view.plan_mm.unwrap() - 50.0).abs() < 1e-9 && (view.angle_deg.unwrap() - 90.0).abs() < 1e-9);
    assert!((view.direction_deg.unwrap() - libm::atan2(40.0, 30.0).to_degrees()).abs() < 1e-9);
    let beside = engine.measured(SIDE, &[[100.0, 0.0], [-50.0, 0.0]]).unwrap();
    assert_eq!((beside.places[1].height_mm, beside.rise_mm), (None, None));
    assert_eq!(engine.measured(SIDE, &[]).unwrap().plan_mm, None);
}

#[test]
fn a_cut_along_a_drawn_line_shows_what_the_others_do() {
    let mut engine = engine();
    add(&mut engine, "metatarsal_pad");
    let along = engine.section(SIDE, Cut::Longitudinal(4.0)).unwrap();
    let drawn = engine.section(SIDE, Cut::Line([0.0, 4.0], [300.0, 4.0])).unwrap();
    let top_at = |section: &engine::SectionView, x: f32| {
        let near = section.top.iter().min_by(|a, b| (a[0] - x).abs().total_cmp(&(b[0] - x).abs()));
        near.unwrap()[1]
    };
    for x in [40.0, 110.0, 165.0, 230.0] {
        assert!((top_at(&along, x) - top_at(&drawn, x)).abs() < 0.1, "at {x}");
    }
    assert!(!drawn.skin.is_empty() && !drawn.tissue.is_empty());
    // Shorter than the insole it ends where it was drawn.
    let short = engine.section(SIDE, Cut::Line([60.0, 0.0], [100.0, 10.0])).unwrap();
    assert!(short.top[0][0].abs() < 1e-6 && (f64::from(short.top.last().unwrap()[0]) - 1700_f64.sqrt()).abs() < 1e-4);
    assert!(short.skin.iter().flatten().all(|p| p[0] >= 0.0 && p[0] <= 41.3));
    assert!(engine.section(SIDE, Cut::Line([60.0, 0.0], [60.0, 0.0])).unwrap().top.is_empty());
}

#[test]
fn builds_are_used_on_both_feet_and_come_back_from_their_file() {
    let mut engine = pair();
    for starter in STARTERS {
        let edit = engine.use_build_edit(&Side::ALL, &starter.build()).unwrap();
        engine.apply(&edit).unwrap();
        let view = foot(&mut engine);
        assert_eq!(view.elements.len(), starter.build().elements.len(), "{}", starter.id);
        let grave = engine.snapshot().findings.into_iter().filter(|found| found.severity > base::Severity::Info);
        assert_eq!(grave.map(|found| found.text).collect::<Vec<_>>(), Vec::<String>::new(), "{}", starter.id);
        assert_eq!(engine.make(&["solid_stl"]).unwrap().len(), 2, "{}", starter.id);
    }
    add(&mut engine, "relief");
    let text = engine.take_build(SIDE, "Own", None).unwrap().to_json().unwrap();
    let before = engine.case().feet[SIDE].clone().unwrap();
    let edit = engine.use_build_edit(&[SIDE], &Build::from_json("own.build.json", &text).unwrap()).unwrap();
    engine.apply(&edit).unwrap();
    let after = engine.case().feet[SIDE].clone().unwrap();
    assert_eq!(after.surface, before.surface);
    assert_eq!(after.elements.len(), before.elements.len());
    for (after, before) in after.elements.iter().zip(&before.elements) {
        assert!(before.params.iter().all(|(id, value)| (after.params[id] - value).abs() < 1e-9), "{}", before.kind);
    }
    // One element alone is added to what is there.
    let relief = engine.take_build(SIDE, "Spot", after.elements.last().map(|item| item.id)).unwrap();
    let edit = engine.use_build_edit(&[Side::Left], &relief).unwrap();
    let count = engine.case().feet[Side::Left].as_ref().unwrap().elements.len();
    engine.apply(&edit).unwrap();
    assert_eq!(engine.case().feet[Side::Left].as_ref().unwrap().elements.len(), count + 1);
    assert!(engine.take_build(SIDE, " ", None).is_err());
}

#[test]
fn elements_are_copied_mirrored_and_writing_is_turned_to_be_read() {
    let mut engine = pair();
    for (kind, written) in [("metatarsal_pad", false), ("side_mark", true)] {
        add(&mut engine, kind);
        let id = foot(&mut engine).elements.last().unwrap().id;
        let edit = engine.copy_element_edit(SIDE, id).unwrap();
        engine.apply(&edit).unwrap();
        let of = |engine: &Engine, side: Side| {
            engine.case().feet[side].as_ref().unwrap().elements.last().unwrap().params.clone()
        };
        let (mine, theirs) = (of(&engine, SIDE), of(&engine, Side::Left));
        let differ = mine.iter().filter(|(id, value)| (theirs[*id] - **value).abs() > 1e-12).count();
        assert_eq!(differ, usize::from(written), "{kind}");
    }
}

#[test]
fn a_build_on_one_foot_leaves_the_twins_of_its_elements_to_the_other() {
    let mut engine = pair();
    add(&mut engine, "metatarsal_pad");
    let id = engine.case().feet[SIDE].as_ref().unwrap().elements[0].id;
    engine.apply(&Edit::TwinElement { side: SIDE, id, on: true }).unwrap();
    let elements = |engine: &Engine, side: Side| engine.case().feet[side].as_ref().unwrap().elements.clone();
    let plain = STARTERS[0].build();
    let edit = engine.use_build_edit(&[SIDE], &plain).unwrap();
    engine.apply(&edit).unwrap();
    assert!(elements(&engine, SIDE).is_empty());
    let left = elements(&engine, SIDE.other());
    assert!(matches!(&left[..], [item] if item.kind == "metatarsal_pad" && item.twin.is_none()));

    engine.undo();
    let edit = engine.use_build_edit(&Side::ALL, &plain).unwrap();
    engine.apply(&edit).unwrap();
    assert!(Side::ALL.iter().all(|&side| elements(&engine, side).is_empty()));
}

/// On a whole foot: a base thick enough for a recess and a cup deep enough for a skive leave nothing to find.
#[test]
fn every_kind_as_placed_is_without_fault_where_it_has_room() {
    for kind in insole::elements::ALL {
        let mut engine = engine();
        set(&mut engine, "base_thickness_mm", 9.0);
        set(&mut engine, "cup_depth_mm", 14.0);
        let before = texts(&mut engine);
        add(&mut engine, kind.id());
        let after = texts(&mut engine);
        assert_eq!(after, before, "{}", kind.id());
    }
}

fn texts(engine: &mut Engine) -> Vec<String> {
    engine.snapshot().findings.into_iter().map(|found| found.text).collect()
}

#[test]
fn a_lift_and_a_flange_at_the_heel_take_room_in_the_shoes_counter() {
    let mut engine = engine();
    let depth = Edit::SetShoe { side: SIDE, param: "depth_heel_mm".to_owned(), value: Some(5.0) };
    engine.apply(&depth).unwrap();
    let needed = |engine: &mut Engine| {
        let told = texts(engine).into_iter().find(|text| text.contains("needed by the heel cup")).unwrap();
        told.split(" mm of depth, ").nth(1).unwrap().split(' ').next().unwrap().parse::<u32>().unwrap()
    };
    // A cup of 12 mm on a base of 4 mm.
    assert_eq!(needed(&mut engine), 16);
    add(&mut engine, "heel_lift");
    assert_eq!(needed(&mut engine), 21);
    engine.apply(&Edit::SwitchElement { side: SIDE, id: 1, on: false }).unwrap();
    add(&mut engine, "flange");
    engine.apply(&Edit::set_element(SIDE, 2, [("x_mm".to_owned(), 30.0)].into())).unwrap();
    assert_eq!(needed(&mut engine), 22);
    // A shell's edge is as high over the shoe as it was, but for what the base is thicker.
    set(&mut engine, "build", 1.0);
    assert_eq!(needed(&mut engine), 21);
}
