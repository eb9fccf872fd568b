use super::thin::MISSING_MM;
use crate::{Advice, Facts, Rule};
use base::{Severity, Source};
use insole::Thin;

/// A recess must leave what the material needs.
pub(super) const RULE: Rule = Rule {
    id: "through_recess",
    about: "A recess deeper than the insole allows leaves a hole, or a skin that cracks or bottoms out.",
    source: Source::practice("the minimum thickness is the practitioner's own number; common practice, no source"),
    check: |facts| {
        let deep = facts.placed.iter().filter_map(|placed| Some((placed, placed.leaves?)));
        deep.filter(|(_, left)| left.missing_mm() > MISSING_MM)
            .map(|(placed, left)| {
                let (name, numbers) = (placed.name(), numbers(left));
                let (severity, text) = if left.mm < insole::SOLID_MIN_MM {
                    (Severity::Stop, format!("The {name} goes through the insole: {numbers}."))
                } else {
                    (Severity::Check, format!("The {name} leaves too little of the insole: {numbers}."))
                };
                let advice = "Make it shallower, the base thicker, or the minimum smaller if the material allows.";
                Advice::new(severity, text, advice).at(left.at.extend(placed.at.z))
            })
            .collect()
    },
};

fn numbers(left: Thin) -> String {
    format!("{:.1} mm are left where {:.1} mm are asked for", left.mm, left.least_mm)
}

/// Whether a recess is named for the thinnest place, or for one that misses as much.
pub(super) fn is_named(facts: &Facts, thinnest: Thin) -> bool {
    let left = facts.placed.iter().filter_map(|placed| placed.leaves);
    left.map(|left| left.missing_mm()).any(|missing_mm| missing_mm > thinnest.missing_mm() - MISSING_MM)
}
