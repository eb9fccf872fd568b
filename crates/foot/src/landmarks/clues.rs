//! What to tell and draw about a landmark: where it was looked for and why it is there, or why it was not found.

use super::{malleoli, toes};
use crate::ends::UNSURE_MM;
use crate::{ARCH_SPAN, Clue, FIFTH_HEAD, FIRST_HEAD, Foot, HEEL_END, Landmark, LandmarkId, Landmarks};
use glam::{DVec2, DVec3};
use mesh::{Plane, section};
use std::collections::BTreeMap;
use std::ops::Range;

/// The hallux is said to reach farther medially than the first metatarsal head from this much on, mm.
const FARTHER_MM: f64 = 0.5;

/// Half the length of a line drawn through a point to show a tangent, mm.
const TANGENT_MM: f64 = 15.0;

/// The clue for every landmark.
pub(super) fn of_all(foot: &Foot, landmarks: &Landmarks) -> BTreeMap<LandmarkId, Clue> {
    let length_mm = foot.silhouette.iter().map(|p| p.x).fold(0.0, f64::max);
    let toes = toes::outline(foot, length_mm);
    LandmarkId::ALL.into_iter().map(|id| (id, clue(foot, landmarks, id, length_mm, &toes))).collect()
}

/// The clue for one, given the outline of the toes.
fn clue(foot: &Foot, landmarks: &Landmarks, id: LandmarkId, length_mm: f64, toes: &[DVec3]) -> Clue {
    let found = landmarks.get(&id);
    let mut clue = match found {
        Some(landmark) => here(foot, landmarks, id, landmark, length_mm),
        None => Clue { text: missing(foot, id, length_mm), lines: Vec::new() },
    };
    if found.is_some_and(|landmark| landmark.by_hand) {
        clue.text = format!("Placed by hand. By itself it is looked for so: {}", clue.text);
    }
    clue.lines.extend(window(foot, landmarks, id, length_mm, toes));
    clue.lines.retain(|line| line.len() > 1 && line.iter().all(|p| p.is_finite()));
    clue
}

/// Why it is where it is.
fn here(foot: &Foot, landmarks: &Landmarks, id: LandmarkId, landmark: &Landmark, length_mm: f64) -> Clue {
    let at = landmark.at;
    let across = vec![at - TANGENT_MM * DVec3::Y, at + TANGENT_MM * DVec3::Y];
    let along = vec![at - TANGENT_MM * DVec3::X, at + TANGENT_MM * DVec3::X];
    let (text, line) = match id {
        LandmarkId::Pternion => {
            (format!("The rearmost skin of the heel, {:.0} mm over the support plane.", at.z), across)
        }
        LandmarkId::Akropodion => {
            (akropodion(landmarks, at), across)
        }
        LandmarkId::HeelCentre => (
            format!(
                "The middle of the heel's print: skin within {} mm of the support plane, up to {:.0} mm from the heel.",
                crate::PRINT_HEIGHT_MM,
                HEEL_END * length_mm
            ),
            across,
        ),
        LandmarkId::ArchApex => (
            format!(
                "The highest point, {:.1} mm up, of the sole's medial edge, where its skin has turned up by 45°, {} from \
                 the heel.",
                at.z,
                span(ARCH_SPAN, length_mm)
            ),
            along,
        ),
        LandmarkId::Navicular => (
            "The tuberosity cannot be seen: this is the medial skin where it usually lies. Feel for it and move the point."
                .to_owned(),
            vec![at.with_z(0.0), at],
        ),
        LandmarkId::Instep => (
            format!("The highest skin, {:.1} mm up, of the section at half the foot length.", at.z),
            cross_section(foot, at.x),
        ),
        LandmarkId::MetatarsaleTibiale => (tibiale(foot, at, length_mm), along),
        LandmarkId::MetatarsaleFibulare => (
            format!("The most lateral skin over the fifth metatarsal head, {} from the heel.", span(FIFTH_HEAD, length_mm)),
            along,
        ),
        LandmarkId::MalleolusMedialis | LandmarkId::MalleolusLateralis => {
            let side = if id == LandmarkId::MalleolusMedialis { "medial" } else { "lateral" };
            let up = format!("{:.0} mm over the support plane", at.z);
            let text = if landmark.confidence > malleoli::SHOULDER + 0.1 {
                format!("The most {side} point of the ankle's bulge, {up}.")
            } else {
                format!("The malleolus hardly bulges: the {side} shoulder above which the leg gets slender, {up}. Check it.")
            };
            (text, malleoli::profile(foot, length_mm, id))
        }
        LandmarkId::MetatarsalHead1
        | LandmarkId::MetatarsalHead2
        | LandmarkId::MetatarsalHead3
        | LandmarkId::MetatarsalHead4
        | LandmarkId::MetatarsalHead5 => (
            "An estimate on the sole: heads lie at usual shares of the line from metatarsale tibiale to fibulare and in \
             front of it. Feel for it and move the point."
                .to_owned(),
            LandmarkId::METATARSAL_HEADS.iter().filter_map(|head| landmarks.get(head)).map(|head| head.at).collect(),
        ),
        LandmarkId::HalluxTip
        | LandmarkId::SecondToeTip
        | LandmarkId::ThirdToeTip
        | LandmarkId::FourthToeTip
        | LandmarkId::FifthToeTip => {
            let stands_out = landmark.confidence > toes::NOT_SEEN + 0.15;
            let text = if stands_out {
                format!("Where the outline of the toes reaches farthest forward on this toe, {:.1} mm along the axis.", at.x)
            } else {
                "This toe does not stand out from its neighbours: the outline of the toes where its tip usually lies. \
                 Check it."
                    .to_owned()
            };
            (text, across)
        }
    };
    Clue { text, lines: vec![line] }
}

/// Which toe it is the tip of, and the special case of two that are about equally long.
fn akropodion(landmarks: &Landmarks, at: DVec3) -> String {
    let text = format!("The most forward skin of all toes, {:.1} mm in front of the support plane's origin.", at.x);
    let tips = LandmarkId::TOE_TIPS.iter().zip(TOES).filter_map(|(id, toe)| Some((toe, landmarks.get(id)?)));
    let mut tips: Vec<(&str, f64)> =
        tips.filter(|(_, tip)| tip.confidence > toes::NOT_SEEN + 0.15).map(|(toe, tip)| (toe, tip.at.x)).collect();
    base::sort_by(&mut tips, |a, b| b.1.total_cmp(&a.1));
    match tips[..] {
        [(longest, front), (next, behind), ..] if front - behind < UNSURE_MM => format!(
            "{text} The {longest} and the {next} differ by only {:.1} mm: less than {UNSURE_MM} mm cannot be told for sure. \
             Check which of them is longer.",
            front - behind
        ),
        [(longest, _), ..] => format!("{text} It is the tip of the {longest}."),
        [] => text,
    }
}

/// The toes in words, hallux first.
const TOES: [&str; 5] = ["hallux", "second toe", "third toe", "fourth toe", "fifth toe"];

/// The special case of a hallux that reaches farther medially than the metatarsal head.
fn tibiale(foot: &Foot, at: DVec3, length_mm: f64) -> String {
    let text =
        format!("The most medial skin over the first metatarsal head, {} from the heel.", span(FIRST_HEAD, length_mm));
    let in_front = foot.silhouette.iter().filter(|p| p.x > FIRST_HEAD.end * length_mm);
    let farther = in_front.map(|p| p.y - at.y).fold(0.0, f64::max);
    if farther < FARTHER_MM {
        return text;
    }
    format!("{text} The hallux reaches {farther:.1} mm further medially, but the point belongs on the metatarsal head.")
}

/// Why it was not found.
fn missing(foot: &Foot, id: LandmarkId, length_mm: f64) -> String {
    let top_mm = foot.mesh.bounds().map_or(0.0, |(_, hi)| hi.z);
    match id {
        LandmarkId::Instep | LandmarkId::MalleolusMedialis | LandmarkId::MalleolusLateralis if !foot.has_dorsum => {
            "Not found: there is no dorsum in this scan, only the sole.".to_owned()
        }
        LandmarkId::MalleolusMedialis | LandmarkId::MalleolusLateralis if top_mm < malleoli::LEAST_TOP * length_mm => {
            format!("Not found: the leg was cut {top_mm:.0} mm over the support plane, below the ankle.")
        }
        LandmarkId::MalleolusMedialis | LandmarkId::MalleolusLateralis => format!(
            "Not found: nothing bulges on this side of the ankle from {:.0} mm up to {:.0} mm, where the scan ends.",
            malleoli::HEIGHTS.start * length_mm,
            top_mm.min(malleoli::HEIGHTS.end * length_mm)
        ),
        LandmarkId::MetatarsalHead1
        | LandmarkId::MetatarsalHead2
        | LandmarkId::MetatarsalHead3
        | LandmarkId::MetatarsalHead4
        | LandmarkId::MetatarsalHead5 => {
            "Not found: it is estimated from metatarsale tibiale and fibulare on the skin of the sole; place both."
                .to_owned()
        }
        LandmarkId::HalluxTip | LandmarkId::ThirdToeTip | LandmarkId::FourthToeTip | LandmarkId::FifthToeTip => {
            "Not found: no skin lies where this toe's tip usually is, beside the second toe.".to_owned()
        }
        LandmarkId::HeelCentre => {
            format!("Not found: no skin of the heel lies within {} mm of the support plane.", crate::PRINT_HEIGHT_MM)
        }
        _ => "Not found: the scan has no skin where it is looked for.".to_owned(),
    }
}

/// The window that was searched.
fn window(foot: &Foot, landmarks: &Landmarks, id: LandmarkId, length_mm: f64, toes: &[DVec3]) -> Vec<Vec<DVec3>> {
    let marks = |shares: Range<f64>, is_side: &dyn Fn(f64) -> bool| {
        [shares.start, shares.end].iter().filter_map(|share| to_border(foot, share * length_mm, is_side)).collect()
    };
    match id {
        LandmarkId::MetatarsaleTibiale => marks(FIRST_HEAD, &|y| y > 0.0),
        LandmarkId::MetatarsaleFibulare => marks(FIFTH_HEAD, &|y| y < 0.0),
        LandmarkId::ArchApex => marks(ARCH_SPAN, &|y| y > 0.0),
        LandmarkId::HeelCentre => {
            let is_heel = |p: &&DVec2| p.x < HEEL_END * length_mm;
            let part = |ring: &Vec<DVec2>| ring.iter().filter(is_heel).map(|p| p.extend(0.0)).collect();
            foot.print.iter().map(part).collect()
        }
        LandmarkId::HalluxTip
        | LandmarkId::SecondToeTip
        | LandmarkId::ThirdToeTip
        | LandmarkId::FourthToeTip
        | LandmarkId::FifthToeTip
        | LandmarkId::Akropodion => vec![toes.to_vec()],
        _ if LandmarkId::METATARSAL_HEADS.contains(&id) => {
            let ball = [LandmarkId::MetatarsaleTibiale, LandmarkId::MetatarsaleFibulare];
            vec![ball.iter().filter_map(|id| landmarks.get(id)).map(|landmark| landmark.at).collect()]
        }
        _ => Vec::new(),
    }
}

/// `72 to 96 mm`.
fn span(shares: Range<f64>, length_mm: f64) -> String {
    format!("looked for {:.0} to {:.0} mm", shares.start * length_mm, shares.end * length_mm)
}

/// A line across the support plane from the axis to the outline's border on one side.
fn to_border(foot: &Foot, x_mm: f64, is_side: &dyn Fn(f64) -> bool) -> Option<Vec<DVec3>> {
    let side = foot.silhouette.iter().filter(|p| is_side(p.y));
    let border = side.min_by(|a, b| (a.x - x_mm).abs().total_cmp(&(b.x - x_mm).abs()))?;
    Some(vec![DVec3::new(x_mm, 0.0, 0.0), DVec3::new(x_mm, border.y, 0.0)])
}

/// The longest line of the section at a place along the foot.
fn cross_section(foot: &Foot, x_mm: f64) -> Vec<DVec3> {
    let lines = section(&foot.mesh, &Plane::at_x(x_mm)).into_iter().map(|line| line.points);
    lines.max_by_key(Vec::len).unwrap_or_default()
}
