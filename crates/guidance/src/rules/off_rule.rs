use super::pad_too_far_forward;
use crate::{Advice, PlacedFacts, Rule};
use base::{Severity, Source};

/// Farther from its place than this an element was moved on purpose, or by a slip, mm: about half the distance from one
/// metatarsal head to the next, so that it lies under another ray; two sensors of 4.4 mm made a pad useless (Hsi et al.).
const MOST_MM: f64 = 10.0;

/// An element far from where the landmarks place it.
pub(super) const RULE: Rule = Rule {
    id: "off_rule",
    about: "What lies far from the bones it is named for was moved on purpose, dragged by a slip, or left when a landmark moved.",
    source: Source::practice(
        "10 mm is about half the distance between metatarsal heads: common practice, no source. That 9 mm decide over a pad: Hsi \
         et al. 2005, Am J Phys Med Rehabil 84:514",
    ),
    check: |facts| {
        let far = facts.placed.iter().filter(|placed| goes_by_landmarks(placed));
        far.filter_map(|placed| {
            let off_mm = placed.off_rule_mm.filter(|&off_mm| off_mm > MOST_MM)?;
            if pad_too_far_forward::misplaced(placed, facts.landmarks).is_some() {
                return None;
            }
            let text = format!("The {} lies {off_mm:.0} mm from where the landmarks place it.", placed.name());
            let advice = "See that this is meant: otherwise drag it back, or remove it and add it anew.";
            Some(Advice::new(Severity::Info, text, advice).at(placed.at))
        })
        .collect()
    },
};

/// Whether a kind belongs to a bone: what can be drawn lies where the skin or the insert asks for it, a text where there is
/// room, and a wedge is hinged where its tilt is to begin.
fn goes_by_landmarks(placed: &PlacedFacts) -> bool {
    !placed.kind.is_drawn() && !placed.kind.has_text() && !placed.is_wedge()
}
