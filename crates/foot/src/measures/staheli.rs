use super::{
    Classes, Measure, MeasureError, MeasureSpec, Measured, above, across, below, staheli_index_of, toeless_print, up_to,
};
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
    classes: &[
        Classes {
            author: Source::seen("Systematic review of flat foot in children, PMC5975578"),
            years: Some((3, 5)),
            bands: &[up_to(1.07, "not flat"), above("flat")],
        },
        Classes {
            author: Source::seen("Systematic review of flat foot in children, PMC5975578"),
            years: Some((6, 9)),
            bands: &[below(1.28, "not flat"), above("flat")],
        },
        Classes {
            author: Source::seen("Hernandez 2007"),
            years: Some((5, 9)),
            bands: &[up_to(1.15, "not flat"), above("flat")],
        },
    ],
    references: &[],
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
