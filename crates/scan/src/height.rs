//! Pictures whose levels are heights, as depth cameras and digitisers write them.

use glam::DVec3;
use mesh::TriMesh;
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// A picture of the sole seen from below, the foot standing on the picture plane: each level is a height.
///
/// Level 0 means that nothing was measured there. What the picture shows at the top is +y, at the right +x. Seen from
/// below, x runs the other way than seen from above: the mesh puts that right by looking at the picture from behind, so
/// that a right foot stays a right foot.
#[derive(Clone, Debug, PartialEq)]
pub struct HeightImage {
    /// Pixels in a row.
    pub columns: usize,
    /// Rows.
    pub rows: usize,
    /// `columns * rows` levels, the top row first.
    pub levels: Vec<u16>,
    /// Size of a pixel if the file says, mm.
    pub mm_per_pixel: Option<f64>,
}

/// How a height picture is to be measured.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct HeightScale {
    /// Distance between neighbouring pixels, mm.
    pub mm_per_pixel: f64,
    /// Height between two levels, mm; negative: darker is higher.
    pub mm_per_level: f64,
}

/// Why a [`HeightScale`] cannot be used.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum HeightScaleFault {
    /// The size of a pixel is out of range.
    #[error(
        "a pixel of {0} mm is not possible: enter the distance between two pixels, {LEAST_MM_PER_PIXEL} to {MOST_MM_PER_PIXEL} mm"
    )]
    PixelSize(f64),
    /// The height of a level is out of range.
    #[error(
        "{0} mm for one level is not possible: enter the height between two levels, up to {MOST_MM_PER_LEVEL} mm, negative if darker is higher"
    )]
    LevelHeight(f64),
}

/// Why a height picture gives no surface.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum HeightFault {
    /// The scale cannot be used.
    #[error(transparent)]
    Scale(#[from] HeightScaleFault),
    /// No four neighbours were measured.
    #[error(
        "the picture shows no surface: nearly all of it is level 0, which means \"not measured\"; export it with the heights in it"
    )]
    NoSurface,
}

/// Least distance between pixels, mm: finer than any digitiser. Common practice, no source.
pub const LEAST_MM_PER_PIXEL: f64 = 0.01;
/// Greatest distance between pixels, mm: a foot would be 20 pixels long. Common practice, no source.
pub const MOST_MM_PER_PIXEL: f64 = 15.0;
/// Greatest height between levels, mm: 8-bit pictures of 250 mm height have 1. Common practice, no source.
pub const MOST_MM_PER_LEVEL: f64 = 10.0;

impl HeightScale {
    /// Whether both numbers are possible.
    ///
    /// # Errors
    /// The number that is not, with what to enter instead.
    pub fn check(&self) -> Result<(), HeightScaleFault> {
        let HeightScale { mm_per_pixel, mm_per_level } = *self;
        if !(LEAST_MM_PER_PIXEL..=MOST_MM_PER_PIXEL).contains(&mm_per_pixel) {
            return Err(HeightScaleFault::PixelSize(mm_per_pixel));
        }
        if !(mm_per_level.abs() <= MOST_MM_PER_LEVEL && mm_per_level != 0.0) {
            return Err(HeightScaleFault::LevelHeight(mm_per_level));
        }
        Ok(())
    }
}

impl HeightImage {
    /// The surface, mm: x to the left of the picture (the view from below, seen from above), y up, z the height above
    /// the lowest point. Triangles face down (−z), as a sole does. Pixels of level 0 become holes; of four neighbours
    /// with one missing, the other three make a triangle.
    ///
    /// A picture that is not a view from below, but one from above or one mirrored by its program, comes out as the
    /// other foot; the mirrored intake of a scan puts that right.
    ///
    /// # Errors
    /// A scale that is not possible, or a picture with nothing measured in it.
    pub fn mesh(&self, scale: &HeightScale) -> Result<TriMesh, HeightFault> {
        scale.check()?;
        let HeightScale { mm_per_pixel, mm_per_level } = *scale;
        let measured = self.levels.iter().copied().filter(|&level| level > 0);
        let lowest = if mm_per_level > 0.0 { measured.min() } else { measured.max() };
        let lowest = f64::from(lowest.ok_or(HeightFault::NoSurface)?);
        let level = |column: usize, row: usize| self.levels.get(row * self.columns + column).copied().unwrap_or(0);
        let mut number_of = vec![u32::MAX; self.columns * 2];
        let (mut positions, mut triangles) = (Vec::new(), Vec::new());
        for row in 0..self.rows {
            number_of.rotate_left(self.columns);
            for column in 0..self.columns {
                let level = level(column, row);
                let number = &mut number_of[self.columns + column];
                *number = u32::MAX;
                if level > 0 {
                    *number = positions.len() as u32;
                    let x = (self.columns - 1 - column) as f64 * mm_per_pixel;
                    let y = (self.rows - 1 - row) as f64 * mm_per_pixel;
                    positions.push(DVec3::new(x, y, (f64::from(level) - lowest) * mm_per_level));
                }
            }
            if row == 0 {
                continue;
            }
            let (above, below) = number_of.split_at(self.columns);
            for column in 1..self.columns {
                // Counter-clockwise in the picture, which is the view from below.
                let quad = [below[column - 1], below[column], above[column], above[column - 1]];
                match quad.map(|number| number != u32::MAX) {
                    [true, true, true, true] => {
                        triangles.push([quad[0], quad[1], quad[2]]);
                        triangles.push([quad[0], quad[2], quad[3]]);
                    }
                    [true, true, true, false] => triangles.push([quad[0], quad[1], quad[2]]),
                    [true, true, false, true] => triangles.push([quad[0], quad[1], quad[3]]),
                    [true, false, true, true] => triangles.push([quad[0], quad[2], quad[3]]),
                    [false, true, true, true] => triangles.push([quad[1], quad[2], quad[3]]),
                    _ => {}
                }
            }
        }
        let merged = mesh::merge_equal(&positions, triangles).map_err(|_| HeightFault::NoSurface)?;
        if merged.mesh.triangles().is_empty() { Err(HeightFault::NoSurface) } else { Ok(merged.mesh) }
    }
}
