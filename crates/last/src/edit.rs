//! Changes of an outline by hand. Each gives a new outline or refuses with the place: none crosses itself, and every one
//! is a closed curve with continuous curvature, because it is an [`Outline`] again.

use crate::outline::{Outline, OutlineError};
use glam::DVec2;
use serde::{Deserialize, Serialize};

/// One change of an outline. Places in the foot frame, mm.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum OutlineChange {
    /// Moves a knot.
    MoveKnot {
        /// Its index.
        index: usize,
        /// Where to.
        to: [f64; 2],
    },
    /// Takes the curve where it is nearest to `from` and brings it to `to`; the curve within `reach_mm` along it follows,
    /// less and less.
    Pull {
        /// Where it is taken.
        from: [f64; 2],
        /// Where it goes.
        to: [f64; 2],
        /// How far along the curve the pull reaches, mm.
        reach_mm: f64,
    },
    /// Adds a knot on the curve where it is nearest to a place.
    AddKnot {
        /// The place.
        near: [f64; 2],
    },
    /// Takes a knot away.
    RemoveKnot {
        /// Its index.
        index: usize,
    },
    /// Lays the knots between two knots on the straight line from one to the other, the shorter way round.
    Straighten {
        /// Index of the one.
        from: usize,
        /// Index of the other.
        to: usize,
    },
    /// Calms the knots between two knots, the shorter way round: what bends them unevenly is reduced.
    Smooth {
        /// Index of the one.
        from: usize,
        /// Index of the other.
        to: usize,
    },
    /// Gives the outline a width square to the foot axis; the edges before and behind follow, less and less.
    Width {
        /// Where along the foot axis.
        x_mm: f64,
        /// The width.
        width_mm: f64,
    },
}

/// What stays the same while the outline is changed by hand.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Keep {
    /// Nothing but what is not touched.
    #[default]
    Nothing,
    /// The area: what is added at one place is taken off all round.
    Area,
    /// The width: the edge across follows.
    Width,
}

/// Why an outline was not changed.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum ChangeError {
    /// What would come is no outline.
    #[error("{0}")]
    Outline(#[from] OutlineError),
    /// There is no such knot.
    #[error("the outline has no point {index}: it has {count}")]
    NoKnot {
        /// The index asked for.
        index: usize,
        /// How many there are.
        count: usize,
    },
    /// The outline has no width there.
    #[error("the outline has no width at {x_mm:.0} mm: choose a place between its ends")]
    NoWidth {
        /// Where, mm.
        x_mm: f64,
    },
    /// The area cannot be kept.
    #[error("the area cannot be kept with that change: make it smaller, or let the area change")]
    Area,
    /// The width cannot be reached.
    #[error(
        "the outline cannot be {width_mm:.1} mm wide at {x_mm:.0} mm: choose a width between {least_mm:.0} and {greatest_mm:.0} mm"
    )]
    Width {
        /// Where, mm.
        x_mm: f64,
        /// The width asked for, mm.
        width_mm: f64,
        /// Least width accepted, mm.
        least_mm: f64,
        /// Greatest width accepted, mm.
        greatest_mm: f64,
    },
}

/// Knots nearer than this to where the curve is taken are moved themselves, mm.
const TAKEN_MM: f64 = 4.0;

/// Widths a hand may set, mm.
const WIDTHS_MM: std::ops::RangeInclusive<f64> = 20.0..=160.0;

/// How far before and behind a new width its edges follow, mm.
const WIDTH_REACH_MM: f64 = 70.0;

/// How near a width or an area comes to the one asked for, mm or mm of edge.
const NEAR_MM: f64 = 0.005;

/// Rounds of coming nearer to it.
const ROUNDS: usize = 8;

/// As many for an area: knots far apart hold it badly.
const AREA_ROUNDS: usize = 24;

/// Passes of calming, and how much of the unevenness each takes.
const CALM: (usize, f64) = (8, 0.5);

/// The outline with `change`, keeping `keep`.
///
/// # Errors
/// What would come crosses itself or is none; no such knot; a width that cannot be.
pub fn changed(outline: &Outline, change: &OutlineChange, keep: Keep) -> Result<Outline, ChangeError> {
    let count = outline.knots().len();
    let known = |index: usize| if index < count { Ok(index) } else { Err(ChangeError::NoKnot { index, count }) };
    let next = match *change {
        OutlineChange::MoveKnot { index, to } => {
            let by = DVec2::from_array(to) - outline.knots()[known(index)?];
            let mut knots = outline.knots().to_vec();
            knots[index] += by;
            if keep == Keep::Width {
                across(outline, &mut knots, index, by, &|at| at == index);
            }
            Outline::through(&knots)?
        }
        OutlineChange::Pull { from, to, reach_mm } => pull(outline, from.into(), to.into(), reach_mm, keep)?,
        OutlineChange::AddKnot { near } => outline.with_knot_added(near.into())?.0,
        OutlineChange::RemoveKnot { index } => outline.without_knot(known(index)?)?,
        OutlineChange::Straighten { from, to } => {
            let (run, mut knots) = (between(known(from)?, known(to)?, count), outline.knots().to_vec());
            if let (Some(&first), Some(&last)) = (run.first(), run.last()) {
                let (a, b) = (knots[first], knots[last]);
                let steps = (run.len() - 1).max(1) as f64;
                run.iter().enumerate().for_each(|(step, &at)| knots[at] = a.lerp(b, step as f64 / steps));
            }
            Outline::through(&knots)?
        }
        OutlineChange::Smooth { from, to } => {
            Outline::through(&calmed(outline, &between(known(from)?, known(to)?, count)))?
        }
        OutlineChange::Width { x_mm, width_mm } => with_width(outline, x_mm, width_mm)?,
    };
    match (keep, change) {
        (Keep::Area, OutlineChange::AddKnot { .. } | OutlineChange::RemoveKnot { .. })
        | (Keep::Nothing | Keep::Width, _) => Ok(next),
        (Keep::Area, _) => with_area(next, outline),
    }
}

/// A smooth fall from 1 at 0 to 0 at 1, with level ends.
fn fall(share: f64) -> f64 {
    let inside = 1.0 - (share * share).min(1.0);
    inside * inside
}

fn pull(outline: &Outline, from: DVec2, to: DVec2, reach_mm: f64, keep: Keep) -> Result<Outline, ChangeError> {
    let taken = outline.nearest(from);
    let near = outline.knots().iter().any(|knot| knot.distance(taken.at) < TAKEN_MM);
    let outline = if near { outline.clone() } else { outline.with_knot_added(taken.at)?.0 };
    let knots = outline.knots();
    let Some(middle) =
        (0..knots.len()).min_by(|&a, &b| knots[a].distance(taken.at).total_cmp(&knots[b].distance(taken.at)))
    else {
        return Ok(outline);
    };
    let by = to - taken.at;
    let period = outline.spline().period_mm();
    let start = outline.spline().parameter_of_knot(middle);
    let along = |index: usize| {
        let apart = (outline.spline().parameter_of_knot(index) - start).abs();
        apart.min(period - apart)
    };
    let reach = reach_mm.max(1.0);
    let mut moved = knots.to_vec();
    for (index, knot) in moved.iter_mut().enumerate() {
        *knot += by * fall(along(index) / reach);
    }
    if keep == Keep::Width {
        across(&outline, &mut moved, middle, by, &|index| along(index) < reach);
    }
    Ok(Outline::through(&moved)?)
}

/// Moves the edge across from knot `index` as far to the side as that knot moves, so that the width there stays.
fn across(outline: &Outline, knots: &mut [DVec2], index: usize, by: DVec2, moved: &dyn Fn(usize) -> bool) {
    let here = outline.knots()[index];
    let Some((lateral, medial)) = outline.width_at(here.x) else { return };
    let middle = (lateral + medial) / 2.0;
    for (at, knot) in outline.knots().iter().enumerate() {
        let other_edge = (knot.y - middle) * (here.y - middle) < 0.0;
        if other_edge && !moved(at) {
            knots[at].y += by.y * fall((knot.x - here.x) / WIDTH_REACH_MM);
        }
    }
}

/// The indices from one knot to the other, the way with fewer of them.
fn between(from: usize, to: usize, count: usize) -> Vec<usize> {
    let forward = (to + count - from) % count;
    let (start, steps) = if 2 * forward <= count { (from, forward) } else { (to, count - forward) };
    (start..=start + steps).map(|index| index % count).collect()
}

/// The knots with those inside `run` moved towards the cubic through their four neighbours: unevenness goes, an even bend
/// stays.
fn calmed(outline: &Outline, run: &[usize]) -> Vec<DVec2> {
    let mut knots = outline.knots().to_vec();
    let count = knots.len();
    let inside = run.get(1..run.len().saturating_sub(1)).unwrap_or_default();
    if count < 5 {
        return knots;
    }
    for _ in 0..CALM.0 {
        let before = knots.clone();
        let at = |index: usize, step: usize| before[(index + step) % count];
        for &index in inside {
            let even =
                (at(index, 1) + at(index, count - 1)) * (2.0 / 3.0) - (at(index, 2) + at(index, count - 2)) / 6.0;
            knots[index] = before[index].lerp(even, CALM.1);
        }
    }
    knots
}

fn with_width(outline: &Outline, x_mm: f64, width_mm: f64) -> Result<Outline, ChangeError> {
    let (least_mm, greatest_mm) = (*WIDTHS_MM.start(), *WIDTHS_MM.end());
    if !WIDTHS_MM.contains(&width_mm) {
        return Err(ChangeError::Width { x_mm, width_mm, least_mm, greatest_mm });
    }
    let mut next = outline.clone();
    for _ in 0..ROUNDS {
        let (lateral, medial) = next.width_at(x_mm).ok_or(ChangeError::NoWidth { x_mm })?;
        let (middle, now_mm) = ((lateral + medial) / 2.0, medial - lateral);
        if (now_mm - width_mm).abs() <= NEAR_MM {
            return Ok(next);
        }
        let wider = (width_mm - now_mm) / 2.0;
        let moved: Vec<DVec2> = next
            .knots()
            .iter()
            .map(|knot| {
                // Each edge moves by half; the knots at the ends of the outline, on neither edge, hardly do.
                let side = ((knot.y - middle) / (now_mm / 2.0)).clamp(-1.0, 1.0);
                *knot + DVec2::Y * (wider * side * fall((knot.x - x_mm) / WIDTH_REACH_MM))
            })
            .collect();
        next = Outline::through(&moved)?;
    }
    let reached = next.width_at(x_mm).map_or(f64::INFINITY, |(lateral, medial)| (medial - lateral - width_mm).abs());
    if reached <= 10.0 * NEAR_MM { Ok(next) } else { Err(ChangeError::Width { x_mm, width_mm, least_mm, greatest_mm }) }
}

/// `next` with its knots moved square to it, all by the same, until it has the area of `before`.
fn with_area(next: Outline, before: &Outline) -> Result<Outline, ChangeError> {
    let mut next = next;
    for _ in 0..AREA_ROUNDS {
        let missing_mm = (before.area_mm2() - next.area_mm2()) / next.length_mm();
        if missing_mm.abs() <= NEAR_MM {
            return Ok(next);
        }
        let outward = |index: usize| {
            let along = next.spline().derivative(next.spline().parameter_of_knot(index)).normalize_or_zero();
            -along.perp()
        };
        let moved: Vec<DVec2> =
            next.knots().iter().enumerate().map(|(index, knot)| *knot + outward(index) * missing_mm).collect();
        next = Outline::through(&moved)?;
    }
    Err(ChangeError::Area)
}

/// The point of `line` a place snaps to, if one is within `within_mm`.
#[must_use]
pub fn snapped(line: &Outline, to: DVec2, within_mm: f64) -> DVec2 {
    let nearest = line.nearest(to);
    if nearest.distance_mm <= within_mm { nearest.at } else { to }
}
