use super::through_recess;
use crate::{Advice, Rule};
use base::{Severity, Source};

/// Less than this is missing by rounding only, mm.
pub(super) const MISSING_MM: f64 = 0.005;

/// Minimum thickness holds everywhere, or it is said where not; where an element takes too much away, that is named instead.
pub(super) const RULE: Rule = Rule {
    id: "too_thin",
    about: "An insole thinner than its material bears cracks or bottoms out.",
    source: Source::practice("the minimum thickness is the practitioner's own number; common practice, no source"),
    check: |facts| {
        let Some(insole) = facts.insole else { return Vec::new() };
        let thinnest = insole.thinnest;
        if thinnest.missing_mm() <= MISSING_MM || through_recess::is_named(facts, thinnest) {
            return Vec::new();
        }
        let through = thinnest.mm < insole::SOLID_MIN_MM;
        let text = if through {
            format!(
                "Next to nothing of the insole is left: {:.1} mm where {:.1} mm are asked for.",
                thinnest.mm, thinnest.least_mm
            )
        } else {
            format!("The insole is {:.1} mm thin where {:.1} mm are asked for.", thinnest.mm, thinnest.least_mm)
        };
        let severity = if through { Severity::Stop } else { Severity::Check };
        vec![
            Advice::new(
                severity,
                text,
                "Make the base or the shell thicker, fill what was sculpted away, or lower the minimum if the material allows.",
            )
            .at(thinnest.at.extend(thinnest.mm)),
        ]
    },
};
