//! The pair's size: chosen, or proposed by a rule from the foot that needs the longer one; and the size of each foot.

use crate::snapshot::cited;
use crate::view::{RuleView, SizeView, SystemView};
use base::{BySide, Side, value_of};
use case::Case;
use last::rules::{self, SizeRule};
use last::{MondopointLabel, Size, TOE_ALLOWANCE, propose_pair};

/// The rule a size is proposed by while none is chosen.
const USUAL_RULE: &str = "paris_own";

/// The sizes in force.
#[derive(Clone, Debug)]
pub(crate) struct PairSize {
    pub(crate) size: Size,
    pub(crate) chosen: bool,
    pub(crate) reason: String,
    pub(crate) last_length_mm: f64,
    /// Size of each foot's insole, and whether it was chosen apart from the pair's.
    pub(crate) feet: BySide<Option<(Size, bool)>>,
    rule: &'static SizeRule,
    /// The foot that decides, its length and the allowance set for it.
    decided_by: Side,
    foot_length_mm: f64,
    allowances_mm: BySide<f64>,
    breadths_mm: BySide<Option<f64>>,
}

/// The size of the pair, given the foot lengths and breadths that could be measured.
pub(crate) fn pair_size(
    case: &Case,
    lengths_mm: BySide<Option<f64>>,
    breadths_mm: BySide<Option<f64>>,
) -> Option<PairSize> {
    let rule = case.size_rule.as_deref().and_then(rules::rule).or_else(|| rules::rule(USUAL_RULE))?;
    let allowances_mm = BySide::from_fn(|side| {
        case.feet[side].as_ref().map_or(TOE_ALLOWANCE.default, |foot| value_of(&foot.last, &TOE_ALLOWANCE))
    });
    let longer = |a: Side, b: Side| {
        let needs = |side: Side| lengths_mm[side].map(|mm| mm + allowances_mm[side]);
        if needs(b) > needs(a) { b } else { a }
    };
    let proposed = propose_pair(lengths_mm, allowances_mm, rule).ok();
    let decided_by = proposed.as_ref().map_or_else(|| longer(Side::Left, Side::Right), |proposal| proposal.decided_by);
    let foot_length_mm = lengths_mm[decided_by]?;
    let allowance_mm = allowances_mm[decided_by];
    let needed = proposed.as_ref().map_or_else(
        || format!("the {} foot is {foot_length_mm:.1} mm long", decided_by.word()),
        |proposal| proposal.reason.clone(),
    );
    let (size, chosen) = match (&case.size, &proposed) {
        (Some(size), _) => (size.clone(), true),
        (None, Some(proposal)) => (proposal.size.clone(), false),
        (None, None) => return None,
    };
    let last_length_mm = size.last_length_mm(allowance_mm).ok()?;
    let feet = BySide::from_fn(|side| {
        let foot = case.feet[side].as_ref()?;
        Some(foot.size.clone().map_or_else(|| (size.clone(), false), |own| (own, true)))
    });
    let reason = if chosen { format!("chosen; {needed}") } else { format!("proposed: {needed}") };
    Some(PairSize {
        size,
        chosen,
        reason,
        last_length_mm,
        feet,
        rule,
        decided_by,
        foot_length_mm,
        allowances_mm,
        breadths_mm,
    })
}

impl PairSize {
    /// Length of the last of one foot, mm.
    pub(crate) fn last_length_of(&self, side: Side) -> f64 {
        let own = self.feet[side].as_ref().filter(|(_, own)| *own);
        let length_mm = own.and_then(|(size, _)| size.last_length_mm(self.allowances_mm[side]).ok());
        length_mm.unwrap_or(self.last_length_mm)
    }

    pub(crate) fn view(&self) -> SizeView {
        let allowance_mm = self.allowances_mm[self.decided_by];
        let in_system = |system: &last::SizeSystem| {
            let value = if system.id == self.size.system {
                self.size.value
            } else if self.chosen {
                Size::nearest(system.id, self.last_length_mm - allowance_mm, allowance_mm).ok()?.value
            } else {
                Size::propose(system.id, self.foot_length_mm, allowance_mm).ok()?.value
            };
            Some(SystemView {
                id: system.id.to_owned(),
                label: system.label.to_owned(),
                step: system.step,
                value,
                source: cited(&system.source),
            })
        };
        let by_rule = |answer: rules::RuleAnswer| RuleView {
            id: answer.rule.id.to_owned(),
            label: answer.rule.label.to_owned(),
            formula: answer.rule.formula.to_owned(),
            exact: answer.exact,
            size: answer.size.map(|size| size.value),
            source: cited(&answer.rule.source),
        };
        let label = MondopointLabel::for_foot(self.foot_length_mm, self.breadths_mm[self.decided_by]);
        SizeView {
            used: self.size.to_string(),
            chosen: self.chosen,
            reason: self.reason.clone(),
            last_length_mm: self.last_length_mm,
            systems: last::ALL.iter().filter_map(in_system).collect(),
            rule: self.rule.id.to_owned(),
            rules: rules::all_answers(self.foot_length_mm, allowance_mm).into_iter().map(by_rule).collect(),
            mondopoint: label.ok().map(|label| label.to_string()),
        }
    }
}
