use super::{
    Classes, Measure, MeasureError, MeasureSpec, Measured, above, across, below, chippaux_smirak_percent_of,
    toeless_print, up_to,
};
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
    classes: &[
        Classes {
            author: Source::memory("Forriol and Pascual 1990"),
            years: None,
            bands: &[
                below(0.1, "high arch"),
                below(30.0, "normal arch"),
                below(40.0, "intermediate"),
                below(45.0, "low arch"),
                above("flat"),
            ],
        },
        Classes {
            author: Source::seen("Systematic review of flat foot in children, PMC5975578"),
            years: Some((3, 6)),
            bands: &[up_to(62.7, "not flat"), above("flat")],
        },
        Classes {
            author: Source::seen("Systematic review of flat foot in children, PMC5975578"),
            years: Some((7, 8)),
            bands: &[up_to(59.0, "not flat"), above("flat")],
        },
        Classes {
            author: Source::seen("Systematic review of flat foot in children, PMC5975578"),
            years: Some((9, 16)),
            bands: &[below(40.0, "not flat"), above("flat")],
        },
    ],
    references: &[],
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
