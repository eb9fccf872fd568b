//! Closing holes.
//!
//! Guaranteed: after success every edge of the rims given has one triangle more, wound like its neighbour; positions
//! and triangles that were there stay; on failure the mesh is unchanged.
//!
//! Not guaranteed: the patch follows no curvature, it is flat or a cone, and it may cross a surface that reaches into
//! the hole.

use crate::{Plane, TriMesh};
use glam::DVec3;
use spade::{ConstrainedDelaunayTriangulation, Point2, Triangulation};
use std::collections::{BTreeMap, BTreeSet};
use thiserror::Error;

/// Why a hole cannot be closed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum HoleFault {
    /// A rim with fewer than three vertices.
    #[error("a rim needs at least three vertices, not {0}")]
    TooShort(usize),
    /// A rim names a vertex the mesh does not have, or one twice.
    #[error("the rim names vertex {0}, which does not exist or comes twice")]
    BadVertex(u32),
    /// The rims, seen along their mean normal, cross or touch each other.
    #[error("the rims cross or touch, so no flat patch fits them; fill them one by one")]
    Crossing,
}

/// Closes one hole, whose rim runs as [`crate::boundary_loops`] gives it: with a flat patch that uses the rim's
/// vertices only or, where the rim seen along its mean normal crosses itself, with a cone to a new vertex in its
/// middle. Answers how many triangles were added.
///
/// # Errors
/// If the rim has fewer than three vertices, names one that does not exist, or names one twice.
pub fn fill_hole(mesh: &mut TriMesh, rim: &[u32]) -> Result<usize, HoleFault> {
    match fill_flat(mesh, &[rim.to_vec()]) {
        Err(HoleFault::Crossing) => Ok(fill_with_cone(mesh, rim)),
        other => other,
    }
}

/// Closes the openings of a flat cut, all at once: where rims lie one in another, as at the cut of a hollow body, only
/// the area between them is filled. Answers how many triangles were added.
///
/// # Errors
/// If a rim has fewer than three vertices, names one that does not exist or that comes twice, or if the rims cross or
/// touch, seen along their mean normal.
pub fn fill_flat(mesh: &mut TriMesh, rims: &[Vec<u32>]) -> Result<usize, HoleFault> {
    check(mesh, rims)?;
    if rims.is_empty() {
        return Ok(0);
    }
    // The patch looks to where the rim runs clockwise, so that along the rim it runs against its neighbours.
    let normal: DVec3 = rims.iter().map(|rim| -rim_area_vector(mesh, rim)).sum();
    let plane = Plane::through(DVec3::ZERO, normal).ok_or(HoleFault::Crossing)?;
    let patch = triangulated(mesh, rims, &plane).ok_or(HoleFault::Crossing)?;
    let wanted: BTreeSet<[u32; 2]> = rims.iter().flat_map(|rim| sides(rim).map(|[from, to]| [to, from])).collect();
    if open_sides(&patch) != wanted {
        return Err(HoleFault::Crossing);
    }
    mesh.parts_mut().1.extend_from_slice(&patch);
    Ok(patch.len())
}

fn check(mesh: &TriMesh, rims: &[Vec<u32>]) -> Result<(), HoleFault> {
    let mut seen = BTreeSet::new();
    for rim in rims {
        if rim.len() < 3 {
            return Err(HoleFault::TooShort(rim.len()));
        }
        let is_bad = |vertex: u32| vertex as usize >= mesh.positions().len();
        if let Some(&bad) = rim.iter().find(|&&vertex| is_bad(vertex) || !seen.insert(vertex)) {
            return Err(HoleFault::BadVertex(bad));
        }
    }
    Ok(())
}

fn fill_with_cone(mesh: &mut TriMesh, rim: &[u32]) -> usize {
    let middle = rim.iter().map(|&vertex| mesh.positions()[vertex as usize]).sum::<DVec3>() / rim.len() as f64;
    let (positions, triangles) = mesh.parts_mut();
    let apex = positions.len() as u32;
    positions.push(middle);
    triangles.extend(sides(rim).map(|[from, to]| [to, from, apex]));
    rim.len()
}

fn sides(rim: &[u32]) -> impl Iterator<Item = [u32; 2]> {
    (0..rim.len()).map(|k| [rim[k], rim[(k + 1) % rim.len()]])
}

/// Normal of the rim as long as the area it encloses: the sum over its sides, by Newell.
fn rim_area_vector(mesh: &TriMesh, rim: &[u32]) -> DVec3 {
    let at = |vertex: u32| mesh.positions()[vertex as usize] - mesh.positions()[rim[0] as usize];
    sides(rim).map(|[from, to]| at(from).cross(at(to))).sum::<DVec3>() * 0.5
}

/// The triangles between the rims in a Delaunay triangulation that keeps the rims' sides; `None` where those cross.
fn triangulated(mesh: &TriMesh, rims: &[Vec<u32>], plane: &Plane) -> Option<Vec<[u32; 3]>> {
    let mut net = ConstrainedDelaunayTriangulation::<Point2<f64>>::new();
    // Vertices of the mesh by their number in the net.
    let mut vertices = Vec::new();
    let mut handles = BTreeMap::new();
    for &vertex in rims.iter().flatten() {
        let point = plane.to_2d(mesh.positions()[vertex as usize]);
        let handle = net.insert(spade::mitigate_underflow(Point2::new(point.x, point.y))).ok()?;
        if handle.index() < vertices.len() {
            return None;
        }
        vertices.push(vertex);
        handles.insert(vertex, handle);
    }
    for [from, to] in rims.iter().flat_map(|rim| sides(rim)) {
        let (from, to) = (*handles.get(&from)?, *handles.get(&to)?);
        // A side is one edge unless another vertex lies on it.
        if net.try_add_constraint(from, to).len() != 1 && !net.exists_constraint(from, to) {
            return None;
        }
    }
    // Inside is what lies behind an odd number of rims, counted from the outside inwards.
    let mut is_inside: Vec<Option<bool>> = vec![None; net.num_all_faces()];
    let mut front = vec![net.outer_face()];
    is_inside[net.outer_face().index()] = Some(false);
    let mut all_edges_of_outside: Vec<_> = net.convex_hull().collect();
    let mut patch = Vec::new();
    while let Some(face) = front.pop() {
        let here = is_inside[face.index()].unwrap_or(false);
        let edges = match face.as_inner() {
            Some(inner) => {
                if here {
                    patch.push(inner.vertices().map(|vertex| vertices[vertex.index()]));
                }
                inner.adjacent_edges().to_vec()
            }
            None => std::mem::take(&mut all_edges_of_outside),
        };
        for edge in edges {
            let beyond = edge.rev().face();
            let state = &mut is_inside[beyond.index()];
            if state.is_none() {
                *state = Some(here != edge.is_constraint_edge());
                front.push(beyond);
            }
        }
    }
    Some(patch)
}

/// The sides of triangles that no other triangle runs along the other way.
fn open_sides(triangles: &[[u32; 3]]) -> BTreeSet<[u32; 2]> {
    let mut open = BTreeSet::new();
    for &[a, b, c] in triangles {
        for [from, to] in [[a, b], [b, c], [c, a]] {
            if !open.remove(&[to, from]) {
                open.insert([from, to]);
            }
        }
    }
    open
}
