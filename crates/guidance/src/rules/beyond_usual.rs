use crate::{Advice, PlacedFacts, Rule};
use base::{Severity, Source};

/// As far as numbers are told, so that none is said to be beyond a limit that it is told equal to.
const TOLD_TO: f64 = 0.05;

/// A number beyond what is usual is worth a second look.
pub(super) const RULE: Rule = Rule {
    id: "beyond_usual",
    about: "A number far from what is usual is either meant for this foot or a slip of the hand.",
    source: Source::practice("usual ranges as each kind of element states them, with its own source in the text"),
    check: |facts| facts.placed.iter().flat_map(beyond).collect(),
};

fn beyond(placed: &PlacedFacts) -> Vec<Advice> {
    // An element without strength is nothing, however its other numbers are set.
    if placed.number(placed.kind.strength()) == 0.0 {
        return Vec::new();
    }
    let numbers = placed.kind.params().iter();
    numbers
        .filter_map(|spec| {
            let (least, most) = placed.kind.usual(spec.id)?;
            let value = placed.number(spec.id);
            if value >= least - TOLD_TO && value <= most + TOLD_TO {
                return None;
            }
            let unit = if spec.unit == "°" { "°".to_owned() } else { format!(" {}", spec.unit) };
            let text = format!(
                "{}: {} {value:.1}{unit}; {least} to {most}{unit} is usual ({}).",
                placed.kind.label(),
                spec.label.to_ascii_lowercase(),
                placed.kind.source().text,
            );
            let advice = "Set it within the usual range, or be sure that this foot asks for it and follow it up.";
            Some(Advice::new(Severity::Check, text, advice).at(placed.at))
        })
        .collect()
}
