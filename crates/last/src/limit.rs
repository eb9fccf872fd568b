//! Keeps an outline inside the shoe's own insole.

use crate::outline::{Outline, OutlineError};
use base::ParamSpec;
use glam::DVec2;
use mesh::outline::signed_area_mm2;

/// Room between the insole's edge and the shoe's own insole, all round.
pub const CLEARANCE: ParamSpec = ParamSpec {
    id: "clearance_mm",
    label: "Clearance",
    unit: "mm",
    min: 0.0,
    max: 5.0,
    default: 0.5,
    step: 0.1,
    help: "How far the insole's edge stays inside the shoe's own insole, for cover and glue. Common practice, no source.",
};

/// An outline that was kept inside a shoe.
#[derive(Clone, Debug, PartialEq)]
pub struct Limited {
    /// The outline, inside the shoe's insole by the clearance, to [`LIMIT_MM`].
    pub outline: Outline,
    /// How far its edge was moved at most, mm; 0 where it had room.
    pub moved_mm: f64,
    /// Where that was, mm.
    pub at: DVec2,
}

/// How exactly the limit holds, mm.
pub const LIMIT_MM: f64 = 0.05;

/// Distance between the places that are moved, mm.
const SPACING_MM: f64 = 2.0;

/// How near the smooth curve comes to the moved places, mm.
const WITHIN_MM: f64 = 0.15;

/// Rounds of moving in what the smooth curve cut over the limit.
const ROUNDS: usize = 6;

/// Weight of the places beside one when the line is calmed, so that it leaves the limit without a corner.
const CALM: f64 = 0.25;

/// The outline where it is inside `shoe` by `clearance_mm`, else the shoe's own edge with that clearance.
///
/// # Errors
/// The shoe leaves no room for an outline.
pub fn limited(outline: &Outline, shoe: &Outline, clearance_mm: f64) -> Result<Limited, OutlineError> {
    let beyond = |p: DVec2, keep_mm: f64| shoe.signed_distance_mm(p) + keep_mm;
    let (over_mm, at) = farthest(outline, |p| beyond(p, clearance_mm));
    if over_mm <= 0.0 {
        return Ok(Limited { outline: outline.clone(), moved_mm: 0.0, at });
    }
    let mut keep_mm = clearance_mm;
    let mut last = None;
    for _ in 0..ROUNDS {
        let moved = calmed(&inside(outline, shoe, keep_mm));
        let (kept, _) = Outline::following(&moved, WITHIN_MM)?;
        let (still_mm, _) = farthest(&kept, |p| beyond(p, clearance_mm));
        last = Some(kept);
        if still_mm <= LIMIT_MM {
            break;
        }
        keep_mm += still_mm;
    }
    let outline = last.unwrap_or_else(|| outline.clone());
    Ok(Limited { outline, moved_mm: over_mm, at })
}

/// The corner that is farthest beyond, and by how much.
fn farthest(outline: &Outline, beyond: impl Fn(DVec2) -> f64) -> (f64, DVec2) {
    let start = (f64::NEG_INFINITY, DVec2::ZERO);
    outline.corners().iter().fold(start, |most, &p| {
        let mm = beyond(p);
        if mm > most.0 { (mm, p) } else { most }
    })
}

/// Places along the outline, those beyond the limit moved onto it.
fn inside(outline: &Outline, shoe: &Outline, keep_mm: f64) -> Vec<DVec2> {
    let places = outline.polygon(SPACING_MM).into_iter().map(|p| {
        let distance_mm = shoe.signed_distance_mm(p);
        if distance_mm + keep_mm <= 0.0 {
            return p;
        }
        let nearest = shoe.nearest(p);
        let tangent = shoe.spline().derivative(nearest.parameter_mm).normalize_or_zero();
        // The outline runs counter-clockwise: its inside is on the left.
        nearest.at + tangent.perp() * keep_mm
    });
    let mut line: Vec<DVec2> = Vec::new();
    for p in places {
        // Where the shoe is hollow many places come to one.
        if line.last().is_none_or(|last| last.distance(p) > 0.25 * SPACING_MM) {
            line.push(p);
        }
    }
    line
}

/// A closed line with its corners drawn towards their neighbours, never outwards: the area inside shrinks.
fn calmed(line: &[DVec2]) -> Vec<DVec2> {
    let count = line.len();
    let counter_clockwise = signed_area_mm2(line) > 0.0;
    (0..count)
        .map(|i| {
            let (before, p, after) = (line[(i + count - 1) % count], line[i], line[(i + 1) % count]);
            let turns_left = (p - before).perp_dot(after - p) > 0.0;
            let drawn = p.lerp((before + after) / 2.0, 2.0 * CALM);
            // At a hollow the mean of the neighbours lies outside.
            if turns_left == counter_clockwise { drawn } else { p }
        })
        .collect()
}
