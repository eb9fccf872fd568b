use super::likeness::{FOOT_HEIGHT, Guess};
use super::sample::Sample;
use base::Side;
use std::ops::Range;

/// Which side the shape speaks for.
#[derive(Clone, Copy, Debug)]
pub(super) struct Vote {
    pub(super) side: Side,
    /// 0.5 (a coin's toss) … 1.
    pub(super) confidence: f64,
    /// The sum of all votes, positive for a right foot: about +5 for a clear one.
    pub(super) lean: f64,
}

impl Vote {
    fn of(lean: f64) -> Vote {
        let side = if lean >= 0.0 { Side::Right } else { Side::Left };
        Vote { side, confidence: 1.0 / (1.0 + libm::exp(-lean.abs())), lean }
    }
}

/// The votes on two feet of one person, of which one is a right one and one a left one.
pub(super) fn pair(first: &Vote, second: &Vote) -> [Vote; 2] {
    let lean = first.lean - second.lean;
    [Vote::of(lean), Vote { side: Vote::of(lean).side.other(), ..Vote::of(-lean) }]
}

/// No single vote counts more than this: a missing toe or a swelling must not decide alone.
const MOST: f64 = 1.5;

/// Counts what speaks for the medial side being at +y of the guess.
///
/// Each vote is a difference between the two halves of the foot over the size it usually has, so that it is about +1
/// for a right foot and −1 for a left one. The confidence is the logistic function of their sum.
pub(super) fn vote(samples: &[Sample], guess: &Guess, is_sheet: bool) -> Vote {
    let plan = Plan::of(samples, guess);
    let sole = [
        plan.arch_hollow() / ARCH_HOLLOW,
        plan.toes_aside() / TOES_ASIDE,
        plan.waist_aside() / WAIST_ASIDE,
        plan.ball_slant() / BALL_SLANT,
    ];
    // A sole alone has no upper side to ask.
    let above = if is_sheet { [0.0; 2] } else { [plan.toe_height() / TOE_HEIGHT, plan.crest_aside() / CREST_ASIDE] };
    let sum: f64 = sole.iter().chain(&above).filter(|vote| vote.is_finite()).map(|vote| vote.clamp(-MOST, MOST)).sum();
    Vote::of(sum)
}

// What the differences usually are, shares of foot length. Common anatomy, no source: a vote twice too great or too
// small still points the same way.

/// The sole is that much higher in the medial half of the arch than in the lateral half.
const ARCH_HOLLOW: f64 = 0.04;
/// The front of the toes lies that far medial of the line through heel and ball.
const TOES_ASIDE: f64 = 0.06;
/// The middle of the outline between heel and ball lies that far lateral of that line.
const WAIST_ASIDE: f64 = 0.015;
/// The medial toes are that much thicker than the lateral ones.
const TOE_HEIGHT: f64 = 0.025;
/// The crest of the instep runs that far medial of the outline's middle behind the ball.
const CREST_ASIDE: f64 = 0.04;
/// The ball's medial bulge lies that much farther forward than the lateral one.
const BALL_SLANT: f64 = 0.10;

// Where they are looked for along the foot, shares of foot length.
const HEEL: Range<f64> = 0.08..0.20;
const WAIST: Range<f64> = 0.32..0.50;
const ARCH: Range<f64> = 0.35..0.60;
const CREST: Range<f64> = 0.60..0.76;
const BALL: Range<f64> = 0.60..0.80;
const BULGES: Range<f64> = 0.50..0.90;
const TOES: Range<f64> = 0.84..0.96;
const TIPS: Range<f64> = 0.88..1.00;

/// The halves of the arch are compared between these shares of the breadth from either border.
const ARCH_BAND: (f64, f64) = (0.1, 0.4);
/// What rises over this share of the greatest height across the foot is its crest.
const CREST_FROM: f64 = 0.8;
/// A bulge is the part of the border within this share of foot length of its farthest point.
const BULGE: f64 = 0.03;

/// Cells along and across the foot: one is 5 mm on a foot of 250 mm and holds some five samples of the sole.
const CELLS: usize = 50;

/// Lowest and highest skin on a square of a foot length, shares of foot length.
struct Plan {
    low: Vec<f64>,
    high: Vec<f64>,
    /// Per column: least and greatest y of the outline; `None` in front of the toes.
    borders: Vec<Option<(f64, f64)>>,
}

/// Middle of a column along the foot.
fn x_of(column: usize) -> f64 {
    (column as f64 + 0.5) / CELLS as f64
}

/// Middle of a row across the foot.
fn y_of(row: usize) -> f64 {
    (row as f64 + 0.5) / CELLS as f64 - 0.5
}

/// Mean over the columns of a part of the foot that have a value; 0 if none has.
fn mean(part: Range<f64>, of: impl Fn(usize) -> Option<f64>) -> f64 {
    let columns = (part.start * CELLS as f64) as usize..(part.end * CELLS as f64) as usize;
    let values: Vec<f64> = columns.filter_map(of).collect();
    if values.is_empty() { 0.0 } else { values.iter().sum::<f64>() / values.len() as f64 }
}

impl Plan {
    fn of(samples: &[Sample], guess: &Guess) -> Plan {
        let (mut low, mut high) = (vec![f64::INFINITY; CELLS * CELLS], vec![f64::NEG_INFINITY; CELLS * CELLS]);
        for sample in samples {
            let q = guess.local(sample.at);
            let (column, row) = ((q.x * CELLS as f64).floor(), ((q.y + 0.5) * CELLS as f64).floor());
            let is_inside = |k: f64| k >= 0.0 && k < CELLS as f64;
            if is_inside(column) && is_inside(row) {
                let k = row as usize * CELLS + column as usize;
                low[k] = low[k].min(q.z);
                high[k] = high[k].max(q.z);
            }
        }
        let border = |column: usize| {
            let mut rows = (0..CELLS).filter(|row| low[row * CELLS + column] < FOOT_HEIGHT);
            let first = rows.next()?;
            Some((y_of(first), y_of(rows.next_back().unwrap_or(first))))
        };
        let borders = (0..CELLS).map(border).collect();
        Plan { low, high, borders }
    }

    /// Middle of the outline.
    fn middle(&self, column: usize) -> Option<f64> {
        self.borders[column].map(|(least, greatest)| (least + greatest) / 2.0)
    }

    /// How far the middle of the outline lies to +y of the straight line through heel and ball.
    fn aside(&self, column: usize) -> Option<f64> {
        let [(heel_x, heel), (ball_x, ball)] =
            [HEEL, BALL].map(|part| ((part.start + part.end) / 2.0, mean(part, |c| self.middle(c))));
        let line = heel + (ball - heel) * (x_of(column) - heel_x) / (ball_x - heel_x);
        Some(self.middle(column)? - line)
    }

    /// Mean height over the cells of a band along the border at +y, less that along the border at −y.
    fn differ(&self, column: usize, heights: &[f64], band: (f64, f64)) -> Option<f64> {
        let (least, greatest) = self.borders[column]?;
        let mean_from = |border: f64| {
            let is_in_band = |row: usize| {
                let inward = ((y_of(row) - border) / (greatest - least)).abs();
                inward >= band.0 && inward <= band.1 && self.low[row * CELLS + column] < FOOT_HEIGHT
            };
            let rows: Vec<usize> = (0..CELLS).filter(|&row| is_in_band(row)).collect();
            let sum: f64 = rows.iter().map(|row| heights[row * CELLS + column]).sum();
            (!rows.is_empty()).then(|| sum / rows.len() as f64)
        };
        Some(mean_from(greatest)? - mean_from(least)?)
    }

    fn arch_hollow(&self) -> f64 {
        mean(ARCH, |column| self.differ(column, &self.low, ARCH_BAND))
    }

    fn toes_aside(&self) -> f64 {
        mean(TIPS, |column| self.aside(column))
    }

    fn waist_aside(&self) -> f64 {
        mean(WAIST, |column| Some(-self.aside(column)?))
    }

    fn toe_height(&self) -> f64 {
        mean(TOES, |column| self.differ(column, &self.high, (0.0, 0.5)))
    }

    fn crest_aside(&self) -> f64 {
        mean(CREST, |column| {
            let height = |row: usize| self.high[row * CELLS + column];
            let highest = (0..CELLS).map(height).fold(f64::NEG_INFINITY, f64::max);
            let over = |row: usize| (height(row) - CREST_FROM * highest).max(0.0);
            let weight: f64 = (0..CELLS).map(over).sum();
            let crest = (0..CELLS).map(|row| over(row) * y_of(row)).sum::<f64>() / weight;
            Some(crest - self.middle(column)?).filter(|aside| aside.is_finite())
        })
    }

    /// How much farther forward the bulge of the border at +y lies than that at −y.
    fn ball_slant(&self) -> f64 {
        let bulge = |out: &dyn Fn((f64, f64)) -> f64| {
            let columns = (BULGES.start * CELLS as f64) as usize..(BULGES.end * CELLS as f64) as usize;
            let border: Vec<(f64, f64)> =
                columns.filter_map(|column| Some((x_of(column), out(self.borders[column]?)))).collect();
            let farthest = border.iter().map(|(_, out)| *out).fold(f64::NEG_INFINITY, f64::max);
            let weights = border.iter().map(|&(x, out)| (x, (out - farthest + BULGE).max(0.0)));
            let (moment, weight) = weights.fold((0.0, 0.0), |(m, w), (x, weight)| (m + x * weight, w + weight));
            moment / weight
        };
        bulge(&|(_, greatest)| greatest) - bulge(&|(least, _)| -least)
    }
}
