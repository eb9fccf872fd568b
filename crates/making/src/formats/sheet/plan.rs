//! What is drawn of an insole in plan, whatever the scale.

use glam::DVec2;
use insole::{Edge, ElementItem};
use std::sync::Arc;

/// The edge of an element as closed lines, and the middle of its longest, foot frame, mm; `None` for a kind that is not
/// known and for one without height.
pub(in crate::formats) fn element_edge(item: &ElementItem, edge: &Arc<Edge>) -> Option<(Vec<Vec<DVec2>>, DVec2)> {
    let lines = insole::elements::lines(item, edge);
    let longest = lines.iter().max_by_key(|line| line.len())?;
    let (lo, hi) = longest.iter().fold((longest[0], longest[0]), |(lo, hi), &p| (lo.min(p), hi.max(p)));
    Some((lines.clone(), (lo + hi) / 2.0))
}
