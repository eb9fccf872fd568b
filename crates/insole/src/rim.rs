use glam::DVec2;
use mesh::Grid;

/// The outline as the surface needs it: distances to it in a band along its inner side.
#[derive(Clone, Debug)]
pub(crate) struct Rim {
    /// Closed polygon, counter-clockwise.
    pub(crate) points: Vec<DVec2>,
}

/// Of a point near the outline.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Near {
    /// Distance, mm; inside positive.
    pub(crate) inside_mm: f64,
    /// The nearest point: index of a point of the rim, plus the share of the way to the next.
    pub(crate) place: f64,
}

/// Chords of 2 mm on a heel of radius 30 mm miss the curve by 0.02 mm.
const SPACING_MM: f64 = 2.0;

impl Rim {
    /// With about 2 mm between points. `None` if fewer than three are left or a coordinate is not finite.
    pub(crate) fn new(outline: &[DVec2]) -> Option<Rim> {
        let mut points: Vec<DVec2> = Vec::with_capacity(outline.len());
        for (index, &from) in outline.iter().enumerate() {
            let to = outline[(index + 1) % outline.len()];
            let pieces = (from.distance(to) / SPACING_MM).ceil().clamp(1.0, 1e4) as usize;
            for piece in 0..pieces {
                let p = from.lerp(to, piece as f64 / pieces as f64);
                if points.last().is_none_or(|before| before.distance(p) >= SPACING_MM * 0.7) {
                    points.push(p);
                }
            }
        }
        (points.len() >= 3 && outline.iter().all(|p| p.is_finite())).then_some(Rim { points })
    }

    /// Through just these corners, but for those on top of each other.
    pub(crate) fn through(mut corners: Vec<DVec2>) -> Option<Rim> {
        corners.dedup_by(|a, b| a.distance(*b) < 1e-6);
        (corners.len() >= 3 && corners.iter().all(|p| p.is_finite())).then_some(Rim { points: corners })
    }

    /// Area enclosed, counter-clockwise positive, mm².
    pub(crate) fn area_mm2(&self) -> f64 {
        self.segments().map(|(_, a, b)| a.perp_dot(b)).sum::<f64>() / 2.0
    }

    /// Least and greatest corner.
    pub(crate) fn bounds(&self) -> (DVec2, DVec2) {
        self.points.iter().fold((self.points[0], self.points[0]), |(lo, hi), &p| (lo.min(p), hi.max(p)))
    }

    /// The point of the rim nearest to `p`.
    pub(crate) fn near(&self, p: DVec2) -> Near {
        let mut best = Nearest::default();
        for (index, a, b) in self.segments() {
            best.offer(p, index, a, b);
        }
        best.near()
    }

    /// For each node of `grid` within `reach_mm` of the rim, the nearest point of those segments for which `matters`
    /// holds; and every node further out that its square neighbourhood takes in.
    pub(crate) fn near_nodes(&self, grid: &Grid, reach_mm: f64, matters: impl Fn(DVec2) -> bool) -> Vec<Option<Near>> {
        let mut nearest = vec![Nearest::default(); grid.columns * grid.rows];
        for (index, a, b) in self.segments() {
            if !matters(a) && !matters(b) {
                continue;
            }
            let lo = ((a.min(b) - reach_mm - grid.origin_mm) / grid.step_mm).ceil().max(DVec2::ZERO);
            let hi = ((a.max(b) + reach_mm - grid.origin_mm) / grid.step_mm).floor();
            if hi.x < 0.0 || hi.y < 0.0 {
                continue;
            }
            for row in lo.y as usize..=(hi.y as usize).min(grid.rows - 1) {
                for column in lo.x as usize..=(hi.x as usize).min(grid.columns - 1) {
                    nearest[row * grid.columns + column].offer(grid.at(column, row), index, a, b);
                }
            }
        }
        nearest.iter().map(|best| best.distance_squared.is_finite().then(|| best.near())).collect()
    }

    /// Value at a place of numbers given at the rim's points, linear between them.
    pub(crate) fn value(&self, values: &[f64], near: Near) -> f64 {
        let index = (near.place as usize).min(values.len() - 1);
        let next = (index + 1) % values.len();
        values[index] + (values[next] - values[index]) * (near.place - index as f64)
    }

    /// The point of the rim at a place.
    pub(crate) fn point(&self, near: Near) -> DVec2 {
        let index = (near.place as usize).min(self.points.len() - 1);
        let next = (index + 1) % self.points.len();
        self.points[index].lerp(self.points[next], near.place - index as f64)
    }

    /// Half the outline's width square to the foot axis at `x`; 0 where the outline is not.
    pub(crate) fn half_width_at(&self, x: f64) -> f64 {
        self.width_at(x).map_or(0.0, |(lo, hi)| (hi - lo) / 2.0)
    }

    /// Least and greatest y of the outline at `x`.
    pub(crate) fn width_at(&self, x: f64) -> Option<(f64, f64)> {
        let (mut lo, mut hi) = (f64::INFINITY, f64::NEG_INFINITY);
        for (_, a, b) in self.segments() {
            if (a.x <= x) != (b.x <= x) {
                let y = a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x);
                (lo, hi) = (lo.min(y), hi.max(y));
            }
        }
        (hi > lo).then_some((lo, hi))
    }

    fn segments(&self) -> impl Iterator<Item = (usize, DVec2, DVec2)> {
        let count = self.points.len();
        (0..count).map(move |index| (index, self.points[index], self.points[(index + 1) % count]))
    }
}

#[derive(Clone, Copy)]
struct Nearest {
    distance_squared: f64,
    inside: bool,
    place: f64,
}

impl Default for Nearest {
    fn default() -> Self {
        Nearest { distance_squared: f64::INFINITY, inside: false, place: 0.0 }
    }
}

impl Nearest {
    fn offer(&mut self, p: DVec2, index: usize, a: DVec2, b: DVec2) {
        let along = b - a;
        let from = p - a;
        let t = (from.dot(along) / along.length_squared()).clamp(0.0, 1.0);
        let distance_squared = from.distance_squared(along * t);
        if distance_squared < self.distance_squared {
            // Left of a counter-clockwise curve is inside. At a corner the side of either segment may mislead, by less
            // than the chord's own deviation from the curve.
            *self = Nearest { distance_squared, inside: along.perp_dot(from) > 0.0, place: index as f64 + t };
        }
    }

    fn near(&self) -> Near {
        let distance = self.distance_squared.sqrt();
        Near { inside_mm: if self.inside { distance } else { -distance }, place: self.place }
    }
}
