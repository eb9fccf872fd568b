use crate::ends::{Front, rearmost};
use crate::view::{FROM_LATERAL, FROM_MEDIAL, FROM_MEDIAL_BELOW, View, WALL, edge_mm, parabola, part, walled};
use crate::{Foot, Landmark, LandmarkId, Landmarks, PRINT_HEIGHT_MM, SILHOUETTE_HEIGHT_MM};
use glam::{DMat3, DVec2, DVec3};
use mesh::TriMesh;
use mesh::ray::RayCaster;
use std::borrow::Cow;
use std::ops::Range;

/// Where along the foot the head of the first metatarsal bulges medially, shares of foot length. Ball length is
/// 0.741 ± 0.015 of foot length in men and 0.739 ± 0.013 in women (computed from the ANSUR II records): five standard
/// deviations and more to either side.
pub const FIRST_HEAD: Range<f64> = 0.64..0.80;

/// Where the head of the fifth metatarsal bulges laterally, shares of foot length; about 0.62, from memory.
pub const FIFTH_HEAD: Range<f64> = 0.53..0.72;

/// The heel's print ends at this share of foot length.
pub const HEEL_END: f64 = 0.30;

/// The arch apex lies between these shares of foot length.
pub const ARCH_SPAN: Range<f64> = 0.25..0.65;

/// The place where the skin has turned up by 45° is read off a parabola over so many samples to each side.
const EDGE_REACH: usize = 4;

/// The arch's apex is read off parabolas over at least so much of the medial edge to each side, mm …
const APEX_REACH_MM: f64 = 10.0;

/// … and so many triangles: over fewer, the noise of single vertices is left.
const APEX_TRIANGLES: f64 = 3.0;

/// Where the navicular tuberosity usually lies: shares of foot length along the axis and up. Common anatomy, no source.
const NAVICULAR: DVec2 = DVec2::new(0.385, 0.165);

/// Sample distance of side views, mm.
const STEP_MM: f64 = 1.0;

/// A bulge is sought on the mean of so many samples along the foot to each side.
const BULGE_REACH: usize = 4;

/// A bulge that stands out from both ends of its window by this much is certain, mm.
const CLEAR_BULGE_MM: f64 = 3.0;

/// Finds the landmarks of a foot from its shape.
///
/// - *Pternion, akropodion, second toe tip*: farthest points along the axis, of the heel, of all toes, of the second toe.
///   A toe's tip is the summit of the round cap that fits its skin: between coarse vertices it lies up to 0.7 mm in
///   front of the flat triangles.
/// - *Metatarsale tibiale, fibulare*: most medial point within [`FIRST_HEAD`], most lateral one within [`FIFTH_HEAD`];
///   where a toe reaches farther, the point of the head that stands out most.
/// - *Heel centre*: centroid of the print behind [`HEEL_END`], on the skin of the sole.
/// - *Arch apex*: the sole ends medially where its skin has turned up by 45°; the highest point of that line within
///   [`ARCH_SPAN`], smoothed along the foot.
/// - *Navicular*: the skin straight medial of where the tuberosity usually lies. An estimate: feel for it.
/// - *Instep*: highest point of the section at half the foot length.
/// - *Tips of the other toes, malleoli, metatarsal heads*: see [`seek_landmarks`](crate::seek_landmarks), which also
///   tells for every landmark why it is there.
///
/// Farthest points are those of the skin smoothed over 3 mm, so that no single vertex decides. One that cannot be found
/// is missing from the answer; doubtful ones have a low confidence.
#[must_use]
pub fn find_landmarks(foot: &Foot) -> Landmarks {
    let mut found = Landmarks::new();
    let length_mm = foot.silhouette.iter().map(|p| p.x).fold(0.0, f64::max);
    // A sole alone has its edge for an outline: what is found on walls drawn up from there has its height from it.
    let skin = match foot.has_dorsum {
        true => Cow::Borrowed(&foot.mesh),
        false => Cow::Owned(walled(&foot.mesh, DVec3::Z, DVec3::ZERO, WALL * length_mm)),
    };
    let mut put = |id: LandmarkId, at: Option<DVec3>, confidence: f64| {
        if let Some(at) = at.filter(|at| at.is_finite()) {
            let at = if foot.has_dorsum { at } else { at.with_z(snap(foot, at).z) };
            found.insert(id, Landmark { at, confidence, by_hand: false });
        }
    };
    put(LandmarkId::Pternion, rearmost(&skin, length_mm), 0.95);
    let front = Front::of(&skin, length_mm);
    if let Some(front) = &front {
        if let Some(tip) = front.farthest() {
            put(LandmarkId::Akropodion, Some(tip.at), tip.confidence);
        }
        if let Some(tip) = front.second_toe() {
            put(LandmarkId::SecondToeTip, Some(tip.at), tip.confidence);
        }
    }
    for (id, axes, window) in [
        (LandmarkId::MetatarsaleTibiale, FROM_MEDIAL, FIRST_HEAD),
        (LandmarkId::MetatarsaleFibulare, FROM_LATERAL, FIFTH_HEAD),
    ] {
        if let Some((at, confidence)) = bulge(&skin, axes, window.start * length_mm..window.end * length_mm) {
            put(id, Some(at), confidence);
        }
    }
    put(LandmarkId::HeelCentre, heel_centre(foot, length_mm), 0.9);
    put(LandmarkId::ArchApex, arch_apex(foot, length_mm), 0.7);
    put(LandmarkId::Navicular, navicular(foot, length_mm), 0.3);
    put(LandmarkId::Instep, instep(foot, length_mm / 2.0), 0.9);
    crate::landmarks::add(foot, length_mm, front.as_ref(), &mut found);
    found
}

/// The point of the foot's skin nearest to `p`, foot frame, mm; `p` itself if the foot has no skin.
#[must_use]
pub fn snap(foot: &Foot, p: DVec3) -> DVec3 {
    // A point being dragged moves over a small part of the skin: the tree is built for that part only.
    let mut reach = 10.0;
    while reach < 1e4 {
        let near = part(&foot.mesh, |q| q.distance_squared(p) < reach * reach);
        if let Some((at, _)) = RayCaster::new(near).nearest_point(p)
            && at.distance(p) < reach
        {
            return at;
        }
        reach *= 4.0;
    }
    p
}

/// The farthest point to one side within a window along the foot, and how clearly it stands out.
fn bulge(skin: &TriMesh, axes: DMat3, window_mm: Range<f64>) -> Option<(DVec3, f64)> {
    let side = part(skin, |p| p.z < SILHOUETTE_HEIGHT_MM && p.x > window_mm.start - 5.0 && p.x < window_mm.end + 5.0);
    let view = View::of(&side, axes, STEP_MM).smoothed(1);
    let border: Vec<DVec3> = view
        .profile_where(|p| p.z < SILHOUETTE_HEIGHT_MM)
        .into_iter()
        .flatten()
        .filter(|p| window_mm.contains(&p.x))
        .collect();
    // The border is nearly straight there: over a few millimetres noise, not shape, would decide which point is farthest.
    let out = |k: usize| {
        let around = &border[k.saturating_sub(BULGE_REACH)..(k + BULGE_REACH + 1).min(border.len())];
        around.iter().map(|p| axes.z_axis.dot(*p)).sum::<f64>() / around.len() as f64
    };
    let farthest = crate::landmarks::farthest_bulge(&(0..border.len()).map(out).collect::<Vec<f64>>())?;
    let stands_out = out(farthest) - out(0).max(out(border.len() - 1));
    Some((border[farthest], 0.4 + 0.5 * (stands_out / CLEAR_BULGE_MM).clamp(0.0, 1.0)))
}

/// Centroid of the heel's print, on the sole.
fn heel_centre(foot: &Foot, length_mm: f64) -> Option<DVec3> {
    let (mut sum, mut count) = (DVec2::ZERO, 0.0);
    for (k, &z) in foot.sole.values.iter().enumerate() {
        let p = foot.sole.at(k % foot.sole.columns, k / foot.sole.columns);
        if f64::from(z) < PRINT_HEIGHT_MM && p.x < HEEL_END * length_mm {
            sum += p;
            count += 1.0;
        }
    }
    let centre = sum / count;
    Some(centre.extend(foot.sole.sample(centre)?))
}

/// Highest point of the medial edge of the sole.
///
/// Seen along the direction half-way between medial and down, skin that has turned up by 45° is nearest to the eye: no
/// slopes need to be taken of a noisy skin.
fn arch_apex(foot: &Foot, length_mm: f64) -> Option<DVec3> {
    let span = ARCH_SPAN.start * length_mm..ARCH_SPAN.end * length_mm;
    let reach = EDGE_REACH as f64 * STEP_MM;
    let near = part(&foot.mesh, |p| {
        p.z < SILHOUETTE_HEIGHT_MM && p.x > span.start - 2.0 * reach && p.x < span.end + 2.0 * reach
    });
    let view = View::of(&near, FROM_MEDIAL_BELOW, STEP_MM).smoothed(1);
    let edge: Vec<DVec3> = (0..view.columns())
        .filter_map(|column| view.summit(column, EDGE_REACH, |p| p.z < SILHOUETTE_HEIGHT_MM))
        .collect();
    let inside = |p: &DVec3| span.contains(&p.x);
    let reach_mm = APEX_REACH_MM.max(APEX_TRIANGLES * edge_mm(&foot.mesh));
    let smooth: Vec<DVec3> = (0..edge.len())
        .map(|k| {
            let x = edge[k].x;
            let around: Vec<DVec3> = edge.iter().copied().filter(|p| (p.x - x).abs() <= reach_mm).collect();
            let at = |of: fn(&DVec3) -> f64| parabola(around.iter().map(|p| (p.x - x, of(p))))[0];
            DVec3::new(x, at(|p| p.y), at(|p| p.z))
        })
        .filter(inside)
        .collect();
    smooth.into_iter().max_by(|a, b| a.z.total_cmp(&b.z))
}

/// The skin straight medial of where the navicular tuberosity usually lies.
fn navicular(foot: &Foot, length_mm: f64) -> Option<DVec3> {
    let at = NAVICULAR * length_mm;
    let near = part(&foot.mesh, |p| (p.x - at.x).abs() < 6.0 && (p.z - at.y).abs() < 6.0);
    let distance = |p: &DVec3| (p.x - at.x).abs().max((p.z - at.y).abs());
    View::of(&near, FROM_MEDIAL, STEP_MM)
        .smoothed(1)
        .every(1)
        .into_iter()
        .min_by(|a, b| distance(a).total_cmp(&distance(b)))
        .filter(|p| distance(p) < 2.0 * STEP_MM)
}

/// The highest skin over a place along the foot.
fn instep(foot: &Foot, x_mm: f64) -> Option<DVec3> {
    let dorsum = crate::view::smoothed(&foot.dorsum, 1);
    (0..dorsum.rows)
        .filter_map(|row| {
            let p = DVec2::new(x_mm, dorsum.at(0, row).y);
            Some(p.extend(dorsum.sample(p)?))
        })
        .max_by(|a, b| a.z.total_cmp(&b.z))
}
