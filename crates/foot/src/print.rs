//! The geometric print of the sole, without the toes, and the indices of the arch read off it.
//!
//! The print is where the skin lies within [`PRINT_HEIGHT_MM`] of the support plane: that of the shape as scanned, not
//! of a foot pressed on paper. Of an unloaded foot it is narrower than an inked print.

use crate::{Foot, PRINT_HEIGHT_MM};

/// The toeless print as ink breadth along the foot.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct ToelessPrint {
    /// Place of the first slice along the axis, mm.
    pub(crate) first_mm: f64,
    /// Thickness of a slice, mm.
    pub(crate) step_mm: f64,
    /// Breadth of the print in each slice, heel to ball, mm. The first and the last are not empty.
    pub(crate) breadths_mm: Vec<f64>,
    /// Medial and lateral end of the print in each slice, mm; equal where it is empty.
    pub(crate) ends_mm: Vec<(f64, f64)>,
}

/// The crease between ball and toes is sought from this far in front of the line through both metatarsal heads…
const CREASE_FROM: f64 = 0.01;
/// … to this far, shares of foot length. Toe pads touch the ground farther in front.
const CREASE_TO: f64 = 0.15;

/// A line across the ball: x at two places y, mm.
#[derive(Clone, Copy, Debug)]
pub(crate) struct BallLine {
    pub(crate) medial: glam::DVec2,
    pub(crate) lateral: glam::DVec2,
}

impl BallLine {
    /// The place of the line along the foot at `y_mm`, level beyond its ends.
    fn x_at(&self, y_mm: f64) -> f64 {
        let share = (y_mm - self.lateral.y) / (self.medial.y - self.lateral.y);
        self.lateral.x + (self.medial.x - self.lateral.x) * share.clamp(0.0, 1.0)
    }
}

impl ToelessPrint {
    /// The print of a foot up to the crease behind the toes: in each line along the foot, where the sole is highest in
    /// front of the ball. `None` if nothing of the sole is near the support plane.
    pub(crate) fn of(foot: &Foot, ball: BallLine, length_mm: f64) -> Option<ToelessPrint> {
        let sole = crate::view::smoothed(&foot.sole, 1);
        let column_of = |x: f64| ((x - sole.origin_mm.x) / sole.step_mm).max(0.0) as usize;
        let mut breadths = vec![0.0; sole.columns];
        let mut ends = vec![(f64::NEG_INFINITY, f64::INFINITY); sole.columns];
        for row in 0..sole.rows {
            let y = sole.at(0, row).y;
            let from = column_of(ball.x_at(y) + CREASE_FROM * length_mm);
            let to = column_of(ball.x_at(y) + CREASE_TO * length_mm).min(sole.columns);
            let height = |column: usize| f64::from(sole.get(column, row));
            let crease = (from..to)
                .filter(|&column| height(column).is_finite())
                .max_by(|&a, &b| height(a).total_cmp(&height(b)))
                .unwrap_or(from);
            for column in (0..crease).filter(|&column| height(column) < PRINT_HEIGHT_MM) {
                breadths[column] += sole.step_mm;
                ends[column] = (ends[column].0.max(y), ends[column].1.min(y));
            }
        }
        let first = breadths.iter().position(|&b| b > 0.0)?;
        let last = breadths.iter().rposition(|&b| b > 0.0)?;
        let ends = ends[first..=last].iter().map(|&(m, l)| if m >= l { (m, l) } else { (0.0, 0.0) }).collect();
        Some(ToelessPrint {
            first_mm: sole.at(first, 0).x,
            step_mm: sole.step_mm,
            breadths_mm: breadths[first..=last].to_vec(),
            ends_mm: ends,
        })
    }

    /// Place of a slice along the axis, mm.
    pub(crate) fn x_of(&self, slice: usize) -> f64 {
        self.first_mm + slice as f64 * self.step_mm
    }

    /// The broadest slice of the rear, the narrowest between the two, the broadest of the front.
    pub(crate) fn heel_waist_ball(&self) -> Option<[usize; 3]> {
        let count = self.breadths_mm.len();
        let by_breadth = |&a: &usize, &b: &usize| self.breadths_mm[a].total_cmp(&self.breadths_mm[b]);
        // Rear and front as the outer thirds of the arch index; of equal slices the one nearer to the end.
        let heel = (0..count / 3).rev().max_by(by_breadth)?;
        let ball = (count - count / 3..count).max_by(by_breadth)?;
        let waist = (heel..=ball).min_by(by_breadth)?;
        Some([heel, waist, ball])
    }
}

/// Arch index: area of the middle third of the toeless print over its whole area, from its breadths in slices of equal
/// thickness; `None` without area.
///
/// Cavanagh and Rodgers 1987, J Biomech 20:547: the print without toes is cut in three equal lengths.
#[must_use]
pub fn arch_index(breadths_mm: &[f64]) -> Option<f64> {
    let count = breadths_mm.len() as f64;
    // A third may end within a slice, which is then divided.
    let area_until = |end: f64| -> f64 {
        breadths_mm.iter().enumerate().map(|(k, breadth)| breadth * (end - k as f64).clamp(0.0, 1.0)).sum()
    };
    let whole: f64 = breadths_mm.iter().sum();
    let middle = area_until(count * 2.0 / 3.0) - area_until(count / 3.0);
    (whole > 0.0).then(|| middle / whole)
}

/// Chippaux-Smirak index, %: narrowest breadth of the middle of the print over the broadest of the forefoot.
#[must_use]
pub fn chippaux_smirak_percent(narrowest_mm: f64, forefoot_mm: f64) -> Option<f64> {
    (forefoot_mm > 0.0 && narrowest_mm >= 0.0).then(|| 100.0 * narrowest_mm / forefoot_mm)
}

/// Staheli index: narrowest breadth of the middle of the print over the breadth of the heel.
#[must_use]
pub fn staheli_index(narrowest_mm: f64, heel_mm: f64) -> Option<f64> {
    (heel_mm > 0.0 && narrowest_mm >= 0.0).then(|| narrowest_mm / heel_mm)
}

/// Arch height index: height of the dorsum at half the foot length over the truncated foot length.
#[must_use]
pub fn arch_height_index(dorsum_height_mm: f64, truncated_length_mm: f64) -> Option<f64> {
    (truncated_length_mm > 0.0).then(|| dorsum_height_mm / truncated_length_mm)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn bands(fore: f64, mid: f64, heel: f64, slices: usize) -> Vec<f64> {
        [heel, mid, fore].into_iter().flat_map(|breadth| std::iter::repeat_n(breadth, slices)).collect()
    }

    fn near(found: Option<f64>, expected: f64) {
        let found = found.unwrap_or(f64::NAN);
        assert!((found - expected).abs() < 1e-12, "{found} is not {expected}");
    }

    /// Worked from the published formula (Cavanagh and Rodgers 1987).
    #[test]
    fn arch_index_of_worked_prints() {
        // Areas 52, 28 and 40 cm² in three bands.
        near(arch_index(&bands(52.0, 28.0, 40.0, 7)), 28.0 / 120.0);
        near(arch_index(&bands(90.0, 30.0, 60.0, 50)), 30.0 / 180.0);
        for slices in [3, 4, 100, 184] {
            near(arch_index(&vec![71.0; slices]), 1.0 / 3.0);
        }
        assert_eq!(arch_index(&[]), None);
        assert_eq!(arch_index(&[0.0, 0.0]), None);
    }

    /// Worked from the formulas.
    #[test]
    fn breadth_indices_of_worked_prints() {
        near(chippaux_smirak_percent(30.0, 90.0), 100.0 / 3.0);
        near(staheli_index(30.0, 60.0), 0.5);
        near(chippaux_smirak_percent(0.0, 90.0), 0.0);
        assert_eq!(chippaux_smirak_percent(30.0, 0.0), None);
        assert_eq!(staheli_index(30.0, 0.0), None);
        let index = arch_height_index(62.0, 188.0).unwrap_or(f64::NAN);
        assert!((index - 0.3298).abs() < 5e-5);
    }

    proptest! {
        #[test]
        fn arch_index_is_a_share_and_has_no_scale(
            breadths in proptest::collection::vec(0.1..100.0f64, 3..80),
            scale in 0.01..100.0f64,
        ) {
            let index = arch_index(&breadths).unwrap_or(f64::NAN);
            prop_assert!((0.0..=1.0).contains(&index));
            let scaled: Vec<f64> = breadths.iter().map(|b| b * scale).collect();
            prop_assert!((arch_index(&scaled).unwrap_or(f64::NAN) - index).abs() < 1e-9);
            // Heel and toe end exchanged: the middle stays the middle.
            let turned: Vec<f64> = breadths.iter().rev().copied().collect();
            prop_assert!((arch_index(&turned).unwrap_or(f64::NAN) - index).abs() < 1e-9);
        }
    }
}
