//! The rules, one a file. A new rule is a file and a line in [`ALL`].

mod arch_above_skin;
mod beyond_usual;
mod cup_depth;
mod fighting;
mod inactive_element;
mod joint_girth;
mod off_rule;
mod pad_too_far_forward;
mod print_over_edge;
mod shoe_depth;
mod size_too_short;
mod skive_needs_depth;
mod steep_hardness;
mod thin;
mod through_recess;
mod too_steep;
mod uncertain_landmark;
mod unloaded_thickness;
mod weight_bearing;

use crate::Rule;

/// Every rule, in the order its findings are listed within one severity.
pub const ALL: &[Rule] = &[
    weight_bearing::RULE,
    uncertain_landmark::RULE,
    size_too_short::RULE,
    print_over_edge::RULE,
    shoe_depth::RULE,
    joint_girth::RULE,
    through_recess::RULE,
    thin::RULE,
    unloaded_thickness::RULE,
    too_steep::RULE,
    pad_too_far_forward::RULE,
    fighting::RULE,
    beyond_usual::RULE,
    off_rule::RULE,
    arch_above_skin::RULE,
    cup_depth::RULE,
    skive_needs_depth::RULE,
    steep_hardness::RULE,
    inactive_element::RULE,
];

#[cfg(test)]
mod tests;
