use crate::{Advice, Rule};
use base::{Severity, Source};

/// Below this the finder itself is in doubt. Its confidence is a product of plausibility checks, each halved when failed.
const DOUBTFUL: f64 = 0.5;

/// A landmark that the finder doubts should be looked at.
pub(super) const RULE: Rule = Rule {
    id: "uncertain_landmark",
    about: "Measures, outline and arch hang on the landmarks; a doubtful one is worth a look.",
    source: Source::practice("common practice, no source"),
    check: |facts| {
        let doubtful = facts.landmarks.iter().filter(|(_, landmark)| landmark.confidence < DOUBTFUL);
        doubtful
            .map(|(id, landmark)| {
                let percent = landmark.confidence * 100.0;
                Advice::new(
                    Severity::Check,
                    format!("{} was found with little certainty ({percent:.0} %).", id.label()),
                    "Look at it on the foot and drag it to its place if it is off.",
                )
                .at(landmark.at)
            })
            .collect()
    },
};
