//! How far forward an insole reaches: to the toes, or cut off behind them, behind the ball or behind the heel.

use crate::outline::{Outline, OutlineError};
use foot::{LandmarkId, Landmarks};
use glam::DVec2;
use serde::{Deserialize, Serialize};

/// How far forward the insole reaches.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum InsoleLength {
    /// To the front of the shoe.
    #[default]
    Full,
    /// To the sulcus, the furrow behind the toes.
    Sulcus,
    /// Three-quarter: to just behind the metatarsal heads.
    ThreeQuarter,
    /// The heel only.
    Heel,
}

impl InsoleLength {
    /// Every length, longest first.
    pub const ALL: [InsoleLength; 4] =
        [InsoleLength::Full, InsoleLength::Sulcus, InsoleLength::ThreeQuarter, InsoleLength::Heel];

    /// Its name.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            InsoleLength::Full => "Full length",
            InsoleLength::Sulcus => "To the sulcus",
            InsoleLength::ThreeQuarter => "Three-quarter",
            InsoleLength::Heel => "Heel only",
        }
    }

    /// Where the trim line of this length meets the lateral and the medial edge, mm from the pternion; `None` for full
    /// length. From the metatarsal heads where they are known. All of it is common practice, no source.
    #[must_use]
    pub fn trim(self, landmarks: &Landmarks, foot_mm: f64) -> Option<Trim> {
        let x = |id: LandmarkId, share: f64| landmarks.get(&id).map_or(share * foot_mm, |landmark| landmark.at.x);
        // Mean shares of the foot length in the survey records of Gordon et al. 2014.
        let fifth = x(LandmarkId::MetatarsaleFibulare, 0.63);
        let first = x(LandmarkId::MetatarsaleTibiale, 0.74);
        let ahead = |share: f64| Some(Trim { lateral_x: fifth + share * foot_mm, medial_x: first + share * foot_mm });
        match self {
            InsoleLength::Full => None,
            InsoleLength::Sulcus => ahead(0.075),
            InsoleLength::ThreeQuarter => ahead(-0.045),
            InsoleLength::Heel => Some(Trim { lateral_x: 0.42 * foot_mm, medial_x: 0.42 * foot_mm }),
        }
    }
}

/// A trim line across the foot, straight between its ends on the two edges.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Trim {
    /// Where it meets the lateral edge, mm from the pternion.
    pub lateral_x: f64,
    /// Where it meets the medial edge, mm from the pternion.
    pub medial_x: f64,
}

/// An outline cut off at a trim line.
#[derive(Clone, Debug, PartialEq)]
pub struct Trimmed {
    /// What is left of it, its two front corners rounded.
    pub outline: Outline,
    /// The ends of the trim line on the whole outline, lateral and medial, mm.
    pub ends: [DVec2; 2],
}

/// Why an outline cannot be trimmed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TrimError {
    /// The line does not cross both edges of the outline.
    #[error(
        "the trim line from {lateral_x:.0} to {medial_x:.0} mm does not cross the insole: keep both ends between {least_x:.0} and {greatest_x:.0} mm from the heel"
    )]
    Misses {
        /// Its lateral end, mm.
        lateral_x: f64,
        /// Its medial end, mm.
        medial_x: f64,
        /// Least end that leaves an insole, mm.
        least_x: f64,
        /// Greatest end that still cuts, mm.
        greatest_x: f64,
    },
    /// What is left is no outline.
    #[error("what the trim line leaves is no outline: {0}")]
    Outline(#[from] OutlineError),
}

/// Radius of the corners at the trim line, mm (common practice: a coin's).
const CORNER_MM: f64 = 12.0;

/// What is left is at least this long, mm.
const LEAST_LEFT_MM: f64 = 40.0;

/// Distance between the knots of the edge that stays, mm: its curve comes back within a hundredth of a millimetre.
const KNOT_MM: f64 = 5.0;

/// The part of `outline` behind the trim line.
///
/// # Errors
/// The line lies before or behind the insole.
pub fn trimmed(outline: &Outline, trim: Trim) -> Result<Trimmed, TrimError> {
    let (lo, hi) = outline.bounds();
    let (least_x, greatest_x) = (lo.x + LEAST_LEFT_MM, hi.x - CORNER_MM);
    let Trim { lateral_x, medial_x } = trim;
    let misses = TrimError::Misses { lateral_x, medial_x, least_x, greatest_x };
    let cuts = |x: f64| (least_x..=greatest_x).contains(&x);
    let (Some((lateral_y, _)), Some((_, medial_y))) = (outline.width_at(lateral_x), outline.width_at(medial_x)) else {
        return Err(misses);
    };
    let ends = [DVec2::new(lateral_x, lateral_y), DVec2::new(medial_x, medial_y)];
    let across = ends[1] - ends[0];
    if !cuts(lateral_x) || !cuts(medial_x) || across.y <= 2.0 * CORNER_MM {
        return Err(misses);
    }
    // Distance behind the line, mm; the foot's front is on the right of a line from lateral to medial.
    let behind = |p: DVec2| across.perp_dot(p - ends[0]) / across.length();
    let radius = CORNER_MM.min(across.length() / 3.0);

    // The one run of the edge that lies behind the line by a corner's radius, from the medial end round the heel.
    let edge = outline.polygon(KNOT_MM);
    let count = edge.len();
    let stays = |i: usize| behind(edge[i % count]) >= radius;
    let Some(first) = (0..count).find(|&i| stays(i) && !stays(i + count - 1)) else { return Err(misses) };
    let mut knots: Vec<DVec2> = (first..first + count).take_while(|&i| stays(i)).map(|i| edge[i % count]).collect();
    if knots.len() < 4 {
        return Err(misses);
    }
    let along = across / across.length();
    let lateral = corner(outline, ends[0], along, radius);
    let medial = corner(outline, ends[1], -along, radius);
    let (lateral_to, medial_from) = (lateral[lateral.len() - 1], medial[medial.len() - 1]);
    // The edge stays up to where the arcs touch it.
    let touched = |at: DVec2| outline.spline().derivative(outline.nearest(at).parameter_mm).normalize_or_zero();
    let (forth, back) = (touched(lateral[0]), touched(medial[0]));
    while knots.last().is_some_and(|last| (*last - lateral[0]).dot(forth) > -KNOT_MM / 2.0) {
        knots.pop();
    }
    let passed = knots.iter().take_while(|knot| (**knot - medial[0]).dot(back) < KNOT_MM / 2.0).count();
    knots.drain(..passed);
    knots.extend(lateral);
    let pieces = (lateral_to.distance(medial_from) / (3.0 * KNOT_MM)).ceil().max(1.0);
    knots.extend((1..pieces as usize).map(|i| lateral_to.lerp(medial_from, i as f64 / pieces)));
    knots.extend(medial.into_iter().rev());
    Ok(Trimmed { outline: Outline::through(&knots)?, ends })
}

/// Knots of the round corner at the end of a trim line that runs from there in direction `along`: the arc of a circle
/// that touches edge and line from inside, from the edge to the line.
fn corner(outline: &Outline, end: DVec2, along: DVec2, radius: f64) -> [DVec2; 4] {
    // The line's front is on the right of lateral to medial, so on the right of `along` at the lateral end (up in y).
    let front = if along.y > 0.0 { -along.perp() } else { along.perp() };
    let centre_at = |shift: f64| end + along * shift - front * radius;
    // The centre lies as far behind the line as inside the edge: halving, since the distance grows with the shift.
    let (mut near, mut far) = (-radius, 4.0 * radius);
    for _ in 0..HALVINGS {
        let middle = (near + far) / 2.0;
        if -outline.signed_distance_mm(centre_at(middle)) < radius { near = middle } else { far = middle }
    }
    let centre = centre_at(far);
    let edge = (outline.nearest(centre).at - centre).normalize_or_zero();
    ARC.map(|share| centre + (edge.lerp(front, share)).normalize_or_zero() * radius)
}

/// Halvings until the centre of a corner is known to a thousandth of a millimetre.
const HALVINGS: usize = 16;

/// Where on the arc of a corner its knots stand, shares of the way from the edge to the line.
const ARC: [f64; 4] = [0.0, 0.35, 0.65, 1.0];
