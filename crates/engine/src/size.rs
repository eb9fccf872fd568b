//! The pair's size: chosen, or proposed from the longer foot.

use crate::view::{SizeView, SystemView};
use base::{BySide, value_of};
use case::Case;
use last::{Size, TOE_ALLOWANCE};

/// The system a size is proposed in.
const PROPOSED_IN: &str = "paris";

/// The size in force.
#[derive(Clone, Debug)]
pub(crate) struct PairSize {
    pub(crate) size: Size,
    pub(crate) chosen: bool,
    pub(crate) reason: String,
    pub(crate) last_length_mm: f64,
    foot_length_mm: f64,
    allowance_mm: f64,
}

/// The size of the pair, given the foot lengths that could be measured.
pub(crate) fn pair_size(case: &Case, foot_lengths_mm: BySide<Option<f64>>) -> Option<PairSize> {
    let needs = case.feet.iter().filter_map(|(side, foot)| {
        let allowance_mm = value_of(&foot.as_ref()?.last, &TOE_ALLOWANCE);
        Some((side, foot_lengths_mm[side]?, allowance_mm))
    });
    let (side, foot_length_mm, allowance_mm) =
        needs.reduce(|most, next| if next.1 + next.2 > most.1 + most.2 { next } else { most })?;
    let proposed = Size::propose(PROPOSED_IN, foot_length_mm, allowance_mm).ok();
    let needed = format!(
        "the {} foot is {foot_length_mm:.1} mm long and needs {allowance_mm:.0} mm before the toes",
        side.word()
    );
    let (size, chosen) = match (&case.size, proposed) {
        (Some(size), _) => (size.clone(), true),
        (None, Some(size)) => (size, false),
        (None, None) => return None,
    };
    let last_length_mm = size.last_length_mm(allowance_mm).ok()?;
    let reason = if chosen { format!("chosen; {needed}") } else { format!("proposed: {needed}") };
    Some(PairSize { size, chosen, reason, last_length_mm, foot_length_mm, allowance_mm })
}

impl PairSize {
    pub(crate) fn view(&self) -> SizeView {
        let in_system = |system: &last::SizeSystem| {
            let value = if system.id == self.size.system {
                self.size.value
            } else if self.chosen {
                Size::nearest(system.id, self.last_length_mm - self.allowance_mm, self.allowance_mm).ok()?.value
            } else {
                Size::propose(system.id, self.foot_length_mm, self.allowance_mm).ok()?.value
            };
            Some(SystemView {
                id: system.id.to_owned(),
                label: system.label.to_owned(),
                step: system.step,
                value,
                source: system.source.text.to_owned(),
            })
        };
        SizeView {
            used: self.size.to_string(),
            chosen: self.chosen,
            reason: self.reason.clone(),
            last_length_mm: self.last_length_mm,
            systems: last::ALL.iter().filter_map(in_system).collect(),
        }
    }
}
