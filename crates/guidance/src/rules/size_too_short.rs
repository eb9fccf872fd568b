use crate::{Advice, Rule};
use base::{Severity, Source};

/// Least toe gap found in fit studies of people with diabetes, mm.
const LEAST_GAP_MM: f64 = 10.0;

/// The last must be longer than the foot by the toe allowance.
pub(super) const RULE: Rule = Rule {
    id: "size_too_short",
    about: "Toes that strike the end of the shoe are hurt; an insensate foot does not tell.",
    source: Source::seen(
        "toe gap in diabetic fit studies: at least 10 to 16 mm, narrative review 2020, J Foot Ankle Res, s13047-020-00439-3",
    ),
    check: |facts| {
        let Some(foot) = facts.foot_length_mm else { return Vec::new() };
        let gap = facts.last_length_mm - foot;
        if gap >= facts.toe_allowance_mm.min(LEAST_GAP_MM) - 0.05 {
            return Vec::new();
        }
        vec![Advice::new(
            if gap < 0.0 { Severity::Stop } else { Severity::Check },
            format!(
                "The last is {:.0} mm long, the foot {foot:.1} mm: {gap:.1} mm are left before the toes.",
                facts.last_length_mm
            ),
            "Choose a longer size, or check the foot length on the scan.",
        )]
    },
};
