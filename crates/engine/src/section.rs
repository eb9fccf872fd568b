//! Vertical cuts through foot and insole.

use crate::stages::Derived;
use crate::view::{Cut, SectionView};
use base::Params;
use glam::{DVec2, DVec3};
use last::{BottomPlan, LastBottom};
use mesh::Plane;

/// Samples along a cut, mm apart. A multiple of half the smallest radius an element has is not missed.
const STEP_MM: f64 = 0.5;

/// The lines of a cut; what is not derived yet is empty.
pub(crate) fn section(derived: &Derived, last: &Params, cut: Cut) -> SectionView {
    let plane = match cut {
        Cut::Longitudinal(y) => Plane::at_y(y),
        Cut::Transverse(x) => Plane::at_x(x),
    };
    let along = |p: DVec3| match cut {
        Cut::Longitudinal(_) => [p.x as f32, p.z as f32],
        Cut::Transverse(_) => [p.y as f32, p.z as f32],
    };
    let mut view = SectionView::default();
    for line in mesh::section(&derived.scanned.display, &plane) {
        let mut points: Vec<[f32; 2]> = line.points.iter().copied().map(along).collect();
        if line.closed {
            points.extend(points.first().copied());
        }
        view.skin.push(points);
    }
    let (Some(outlined), Some(shaped), Some(graded)) = (&derived.outlined, &derived.shaped, &derived.graded) else {
        return view;
    };
    let Some((from, to)) = span(&outlined.polygon, cut) else { return view };
    let steps = ((to - from) / STEP_MM).ceil().max(1.0) as usize;
    // A bottom that is not one would have been refused when its numbers were set.
    let bottom_of_last =
        LastBottom::new(BottomPlan::of(&outlined.fitted), last).ok().filter(|bottom| !bottom.is_flat());
    for step in 0..=steps {
        let u = from + (to - from) * step as f64 / steps as f64;
        let p = match cut {
            Cut::Longitudinal(y) => DVec2::new(u, y),
            Cut::Transverse(x) => DVec2::new(x, u),
        };
        view.top.push([u as f32, shaped.surface.top(p) as f32]);
        view.bottom.push([u as f32, shaped.surface.bottom(p) as f32]);
        if let Some(bottom) = &bottom_of_last {
            let z = bottom.height(p) - shaped.surface.base().base_thickness_mm();
            view.last_bottom.push([u as f32, z as f32]);
        }
        view.shore_a.push(graded.field.value(p) as f32);
    }
    view
}

/// First and last crossing of the cut with the outline, mm along the cut.
fn span(polygon: &[DVec2], cut: Cut) -> Option<(f64, f64)> {
    let (level, turn): (f64, fn(DVec2) -> DVec2) = match cut {
        Cut::Longitudinal(y) => (y, |p| p),
        Cut::Transverse(x) => (x, |p| DVec2::new(p.y, p.x)),
    };
    let mut crossings = Vec::new();
    for (i, &a) in polygon.iter().enumerate() {
        let (a, b) = (turn(a), turn(polygon[(i + 1) % polygon.len()]));
        if (a.y <= level) != (b.y <= level) {
            crossings.push(a.x + (b.x - a.x) * (level - a.y) / (b.y - a.y));
        }
    }
    let from = crossings.iter().copied().reduce(f64::min)?;
    let to = crossings.iter().copied().reduce(f64::max)?;
    (to > from).then_some((from, to))
}
