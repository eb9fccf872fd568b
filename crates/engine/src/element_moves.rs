//! The edits that move an element: by a handle, by a point of its drawn curve, by the curve, or as a whole.

use crate::handles::{HEIGHT, Strength, within};
use crate::stages::Derived;
use crate::view::{OutlineHand, Target};
use base::{Params, Side};
use case::{Edit, FootCase};
use foot::LandmarkId;
use glam::{DVec2, DVec3};
use insole::{Edge, ElementItem, Face};
use last::{Keep, Outline, OutlineChange};
use std::sync::Arc;

/// A place snaps to a landmark, or to a mid-line, from this far, mm.
const SNAP_MM: f64 = 3.0;
/// A pull at a drawn curve reaches this share of its length to each side.
const PULL_SHARE: f64 = 0.2;

/// The edit; `None` if there is no such element or handle. `before` is the foot as it was when the gesture began.
pub(crate) fn edit(
    side: Side,
    before: &FootCase,
    foot: &FootCase,
    derived: &Derived,
    target: &Target,
    to: DVec3,
    hand: OutlineHand,
) -> Option<Edit> {
    let edge = &derived.outlined.as_ref()?.edge;
    let of = |foot: &FootCase, id: u32| foot.elements.iter().find(|item| item.id == id).cloned();
    let snapped = |p: DVec2| if hand.snap { snap(derived, p) } else { p };
    match target {
        Target::Element { id, handle } if handle == HEIGHT => {
            let item = of(foot, *id)?;
            let strength = Strength::of(&item, edge)?;
            let surface = &derived.shaped.as_ref()?.surface;
            let outward = match insole::elements::by_id(&item.kind)?.face() {
                Face::Top => to.z - surface.bearing(strength.at),
                Face::Bottom => surface.bottom(strength.at) - to.z,
            };
            let value = within(strength.spec, strength.value + outward / strength.rise);
            Some(Edit::set_element(side, *id, Params::from([(strength.spec.id.to_owned(), value)])))
        }
        Target::Element { id, handle } => {
            let item = of(before, *id)?;
            let handles = insole::elements::by_id(&item.kind)?.handles(&item, edge);
            if handles.first().is_some_and(|first| first.id == handle) {
                let from = handles.first()?.at;
                return Some(moved(side, &item, edge, snapped(to.truncate()) - from));
            }
            let params = insole::elements::by_id(&item.kind)?.drag(&item, edge, handle, to.truncate());
            Some(Edit::set_element(side, *id, params))
        }
        Target::ElementPoint { id, index } => {
            let mut curve = of(before, *id)?.curve;
            *curve.get_mut(*index)? = snapped(to.truncate()).to_array();
            Some(redrawn(side, *id, curve))
        }
        Target::ElementCurve { id, from } => {
            let curve = of(before, *id)?.curve;
            let points: Vec<DVec2> = curve.iter().map(|&point| point.into()).collect();
            let turned = || points.iter().rev().copied().collect::<Vec<_>>();
            let outline = Outline::through(&points).or_else(|_| Outline::through(&turned())).ok()?;
            let reach_mm = PULL_SHARE * mesh::outline::perimeter_mm(&outline.polygon(1.0));
            let change =
                OutlineChange::Pull { from: hundredths(*from).to_array(), to: to.truncate().to_array(), reach_mm };
            let next = last::changed(&outline, &change, Keep::Nothing).ok()?;
            Some(redrawn(side, *id, next.knots().iter().map(|knot| knot.to_array()).collect()))
        }
        Target::ElementBody { id, from } => {
            let item = of(before, *id)?;
            let first = insole::elements::by_id(&item.kind)?.handles(&item, edge).first()?.at;
            let shifted = first + to.truncate() - hundredths(*from);
            Some(moved(side, &item, edge, snapped(shifted) - first))
        }
        _ => None,
    }
}

/// An element moved as a whole: its numbers as its first handle moves them, a drawn curve by as much.
pub(crate) fn moved(side: Side, item: &ElementItem, edge: &Arc<Edge>, by: DVec2) -> Edit {
    let (params, curve) = shifted(item, edge, by);
    Edit::SetElement { side, id: item.id, params, curve: (!curve.is_empty()).then_some(curve), text: None }
}

/// Numbers and curve of an element moved as a whole.
pub(crate) fn shifted(item: &ElementItem, edge: &Arc<Edge>, by: DVec2) -> (Params, Vec<[f64; 2]>) {
    let Some(element) = insole::elements::by_id(&item.kind) else { return (item.params.clone(), item.curve.clone()) };
    let first = |params: &Params| {
        let handles = element.handles(&ElementItem { params: params.clone(), ..item.clone() }, edge);
        handles.first().map(|handle| (handle.id, handle.at))
    };
    let Some((id, from)) = first(&item.params) else { return (item.params.clone(), item.curve.clone()) };
    let params = element.drag(item, edge, id, from + by);
    // A number that stopped at the end of its range stops the curve too.
    let went = first(&params).map_or(DVec2::ZERO, |(_, to)| to - from);
    let curve = item.curve.iter().map(|&point| (DVec2::from_array(point) + went).to_array()).collect();
    (params, curve)
}

fn redrawn(side: Side, id: u32, curve: Vec<[f64; 2]>) -> Edit {
    let rounded = |n: f64| (n * 100.0).round() / 100.0;
    let curve = curve.into_iter().map(|point| point.map(rounded)).collect();
    Edit::SetElement { side, id, params: Params::new(), curve: Some(curve), text: None }
}

fn hundredths(place: [i32; 2]) -> DVec2 {
    DVec2::new(f64::from(place[0]), f64::from(place[1])) / 100.0
}

/// The nearest landmark within reach, else the nearest mid-line: the foot axis, the line from heel centre to the middle of the
/// heads, the line of the heads.
fn snap(derived: &Derived, p: DVec2) -> DVec2 {
    let at = |id: LandmarkId| derived.landmarks.get(&id).map(|mark| mark.at.truncate());
    let marks = derived.landmarks.values().map(|mark| mark.at.truncate());
    let near = marks.filter(|mark| mark.distance(p) <= SNAP_MM);
    if let Some(mark) = near.min_by(|a, b| a.distance(p).total_cmp(&b.distance(p))) {
        return mark;
    }
    let heads = at(LandmarkId::MetatarsaleTibiale).zip(at(LandmarkId::MetatarsaleFibulare));
    let middle = heads.map(|(a, b)| (a + b) / 2.0).zip(at(LandmarkId::HeelCentre));
    let lines = [Some((DVec2::ZERO, DVec2::X)), middle, heads];
    let feet = lines.into_iter().flatten().map(|(a, b)| {
        let along = (b - a).normalize_or_zero();
        a + along * (p - a).dot(along)
    });
    let near = feet.filter(|foot| foot.distance(p) <= SNAP_MM / 2.0);
    near.min_by(|a, b| a.distance(p).total_cmp(&b.distance(p))).unwrap_or(p)
}
