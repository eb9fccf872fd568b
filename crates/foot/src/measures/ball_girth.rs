use super::{Measure, MeasureError, MeasureSpec, Measured, at};
use crate::{Foot, LandmarkId, Landmarks};
use base::Source;
use glam::{DVec2, DVec3};
use mesh::outline::perimeter_mm;
use mesh::{Plane, convex_hull_2d, section};

/// Ball girth.
pub(super) struct BallGirth;

const SPEC: MeasureSpec = MeasureSpec {
    id: "ball_girth_mm",
    label: "Ball girth",
    unit: "mm",
    definition: "Length of a tape pulled tight round metatarsale tibiale and fibulare, in the upright plane through both.",
    source: Source::seen("Foot dimensions of a national metrology institute on the Japanese industrial standard"),
};

impl Measure for BallGirth {
    fn spec(&self) -> &'static MeasureSpec {
        &SPEC
    }

    fn eval(&self, foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        let tibiale = at(landmarks, LandmarkId::MetatarsaleTibiale)?;
        let fibulare = at(landmarks, LandmarkId::MetatarsaleFibulare)?;
        let across = (tibiale - fibulare).with_z(0.0);
        let plane = Plane::through(tibiale, across.cross(DVec3::Z))
            .ok_or(MeasureError::MisplacedLandmark(LandmarkId::MetatarsaleTibiale))?;
        let mut points: Vec<DVec3> = section(&foot.mesh, &plane).into_iter().flat_map(|line| line.points).collect();
        if points.len() < 3 {
            return Err(MeasureError::MissingSkin("round the ball"));
        }
        points.extend([tibiale, fibulare]);
        let flat: Vec<DVec2> = points.iter().map(|&p| plane.to_2d(p)).collect();
        let hull = convex_hull_2d(&flat);
        let mut tape: Vec<DVec3> = hull.iter().map(|&p| plane.to_3d(p)).collect();
        tape.extend(tape.first().copied());
        Ok(Measured { value: perimeter_mm(&hull), path: vec![tape] })
    }
}
