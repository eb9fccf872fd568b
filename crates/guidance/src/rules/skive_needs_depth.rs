use crate::{Advice, Facts, Rule};
use base::{Severity, Source};

/// Least depth of the cup with a medial skive, mm.
const LEAST_MM: f64 = 14.0;
/// Least depth where skive in mm and inversion in degrees come to more than [`STRONG`], mm.
const LEAST_STRONG_MM: f64 = 20.0;
/// More than this, mm and degrees added up, slides the heel sideways.
const STRONG: f64 = 5.0;

/// A skived heel slides out of a shallow cup.
pub(super) const RULE: Rule = Rule {
    id: "skive_needs_depth",
    about: "A skive pushes the heel sideways, so the cup must be deep enough to hold it.",
    source: Source::seen(
        "cup at least 14 mm deep with a medial skive, 20 to 22 mm if skive in mm and inversion in degrees come to more than 5: \
         podiatry trade article",
    ),
    check: |facts| {
        let Some(insole) = facts.insole else { return Vec::new() };
        let skives = facts.placed.iter().filter(|placed| placed.item.kind == "medial_heel_skive");
        skives
            .filter_map(|skive| {
                let (skive_mm, inversion_deg) = (skive.number("depth_mm"), inversion_deg(facts));
                let is_strong = skive_mm + inversion_deg > STRONG;
                let (least, asked) =
                    if is_strong { (LEAST_STRONG_MM, "20 to 22 mm are") } else { (LEAST_MM, "at least 14 mm is") };
                if skive_mm == 0.0 || insole.cup_depth_mm >= least {
                    return None;
                }
                let text = format!(
                    "The heel cup is {:.1} mm deep; with a skive of {skive_mm:.1} mm and {inversion_deg:.1}° of inversion {asked} \
                     advised.",
                    insole.cup_depth_mm
                );
                let advice = "Make the cup deeper if the shoe's heel counter allows, or the skive and the wedge smaller.";
                Some(Advice::new(Severity::Check, text, advice).at(skive.at))
            })
            .collect()
    },
};

/// By how much the rearfoot wedges raise the medial side, degrees.
fn inversion_deg(facts: &Facts) -> f64 {
    let wedges = facts.placed.iter().filter(|placed| placed.item.kind == "rearfoot_wedge");
    wedges.filter(|wedge| wedge.number("raised_side") < 0.5).map(|wedge| wedge.number("angle_deg")).sum()
}
