use crate::{Advice, Rule};
use base::{Severity, Source};

/// Usual depth of a heel cup, mm.
const USUAL_MM: std::ops::RangeInclusive<f64> = 8.0..=18.0;

/// A heel cup of unusual depth is worth a second look.
pub(super) const RULE: Rule = Rule {
    id: "cup_depth_unusual",
    about: "A shallow cup does not hold the heel pad together; a deep one may not fit the counter of the shoe.",
    source: Source::memory(
        "usual cup depth 8 to 18 mm, from memory; that conformity of the cup lowers heel pressure most: Goske et al. 2006, J Biomech",
    ),
    check: |facts| match facts.insole {
        Some(insole) if !USUAL_MM.contains(&insole.cup_depth_mm) => vec![Advice::new(
            Severity::Info,
            format!("The heel cup is {:.1} mm deep; 8 to 18 mm is usual.", insole.cup_depth_mm),
            "Check it against the shoe's heel counter.",
        )],
        _ => Vec::new(),
    },
};
