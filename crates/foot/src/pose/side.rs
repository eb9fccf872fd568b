use super::likeness::{FOOT_HEIGHT, Guess};
use super::sample::Sample;
use base::Side;

/// Cells along and across the foot.
const CELLS: usize = 50;

/// Which side the shape speaks for.
pub(super) struct Vote {
    pub(super) side: Side,
    /// 0.5 (a coin's toss) … 1.
    pub(super) confidence: f64,
}

/// No single vote counts more than this: a missing toe or a swelling must not decide alone.
const MOST: f64 = 1.5;

/// Counts what speaks for the medial side being at +y of the guess.
pub(super) fn vote(samples: &[Sample], guess: &Guess) -> Vote {
    let votes = votes(samples, guess);
    let sum: f64 = votes.iter().map(|vote| if vote.is_finite() { vote.clamp(-MOST, MOST) } else { 0.0 }).sum();
    let side = if sum >= 0.0 { Side::Right } else { Side::Left };
    Vote { side, confidence: 1.0 / (1.0 + libm::exp(-sum.abs())) }
}

struct Plan {
    /// Lowest and highest skin per cell, shares of the foot length.
    low: Vec<f64>,
    high: Vec<f64>,
}

impl Plan {
    fn cell(&self, column: usize, row: usize) -> (f64, f64) {
        (self.low[row * CELLS + column], self.high[row * CELLS + column])
    }
}

fn y_of(row: usize) -> f64 {
    (row as f64 + 0.5) / CELLS as f64 - 0.5
}

fn votes(samples: &[Sample], guess: &Guess) -> [f64; 6] {
    let mut plan = Plan { low: vec![f64::INFINITY; CELLS * CELLS], high: vec![f64::NEG_INFINITY; CELLS * CELLS] };
    for sample in samples {
        let q = guess.local(sample.at);
        let (column, row) = ((q.x * CELLS as f64).floor(), ((q.y + 0.5) * CELLS as f64).floor());
        let inside = |k: f64| k >= 0.0 && k < CELLS as f64;
        if inside(column) && inside(row) {
            let k = row as usize * CELLS + column as usize;
            plan.low[k] = plan.low[k].min(q.z);
            plan.high[k] = plan.high[k].max(q.z);
        }
    }
    // Borders of the outline per column.
    let borders: Vec<Option<(f64, f64)>> = (0..CELLS)
        .map(|column| {
            let rows: Vec<usize> = (0..CELLS).filter(|&row| plan.cell(column, row).0 < FOOT_HEIGHT).collect();
            Some((y_of(*rows.first()?), y_of(*rows.last()?)))
        })
        .collect();
    let mean = |from: f64, to: f64, of: &dyn Fn(usize) -> Option<f64>| {
        let values: Vec<f64> = ((from * CELLS as f64) as usize..(to * CELLS as f64) as usize).filter_map(of).collect();
        if values.is_empty() { 0.0 } else { values.iter().sum::<f64>() / values.len() as f64 }
    };
    let middle = |column: usize| borders[column].map(|(a, b)| (a + b) / 2.0);
    let heel = mean(0.08, 0.2, &middle);
    let ball = mean(0.6, 0.8, &middle);
    // The line through the middle of the heel and of the ball.
    let line = |x: f64| heel + (ball - heel) * (x - 0.14) / (0.7 - 0.14);
    let x_of = |column: usize| (column as f64 + 0.5) / CELLS as f64;

    let band = |column: usize, plus: bool, of: &dyn Fn(f64, f64) -> f64, from: f64, to: f64| {
        let (a, b) = borders[column]?;
        let (mut sum, mut count) = (0.0, 0.0);
        for row in 0..CELLS {
            let across = (y_of(row) - a) / (b - a);
            let inward = if plus { 1.0 - across } else { across };
            let (low, high) = plan.cell(column, row);
            if inward >= from && inward <= to && low < FOOT_HEIGHT {
                sum += of(low, high);
                count += 1.0;
            }
        }
        (count > 0.0).then(|| sum / count)
    };
    let differ = |column: usize, of: &dyn Fn(f64, f64) -> f64, from: f64, to: f64| {
        Some(band(column, true, of, from, to)? - band(column, false, of, from, to)?)
    };
    let arch = mean(0.35, 0.6, &|c| differ(c, &|low, _| low, 0.1, 0.4));
    let toes = mean(0.88, 1.0, &|c| Some(middle(c)? - line(x_of(c))));
    let waist = mean(0.32, 0.5, &|c| Some(line(x_of(c)) - middle(c)?));
    let toe_height = mean(0.84, 0.96, &|c| differ(c, &|_, high| high, 0.0, 0.5));
    let crest = mean(0.6, 0.76, &|c| {
        let (mut weight, mut moment) = (0.0, 0.0);
        let highest = (0..CELLS).map(|row| plan.cell(c, row).1).fold(f64::NEG_INFINITY, f64::max);
        for row in 0..CELLS {
            let over = plan.cell(c, row).1 - 0.8 * highest;
            if over > 0.0 {
                weight += over;
                moment += over * y_of(row);
            }
        }
        Some(moment / weight - middle(c)?)
    });
    let farthest = |plus: bool| {
        // Centre of the outermost part of the border in the forefoot.
        let out = |c: usize| borders[c].map(|(a, b)| if plus { b } else { -a });
        let columns = 25..45;
        let reach = columns.clone().filter_map(out).fold(f64::NEG_INFINITY, f64::max);
        let (mut weight, mut moment) = (0.0, 0.0);
        for c in columns {
            if let Some(o) = out(c) {
                let w = (o - reach + 0.03).max(0.0);
                weight += w;
                moment += w * x_of(c);
            }
        }
        moment / weight
    };
    let obliquity = farthest(true) - farthest(false);
    [
        arch / 0.04,        // hollow of the arch
        toes / 0.06,        // tips of the toes
        waist / 0.015,      // waist of the outline
        toe_height / 0.025, // thickness of the big toe
        crest / 0.04,       // crest of the instep
        obliquity / 0.10,   // slant of the ball
    ]
}
