//! What of an element lies under the pointer: it can be taken anywhere, not by its handles alone.

use super::geometry::P2;
use super::pane::distance;
use super::state::{Held, Stage, Ui, element_of};
use base::Side;
use engine::view::{FootView, HandleView, Moves, Target};
use glam::DVec2;
use last::Outline;
use leptos::prelude::*;

/// Points of a drawn curve as shown, mm apart.
const CURVE_STEP_MM: f64 = 1.0;

/// Whether `at` lies inside closed lines, holes left out: a ray to +x crosses them an odd number of times.
pub(crate) fn inside<'a>(lines: impl IntoIterator<Item = &'a Vec<[f32; 2]>>, [x, y]: P2) -> bool {
    let mut odd = false;
    for line in lines {
        let mut before = line.last();
        for now in line {
            if let Some(&[ax, ay]) = before {
                let ([ax, ay], [bx, by]) = ([ax, ay].map(f64::from), now.map(f64::from));
                odd ^= (ay > y) != (by > y) && x < ax + (bx - ax) * (y - ay) / (by - ay);
            }
            before = Some(now);
        }
    }
    odd
}

/// The curve that the selected element is drawn to.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct DrawnCurve {
    pub(crate) side: Side,
    pub(crate) element: u32,
    /// Closed, foot frame.
    pub(crate) line: Vec<[f32; 2]>,
}

/// The smooth closed curve through `points`; the straight one where there is none.
fn smooth(points: &[P2]) -> Vec<[f32; 2]> {
    let through = |p: &P2| DVec2::from_array(*p);
    let outline = Outline::through(&points.iter().map(through).collect::<Vec<_>>());
    let line =
        outline.map(|outline| outline.polygon(CURVE_STEP_MM).into_iter().map(|p| p.as_vec2().to_array()).collect());
    line.unwrap_or_else(|_| points.iter().map(|p| p.map(|n| n as f32)).collect())
}

/// What a press takes hold of where there is no handle.
pub(crate) fn grip(side: Side, target: Target, at: [f64; 3]) -> (Held, HandleView) {
    let handle = HandleView { target: target.clone(), label: String::new(), moves: Moves::Plan, at };
    (Held { side, target }, handle)
}

/// Whether a handle is drawn for it.
pub(crate) fn has_handle(target: &Target) -> bool {
    !matches!(target, Target::ElementBody { .. } | Target::ElementCurve { .. } | Target::OutlineCurve { .. })
}

fn hundredths([x, y, _]: [f64; 3]) -> [i32; 2] {
    [x, y].map(|mm| (mm * 100.0).round() as i32)
}

impl Ui {
    /// The curve that the selected element is drawn to, as long as the stage works with it.
    pub(crate) fn drawn_curve(self) -> Memo<Option<DrawnCurve>> {
        Memo::new(move |_| {
            let (side, element) = self.held_element()?;
            let points =
                |foot: &FootView| Some(foot.elements.iter().find(|of| of.id == element && of.on)?.curve.clone());
            let points = self.with_foot(side, points).flatten().filter(|points| !points.is_empty())?;
            (self.stage.get() == Stage::Shape).then(|| DrawnCurve { side, element, line: smooth(&points) })
        })
    }

    /// The selected element.
    fn held_element(self) -> Option<(Side, u32)> {
        self.held.with(|held| held.as_ref().and_then(|held| Some((held.side, element_of(&held.target)?))))
    }

    /// The first handle of the topmost element at a place in plan.
    pub(crate) fn element_at(self, side: Side, at: P2) -> Option<Held> {
        if self.stage.get_untracked() != Stage::Shape {
            return None;
        }
        let first = |foot: &FootView| {
            let mut over = foot.elements.iter().rev().filter(|element| element.on && inside(&element.rim, at));
            over.find_map(|element| {
                let of = |handle: &&HandleView| element_of(&handle.target) == Some(element.id);
                foot.handles.iter().find(of).map(|handle| handle.target.clone())
            })
        };
        let target = untrack(|| self.with_foot(side, first)).flatten()?;
        Some(Held { side, target })
    }

    /// The selected element as a whole, if it lies at a place.
    pub(crate) fn body_at(self, side: Side, at: [f64; 3]) -> Option<(Held, HandleView)> {
        let (of, id) = untrack(|| self.held_element())?;
        if of != side || self.stage.get_untracked() != Stage::Shape {
            return None;
        }
        let [x, y, _] = at;
        let over = |foot: &FootView| foot.elements.iter().any(|e| e.id == id && e.on && inside(&e.rim, [x, y]));
        let over = untrack(|| self.with_foot(side, over)).unwrap_or(false);
        over.then(|| grip(side, Target::ElementBody { id, from: hundredths(at) }, at))
    }
}

impl DrawnCurve {
    /// The point of the curve nearest to a place in plan.
    pub(crate) fn near(&self, at: P2) -> Option<P2> {
        let points = self.line.iter().map(|p| p.map(f64::from));
        points.min_by(|a, b| distance(*a, at).total_cmp(&distance(*b, at)))
    }

    /// The curve as something to pull at from `at`.
    pub(crate) fn grip(&self, at: [f64; 3]) -> (Held, HandleView) {
        grip(self.side, Target::ElementCurve { id: self.element, from: hundredths(at) }, at)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hole_is_not_inside() {
        let square = |half: f32| vec![[-half, -half], [half, -half], [half, half], [-half, half]];
        let ring = [square(10.0), square(4.0)];
        assert!(inside(&ring, [7.0, 1.0]) && inside(&ring, [-7.0, 1.0]));
        assert!(!inside(&ring, [1.0, 1.0]) && !inside(&ring, [11.0, 1.0]) && !inside(&ring, [-11.0, 1.0]));
    }

    #[test]
    fn a_drawn_curve_runs_through_its_points() {
        let points = [[0.0, 0.0], [20.0, 0.0], [20.0, 20.0], [0.0, 20.0]];
        let curve = DrawnCurve { side: Side::Left, element: 1, line: smooth(&points) };
        for point in points {
            let near = curve.near(point).unwrap();
            assert!(distance(near, point) < CURVE_STEP_MM, "{near:?}");
        }
        assert_eq!(smooth(&points[..2]).len(), 2);
    }
}
