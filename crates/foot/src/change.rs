//! The same foot scanned twice, less and more loaded: how far its arch gives way.
//!
//! [`loading_change`] compares two sets of landmarks, [`ALL`] lists what it says as a table does, with the same
//! definitions, sources and classes as the measures of one scan.
//!
//! ```
//! use foot::change::{ALL, State, loading_change};
//! use foot::{Landmark, LandmarkId, Landmarks, WeightBearing};
//! use glam::DVec3;
//!
//! let marks = |height: f64| -> Landmarks {
//!     let mark = Landmark { at: DVec3::new(100.0, 40.0, height), confidence: 1.0, by_hand: true };
//!     [(LandmarkId::Navicular, mark)].into()
//! };
//! let (sitting, standing) = (marks(48.0), marks(42.0));
//! let less = State { landmarks: &sitting, weight_bearing: WeightBearing::None };
//! let more = State { landmarks: &standing, weight_bearing: WeightBearing::Half };
//! let change = loading_change(&less, &more, Some(72.0))?;
//! assert_eq!(change.navicular_drop_mm, Some(6.0));
//! assert_eq!(ALL[0].value(&change), Some(6.0));
//! # Ok::<(), foot::change::ChangeError>(())
//! ```

use crate::measures::{Band, Classes, MeasureSpec, Reference, above, arch_height_index_of, below, up_to};
use crate::{LandmarkId, Landmarks, WeightBearing};
use base::Source;
use glam::DVec3;
use serde::Serialize;
use thiserror::Error;

/// Standard acceleration of gravity, m/s² (third General Conference on Weights and Measures, 1901).
const GRAVITY_M_PER_S2: f64 = 9.806_65;

/// Share of the body's weight on a foot that hangs or lies.
pub const SHARE_NONE: f64 = 0.0;
/// Share on each foot while standing on both. Common practice, no source; of a foot set down while sitting it is less.
pub const SHARE_HALF: f64 = 0.5;
/// Share on a foot that is stood on alone.
pub const SHARE_FULL: f64 = 1.0;

/// Body masses that are believed, kg.
const MASSES_KG: core::ops::RangeInclusive<f64> = 5.0..=400.0;

/// One foot in one state of loading.
#[derive(Clone, Copy, Debug)]
pub struct State<'a> {
    /// The landmarks found or placed on this scan.
    pub landmarks: &'a Landmarks,
    /// How it was loaded.
    pub weight_bearing: WeightBearing,
}

/// What loading did to a foot. What cannot be known is missing, and a note says why.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct LoadingChange {
    /// How much lower the navicular tuberosity lies under the higher load, mm.
    pub navicular_drop_mm: Option<f64>,
    /// How much lower the dorsum lies at half the foot length, mm.
    pub arch_drop_mm: Option<f64>,
    /// Arch height index under the lower load.
    pub arch_height_index_less: Option<f64>,
    /// Arch height index under the higher load.
    pub arch_height_index_more: Option<f64>,
    /// Arch drop over what the load on the foot grew by, mm/kN.
    pub flexibility_mm_per_kn: Option<f64>,
    /// What is missing or was assumed, in plain sentences.
    pub notes: Vec<String>,
}

/// Why two scans cannot be compared.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum ChangeError {
    /// The states are the same, or the wrong way round.
    #[error(
        "the first scan was taken under the load “{}” and the second under “{}”: the second must carry more; \
         check both states, or change the scans about",
        .less.word(), .more.word()
    )]
    NotMoreLoaded {
        /// State of the scan given as less loaded.
        less: WeightBearing,
        /// State of the scan given as more loaded.
        more: WeightBearing,
    },
    /// No body has this mass.
    #[error("a body mass of {mass_kg} kg cannot be: enter 5 to 400 kg, or leave it out")]
    ImpossibleMass {
        /// The mass given, kg.
        mass_kg: f64,
    },
}

/// The share of the body's weight that one foot is taken to carry.
#[must_use]
pub fn load_share(weight_bearing: WeightBearing) -> f64 {
    match weight_bearing {
        WeightBearing::None => SHARE_NONE,
        WeightBearing::Half => SHARE_HALF,
        WeightBearing::Full => SHARE_FULL,
    }
}

/// Compares a foot under a lower and a higher load; `mass_kg` of the body, if known.
///
/// # Errors
/// If the second scan was not taken under the higher load; if the mass is impossible.
pub fn loading_change(less: &State, more: &State, mass_kg: Option<f64>) -> Result<LoadingChange, ChangeError> {
    if less.weight_bearing >= more.weight_bearing {
        return Err(ChangeError::NotMoreLoaded { less: less.weight_bearing, more: more.weight_bearing });
    }
    if let Some(mass_kg) = mass_kg.filter(|mass| !MASSES_KG.contains(mass)) {
        return Err(ChangeError::ImpossibleMass { mass_kg });
    }
    let mut change = LoadingChange {
        arch_height_index_less: arch_height_index(less.landmarks),
        arch_height_index_more: arch_height_index(more.landmarks),
        ..LoadingChange::default()
    };
    let mut note = |text: String| change.notes.push(text);

    match both(less, more, LandmarkId::Navicular) {
        // The estimate lies at a fixed share of the foot length: it would drop only as far as the foot got longer.
        Some(_) if !is_by_hand(less, LandmarkId::Navicular) || !is_by_hand(more, LandmarkId::Navicular) => {
            note("No navicular drop: feel for the tuberosity and place it by hand in both scans.".to_owned());
        }
        Some((before, after)) => change.navicular_drop_mm = Some(before.z - after.z),
        None => note("No navicular drop: the navicular is missing in one of the scans.".to_owned()),
    }
    match both(less, more, LandmarkId::Instep) {
        Some((before, after)) => change.arch_drop_mm = Some(before.z - after.z),
        None => note("No arch drop: the instep is missing in one of the scans.".to_owned()),
    }
    let shares = [less, more].map(|state| load_share(state.weight_bearing));
    match (change.arch_drop_mm, mass_kg) {
        (Some(drop_mm), Some(mass_kg)) => {
            change.flexibility_mm_per_kn = flexibility_mm_per_kn(drop_mm, shares[1] - shares[0], mass_kg);
            note(format!(
                "Flexibility takes the foot to carry {:.0} % of the body's weight in the first scan and {:.0} % in the \
                 second: assumed, not weighed.",
                100.0 * shares[0],
                100.0 * shares[1]
            ));
        }
        (Some(_), None) => note("No flexibility: the body mass is not known.".to_owned()),
        (None, _) => {}
    }
    Ok(change)
}

/// Arch flexibility: arch drop over what the load on the foot grew by, mm/kN. `more_load` is a share of the body's
/// weight.
///
/// Definition as restated with the arch height index of 2,180 feet (PMC7393860), there from sitting to standing.
#[must_use]
pub fn flexibility_mm_per_kn(arch_drop_mm: f64, more_load: f64, mass_kg: f64) -> Option<f64> {
    let load_kn = more_load * mass_kg * GRAVITY_M_PER_S2 / 1000.0;
    (load_kn > 0.0 && arch_drop_mm.is_finite()).then(|| arch_drop_mm / load_kn)
}

/// One row of the comparison's table.
#[derive(Clone, Copy, Debug)]
pub struct ChangeRow {
    /// What it is, as of a measure.
    pub spec: MeasureSpec,
    value: fn(&LoadingChange) -> Option<f64>,
}

impl ChangeRow {
    /// Its value, in the unit of the spec.
    #[must_use]
    pub fn value(&self, change: &LoadingChange) -> Option<f64> {
        (self.value)(change)
    }
}

const SITTING_TO_STANDING: Source = Source::seen("Arch height index of 2,180 feet, PMC7393860");
const NORMAL: &str = "normal";
const MORE: &str = "above normal";

/// One author's upper limit of a normal navicular drop, as collected by Nielsen et al. 2009.
const fn upper_limit(author: &'static str, bands: &'static [Band]) -> Classes {
    Classes { author: Source::seen(author), years: None, bands }
}

/// Everything a comparison says, in the order of a table.
pub const ALL: &[ChangeRow] = &[
    ChangeRow {
        spec: MeasureSpec {
            id: "navicular_drop_mm",
            label: "Navicular drop",
            unit: "mm",
            definition: "Height of the navicular tuberosity under the lower load less its height under the higher one, both felt for and placed by hand. The clinical test goes from the neutral joint to relaxed standing.",
            source: Source::seen("Nielsen et al. 2009, with limits by Brody 1982, Beckett and Mueller"),
            classes: &[
                upper_limit("Brody 1982 (in Nielsen et al. 2009)", &[up_to(15.0, NORMAL), above(MORE)]),
                upper_limit("Beckett (in Nielsen et al. 2009)", &[up_to(13.0, NORMAL), above(MORE)]),
                upper_limit("Mueller (in Nielsen et al. 2009)", &[up_to(10.0, NORMAL), above(MORE)]),
                Classes {
                    author: Source::seen("J Foot Ankle Res 2012 5:3, table 3"),
                    years: None,
                    bands: &[
                        below(0.0, "very rigid"),
                        below(6.0, "rigid"),
                        below(18.0, "normal"),
                        up_to(23.0, "flexible"),
                        above("very flexible"),
                    ],
                },
            ],
            references: &[],
        },
        value: |change| change.navicular_drop_mm,
    },
    ChangeRow {
        spec: MeasureSpec {
            id: "arch_drop_mm",
            label: "Arch drop",
            unit: "mm",
            definition: "Height of the dorsum at half the foot length under the lower load less the same under the higher one.",
            source: SITTING_TO_STANDING,
            classes: &[],
            references: &[Reference { name: "mean, sitting to standing", value: 4.1, author: SITTING_TO_STANDING }],
        },
        value: |change| change.arch_drop_mm,
    },
    ChangeRow {
        spec: MeasureSpec {
            id: "arch_height_index_less",
            label: "Arch height index, less loaded",
            unit: "",
            definition: "Instep height at half the foot length over truncated foot length, in the less loaded scan.",
            source: Source::memory("Williams and McClay 2000, Phys Ther 80:864"),
            classes: &[],
            references: &[Reference { name: "mean, sitting", value: 0.369, author: SITTING_TO_STANDING }],
        },
        value: |change| change.arch_height_index_less,
    },
    ChangeRow {
        spec: MeasureSpec {
            id: "arch_height_index_more",
            label: "Arch height index, more loaded",
            unit: "",
            definition: "Instep height at half the foot length over truncated foot length, in the more loaded scan.",
            source: Source::memory("Williams and McClay 2000, Phys Ther 80:864"),
            classes: &[],
            references: &[Reference { name: "mean, standing", value: 0.347, author: SITTING_TO_STANDING }],
        },
        value: |change| change.arch_height_index_more,
    },
    ChangeRow {
        spec: MeasureSpec {
            id: "flexibility_mm_per_kn",
            label: "Arch flexibility",
            unit: "mm/kN",
            definition: "Arch drop over what the load on the foot grew by: the difference of the shares of the body's weight (0 hanging, one half standing on both feet, 1 standing on one, assumed and not weighed) times that weight.",
            source: SITTING_TO_STANDING,
            classes: &[],
            references: &[Reference { name: "mean, sitting to standing", value: 14.3, author: SITTING_TO_STANDING }],
        },
        value: |change| change.flexibility_mm_per_kn,
    },
];

fn both(less: &State, more: &State, id: LandmarkId) -> Option<(DVec3, DVec3)> {
    let at = |state: &State| state.landmarks.get(&id).map(|landmark| landmark.at).filter(|at| at.is_finite());
    at(less).zip(at(more))
}

fn is_by_hand(state: &State, id: LandmarkId) -> bool {
    state.landmarks.get(&id).is_some_and(|landmark| landmark.by_hand)
}

fn arch_height_index(landmarks: &Landmarks) -> Option<f64> {
    let at = |id: LandmarkId| landmarks.get(&id).map(|landmark| landmark.at);
    let truncated_mm = at(LandmarkId::MetatarsaleTibiale)?.x - at(LandmarkId::Pternion)?.x;
    arch_height_index_of(at(LandmarkId::Instep)?.z, truncated_mm).filter(|index| index.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Landmark;
    use crate::measures::disagreement;
    use std::collections::BTreeSet;

    fn landmarks(navicular_mm: f64, instep_mm: f64, by_hand: bool) -> Landmarks {
        [
            (LandmarkId::Pternion, DVec3::new(0.0, 0.0, 25.0)),
            (LandmarkId::MetatarsaleTibiale, DVec3::new(180.0, 40.0, 15.0)),
            (LandmarkId::Navicular, DVec3::new(96.0, 38.0, navicular_mm)),
            (LandmarkId::Instep, DVec3::new(122.0, 5.0, instep_mm)),
        ]
        .into_iter()
        .map(|(id, at)| (id, Landmark { at, confidence: 0.9, by_hand }))
        .collect()
    }

    fn compare(less: &Landmarks, more: &Landmarks, mass_kg: Option<f64>) -> Result<LoadingChange, ChangeError> {
        let state = |landmarks, weight_bearing| State { landmarks, weight_bearing };
        loading_change(&state(less, WeightBearing::None), &state(more, WeightBearing::Half), mass_kg)
    }

    /// Worked from the definitions: 48 − 42 = 6 mm; 66 / 180 and 62 / 180; 4 mm over 0.5 · 80 kg · 9.80665 m/s².
    #[test]
    fn a_worked_change() {
        let change = compare(&landmarks(48.0, 66.0, true), &landmarks(42.0, 62.0, true), Some(80.0)).unwrap();
        let near = |found: Option<f64>, expected: f64| {
            let found = found.unwrap();
            assert!((found - expected).abs() < 1e-9, "{found} is not {expected}");
        };
        near(change.navicular_drop_mm, 6.0);
        near(change.arch_drop_mm, 4.0);
        near(change.arch_height_index_less, 66.0 / 180.0);
        near(change.arch_height_index_more, 62.0 / 180.0);
        near(change.flexibility_mm_per_kn, 4.0 / 0.392_266);
        assert!(ALL.iter().all(|row| row.value(&change).is_some()));
    }

    /// Published means of 2,180 feet (PMC7393860): a drop of 4.1 mm and 14.3 mm/kN from sitting to standing. Together they
    /// mean 287 N more on the foot, which is 0.4 of the weight of a body of 73 kg.
    #[test]
    fn published_means_fit_together() {
        let found = flexibility_mm_per_kn(4.1, 0.4, 73.0).unwrap();
        assert!((found - 14.3).abs() < 0.1, "{found}");
        assert_eq!(flexibility_mm_per_kn(4.1, 0.0, 73.0), None);
    }

    #[test]
    fn what_is_missing_is_said() {
        let change = compare(&landmarks(48.0, 66.0, false), &landmarks(42.0, 62.0, true), None).unwrap();
        assert_eq!((change.navicular_drop_mm, change.flexibility_mm_per_kn), (None, None));
        assert!(change.notes.iter().any(|note| note.contains("by hand in both")), "{:?}", change.notes);
        assert!(change.notes.iter().any(|note| note.contains("body mass")), "{:?}", change.notes);
        let nothing = compare(&Landmarks::new(), &Landmarks::new(), Some(70.0)).unwrap();
        assert!(ALL.iter().all(|row| row.value(&nothing).is_none()) && nothing.notes.len() == 2);
    }

    #[test]
    fn scans_must_differ_in_load_and_masses_be_those_of_bodies() {
        let marks = landmarks(48.0, 66.0, true);
        let state = |weight_bearing| State { landmarks: &marks, weight_bearing };
        let error = loading_change(&state(WeightBearing::Full), &state(WeightBearing::Half), None).unwrap_err();
        assert!(error.to_string().contains("“full”") && error.to_string().contains("“half”"), "{error}");
        assert!(loading_change(&state(WeightBearing::Half), &state(WeightBearing::Half), None).is_err());
        for mass_kg in [0.0, -70.0, f64::NAN, f64::INFINITY] {
            assert!(matches!(compare(&marks, &marks, Some(mass_kg)), Err(ChangeError::ImpossibleMass { .. })));
        }
    }

    #[test]
    fn every_row_says_what_it_is() {
        let mut ids = BTreeSet::new();
        for ChangeRow { spec, .. } in ALL {
            assert!(ids.insert(spec.id) && !spec.label.is_empty() && !spec.source.text.is_empty(), "{}", spec.id);
            assert!(spec.definition.ends_with('.'), "{}", spec.id);
            assert_eq!(spec.unit == "mm", spec.id.ends_with("_mm"), "{}", spec.id);
        }
    }

    /// Limits as collected by Nielsen et al. 2009: 15 mm (Brody), 13 mm (Beckett), 10 mm (Mueller).
    #[test]
    fn authors_disagree_on_a_drop_of_twelve_millimetres() {
        let [drop, ..] = ALL else { panic!("no rows") };
        let called = |value: f64| -> Vec<&str> { drop.spec.classes.iter().map(|c| c.class_of(value)).collect() };
        assert_eq!(called(12.0), [NORMAL, NORMAL, MORE, "normal"]);
        assert_eq!(called(15.0), [NORMAL, MORE, MORE, "normal"]);
        assert_eq!(called(23.5), [MORE, MORE, MORE, "very flexible"]);
        let said = disagreement(&drop.spec, 12.0).unwrap();
        assert_eq!(disagreement(&drop.spec, 8.0), None);
        for author in ["Brody", "Beckett", "Mueller", "table 3"] {
            assert!(said.contains(author), "{said}");
        }
    }
}
