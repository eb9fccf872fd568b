use crate::field::HardnessField;
use glam::DVec2;
use mesh::Grid;

/// The steepest change of hardness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Steepest {
    /// Shore A per mm.
    pub shore_a_per_mm: f64,
    /// Where, foot frame, mm.
    pub at: DVec2,
}

/// Coarsest and finest search grid, mm.
const SEARCH_STEP_MM: (f64, f64) = (2.0, 0.5);

/// Search grid over the narrowest half transition, across which a slope falls from its greatest to nothing: half as wide, and
/// ridges between the samples look too low to be followed.
const SEARCH_SHARE: f64 = 0.35;

/// How many of the steepest samples are followed uphill.
const FOLLOWED: usize = 6;

/// A step uphill must gain at least this share; ridges along a curve rise by less.
const LEAST_GAIN: f64 = 1e-4;

/// How near the place found comes to the summit, mm.
const PLACE_MM: f64 = 0.005;

impl HardnessField {
    /// The steepest change of hardness inside the closed polygon `outline` (corners in the foot frame, mm, the first not
    /// repeated): the best of a search grid, followed uphill. 0 at the first corner where the hardness is constant; also for an
    /// outline without inside.
    #[must_use]
    pub fn steepest(&self, outline: &[DVec2]) -> Steepest {
        let none = Steepest { shore_a_per_mm: 0.0, at: outline.first().copied().unwrap_or_default() };
        let Some(radius_mm) = self.least_radius_mm() else { return none };
        let start = (DVec2::INFINITY, DVec2::NEG_INFINITY);
        let (lo, hi) = outline.iter().fold(start, |(lo, hi), &p| (lo.min(p), hi.max(p)));
        if !(lo.is_finite() && hi.is_finite()) {
            return none;
        }
        let step_mm = (SEARCH_SHARE * radius_mm).clamp(SEARCH_STEP_MM.1, SEARCH_STEP_MM.0);
        let template = Grid { values: Vec::new(), ..Grid::over(lo, hi, step_mm) };
        let slopes = self.sample_with_slope(&template).1;
        let mut summits = summits(&slopes, outline);
        base::sort_by(&mut summits, |a, b| b.shore_a_per_mm.total_cmp(&a.shore_a_per_mm));
        summits.truncate(FOLLOWED);
        summits
            .into_iter()
            .map(|summit| self.uphill(summit, outline, step_mm))
            .reduce(|best, other| if other.shore_a_per_mm > best.shore_a_per_mm { other } else { best })
            .unwrap_or(none)
    }

    /// From `from` to the summit near it, inside the outline: to the best of eight neighbours while one is better, then with
    /// half the step.
    fn uphill(&self, from: Steepest, outline: &[DVec2], step_mm: f64) -> Steepest {
        let slope = |at: DVec2| Steepest { shore_a_per_mm: self.value_and_gradient(at).1.length(), at };
        let mut best = slope(from.at);
        let mut step_mm = step_mm / 2.0;
        while step_mm > PLACE_MM {
            let around =
                NEIGHBOURS.iter().map(|&way| best.at + way * step_mm).filter(|&p| contains(outline, p)).map(slope);
            let better = around.fold(best, |a, b| if b.shore_a_per_mm > a.shore_a_per_mm { b } else { a });
            if better.shore_a_per_mm > best.shore_a_per_mm * (1.0 + LEAST_GAIN) {
                best = better;
            } else {
                step_mm /= 2.0;
            }
        }
        best
    }
}

const NEIGHBOURS: [DVec2; 8] = [
    DVec2::new(1.0, 0.0),
    DVec2::new(1.0, 1.0),
    DVec2::new(0.0, 1.0),
    DVec2::new(-1.0, 1.0),
    DVec2::new(-1.0, 0.0),
    DVec2::new(-1.0, -1.0),
    DVec2::new(0.0, -1.0),
    DVec2::new(1.0, -1.0),
];

/// The samples inside the outline that are not lower than any neighbour inside it.
fn summits(slopes: &Grid, outline: &[DVec2]) -> Vec<Steepest> {
    let index = |column: usize, row: usize| row * slopes.columns + column;
    let mut inside = vec![0.0; slopes.columns * slopes.rows];
    for row in 0..slopes.rows {
        let crossings = crossings(outline, slopes.at(0, row).y);
        for column in 0..slopes.columns {
            let slope = slopes.get(column, row);
            if slope > 0.0 && odd_beyond(&crossings, slopes.at(column, row).x) {
                inside[index(column, row)] = slope;
            }
        }
    }
    let mut summits = Vec::new();
    for row in 0..slopes.rows {
        for column in 0..slopes.columns {
            let here = inside[index(column, row)];
            let rows = row.saturating_sub(1)..(row + 2).min(slopes.rows);
            let columns = column.saturating_sub(1)..(column + 2).min(slopes.columns);
            let mut around = rows.flat_map(|r| columns.clone().map(move |c| (c, r)));
            if here > 0.0 && around.all(|(c, r)| inside[index(c, r)] <= here) {
                summits.push(Steepest { shore_a_per_mm: f64::from(here), at: slopes.at(column, row) });
            }
        }
    }
    summits
}

fn contains(outline: &[DVec2], p: DVec2) -> bool {
    odd_beyond(&crossings(outline, p.y), p.x)
}

/// Where the line at `y` crosses the closed polygon.
fn crossings(outline: &[DVec2], y: f64) -> Vec<f64> {
    let edges = outline.iter().zip(outline.iter().cycle().skip(1));
    let crossed = edges.filter(|(a, b)| (a.y <= y) != (b.y <= y));
    crossed.map(|(a, b)| a.x + (b.x - a.x) * ((y - a.y) / (b.y - a.y))).collect()
}

fn odd_beyond(crossings: &[f64], x: f64) -> bool {
    crossings.iter().filter(|&&crossing| crossing > x).count() % 2 == 1
}
