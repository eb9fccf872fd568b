//! Level sheets round a foot: the floor it stands on, the rim of the box it was pressed into.

use crate::holes;
use glam::{DAffine3, DMat3, DVec2, DVec3};
use mesh::raster::height_from_above;
use mesh::section::{Polyline, section};
use mesh::{Grid, Keep, Plane, TriMesh, eigen_symmetric, submesh};
use std::collections::BTreeSet;

/// A level sheet, with what it carries on one side.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Level {
    /// Unit normal, towards what it carries.
    pub(crate) up: DVec3,
    /// A point of it.
    pub(crate) at: DVec3,
}

/// With less than this share of the area, a level part is no sheet round a foot.
const LEAST_SHARE: f64 = 0.08;

/// Cells of the plan across the square root of the area: some ten samples of one layer each.
const CELLS: f64 = 40.0;

/// A sheet's normals are within 37° of its own, cosine.
const ALIGNED: f64 = 0.8;

/// Skin within this of the level is part of it while it is sought, share of the square root of the area.
const NEAR: f64 = 0.015;

/// The same once the level is known: a few millimetres in a box or on a piece of floor.
pub(crate) const ON_LEVEL: f64 = 0.008;

/// The level sheet that all points and normals lie on one side of, if `up` and `at` are near one and it reaches beyond
/// the plan of what lies above it. `size` is the square root of the whole area.
pub(crate) fn sought(points: &[(DVec3, DVec3)], up: DVec3, at: DVec3, size: f64) -> Option<(Level, f64)> {
    let mut level = Level { up, at };
    let mut share = 0.0;
    for near in [NEAR, ON_LEVEL] {
        let outside = level.outside(points, size, near * size);
        share = outside.len() as f64 / points.len().max(1) as f64;
        if share < LEAST_SHARE {
            return None;
        }
        let outside: Vec<DVec3> = outside.into_iter().map(|k| points[k].0).collect();
        level = fitted(&outside, level.up);
    }
    Some((level, share))
}

impl Level {
    /// The frame whose z is the height over the level.
    pub(crate) fn frame(&self) -> DAffine3 {
        let x = self.up.any_orthonormal_vector();
        let turn = DMat3::from_cols(x, self.up.cross(x), self.up).transpose();
        DAffine3 { matrix3: turn, translation: -(turn * self.at) }
    }

    /// The points on the level, by index, but not under what it carries.
    pub(crate) fn outside(&self, points: &[(DVec3, DVec3)], size: f64, near: f64) -> Vec<usize> {
        let is_on = |(p, normal): &(DVec3, DVec3)| {
            (*p - self.at).dot(self.up).abs() < near && normal.dot(self.up).abs() > ALIGNED
        };
        // Most planes that a foot can stand on have little of it on them.
        if (points.iter().filter(|p| is_on(p)).count() as f64) < LEAST_SHARE * points.len() as f64 {
            return Vec::new();
        }
        let frame = self.frame();
        let local: Vec<DVec3> = points.iter().map(|(p, _)| frame.transform_point3(*p)).collect();
        let (mut lo, mut hi) = (DVec2::INFINITY, DVec2::NEG_INFINITY);
        for p in &local {
            (lo, hi) = (lo.min(p.truncate()), hi.max(p.truncate()));
        }
        let step = size / CELLS;
        let mut plan = Grid::over(lo - DVec2::splat(2.0 * step), hi + DVec2::splat(2.0 * step), step);
        let cell = |p: DVec3| {
            let at = ((p.truncate() - plan.origin_mm) / step).round();
            (at.y as usize).min(plan.rows - 1) * plan.columns + (at.x as usize).min(plan.columns - 1)
        };
        let cells: Vec<usize> = local.iter().map(|&p| cell(p)).collect();
        for (p, &k) in local.iter().zip(&cells) {
            if p.z.abs() >= near {
                plan.values[k] = 1.0;
            }
        }
        let is_carried = covered(&plan);
        let is_level =
            |&k: &usize| local[k].z.abs() < near && points[k].1.dot(self.up).abs() > ALIGNED && !is_carried[cells[k]];
        (0..points.len()).filter(is_level).collect()
    }
}

/// Gives the samples along a line a value.
fn mark(plan: &mut Grid, line: &Polyline) {
    let count = line.points.len();
    let sides = if line.closed { count } else { count.saturating_sub(1) };
    for k in 0..sides {
        let (from, to) = (line.points[k].truncate(), line.points[(k + 1) % count].truncate());
        let steps = (2.0 * from.distance(to) / plan.step_mm).ceil().clamp(1.0, MOST_STEPS) as usize;
        for step in 0..=steps {
            let p = from.lerp(to, step as f64 / steps as f64);
            let at = ((p - plan.origin_mm) / plan.step_mm).round();
            if at.x >= 0.0 && at.y >= 0.0 && at.x < plan.columns as f64 && at.y < plan.rows as f64 {
                plan.values[at.y as usize * plan.columns + at.x as usize] = 0.0;
            }
        }
    }
}

/// Steps along a side of a triangle; a longer one belongs to no scan of a foot.
const MOST_STEPS: f64 = 1e4;

/// The samples with a value and those enclosed by them, and a sample round them.
fn covered(plan: &Grid) -> Vec<bool> {
    let mut is_covered = holes::enclosed(plan);
    is_covered.iter_mut().zip(&plan.values).for_each(|(covered, value)| *covered |= value.is_finite());
    let grown = |k: usize| {
        let (column, row) = (k % plan.columns, k / plan.columns);
        (0..9).any(|d| {
            let (column, row) = ((column + d % 3).wrapping_sub(1), (row + d / 3).wrapping_sub(1));
            column < plan.columns && row < plan.rows && is_covered[row * plan.columns + column]
        })
    };
    (0..is_covered.len()).map(grown).collect()
}

/// The plane of least squares.
fn fitted(points: &[DVec3], up: DVec3) -> Level {
    let at = points.iter().sum::<DVec3>() / points.len().max(1) as f64;
    let spread = points.iter().fold(DMat3::ZERO, |sum, &p| {
        let d = p - at;
        sum + DMat3::from_cols(d * d.x, d * d.y, d * d.z)
    });
    let normal = eigen_symmetric(spread).vectors[2];
    Level { up: if normal.dot(up) < 0.0 { -normal } else { normal }, at }
}

/// What is seen of the sheet under the arch is less than this share of the sole that lies on it.
const UNDER_ARCH: f64 = 0.5;

/// What is left of a mesh without its level sheet, and the area taken away.
pub(crate) struct Without {
    pub(crate) mesh: TriMesh,
    pub(crate) area: f64,
}

/// How a level sheet is told from what it carries, in the mesh's unit.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Measure {
    /// What is lower than this may be sheet.
    pub(crate) near: f64,
    /// What is higher than this does not count as carried: leg.
    pub(crate) tall: f64,
    /// A sheet reaches farther than this beyond what it carries.
    pub(crate) beyond: f64,
    /// Sample distance of the plan.
    pub(crate) step: f64,
}

/// Takes away the sheet: what is low and lies beyond the plan of what is higher. The mesh lies with the level at z = 0.
/// `None` if there is nothing to take away: then little work was done.
///
/// All of a foot's sole lies under the rest of the foot, so none of it is taken away.
pub(crate) fn without(mesh: &TriMesh, measure: Measure) -> Option<Without> {
    let Measure { near, tall, beyond, step } = measure;
    let is_low = |p: &DVec3| p.z < near;
    let mut boxes = [(DVec2::INFINITY, DVec2::NEG_INFINITY); 2];
    for p in mesh.positions().iter().filter(|p| p.z < tall) {
        let (lo, hi) = &mut boxes[usize::from(is_low(p))];
        (*lo, *hi) = (lo.min(p.truncate()), hi.max(p.truncate()));
    }
    let [carried, low] = boxes;
    let reaches_beyond = low.0.cmplt(carried.0 - beyond) | low.1.cmpgt(carried.1 + beyond);
    if !reaches_beyond.any() || carried.0.x > carried.1.x {
        return None;
    }
    let higher: Vec<u32> = (0..mesh.triangles().len() as u32)
        .filter(|&t| mesh.corners(mesh.triangles()[t as usize]).iter().any(|p| p.z >= near && p.z < tall))
        .collect();
    let margin = DVec2::splat(2.0 * step);
    let mut plan = Grid::over(carried.0 - margin, carried.1 + margin, step);
    // A triangle with one corner above is no floor; one of its corners may lie far out on it all the same.
    let clipped = mesh::cut(&submesh(mesh, &higher), &Plane::at_z(near), Keep::Above).mesh;
    plan = height_from_above(&clipped, plan);
    // Steep walls fall between samples: the line along which they meet the level closes the plan's edge.
    for line in section(&clipped, &Plane::at_z(near * 1.001)) {
        mark(&mut plan, &line);
    }
    let is_enclosed = holes::enclosed(&plan);
    let is_beyond = |p: DVec3| {
        let at = ((p.truncate() - plan.origin_mm) / step).round();
        let is_inside = at.x >= 0.0 && at.y >= 0.0 && at.x < plan.columns as f64 && at.y < plan.rows as f64;
        let k = || at.y as usize * plan.columns + at.x as usize;
        !(is_inside && (plan.values[k()].is_finite() || is_enclosed[k()]))
    };
    let (mut kept, mut area, mut facing) = (Vec::new(), 0.0, 0.0);
    // Low skin that is carried: how much of it faces as the sheet does, and how much the other way.
    let mut carried_low: Vec<(u32, f64)> = Vec::new();
    for (t, &triangle) in mesh.triangles().iter().enumerate() {
        let corners = mesh.corners(triangle);
        if corners.iter().any(|p| is_low(p) && is_beyond(*p)) {
            let vector = mesh.area_vector(triangle);
            area += vector.length();
            facing += vector.z;
        } else {
            kept.push(t as u32);
            if corners.iter().all(is_low) {
                carried_low.push((t as u32, mesh.area_vector(triangle).z));
            }
        }
    }
    // What the sheet has under the arch faces as the sheet does, the sole the other way, unless both were seen from
    // the same side.
    if facing.abs() > ALIGNED * area {
        let sum = |sign: f64| carried_low.iter().map(|(_, z)| (sign * z).max(0.0)).sum::<f64>();
        let sign = facing.signum();
        if sum(sign) < UNDER_ARCH * sum(-sign) {
            let under: BTreeSet<u32> = carried_low.iter().filter(|(_, z)| sign * z > 0.0).map(|(t, _)| *t).collect();
            area += under.iter().map(|&t| mesh.area_vector(mesh.triangles()[t as usize]).length()).sum::<f64>();
            kept.retain(|t| !under.contains(t));
        }
    }
    (area > 0.0).then(|| Without { mesh: submesh(mesh, &kept), area })
}
