use crate::{Advice, Rule};
use base::{Severity, Source};
use foot::LandmarkId;

/// An arch support higher than the skin lifts the foot off its own arch.
pub(super) const RULE: Rule = Rule {
    id: "arch_above_skin",
    about: "A support above the scanned arch presses the midfoot, which an insensate foot does not tell.",
    source: Source::seen(
        "arch ±6 mm changed the compression of the arch's tissue from 9.1 to 11.8 %: Sweeney et al. 2015, J Rehabil Res Dev 52:543",
    ),
    check: |facts| {
        let Some(insole) = facts.insole else { return Vec::new() };
        let over = insole.arch.used_mm - insole.arch.bounds_mm.1;
        if over <= 0.05 {
            return Vec::new();
        }
        let advice = Advice::new(
            Severity::Check,
            format!(
                "The arch support is {:.1} mm high, {over:.1} mm above the foot's own unloaded arch or the room in the shoe.",
                insole.arch.used_mm
            ),
            "Lower it, or be sure that this lift is wanted and watch the skin closely.",
        );
        vec![match facts.landmarks.get(&LandmarkId::ArchApex) {
            Some(apex) => advice.at(apex.at),
            None => advice,
        }]
    },
};
