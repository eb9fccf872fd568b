use crate::{Advice, Rule};
use base::{Severity, Source};

/// The state in which the foot was scanned must be stated.
pub(super) const RULE: Rule = Rule {
    id: "weight_bearing_not_stated",
    about: "The arch sinks under load: a support height means nothing without the state the foot was scanned in.",
    source: Source::seen("mean arch drop from sitting to standing 4.1 mm over 2,180 feet, PMC7393860"),
    check: |facts| {
        if facts.weight_bearing.is_some() {
            return Vec::new();
        }
        vec![Advice::new(
            Severity::Check,
            "How the foot was loaded during the scan is not stated; until it is, the least arch fill is used.",
            "Say under Intake whether the foot hung free, carried part of the weight or all of it.",
        )]
    },
};
