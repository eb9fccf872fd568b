//! Distances, angles, thicknesses and heights between places put on the insole.

use crate::stages::Derived;
use glam::DVec2;
use serde::{Deserialize, Serialize};

/// One place measured at.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct MeasuredPlace {
    /// Where, foot frame, mm.
    pub at: [f64; 2],
    /// Height of the surface that the foot meets, mm; `None` beside the insole.
    pub height_mm: Option<f64>,
    /// Thickness of the insole made, mm.
    pub thickness_mm: Option<f64>,
    /// From that surface up to the skin, mm; negative where it presses into the skin as scanned.
    pub gap_mm: Option<f64>,
}

/// What lies between places put down one after the other.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct MeasuredView {
    /// The places.
    pub places: Vec<MeasuredPlace>,
    /// From the first to the last in plan, mm.
    pub plan_mm: Option<f64>,
    /// Straight through space, on the surface's heights, mm.
    pub straight_mm: Option<f64>,
    /// Height of the last over the first, mm.
    pub rise_mm: Option<f64>,
    /// Slope from the first to the last, degrees from level.
    pub slope_deg: Option<f64>,
    /// Direction in plan, degrees from the foot axis to the medial side.
    pub direction_deg: Option<f64>,
    /// Angle at the second of three places in plan, degrees.
    pub angle_deg: Option<f64>,
}

/// Measures between up to three places.
pub(crate) fn measured(derived: &Derived, points: &[[f64; 2]]) -> MeasuredView {
    let place = |&at: &[f64; 2]| {
        let p = DVec2::from_array(at);
        let on = derived.outlined.as_ref().is_some_and(|outlined| outlined.outline.signed_distance_mm(p) <= 0.0);
        let shaped = derived.shaped.as_ref().filter(|_| on);
        let height_mm = shaped.map(|shaped| shaped.surface.bearing(p));
        let skin = derived.scanned.foot.sole.sample(p);
        MeasuredPlace {
            at,
            height_mm,
            thickness_mm: shaped.map(|shaped| {
                let (top, bottom) = shaped.surface.top_and_bottom(p);
                top - bottom
            }),
            gap_mm: skin.zip(height_mm).map(|(skin, height)| skin - height),
        }
    };
    let places: Vec<MeasuredPlace> = points.iter().map(place).collect();
    let mut view = MeasuredView { places, ..MeasuredView::default() };
    let (Some(first), Some(last)) = (view.places.first().copied(), view.places.last().copied()) else { return view };
    if view.places.len() < 2 {
        return view;
    }
    let between = DVec2::from_array(last.at) - DVec2::from_array(first.at);
    let plan = between.length();
    view.plan_mm = Some(plan);
    view.direction_deg = (plan > 0.0).then(|| libm::atan2(between.y, between.x).to_degrees());
    view.rise_mm = last.height_mm.zip(first.height_mm).map(|(last, first)| last - first);
    view.straight_mm = view.rise_mm.map(|rise| (plan * plan + rise * rise).sqrt());
    view.slope_deg = view.rise_mm.filter(|_| plan > 0.0).map(|rise| libm::atan2(rise, plan).to_degrees());
    if let [a, b, c] = points {
        let (to_a, to_c) =
            (DVec2::from_array(*a) - DVec2::from_array(*b), DVec2::from_array(*c) - DVec2::from_array(*b));
        let both = to_a.length() * to_c.length();
        view.angle_deg = (both > 0.0).then(|| libm::acos((to_a.dot(to_c) / both).clamp(-1.0, 1.0)).to_degrees());
    }
    view
}
