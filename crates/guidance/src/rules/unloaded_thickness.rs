use crate::{Advice, Rule};
use base::{Severity, Source};
use foot::WeightBearing;

/// Thickness under a foot that was scanned without load is read otherwise than under one that stood.
pub(super) const RULE: Rule = Rule {
    id: "thickness_of_unloaded_scan",
    about: "Soft tissue gives under load, so a surface shaped to an unloaded foot lies closer than its numbers say.",
    source: Source::seen("heel pad 20 ± 2 mm unloaded, loaded to unloaded 0.62 ± 0.09, PMID 16513397"),
    check: |facts| {
        if facts.weight_bearing != Some(WeightBearing::None) || facts.insole.is_none() {
            return Vec::new();
        }
        vec![Advice::new(
            Severity::Info,
            "The foot was scanned without load: standing, its heel pad gives to about 0.62 of its height, so the foot sinks \
             deeper into the cup and spreads.",
            "Check thickness under the heel, cup depth and the shoe's room on the standing foot.",
        )]
    },
};
