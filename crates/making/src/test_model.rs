//! A finished pair for tests, by formula.

use crate::{ClassRow, FootModel, LandmarkRow, MakeModel, MeasureRow, Reading, SideModel, SolidPlan};
use base::{BySide, Note, Params, Severity};
use foot::{Landmark, LandmarkId, WeightBearing};
use glam::{DVec2, DVec3};
use hardness::{HardnessPlan, Region};
use insole::{ArchSupport, ElementItem};
use mesh::Grid;

/// A closed curve like an insole's outline: `length` long, about `width` wide, narrower in the middle.
pub(crate) fn blob(length: f64, width: f64, waist: f64, count: usize) -> Vec<DVec2> {
    (0..count)
        .map(|i| {
            let angle = std::f64::consts::TAU * i as f64 / count as f64;
            let (sin, cos) = libm::sincos(angle);
            let across = width / 2.0 * (1.0 - waist * libm::exp(-8.0 * cos * cos));
            DVec2::new(length / 2.0 * (1.0 + cos), across * sin)
        })
        .collect()
}

/// Top of the test insole: a dome on the medial side, highest 11 mm.
fn top(p: DVec2) -> f64 {
    11.0 * libm::exp(-(p - DVec2::new(105.0, 25.0)).length_squared() / 800.0)
}

pub(crate) fn side(length: f64) -> SideModel {
    let outline = blob(length, 92.0, 0.25, 300);
    let solid = SolidPlan::new(&outline, 2.0).unwrap().solid(|p| (top(p), -4.0)).unwrap();
    let mut grid = Grid::over(DVec2::new(0.0, -46.0), DVec2::new(length, 46.0), 1.0);
    for index in 0..grid.values.len() {
        grid.values[index] = top(grid.at(index % grid.columns, index / grid.columns)) as f32;
    }
    let mark = |x: f64, y: f64| Landmark { at: DVec3::new(x, y, 0.0), confidence: 1.0, by_hand: false };
    let pad = ElementItem::new("metatarsal_pad", Params::new());
    SideModel {
        solid,
        silhouette: blob(length - 10.0, 84.0, 0.3, 100),
        print: vec![blob(length - 30.0, 70.0, 0.6, 100)],
        last_outline: blob(length + 4.0, 90.0, 0.25, 300),
        shoe_outline: blob(length + 6.0, 96.0, 0.2, 300),
        trim: Some([DVec2::new(190.0, 30.0), DVec2::new(180.0, -35.0)]),
        outline,
        top: Some(grid),
        landmarks: [
            (LandmarkId::ArchApex, mark(105.0, 25.0)),
            (LandmarkId::HeelCentre, mark(38.0, 0.0)),
            (LandmarkId::MetatarsaleTibiale, mark(186.0, 40.0)),
            (LandmarkId::MetatarsaleFibulare, mark(160.0, -42.0)),
        ]
        .into(),
        measures: vec![
            Reading {
                id: "foot_length_mm".into(),
                label: "Foot length".into(),
                value: length - 8.5,
                unit: "mm".into(),
                digits: 1,
            },
            Reading {
                id: "arch_index".into(),
                label: "Arch index <AI>".into(),
                value: f64::NAN,
                unit: String::new(),
                digits: 3,
            },
        ],
        arch: Some(ArchSupport::new(18.0, &Params::new(), WeightBearing::None)),
        surface: [("cup_depth_mm".to_owned(), 13.5)].into(),
        elements: vec![
            pad.clone(),
            ElementItem { id: 2, on: false, ..pad.clone() },
            ElementItem { id: 3, kind: "<later>".into(), ..pad },
        ],
        hardness: HardnessPlan {
            base_shore_a: 35.0,
            regions: vec![Region {
                id: 1,
                name: "heel & \"rim\"".into(),
                points: vec![[10.0, -15.0], [60.0, -15.0], [60.0, 15.0], [10.0, 15.0]],
                shore_a: 22.0,
                transition_mm: 10.0,
                on: true,
            }],
        },
        findings: vec![Note {
            code: "thin".into(),
            severity: Severity::Stop,
            text: "<script>alert('thin')</script>".into(),
            advice: "Thicken & check".into(),
        }],
    }
}

pub(crate) fn pair() -> MakeModel {
    MakeModel {
        title: "Case 7 <b>\"ü\"</b>".into(),
        notes: "first line\nsecond <i>line</i>".into(),
        date: "2031-05-04".into(),
        program: "Solewright 0".into(),
        size: "Mondopoint 265".into(),
        mass_kg: Some(81.5),
        weight_bearing: Some(WeightBearing::None),
        density_g_cm3: Some(0.2),
        sides: BySide { left: Some(side(260.0)), right: Some(side(264.0)) },
        feet: BySide { left: Some(foot(260.0)), right: Some(foot(264.0)) },
        findings: Vec::new(),
    }
}

/// Half breadths of the test foot along its length, medial and lateral, of a foot 260 mm long.
const BREADTHS: [(f64, f64, f64); 15] = [
    (0.0, 4.0, -4.0),
    (4.0, 16.0, -16.0),
    (14.0, 26.0, -25.0),
    (30.0, 31.0, -31.0),
    (60.0, 32.0, -33.0),
    (100.0, 31.0, -37.0),
    (140.0, 35.0, -42.0),
    (170.0, 45.0, -48.0),
    (186.0, 48.0, -50.0),
    (204.0, 46.0, -48.0),
    (222.0, 43.0, -40.0),
    (238.0, 39.0, -27.0),
    (250.0, 32.0, -12.0),
    (257.0, 24.0, 0.0),
    (260.0, 15.0, 8.0),
];

/// The same outline seen from the medial side, (x, z).
const PROFILE: [(f64, f64); 19] = [
    (4.0, 3.0),
    (20.0, 0.0),
    (200.0, 0.0),
    (225.0, 4.0),
    (250.0, 2.0),
    (258.0, 6.0),
    (260.0, 12.0),
    (254.0, 20.0),
    (236.0, 24.0),
    (210.0, 30.0),
    (180.0, 42.0),
    (150.0, 56.0),
    (125.0, 68.0),
    (105.0, 84.0),
    (96.0, 105.0),
    (14.0, 105.0),
    (11.0, 70.0),
    (2.0, 40.0),
    (0.0, 20.0),
];

/// One foot `length` mm long, with a measure of every kind of path, one without a value and hostile texts.
pub(crate) fn foot(length: f64) -> FootModel {
    let scale = length / 260.0;
    let xy = |x: f64, y: f64| DVec2::new(x, y) * scale;
    let ring = |inset: f64, waist: f64| -> Vec<DVec2> {
        let narrow = |x: f64| waist * libm::exp(-(x - 105.0) * (x - 105.0) / 900.0);
        let lateral = BREADTHS.iter().map(|&(x, _, y)| xy(inset + x * (1.0 - inset / 130.0), y * (1.0 - inset / 50.0)));
        let medial = BREADTHS
            .iter()
            .rev()
            .map(|&(x, y, _)| xy(inset + x * (1.0 - inset / 130.0), (y - narrow(x)) * (1.0 - inset / 50.0)));
        lateral.chain(medial).collect()
    };
    let at = |x: f64, y: f64, z: f64| DVec3::new(x, y, z) * scale;
    let mark = |id: LandmarkId, p: DVec3, confidence: f64| LandmarkRow {
        id: id.id().into(),
        label: id.label().into(),
        at: p,
        confidence,
        by_hand: id == LandmarkId::Navicular,
    };
    let landmarks = vec![
        mark(LandmarkId::Pternion, at(0.0, 0.0, 20.0), 0.97),
        mark(LandmarkId::HeelCentre, at(38.0, 0.0, 0.0), 0.9),
        mark(LandmarkId::ArchApex, at(106.0, 21.0, 17.0), 0.8),
        mark(LandmarkId::Navicular, at(100.0, 30.0, 44.0), 1.0),
        mark(LandmarkId::Instep, at(130.0, 4.0, 65.5), 0.95),
        mark(LandmarkId::MetatarsaleTibiale, at(186.0, 48.0, 18.0), 0.92),
        mark(LandmarkId::MetatarsaleFibulare, at(160.0, -46.0, 12.0), 0.88),
        mark(LandmarkId::SecondToeTip, at(257.0, 0.0, 9.0), 0.7),
        mark(LandmarkId::Akropodion, at(260.0, 12.0, 11.0), 0.96),
    ];
    let row = |id: &str, label: &str, unit: &str, value: f64, path: Vec<Vec<DVec3>>| MeasureRow {
        id: id.into(),
        label: label.into(),
        unit: unit.into(),
        digits: if unit.is_empty() { 3 } else { 1 },
        value: Some(value),
        definition: format!("{label}, measured where the definition says, in one sentence or two."),
        source: if unit == "mm" { "Society <of feet> & lasts 2031".into() } else { "Author 2029, J Feet 1:1".into() },
        path,
        ..MeasureRow::default()
    };
    let class = |author: &str, class: &str, limits: &str| ClassRow {
        author: author.into(),
        class: class.into(),
        limits: limits.into(),
    };
    let along = |x: f64, y: f64| vec![vec![at(0.0, 0.0, 0.0), at(x, 0.0, 0.0), at(x, y, 0.0)]];
    let across = |x: f64, medial: f64, lateral: f64| vec![at(x, medial, 0.0), at(x, lateral, 0.0)];
    let upright = |x: f64, y: f64, z: f64| vec![vec![at(x, y, 0.0), at(x, y, z)]];
    let tape: Vec<DVec3> = (0..=40)
        .map(|k| {
            let (sin, cos) = libm::sincos(std::f64::consts::TAU * f64::from(k % 40) / 40.0);
            at(173.0 + 13.0 * cos, 1.0 + 47.0 * cos, 21.0 + 21.0 * sin)
        })
        .collect();
    let mut girth = row("ball_girth_mm", "Ball girth", "mm", 246.0 * scale, vec![tape]);
    let mut arch =
        row("arch_index", "Arch index <AI>", "", 0.243, vec![across(70.0, 30.0, -46.0), across(130.0, 30.0, -46.0)]);
    arch.classes = vec![
        class("Cavanagh & Rodgers 1987", "normal", "high ≤ 0.21, normal to 0.26, low from there"),
        class("<Other> 2030", "low", "low from 0.24"),
    ];
    arch.disagreement = Some("0.243 is normal by one author's limits & low by <another>'s".into());
    if length > 262.0 {
        girth = MeasureRow {
            value: None,
            path: Vec::new(),
            missing: Some("the skin is missing round the <ball>: scan it again or measure by hand".into()),
            ..girth
        };
        arch.value = Some(0.2547);
    }
    FootModel {
        scan_name: "feet/\"a\" & <b>.stl".into(),
        format: "STL, binary".into(),
        unit: "mm".into(),
        kind: "foot".into(),
        silhouette: ring(0.0, 0.0),
        print: vec![ring(6.0, 38.0)],
        profile: vec![PROFILE.map(|(x, z)| xy(x, z)).to_vec()],
        landmarks,
        measures: vec![
            row("foot_length_mm", "Foot length", "mm", length, along(260.0, 12.0)),
            row("ball_length_mm", "Ball length", "mm", 186.0 * scale, along(186.0, 48.0)),
            row("truncated_length_mm", "Truncated foot length", "mm", 186.0 * scale, along(186.0, 48.0)),
            row("foot_breadth_mm", "Foot breadth", "mm", 98.0 * scale, vec![across(186.0, 48.0, -50.0)]),
            row("heel_breadth_mm", "Heel breadth", "mm", 65.0 * scale, vec![across(52.0, 32.0, -33.0)]),
            girth,
            row("instep_height_mm", "Instep height", "mm", 65.5 * scale, upright(130.0, 4.0, 65.5)),
            row("navicular_height_mm", "Navicular height (estimate)", "mm", 44.0 * scale, upright(100.0, 30.0, 44.0)),
            row("arch_apex_height_mm", "Medial arch height", "mm", 17.0 * scale, upright(106.0, 21.0, 17.0)),
            row(
                "arch_height_index",
                "Arch height index",
                "",
                0.352,
                [upright(130.0, 4.0, 65.5), along(186.0, 48.0)].concat(),
            ),
            arch,
            row(
                "staheli_index",
                "Staheli index",
                "",
                0.62,
                vec![across(104.0, -6.0, -33.0), across(46.0, 26.0, -27.0)],
            ),
            row(
                "chippaux_smirak_percent",
                "Chippaux-Smirak index",
                "%",
                34.5,
                vec![across(104.0, -6.0, -33.0), across(180.0, 41.0, -43.0)],
            ),
            row(
                "hallux_angle_deg",
                "Hallux angle",
                "°",
                length - 251.5,
                vec![vec![at(60.0, 32.0, 0.0), at(188.0, 48.0, 0.0), at(250.0, 32.0, 0.0)]],
            ),
        ],
        changes: vec![row("navicular_drop_mm", "Navicular drop", "mm", 6.25, Vec::new())],
        second: Some(("standing <2>.ply".into(), "under half load".into())),
        notes: vec![
            Note {
                code: "leg".into(),
                severity: Severity::Info,
                text: "Cut the leg off 105 mm above the <support> plane.".into(),
                advice: String::new(),
            },
            Note {
                code: "holes".into(),
                severity: Severity::Check,
                text: "Closed 3 holes in the sole, 214 mm² together.".into(),
                advice: "Look at the sole & scan again if they lie under the heads.".into(),
            },
        ],
    }
}
