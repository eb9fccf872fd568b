//! Vertical cuts through foot and insole.

use crate::bend::Bend;
use crate::stages::{Derived, Shaped};
use crate::view::{Cut, SectionView};
use foot::tissue;
use glam::{DVec2, DVec3};
use insole::SOLID_MIN_MM;
use mesh::{Plane, Polyline};

/// Samples along a cut, mm apart. A multiple of half the smallest radius an element has is not missed.
const STEP_MM: f64 = 0.5;
/// Samples along the skin of the sole for the line of the tissue, mm apart.
const TISSUE_STEP_MM: f64 = 2.0;

/// The lines of a cut; what is not derived yet is empty. `other` is what the insole is compared with.
pub(crate) fn section(derived: &Derived, bend: Option<&Bend>, other: Option<&Shaped>, cut: Cut) -> SectionView {
    let mut view = SectionView::default();
    if let Some(plane) = plane(cut) {
        view.skin = mesh::section(&derived.scanned.display, &plane).iter().flat_map(|line| on_cut(line, cut)).collect();
    }
    view.tissue = tissue_lines(derived, cut);
    let (Some(outlined), Some(shaped), Some(graded)) = (&derived.outlined, &derived.shaped, &derived.graded) else {
        return view;
    };
    let Some((from, to)) = span(&outlined.polygon, cut) else { return view };
    let steps = ((to - from) / STEP_MM).ceil().max(1.0) as usize;
    let cover_mm = shaped.surface.base().cover_mm();
    for step in 0..=steps {
        let u = from + (to - from) * step as f64 / steps as f64;
        let p = DVec2::from_array(cut.at(u));
        let point = |z: f64| [u as f32, z as f32];
        let (top, bottom) = shaped.surface.top_and_bottom(p);
        view.top.push(point(top));
        view.bottom.push(point(bottom));
        if cover_mm > 0.0 {
            view.cover.push(point(top + cover_mm));
        }
        if let Some(other) = other {
            view.other.push(point(other.surface.bearing(p)));
        }
        if let Some(bend) = bend {
            view.last_bottom.push(point(bend.height(p) - shaped.surface.base().base_thickness_mm()));
        }
        view.shore_a.push(graded.field.value(p) as f32);
    }
    debug_assert!(
        view.top.iter().zip(&view.bottom).all(|(top, bottom)| f64::from(top[1] - bottom[1]) > SOLID_MIN_MM / 2.0)
    );
    view
}

fn plane(cut: Cut) -> Option<Plane> {
    match cut {
        Cut::Longitudinal(y) => Some(Plane::at_y(y)),
        Cut::Transverse(x) => Some(Plane::at_x(x)),
        Cut::Line(from, to) => {
            let (from, to) = (DVec2::from_array(from), DVec2::from_array(to));
            Plane::through(from.extend(0.0), (to - from).perp().extend(0.0))
        }
    }
}

/// Distance along the cut of a place, mm.
fn along(cut: Cut, p: DVec2) -> f64 {
    match cut {
        Cut::Longitudinal(_) => p.x,
        Cut::Transverse(_) => p.y,
        Cut::Line(from, to) => {
            let from = DVec2::from_array(from);
            (p - from).dot((DVec2::from_array(to) - from).normalize_or_zero())
        }
    }
}

/// From where to where a cut goes at all.
fn ends(cut: Cut) -> (f64, f64) {
    match cut {
        Cut::Line(from, to) => (0.0, DVec2::from_array(from).distance(DVec2::from_array(to))),
        _ => (f64::NEG_INFINITY, f64::INFINITY),
    }
}

/// A line of the skin on the cut, in the pieces that lie between its ends.
fn on_cut(line: &Polyline, cut: Cut) -> Vec<Vec<[f32; 2]>> {
    let (from, to) = ends(cut);
    let flat = |p: &DVec3| (along(cut, p.truncate()), p.z);
    let points = line.points.iter().chain(line.closed.then(|| line.points.first()).flatten()).map(flat);
    let mut pieces: Vec<Vec<[f32; 2]>> = vec![Vec::new()];
    for (u, z) in points {
        match pieces.last_mut() {
            Some(piece) if u >= from && u <= to => piece.push([u as f32, z as f32]),
            Some(piece) if !piece.is_empty() => pieces.push(Vec::new()),
            _ => {}
        }
    }
    pieces.retain(|piece| piece.len() > 1);
    pieces
}

/// Where the soft tissue under heel and heads ends, over the skin of the sole.
fn tissue_lines(derived: &Derived, cut: Cut) -> Vec<Vec<[f32; 2]>> {
    let foot = &derived.scanned.foot;
    let length_mm = foot.silhouette.iter().map(|p| p.x).fold(0.0, f64::max);
    let (from, to) = match cut {
        Cut::Longitudinal(_) => (0.0, length_mm),
        Cut::Transverse(_) => (-length_mm / 2.0, length_mm / 2.0),
        Cut::Line(..) => ends(cut),
    };
    let mut pieces: Vec<Vec<[f32; 2]>> = vec![Vec::new()];
    for step in 0..=((to - from) / TISSUE_STEP_MM) as usize {
        let u = from + step as f64 * TISSUE_STEP_MM;
        let p = DVec2::from_array(cut.at(u));
        let thick = tissue::thickness_mm(&derived.landmarks, p).zip(foot.sole.sample(p));
        match (thick, pieces.last_mut()) {
            (Some((thick, skin)), Some(piece)) => piece.push([u as f32, (skin + thick) as f32]),
            (None, Some(piece)) if !piece.is_empty() => pieces.push(Vec::new()),
            _ => {}
        }
    }
    pieces.retain(|piece| piece.len() > 1);
    pieces
}

/// First and last crossing of the cut with the outline, mm along the cut.
fn span(polygon: &[DVec2], cut: Cut) -> Option<(f64, f64)> {
    let origin = DVec2::from_array(cut.at(0.0));
    let direction = DVec2::from_array(cut.at(1.0)) - origin;
    let mut crossings = Vec::new();
    for (i, &a) in polygon.iter().enumerate() {
        let b = polygon[(i + 1) % polygon.len()];
        let (beside_a, beside_b) = (direction.perp_dot(a - origin), direction.perp_dot(b - origin));
        if (beside_a <= 0.0) != (beside_b <= 0.0) {
            let share = beside_a / (beside_a - beside_b);
            crossings.push(direction.dot(a.lerp(b, share) - origin));
        }
    }
    let (least, most) = ends(cut);
    let from = crossings.iter().copied().reduce(f64::min)?.max(least);
    let to = crossings.iter().copied().reduce(f64::max)?.min(most);
    (to > from).then_some((from, to))
}
