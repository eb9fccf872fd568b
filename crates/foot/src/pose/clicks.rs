use super::likeness::{FOOT_HEIGHT, Guess};
use super::resting::{self, Support};
use super::sample::Sample;
use super::search::{self, Candidate, Piece, Sampled};
use super::{LEAST_TRIANGLES, Pose, PoseHints, check_size, pose_of, without_spikes};
use crate::{IntakeError, ScanKind};
use base::{LengthUnit, Report, Side, Work};
use glam::{DMat3, DVec3};
use mesh::TriMesh;

/// Distances from the heel to the ball that a click can mean, mm: in the shortest and the longest foot, with room for
/// clicks that are off by a thumb.
const HEEL_TO_BALL_MM: (f64, f64) = (45.0, 290.0);

/// Distances between the two sides of the ball that clicks can mean, mm.
const ACROSS_BALL_MM: (f64, f64) = (20.0, 170.0);

/// The line across the ball is no nearer than this to the line along the foot, sine.
const LEAST_SINE: f64 = 0.4;

/// A click farther from the skin than this is not on it, mm.
const OFF_SKIN_MM: f64 = 30.0;

/// Foot length over the distance from the heel to the middle of the ball, about.
const LENGTH_PER_BALL: f64 = 1.45;

/// A foot that rolled farther than this from where the clicks put it fell over, cosine of 35°.
const UPRIGHT: f64 = 0.82;

/// The pose of a foot whose heel, big toe's side of the ball and little toe's side of the ball were clicked on its skin.
///
/// `clicks` are in the scan's coordinates, in that order, and may each be off by a thumb's breadth: direction and side
/// follow from them; support plane and axis are then found as by [`super::find_pose`].
///
/// # Errors
/// [`IntakeError::Clicks`] if the three points cannot mean a foot; otherwise as [`super::find_pose`].
pub fn pose_from_clicks(
    name: &str,
    mesh: &TriMesh,
    unit: LengthUnit,
    kind: Option<ScanKind>,
    clicks: [DVec3; 3],
    work: &Work,
    report: &mut Report,
) -> Result<Pose, IntakeError> {
    let triangles = mesh.triangles().len();
    if triangles < LEAST_TRIANGLES {
        return Err(IntakeError::TooFewTriangles { file: name.to_owned(), triangles, needed: LEAST_TRIANGLES });
    }
    check_size(name, mesh)?;
    let refused = |reason: String| IntakeError::Clicks { file: name.to_owned(), reason };
    let clicked = Clicked::of(clicks, unit.mm()).map_err(refused)?;
    work.step("Finding the foot at the points", 0.0)?;
    let mesh = without_spikes(mesh);
    let (found, side) = search::with_pieces(&mesh, |pieces| {
        let off = |piece: &Piece| clicked.off(piece.mesh, &piece.part.triangles);
        let offs = pieces.into_iter().map(|(piece, sampled)| (off(&piece), piece, sampled));
        let (off, piece, sampled) =
            offs.min_by(|a, b| a.0.total_cmp(&b.0)).ok_or_else(|| refused("there is no skin".to_owned()))?;
        if off * unit.mm() > OFF_SKIN_MM {
            return Err(refused(format!("one is {:.0} mm off the skin", off * unit.mm())));
        }
        let candidate =
            clicked.candidate(sampled).ok_or_else(|| refused("the skin between them carries nothing".to_owned()))?;
        let side = clicked.side(&candidate.guess);
        Ok((search::found(&piece, candidate), side))
    })?;
    let vote = found.vote();
    let hints = PoseHints { side: Some(side), unit: Some(unit), kind };
    let pose = pose_of(name, &found, &hints, &vote, work)?;
    report.notes.extend(pose.notes.iter().cloned());
    Ok(pose)
}

/// Three points that can mean a foot, in the scan's coordinates.
struct Clicked {
    heel: DVec3,
    medial: DVec3,
    lateral: DVec3,
    /// Normal of the plane through them; up or down.
    normal: DVec3,
}

impl Clicked {
    fn of(clicks: [DVec3; 3], mm: f64) -> Result<Clicked, String> {
        let [heel, medial, lateral] = clicks;
        if !clicks.iter().all(|p| p.is_finite()) {
            return Err("one is no point".to_owned());
        }
        let along = (medial + lateral) / 2.0 - heel;
        let across = medial - lateral;
        let within = |what: &str, length: f64, (least, most): (f64, f64)| {
            let is_within = length >= least && length <= most;
            if is_within {
                Ok(())
            } else {
                Err(format!("{what} are {length:.0} mm apart, not {least:.0} to {most:.0}"))
            }
        };
        within("heel and ball", along.length() * mm, HEEL_TO_BALL_MM)?;
        within("the sides of the ball", across.length() * mm, ACROSS_BALL_MM)?;
        let normal = along.cross(across);
        if normal.length() < LEAST_SINE * along.length() * across.length() {
            return Err("they lie nearly in a line".to_owned());
        }
        Ok(Clicked { heel, medial, lateral, normal: normal.normalize_or_zero() })
    }

    fn along(&self) -> DVec3 {
        (self.medial + self.lateral) / 2.0 - self.heel
    }

    /// The foot as the points put it, the right way up: the way in which it looks more like one.
    fn candidate(&self, sampled: Sampled) -> Option<Candidate> {
        let size = sampled.size();
        let some: Vec<DVec3> = sampled.samples.iter().step_by(search::HULL_STRIDE).map(|s| s.at).collect();
        let hull = resting::extreme_points(&some);
        let centre = some.iter().sum::<DVec3>() / some.len().max(1) as f64;
        let standing = |up: DVec3| {
            let down = resting::face_below(&hull, centre, -up)?;
            let settled = search::settled(&some, &hull, down, size).filter(|plane| plane.up.dot(up) > UPRIGHT);
            self.guess(&sampled.samples, &settled.unwrap_or(down))
        };
        let ways: Vec<Guess> = [self.normal, -self.normal].into_iter().filter_map(standing).collect();
        Candidate::among(sampled.samples, sampled.sample_area, &ways)
    }

    /// The foot on its support plane, along the points.
    fn guess(&self, samples: &[Sample], support: &Support) -> Option<Guess> {
        let up = support.up;
        let x = self.along().reject_from(up).try_normalize()?;
        let frame = DMat3::from_cols(x, up.cross(x), up);
        let low = FOOT_HEIGHT * LENGTH_PER_BALL * self.along().length();
        let (mut lo, mut hi) = (DVec3::INFINITY, DVec3::NEG_INFINITY);
        for sample in samples {
            let q = frame.transpose() * (sample.at - support.feet[0]);
            if q.z < low {
                (lo, hi) = (lo.min(q), hi.max(q));
            }
        }
        let origin = support.feet[0] + frame * DVec3::new(lo.x, (lo.y + hi.y) / 2.0, 0.0);
        (hi.x > lo.x).then_some(Guess { frame, origin, length: hi.x - lo.x })
    }

    /// The side whose big toe is where it was clicked.
    fn side(&self, guess: &Guess) -> Side {
        let medial_is_left = (self.medial - self.lateral).dot(guess.frame.y_axis) > 0.0;
        if medial_is_left { Side::Right } else { Side::Left }
    }

    /// How far the farthest of the points is off some triangles' corners.
    fn off(&self, mesh: &TriMesh, triangles: &[u32]) -> f64 {
        let clicks = [self.heel, self.medial, self.lateral];
        let mut nearest = [f64::INFINITY; 3];
        for &triangle in triangles {
            for p in mesh.corners(mesh.triangles()[triangle as usize]) {
                for (nearest, click) in nearest.iter_mut().zip(clicks) {
                    *nearest = nearest.min(p.distance_squared(click));
                }
            }
        }
        nearest.into_iter().fold(0.0, f64::max).sqrt()
    }
}
