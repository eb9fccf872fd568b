use crate::{Advice, Rule};
use base::{Severity, Source};

/// An element this program does not know is kept, and does nothing.
pub(super) const RULE: Rule = Rule {
    id: "inactive_element",
    about: "A case from a newer program may hold elements that this one cannot shape.",
    source: Source::practice("how this program keeps what it does not know"),
    check: |facts| {
        let unknown = facts.elements.iter().filter(|item| insole::elements::by_id(&item.kind).is_none());
        unknown
            .map(|item| {
                Advice::new(
                    Severity::Stop,
                    format!("Element {} is of a kind called `{}`, which this program does not know: it is kept but not shaped.", item.id, item.kind),
                    "Open the case with the program it was made in, or remove the element.",
                )
            })
            .collect()
    },
};
