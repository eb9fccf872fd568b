use crate::{Advice, Rule};
use base::{Severity, Source};

/// Minimum thickness holds everywhere, or it is said where not.
pub(super) const RULE: Rule = Rule {
    id: "too_thin",
    about: "An insole thinner than its material bears cracks or bottoms out.",
    source: Source::practice("the minimum thickness is the practitioner's own number; common practice, no source"),
    check: |facts| {
        let Some(insole) = facts.insole else { return Vec::new() };
        let thinnest = insole.thinnest;
        if thinnest.missing_mm() <= 0.005 {
            return Vec::new();
        }
        let through = thinnest.mm < insole::SOLID_MIN_MM;
        let text = if through {
            format!(
                "A recess goes through the insole: {:.1} mm are left where {:.1} mm are asked for.",
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
                "Make the base thicker, the recess shallower, or the minimum smaller if the material allows.",
            )
            .at(thinnest.at.extend(thinnest.mm)),
        ]
    },
};
