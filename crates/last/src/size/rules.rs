//! How a foot length becomes a size: the published rules that disagree, each by its name.

use super::systems::INCH_MM;
use super::{Counts, Size, SizeError, SizeSystem, system};
use base::Source;
use serde::Serialize;

/// What a rule puts between foot and last.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Allowance {
    /// The toe allowance that is set for the foot.
    Own,
    /// Always as many millimetres, whatever is set.
    FixedMm(f64),
}

/// A rule from foot length to size.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SizeRule {
    /// Stable id, as in the case: `paris_15`.
    pub id: &'static str,
    /// Label in the trade's words.
    pub label: &'static str,
    /// Id of the system whose number it gives.
    pub system: &'static str,
    /// What it puts between foot and last.
    pub allowance: Allowance,
    /// The rule as it is written; FL is the foot length.
    pub formula: &'static str,
    /// Where it comes from.
    pub source: Source,
}

/// What a rule says of one foot.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RuleAnswer {
    /// The rule.
    pub rule: &'static SizeRule,
    /// The number before it is rounded up.
    pub exact: f64,
    /// The smallest size that holds the foot; `None` where the scale has none.
    pub size: Option<Size>,
}

/// What fit studies ask between the longest toe and the front of the shoe for feet at risk. For the form beside the
/// setting: a rule with less than the least number is no rule for such a foot.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct AllowanceAdvice {
    /// From the least to the greatest number that studies name as the minimum, mm.
    pub minimum_mm: (f64, f64),
    /// From the least to the greatest number that studies name as the maximum, mm.
    pub maximum_mm: (f64, f64),
    /// Where the numbers come from.
    pub source: Source,
}

/// Toe allowance for feet at risk.
pub const AT_RISK_ALLOWANCE: AllowanceAdvice = AllowanceAdvice {
    minimum_mm: (10.0, 16.0),
    maximum_mm: (15.0, 20.0),
    source: Source::seen(
        "fit studies in diabetes: minimum 10 to 16 mm, maximum 15 to 20 mm (narrative review, J Foot Ankle Res 2020, 10.1186/s13047-020-00439-3)",
    ),
};

/// Two thirds of an inch: what published British and American converters put between foot and last, mm.
const TWO_THIRDS_INCH_MM: f64 = 2.0 / 3.0 * INCH_MM;

const CONVERTER: Source = Source::seen("published web converter, no standard");

/// The rules, those with the allowance that is set first for every system.
pub const ALL: &[SizeRule] = &[
    own("mondopoint_own", "Mondopoint", "mondopoint", "FL mm, up to the next 5 mm"),
    own("cm_own", "Centimetres", "cm", "FL cm, up to the next half"),
    own("paris_own", "Paris point, allowance set here", "paris", "1.5 · (FL cm + allowance cm)"),
    fixed("paris_15", "Paris point, 15 mm", "paris", 15.0, "1.5 · (FL cm + 1.5)"),
    fixed("paris_13", "Paris point, 13.3 mm", "paris", 40.0 / 3.0, "1.5 · FL cm + 2"),
    fixed("paris_20", "Paris point, 20 mm", "paris", 20.0, "(FL mm + 20) / 6.67"),
    own("uk_own", "UK adult, allowance set here", "uk", "3 · (FL in + allowance in) − 25"),
    fixed("uk_17", "UK adult, 16.9 mm", "uk", TWO_THIRDS_INCH_MM, "3 · FL in − 23"),
    own("uk_c_own", "UK children, allowance set here", "uk-c", "3 · (FL in + allowance in) − 12"),
    fixed("uk_c_17", "UK children, 16.9 mm", "uk-c", TWO_THIRDS_INCH_MM, "3 · FL in − 10"),
    own("us_m_own", "US men, allowance set here", "us-m", "3 · (FL in + allowance in) − 24"),
    fixed("us_m_17", "US men, 16.9 mm", "us-m", TWO_THIRDS_INCH_MM, "3 · FL in − 22"),
    own("us_w_own", "US women, allowance set here", "us-w", "3 · (FL in + allowance in) − 22½"),
    SizeRule {
        id: "us_w_plus_1",
        label: "US women as men + 1",
        system: "us-w",
        // 3 · (FL + ½ in) − 22½. A shoe numbered so is built half a size longer than the number says on the system's scale.
        allowance: Allowance::FixedMm(INCH_MM / 2.0),
        formula: "3 · FL in − 21",
        source: Source::seen(
            "published web converters, no standard: women's number = men's + 1. The scale here is men's + 1½: by it the same number is a last half a size (4.2 mm) shorter than these texts mean; check the shoe's inner length",
        ),
    },
    own("us_c_own", "US children, allowance set here", "us-c", "3 · (FL in + allowance in) − 11⅔"),
    fixed("us_c_17", "US children, 16.9 mm", "us-c", TWO_THIRDS_INCH_MM, "3 · FL in − 9⅔"),
];

const fn own(id: &'static str, label: &'static str, system: &'static str, formula: &'static str) -> SizeRule {
    let source = Source::computed("the scale itself, with the toe allowance set for the foot");
    SizeRule { id, label, system, allowance: Allowance::Own, formula, source }
}

const fn fixed(
    id: &'static str,
    label: &'static str,
    system: &'static str,
    allowance_mm: f64,
    formula: &'static str,
) -> SizeRule {
    SizeRule { id, label, system, allowance: Allowance::FixedMm(allowance_mm), formula, source: CONVERTER }
}

/// The rule with this id.
#[must_use]
pub fn rule(id: &str) -> Option<&'static SizeRule> {
    ALL.iter().find(|rule| rule.id == id)
}

/// What every rule says of a foot of `foot_mm` with `allowance_mm` set: the spread in one table.
#[must_use]
pub fn all_answers(foot_mm: f64, allowance_mm: f64) -> Vec<RuleAnswer> {
    ALL.iter()
        .map(|rule| RuleAnswer {
            rule,
            exact: rule.size_for(foot_mm, allowance_mm),
            size: propose(rule, foot_mm, allowance_mm).ok(),
        })
        .collect()
}

/// The smallest size by `rule` that holds a foot of `foot_mm`; `allowance_mm` is what is set for the foot.
///
/// # Errors
/// A length that no foot has or that is beyond the rule's scale.
pub fn propose(rule: &SizeRule, foot_mm: f64, allowance_mm: f64) -> Result<Size, SizeError> {
    Size::propose(rule.system, foot_mm, rule.allowance_mm(allowance_mm))
}

impl SizeRule {
    /// What the rule puts between foot and last, mm, where `own_mm` is set for the foot.
    #[must_use]
    pub fn allowance_mm(&self, own_mm: f64) -> f64 {
        match self.allowance {
            Allowance::Own => own_mm,
            Allowance::FixedMm(fixed_mm) => fixed_mm,
        }
    }

    /// The number by the rule, not rounded, for a foot of `foot_mm` with `allowance_mm` set; not a number if the rule's system
    /// is none.
    #[must_use]
    pub fn size_for(&self, foot_mm: f64, allowance_mm: f64) -> f64 {
        self.scale().map_or(f64::NAN, |scale| scale.value_for(foot_mm, self.allowance_mm(allowance_mm)))
    }

    /// Whether the allowance set for the foot changes what the rule says.
    #[must_use]
    pub fn heeds_allowance(&self) -> bool {
        self.allowance == Allowance::Own && self.scale().is_some_and(|scale| scale.counts == Counts::LastLength)
    }

    /// The system whose number it gives.
    pub(crate) fn scale(&self) -> Option<&'static SizeSystem> {
        system(self.system)
    }
}
