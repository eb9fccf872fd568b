//! What there is to find on a phantom, read off its function of space: the truth a finder or a measure is held against.

use super::Phantom;
use super::skin::{InsideOut, Skin, farthest, first_hit, highest_summit, normal, summit};
use crate::{LandmarkId, PRINT_HEIGHT_MM, SILHOUETTE_HEIGHT_MM};
use glam::{DVec2, DVec3, dvec2, dvec3};
use serde::Serialize;
use std::collections::BTreeMap;

/// Landmarks and measures of a phantom, foot frame, mm. Each is exact to 0.01 mm for the phantom's skin by the
/// definition given with it; landmarks lie on the skin.
///
/// Definitions of the landmarks:
/// - *pternion, akropodion, tips of the toes*: rearmost point of the heel, most forward point of all toes and of each
///   toe along the foot axis;
/// - *metatarsale tibiale, fibulare*: most medial point on the rise over the first metatarsal head, most lateral one
///   over the fifth;
/// - *heel centre*: centroid of the heel's print (the foot's section [`PRINT_HEIGHT_MM`] over the support plane, behind
///   [`HEEL_SHARE`] of foot length), on the skin of the sole over that place;
/// - *arch apex*: the sole ends medially where its skin has turned up by 45°; the highest point of that line between
///   [`ARCH_SPAN`] of foot length;
/// - *navicular*: the skin straight medial of the tuberosity's centre;
/// - *instep*: highest point of the section at half the foot length;
/// - *malleoli*: most medial and most lateral skin at the height of each one's centre, as in the ankle's breadth: the
///   skin under the medial one is nearly upright, so that its farthest point may lie anywhere there;
/// - *metatarsal heads*: the skin of the sole straight under each head's centre.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Truth {
    /// All landmarks.
    pub landmarks: BTreeMap<LandmarkId, DVec3>,
    /// Pternion to akropodion along x.
    pub foot_length_mm: f64,
    /// Most medial to most lateral skin of ball and toes, along y.
    pub foot_breadth_mm: f64,
    /// Breadth along y of the broadest section of the heel, behind [`HEEL_BREADTH_SHARE`] of foot length and below
    /// [`SILHOUETTE_HEIGHT_MM`].
    pub heel_breadth_mm: f64,
    /// Length of a tape (the convex hull) round the upright section through metatarsale tibiale and fibulare.
    pub ball_girth_mm: f64,
    /// Height of the arch apex.
    pub arch_apex_height_mm: f64,
    /// Height of the instep.
    pub instep_height_mm: f64,
    /// Breadth over both malleoli along y, each at its centre's height.
    pub ankle_breadth_mm: f64,
    /// Breadth of the print where it is narrowest between [`MIDFOOT_SPAN`] of foot length, from its lateral border.
    pub midfoot_width_mm: f64,
    /// Middle third of the toeless print over the whole toeless print (Cavanagh and Rodgers 1987, J Biomech 20:547),
    /// print as in *heel centre*.
    pub arch_index: f64,
}

/// The heel's print ends at this share of foot length.
pub const HEEL_SHARE: f64 = 0.30;
/// The heel's breadth is sought behind this share of foot length.
pub const HEEL_BREADTH_SHARE: f64 = 0.20;
/// The arch's apex lies between these shares of foot length.
pub const ARCH_SPAN: [f64; 2] = [0.25, 0.65];
/// The midfoot is narrowest between these shares of foot length.
pub const MIDFOOT_SPAN: [f64; 2] = [0.34, 0.62];

/// The measures that building a phantom must meet, and the landmarks that come with them.
#[derive(Clone, Copy, Debug)]
pub(super) struct Asked {
    pub(super) tips: [DVec3; 5],
    pub(super) tibiale: DVec3,
    pub(super) fibulare: DVec3,
    pub(super) foot_length_mm: f64,
    pub(super) foot_breadth_mm: f64,
    pub(super) heel_breadth_mm: f64,
    pub(super) instep: DVec3,
    pub(super) arch_apex: DVec3,
    pub(super) ankle_breadth_mm: f64,
    pub(super) midfoot_width_mm: f64,
}

/// Held in a level section.
const LEVEL: DVec3 = dvec3(1.0, 1.0, 0.0);
/// Held in a section across the foot.
const ACROSS: DVec3 = dvec3(0.0, 1.0, 1.0);

/// Measures a phantom whose frame is found.
pub(super) fn asked(phantom: &Phantom) -> Asked {
    let places = phantom.places();
    let free = DVec3::ONE;
    let tips = places.toe_tips.map(|tip| farthest(phantom, tip, DVec3::X, free));
    let foot_length_mm = tips.iter().fold(0.0_f64, |reach, tip| reach.max(tip.x));
    let tibiale = farthest(phantom, places.mt1_medial, DVec3::Y, free);
    let fibulare = farthest(phantom, places.mt5_lateral, DVec3::NEG_Y, free);
    let hallux = farthest(phantom, places.toe_tips[0] + dvec3(-12.0, 10.0, 0.0), DVec3::Y, free);
    let fifth = farthest(phantom, places.toe_tips[4] + dvec3(-10.0, -6.0, 0.0), DVec3::NEG_Y, free);
    let medial = farthest(phantom, places.malleolus_medial, DVec3::Y, LEVEL);
    let lateral = farthest(phantom, places.malleolus_lateral, DVec3::NEG_Y, LEVEL);
    let heel = |x: f64| {
        let medial = farthest(phantom, dvec3(x, places.heel_medial.y, places.heel_medial.z), DVec3::Y, ACROSS);
        let lateral = farthest(phantom, dvec3(x, places.heel_lateral.y, places.heel_lateral.z), DVec3::NEG_Y, ACROSS);
        if medial.z.max(lateral.z) > SILHOUETTE_HEIGHT_MM { 0.0 } else { medial.y - lateral.y }
    };
    let at = summit(0.10 * foot_length_mm, HEEL_BREADTH_SHARE * foot_length_mm, 0.1, &heel);
    Asked {
        tips,
        tibiale,
        fibulare,
        foot_length_mm,
        foot_breadth_mm: tibiale.y.max(hallux.y) - fibulare.y.min(fifth.y),
        heel_breadth_mm: heel(at).max(heel(HEEL_BREADTH_SHARE * foot_length_mm)),
        instep: instep(phantom, foot_length_mm / 2.0),
        arch_apex: arch_apex(phantom, foot_length_mm, places.medial_column),
        ankle_breadth_mm: medial.y - lateral.y,
        midfoot_width_mm: midfoot_width(phantom, foot_length_mm),
    }
}

/// Breadth of the print's lateral part where that is narrowest between [`MIDFOOT_SPAN`] of foot length, mm.
fn midfoot_width(phantom: &Phantom, foot_length_mm: f64) -> f64 {
    let width = |x: f64| {
        let beside = dvec3(x, -0.35 * foot_length_mm, PRINT_HEIGHT_MM);
        let Some(border) = first_hit(phantom, beside, DVec3::Y, 0.6 * foot_length_mm) else { return 0.0 };
        let inside = border + dvec3(0.0, 0.5, 0.0);
        first_hit(&InsideOut(phantom), inside, DVec3::Y, foot_length_mm).map_or(0.0, |edge| edge.y - border.y)
    };
    let [from, to] = MIDFOOT_SPAN.map(|share| share * foot_length_mm);
    width(highest_summit(from, to, 5.0, 0.05, &|x| -width(x)))
}

/// Everything there is to know, given what was measured while building.
pub(super) fn truth(phantom: &Phantom, asked: &Asked) -> Truth {
    let places = phantom.places();
    let pternion = farthest(phantom, places.heel_back, DVec3::NEG_X, DVec3::ONE);
    let print = print(phantom, asked.foot_length_mm);
    let heel_centre = first_hit(phantom, print.heel_centre.extend(-5.0), DVec3::Z, 60.0);
    let akropodion = asked.tips.iter().fold(asked.tips[0], |far, &tip| if tip.x > far.x { tip } else { far });
    let outside = dvec3(0.0, 80.0, 0.0);
    let navicular = first_hit(phantom, places.navicular + outside, DVec3::NEG_Y, 80.0);
    let mut landmarks = BTreeMap::from([
        (LandmarkId::Pternion, pternion),
        (LandmarkId::Akropodion, akropodion),
        (LandmarkId::MetatarsaleTibiale, asked.tibiale),
        (LandmarkId::MetatarsaleFibulare, asked.fibulare),
        (LandmarkId::ArchApex, asked.arch_apex),
        (LandmarkId::Instep, asked.instep),
    ]);
    landmarks.extend(LandmarkId::TOE_TIPS.into_iter().zip(asked.tips));
    let malleoli = [
        (LandmarkId::MalleolusMedialis, places.malleolus_medial, DVec3::Y),
        (LandmarkId::MalleolusLateralis, places.malleolus_lateral, DVec3::NEG_Y),
    ];
    landmarks.extend(malleoli.map(|(id, place, out)| (id, farthest(phantom, place, out, LEVEL))));
    let under = |head: DVec3| first_hit(phantom, head.with_z(-5.0), DVec3::Z, 60.0);
    landmarks.extend(
        LandmarkId::METATARSAL_HEADS.into_iter().zip(places.heads).filter_map(|(id, head)| Some((id, under(head)?))),
    );
    landmarks.extend(heel_centre.map(|p| (LandmarkId::HeelCentre, p)));
    landmarks.extend(navicular.map(|p| (LandmarkId::Navicular, p)));
    Truth {
        landmarks,
        foot_length_mm: asked.foot_length_mm,
        foot_breadth_mm: asked.foot_breadth_mm,
        heel_breadth_mm: asked.heel_breadth_mm,
        ball_girth_mm: tape(phantom, asked.tibiale, asked.fibulare),
        arch_apex_height_mm: asked.arch_apex.z,
        instep_height_mm: asked.instep.z,
        ankle_breadth_mm: asked.ankle_breadth_mm,
        midfoot_width_mm: asked.midfoot_width_mm,
        arch_index: print.arch_index,
    }
}

/// Highest skin of the section at `x`.
fn instep(skin: &dyn Skin, x: f64) -> DVec3 {
    const ABOVE_MM: f64 = 160.0;
    let top = |y: f64| first_hit(skin, dvec3(x, y, ABOVE_MM), DVec3::NEG_Z, ABOVE_MM).unwrap_or(dvec3(x, y, 0.0));
    let y = highest_summit(-25.0, 35.0, 3.0, 1e-4, &|y| top(y).z);
    top(y)
}

/// Highest point of the line along which the skin of the sole has turned up by 45° on the medial side.
fn arch_apex(skin: &dyn Skin, foot_length_mm: f64, column: DVec3) -> DVec3 {
    const TURNED: f64 = -core::f64::consts::FRAC_1_SQRT_2;
    const FROM_MM: f64 = 90.0;
    // The section's skin is met by rays towards the medial column: from straight medial (0) to straight below (1).
    let ray = |x: f64, share: f64| {
        let angle = share * core::f64::consts::FRAC_PI_2;
        let out = dvec3(0.0, libm::cos(angle), -libm::sin(angle));
        let hub = dvec3(x, column.y, column.z);
        first_hit(skin, hub + FROM_MM * out, -out, FROM_MM).unwrap_or(hub)
    };
    // From the medial side downwards, the first place that faces down enough.
    let edge = |x: f64| {
        let is_sole = |share: f64| normal(skin, ray(x, share)).z <= TURNED;
        const LOOKS: usize = 12;
        let first = (1..LOOKS).find(|&i| is_sole(i as f64 / LOOKS as f64)).unwrap_or(LOOKS);
        let (mut side, mut under) = ((first - 1) as f64 / LOOKS as f64, first as f64 / LOOKS as f64);
        for _ in 0..17 {
            let mid = (side + under) / 2.0;
            if is_sole(mid) { under = mid } else { side = mid }
        }
        ray(x, under)
    };
    let [from, to] = ARCH_SPAN.map(|share| share * foot_length_mm);
    edge(highest_summit(from, to, 12.0, 5e-3, &|x| edge(x).z))
}

struct Print {
    heel_centre: DVec2,
    arch_index: f64,
}

/// The section of the foot [`PRINT_HEIGHT_MM`] over the support plane, in cells of 1 mm.
fn print(phantom: &Phantom, foot_length_mm: f64) -> Print {
    const CELL_MM: f64 = 1.0;
    let columns = foot_length_mm.ceil() as usize + 2;
    let mut toeless = vec![0.0; columns];
    let (mut heel_area, mut heel_moment) = (0.0, DVec2::ZERO);
    let half_breadth = foot_length_mm * 0.35;
    for (column, area) in toeless.iter_mut().enumerate() {
        let x = column as f64 * CELL_MM - CELL_MM / 2.0;
        let rows = (2.0 * half_breadth / CELL_MM) as usize;
        let mut row = 0;
        while row < rows {
            let y = row as f64 * CELL_MM - half_breadth;
            let p = dvec3(x, y, PRINT_HEIGHT_MM);
            let d = phantom.distance(p);
            row += 1;
            if d > 2.0 * CELL_MM {
                // Nothing nearer than this along the row either.
                row += (0.8 * d / CELL_MM) as usize - 1;
                continue;
            }
            // The part of the cell that the skin leaves inside, taking it as straight through the cell.
            let inside = (0.5 - d / CELL_MM).clamp(0.0, 1.0);
            if inside <= 0.0 || phantom.is_toe(p) {
                continue;
            }
            *area += inside;
            if x < HEEL_SHARE * foot_length_mm {
                heel_area += inside;
                heel_moment += inside * dvec2(x, y);
            }
        }
    }
    let first = toeless.iter().position(|&a| a > 0.0).unwrap_or(0);
    let last = toeless.iter().rposition(|&a| a > 0.0).unwrap_or(0);
    let span = (last + 1 - first) as f64;
    // A third may end within a column: it gets that share of it.
    let until = |end: f64| -> f64 {
        toeless[first..=last].iter().enumerate().map(|(i, a)| a * (end - i as f64).clamp(0.0, 1.0)).sum()
    };
    let middle = until(span * 2.0 / 3.0) - until(span / 3.0);
    Print { heel_centre: heel_moment / heel_area.max(1e-9), arch_index: middle / until(span).max(1e-9) }
}

/// Length of the convex hull of the upright section through `a` and `b`.
fn tape(skin: &dyn Skin, a: DVec3, b: DVec3) -> f64 {
    const RAYS: usize = 720;
    const FROM_MM: f64 = 120.0;
    let across = ((a - b) * dvec3(1.0, 1.0, 0.0)).normalize_or_zero();
    let hub = (a + b) / 2.0;
    let mut points: Vec<DVec2> = (0..RAYS)
        .filter_map(|i| {
            let angle = core::f64::consts::TAU * i as f64 / RAYS as f64;
            let out = across * libm::cos(angle) + DVec3::Z * libm::sin(angle);
            let hit = first_hit(skin, hub + FROM_MM * out, -out, FROM_MM)?;
            Some(dvec2((hit - hub).dot(across), hit.z))
        })
        .collect();
    points.push(dvec2((a - hub).dot(across), a.z));
    points.push(dvec2((b - hub).dot(across), b.z));
    points.sort_by(|p, q| p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y)));
    let chain = |points: &mut dyn Iterator<Item = DVec2>| {
        let mut hull: Vec<DVec2> = Vec::new();
        for p in points {
            while let [.., u, v] = hull[..]
                && (v - u).perp_dot(p - v) <= 0.0
            {
                hull.pop();
            }
            hull.push(p);
        }
        hull.windows(2).map(|pair| pair[0].distance(pair[1])).sum::<f64>()
    };
    chain(&mut points.iter().copied()) + chain(&mut points.iter().rev().copied())
}
