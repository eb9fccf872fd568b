use crate::{Advice, PlacedFacts, Rule, metatarsal_line_x};
use base::{Severity, Source};
use foot::Landmarks;
use glam::DVec2;

/// The front edge of a metatarsal pad may come this near to the line of the heads, mm.
const LEAST_BEHIND_MM: f64 = 2.0;
/// Farther behind than this a pad was found to do little, mm: two sensors of 4.4 mm and the usual 5 to 10 mm before.
const MOST_BEHIND_MM: f64 = 18.0;

/// A bar's bevel may reach this high under a head, mm: what its run-out has there at most.
const MOST_UNDER_HEAD_MM: f64 = 0.5;

/// A metatarsal pad, or bar, belongs just behind the heads.
pub(super) const RULE: Rule = Rule {
    id: "metatarsal_pad_place",
    about: "A pad under the heads presses where it should relieve; one far behind does little.",
    source: Source::seen(
        "just proximal to the head −37 % peak pressure, two sensors farther no significant drop: Hsi et al. 2005, Am J Phys \
         Med Rehabil 84:514; 6 to 10 mm behind the peak: podiatry trade article quoting a 2003 study. The evidence conflicts: \
         J Foot Ankle Res 2014 7:18 found 5 mm distal no worse",
    ),
    check: |facts| facts.placed.iter().filter_map(|placed| misplaced(placed, facts.landmarks)).collect(),
};

/// What is found on the place of a pad or a bar.
pub(super) fn misplaced(placed: &PlacedFacts, landmarks: &Landmarks) -> Option<Advice> {
    match placed.item.kind.as_str() {
        "metatarsal_pad" => pad(placed, landmarks),
        "metatarsal_bar" => bar(placed),
        _ => None,
    }
}

fn pad(pad: &PlacedFacts, landmarks: &Landmarks) -> Option<Advice> {
    let (x, y) = (pad.number("x_mm"), pad.number("y_mm"));
    let behind = metatarsal_line_x(landmarks, y)? - x;
    let text = if behind < LEAST_BEHIND_MM {
        let forward = LEAST_BEHIND_MM - behind;
        format!(
            "The pad lies {forward:.1} mm too far forward: its front edge is {behind:.1} mm behind the line of the metatarsal heads."
        )
    } else if behind > MOST_BEHIND_MM {
        format!(
            "The pad's front edge is {behind:.1} mm behind the line of the metatarsal heads: so far back a pad was found to relieve little."
        )
    } else {
        return None;
    };
    let advice = "Its front edge belongs about 5 to 10 mm behind the metatarsal heads.";
    Some(Advice::new(Severity::Check, text, advice).at(DVec2::new(x, y).extend(0.0)))
}

fn bar(bar: &PlacedFacts) -> Option<Advice> {
    let highest = bar.under_heads.iter().max_by(|a, b| a.1.total_cmp(&b.1));
    let (head, under_mm) = highest.filter(|(_, under_mm)| *under_mm > MOST_UNDER_HEAD_MM)?;
    let head = head.label().trim_end_matches(" (estimate)").to_ascii_lowercase();
    let text = format!("The bar is {under_mm:.1} mm high under {head}: it presses where it should relieve.");
    let advice =
        "Move it back until its front edge lies about 5 to 10 mm behind the heads, or verify it by measured pressure.";
    Some(Advice::new(Severity::Check, text, advice).at(bar.at))
}
