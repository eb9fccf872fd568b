use crate::field::{Layer, lay_over};
use crate::weight::{Edge, Tally, Weight};
use glam::DVec2;
use mesh::Grid;
use std::ops::Range;

/// The field on a grid while its regions are laid over one another. Each edge adds to the samples within its reach, so the
/// work is that of the transition bands; the rest is filled row by row.
pub(crate) struct Raster<'a, const GRADIENT: bool> {
    template: &'a Grid,
    values: Vec<f64>,
    gradients: Vec<DVec2>,
    band: Band,
}

/// The tallies of the samples that one region reaches, one list for each number, row by row; and where the rows cross the
/// region's boundary, in units of R.
#[derive(Default)]
struct Band {
    columns: Range<usize>,
    rows: Range<usize>,
    sums: Vec<f64>,
    turns: Vec<DVec2>,
    gradients_x: Vec<f64>,
    gradients_y: Vec<f64>,
    crossings: Vec<Vec<f64>>,
}

impl<'a, const GRADIENT: bool> Raster<'a, GRADIENT> {
    pub(crate) fn new(template: &'a Grid, base: f64) -> Self {
        let count = template.columns * template.rows;
        let gradients = if GRADIENT { vec![DVec2::ZERO; count] } else { Vec::new() };
        Raster { template, values: vec![base; count], gradients, band: Band::default() }
    }

    pub(crate) fn values(&self) -> Grid {
        self.grid(self.values.iter().map(|value| *value as f32).collect())
    }

    pub(crate) fn slopes(&self) -> Grid {
        self.grid(self.gradients.iter().map(|gradient| gradient.length() as f32).collect())
    }

    fn grid(&self, values: Vec<f32>) -> Grid {
        let Grid { origin_mm, step_mm, columns, rows, .. } = *self.template;
        Grid { origin_mm, step_mm, columns, rows, values }
    }

    /// Lays one region over what is there.
    pub(crate) fn lay_over(&mut self, layer: &Layer) {
        let weight = &layer.weight;
        self.band.begin::<GRADIENT>(self.template, weight);
        if self.band.columns.is_empty() || self.band.rows.is_empty() {
            return;
        }
        for edge in &weight.edges {
            self.band.add::<GRADIENT>(self.template, edge, weight.radius_mm);
        }
        let Raster { template, values, gradients, band } = self;
        let xs: Vec<f64> = band.columns.clone().map(|c| template.at(c, 0).x / weight.radius_mm).collect();
        for (at_row, row) in band.rows.clone().enumerate() {
            let crossings = &mut band.crossings[at_row];
            base::sort_numbers(crossings);
            let mut passed = 0;
            for (at_column, x) in xs.iter().enumerate() {
                while crossings.get(passed).is_some_and(|crossing| crossing <= x) {
                    passed += 1;
                }
                let here = at_row * xs.len() + at_column;
                let mut tally = Tally { sum: band.sums[here], turn: band.turns[here], ..Tally::NONE };
                let share = tally.weight(|| passed % 2 == 1);
                if share == 0.0 {
                    continue;
                }
                let index = row * template.columns + band.columns.start + at_column;
                if GRADIENT {
                    tally.gradient = DVec2::new(band.gradients_x[here], band.gradients_y[here]);
                    let under = (values[index], gradients[index]);
                    let slope = tally.gradient_per_mm(weight.radius_mm);
                    (values[index], gradients[index]) = lay_over(under, layer.shore_a, share, slope);
                } else {
                    let under = (values[index], DVec2::ZERO);
                    values[index] = lay_over(under, layer.shore_a, share, DVec2::ZERO).0;
                }
            }
        }
    }
}

impl Band {
    /// Empties the band and lays it over the samples that the region reaches.
    fn begin<const GRADIENT: bool>(&mut self, grid: &Grid, weight: &Weight) {
        let (lo, hi) = weight.reach;
        self.columns = samples(lo.x, hi.x, grid.origin_mm.x, grid.step_mm, grid.columns);
        self.rows = samples(lo.y, hi.y, grid.origin_mm.y, grid.step_mm, grid.rows);
        let count = self.columns.len() * self.rows.len();
        let fill = |list: &mut Vec<f64>, count: usize| {
            list.clear();
            list.resize(count, 0.0);
        };
        fill(&mut self.sums, count);
        self.turns.clear();
        self.turns.resize(count, DVec2::X);
        if GRADIENT {
            fill(&mut self.gradients_x, count);
            fill(&mut self.gradients_y, count);
        }
        self.crossings.iter_mut().for_each(Vec::clear);
        self.crossings.resize(self.crossings.len().max(self.rows.len()), Vec::new());
    }

    /// Adds one edge to the samples that it reaches, row by row.
    fn add<const GRADIENT: bool>(&mut self, grid: &Grid, edge: &Edge, radius_mm: f64) {
        let (origin, step) = (grid.origin_mm / radius_mm, grid.step_mm / radius_mm);
        let (lo, hi) = (edge.from.min(edge.to), edge.from.max(edge.to));
        let width = self.columns.len();
        let within = |lo: f64, hi: f64| {
            let columns = samples(lo, hi, origin.x, step, grid.columns);
            let start = columns.start.clamp(self.columns.start, self.columns.end);
            start..columns.end.clamp(start, self.columns.end)
        };
        // One row more on either side, so that rounding here loses no row in which an end is near enough.
        let rows = samples(lo.y - 1.0 - step, hi.y + 1.0 + step, origin.y, step, grid.rows);
        for row in rows.start.max(self.rows.start)..rows.end.min(self.rows.end) {
            let y = origin.y + row as f64 * step;
            if edge.straddles(y) {
                self.crossings[row - self.rows.start].push(edge.x_at(y));
            }
            // The columns in which an end is in the disc: alike for both edges that share the end.
            let near = |end: DVec2| match 1.0 - (end.y - y) * (end.y - y) {
                square if square > 0.0 => within(end.x - square.sqrt(), end.x + square.sqrt()),
                _ => 0..0,
            };
            let (from_in, to_in) = (near(edge.from), near(edge.to));
            let both = intersection(&from_in, &to_in);
            let beside = (lo.y - y).max(y - hi.y).max(0.0);
            let half = (1.0 - beside * beside).max(0.0).sqrt();
            let reach = hull(&hull(&within(lo.x - half, hi.x + half), &from_in), &to_in);
            let first = (row - self.rows.start) * width;
            for column in (reach.start..both.start.max(reach.start)).chain(both.end.max(reach.start)..reach.end) {
                let here = first + column - self.columns.start;
                let p = DVec2::new(origin.x + column as f64 * step, y);
                let mut tally = Tally { sum: self.sums[here], turn: self.turns[here], gradient: DVec2::ZERO };
                tally.add::<GRADIENT>(edge, p, from_in.contains(&column), to_in.contains(&column));
                (self.sums[here], self.turns[here]) = (tally.sum, tally.turn);
                if GRADIENT {
                    self.gradients_x[here] += tally.gradient.x;
                    self.gradients_y[here] += tally.gradient.y;
                }
            }
            if both.is_empty() {
                continue;
            }
            // Both ends in the disc: nothing but polynomials, most of the work, in straight loops.
            let from = edge.from - DVec2::new(origin.x + both.start as f64 * step, y);
            let (distance, start) = (from.perp_dot(edge.along), from.dot(edge.along));
            let run = first + both.start - self.columns.start..first + both.end - self.columns.start;
            let place = |index: usize| {
                let x = index as f64 * step;
                (distance - x * edge.along.y, start - x * edge.along.x)
            };
            for (index, sum) in self.sums[run.clone()].iter_mut().enumerate() {
                let (distance, start) = place(index);
                *sum += Edge::boundary_part(distance, start, start + edge.length);
            }
            if GRADIENT {
                let inward = edge.inward();
                let lists = self.gradients_x[run.clone()].iter_mut().zip(&mut self.gradients_y[run]);
                for (index, (x, y)) in lists.enumerate() {
                    let (distance, start) = place(index);
                    let amount = Edge::kernel_part(distance, start, start + edge.length);
                    *x += inward.x * amount;
                    *y += inward.y * amount;
                }
            }
        }
    }
}

/// The samples between `lo` and `hi` of a row of `count` that begins at `origin`.
fn samples(lo: f64, hi: f64, origin: f64, step: f64, count: usize) -> Range<usize> {
    // Casting to an unsigned number stops at 0 below.
    let start = (((lo - origin) / step).ceil() as usize).min(count);
    let end = ((((hi - origin) / step).floor() + 1.0) as usize).min(count);
    start..end.max(start)
}

fn intersection(a: &Range<usize>, b: &Range<usize>) -> Range<usize> {
    let start = a.start.max(b.start);
    start..a.end.min(b.end).max(start)
}

/// The least range that holds both; an empty one counts for nothing.
fn hull(a: &Range<usize>, b: &Range<usize>) -> Range<usize> {
    if b.is_empty() {
        a.clone()
    } else if a.is_empty() {
        b.clone()
    } else {
        a.start.min(b.start)..a.end.max(b.end)
    }
}
