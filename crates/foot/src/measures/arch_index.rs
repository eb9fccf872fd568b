use super::{Classes, Measure, MeasureError, MeasureSpec, Measured, above, arch_index_of, below, toeless_print, up_to};
use crate::{Foot, Landmarks};
use base::Source;
use glam::DVec3;

/// Arch index.
pub(super) struct ArchIndex;

const SPEC: MeasureSpec = MeasureSpec {
    id: "arch_index",
    label: "Arch index",
    unit: "",
    definition: "Middle third of the toeless print over the whole toeless print, thirds of equal length along the foot axis. Here that axis runs from the pternion to the tip of the second toe, in the original from the centre of the heel. The print is geometric: skin within 1.5 mm of the support plane, as scanned; compare only scans taken under the same load.",
    source: Source::seen("Cavanagh and Rodgers 1987, J Biomech 20:547, as restated by Murley et al. 2009"),
    classes: &[Classes {
        author: Source::memory("Cavanagh and Rodgers 1987"),
        years: None,
        bands: &[up_to(0.21, "high arch"), below(0.26, "normal arch"), above("low arch")],
    }],
    references: &[],
};

impl Measure for ArchIndex {
    fn spec(&self) -> &'static MeasureSpec {
        &SPEC
    }

    fn eval(&self, foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        let print = toeless_print(foot, landmarks)?;
        let value = arch_index_of(&print.breadths_mm).ok_or(MeasureError::MissingSkin("under the sole"))?;
        // The two lines between the thirds.
        let count = print.breadths_mm.len();
        let broadest = print.ends_mm.iter().fold((0.0_f64, 0.0_f64), |(m, l), e| (m.max(e.0), l.min(e.1)));
        let line = |slice: usize| [broadest.0, broadest.1].map(|y| DVec3::new(print.x_of(slice), y, 0.0)).to_vec();
        Ok(Measured { value, path: vec![line(count / 3), line(2 * count / 3)] })
    }
}
