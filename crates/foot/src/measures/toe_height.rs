use super::{Measure, MeasureError, MeasureSpec, Measured, TOP, at, height};
use crate::{Foot, LandmarkId, Landmarks};
use base::Source;
use mesh::{Plane, section};

/// Toe height.
pub(super) struct ToeHeight;

const SPEC: MeasureSpec = MeasureSpec {
    id: "toe_height_mm",
    label: "Toe height",
    unit: "mm",
    definition: "Greatest height of the dorsum over the support plane within the foremost tenth of the foot length: of whichever toe is highest there, as the toe box must clear it.",
    source: Source::practice("Height of the tallest toe for the toe box: common practice, no source"),
    classes: &[],
    references: &[],
};

/// The part of the foot length, from the toes, that a toe box covers.
const FOREMOST: f64 = 0.10;

impl Measure for ToeHeight {
    fn spec(&self) -> &'static MeasureSpec {
        &SPEC
    }

    fn eval(&self, foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        let (heel, toe) = (at(landmarks, LandmarkId::Pternion)?, at(landmarks, LandmarkId::Akropodion)?);
        if !foot.has_dorsum {
            return Err(MeasureError::MissingSkin(TOP));
        }
        let from = toe.x - FOREMOST * (toe.x - heel.x);
        let in_front = foot.mesh.positions().iter().copied().filter(|p| p.x >= from);
        // Where triangles cross the rear end of the tenth, between vertices.
        let at_end = section(&foot.mesh, &Plane::at_x(from)).into_iter().flat_map(|line| line.points);
        let highest = in_front.chain(at_end).max_by(|a, b| a.z.total_cmp(&b.z));
        highest.map(height).ok_or(MeasureError::MissingSkin("at the toes"))
    }
}
