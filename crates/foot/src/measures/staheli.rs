use super::{Measure, MeasureError, MeasureSpec, Measured, across, staheli_index_of, toeless_print};
use crate::{Foot, Landmarks};
use base::Source;

/// Staheli index.
pub(super) struct Staheli;

const SPEC: MeasureSpec = MeasureSpec {
    id: "staheli_index",
    label: "Staheli index",
    unit: "",
    definition: "Narrowest breadth of the middle of the print over the breadth of the heel. The print is geometric: skin within 1.5 mm of the support plane, as scanned.",
    source: Source::seen("Web text on the plantar arch index by the narrowest midfoot and the heel"),
};

impl Measure for Staheli {
    fn spec(&self) -> &'static MeasureSpec {
        &SPEC
    }

    fn eval(&self, foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        let print = toeless_print(foot, landmarks)?;
        let [heel, waist, _] = print.heel_waist_ball().ok_or(MeasureError::MissingSkin("under the sole"))?;
        let value = staheli_index_of(print.breadths_mm[waist], print.breadths_mm[heel])
            .ok_or(MeasureError::MissingSkin("under the heel"))?;
        Ok(Measured { value, path: vec![across(&print, waist), across(&print, heel)] })
    }
}
