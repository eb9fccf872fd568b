//! The edits of the insole's edge: each is made on the edge as it was when the gesture began.

use crate::EngineError;
use crate::outlined::{EdgeKey, Outlined, outline_of};
use crate::view_outline::{OutlineHand, OutlineRequest};
use base::{Report, Side};
use case::{Edit, FootCase};
use foot::Landmarks;
use glam::DVec2;
use last::{Outline, OutlineChange, ShoeInsole, Trim, changed, snapped};

/// A place snaps to the shoe's insole from this far, mm.
const SNAP_MM: f64 = 3.0;

/// The edge that a change starts from: as drawn by hand in `committed`, or as it is while no hand has drawn it.
fn start(committed: &FootCase, outlined: &Outlined) -> Result<Outline, String> {
    match &committed.outline {
        Some(points) => outline_of(points),
        None => EdgeKey::new(0, committed).undrawn(&outlined.fitted, outlined.shoe.as_ref(), &mut Report::default()),
    }
}

/// The edit that changes the edge.
pub(crate) fn change_edit(
    side: Side,
    committed: &FootCase,
    outlined: &Outlined,
    request: &OutlineRequest,
) -> Result<Edit, EngineError> {
    let refused = |reason: String| EngineError::Outline { side, reason };
    let start = start(committed, outlined).map_err(refused)?;
    let mut change = request.change;
    if let (true, Some(shoe)) = (request.hand.snap, &outlined.shoe)
        && let OutlineChange::MoveKnot { to, .. } | OutlineChange::Pull { to, .. } = &mut change
    {
        *to = snapped(shoe, DVec2::from_array(*to), SNAP_MM).to_array();
    }
    let next = changed(&start, &change, request.hand.keep).map_err(|error| refused(error.to_string()))?;
    Ok(Edit::SetOutline { side, points: Some(points(&next)) })
}

/// How far along the edge a pull at its curve reaches, mm.
const REACH_MM: f64 = 45.0;

/// The edit that pulls the edge, taken at `along` millionths of its length, to a place.
pub(crate) fn pull_edit(
    side: Side,
    committed: &FootCase,
    outlined: &Outlined,
    along: u32,
    to: DVec2,
    hand: OutlineHand,
) -> Result<Edit, EngineError> {
    let start = start(committed, outlined).map_err(|reason| EngineError::Outline { side, reason })?;
    let corners = start.polygon(PULL_SPACING_MM);
    let index = (f64::from(along) / 1e6 * corners.len() as f64).round() as usize % corners.len();
    let change = OutlineChange::Pull { from: corners[index].to_array(), to: to.to_array(), reach_mm: REACH_MM };
    change_edit(side, committed, outlined, &OutlineRequest { change, hand })
}

/// The place where the edge is taken is known to this, mm.
const PULL_SPACING_MM: f64 = 0.5;

/// The edit that gives the other foot the same edge; both frames have the medial side at +y, so it comes out mirrored.
pub(crate) fn copy_edit(side: Side, outlined: &Outlined) -> Edit {
    Edit::SetOutline { side: side.other(), points: Some(points(&outlined.whole)) }
}

/// The edit that makes the edge the shoe's own insole, drawn in by the clearance.
pub(crate) fn follow_shoe_edit(side: Side, outlined: &Outlined, clearance_mm: f64) -> Result<Edit, EngineError> {
    let refused = |reason: String| EngineError::Outline { side, reason };
    let shoe = outlined.shoe.as_ref().ok_or_else(|| refused("trace the shoe's own insole first".to_owned()))?;
    let inside = |reason: last::OutlineError| refused(reason.to_string());
    let limited = last::limited(shoe, shoe, clearance_mm).map_err(inside)?;
    Ok(Edit::SetOutline { side, points: Some(points(&limited.outline)) })
}

/// The edit that moves an end of the trim line; it stops where the line would miss the insole.
pub(crate) fn trim_edit(
    side: Side,
    foot: &FootCase,
    landmarks: &Landmarks,
    outlined: &Outlined,
    end: usize,
    to: DVec2,
) -> Edit {
    let foot_mm = outlined.fitted.length_mm - outlined.fitted.toe_room_mm;
    let by_length = || foot.length.trim(landmarks, foot_mm);
    let mut trim = foot.trim.or_else(by_length).unwrap_or(Trim { lateral_x: to.x, medial_x: to.x });
    let (lo, hi) = outlined.whole.bounds();
    // A little inside what a trim line accepts, whatever the rounding.
    let x = ((to.x * 10.0).round() / 10.0).clamp(lo.x + 45.0, hi.x - 20.0);
    *if end == 0 { &mut trim.lateral_x } else { &mut trim.medial_x } = x;
    Edit::SetTrim { side, trim: Some(trim) }
}

/// Where the shoe's own insole is taken hold of, to shift and to turn it, out of its bounds.
pub(crate) fn shoe_handles(lo: DVec2, hi: DVec2) -> [DVec2; 2] {
    let middle_y = (lo.y + hi.y) / 2.0;
    [DVec2::new((lo.x + hi.x) / 2.0, middle_y), DVec2::new(hi.x, middle_y)]
}

/// The edit that shifts the shoe's own insole, or turns it about the pternion, so that its handle comes to `to`.
pub(crate) fn shoe_edit(side: Side, shoe: &ShoeInsole, turn: bool, to: DVec2) -> Result<Edit, EngineError> {
    let outline = shoe.outline().map_err(|error| EngineError::Outline { side, reason: error.to_string() })?;
    let (lo, hi) = outline.bounds();
    let [shift_at, turn_at] = shoe_handles(lo, hi);
    let moved = if turn {
        let angle = turn_at.angle_to(to).to_degrees();
        shoe.moved((angle * 100.0).round() / 100.0, DVec2::ZERO)
    } else {
        shoe.moved(0.0, to - shift_at)
    };
    Ok(Edit::SetShoeInsole { side, shoe: Some(moved) })
}

/// Knots as a case keeps them: a hundredth of a millimetre is finer than any hand.
pub(crate) fn points(outline: &Outline) -> Vec<[f64; 2]> {
    outline.knots().iter().map(|knot| ((*knot * 100.0).round() / 100.0).to_array()).collect()
}
