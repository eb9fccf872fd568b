//! The insole beside another: what was before, what was set aside, the other foot's, or the bare bearing surface.

use crate::stages::Shaped;
use serde::{Deserialize, Serialize};

/// What an insole is compared with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CompareWith {
    /// The same foot's before the last step, or before the drag under way.
    Before,
    /// The same foot's as it was set aside.
    Kept,
    /// The other foot's, mirrored.
    Other,
    /// The same foot's without elements and sculpting.
    Bare,
}

impl CompareWith {
    /// All, as offered.
    pub const ALL: [CompareWith; 4] = [CompareWith::Before, CompareWith::Kept, CompareWith::Other, CompareWith::Bare];

    /// What it is called.
    #[must_use]
    pub const fn label(self) -> &'static str {
        match self {
            CompareWith::Before => "Before the last step",
            CompareWith::Kept => "The version set aside",
            CompareWith::Other => "The other foot, mirrored",
            CompareWith::Bare => "Without elements",
        }
    }
}

/// How an insole differs from the one it is compared with: this minus that, mm, of the surface that the foot meets.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CompareView {
    /// What it is compared with.
    pub with: CompareWith,
    /// Why there is nothing to compare with, in words.
    pub missing: Option<String>,
    /// The least difference and its place.
    pub least: (f64, [f64; 2]),
    /// The greatest difference and its place.
    pub most: (f64, [f64; 2]),
    /// Mean of the differences' absolute values, mm.
    pub mean_mm: f64,
    /// Area where they differ by more than 0.1 mm, mm².
    pub area_mm2: f64,
    /// The outline of the other, closed.
    pub outline: Vec<[f32; 2]>,
}

/// Less than this is no difference, mm: finer than a machine makes.
pub const ALIKE_MM: f32 = 0.1;

/// The difference over the samples of `now`, mm; `NaN` outside.
pub(crate) fn difference(now: &Shaped, other: &Shaped) -> mesh::Grid {
    let mut grid = now.bearing.clone();
    for row in 0..grid.rows {
        for column in 0..grid.columns {
            let index = row * grid.columns + column;
            if grid.values[index].is_finite() {
                let there = other.surface.height_and_thickness(grid.at(column, row)).0;
                grid.values[index] -= there as f32;
            }
        }
    }
    grid
}

/// The figures of a difference.
pub(crate) fn view(with: CompareWith, grid: &mesh::Grid, outline: Vec<[f32; 2]>) -> CompareView {
    let (mut least, mut most) = ((f32::INFINITY, 0), (f32::NEG_INFINITY, 0));
    let (mut sum, mut count, mut apart) = (0.0, 0, 0);
    for (index, &mm) in grid.values.iter().enumerate().filter(|(_, mm)| mm.is_finite()) {
        least = if mm < least.0 { (mm, index) } else { least };
        most = if mm > most.0 { (mm, index) } else { most };
        sum += f64::from(mm.abs());
        count += 1;
        apart += usize::from(mm.abs() > ALIKE_MM);
    }
    let at = |(mm, index): (f32, usize)| {
        let place = grid.at(index % grid.columns.max(1), index / grid.columns.max(1));
        (if mm.is_finite() { f64::from(mm) } else { 0.0 }, place.to_array())
    };
    CompareView {
        with,
        missing: None,
        least: at(least),
        most: at(most),
        mean_mm: sum / f64::from(count.max(1)),
        area_mm2: apart as f64 * grid.step_mm * grid.step_mm,
        outline,
    }
}

/// Nothing to compare with, and why.
pub(crate) fn missing(with: CompareWith) -> CompareView {
    let why = match with {
        CompareWith::Before => "nothing was changed yet",
        CompareWith::Kept => "no version was set aside yet",
        CompareWith::Other => "the other foot has no insole yet",
        CompareWith::Bare => "there is no insole yet",
    };
    CompareView {
        with,
        missing: Some(why.to_owned()),
        least: (0.0, [0.0; 2]),
        most: (0.0, [0.0; 2]),
        mean_mm: 0.0,
        area_mm2: 0.0,
        outline: Vec::new(),
    }
}
