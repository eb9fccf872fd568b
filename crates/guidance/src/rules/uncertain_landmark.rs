use crate::{Advice, Rule};
use base::{Severity, Source};
use foot::{Landmark, LandmarkId};

/// Below this the finder itself is in doubt. Its confidence is a product of plausibility checks, each halved when failed.
const DOUBTFUL: f64 = 0.5;

/// Landmarks that outline, arch and elements hang on; the others only enter measures.
const BEARING: [LandmarkId; 7] = [
    LandmarkId::Pternion,
    LandmarkId::HeelCentre,
    LandmarkId::ArchApex,
    LandmarkId::MetatarsaleTibiale,
    LandmarkId::MetatarsaleFibulare,
    LandmarkId::SecondToeTip,
    LandmarkId::Akropodion,
];

/// A landmark that the finder doubts should be looked at: each that the insole hangs on, the others in one breath.
pub(super) const RULE: Rule = Rule {
    id: "uncertain_landmark",
    about: "Measures, outline and arch hang on the landmarks; a doubtful one is worth a look.",
    source: Source::practice("common practice, no source"),
    check: |facts| {
        let doubtful = facts.landmarks.iter().filter(|(_, landmark)| landmark.confidence < DOUBTFUL);
        let (bearing, others): (Vec<_>, Vec<_>) = doubtful.partition(|(id, _)| BEARING.contains(id));
        let percent = |landmark: &Landmark| landmark.confidence * 100.0;
        let mut advice: Vec<Advice> = bearing
            .into_iter()
            .map(|(id, landmark)| {
                Advice::new(
                    Severity::Check,
                    format!("{} was found with little certainty ({:.0} %).", id.label(), percent(landmark)),
                    "Look at it on the foot and drag it to its place if it is off.",
                )
                .at(landmark.at)
            })
            .collect();
        if let Some((_, first)) = others.first() {
            let listed = named(&others.iter().map(|(id, _)| **id).collect::<Vec<_>>());
            advice.push(
                Advice::new(
                    Severity::Info,
                    format!("Estimates of little certainty: {listed}."),
                    "Feel for them on the foot and drag them to their place before relying on what is measured there.",
                )
                .at(first.at),
            );
        }
        advice
    },
};

/// Names in one breath: the metatarsal heads, where all are meant, as one.
fn named(ids: &[LandmarkId]) -> String {
    let heads = LandmarkId::METATARSAL_HEADS;
    let all_heads = heads.iter().all(|head| ids.contains(head));
    let singly = ids.iter().filter(|id| !(all_heads && heads.contains(id)));
    let mut names: Vec<String> =
        singly.map(|id| id.label().trim_end_matches(" (estimate)").to_ascii_lowercase()).collect();
    if all_heads {
        names.push("metatarsal heads 1 to 5".to_owned());
    }
    names.join(", ")
}
