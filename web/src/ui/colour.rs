//! Colours of values: one perceptually uniform sequential map for each quantity, and its scale. A value is never told
//! by colour alone: iso-lines and numbers go with it.

use super::fields::number;
use crate::worker::Grid;

/// A quantity drawn in colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Quantity {
    /// Shore A.
    Hardness,
    /// Thickness of the insole, mm.
    Thickness,
    /// Difference from another insole, mm; negative where there is less.
    Difference,
}

impl Quantity {
    /// Name as shown.
    pub(crate) fn label(self) -> &'static str {
        match self {
            Quantity::Hardness => "Hardness",
            Quantity::Thickness => "Thickness",
            Quantity::Difference => "Difference",
        }
    }

    /// Unit as printed.
    pub(crate) fn unit(self) -> &'static str {
        match self {
            Quantity::Hardness => "Shore A",
            Quantity::Thickness | Quantity::Difference => "mm",
        }
    }

    /// The scale's ends. They are fixed, so that left and right and today and tomorrow compare by eye: Shore A from
    /// the softest foams to a stiff shell, thickness from nothing to a high arch on a thick base.
    pub(crate) fn range(self) -> (f64, f64) {
        match self {
            Quantity::Hardness => (10.0, 80.0),
            Quantity::Thickness => (0.0, 30.0),
            Quantity::Difference => (-5.0, 5.0),
        }
    }

    /// Distance between iso-lines.
    pub(crate) fn iso_step(self) -> f64 {
        if self == Quantity::Difference { 1.0 } else { 5.0 }
    }

    /// A value as it is written, with its sign where there are two.
    pub(crate) fn word(self, value: f64, places: usize) -> String {
        let text = number(value, places);
        let plus = self == Quantity::Difference && value > 0.0 && text.contains(|c: char| ('1'..='9').contains(&c));
        if plus { format!("+{text}") } else { text }
    }

    /// Colour of a value, red, green, blue. Soft and thin are light, hard and thick are dark, like more ink.
    pub(crate) fn colour(self, value: f64) -> [u8; 3] {
        let (least, greatest) = self.range();
        let share = 1.0 - ((value - least) / (greatest - least)).clamp(0.0, 1.0);
        let map = match self {
            Quantity::Hardness => colorous::CIVIDIS,
            Quantity::Thickness => colorous::GREENS,
            // Two hues that those who do not tell red from green tell apart, both darker the more it differs.
            Quantity::Difference => colorous::PURPLE_ORANGE,
        };
        // The single hue runs from light to dark, the two-hue map from dark to light; the hue's own ends are white and
        // nearly black, and would be lost on paper and under ink.
        let share = match self {
            Quantity::Hardness | Quantity::Difference => share,
            Quantity::Thickness => 0.1 + 0.75 * (1.0 - share),
        };
        let colour = map.eval_continuous(share);
        [colour.r, colour.g, colour.b]
    }

    /// Whether lines over the colour of a value must be light to be seen.
    pub(crate) fn is_dark(self, value: f64) -> bool {
        // At this luminance black and white contrast alike: (L + 0.05)² = 1.05 · 0.05.
        luminance(self.colour(value)) < 0.179
    }

    /// The same as CSS.
    pub(crate) fn css(self, value: f64) -> String {
        let [r, g, b] = self.colour(value);
        format!("rgb({r} {g} {b})")
    }

    /// A table of `N` colours over the range, least value first.
    pub(crate) fn table<const N: usize>(self) -> [[u8; 3]; N] {
        let (least, greatest) = self.range();
        std::array::from_fn(|i| self.colour(least + (greatest - least) * i as f64 / (N - 1) as f64))
    }
}

/// Relative luminance of sRGB, WCAG 2.2.
fn luminance(colour: [u8; 3]) -> f64 {
    let linear = colour.map(|channel| {
        let c = f64::from(channel) / 255.0;
        if c <= 0.04045 { c / 12.92 } else { libm::pow((c + 0.055) / 1.055, 2.4) }
    });
    0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
}

/// The picture of a grid, one pixel a sample, first row first: red, green, blue, opacity. Samples outside take the
/// colour of a neighbour inside, so that a picture cut out along the outline has no ragged edge.
pub(crate) fn picture(grid: &Grid, quantity: Quantity) -> Vec<u8> {
    let table = quantity.table::<256>();
    let (least, greatest) = quantity.range();
    let mut pixels = vec![0_u8; grid.values.len() * 4];
    for (pixel, &value) in pixels.chunks_exact_mut(4).zip(&spread(grid)) {
        if value.is_nan() {
            continue;
        }
        let share = ((f64::from(value) - least) / (greatest - least)).clamp(0.0, 1.0);
        pixel[..3].copy_from_slice(&table[(share * 255.0) as usize]);
        pixel[3] = 255;
    }
    pixels
}

/// The values with two rings of samples outside filled from their neighbours.
fn spread(grid: &Grid) -> Vec<f32> {
    let mut values = grid.values.as_ref().clone();
    let columns = grid.frame.columns;
    if columns == 0 {
        return values;
    }
    for _ in 0..2 {
        let before = values.clone();
        for (i, value) in values.iter_mut().enumerate().filter(|(_, value)| value.is_nan()) {
            let column = i % columns;
            let neighbours = [
                (column > 0).then(|| i - 1),
                (column + 1 < columns).then_some(i + 1),
                i.checked_sub(columns),
                Some(i + columns),
            ];
            let near = neighbours.into_iter().flatten().filter_map(|k| before.get(k)).find(|value| !value.is_nan());
            *value = near.copied().unwrap_or(f32::NAN);
        }
    }
    values
}

/// The value at each vertex: of the sample nearest to it in plan, at the rim of the nearest inside.
pub(crate) fn at_vertices(grid: &Grid, positions: &[f32]) -> Vec<f32> {
    let filled = Grid { frame: grid.frame, values: spread(grid).into() };
    let at = |p: &[f32]| sample(&filled, [f64::from(p[0]), f64::from(p[1])]).map_or(0.0, |value| value as f32);
    positions.chunks_exact(3).map(at).collect()
}

/// The sample nearest to a plan position, foot frame; `None` outside.
pub(crate) fn sample(grid: &Grid, at: [f64; 2]) -> Option<f64> {
    let column = ((at[0] - grid.frame.origin_mm[0]) / grid.frame.step_mm).round();
    let row = ((at[1] - grid.frame.origin_mm[1]) / grid.frame.step_mm).round();
    if column < 0.0 || row < 0.0 || column >= grid.frame.columns as f64 || row >= grid.frame.rows as f64 {
        return None;
    }
    let value = grid.values.get(row as usize * grid.frame.columns + column as usize)?;
    (!value.is_nan()).then_some(f64::from(*value))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::protocol::GridFrame;
    use std::rc::Rc;

    #[test]
    fn more_is_always_darker() {
        for quantity in [Quantity::Hardness, Quantity::Thickness] {
            let table = quantity.table::<40>();
            for pair in table.windows(2) {
                assert!(luminance(pair[1]) < luminance(pair[0]), "{quantity:?}: {pair:?}");
            }
        }
    }

    #[test]
    fn a_difference_is_darker_the_greater_it_is_to_either_side() {
        for side in [-1.0, 1.0] {
            for pair in [0.0, 1.0, 2.0, 3.0, 4.0, 5.0].windows(2) {
                let [less, more] = [pair[0], pair[1]].map(|mm| luminance(Quantity::Difference.colour(side * mm)));
                assert!(more < less, "{pair:?} to the side {side}");
            }
        }
    }

    /// What those see who lack one of the three cones: red and green fall into one, blue stays. Viénot, Brettel and Mollon
    /// 1999, Color Research and Application 24:243; the shares of red and green are from memory.
    #[test]
    fn the_sign_of_a_difference_is_told_without_red_and_green() {
        let linear = |channel: u8| libm::pow(f64::from(channel) / 255.0, 2.2);
        for red_share in [0.112, 0.293] {
            let blueness = |mm: f64| {
                let [r, g, b] = Quantity::Difference.colour(mm).map(linear);
                let yellow = red_share * r + (1.0 - red_share) * g;
                (b - yellow) / (b + yellow)
            };
            for mm in [1.0, 2.0, 3.0, 4.0, 5.0] {
                assert!(blueness(mm) > 0.05 && blueness(-mm) < -0.05, "{mm}: {} {}", blueness(mm), blueness(-mm));
            }
        }
    }

    #[test]
    fn a_difference_carries_its_sign() {
        let word = |mm: f64| Quantity::Difference.word(mm, 1);
        assert_eq!([word(1.25), word(-0.5), word(0.01), word(-0.01)], ["+1.2", "−0.5", "0.0", "0.0"]);
        assert_eq!(Quantity::Thickness.word(4.0, 0), "4");
    }

    #[test]
    fn a_picture_has_a_filled_rim_and_an_empty_outside() {
        let mut values = vec![f32::NAN; 81];
        values[40] = 30.0;
        let grid = Grid {
            frame: GridFrame { origin_mm: [10.0, 0.0], step_mm: 1.0, columns: 9, rows: 9 },
            values: Rc::new(values),
        };
        let pixels = picture(&grid, Quantity::Hardness);
        let opacity = |column: usize, row: usize| pixels[(row * 9 + column) * 4 + 3];
        assert_eq!((opacity(4, 4), opacity(4, 6), opacity(4, 7), opacity(0, 0)), (255, 255, 0, 0));
        assert_eq!(sample(&grid, [14.2, 3.9]), Some(30.0));
        assert_eq!(sample(&grid, [14.2, 5.0]), None);
        assert_eq!(sample(&grid, [-1.0, 5.0]), None);
    }
}
