//! What can be taken hold of, and the edit that moves it: one list for plan, 3D view and section.

use crate::EngineError;
use crate::element_moves;
use crate::outline_edits::{change_edit, pull_edit, shoe_edit, shoe_handles, trim_edit};
use crate::outlined::Outlined;
use crate::stages::{Derived, Shaped};
use crate::view::{HandleView, Moves, OutlineHand, OutlineRequest, Target};
use base::{ParamSpec, Side, value_of};
use case::{Edit, FootCase};
use foot::LandmarkId;
use glam::{DVec2, DVec3};
use insole::{Edge, ElementItem, Face};
use last::OutlineChange;
use std::sync::Arc;

/// The vertical handle of an element has this id; the others are the element's own.
pub(crate) const HEIGHT: &str = "height";
/// An element that rises less than this for each unit of its number has no handle for it: a small drag would be a large
/// change.
const LEAST_RISE: f64 = 0.1;
/// The cup's handle stands this far inside the outline, mm.
const CUP_INSET_MM: f64 = 2.0;

/// Every handle of a foot.
pub(crate) fn handles(foot: &FootCase, derived: &Derived) -> Vec<HandleView> {
    let mut all = landmark_handles(derived);
    all.extend(leg_cut_handle(foot, derived));
    if let Some(outlined) = &derived.outlined {
        all.extend(edge_handles(outlined));
    }
    if let Some(shaped) = &derived.shaped {
        for item in foot.elements.iter().filter(|item| item.on) {
            all.extend(element_handles(item, shaped));
        }
        for region in foot.hardness.regions.iter().filter(|region| region.on) {
            all.extend(region.points.iter().enumerate().map(|(index, &point)| HandleView {
                target: Target::RegionPoint { id: region.id, index },
                label: format!("{} {}", region.name, index + 1),
                moves: Moves::Plan,
                at: on_top(shaped, point.into()),
            }));
        }
        all.extend(surface_handles(foot, derived, shaped));
    }
    all
}

/// The edit that moves a handle to a place. A number that a handle sets stops at the end of its range. `before` is the foot
/// as it was when the gesture began.
pub(crate) fn move_edit(
    side: Side,
    before: &FootCase,
    foot: &FootCase,
    derived: &Derived,
    target: &Target,
    to: DVec3,
    hand: OutlineHand,
) -> Result<Edit, EngineError> {
    let gone = || EngineError::NoHandle { side, what: format!("{target:?}") };
    match target {
        Target::Landmark { id } => {
            let at = foot::snap(&derived.scanned.foot, to).to_array();
            Ok(Edit::PlaceLandmark { side, landmark: *id, at })
        }
        Target::Element { .. }
        | Target::ElementPoint { .. }
        | Target::ElementCurve { .. }
        | Target::ElementBody { .. } => {
            element_moves::edit(side, before, foot, derived, target, to, hand).ok_or_else(gone)
        }
        Target::RegionPoint { id, index } => {
            let region = foot.hardness.regions.iter().find(|region| region.id == *id).ok_or_else(gone)?;
            let mut points = region.points.clone();
            *points.get_mut(*index).ok_or_else(gone)? = to.truncate().to_array();
            Ok(Edit::SetRegion {
                side,
                id: *id,
                name: None,
                points: Some(points),
                shore_a: None,
                transition_mm: None,
                on: None,
            })
        }
        Target::OutlineKnot { index } => {
            let outlined = derived.outlined.as_ref().ok_or_else(gone)?;
            let change = OutlineChange::MoveKnot { index: *index, to: to.truncate().to_array() };
            change_edit(side, before, outlined, &OutlineRequest { change, hand })
        }
        Target::OutlineCurve { along } => {
            let outlined = derived.outlined.as_ref().ok_or_else(gone)?;
            pull_edit(side, before, outlined, *along, to.truncate(), hand)
        }
        Target::TrimEnd { end } => {
            let outlined = derived.outlined.as_ref().ok_or_else(gone)?;
            Ok(trim_edit(side, foot, &derived.landmarks, outlined, *end, to.truncate()))
        }
        Target::ShoeInsole { turn } => {
            let shoe = before.shoe.insole.as_ref().ok_or_else(gone)?;
            shoe_edit(side, shoe, *turn, to.truncate())
        }
        Target::LegCut => Ok(Edit::SetCutHeight { side, cut_height_mm: within(&case::CUT_HEIGHT, to.z) }),
        Target::Surface { param } => {
            let spec = insole::PARAMS.iter().find(|spec| spec.id == param).ok_or_else(gone)?;
            let value = if param == "base_thickness_mm" { -to.z } else { to.z };
            Ok(Edit::SetSurface { side, param: param.clone(), value: Some(within(spec, value)) })
        }
    }
}

fn landmark_handles(derived: &Derived) -> Vec<HandleView> {
    let placed = |id: LandmarkId| derived.landmarks.get(&id).map(|landmark| (id, landmark));
    LandmarkId::ALL
        .into_iter()
        .filter_map(placed)
        .map(|(id, landmark)| HandleView {
            target: Target::Landmark { id },
            label: id.label().to_owned(),
            moves: Moves::Skin,
            at: landmark.at.to_array(),
        })
        .collect()
}

/// Knots of the whole edge, ends of the trim line, and where the shoe's own insole is shifted and turned.
fn edge_handles(outlined: &Outlined) -> Vec<HandleView> {
    let handle = |target: Target, label: String, at: DVec2| HandleView {
        target,
        label,
        moves: Moves::Plan,
        at: at.extend(0.0).to_array(),
    };
    let knots = outlined.whole.knots().iter().enumerate();
    let mut all: Vec<HandleView> = knots
        .map(|(index, &at)| handle(Target::OutlineKnot { index }, format!("Edge point {}", index + 1), at))
        .collect();
    for (end, (word, at)) in
        ["lateral", "medial"].into_iter().zip(outlined.trim.iter().flat_map(|(_, ends)| *ends)).enumerate()
    {
        all.push(handle(Target::TrimEnd { end }, format!("Trim line, {word} end at {:.0} mm", at.x), at));
    }
    if let Some(shoe) = &outlined.shoe {
        let (lo, hi) = shoe.bounds();
        let [shift, turn] = shoe_handles(lo, hi);
        all.push(handle(Target::ShoeInsole { turn: false }, "Shoe's insole: shift".to_owned(), shift));
        all.push(handle(Target::ShoeInsole { turn: true }, "Shoe's insole: turn".to_owned(), turn));
    }
    all
}

/// Where the leg is cut, on the medial side of the ankle; none while there is no leg to cut.
fn leg_cut_handle(foot: &FootCase, derived: &Derived) -> Option<HandleView> {
    let length_mm = derived.scanned.foot.silhouette.iter().map(|p| p.x).fold(0.0, f64::max);
    (derived.scanned.foot.has_dorsum && length_mm > 0.0).then(|| HandleView {
        target: Target::LegCut,
        label: format!("Leg cut at {:.0} mm", foot.cut_height_mm),
        moves: Moves::Vertical,
        at: [ANKLE_AT * length_mm, 0.0, foot.cut_height_mm],
    })
}

/// The leg stands over this share of the foot length; common anatomy, no source.
const ANKLE_AT: f64 = 0.24;

fn element_handles(item: &ElementItem, shaped: &Shaped) -> Vec<HandleView> {
    let Some(element) = insole::elements::by_id(&item.kind) else { return Vec::new() };
    let edge = shaped.surface.base().edge();
    let strength = Strength::of(item, edge).map(|strength| HandleView {
        target: Target::Element { id: item.id, handle: HEIGHT.to_owned() },
        label: format!(
            "{} {} {:.1} {}",
            element.label(),
            strength.spec.label.to_ascii_lowercase(),
            strength.value,
            strength.spec.unit
        ),
        moves: Moves::Vertical,
        at: on_face(shaped, element.face(), strength.at),
    });
    let in_plan = element.handles(item, edge).into_iter().map(|handle| HandleView {
        target: Target::Element { id: item.id, handle: handle.id.to_owned() },
        label: format!("{}: {}", element.label(), handle.label),
        moves: Moves::Plan,
        at: on_face(shaped, element.face(), handle.at),
    });
    let of_curve = item.curve.iter().enumerate().map(|(index, &point)| HandleView {
        target: Target::ElementPoint { id: item.id, index },
        label: format!("{} outline {}", element.label(), index + 1),
        moves: Moves::Plan,
        at: on_face(shaped, element.face(), point.into()),
    });
    in_plan.chain(of_curve).chain(strength).collect()
}

fn surface_handles(foot: &FootCase, derived: &Derived, shaped: &Shaped) -> Vec<HandleView> {
    let base = shaped.surface.base();
    let mut all = Vec::new();
    let mut add = |param: &str, value: f64, at: [f64; 3]| {
        if let Some(spec) = insole::PARAMS.iter().find(|spec| spec.id == param) {
            all.push(HandleView {
                target: Target::Surface { param: param.to_owned() },
                label: format!("{} {value:.1} {}", spec.label, spec.unit),
                moves: Moves::Vertical,
                at,
            });
        }
    };
    if let Some(apex) = derived.landmarks.get(&LandmarkId::ArchApex) {
        add("arch_height_mm", base.arch().used_mm, [apex.at.x, apex.at.y, base.arch().used_mm]);
    }
    let heel = derived.landmarks.get(&LandmarkId::HeelCentre).map(|heel| heel.at.truncate());
    if let (Some(heel), Some(outlined)) = (heel, &derived.outlined) {
        add("base_thickness_mm", base.base_thickness_mm(), [heel.x, heel.y, -base.base_thickness_mm()]);
        if let Some((lateral, _)) = outlined.outline.width_at(heel.x) {
            let spec = insole::PARAMS.iter().find(|spec| spec.id == "cup_depth_mm");
            let cup = spec.map_or(0.0, |spec| value_of(&foot.surface, spec));
            add("cup_depth_mm", cup, [heel.x, lateral + CUP_INSET_MM, cup]);
        }
    }
    all
}

/// Where an element's height, depth or angle is taken hold of.
pub(crate) struct Strength {
    pub(crate) at: DVec2,
    pub(crate) spec: &'static ParamSpec,
    pub(crate) value: f64,
    /// How far its face moves outwards there for each unit of the number; negative for a depth.
    pub(crate) rise: f64,
}

impl Strength {
    pub(crate) fn of(item: &ElementItem, edge: &Arc<Edge>) -> Option<Strength> {
        let element = insole::elements::by_id(&item.kind)?;
        let spec = element.params().iter().find(|spec| spec.id == element.strength())?;
        let value = value_of(&item.params, spec);
        // The rise is asked for at the middle of the range, since the number itself may be 0.
        let middle = 0.5 * (spec.min.max(0.0) + spec.max);
        let mut asked = item.clone();
        asked.params.insert(spec.id.to_owned(), middle);
        let at = element.crest(&asked, edge);
        let rise = element.height(&asked, edge, at) / middle;
        (rise.abs() > LEAST_RISE).then_some(Strength { at, spec, value, rise })
    }
}

/// A place of the plan on the face of the insole that an element shapes.
fn on_face(shaped: &Shaped, face: Face, at: DVec2) -> [f64; 3] {
    let z = match face {
        Face::Top => shaped.surface.bearing(at),
        Face::Bottom => shaped.surface.bottom(at),
    };
    at.extend(z).to_array()
}

fn on_top(shaped: &Shaped, at: DVec2) -> [f64; 3] {
    at.extend(shaped.surface.bearing(at)).to_array()
}

pub(crate) fn within(spec: &ParamSpec, value: f64) -> f64 {
    // A hundredth of a millimetre is finer than any hand or machine: keep numbers readable.
    ((value * 100.0).round() / 100.0).clamp(spec.min, spec.max)
}
