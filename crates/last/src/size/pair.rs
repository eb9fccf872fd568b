use super::rules::{Allowance, SizeRule, propose};
use super::{Counts, Size, SizeError};
use base::{BySide, Side};
use serde::Serialize;

/// One size for both feet, and why.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PairProposal {
    /// The size.
    pub size: Size,
    /// The foot that decides.
    pub decided_by: Side,
    /// Why, in words for the form and the sheet; begins in lower case.
    pub reason: String,
    /// What each foot would take by itself.
    pub per_foot: BySide<Option<Size>>,
    /// Whether these are more than one step apart.
    pub differ: bool,
}

/// Feet whose own sizes are this many steps apart still share a pair without a word (common practice, no source).
const SHARED_STEPS: f64 = 1.0;

/// The size of a pair by `rule`: that of the foot that needs the longer one. `lengths_mm` are foot lengths and
/// `allowances_mm` the toe allowances set for each foot.
///
/// # Errors
/// No foot length at all, or one that the rule's scale has no size for.
pub fn propose_pair(
    lengths_mm: BySide<Option<f64>>,
    allowances_mm: BySide<f64>,
    rule: &SizeRule,
) -> Result<PairProposal, SizeError> {
    let exact = |side: Side| lengths_mm[side].map(|mm| rule.size_for(mm, allowances_mm[side]));
    let own = |side: Side| lengths_mm[side].map(|mm| propose(rule, mm, allowances_mm[side]));
    let decided_by = match (exact(Side::Left), exact(Side::Right)) {
        (Some(left), Some(right)) if right > left => Side::Right,
        (Some(_), _) => Side::Left,
        (None, Some(_)) => Side::Right,
        (None, None) => return Err(SizeError::NoFoot),
    };
    let size = own(decided_by).unwrap_or(Err(SizeError::NoFoot))?;
    let per_foot = BySide::from_fn(|side| own(side).and_then(Result::ok));

    let length_mm = lengths_mm[decided_by].unwrap_or(f64::NAN);
    let mut reason = format!(
        "the {} foot is {length_mm:.1} mm long and {}",
        decided_by.word(),
        need(rule, allowances_mm[decided_by])
    );
    let other = decided_by.other();
    let mut differ = false;
    if let (Some(scale), Some(least)) = (rule.scale(), exact(other)) {
        reason +=
            if scale.counts == Counts::FootLength { "; it is the longer foot" } else { "; it needs the longer last" };
        // A foot too short for the scale has no size of its own on it, but still a number.
        let steps = per_foot[other]
            .as_ref()
            .map_or((size.value - least) / scale.step, |own| (size.value - own.value) / scale.step);
        differ = steps > SHARED_STEPS + STEP_ROUNDING;
        if differ {
            reason += &format!(
                "; by itself the {} foot would take a size {steps:.0} steps smaller: split sizes or a toe filler are the choices (common practice)",
                other.word()
            );
        }
    }
    Ok(PairProposal { size, decided_by, reason, per_foot, differ })
}

/// Steps are counted from numbers that carry rounding.
const STEP_ROUNDING: f64 = 1e-6;

fn need(rule: &SizeRule, own_mm: f64) -> String {
    match rule.allowance {
        Allowance::Own if !rule.heeds_allowance() => {
            format!("is named by its length; {own_mm:.0} mm before the toes come on top")
        }
        Allowance::Own => format!("needs {own_mm:.0} mm before the toes"),
        Allowance::FixedMm(fixed_mm) => format!("this rule adds {fixed_mm:.1} mm before the toes"),
    }
}
