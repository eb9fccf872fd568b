//! The skin that is seen from straight below in a cloud of points: a triangulation of the lowest ones.
//!
//! How near each other the points lie is asked of their neighbours everywhere, so that it may be different from place to
//! place: nothing here has a size of cells.

use crate::near::{NET, Near};
use glam::DVec3;
use mesh::{TriMesh, components, submesh};
use spade::handles::{FixedFaceHandle, InnerTag};
use spade::{
    DelaunayTriangulation, HasPosition, HierarchyHintGenerator, Point2, PositionInTriangulation, Triangulation,
};

/// Two points are joined if they are no farther apart than so many times their distance from the others: more than the
/// sides of nearly all triangles between points at random; holes and what is beside the foot are wider.
const JOINED: f64 = 2.5;

/// A point this far over the skin between lower ones is none of it, mm: more than noise.
const OVER_MM: f64 = 1.5;

/// The same, further, as a share of the longest side of the triangle below: as much can the skin bulge between its
/// corners. A toe between points 12 mm apart is thicker.
const OVER_SIDE: f64 = 0.4;

/// Pieces of less than this share of the whole hang on by a corner or not at all and are no part of a foot.
const CRUMB: f64 = 0.005;

/// Gaps are bridged that are smaller than so many squares of the points' distance from each other.
const GAP_SQUARES: f64 = 60.0;

/// A foot's sole that was seen from below: its skin, and what had to be done for it.
pub(crate) struct Sole {
    /// Triangles that face down.
    pub(crate) skin: TriMesh,
    /// Gaps that were bridged.
    pub(crate) gaps: usize,
    /// Distance of the points from each other: half of them are nearer.
    pub(crate) spacing: f64,
}

/// A point as a vertex of the net.
#[derive(Clone, Copy)]
struct Corner {
    at: DVec3,
    /// Its distance from the others.
    spacing: f64,
}

impl HasPosition for Corner {
    type Scalar = f64;

    fn position(&self) -> Point2<f64> {
        spade::mitigate_underflow(Point2::new(self.at.x, self.at.y))
    }
}

type Net = DelaunayTriangulation<Corner, (), (), (), HierarchyHintGenerator<f64>>;

/// The skin of the points as seen from −z. Points that hang together are groups; `own` says which one is the foot's, by
/// its number. `None` if there is none, or where plan coordinates are too large to reckon with.
pub(crate) fn seen_from_below(points: &[DVec3], own: impl Fn(&[Vec<DVec3>]) -> Option<usize>) -> Option<Sole> {
    let near = Near::of(points);
    // With fewer neighbours, points in rows would seem nearer to each other than they are.
    let spacing = |&at: &DVec3| near.nearest(at, NET + 1).last().map_or(0.0, |last| last.0.sqrt());
    let mut corners: Vec<Corner> = points.iter().map(|p| Corner { at: *p, spacing: spacing(p) }).collect();
    base::sort_by(&mut corners, |a, b| a.at.z.total_cmp(&b.at.z));
    let net = lowest(&corners)?;
    let groups = groups(&net);
    let places: Vec<Vec<DVec3>> = groups.iter().map(|group| group.iter().map(|corner| corner.at).collect()).collect();
    let kept = groups.into_iter().nth(own(&places)?)?;
    let mut spacings: Vec<f64> = kept.iter().map(|corner| corner.spacing).collect();
    base::sort_numbers(&mut spacings);
    let spacing = *spacings.get(spacings.len() / 2)?;
    let net = Net::bulk_load(kept).ok()?;
    let (faces, gaps) = skin_faces(&net, GAP_SQUARES * spacing * spacing);
    Some(Sole { skin: without_crumbs(facing_down(&net, &faces)?), gaps, spacing })
}

/// The net of those points that no lower ones cover. The lowest come first, so that what lies over a triangle is above
/// the skin.
fn lowest(corners: &[Corner]) -> Option<Net> {
    let mut net = Net::new();
    for &corner in corners {
        let (is_covered, hint) = match net.locate(corner.position()) {
            PositionInTriangulation::OnVertex(_) => continue,
            PositionInTriangulation::OnFace(face) => {
                let face = net.face(face);
                (covers(&face.vertices().map(|v| *v.data()), &corner), Some(face.vertices()[0].fix()))
            }
            PositionInTriangulation::OnEdge(edge) => {
                let edge = net.directed_edge(edge);
                (covers(&edge.vertices().map(|v| *v.data()), &corner), Some(edge.from().fix()))
            }
            PositionInTriangulation::OutsideOfConvexHull(edge) => (false, Some(net.directed_edge(edge).from().fix())),
            PositionInTriangulation::NoTriangulation => (false, None),
        };
        if !is_covered {
            match hint {
                Some(hint) => net.insert_with_hint(corner, hint).ok()?,
                None => net.insert(corner).ok()?,
            };
        }
    }
    Some(net)
}

fn is_joined(a: &Corner, b: &Corner) -> bool {
    let reach = JOINED * a.spacing.max(b.spacing);
    a.at.distance_squared(b.at) <= reach * reach
}

/// Whether some joined points have a point over them, in the middle or between.
fn covers(below: &[Corner], over: &Corner) -> bool {
    let pairs = || below.iter().enumerate().flat_map(|(k, a)| below[..k].iter().map(move |b| (a, b)));
    if !pairs().all(|(a, b)| is_joined(a, b)) {
        return false;
    }
    let longest = pairs().map(|(a, b)| a.at.truncate().distance(b.at.truncate())).fold(0.0, f64::max);
    over.at.z > height_under(below, over) + OVER_MM + OVER_SIDE * longest
}

/// Height at a place of the plan of the triangle or side it lies in.
fn height_under(below: &[Corner], over: &Corner) -> f64 {
    let at = over.at.truncate();
    let highest = below.iter().map(|corner| corner.at.z).fold(f64::NEG_INFINITY, f64::max);
    let height = match below {
        [a, b, c] => {
            let from = a.at.truncate();
            let (u, v, w) = (b.at.truncate() - from, c.at.truncate() - from, at - from);
            let area = u.perp_dot(v);
            a.at.z + (w.perp_dot(v) * (b.at.z - a.at.z) + u.perp_dot(w) * (c.at.z - a.at.z)) / area
        }
        [a, b] => {
            let (from, along) = (a.at.truncate(), (b.at - a.at).truncate());
            a.at.z + (at - from).dot(along) / along.length_squared() * (b.at.z - a.at.z)
        }
        _ => highest,
    };
    // A sliver has no height of its own.
    if height.is_finite() { height.min(highest) } else { highest }
}

/// The corners of the net in groups that hang together, the largest first.
fn groups(net: &Net) -> Vec<Vec<Corner>> {
    let mut is_open = vec![true; net.num_vertices()];
    let mut groups = Vec::new();
    for first in net.vertices() {
        if !std::mem::replace(&mut is_open[first.index()], false) {
            continue;
        }
        let mut group = vec![first];
        let mut next = 0;
        while let Some(vertex) = group.get(next).copied() {
            next += 1;
            for side in vertex.out_edges().map(|edge| edge.to()).filter(|to| is_joined(vertex.data(), to.data())) {
                if std::mem::replace(&mut is_open[side.index()], false) {
                    group.push(side);
                }
            }
        }
        groups.push(group.into_iter().map(|vertex| *vertex.data()).collect::<Vec<_>>());
    }
    base::sort_by_key(&mut groups, |group| std::cmp::Reverse(group.len()));
    groups
}

/// The faces between joined corners and those of gaps among them that are smaller than `gap_mm2`; and how many gaps.
fn skin_faces(net: &Net, gap_mm2: f64) -> (Vec<FixedFaceHandle<InnerTag>>, usize) {
    let mut faces = Vec::new();
    let mut is_open = vec![false; net.num_all_faces()];
    for face in net.inner_faces() {
        let [a, b, c] = face.vertices().map(|v| *v.data());
        if is_joined(&a, &b) && is_joined(&b, &c) && is_joined(&c, &a) {
            faces.push(face.fix());
        } else {
            is_open[face.index()] = true;
        }
    }
    let mut gaps = 0;
    for first in net.inner_faces() {
        if !std::mem::replace(&mut is_open[first.index()], false) {
            continue;
        }
        let (mut gap, mut next, mut is_enclosed, mut area) = (vec![first], 0, true, 0.0);
        while let Some(face) = gap.get(next).copied() {
            next += 1;
            area += face.area();
            for edge in face.adjacent_edges() {
                match edge.rev().face().as_inner() {
                    Some(side) if std::mem::replace(&mut is_open[side.index()], false) => gap.push(side),
                    Some(_) => {}
                    None => is_enclosed = false,
                }
            }
        }
        if is_enclosed && area < gap_mm2 {
            gaps += 1;
            faces.extend(gap.iter().map(|face| face.fix()));
        }
    }
    (faces, gaps)
}

/// The skin without its smallest pieces; a toe that was seen for itself stays.
fn without_crumbs(skin: TriMesh) -> TriMesh {
    let pieces = components(&skin);
    let whole: f64 = pieces.iter().map(|piece| piece.area_mm2).sum();
    if pieces.len() < 2 {
        return skin;
    }
    let large = pieces.iter().filter(|piece| piece.area_mm2 > CRUMB * whole);
    let mut kept: Vec<u32> = large.flat_map(|piece| piece.triangles.iter().copied()).collect();
    kept.sort_unstable();
    submesh(&skin, &kept)
}

/// The faces as triangles that face down, with the corners they use.
fn facing_down(net: &Net, faces: &[FixedFaceHandle<InnerTag>]) -> Option<TriMesh> {
    let mut number = vec![u32::MAX; net.num_vertices()];
    let mut positions = Vec::new();
    let mut triangles = Vec::with_capacity(faces.len());
    for &face in faces {
        // Faces of the net go round counter-clockwise as seen from above.
        let [a, b, c] = net.face(face).vertices().map(|vertex| {
            let number = &mut number[vertex.index()];
            if *number == u32::MAX {
                *number = positions.len() as u32;
                positions.push(vertex.data().at);
            }
            *number
        });
        triangles.push([a, c, b]);
    }
    TriMesh::new(positions, triangles).ok()
}
