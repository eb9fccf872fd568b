use crate::{Advice, Rule};
use base::{Severity, Source};

/// A slope steeper than the shop can make comes out otherwise than designed.
pub(super) const RULE: Rule = Rule {
    id: "too_steep",
    about: "Where the top is steeper than the shop's mill or printer makes clean, the insole is not what was designed.",
    source: Source::practice("the limit is the practitioner's own number; no source: ask the shop"),
    check: |facts| {
        let Some(insole) = facts.insole else { return Vec::new() };
        let steepest = insole.steepest_slope;
        if steepest.mm <= insole.slope_limit_deg {
            return Vec::new();
        }
        let text = format!(
            "The top is {:.0}° steep from level where {:.0}° can be made.",
            steepest.mm.ceil(),
            insole.slope_limit_deg
        );
        let advice = "Widen the blend, bevel or wall of the element there or make it lower; or ask the shop how steep it can go.";
        vec![Advice::new(Severity::Check, text, advice).at(steepest.at.extend(0.0))]
    },
};
