//! A finished pair for tests, by formula.

use crate::{MakeModel, Reading, SideModel, SolidPlan};
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
    let solid = SolidPlan::new(&outline, 2.0).unwrap().solid(top, |_| -4.0).unwrap();
    let mut grid = Grid::over(DVec2::new(0.0, -46.0), DVec2::new(length, 46.0), 1.0);
    for index in 0..grid.values.len() {
        grid.values[index] = top(grid.at(index % grid.columns, index / grid.columns)) as f32;
    }
    let mark = |x: f64, y: f64| Landmark { at: DVec3::new(x, y, 0.0), confidence: 1.0, by_hand: false };
    let pad = ElementItem { id: 1, kind: "metatarsal_pad".into(), on: true, params: Params::new() };
    SideModel {
        solid,
        silhouette: blob(length - 10.0, 84.0, 0.3, 100),
        outline,
        top: Some(grid),
        landmarks: [(LandmarkId::ArchApex, mark(105.0, 25.0)), (LandmarkId::HeelCentre, mark(38.0, 0.0))].into(),
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
        findings: Vec::new(),
    }
}
