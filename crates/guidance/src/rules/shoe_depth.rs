use crate::{Advice, DepthPlace, Rule};
use base::{Severity, Source};

/// Foot and insole together must find room in the shoe's depth.
pub(super) const RULE: Rule = Rule {
    id: "shoe_depth",
    about: "Where foot and insole are higher than the shoe, the upper presses on skin that may not feel it.",
    source: Source::practice("common practice, no source"),
    check: |facts| facts.depths.iter().filter_map(advice).collect(),
};

/// Less than this is within what a depth is measured to, mm.
const CLOSE_MM: f64 = 2.0;

fn advice(place: &DepthPlace) -> Option<Advice> {
    let Some(needs_mm) = place.needs_mm else {
        let text = format!(
            "The room at the {} cannot be checked: the scan does not show the foot's height there.",
            place.label
        );
        return Some(Advice::new(Severity::Info, text, "Try on, or scan the top of the foot too.").at(place.at));
    };
    let room_mm = place.depth_mm - needs_mm;
    let numbers = format!("{:.0} mm of depth, {needs_mm:.0} mm needed by {}", place.depth_mm, place.by);
    let (severity, text) = if room_mm < 0.0 {
        (Severity::Stop, format!("The shoe is {:.0} mm too shallow at the {}: {numbers}.", -room_mm, place.label))
    } else if room_mm < CLOSE_MM {
        (Severity::Check, format!("The shoe is tight at the {}: {numbers}.", place.label))
    } else {
        return None;
    };
    let todo = "Choose a deeper shoe, a thinner insole or a lower cup there; try on and feel for pressure.";
    Some(Advice::new(severity, text, todo).at(place.at))
}
