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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_file_leaves_out_has_its_default() {
        let plan: HardnessPlan = serde_json::from_str("{}").unwrap();
        assert_eq!(plan, HardnessPlan::default());
        let text = r#"{"regions": [{"id": 3, "points": [[0, 0], [9, 0], [0, 9]], "shore_a": 50}]}"#;
        let plan: HardnessPlan = serde_json::from_str(text).unwrap();
        let region = &plan.regions[0];
        assert!(region.on && region.name.is_empty());
        assert!((region.transition_mm - TRANSITION.default).abs() < 1e-12);
        let again: HardnessPlan = serde_json::from_str(&serde_json::to_string(&plan).unwrap()).unwrap();
        assert_eq!(again, plan);
    }

    #[test]
    fn the_defaults_are_in_range() {
        assert!(SHORE_A.accepts(SHORE_A.default) && TRANSITION.accepts(TRANSITION.default));
    }
}
