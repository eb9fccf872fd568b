use crate::{Advice, Rule};
use base::{Severity, Source};

/// Steeper than this a change of hardness is likely to be felt as an edge, Shore A per mm.
const STEEP: f64 = 5.0;

/// Hardness should change gently.
pub(super) const RULE: Rule = Rule {
    id: "steep_hardness",
    about: "A hard edge under an insensate foot makes a line of pressure.",
    source: Source::practice("common practice, no source: no published limit was found"),
    check: |facts| {
        let Some(insole) = facts.insole else { return Vec::new() };
        let steepest = insole.steepest;
        if steepest.shore_a_per_mm <= STEEP {
            return Vec::new();
        }
        vec![
            Advice::new(
                Severity::Check,
                format!("The hardness changes by {:.1} Shore A per mm.", steepest.shore_a_per_mm),
                "Widen the transition of the region there.",
            )
            .at(steepest.at.extend(0.0)),
        ]
    },
};
