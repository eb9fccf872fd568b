//! Likeness to a sole alone: one sheet of skin, with or without side walls, as scanners that look from below see it and
//! as a print in foam has it.

use super::likeness::{FOOT_HEIGHT, Guess, Likeness, Trait};
use super::sample::Sample;

/// Cells along and across the foot: one is 6 mm on a foot of 250 mm and holds some ten samples of a sheet.
const CELLS: usize = 40;

/// Skin that lies over other skin by more than this is a second layer, share of foot length.
const LAYER: f64 = 0.05;

/// With less than this share of its plan in two layers, a scan shows the sole only.
pub(super) const LAYERED: f64 = 0.45;

/// Which way a sheet bulges is told by its edge only where that lies higher or lower than the rest by this, share of
/// foot length; else its triangles tell.
const EDGE_TELLS: f64 = 0.01;

/// A sheet whose triangles face the wrong way is as odd as one that is two spreads off the usual, where its edge does
/// not tell.
const FACES_UP: f64 = 4.0;

/// Lowest and highest skin over the plan of a guess.
struct Plan {
    low: Vec<f64>,
    high: Vec<f64>,
}

impl Plan {
    fn of(samples: &[Sample], guess: &Guess) -> Plan {
        let mut plan = Plan { low: vec![f64::INFINITY; CELLS * CELLS], high: vec![f64::NEG_INFINITY; CELLS * CELLS] };
        for sample in samples {
            let q = guess.local(sample.at);
            let (column, row) = ((q.x * CELLS as f64).floor(), ((q.y + 0.5) * CELLS as f64).floor());
            let is_inside = |k: f64| k >= 0.0 && k < CELLS as f64;
            if is_inside(column) && is_inside(row) {
                let k = row as usize * CELLS + column as usize;
                plan.low[k] = plan.low[k].min(q.z);
                plan.high[k] = plan.high[k].max(q.z);
            }
        }
        plan
    }

    fn is_foot(&self, k: usize) -> bool {
        self.low[k] < FOOT_HEIGHT
    }

    /// Whether a place of the plan has one beside it that is none.
    fn is_edge(&self, k: usize) -> bool {
        let (column, row) = (k % CELLS, k / CELLS);
        let is_border = column == 0 || row == 0 || column + 1 == CELLS || row + 1 == CELLS;
        is_border || [k - 1, k + 1, k - CELLS, k + CELLS].into_iter().any(|side| !self.is_foot(side))
    }

    /// Share of the plan that has skin over skin. Its edge does not count: there is a wall in any case.
    fn layers(&self) -> f64 {
        let count = |is: &dyn Fn(usize) -> bool| (0..CELLS * CELLS).filter(|&k| is(k)).count() as f64;
        let is_inner = |k: usize| self.is_foot(k) && !self.is_edge(k);
        let both = count(&|k| is_inner(k) && self.high[k] - self.low[k] > LAYER);
        both / count(&is_inner).max(1.0)
    }

    /// How much higher the edge of the plan lies than the rest of it, share of foot length.
    fn edge_height(&self) -> f64 {
        let (mut edge, mut rest) = ((0.0, 0.0), (0.0, 0.0));
        for k in (0..CELLS * CELLS).filter(|&k| self.is_foot(k)) {
            let (sum, count) = if self.is_edge(k) { &mut edge } else { &mut rest };
            *sum += (self.low[k] + self.high[k]) / 2.0;
            *count += 1.0;
        }
        edge.0 / edge.1 - rest.0 / rest.1
    }
}

/// Share of the plan of a guess that has skin over skin: near 1 for a foot, near 0 for a sole alone.
pub(super) fn layers(samples: &[Sample], guess: &Guess) -> f64 {
    Plan::of(samples, guess).layers()
}

/// Mean of the triangles' normals along the guess's upright: near −1 for a sole that faces down, +1 for a print.
pub(super) fn facing(samples: &[Sample], guess: &Guess) -> f64 {
    let low = samples.iter().filter(|s| guess.local(s.at).z < FOOT_HEIGHT);
    let (sum, size) = low.fold((0.0, 0.0), |(sum, size), s| {
        let up = s.normal.dot(guess.frame.z_axis);
        (sum + up, size + up.abs())
    });
    if size > 0.0 { sum / size } else { 0.0 }
}

/// Measures a guess as a sole alone.
pub(super) fn likeness(samples: &[Sample], sample_area: f64, guess: &Guess) -> Likeness {
    const BINS: usize = 40;
    let mut breadth = [(f64::INFINITY, f64::NEG_INFINITY); BINS];
    let (mut bearing, mut top) = (0.0, 0.0_f64);
    for sample in samples {
        let q = guess.local(sample.at);
        top = top.max(q.z);
        if q.z < 0.03 && sample.normal.dot(guess.frame.z_axis).abs() > 0.8 {
            bearing += sample_area;
        }
        let bin = (q.x * BINS as f64).floor();
        if bin >= 0.0 && bin < BINS as f64 && q.z < FOOT_HEIGHT {
            let at = &mut breadth[bin as usize];
            *at = (at.0.min(q.y), at.1.max(q.y));
        }
    }
    let most = |from: f64, to: f64| {
        let bins = (from * BINS as f64) as usize..(to * BINS as f64) as usize;
        bins.map(|bin| (breadth[bin].1 - breadth[bin].0).max(0.0)).fold(0.0, f64::max)
    };
    let ball = most(0.5, 0.9);
    let plan = Plan::of(samples, guess);
    let edge = plan.edge_height();
    let bearing = Trait {
        name: "bearing area of the sole over length times breadth",
        value: bearing / (guess.length * guess.length * ball.max(0.1)),
        bounds: (0.06, 0.18, 1.2, 2.0),
        usual: (0.45, 0.12),
    };
    let others = [
        Trait { name: "breadth over length", value: ball, bounds: (0.16, 0.24, 0.55, 0.75), usual: (0.38, 0.06) },
        Trait {
            name: "breadth behind the ball over that of the ball",
            value: most(0.05, 0.40) / ball.max(0.1),
            bounds: (0.25, 0.45, 0.90, 1.02),
            usual: (0.73, 0.08),
        },
        Trait {
            name: "height of the walls over length",
            value: top,
            bounds: (-1.0, 0.0, 0.22, 0.36),
            usual: (0.1, 0.08),
        },
        Trait {
            name: "share of the plan in two layers",
            value: plan.layers(),
            bounds: (-1.0, 0.0, 0.40, 0.65),
            usual: (0.1, 0.15),
        },
        Trait {
            name: "height of the edge over that of the rest, over length",
            value: edge,
            bounds: (-0.05, -0.015, 1.0, 2.0),
            usual: (0.05, 0.04),
        },
    ];
    let turned = if edge < EDGE_TELLS { FACES_UP * (1.0 + facing(samples, guess)) / 2.0 } else { 0.0 };
    let without_bearing: f64 = others.iter().map(Trait::fit).product();
    Likeness {
        quality: without_bearing * bearing.fit(),
        strangeness: turned + bearing.strangeness() + others.iter().map(Trait::strangeness).sum::<f64>(),
        without_bearing,
        worst: others.into_iter().fold(bearing, |worst, t| if t.fit() < worst.fit() { t } else { worst }),
    }
}
