use crate::{Advice, Rule};
use base::{Severity, Source};

/// The last must be as wide round the ball as the foot.
pub(super) const RULE: Rule = Rule {
    id: "joint_girth",
    about: "A last narrower round the ball than the foot presses on the metatarsal heads; the insole takes room too.",
    source: Source::practice("common practice, no source; the steps of width as the size tables have them"),
    check: |facts| {
        let (Some(foot_mm), Some(last_mm)) = (facts.ball_girth_mm, facts.last_girth_mm) else { return Vec::new() };
        if foot_mm <= last_mm + CLOSE_MM {
            return Vec::new();
        }
        let steps: Vec<String> = last::girth_steps(foot_mm, last_mm)
            .iter()
            .map(|difference| format!("{:.1} {}", difference.steps, difference.step.label))
            .collect();
        let text = format!(
            "Round the ball the foot measures {foot_mm:.0} mm, the last {last_mm:.0} mm: {:.0} mm less, in steps of width {}.",
            foot_mm - last_mm,
            steps.join(", ")
        );
        vec![Advice::new(
            Severity::Check,
            text,
            "Choose a wider last, and remember that the insole takes room as well.",
        )]
    },
};

/// Less than this is within what a girth is measured to, mm (ISO 20685 allows 2 to 4 mm for a scan).
const CLOSE_MM: f64 = 2.0;
