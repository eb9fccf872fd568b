//! What a hand shaped with the brush: an editable layer of heights on a sparse grid, added to the top.
//!
//! The layer's numbers are the coefficients of a uniform bicubic B-spline [`NODE_MM`] apart, so that the surface stays twice
//! continuously differentiable whatever is painted and never exceeds [`LIMIT_MM`]. They are kept in hundredths of a
//! millimetre in square tiles, only where something was painted.

use crate::smooth::bump;
use crate::spline_grid::SplineGrid;
use glam::DVec2;
use serde::{Deserialize, Serialize};

/// Distance of the layer's nodes, mm.
pub const NODE_MM: f64 = 2.0;
/// Nodes along a tile's side.
pub const TILE: usize = 8;
/// Nothing is raised or lowered further than this, mm.
pub const LIMIT_MM: f64 = 8.0;
/// The layer's unit: this many make a millimetre.
const PER_MM: f64 = 100.0;
/// The smallest brush, mm: below, its strokes would fall between the nodes.
pub const LEAST_RADIUS_MM: f64 = 4.0;
/// The largest, mm.
pub const MOST_RADIUS_MM: f64 = 40.0;
/// No tile lies further out than this, in tiles: a metre.
const REACH_TILES: i16 = 64;

/// A square of nodes. Node (0, 0) of tile `[i, j]` lies at `(i, j) · TILE · NODE_MM`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tile {
    /// Column and row of the tile.
    pub at: [i16; 2],
    /// `TILE × TILE` heights, hundredths of a millimetre, rows along +y.
    pub heights: Vec<i16>,
}

/// What was sculpted on one foot.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct SculptLayer {
    /// Whether it is part of the surface now.
    pub on: bool,
    /// The tiles that are not zero, by row and column.
    pub tiles: Vec<Tile>,
}

impl Default for SculptLayer {
    fn default() -> Self {
        SculptLayer { on: true, tiles: Vec::new() }
    }
}

/// What a brush does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Tool {
    /// Adds material.
    Raise,
    /// Takes material away.
    Lower,
    /// Evens out.
    Smooth,
    /// Brings nearer to the plane that fits best under the stroke.
    Flatten,
    /// Takes back what was sculpted.
    Erase,
}

impl Tool {
    /// All tools, as offered.
    pub const ALL: [Tool; 5] = [Tool::Raise, Tool::Lower, Tool::Smooth, Tool::Flatten, Tool::Erase];

    /// Its name on a button.
    #[must_use]
    pub const fn label(self) -> &'static str {
        match self {
            Tool::Raise => "Raise",
            Tool::Lower => "Lower",
            Tool::Smooth => "Smooth",
            Tool::Flatten => "Flatten",
            Tool::Erase => "Erase",
        }
    }
}

/// A brush.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Brush {
    /// What it does.
    pub tool: Tool,
    /// Where its effect ends, mm; brought within [`LEAST_RADIUS_MM`] and [`MOST_RADIUS_MM`].
    pub radius_mm: f64,
    /// Raise and lower: mm in its middle by one stroke. The others: share of the way, 0 to 1.
    pub strength: f64,
}

/// Why a layer is refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a tile of the sculpted layer at {at:?} does not have {count} heights within {limit} mm: leave it out", count = TILE * TILE, limit = LIMIT_MM)]
pub struct BadTile {
    /// Which.
    pub at: [i16; 2],
}

impl Tile {
    fn zero(at: [i16; 2]) -> Tile {
        Tile { at, heights: vec![0; TILE * TILE] }
    }

    fn is_zero(&self) -> bool {
        self.heights.iter().all(|&height| height == 0)
    }

    /// Refuses a tile of another size or beyond the limits.
    ///
    /// # Errors
    /// With the tile's place.
    pub fn check(&self) -> Result<(), BadTile> {
        let within = |height: &i16| f64::from(height.unsigned_abs()) <= LIMIT_MM * PER_MM;
        let near = self.at.iter().all(|n| n.unsigned_abs() <= REACH_TILES.unsigned_abs());
        let sound = near && self.heights.len() == TILE * TILE && self.heights.iter().all(within);
        if sound { Ok(()) } else { Err(BadTile { at: self.at }) }
    }
}

impl SculptLayer {
    /// Whether nothing is sculpted.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.tiles.is_empty()
    }

    /// Puts `tiles` in place of those at the same places; what is zero is not kept.
    pub fn put(&mut self, tiles: &[Tile]) {
        for tile in tiles {
            self.tiles.retain(|kept| kept.at != tile.at);
            if !tile.is_zero() {
                self.tiles.push(tile.clone());
            }
        }
        base::sort_by_key(&mut self.tiles, |tile| (tile.at[1], tile.at[0]));
    }

    fn tile(&self, at: [i16; 2]) -> Option<&Tile> {
        self.tiles.iter().find(|tile| tile.at == at)
    }

    /// Height of a node, mm.
    fn node(&self, column: i32, row: i32) -> f64 {
        let (at, inner) = place(column, row);
        self.tile(at).and_then(|tile| tile.heights.get(inner)).map_or(0.0, |&height| f64::from(height) / PER_MM)
    }

    /// The tiles that a stroke of `brush` along `path` (foot frame, mm) changes, as they are afterwards. `top` is the height of
    /// the insole's top as it is, this layer included. A path without a point changes nothing.
    ///
    /// Along a stroke the effect does not add up: it is that of the brush where it came nearest.
    #[must_use]
    pub fn stroked(&self, brush: &Brush, path: &[DVec2], top: impl Fn(DVec2) -> f64) -> Vec<Tile> {
        let radius = brush.radius_mm.clamp(LEAST_RADIUS_MM, MOST_RADIUS_MM);
        let path: Vec<DVec2> =
            path.iter().copied().filter(|p| p.is_finite() && p.abs().max_element() < 900.0).collect();
        if path.is_empty() || !brush.strength.is_finite() {
            return Vec::new();
        }
        // What is evened out at the brush's edge takes in as much again.
        let window = Window::round(&path, if brush.tool == Tool::Smooth { 2.0 * radius } else { radius });
        let weights = window.each(|p| bump(distance(&path, p) / radius));
        let old = window.nodes(|column, row| self.node(column, row));
        let share = brush.strength.clamp(0.0, 1.0);
        let new: Vec<f64> = match brush.tool {
            Tool::Raise => mix(&old, &weights, |height, weight| height + weight * brush.strength),
            Tool::Lower => mix(&old, &weights, |height, weight| height - weight * brush.strength),
            Tool::Erase => mix(&old, &weights, |height, weight| height * (1.0 - weight * share)),
            Tool::Smooth | Tool::Flatten => {
                let now = window.each(&top);
                let wanted =
                    if brush.tool == Tool::Smooth { window.evened(&now, radius) } else { window.plane(&now, &weights) };
                let change = wanted.iter().zip(&now).map(|(wanted, now)| share * (wanted - now));
                let changed = old.iter().zip(&weights).zip(change);
                changed.map(|((old, weight), change)| old + weight * change).collect()
            }
        };
        window.tiles(self, &weights, &new)
    }
}

fn mix(old: &[f64], weights: &[f64], f: impl Fn(f64, f64) -> f64) -> Vec<f64> {
    old.iter().zip(weights).map(|(&old, &weight)| f(old, weight)).collect()
}

/// Tile and number within it of a node.
fn place(column: i32, row: i32) -> ([i16; 2], usize) {
    let side = TILE as i32;
    let at = [column.div_euclid(side) as i16, row.div_euclid(side) as i16];
    (at, (row.rem_euclid(side) * side + column.rem_euclid(side)) as usize)
}

/// Distance of `p` from a path.
fn distance(path: &[DVec2], p: DVec2) -> f64 {
    let to_point = path.iter().map(|q| q.distance_squared(p)).fold(f64::INFINITY, f64::min);
    let to_segment = path.windows(2).map(|pair| {
        let (along, from) = (pair[1] - pair[0], p - pair[0]);
        let t =
            if along.length_squared() > 0.0 { (from.dot(along) / along.length_squared()).clamp(0.0, 1.0) } else { 0.0 };
        from.distance_squared(along * t)
    });
    to_segment.fold(to_point, f64::min).sqrt()
}

/// The nodes round a stroke.
struct Window {
    column: i32,
    row: i32,
    columns: usize,
    rows: usize,
}

impl Window {
    fn round(path: &[DVec2], radius: f64) -> Window {
        let (lo, hi) = path.iter().fold((path[0], path[0]), |(lo, hi), &p| (lo.min(p), hi.max(p)));
        let (first, last) = (((lo - radius) / NODE_MM).floor(), ((hi + radius) / NODE_MM).ceil());
        Window {
            column: first.x as i32,
            row: first.y as i32,
            columns: (last.x - first.x) as usize + 1,
            rows: (last.y - first.y) as usize + 1,
        }
    }

    fn nodes(&self, f: impl Fn(i32, i32) -> f64) -> Vec<f64> {
        let one =
            |index: usize| f(self.column + (index % self.columns) as i32, self.row + (index / self.columns) as i32);
        (0..self.columns * self.rows).map(one).collect()
    }

    fn each(&self, f: impl Fn(DVec2) -> f64) -> Vec<f64> {
        self.nodes(|column, row| f(DVec2::new(f64::from(column), f64::from(row)) * NODE_MM))
    }

    /// The heights averaged round each node by a Gaussian of a third of the radius.
    fn evened(&self, heights: &[f64], radius: f64) -> Vec<f64> {
        crate::skin::smoothed(heights, self.columns, self.rows, radius / 3.0 / NODE_MM)
    }

    /// The plane nearest to the heights in the weighted mean of squares, at each node.
    fn plane(&self, heights: &[f64], weights: &[f64]) -> Vec<f64> {
        let at = |index: usize| DVec2::new((index % self.columns) as f64, (index / self.columns) as f64);
        let sum = |f: &dyn Fn(usize) -> f64| (0..heights.len()).map(|index| weights[index] * f(index)).sum::<f64>();
        let total = sum(&|_| 1.0);
        if total <= 0.0 {
            return heights.to_vec();
        }
        let middle = DVec2::new(sum(&|i| at(i).x), sum(&|i| at(i).y)) / total;
        let mean = sum(&|i| heights[i]) / total;
        let (xx, xy, yy) = (
            sum(&|i| (at(i).x - middle.x) * (at(i).x - middle.x)),
            sum(&|i| (at(i).x - middle.x) * (at(i).y - middle.y)),
            sum(&|i| (at(i).y - middle.y) * (at(i).y - middle.y)),
        );
        let (xz, yz) = (
            sum(&|i| (at(i).x - middle.x) * (heights[i] - mean)),
            sum(&|i| (at(i).y - middle.y) * (heights[i] - mean)),
        );
        let determinant = xx * yy - xy * xy;
        // A brush is at least four nodes wide, so that only weights of nothing make it singular.
        let slope = if determinant > 1e-9 {
            DVec2::new(xz * yy - yz * xy, yz * xx - xz * xy) / determinant
        } else {
            DVec2::ZERO
        };
        (0..heights.len()).map(|index| mean + (at(index) - middle).dot(slope)).collect()
    }

    /// The tiles that differ with the new heights where the brush reached.
    fn tiles(&self, layer: &SculptLayer, weights: &[f64], new: &[f64]) -> Vec<Tile> {
        let mut tiles: Vec<Tile> = Vec::new();
        for (index, &height) in new.iter().enumerate() {
            if weights[index] <= 0.0 {
                continue;
            }
            let (column, row) = (self.column + (index % self.columns) as i32, self.row + (index / self.columns) as i32);
            let (at, inner) = place(column, row);
            let found = tiles.iter().position(|tile| tile.at == at).unwrap_or_else(|| {
                tiles.push(layer.tile(at).cloned().unwrap_or_else(|| Tile::zero(at)));
                tiles.len() - 1
            });
            if let Some(kept) = tiles[found].heights.get_mut(inner) {
                *kept = (height.clamp(-LIMIT_MM, LIMIT_MM) * PER_MM).round() as i16;
            }
        }
        tiles.retain(|tile| layer.tile(tile.at).map_or_else(|| !tile.is_zero(), |old| old != tile));
        tiles
    }
}

/// A layer ready to be evaluated.
#[derive(Clone, Debug)]
pub struct Sculpt {
    lo: DVec2,
    hi: DVec2,
    spline: SplineGrid,
}

impl Sculpt {
    /// The layer as a surface; `None` where there is none, or it is off.
    #[must_use]
    pub fn new(layer: &SculptLayer) -> Option<Sculpt> {
        let sound = layer.tiles.iter().filter(|tile| tile.check().is_ok());
        let (lo, hi) = sound.fold(([i16::MAX; 2], [i16::MIN; 2]), |(lo, hi), tile| {
            let each = |f: fn(i16, i16) -> i16, of: [i16; 2]| [f(of[0], tile.at[0]), f(of[1], tile.at[1])];
            (each(i16::min, lo), each(i16::max, hi))
        });
        if !layer.on || lo[0] > hi[0] {
            return None;
        }
        // A node's effect ends two nodes away.
        const BEYOND: i32 = 3;
        let side = TILE as i32;
        let first = lo.map(|n| i32::from(n) * side - BEYOND);
        let count = [0, 1].map(|k| (i32::from(hi[k] - lo[k] + 1) * side + 2 * BEYOND) as usize);
        let mut coefficients = vec![0.0; count[0] * count[1]];
        for tile in &layer.tiles {
            for (inner, &height) in tile.heights.iter().enumerate().take(TILE * TILE) {
                let column = i32::from(tile.at[0]) * side + (inner % TILE) as i32 - first[0];
                let row = i32::from(tile.at[1]) * side + (inner / TILE) as i32 - first[1];
                if let Some(kept) = coefficients.get_mut(row as usize * count[0] + column as usize) {
                    *kept = f64::from(height) / PER_MM;
                }
            }
        }
        let lo = DVec2::new(f64::from(first[0]), f64::from(first[1])) * NODE_MM;
        let hi = lo + DVec2::new((count[0] - 1) as f64, (count[1] - 1) as f64) * NODE_MM;
        Some(Sculpt { lo, hi, spline: SplineGrid::of_coefficients(lo, NODE_MM, count[0], coefficients) })
    }

    /// Height added at `p`, mm.
    #[must_use]
    pub fn height(&self, p: DVec2) -> f64 {
        if p.cmpge(self.lo).all() && p.cmple(self.hi).all() { self.spline.at(p) } else { 0.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn brush(tool: Tool, strength: f64) -> Brush {
        Brush { tool, radius_mm: 12.0, strength }
    }

    fn with(layer: &SculptLayer, brush: &Brush, path: &[DVec2], top: impl Fn(DVec2) -> f64) -> SculptLayer {
        let mut next = layer.clone();
        next.put(&layer.stroked(brush, path, top));
        next
    }

    const PATH: [DVec2; 3] = [DVec2::new(100.0, -5.0), DVec2::new(120.0, 3.0), DVec2::new(140.0, 10.0)];

    #[test]
    fn raising_and_lowering_by_as_much_leaves_nothing() {
        let raised = with(&SculptLayer::default(), &brush(Tool::Raise, 2.0), &PATH, |_| 0.0);
        let sculpt = Sculpt::new(&raised).unwrap();
        assert!((sculpt.height(PATH[1]) - 2.0).abs() < 0.15, "{}", sculpt.height(PATH[1]));
        assert!(sculpt.height(PATH[1] + DVec2::new(0.0, 20.0)) == 0.0);
        let back = with(&raised, &brush(Tool::Lower, 2.0), &PATH, |_| 0.0);
        assert!(back.is_empty());
    }

    #[test]
    fn flattening_a_slope_with_bumps_leaves_the_slope() {
        let top = |p: DVec2| 0.1 * p.x - 0.05 * p.y + 0.8 * libm::sin(p.x * 0.4) * libm::cos(p.y * 0.35);
        let big = Brush { tool: Tool::Flatten, radius_mm: 30.0, strength: 1.0 };
        let layer = with(&SculptLayer::default(), &big, &[DVec2::new(100.0, 0.0)], top);
        let sculpt = Sculpt::new(&layer).unwrap();
        let rough = |f: &dyn Fn(DVec2) -> f64| {
            let points = (0..60).map(|i| DVec2::new(95.0 + f64::from(i % 10), -3.0 + f64::from(i / 10)));
            points.map(|p| (f(p) - 0.1 * p.x + 0.05 * p.y).abs()).sum::<f64>() / 60.0
        };
        let (before, after) = (rough(&top), rough(&|p| top(p) + sculpt.height(p)));
        assert!(after < before / 2.5, "{before} before, {after} after");
    }

    #[test]
    fn smoothing_takes_a_step_down_and_leaves_a_plane() {
        let plane = |p: DVec2| 0.2 * p.x;
        assert!(
            SculptLayer::default().stroked(&brush(Tool::Smooth, 1.0), &PATH[1..2], plane).iter().all(Tile::is_zero)
        );
        let step = |p: DVec2| if p.x > 120.0 { 2.0 } else { 0.0 };
        let layer = with(&SculptLayer::default(), &brush(Tool::Smooth, 1.0), &PATH[1..2], step);
        let sculpt = Sculpt::new(&layer).unwrap();
        assert!(sculpt.height(DVec2::new(122.0, 3.0)) < -0.2 && sculpt.height(DVec2::new(118.0, 3.0)) > 0.2);
    }

    #[test]
    fn erasing_takes_all_back_where_it_is_strong() {
        let raised = with(&SculptLayer::default(), &brush(Tool::Raise, 3.0), &PATH, |_| 0.0);
        let wide = Brush { tool: Tool::Erase, radius_mm: 40.0, strength: 1.0 };
        let mut erased = raised;
        for _ in 0..8 {
            erased = with(&erased, &wide, &PATH, |_| 0.0);
        }
        let most = erased.tiles.iter().flat_map(|tile| &tile.heights).map(|h| h.unsigned_abs()).max();
        assert!(most.unwrap_or(0) < 5, "{most:?} hundredths are left");
    }

    #[test]
    fn a_layer_that_is_off_or_holds_nonsense_is_nothing() {
        let mut layer = with(&SculptLayer::default(), &brush(Tool::Raise, 2.0), &PATH, |_| 0.0);
        assert!(layer.tiles.iter().all(|tile| tile.check().is_ok()));
        layer.on = false;
        assert!(Sculpt::new(&layer).is_none());
        assert!(Tile { at: [0, 0], heights: vec![0; 3] }.check().is_err());
        assert!(Tile { at: [0, 0], heights: vec![801; 64] }.check().is_err());
        assert!(Tile { at: [9000, 0], heights: vec![1; 64] }.check().is_err());
        let text = serde_json::to_string(&layer).unwrap();
        assert_eq!(serde_json::from_str::<SculptLayer>(&text).unwrap(), layer);
    }

    proptest! {
        #[test]
        fn any_strokes_stay_within_the_limit(
            strokes in proptest::collection::vec((0..5usize, 0.0..60.0f64, -3.0..20.0f64, -50.0..300.0f64, -60.0..60.0f64), 1..12)
        ) {
            let mut layer = SculptLayer::default();
            for (tool, radius_mm, strength, x, y) in strokes {
                let brush = Brush { tool: Tool::ALL[tool], radius_mm, strength };
                let path = [DVec2::new(x, y), DVec2::new(x + 14.0, y - 3.0)];
                let now = Sculpt::new(&layer);
                let top = |p: DVec2| libm::sin(p.x) + now.as_ref().map_or(0.0, |now| now.height(p));
                layer = with(&layer, &brush, &path, top);
                prop_assert!(layer.tiles.iter().all(|tile| tile.check().is_ok() && !tile.is_zero()));
                if let Some(sculpt) = Sculpt::new(&layer) {
                    for i in 0..100 {
                        let p = DVec2::new(x + f64::from(i % 10) * 4.0 - 20.0, y + f64::from(i / 10) * 4.0 - 20.0);
                        prop_assert!(sculpt.height(p).abs() <= LIMIT_MM + 1e-9);
                    }
                }
            }
        }
    }
}
