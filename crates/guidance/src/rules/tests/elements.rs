//! What is found on elements, each on an insole made for a sole by formula.

use super::{outline, rules};
use crate::{Facts, Finding, InsoleFacts, findings, placed};
use base::{Params, Report, Severity, Side};
use foot::{Landmark, LandmarkId, Landmarks, WeightBearing};
use glam::{DVec2, DVec3};
use insole::elements::{ALL, by_id};
use insole::{BaseSurface, Edge, ElementItem, Extreme, Site, Sole, Surface, SurfaceInput};
use mesh::Grid;
use std::sync::Arc;

/// The rules that speak of elements.
const OF_ELEMENTS: [&str; 8] = [
    "through_recess",
    "too_thin",
    "too_steep",
    "metatarsal_pad_place",
    "elements_overlap",
    "beyond_usual",
    "off_rule",
    "skive_needs_depth",
];

/// What a kind is found fault with though it is placed by its rule on an insole as it is by default.
const EXPECTED: [(&str, &str); 6] = [
    // 2 mm shall be left of a base of 4 mm, and the usual depths are 2.5 to 4 mm: a forefoot was made 5 mm thick to take a
    // void of 3 mm (thesis, seen).
    ("first_ray_cut_out", "through_recess"),
    ("relief", "through_recess"),
    ("heel_cushion", "through_recess"),
    ("heel_spur_recess", "through_recess"),
    ("pocket", "through_recess"),
    // The usual cup of 12 mm does not hold a heel on a skive.
    ("medial_heel_skive", "skive_needs_depth"),
];

fn landmarks() -> Landmarks {
    let place = |id, x, y, z| (id, Landmark { at: DVec3::new(x, y, z), confidence: 0.9, by_hand: false });
    Landmarks::from([
        place(LandmarkId::HeelCentre, 38.0, 0.0, 0.0),
        place(LandmarkId::ArchApex, 108.0, 30.0, 20.0),
        place(LandmarkId::Navicular, 105.0, 36.0, 40.0),
        place(LandmarkId::MetatarsaleTibiale, 190.0, 45.0, 12.0),
        place(LandmarkId::MetatarsaleFibulare, 160.0, -45.0, 10.0),
        place(LandmarkId::MetatarsalHead1, 188.0, 29.0, 0.0),
        place(LandmarkId::MetatarsalHead2, 192.0, 10.0, 0.0),
        place(LandmarkId::MetatarsalHead3, 186.0, -5.0, 0.0),
        place(LandmarkId::MetatarsalHead4, 176.0, -20.0, 0.0),
        place(LandmarkId::MetatarsalHead5, 164.0, -34.0, 0.0),
        place(LandmarkId::HalluxTip, 258.0, 22.0, 5.0),
        place(LandmarkId::SecondToeTip, 256.0, 4.0, 5.0),
        place(LandmarkId::ThirdToeTip, 247.0, -10.0, 5.0),
        place(LandmarkId::FourthToeTip, 235.0, -22.0, 5.0),
        place(LandmarkId::FifthToeTip, 220.0, -34.0, 5.0),
        place(LandmarkId::Akropodion, 258.0, 22.0, 5.0),
    ])
}

/// An insole made for a sole that is flat but for an arch 20 mm high on the medial side and its rounded border.
struct Made {
    landmarks: Landmarks,
    edge: Arc<Edge>,
    base: Arc<BaseSurface>,
    cup_depth_mm: f64,
}

impl Made {
    fn new(params: &Params) -> Made {
        let mut sole = Grid::over(DVec2::new(-5.0, -50.0), DVec2::new(275.0, 48.0), 1.0);
        let edge = Arc::new(Edge::new(&outline().polygon(1.0)).unwrap());
        for index in 0..sole.values.len() {
            let p = sole.at(index % sole.columns, index / sole.columns);
            let inside = edge.inside_mm(p);
            if inside > 0.0 {
                let arch = (20.0 - (p - DVec2::new(108.0, 30.0)).length_squared() / 60.0).max(0.0);
                let border = (1.0 - inside / 8.0).max(0.0);
                sole.values[index] = (arch + 20.0 * border * border) as f32;
            }
        }
        let landmarks = landmarks();
        let sole = Sole::new(&sole).unwrap();
        let state = WeightBearing::Half;
        let input = SurfaceInput { sole: &sole, landmarks: &landmarks, edge: &edge, params, state };
        let base = Arc::new(BaseSurface::new(&input).unwrap());
        let cup_depth_mm = params.get("cup_depth_mm").copied().unwrap_or(12.0);
        Made { landmarks, edge, base, cup_depth_mm }
    }

    /// An element of this kind as its rule places it, with these numbers set, numbered.
    fn item(&self, id: u32, kind: &str, numbers: &[(&str, f64)]) -> ElementItem {
        let kind = by_id(kind).unwrap();
        let mut params = kind.place(&Site { landmarks: &self.landmarks, edge: &self.edge });
        params.extend(numbers.iter().map(|&(id, value)| (id.to_owned(), value)));
        ElementItem { id, ..ElementItem::new(kind.id(), params) }
    }

    /// The insole with these elements, and samples of its thickness.
    fn with(&self, items: &[ElementItem]) -> (Surface, Grid) {
        let surface = Surface::new(self.base.clone(), items, None, &mut Report::default());
        let mut thickness = self.edge.samples();
        for index in 0..thickness.values.len() {
            let p = thickness.at(index % thickness.columns, index / thickness.columns);
            let is_inside = thickness.values[index] <= 0.0;
            thickness.values[index] = if is_inside { surface.thickness(p) as f32 } else { f32::NAN };
        }
        (surface, thickness)
    }

    /// What the rules on elements find.
    fn found(&self, items: &[ElementItem]) -> Vec<Finding> {
        let (surface, thickness) = self.with(items);
        let inside = (0..thickness.values.len()).filter(|&index| thickness.values[index].is_finite());
        let inside = inside.map(|index| thickness.at(index % thickness.columns, index / thickness.columns));
        let thinnest = surface.thinnest(inside).unwrap();
        let placed = placed(items, &self.landmarks, &surface, &thickness);
        let outline = outline();
        let insole = InsoleFacts {
            outline: &outline,
            arch: self.base.arch(),
            thinnest,
            steepest_slope: Extreme { mm: 40.0, at: DVec2::ZERO },
            slope_limit_deg: 75.0,
            cup_depth_mm: self.cup_depth_mm,
            steepest: hardness::Steepest { shore_a_per_mm: 1.0, at: DVec2::ZERO },
        };
        let mut all = findings(&Facts {
            side: Side::Left,
            weight_bearing: Some(WeightBearing::Half),
            landmarks: &self.landmarks,
            foot_length_mm: Some(258.0),
            print: &[],
            last_length_mm: 270.0,
            toe_allowance_mm: 12.0,
            ball_girth_mm: None,
            last_girth_mm: None,
            insole: Some(insole),
            elements: items,
            placed: &placed,
            depths: &[],
        });
        all.retain(|finding| OF_ELEMENTS.contains(&finding.rule));
        for finding in &all {
            assert!(finding.at.is_some_and(DVec3::is_finite), "{finding:?}");
            assert!(finding.text.contains(|c: char| c.is_ascii_digit()) && !finding.advice.is_empty(), "{finding:?}");
        }
        all
    }
}

fn by_default() -> Made {
    Made::new(&Params::new())
}

/// With room for every recess.
fn thick() -> Made {
    Made::new(&[("base_thickness_mm".to_owned(), 9.0)].into())
}

/// New kinds are held to this too.
#[test]
fn every_kind_by_its_rule_is_without_fault() {
    let (made, thick) = (by_default(), thick());
    for kind in ALL {
        let found = |made: &Made| made.found(&[ElementItem { text: "K-7".to_owned(), ..made.item(1, kind.id(), &[]) }]);
        let expected: Vec<&str> = EXPECTED.iter().filter(|(of, _)| *of == kind.id()).map(|(_, rule)| *rule).collect();
        let found_by_default = found(&made);
        assert_eq!(rules(&found_by_default), expected, "{}: {found_by_default:?}", kind.id());
        // Where there is room for the recess, nothing but the others is left to say.
        let expected: Vec<&str> = expected.into_iter().filter(|rule| *rule != "through_recess").collect();
        assert_eq!(rules(&found(&thick)), expected, "{}", kind.id());
    }
}

/// Every number of every kind, just within and just beyond what is usual.
#[test]
fn a_number_beyond_what_is_usual_is_told_with_the_range_and_its_source() {
    let made = by_default();
    let beyond = |kind: &str, numbers: &[(&str, f64)]| {
        let mut all = made.found(&[made.item(1, kind, numbers)]);
        all.retain(|finding| finding.rule == "beyond_usual");
        all
    };
    let mut told = 0;
    for kind in ALL {
        for spec in kind.params() {
            let Some((least, most)) = kind.usual(spec.id) else { continue };
            for (value, is_usual) in [(least, true), (most, true), (least - 0.2, false), (most + 0.2, false)] {
                if !spec.accepts(value) || (spec.id == kind.strength() && value == 0.0) {
                    continue;
                }
                let found = beyond(kind.id(), &[(spec.id, value)]);
                assert_eq!(found.is_empty(), is_usual, "{} {} {value}: {found:?}", kind.id(), spec.id);
                for finding in found {
                    assert_eq!(finding.severity, Severity::Check);
                    assert!(finding.text.contains(&format!("{least} to {most}")), "{}", finding.text);
                    assert!(finding.text.contains(kind.source().text), "{}", finding.text);
                    told += 1;
                }
            }
        }
    }
    assert!(told > 10, "{told}");
    let lift = beyond("heel_lift", &[("height_mm", 8.0)]);
    assert!(lift[0].text.starts_with("Heel lift: height 8.0 mm; 0 to 6.4 mm is usual (At most 6.4 mm"), "{lift:?}");
    let wedge = beyond("rearfoot_wedge", &[("angle_deg", 9.0)]);
    assert!(wedge[0].text.contains("angle 9.0°; 0 to 6° is usual"), "{wedge:?}");
    // Without strength it is nothing, and what does not act neither.
    assert_eq!(beyond("relief", &[("depth_mm", 0.0), ("margin_mm", 12.0)]), []);
    let off = ElementItem { on: false, ..made.item(1, "heel_lift", &[("height_mm", 12.0)]) };
    assert_eq!(made.found(&[off]), []);
}

#[test]
fn what_is_moved_far_from_its_bones_is_told_and_what_lies_where_it_is_wanted_is_not() {
    let made = thick();
    let moved = |kind: &str, by: DVec2| {
        let mut item = made.item(1, kind, &[]);
        let handle = by_id(kind).unwrap().handles(&item, &made.edge)[0];
        item.params = by_id(kind).unwrap().drag(&item, &made.edge, handle.id, handle.at + by);
        made.found(&[item])
    };
    let off = moved("cuboid_pad", DVec2::new(-12.0, 5.0));
    assert_eq!((rules(&off), off[0].severity), (vec!["off_rule"], Severity::Info));
    assert!(off[0].text.contains("The cuboid pad lies 13 mm from"), "{}", off[0].text);
    assert_eq!(moved("cuboid_pad", DVec2::new(-8.0, 5.0)), []);
    for kind in ["relief", "pocket", "engraved_text", "side_mark", "rearfoot_wedge", "forefoot_wedge", "heel_lift"] {
        assert_eq!(moved(kind, DVec2::new(-14.0, 6.0)), [], "{kind}");
    }
    // The metatarsal pad's place along the foot has its own rule; aside of it this one speaks.
    assert_eq!(rules(&moved("metatarsal_pad", DVec2::new(-30.0, 0.0))), ["metatarsal_pad_place"]);
    assert_eq!(rules(&moved("metatarsal_pad", DVec2::new(4.0, 14.0))), ["off_rule"]);
}

#[test]
fn a_choice_is_no_moving_away() {
    let made = by_default();
    for (kind, choice) in [("rearfoot_wedge", "raised_side"), ("metatarsal_pad", "outline")] {
        let items = [made.item(1, kind, &[(choice, 1.0)])];
        let (surface, thickness) = made.with(&items);
        assert_eq!(placed(&items, &made.landmarks, &surface, &thickness)[0].off_rule_mm, Some(0.0), "{kind}");
        assert_eq!(made.found(&items), [], "{kind}");
    }
}

#[test]
fn without_landmarks_nothing_is_off_its_place() {
    let mut made = by_default();
    let mut crest = made.item(1, "toe_crest", &[]);
    crest.params.entry("x_mm".to_owned()).and_modify(|x| *x -= 12.0);
    assert_eq!(rules(&made.found(&[crest.clone()])), ["off_rule"]);
    made.landmarks.clear();
    assert_eq!(made.found(&[crest]), []);
}

#[test]
fn a_pad_is_judged_against_the_line_of_the_heads() {
    let made = by_default();
    // At y = 9 mm the line is at x = 178.
    let pad = |x: f64| made.found(&[made.item(1, "metatarsal_pad", &[("x_mm", x), ("y_mm", 9.0)])]);
    assert_eq!(pad(171.0), []);
    let forward = pad(180.0);
    assert!(forward[0].text.contains("4.0 mm too far forward"), "{}", forward[0].text);
    let behind = pad(153.0);
    assert!(behind[0].text.contains("25.0 mm behind"), "{}", behind[0].text);
}

#[test]
fn a_bar_under_a_head_presses_on_it() {
    let made = by_default();
    let mut item = made.item(1, "metatarsal_bar", &[]);
    item.params.entry("x_mm".to_owned()).and_modify(|x| *x += 14.0);
    let found = made.found(&[item]);
    // And that it lies 14 mm off its place is not said as well.
    assert_eq!((rules(&found), found[0].severity), (vec!["metatarsal_pad_place"], Severity::Check));
    assert!(found[0].text.contains("mm high under metatarsal head"), "{}", found[0].text);
}

#[test]
fn a_recess_that_is_too_deep_is_named_and_the_rest_of_the_insole_is_left_to_the_other_rule() {
    let made = by_default();
    // On the flat forefoot the base is 4 mm thick, and 2 mm are asked for.
    let relief = |depth_mm: f64| made.item(1, "relief", &[("x_mm", 205.0), ("y_mm", 0.0), ("depth_mm", depth_mm)]);
    assert_eq!(made.found(&[relief(2.0)]), []);
    let deep = made.found(&[relief(3.0)]);
    assert_eq!((rules(&deep), deep[0].severity), (vec!["through_recess"], Severity::Check));
    assert!(
        deep[0].text.contains("The relief leaves too little of the insole: 1.0 mm are left where 2.0 mm"),
        "{deep:?}"
    );
    assert!(deep[0].at.unwrap().truncate().distance(DVec2::new(205.0, 0.0)) < 15.0);
    let through = made.found(&[relief(5.0)]);
    assert_eq!((rules(&through), through[0].severity), (vec!["through_recess"], Severity::Stop));
    assert!(through[0].text.contains("The relief goes through the insole: -1.0 mm are left"), "{through:?}");

    // An insole that is thin everywhere is no element's fault, and a pad makes it no thinner.
    let thin = Made::new(&[("base_thickness_mm".to_owned(), 1.5)].into());
    assert_eq!(rules(&thin.found(&[thin.item(1, "metatarsal_pad", &[])])), ["too_thin"]);
    // Where less is missing in a recess than elsewhere, both are told.
    let made = Made::new(&[("base_thickness_mm".to_owned(), 1.5), ("min_arch_mm".to_owned(), 8.0)].into());
    let both = made.found(&[made.item(1, "relief", &[("x_mm", 205.0), ("y_mm", 0.0), ("depth_mm", 0.3)])]);
    assert_eq!(rules(&both), ["through_recess", "too_thin"], "{both:?}");
}

#[test]
fn a_recess_drawn_about_a_spot_it_spares_is_looked_at_all_over() {
    // A horseshoe, whose middle lies outside it.
    let made = by_default();
    let horseshoe = [
        [190.0, 24.0],
        [190.0, -24.0],
        [225.0, -24.0],
        [225.0, -16.0],
        [198.0, -16.0],
        [198.0, 16.0],
        [225.0, 16.0],
        [225.0, 24.0],
    ];
    let numbers = [("depth_mm", 5.0), ("wall_mm", 1.0)];
    let pocket = ElementItem { curve: horseshoe.to_vec(), ..made.item(1, "pocket", &numbers) };
    assert_eq!(made.found(&[pocket])[0].severity, Severity::Stop);
}

#[test]
fn elements_that_undo_each_other_or_add_up_are_both_named() {
    let made = thick();
    let pad = made.item(1, "metatarsal_pad", &[]);
    let kind = by_id("metatarsal_pad").unwrap();
    let crest = kind.crest(&pad, &made.edge);
    let at_crest = [("x_mm", crest.x), ("y_mm", crest.y)];
    let relief = ElementItem { id: 2, ..made.item(2, "relief", &at_crest) };
    for items in [[pad.clone(), relief.clone()], [relief.clone(), pad.clone()]] {
        let found = made.found(&items);
        assert_eq!((rules(&found), found[0].severity), (vec!["elements_overlap"], Severity::Check));
        assert!(
            found[0].text.contains("The relief takes 3.0 mm away where the metatarsal pad adds 6.0 mm"),
            "{}",
            found[0].text
        );
        assert!(found[0].at.unwrap().truncate().distance(crest) < 1e-9);
    }
    // Less than half a millimetre is a run-out.
    let shallow = made.item(2, "relief", &[at_crest[0], at_crest[1], ("depth_mm", 0.4)]);
    assert_eq!(made.found(&[pad.clone(), shallow]), []);

    let bar = made.item(2, "metatarsal_bar", &[]);
    let sum = made.found(&[pad.clone(), bar]);
    assert_eq!((rules(&sum), sum[0].severity), (vec!["elements_overlap"], Severity::Info));
    assert!(sum[0].text.contains("The metatarsal pad and the metatarsal bar add up to"), "{}", sum[0].text);

    // A recess keeps its form on a lift, and what takes something in is cut into whatever is there.
    let lift = made.item(1, "heel_lift", &[]);
    assert_eq!(made.found(&[lift, made.item(2, "heel_cushion", &[])]), []);
    let pocket = made.item(2, "pocket", &[at_crest[0], at_crest[1]]);
    assert_eq!(made.found(&[pad.clone(), pocket]), []);
    // On different faces nothing meets.
    assert_eq!(made.found(&[pad, made.item(2, "engraved_text", &at_crest)]), []);
}

#[test]
fn a_skive_asks_for_a_deep_cup_and_with_inversion_for_a_deeper_one() {
    let with_cup = |depth_mm: f64| Made::new(&[("cup_depth_mm".to_owned(), depth_mm)].into());
    let skive = |made: &Made, depth_mm: f64, wedge: &[(&str, f64)]| {
        let mut items = vec![made.item(1, "medial_heel_skive", &[("depth_mm", depth_mm)])];
        if !wedge.is_empty() {
            items.push(made.item(2, "rearfoot_wedge", wedge));
        }
        let mut all = made.found(&items);
        all.retain(|finding| finding.rule == "skive_needs_depth");
        all
    };
    let made = with_cup(12.0);
    let shallow = skive(&made, 4.0, &[]);
    assert!(shallow[0].severity == Severity::Check && shallow[0].text.contains("12.0 mm deep"), "{shallow:?}");
    assert!(shallow[0].text.contains("at least 14 mm"), "{shallow:?}");
    assert_eq!(skive(&made, 0.0, &[]), []);
    let made = with_cup(14.0);
    assert_eq!(skive(&made, 4.0, &[]), []);
    assert_eq!(skive(&made, 4.0, &[("angle_deg", 1.0)]), []);
    let strong = skive(&made, 4.0, &[("angle_deg", 3.0)]);
    assert!(strong[0].text.contains("4.0 mm and 3.0° of inversion 20 to 22 mm"), "{strong:?}");
    // A wedge that raises the lateral side inverts nothing.
    assert_eq!(skive(&made, 4.0, &[("angle_deg", 3.0), ("raised_side", 1.0)]), []);
    assert_eq!(skive(&with_cup(20.0), 6.0, &[("angle_deg", 4.0)]), []);
}
