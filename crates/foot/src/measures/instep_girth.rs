use super::{Measure, MeasureError, MeasureSpec, Measured, at_top, tape};
use crate::{Foot, LandmarkId, Landmarks};
use base::Source;
use mesh::Plane;

/// Instep girth.
pub(super) struct InstepGirth;

const SPEC: MeasureSpec = MeasureSpec {
    id: "instep_girth_mm",
    label: "Instep girth",
    unit: "mm",
    definition: "Length of a tape pulled tight round the foot in the upright section at the instep, half the foot length, square to the foot axis. Some take it farther back over the hump of the cuneiforms: compare only girths taken at one place.",
    source: Source::practice("Instep girth at half the foot length: common practice, no source"),
    classes: &[],
    references: &[],
};

impl Measure for InstepGirth {
    fn spec(&self) -> &'static MeasureSpec {
        &SPEC
    }

    fn eval(&self, foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        let instep = at_top(foot, landmarks, LandmarkId::Instep)?;
        tape(foot, &Plane::at_x(instep.x), &[instep], "round the instep")
    }
}
