use crate::{Advice, Rule};
use base::{Severity, Source};

/// Less than this is within what a print's border is uncertain by, mm.
const OVER_MM: f64 = 2.0;

/// The bearing area should lie on the insole.
pub(super) const RULE: Rule = Rule {
    id: "print_over_edge",
    about: "Skin that bears beyond the insole's edge rides on the edge.",
    source: Source::practice("common practice, no source"),
    check: |facts| {
        let Some(insole) = facts.insole else { return Vec::new() };
        let farthest = facts
            .print
            .iter()
            .flatten()
            .map(|&p| (insole.outline.signed_distance_mm(p), p))
            .reduce(|most, next| if next.0 > most.0 { next } else { most });
        match farthest {
            Some((over, p)) if over > OVER_MM => vec![
                Advice::new(
                    Severity::Check,
                    format!("The foot bears {over:.1} mm beyond the insole's edge."),
                    "Widen the outline there, or check whether the shoe has the room.",
                )
                .at(p.extend(0.0)),
            ],
            _ => Vec::new(),
        }
    },
};
