//! What can be taken hold of, and the edit that moves it: one list for plan, 3D view and section.

use crate::EngineError;
use crate::outline_edits::{change_edit, pull_edit, shoe_edit, shoe_handles, trim_edit};
use crate::outlined::Outlined;
use crate::stages::{Derived, Shaped};
use crate::view::{HandleView, Moves, OutlineHand, OutlineRequest, Target};
use base::{ParamSpec, Params, Side, value_of};
use case::{Edit, FootCase};
use foot::LandmarkId;
use glam::{DVec2, DVec3};
use insole::ElementItem;
use last::OutlineChange;

/// The vertical handle of an element has this id; the others are the element's own.
const HEIGHT: &str = "height";
/// Numbers of an element that are its height.
const HEIGHT_PARAMS: [&str; 2] = ["height_mm", "depth_mm"];
/// An element that rises less than this in its middle has no handle there: a small drag would be a large change.
const LEAST_RISE: f64 = 0.2;
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
        Target::Element { id, handle } => {
            let item = foot.elements.iter().find(|item| item.id == *id).ok_or_else(gone)?;
            let element = insole::elements::by_id(&item.kind).ok_or_else(gone)?;
            let params = if handle == HEIGHT {
                let peak = Peak::of(item).ok_or_else(gone)?;
                let shaped = derived.shaped.as_ref().ok_or_else(gone)?;
                let up = to.z - shaped.surface.top(peak.at);
                Params::from([(peak.spec.id.to_owned(), within(peak.spec, peak.value + up / peak.rise))])
            } else {
                element.drag(&item.params, handle, to.truncate())
            };
            Ok(Edit::SetElement { side, id: *id, params })
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
    let vertical = Peak::of(item).map(|peak| HandleView {
        target: Target::Element { id: item.id, handle: HEIGHT.to_owned() },
        label: format!(
            "{} {} {:.1} {}",
            element.label(),
            peak.spec.label.to_ascii_lowercase(),
            peak.value,
            peak.spec.unit
        ),
        moves: Moves::Vertical,
        at: on_top(shaped, peak.at),
    });
    let in_plan = element.handles(&item.params);
    let plan = in_plan.iter().map(|handle| HandleView {
        target: Target::Element { id: item.id, handle: handle.id.to_owned() },
        label: format!("{}: {}", element.label(), handle.label),
        moves: Moves::Plan,
        at: on_top(shaped, handle.at),
    });
    plan.chain(vertical).collect()
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

/// Where an element's height is taken hold of: the middle of its extent.
struct Peak {
    at: DVec2,
    spec: &'static ParamSpec,
    value: f64,
    /// How far the surface rises there for each mm of the number; negative for a depth.
    rise: f64,
}

impl Peak {
    fn of(item: &ElementItem) -> Option<Peak> {
        let element = insole::elements::by_id(&item.kind)?;
        let spec = element.params().iter().find(|spec| HEIGHT_PARAMS.contains(&spec.id))?;
        let (lo, hi) = element.bounds(&item.params);
        let at = 0.5 * (lo + hi);
        let value = value_of(&item.params, spec);
        // The rise is asked for at the middle of the range, since the number itself may be 0.
        let middle = 0.5 * (spec.min + spec.max);
        let mut params = item.params.clone();
        params.insert(spec.id.to_owned(), middle);
        let rise = element.height(&params, at) / middle;
        (rise.abs() > LEAST_RISE).then_some(Peak { at, spec, value, rise })
    }
}

fn on_top(shaped: &Shaped, at: DVec2) -> [f64; 3] {
    at.extend(shaped.surface.top(at)).to_array()
}

fn within(spec: &ParamSpec, value: f64) -> f64 {
    // A hundredth of a millimetre is finer than any hand or machine: keep numbers readable.
    ((value * 100.0).round() / 100.0).clamp(spec.min, spec.max)
}
