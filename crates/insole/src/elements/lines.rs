use super::ElementItem;
use crate::Edge;
use glam::DVec2;
use mesh::Grid;
use std::sync::Arc;

/// An element is drawn where it reaches this share of its greatest height on the insole.
const RIM_SHARE: f64 = 0.05;
/// About as many samples across an element.
const SAMPLES: f64 = 60.0;
/// Finer than the first no screen shows, mm; coarser than the second looks ragged.
const STEP_MM: (f64, f64) = (0.5, 2.0);
/// Drawn this far beyond the insole, mm.
const BEYOND_MM: f64 = 2.0;

/// Where an element begins on an insole: closed lines in plan, foot frame, mm, holes among them. None for a kind that is not
/// known and for an element without height.
#[must_use]
pub fn lines(item: &ElementItem, edge: &Arc<Edge>) -> Vec<Vec<DVec2>> {
    let Some(element) = super::by_id(&item.kind) else { return Vec::new() };
    let ((lo, hi), (least, most)) = (element.bounds(item, edge), edge.bounds());
    let (lo, hi) = (lo.max(least - BEYOND_MM), hi.min(most + BEYOND_MM));
    if lo.cmpge(hi).any() {
        return Vec::new();
    }
    let step = ((hi - lo).max_element() / SAMPLES).clamp(STEP_MM.0, STEP_MM.1);
    // One more sample round it, where there is nothing: every line closes.
    let mut grid = Grid::over(lo - step, hi + step, step);
    let shape = element.shape(item, edge);
    let mut greatest = 0.0_f32;
    for row in 0..grid.rows {
        for column in 0..grid.columns {
            let p = grid.at(column, row);
            // What goes on beyond the insole is drawn along its edge.
            let inside = p.cmpge(lo).all() && p.cmple(hi).all() && edge.inside_mm(p) > -BEYOND_MM;
            let height = if inside { shape(p).abs() as f32 } else { 0.0 };
            greatest = greatest.max(height);
            grid.values[row * grid.columns + column] = height;
        }
    }
    if greatest <= 0.0 { Vec::new() } else { mesh::contour(&grid, f64::from(greatest) * RIM_SHARE) }
}
