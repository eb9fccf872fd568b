use super::ground::Ground;
use super::plane::Plane;
use super::region::{Region, choose};
use super::{Picture, scale};
use crate::tracing::{PictureFault, TracingError};
use glam::DVec2;
use mesh::Grid;
use mesh::outline::{contour, signed_area_mm2};

/// Finest pixels that are worked with, mm; finer ones are averaged. Half of it is a tenth of what is aimed at.
const FINEST_MM: f64 = 0.12;
/// Most pixels that are worked with: a sheet of 210 by 297 mm at the finest has 4.3 million.
const MOST_WORKED: f64 = 4.5e6;
/// Smoothing, mm. It moves an edge of radius r by about its square over 2 r: 0.02 mm at a toe's tip of 5 mm.
const SMOOTHING_MM: f64 = 0.4;
/// Smallest thing that can be an insole, mm²; a child's has 4,000.
const LEAST_AREA_MM2: f64 = 2000.0;
/// Least levels, of 255, by which it has to stand out from the ground.
const LEAST_CONTRAST: f64 = 12.0;
/// And least multiple of the ground's noise after smoothing.
const LEAST_NOISES: f64 = 4.0;
/// On either side of the first edge so much is left out when the levels beside it are averaged, and so far may the final
/// edge lie off the first, mm.
const BAND_MM: f64 = 1.2;
/// Half side of the window over which the levels beside the edge are averaged, mm.
const WINDOW_MM: f64 = 6.0;
/// Least pixels of insole and of ground in a window.
const LEAST_IN_WINDOW: f32 = 30.0;

/// The contour of what stands out from the ground round it: closed, counter-clockwise, in mm from the picture's lower left
/// corner, y up. The largest thing is taken, or the one at `seed` (pixels from the upper left corner, y down).
///
/// The ground is a smooth surface through the picture's border; what differs from it by more than Otsu's threshold (1979),
/// darker or lighter, stands out. The edge runs where the level is midway between those of the insole and the ground
/// nearby, so uneven light moves it little. On synthetic pictures of 100 to 200 pixels an inch, with noise and uneven
/// light, it lies within 0.5 mm of the truth, 0.15 mm on average (`tests/tracing_picture.rs`).
///
/// # Errors
/// A pixel size out of range, and nothing that stands out, or only something that reaches the border.
pub fn trace(picture: &Picture, mm_per_pixel: f64, seed: Option<[f64; 2]>) -> Result<Vec<DVec2>, TracingError> {
    picture.check()?;
    scale::check(mm_per_pixel)?;
    let pixels = (picture.width * picture.height) as f64;
    let factor = (FINEST_MM / mm_per_pixel).round().max((pixels / MOST_WORKED).sqrt().ceil()).max(1.0) as usize;
    let step_mm = mm_per_pixel * factor as f64;
    let reduced = Plane::reduced(picture, factor);
    if reduced.width.min(reduced.height) < 10 {
        return Err(PictureFault::NothingStandsOut.into());
    }
    let smooth = reduced.smoothed((SMOOTHING_MM / step_mm).max(1.0));
    let ground = Ground::of(&smooth);
    let (width, height) = (smooth.width, smooth.height);
    let off = smooth.like(|at| (f64::from(smooth.values[at]) - ground.at(at % width, at / width)).abs() as f32);
    let threshold = threshold(&off, ground.noise)?;
    let stands_out: Vec<bool> = off.values.iter().map(|off| f64::from(*off) > threshold).collect();
    let least_pixels = (LEAST_AREA_MM2 / (step_mm * step_mm)) as usize;
    let seed = seed.map(|[x, y]| {
        let pixel = |at: f64, end: usize| ((at / factor as f64) as usize).min(end - 1);
        pixel(y, height) * width + pixel(x, width)
    });
    let region = choose(&stands_out, width, seed, least_pixels)?;
    let inside = inside(&smooth, &off, threshold, &stands_out, &region, step_mm);
    // Rows of a grid run upwards.
    let values = inside.values.chunks_exact(width).rev().flatten().copied().collect();
    let below_mm = (picture.height - height * factor) as f64 * mm_per_pixel;
    let origin_mm = DVec2::new(0.0, below_mm) + DVec2::splat(step_mm / 2.0);
    let grid = Grid { origin_mm, step_mm, columns: width, rows: height, values };
    let outlines = contour(&grid, 0.0);
    let largest = outlines.into_iter().max_by(|a, b| signed_area_mm2(a).total_cmp(&signed_area_mm2(b)));
    Ok(largest.filter(|outline| signed_area_mm2(outline) >= LEAST_AREA_MM2).ok_or(PictureFault::NothingStandsOut)?)
}

/// The level that parts what stands out from the rest, by Otsu's method: the variance between both is greatest.
fn threshold(off: &Plane, noise: f64) -> Result<f64, PictureFault> {
    let mut counts = [0_u64; 256];
    off.values.iter().for_each(|off| counts[off.clamp(0.0, 255.0) as usize] += 1);
    let level = |(level, count): (usize, &u64)| (level as f64 + 0.5) * *count as f64;
    let (all, sum) = (off.values.len() as f64, counts.iter().enumerate().map(level).sum::<f64>());
    let (mut best, mut parts) = (0.0, (0.0, 0.0, 0.0));
    let (mut below, mut below_sum) = (0.0, 0.0);
    for (index, count) in counts.iter().enumerate() {
        below += *count as f64;
        below_sum += level((index, count));
        let above = all - below;
        let (low, high) = (below_sum / below, (sum - below_sum) / above);
        let variance = below * above * (high - low) * (high - low);
        // Not a number where one part is empty, and then not greater.
        if variance > best {
            (best, parts) = (variance, (low, high, index as f64 + 1.0));
        }
    }
    let (low, high, between) = parts;
    let least = LEAST_CONTRAST.max(LEAST_NOISES * noise);
    if high - low < least {
        return Err(PictureFault::NothingStandsOut);
    }
    Ok(between.max(least / 2.0))
}

/// Above zero inside the insole, below outside; about −0.5 … 0.5 across its edge.
fn inside(smooth: &Plane, off: &Plane, threshold: f64, stands_out: &[bool], region: &Region, step_mm: f64) -> Plane {
    let band = (BAND_MM / step_mm).ceil() as usize;
    let window = (WINDOW_MM / step_mm).ceil() as usize;
    let count = |of: &[bool], at: usize| if of[at] { 1.0 } else { 0.0 };
    let whole = ((2 * band + 1) * (2 * band + 1)) as f32;
    let own = smooth.like(|at| count(&region.own, at)).window_sums(band);
    let any = smooth.like(|at| count(stands_out, at)).window_sums(band);
    let filled = smooth.like(|at| count(&region.filled, at)).window_sums(band);
    // Sum of levels and count of pixels in the window round every pixel, of those that `takes` tells.
    let sums = |takes: &dyn Fn(usize) -> bool| {
        let levels = smooth.like(|at| if takes(at) { smooth.values[at] } else { 0.0 }).window_sums(window);
        (levels, smooth.like(|at| if takes(at) { 1.0 } else { 0.0 }).window_sums(window))
    };
    let (in_levels, in_counts) = sums(&|at| own.values[at] >= whole);
    let (out_levels, out_counts) = sums(&|at| any.values[at] <= 0.0);
    smooth.like(|at| {
        let is_hole = region.filled[at] && !region.own[at];
        if is_hole || filled.values[at] >= whole {
            return 0.5;
        }
        if filled.values[at] <= 0.0 {
            return -0.5;
        }
        let (ins, outs) = (in_counts.values[at], out_counts.values[at]);
        let (level_in, level_out) = (in_levels.values[at] / ins, out_levels.values[at] / outs);
        let apart = level_in - level_out;
        if ins.min(outs) >= LEAST_IN_WINDOW && f64::from(apart.abs()) >= threshold {
            return ((smooth.values[at] - level_out) / apart - 0.5).clamp(-0.5, 0.5);
        }
        // Too narrow or too faint here: the first edge.
        ((off.values[at] - threshold as f32) / (2.0 * threshold as f32)).clamp(-0.5, 0.5)
    })
}
