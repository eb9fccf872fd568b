use super::bodies;
use super::likeness::{self, Guess, Likeness};
use super::resting::{self, Support};
use super::sample::{self, Sample};
use crate::IntakeError;
use glam::DVec3;
use mesh::decimate::by_clusters;
use mesh::{Component, TriMesh, components, submesh};

/// The foot in a scan, and roughly how it lies.
pub(super) struct Found {
    /// The foot's own piece of the scan.
    pub(super) skin: TriMesh,
    /// Samples of its skin.
    pub(super) samples: Vec<Sample>,
    /// How it lies.
    pub(super) guess: Guess,
    /// Middle of the skin's weight without the leg.
    pub(super) centre: DVec3,
    /// How many triangles of the scan it is made of.
    pub(super) triangles: usize,
}

/// A scan of more triangles than this is thinned before its exact pose is sought.
const MANY: usize = 150_000;

/// Size of the cells that are merged into one vertex then, as a share of the foot length: about a millimetre.
const CELL: f64 = 1.0 / 250.0;

/// Samples of the skin that the search works on: about one in 5 mm² of a foot.
pub(super) const SAMPLES: usize = 16_384;

/// Every so manieth sample is used where only the hull counts.
pub(super) const HULL_STRIDE: usize = 4;

/// Rays through the hull in the search for planes to stand on.
const RAYS: usize = 400;

/// Planes closer than this are one, cosine of 6°.
const SAME_PLANE: f64 = 0.9945;

/// Planes that are looked at.
const PLANES: usize = 30;

/// Height above a plane from which skin is left out of the weight, so that a long leg cannot tip the foot over, as a
/// share of the square root of the skin's area (about 0.3 of the foot length).
const LEG_FROM: f64 = 0.25;

/// A foot that has not come to rest by then keeps the plane it has.
const MOST_ROLLS: usize = 12;

/// A piece of less than this share of the largest one's area is no foot beside it.
pub(super) const LEAST_PIECE: f64 = 0.15;

/// Most pieces that are looked at.
const MOST_PIECES: usize = 6;

/// Two pieces are two feet if the smaller has at least this share of the area of the larger, and both look like feet.
const TWIN: f64 = 0.4;

/// Likeness below which a shape is refused.
pub(super) const LEAST_QUALITY: f64 = 0.4;

/// Share of the slices along a shape in two parts from which it is a body. A foot's toes take up less.
const SPLIT: f64 = 0.3;

/// Finds the foot among the pieces of a scan, or both where there are two.
///
/// # Errors
/// If no piece is like a foot.
pub(super) fn feet_in(name: &str, mesh: &TriMesh) -> Result<Vec<Found>, IntakeError> {
    let pieces = components(mesh);
    let largest = pieces.first().map_or(0.0, |piece| piece.area_mm2);
    let mut looked_at: Vec<(&Component, Candidate)> = pieces
        .iter()
        .take(MOST_PIECES)
        .filter(|piece| piece.area_mm2 > LEAST_PIECE * largest)
        .filter_map(|piece| Some((piece, Candidate::of(mesh, piece)?)))
        .collect();
    looked_at.sort_by(|a, b| b.1.likeness.score().total_cmp(&a.1.likeness.score()));
    let nothing = || IntakeError::NotAFoot { file: name.to_owned(), reason: "nothing to stand on".to_owned() };
    let (_, best) = looked_at.first().ok_or_else(nothing)?;
    if best.likeness.quality < LEAST_QUALITY {
        return Err(refusal(name, best));
    }
    let is_foot = |(_, candidate): &(&Component, Candidate)| candidate.likeness.quality >= LEAST_QUALITY;
    let mut feet = looked_at.into_iter().filter(is_foot).take(2);
    let first = feet.next().ok_or_else(nothing)?;
    let second = feet.next().filter(|second| {
        let ratio = first.0.area_mm2 / second.0.area_mm2;
        ratio > TWIN && ratio < 1.0 / TWIN
    });
    let is_only = pieces.len() == 1;
    Ok(std::iter::once(first).chain(second).map(|(piece, candidate)| found(mesh, piece, is_only, candidate)).collect())
}

pub(super) fn found(mesh: &TriMesh, piece: &Component, is_only: bool, candidate: Candidate) -> Found {
    let low: Vec<DVec3> =
        candidate.samples.iter().map(|s| s.at).filter(|&p| candidate.guess.local(p).z < likeness::TALL).collect();
    let centre = low.iter().sum::<DVec3>() / low.len().max(1) as f64;
    let skin = if is_only { mesh.clone() } else { submesh(mesh, &piece.triangles) };
    // The exact pose needs no more than a vertex a millimetre, and noise is less in means of many.
    let skin = if skin.triangles().len() > MANY { by_clusters(&skin, candidate.guess.length * CELL) } else { skin };
    Found { skin, samples: candidate.samples, guess: candidate.guess, centre, triangles: piece.triangles.len() }
}

/// Why a shape is no foot.
fn refusal(name: &str, candidate: &Candidate) -> IntakeError {
    let file = name.to_owned();
    let split = bodies::share_of_split_slices(&candidate.samples);
    if split >= SPLIT {
        let reason = format!("{:.0} % of its length is in two or more parts", 100.0 * split);
        return IntakeError::WholeBody { file, reason };
    }
    let Likeness { without_bearing, worst, .. } = candidate.likeness;
    let reason = format!("{} is {:.2}, feet have about {:.2}", worst.name, worst.value, worst.usual.0);
    if without_bearing >= LEAST_QUALITY {
        return IntakeError::SoleMissing { file, reason };
    }
    IntakeError::NotAFoot { file, reason }
}

/// One piece of a scan in its best pose.
pub(super) struct Candidate {
    pub(super) samples: Vec<Sample>,
    pub(super) guess: Guess,
    pub(super) likeness: Likeness,
}

impl Candidate {
    fn of(mesh: &TriMesh, piece: &Component) -> Option<Candidate> {
        let (samples, sample_area) = sample::spread(mesh, &piece.triangles, SAMPLES);
        Candidate::of_samples(samples, sample_area)
    }

    pub(super) fn of_samples(samples: Vec<Sample>, sample_area: f64) -> Option<Candidate> {
        let size = (sample_area * samples.len() as f64).sqrt();
        let mut best: Option<(Guess, Likeness)> = None;
        for support in standing_planes(&samples, size) {
            for guess in likeness::guesses(&samples, &support, size).into_iter().flatten() {
                let likeness = likeness::likeness(&samples, sample_area, &guess);
                if best.as_ref().is_none_or(|(_, known)| likeness.score() > known.score()) {
                    best = Some((guess, likeness));
                }
            }
        }
        best.map(|(guess, likeness)| Candidate { samples, guess, likeness })
    }
}

/// The planes a body can stand on, the ones it is most likely to fall on first.
fn standing_planes(samples: &[Sample], size: f64) -> Vec<Support> {
    let some: Vec<DVec3> = samples.iter().step_by(HULL_STRIDE).map(|s| s.at).collect();
    let hull = resting::extreme_points(&some);
    let centre = some.iter().sum::<DVec3>() / some.len().max(1) as f64;
    let mut planes: Vec<(usize, Support)> = Vec::new();
    for down in resting::directions(RAYS) {
        let Some(support) = resting::face_below(&hull, centre, down) else { continue };
        match planes.iter_mut().find(|(_, known)| known.up.dot(support.up) > SAME_PLANE) {
            Some((rays, _)) => *rays += 1,
            None => planes.push((1, support)),
        }
    }
    planes.sort_by_key(|(rays, _)| std::cmp::Reverse(*rays));
    let mut standing: Vec<Support> = Vec::new();
    for (_, support) in planes.into_iter().take(PLANES) {
        let Some(settled) = settled(&some, &hull, support, size) else { continue };
        if standing.iter().all(|known| known.up.dot(settled.up) < SAME_PLANE) {
            standing.push(settled);
        }
    }
    standing
}

/// The plane after the foot, without the leg, has rolled over its edges until it stands.
pub(super) fn settled(points: &[DVec3], hull: &[DVec3], mut support: Support, size: f64) -> Option<Support> {
    for _ in 0..MOST_ROLLS {
        let (mut sum, mut count) = (DVec3::ZERO, 0.0);
        for &p in points {
            if (p - support.feet[0]).dot(support.up) < LEG_FROM * size {
                sum += p;
                count += 1.0;
            }
        }
        let next = resting::face_below(hull, sum / count, -support.up)?;
        let is_at_rest = next.up.dot(support.up) > 1.0 - 1e-12;
        support = next;
        if is_at_rest {
            break;
        }
    }
    Some(support)
}
