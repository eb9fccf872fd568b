use crate::{Advice, PlacedFacts, Rule};
use base::{Severity, Source};
use glam::DVec3;

/// Less than this of an element is its run-out, mm.
const LEAST_MM: f64 = 0.5;
/// More than this of two elements each is felt as one that is as high as both, mm.
const ADDS_UP_MM: f64 = 2.0;

/// What takes something in, as deep as that is thick, whatever it is cut into.
const FITTINGS: [&str; 2] = ["cover_groove", "pocket"];

/// Two elements at one place undo each other, or add up.
pub(super) const RULE: Rule = Rule {
    id: "elements_overlap",
    about: "A recess in what another element raises does half of neither; two raised ones are as high as both together.",
    source: Source::practice("common practice, no source"),
    check: |facts| {
        let placed = facts.placed.iter().enumerate();
        placed
            .flat_map(|(index, one)| facts.placed[index + 1..].iter().map(move |other| (one, other)))
            .filter_map(|(one, other)| overlap(one, other))
            .collect()
    },
};

fn overlap<'a>(one: &'a PlacedFacts, other: &'a PlacedFacts) -> Option<Advice> {
    let meeting = Meeting::of(one, other)?;
    let (a, b) = (meeting.heights.0.abs(), meeting.heights.1.abs());
    if meeting.heights.0 * meeting.heights.1 > 0.0 {
        if a.min(b) <= ADDS_UP_MM {
            return None;
        }
        let text = format!(
            "The {} and the {} add up to {:.1} mm {}: {a:.1} and {b:.1} mm.",
            one.name(),
            other.name(),
            a + b,
            if meeting.heights.0 > 0.0 { "of height" } else { "of depth" },
        );
        let advice = "See that the sum is meant; otherwise reduce one of them or move it aside.";
        return Some(Advice::new(Severity::Info, text, advice).at(meeting.at));
    }
    let ((taker, takes), (adder, adds)) =
        if meeting.heights.0 < 0.0 { ((one, a), (other, b)) } else { ((other, b), (one, a)) };
    if a.min(b) <= LEAST_MM || is_fitted(taker) || carries(adder) {
        return None;
    }
    let text = format!("The {} takes {takes:.1} mm away where the {} adds {adds:.1} mm.", taker.name(), adder.name());
    let advice = "Decide which of both this place needs: move the other one aside, make it smaller or remove it.";
    Some(Advice::new(Severity::Check, text, advice).at(meeting.at))
}

/// What two elements are at the crest of that one where both are something.
struct Meeting {
    at: DVec3,
    heights: (f64, f64),
}

impl Meeting {
    /// `None` for elements on different faces.
    fn of(one: &PlacedFacts, other: &PlacedFacts) -> Option<Meeting> {
        let there = |of: &PlacedFacts, id| of.others.iter().find(|(other, _)| *other == id).map(|(_, height)| *height);
        let at_one = Meeting { at: one.at, heights: (one.height_mm, there(one, other.item.id)?) };
        let at_other = Meeting { at: other.at, heights: (there(other, one.item.id)?, other.height_mm) };
        Some(if at_other.both_mm() > at_one.both_mm() { at_other } else { at_one })
    }

    /// What both are at least.
    fn both_mm(&self) -> f64 {
        self.heights.0.abs().min(self.heights.1.abs())
    }
}

fn is_fitted(taker: &PlacedFacts) -> bool {
    taker.kind.has_text() || FITTINGS.contains(&taker.item.kind.as_str())
}

/// Whether others keep their form on it, since it tilts or raises their surroundings with them.
fn carries(adder: &PlacedFacts) -> bool {
    adder.is_wedge() || adder.item.kind == "heel_lift"
}
