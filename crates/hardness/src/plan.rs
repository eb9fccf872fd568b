use base::ParamSpec;
use glam::DVec2;
use serde::{Deserialize, Serialize};

/// Target hardness of a region or of the base.
///
/// The usable span of the scale is 10 … 90 (durometer makers' guidance; ISO 868 and ASTM D2240 for the specimen).
pub const SHORE_A: ParamSpec = ParamSpec {
    id: "shore_a",
    label: "Hardness",
    unit: "Shore A",
    min: 10.0,
    max: 90.0,
    default: 35.0,
    step: 1.0,
    help: "Target hardness. The scale is usable from 10 to 90, best from 20 to 80.",
};

/// Width of the band across a region's curve in which the hardness changes.
pub const TRANSITION: ParamSpec = ParamSpec {
    id: "transition_mm",
    label: "Transition",
    unit: "mm",
    min: 2.0,
    max: 40.0,
    default: 10.0,
    step: 0.5,
    help: "Width of the band, half inside and half outside the curve, in which the hardness changes.",
};

/// One hardness region: a closed smooth curve, what is hard inside it, and how gently it changes across the curve.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Region {
    /// Its id in this foot.
    pub id: u32,
    /// Its name.
    #[serde(default)]
    pub name: String,
    /// At least three points of its closed smooth curve, foot frame, mm.
    pub points: Vec<[f64; 2]>,
    /// Target Shore A.
    pub shore_a: f64,
    /// Width of the transition across its curve, mm.
    #[serde(default = "default_transition")]
    pub transition_mm: f64,
    /// Whether it acts.
    #[serde(default = "yes")]
    pub on: bool,
}

/// The hardness of one insole. Later regions lie over earlier ones.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct HardnessPlan {
    /// Shore A outside all regions.
    pub base_shore_a: f64,
    /// The regions, from the lowest to the uppermost.
    pub regions: Vec<Region>,
}

impl Default for HardnessPlan {
    fn default() -> Self {
        HardnessPlan { base_shore_a: SHORE_A.default, regions: Vec::new() }
    }
}

impl Region {
    /// The points as vectors, mm.
    #[must_use]
    pub fn plan_points(&self) -> Vec<DVec2> {
        self.points.iter().map(|&point| point.into()).collect()
    }
}

fn default_transition() -> f64 {
    TRANSITION.default
}

fn yes() -> bool {
    true
}
