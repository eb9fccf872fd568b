//! What is drawn of an insole in plan, whatever the scale.

use glam::DVec2;
use insole::ElementItem;
use mesh::Grid;

/// An element is drawn where it reaches this share of its greatest height.
const ELEMENT_SHARE: f64 = 0.1;

/// The edge of an element as closed lines, and the middle of its bounds, foot frame, mm; `None` for a kind that is not
/// known and for one without height.
pub(in crate::formats) fn element_edge(item: &ElementItem) -> Option<(Vec<Vec<DVec2>>, DVec2)> {
    let element = insole::elements::by_id(&item.kind)?;
    let shape = element.shape(&item.params);
    let (lo, hi) = element.bounds(&item.params);
    let mut grid = Grid::over(lo - 1.0, hi + 1.0, 1.0);
    for index in 0..grid.values.len() {
        grid.values[index] = shape(grid.at(index % grid.columns, index / grid.columns)).abs() as f32;
    }
    let most = grid.values.iter().fold(0.0_f32, |most, &value| most.max(value));
    (most > 0.0).then(|| (mesh::contour(&grid, f64::from(most) * ELEMENT_SHARE), (lo + hi) / 2.0))
}
