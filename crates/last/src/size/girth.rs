use base::Source;
use serde::Serialize;

/// By how much the joint girth grows from one width to the next on lasts of the same length.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct GirthStep {
    /// Stable id: `eu`.
    pub id: &'static str,
    /// Label in the trade's words.
    pub label: &'static str,
    /// One width step, mm of girth.
    pub step_mm: f64,
    /// Where the number comes from.
    pub source: Source,
}

/// Width steps by system. Letters and numbers of widths differ from maker to maker, so a difference is told in steps.
pub const GIRTH_STEPS: &[GirthStep] = &[
    GirthStep { id: "eu", label: "EU", step_mm: 5.0, source: FITTINGS },
    GirthStep { id: "uk", label: "UK", step_mm: 6.0, source: FITTINGS },
    GirthStep { id: "us", label: "US", step_mm: 4.76, source: FITTINGS },
];

const FITTINGS: Source =
    Source::seen("trade text (thefootwearedge.com): width steps by girth EU 5, UK about 6, US 4.76 mm");

/// Growth of the joint girth for every whole UK or US size of the same width, mm, and where it comes from. Feet grow less:
/// 0.59 mm of girth for every mm of length, which is 5.0 mm for a UK size (computed from the survey records of Gordon et al. 2014).
pub const JOINT_GIRTH_GRADE: (f64, Source) =
    (6.35, Source::seen("trade text (shoemakersacademy.com): 1/4 inch for every whole size"));

/// How much a foot's joint girth differs from a last's, in the steps of one system.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct GirthDifference {
    /// The system's step.
    pub step: &'static GirthStep,
    /// Steps by which the foot is wider than the last; negative where the last is wider.
    pub steps: f64,
    /// The same in words.
    pub words: String,
}

/// How much a foot's joint girth differs from a last's, by every system. What a last leaves out on purpose, because leather
/// and foot give, is not reckoned: the difference is that of the two tapes.
#[must_use]
pub fn girth_steps(foot_girth_mm: f64, last_girth_mm: f64) -> Vec<GirthDifference> {
    let difference_mm = foot_girth_mm - last_girth_mm;
    GIRTH_STEPS
        .iter()
        .map(|step| {
            let steps = difference_mm / step.step_mm;
            GirthDifference { step, steps, words: words(difference_mm, steps, step) }
        })
        .collect()
}

/// Less than this share of a step is told as none: 1.5 mm at most, what a tape laid twice differs by (common practice).
const SAME_STEPS: f64 = 0.25;

fn words(difference_mm: f64, steps: f64, step: &GirthStep) -> String {
    let GirthStep { label, step_mm, .. } = step;
    let apart_mm = difference_mm.abs();
    if !steps.is_finite() {
        return "one of the girths is not known".to_owned();
    }
    if steps.abs() < SAME_STEPS {
        return format!(
            "foot and last have the same width: {apart_mm:.1} mm of girth apart ({label} step {step_mm} mm)"
        );
    }
    let direction = if steps > 0.0 { "wider" } else { "narrower" };
    format!(
        "the foot is {apart_mm:.1} mm of girth {direction} than the last: {:.1} width steps ({label}, {step_mm} mm each)",
        steps.abs()
    )
}
