use super::bodies;
use super::likeness::{self, Guess, Likeness};
use super::resting::{self, Support};
use super::sample::{self, Sample};
use super::sheet;
use super::side::{self, Vote};
use crate::clean::level::{self, Level};
use crate::view::{WALL, walled};
use crate::{IntakeError, ScanKind};
use glam::DVec3;
use mesh::decimate::by_clusters;
use mesh::{Component, TriMesh, components, submesh};
use std::borrow::Cow;

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
    /// It shows the sole only.
    pub(super) is_sheet: bool,
    /// What it shows.
    pub(super) kind: ScanKind,
}

impl Found {
    pub(super) fn vote(&self) -> Vote {
        side::vote(&self.samples, &self.guess, self.is_sheet)
    }

    /// The skin; that of a sole alone with walls drawn up from its edge, so that there is something to see from the side.
    pub(super) fn standing_skin(&self) -> Cow<'_, TriMesh> {
        if !self.is_sheet {
            return Cow::Borrowed(&self.skin);
        }
        let (up, at) = (self.guess.frame.z_axis, self.guess.origin);
        Cow::Owned(walled(&self.skin, up, at, WALL * self.guess.length))
    }
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

/// Height over a level sheet up to which skin counts as carried, share of the square root of its area: about 45 mm.
const LEVEL_TALL: f64 = 0.12;

/// Sample distance of the plan of what a level sheet carries, share of the square root of its area: 1 to 2 mm.
const LEVEL_STEP: f64 = 0.004;

/// A sole whose triangles face up by this much in the mean is a print: 1 if all do.
const FACES_UP: f64 = 0.5;

/// Share of the slices along a shape in two parts from which it is a body. A foot's toes take up less.
const SPLIT: f64 = 0.3;

/// A part of a scan that may be a foot.
pub(super) struct Piece<'a> {
    pub(super) mesh: &'a TriMesh,
    pub(super) part: Component,
    /// Whether it is all of that mesh.
    pub(super) is_only: bool,
    /// The level sheet that was taken off it.
    pub(super) level: Option<Level>,
}

/// Samples of a piece, and the planes it can stand on.
pub(super) struct Sampled {
    pub(super) samples: Vec<Sample>,
    pub(super) sample_area: f64,
    pub(super) planes: Vec<Support>,
}

impl Sampled {
    pub(super) fn of(mesh: &TriMesh, triangles: &[u32]) -> Sampled {
        let (samples, sample_area) = sample::spread(mesh, triangles, SAMPLES);
        Sampled::of_samples(samples, sample_area)
    }

    pub(super) fn of_samples(samples: Vec<Sample>, sample_area: f64) -> Sampled {
        let planes = standing_planes(&samples, size_of(&samples, sample_area));
        Sampled { samples, sample_area, planes }
    }

    pub(super) fn size(&self) -> f64 {
        size_of(&self.samples, self.sample_area)
    }

    /// The floor it stands on, or the rim it hangs from.
    fn level(&self) -> Option<Level> {
        let points = self.points();
        let levels = self.planes.iter().filter_map(|p| level::sought(&points, p.up, p.feet[0], self.size()));
        levels.max_by(|a, b| a.1.total_cmp(&b.1)).map(|(level, _)| level)
    }

    /// Which samples are left without the level sheet; `None` if there is no sheet.
    pub(super) fn without_level(&self) -> Option<Vec<bool>> {
        let level = self.level()?;
        let mut kept = vec![true; self.samples.len()];
        let near = 1.5 * level::ON_LEVEL * self.size();
        level.outside(&self.points(), self.size(), near).into_iter().for_each(|k| kept[k] = false);
        Some(kept)
    }

    fn points(&self) -> Vec<(DVec3, DVec3)> {
        self.samples.iter().map(|s| (s.at, s.normal)).collect()
    }
}

fn size_of(samples: &[Sample], sample_area: f64) -> f64 {
    (sample_area * samples.len() as f64).sqrt()
}

/// A mesh without the level sheet that some of its triangles are, if they are.
struct Stripped {
    mesh: TriMesh,
    level: Level,
}

impl Stripped {
    fn of(mesh: &TriMesh, part: &Component, sampled: &Sampled) -> Option<Stripped> {
        let level = sampled.level()?;
        let size = sampled.size();
        let measure = level::Measure {
            near: level::ON_LEVEL * size,
            tall: LEVEL_TALL * size,
            beyond: 0.0,
            step: LEVEL_STEP * size,
        };
        let frame = level.frame();
        let stripped = level::without(&submesh(mesh, &part.triangles).transformed(&frame), measure)?;
        Some(Stripped { mesh: stripped.mesh.transformed(&frame.inverse()), level })
    }
}

/// Calls `with` with the large pieces of a scan, level sheets taken off, and the samples of each.
pub(super) fn with_pieces<T>(mesh: &TriMesh, with: impl FnOnce(Vec<(Piece, Sampled)>) -> T) -> T {
    let large = |parts: Vec<Component>| {
        let largest = parts.first().map_or(0.0, |part| part.area_mm2);
        let is_only = parts.len() == 1;
        let large = parts.into_iter().take(MOST_PIECES).filter(move |part| part.area_mm2 > LEAST_PIECE * largest);
        large.map(move |part| (part, is_only))
    };
    let mut whole = Vec::new();
    let mut stripped = Vec::new();
    for (part, is_only) in large(components(mesh)) {
        let sampled = Sampled::of(mesh, &part.triangles);
        match Stripped::of(mesh, &part, &sampled) {
            Some(without) => stripped.push(without),
            None => whole.push((Piece { mesh, part, is_only, level: None }, sampled)),
        }
    }
    for Stripped { mesh, level } in &stripped {
        for (part, is_only) in large(components(mesh)) {
            let sampled = Sampled::of(mesh, &part.triangles);
            whole.push((Piece { mesh, part, is_only, level: Some(*level) }, sampled));
        }
    }
    with(whole)
}

/// Finds the foot among the pieces of a scan, or both where there are two.
///
/// # Errors
/// If no piece is like a foot.
pub(super) fn feet_in(name: &str, mesh: &TriMesh) -> Result<Vec<Found>, IntakeError> {
    with_pieces(mesh, |pieces| {
        let mut looked_at: Vec<(Piece, Candidate)> =
            pieces.into_iter().filter_map(|(piece, sampled)| Some((piece, Candidate::of(sampled)?))).collect();
        base::sort_by(&mut looked_at, |a, b| b.1.likeness.score().total_cmp(&a.1.likeness.score()));
        let nothing = || IntakeError::NotAFoot { file: name.to_owned(), reason: "nothing to stand on".to_owned() };
        let (_, best) = looked_at.first().ok_or_else(nothing)?;
        if best.likeness.quality < LEAST_QUALITY {
            return Err(refusal(name, best));
        }
        let mut feet = looked_at.into_iter().filter(|(_, candidate)| candidate.likeness.quality >= LEAST_QUALITY);
        let first = feet.next().ok_or_else(nothing)?;
        let second = feet.next().filter(|second| {
            let ratio = first.0.part.area_mm2 / second.0.part.area_mm2;
            ratio > TWIN && ratio < 1.0 / TWIN
        });
        Ok(std::iter::once(first).chain(second).map(|(piece, candidate)| found(&piece, candidate)).collect())
    })
}

pub(super) fn found(piece: &Piece, candidate: Candidate) -> Found {
    let low: Vec<DVec3> =
        candidate.samples.iter().map(|s| s.at).filter(|&p| candidate.guess.local(p).z < likeness::TALL).collect();
    let centre = low.iter().sum::<DVec3>() / low.len().max(1) as f64;
    let skin = match piece.is_only {
        true => Cow::Borrowed(piece.mesh),
        false => Cow::Owned(submesh(piece.mesh, &piece.part.triangles)),
    };
    // The exact pose needs no more than a vertex a millimetre, and noise is less in means of many.
    let is_fine = skin.triangles().len() > MANY;
    let skin = if is_fine { by_clusters(&skin, candidate.guess.length * CELL) } else { skin.into_owned() };
    let hangs = piece.level.is_some_and(|level| level.up.dot(candidate.guess.frame.z_axis) < 0.0);
    let is_print = candidate.is_sheet && (hangs || sheet::facing(&candidate.samples, &candidate.guess) > FACES_UP);
    Found {
        skin,
        guess: candidate.guess,
        centre,
        triangles: piece.part.triangles.len(),
        is_sheet: candidate.is_sheet,
        kind: if is_print { ScanKind::Impression } else { ScanKind::Foot },
        samples: candidate.samples,
    }
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
    /// It shows the sole only.
    pub(super) is_sheet: bool,
}

impl Candidate {
    pub(super) fn of(sampled: Sampled) -> Option<Candidate> {
        let size = sampled.size();
        let guesses: Vec<Guess> = sampled
            .planes
            .iter()
            .filter_map(|support| likeness::guesses(&sampled.samples, support, size))
            .flatten()
            .collect();
        Candidate::among(sampled.samples, sampled.sample_area, &guesses)
    }

    /// The most likely of some guesses: as a whole foot or, where that is none or there is no skin over the sole, as a
    /// sole alone.
    pub(super) fn among(samples: Vec<Sample>, sample_area: f64, guesses: &[Guess]) -> Option<Candidate> {
        let best = |measured: &dyn Fn(&Guess) -> Likeness| {
            let likely = guesses.iter().map(|guess| (*guess, measured(guess)));
            likely.reduce(|best, next| if next.1.score() > best.1.score() { next } else { best })
        };
        let foot = best(&|guess| likeness::likeness(&samples, sample_area, guess))?;
        let is_foot = foot.1.quality >= LEAST_QUALITY;
        let mut found = (foot, false);
        if !is_foot || sheet::layers(&samples, &foot.0) < sheet::LAYERED {
            let sole = best(&|guess| sheet::likeness(&samples, sample_area, guess))?;
            if sole.1.quality >= LEAST_QUALITY {
                found = (sole, true);
            }
        }
        let ((guess, likeness), is_sheet) = found;
        Some(Candidate { samples, guess, likeness, is_sheet })
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
    base::sort_by_key(&mut planes, |(rays, _)| std::cmp::Reverse(*rays));
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
