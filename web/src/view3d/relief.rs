//! What makes a bare mesh readable: how open each vertex lies, and the shade under the pair.

use glam::{DVec2, DVec3};

/// A vertex this much lower than its neighbours, as a share of their distance, lies in a crease.
const CREASE: f64 = 0.22;
/// Shallower than this is the scanner's noise, as a share of the same distance.
const NOISE: f64 = 0.05;
/// Rounds of smoothing: a crease is some vertices wide, noise is one.
const ROUNDS: usize = 4;
/// Rounds of smoothing normals: noise of a few tenths of a millimetre turns a small triangle by ten degrees.
const NORMAL_ROUNDS: usize = 2;

/// How open each vertex lies, 0 (in a crease) … 255 (in the open): toes and folds stand out without shadows.
pub(super) fn openness(positions: &[f32], normals: &[f32], indices: &[u32]) -> Vec<u8> {
    let points: Vec<DVec3> = triples(positions);
    let normals: Vec<DVec3> = triples(normals);
    let count = points.len().min(normals.len());
    let mut sums = vec![(0.0, 0.0); count];
    for (a, b) in edges(indices, count) {
        let towards = points[b] - points[a];
        sums[a].0 += towards.dot(normals[a]);
        sums[a].1 += towards.length();
    }
    let mut depth: Vec<f64> =
        sums.iter().map(|&(rise, length)| if length > 0.0 { rise / length } else { 0.0 }).collect();
    for _ in 0..ROUNDS {
        let mut sums: Vec<(f64, f64)> = depth.iter().map(|&own| (own, 1.0)).collect();
        edges(indices, count).for_each(|(a, b)| sums[a] = (sums[a].0 + depth[b], sums[a].1 + 1.0));
        depth = sums.into_iter().map(|(sum, weight)| sum / weight).collect();
    }
    depth.iter().map(|&depth| (255.0 * (1.0 - (depth - NOISE) / CREASE).clamp(0.0, 1.0)) as u8).collect()
}

/// Normals for showing a scan: each the mean of its neighbours', so that the scanner's noise does not speckle the skin.
/// The shape drawn stays the scan's own.
pub(super) fn calm_normals(normals: &[f32], indices: &[u32]) -> Vec<f32> {
    let mut normals: Vec<DVec3> = triples(normals);
    for _ in 0..NORMAL_ROUNDS {
        let mut sums = normals.clone();
        edges(indices, normals.len()).for_each(|(a, b)| sums[a] += normals[b]);
        normals = sums.into_iter().map(DVec3::normalize_or_zero).collect();
    }
    normals.iter().flat_map(|n| n.as_vec3().to_array()).collect()
}

/// The edges of all triangles. On a closed surface every edge comes once in either direction, so that a sum over the
/// edges that leave a vertex is one over its neighbours.
fn edges(indices: &[u32], count: usize) -> impl Iterator<Item = (usize, usize)> {
    let ends = indices.as_chunks::<3>().0.iter().flat_map(|&[a, b, c]| [(a, b), (b, c), (c, a)]);
    let sound = move |&(a, b): &(u32, u32)| (a as usize) < count && (b as usize) < count;
    ends.filter(sound).map(|(a, b)| (a as usize, b as usize))
}

/// Distance between samples of the shade, mm: it is blurred over several.
const SHADE_STEP_MM: f64 = 4.0;
/// Room around the pair for the shade to fade in, mm.
const SHADE_ROOM_MM: f64 = 36.0;
/// Height over the ground at which a surface shades a third as much as on it, mm.
const SHADE_HEIGHT_MM: f64 = 28.0;
/// Half width of one blurring pass, samples; three passes come close to a bell.
const SHADE_BLUR: usize = 2;

/// The shade that things standing on the ground leave on it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Shade {
    /// Least and greatest corner, world, mm.
    pub(super) lo: DVec2,
    pub(super) hi: DVec2,
    /// Samples, rows along +y.
    pub(super) columns: usize,
    pub(super) rows: usize,
    /// 0 (none) … 255.
    pub(super) values: Vec<u8>,
}

impl Shade {
    /// The shade of points (world, mm) over a ground at `ground_mm`; `None` without points.
    pub(super) fn under(points: &[DVec3], ground_mm: f64) -> Option<Shade> {
        let none = (DVec2::INFINITY, DVec2::NEG_INFINITY);
        let (lo, hi) = points.iter().fold(none, |(lo, hi), p| (lo.min(p.truncate()), hi.max(p.truncate())));
        if !(lo.is_finite() && hi.is_finite()) {
            return None;
        }
        let (lo, hi) = (lo - SHADE_ROOM_MM, hi + SHADE_ROOM_MM);
        let size = ((hi - lo) / SHADE_STEP_MM).min(DVec2::splat(1024.0));
        let (columns, rows) = (size.x as usize + 1, size.y as usize + 1);
        let step = (hi - lo) / DVec2::new(columns as f64, rows as f64);
        let mut dark = vec![0.0_f32; columns * rows];
        for point in points {
            let q = (point.truncate() - lo) / step;
            let cell = (q.y as usize).min(rows - 1) * columns + (q.x as usize).min(columns - 1);
            let height = (point.z - ground_mm).max(0.0) / SHADE_HEIGHT_MM;
            dark[cell] = dark[cell].max((1.0 / (1.0 + height * height * 2.0)) as f32);
        }
        for _ in 0..3 {
            blur(&mut dark, columns, 1, rows, columns);
            blur(&mut dark, rows, columns, columns, 1);
        }
        let values = dark.iter().map(|&dark| (255.0 * dark.clamp(0.0, 1.0)) as u8).collect();
        Some(Shade { lo, hi, columns, rows, values })
    }
}

/// Running mean along every line of a grid: `count` samples `stride` apart, `lines` lines `next` apart.
fn blur(values: &mut [f32], count: usize, stride: usize, lines: usize, next: usize) {
    let mut line = vec![0.0; count];
    for first in (0..lines).map(|line| line * next) {
        (0..count).for_each(|i| line[i] = values[first + i * stride]);
        for i in 0..count {
            let (from, to) = (i.saturating_sub(SHADE_BLUR), (i + SHADE_BLUR).min(count - 1));
            // Beyond the grid there is no shade: it counts as zero.
            values[first + i * stride] = line[from..=to].iter().sum::<f32>() / (2 * SHADE_BLUR + 1) as f32;
        }
    }
}

fn triples(values: &[f32]) -> Vec<DVec3> {
    values.as_chunks::<3>().0.iter().map(|&[x, y, z]| DVec3::new(x.into(), y.into(), z.into())).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A strip folded along y = 0: level, or a groove, or a ridge.
    fn strip(fold: f32) -> (Vec<f32>, Vec<f32>, Vec<u32>) {
        let (mut positions, mut normals) = (Vec::new(), Vec::new());
        for i in 0..5_u8 {
            for j in 0..9_u8 {
                let (x, y) = (f32::from(i) * 2.0, (f32::from(j) - 4.0) * 2.0);
                positions.extend([x, y, fold * y.abs()]);
                normals.extend([0.0, 0.0, 1.0]);
            }
        }
        let mut indices = Vec::new();
        for i in 0..4 {
            for j in 0..8 {
                let a = i * 9 + j;
                indices.extend([a, a + 9, a + 1, a + 1, a + 9, a + 10]);
            }
        }
        (positions, normals, indices)
    }

    #[test]
    fn a_groove_is_closed_and_a_ridge_is_open() {
        let at_fold = |fold| {
            let (positions, normals, indices) = strip(fold);
            openness(&positions, &normals, &indices)[2 * 9 + 4]
        };
        assert_eq!(at_fold(0.0), 255);
        assert_eq!(at_fold(-0.8), 255);
        assert_eq!(at_fold(0.1), 255, "noise is no groove");
        assert!(at_fold(0.8) < 255 && at_fold(1.6) < at_fold(0.8));
    }

    #[test]
    fn calm_normals_forget_noise_and_keep_direction() {
        let (_, mut normals, indices) = strip(0.0);
        let noisy = 2 * 9 + 4;
        (normals[noisy * 3], normals[noisy * 3 + 2]) = (0.6, 0.8);
        let calm = calm_normals(&normals, &indices);
        assert!(calm[noisy * 3] < 0.2, "{}", calm[noisy * 3]);
        for normal in calm.as_chunks::<3>().0 {
            let length = normal.iter().map(|n| n * n).sum::<f32>().sqrt();
            assert!((length - 1.0).abs() < 1e-6 && normal[2] > 0.9);
        }
    }

    #[test]
    fn the_shade_is_darkest_under_what_touches_the_ground() {
        let line = |z: f64| (0..100).map(move |i| DVec3::new(f64::from(i), 0.0, z)).collect::<Vec<_>>();
        let darkest = |z| Shade::under(&line(z), 0.0).map(|shade| shade.values.iter().copied().max());
        assert!(darkest(0.0) > darkest(20.0) && darkest(20.0) > darkest(80.0));
        assert_eq!(Shade::under(&[], 0.0), None);
        assert_eq!(Shade::under(&[DVec3::NAN], 0.0), None);
        let shade = Shade::under(&line(0.0), 0.0).unwrap();
        assert_eq!(shade.values.len(), shade.columns * shade.rows);
        assert!(shade.values[..shade.columns].iter().all(|&value| value == 0), "fades out before its edge");
    }
}
