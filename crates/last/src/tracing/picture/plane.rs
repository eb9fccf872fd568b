//! Numbers on the pixels of a picture, and sums of them over windows.

use super::Picture;

/// One number a pixel, row by row from the top.
#[derive(Clone)]
pub(super) struct Plane {
    pub width: usize,
    pub height: usize,
    pub values: Vec<f32>,
}

impl Plane {
    /// The picture with `factor` by `factor` pixels averaged into one; what is left over at the right and below is dropped.
    pub(super) fn reduced(picture: &Picture, factor: usize) -> Plane {
        let (width, height) = (picture.width / factor, picture.height / factor);
        let share = 1.0 / (factor * factor) as f32;
        let mut values = Vec::with_capacity(width * height);
        for row in 0..height {
            for column in 0..width {
                let rows = (0..factor).map(|down| (row * factor + down) * picture.width + column * factor);
                let sum: u32 = rows.flat_map(|start| &picture.luma[start..start + factor]).map(|v| u32::from(*v)).sum();
                values.push(sum as f32 * share);
            }
        }
        Plane { width, height, values }
    }

    /// Of the same size, from every pixel's index.
    pub(super) fn like(&self, value: impl Fn(usize) -> f32) -> Plane {
        Plane { width: self.width, height: self.height, values: (0..self.values.len()).map(value).collect() }
    }

    /// Smoothed by a Gaussian; the border goes on beyond the picture.
    pub(super) fn smoothed(&self, sigma: f64) -> Plane {
        let reach = (3.0 * sigma).ceil() as usize;
        let raw: Vec<f64> = (0..=reach).map(|k| libm::exp(-0.5 * (k as f64 / sigma) * (k as f64 / sigma))).collect();
        let sum = raw[0] + 2.0 * raw[1..].iter().sum::<f64>();
        let kernel: Vec<f32> = raw.iter().map(|value| (value / sum) as f32).collect();
        let mut across = Vec::with_capacity(self.values.len());
        for row in self.values.chunks_exact(self.width) {
            let (first, last) = (row[0], row[self.width - 1]);
            let beyond = |level| std::iter::repeat_n(level, reach);
            let padded: Vec<f32> = beyond(first).chain(row.iter().copied()).chain(beyond(last)).collect();
            across.extend(padded.windows(2 * reach + 1).map(|window| {
                let pairs = (1..=reach).map(|k| kernel[k] * (window[reach - k] + window[reach + k]));
                kernel[0] * window[reach] + pairs.sum::<f32>()
            }));
        }
        let row = |index: usize| &across[index * self.width..][..self.width];
        let mut values = Vec::with_capacity(self.values.len());
        for middle in 0..self.height {
            let start = values.len();
            values.extend(row(middle).iter().map(|value| value * kernel[0]));
            for (k, weight) in kernel.iter().enumerate().skip(1) {
                let (above, below) = (row(middle.saturating_sub(k)), row((middle + k).min(self.height - 1)));
                let sums = above.iter().zip(below).map(|(above, below)| weight * (above + below));
                values[start..].iter_mut().zip(sums).for_each(|(value, sum)| *value += sum);
            }
        }
        Plane { values, ..*self }
    }

    /// Sums over the square of `reach` pixels round every pixel, as far as it lies in the picture.
    pub(super) fn window_sums(&self, reach: usize) -> Plane {
        // Running sums in f64, so that adding and taking away leaves nothing behind.
        let mut across = Vec::with_capacity(self.values.len());
        for row in self.values.chunks_exact(self.width) {
            let mut sum: f64 = row.iter().take(reach).map(|value| f64::from(*value)).sum();
            for at in 0..self.width {
                sum += row.get(at + reach).map_or(0.0, |value| f64::from(*value));
                sum -= at.checked_sub(reach + 1).map_or(0.0, |gone| f64::from(row[gone]));
                across.push(sum as f32);
            }
        }
        let rows: Vec<&[f32]> = across.chunks_exact(self.width).collect();
        let mut sums = vec![0.0_f64; self.width];
        let add = |sums: &mut [f64], row: &[f32], sign: f64| {
            sums.iter_mut().zip(row).for_each(|(sum, value)| *sum += sign * f64::from(*value));
        };
        rows.iter().take(reach).for_each(|row| add(&mut sums, row, 1.0));
        let mut values = Vec::with_capacity(self.values.len());
        for at in 0..self.height {
            rows.get(at + reach).into_iter().for_each(|row| add(&mut sums, row, 1.0));
            at.checked_sub(reach + 1).into_iter().for_each(|gone| add(&mut sums, rows[gone], -1.0));
            values.extend(sums.iter().map(|sum| *sum as f32));
        }
        Plane { values, ..*self }
    }
}
