use super::{Measure, MeasureError, MeasureSpec, Measured, across, chippaux_smirak_percent_of, toeless_print};
use crate::{Foot, Landmarks};
use base::Source;

/// Chippaux-Smirak index.
pub(super) struct ChippauxSmirak;

const SPEC: MeasureSpec = MeasureSpec {
    id: "chippaux_smirak_percent",
    label: "Chippaux-Smirak index",
    unit: "%",
    definition: "Narrowest breadth of the middle of the print over the broadest of the forefoot, toes left out. The print is geometric: skin within 1.5 mm of the support plane, as scanned.",
    source: Source::memory("Chippaux-Smirak index, limits by Forriol and Pascual 1990"),
};

impl Measure for ChippauxSmirak {
    fn spec(&self) -> &'static MeasureSpec {
        &SPEC
    }

    fn eval(&self, foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        let print = toeless_print(foot, landmarks)?;
        let [_, waist, ball] = print.heel_waist_ball().ok_or(MeasureError::MissingSkin("under the sole"))?;
        let value = chippaux_smirak_percent_of(print.breadths_mm[waist], print.breadths_mm[ball])
            .ok_or(MeasureError::MissingSkin("under the ball"))?;
        Ok(Measured { value, path: vec![across(&print, waist), across(&print, ball)] })
    }
}
