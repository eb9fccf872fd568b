//! Builds: a shop's own ways of making an insole, or single elements, kept as files and used on any foot.
//!
//! What a rule places by the landmarks is kept as the difference from the rule, so that on another foot it lies where it belongs
//! there; every other number is kept as it is.

use crate::elements::{self, Element, ElementItem, Site};
use crate::params::PARAMS;
use base::{ParamSpec, Params};
use foot::Landmarks;
use glam::DVec2;
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Version of the file this program writes.
const VERSION: u32 = 1;
/// The usual ending of a build's file.
pub const BUILD_EXTENSION: &str = "build.json";
/// Longest name, letters.
const MOST_LETTERS: usize = 80;

/// A build, as its file holds it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Build {
    /// Version of the format.
    solewright_build: u32,
    /// What it is called.
    pub name: String,
    /// What it is for.
    #[serde(default)]
    pub note: String,
    /// Numbers of the insole, by the ids of [`PARAMS`]; `None`: it is about elements only, which are added to what is there.
    #[serde(default)]
    pub surface: Option<Params>,
    /// Its elements.
    #[serde(default)]
    pub elements: Vec<BuildElement>,
}

/// An element of a build.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct BuildElement {
    /// Id of its kind.
    pub kind: String,
    /// Numbers as they are.
    pub set: Params,
    /// Numbers by how much they differ from what the kind's rule gives on the foot.
    pub moved: Params,
    /// Points of its drawn curve, from its middle, mm.
    pub curve: Vec<[f64; 2]>,
    /// What it says.
    pub text: String,
}

/// Why a build cannot be read or written. `file` is the file's name, or the build's when it is written.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum BuildError {
    /// Not JSON of the form of a build.
    #[error("{file}: not a build: line {line}, column {column}: {reason}: choose a file saved as a build")]
    NotABuild {
        /// The file's name.
        file: String,
        /// Line, from 1.
        line: usize,
        /// Column, from 1.
        column: usize,
        /// What was wrong.
        reason: String,
    },
    /// Written in another version.
    #[error(
        "{file}: saved in version {found} of the build file, this program reads version {VERSION}: open it with a newer Solewright"
    )]
    Version {
        /// The file's name.
        file: String,
        /// Version found.
        found: u32,
    },
    /// Without a name, or with one longer than a form shows.
    #[error("{file}: a build needs a name of 1 to {MOST_LETTERS} letters: write one behind \"name\"")]
    Name {
        /// The file's name.
        file: String,
    },
    /// No such number, kind of element, or a number out of its range.
    #[error("{file}: {what}: correct it in the file")]
    Content {
        /// The file's name.
        file: String,
        /// What is wrong.
        what: String,
    },
}

impl Build {
    /// A build of this content. What no foot could take is refused when it is written.
    #[must_use]
    pub fn new(name: &str, note: &str, surface: Option<Params>, elements: Vec<BuildElement>) -> Build {
        Build { solewright_build: VERSION, name: name.to_owned(), note: note.to_owned(), surface, elements }
    }

    /// Reads a build. `file` is named in errors.
    ///
    /// # Errors
    /// See [`BuildError`].
    pub fn from_json(file: &str, text: &str) -> Result<Build, BuildError> {
        #[derive(Deserialize)]
        struct Version {
            solewright_build: u32,
        }
        let bad = |error: serde_json::Error| BuildError::NotABuild {
            file: file.to_owned(),
            line: error.line(),
            column: error.column(),
            reason: error.to_string(),
        };
        let found = serde_json::from_str::<Version>(text).map_err(bad)?.solewright_build;
        if found != VERSION {
            return Err(BuildError::Version { file: file.to_owned(), found });
        }
        let build: Build = serde_json::from_str(text).map_err(bad)?;
        build.check(file)?;
        Ok(build)
    }

    /// The build as the text of its file.
    ///
    /// # Errors
    /// See [`BuildError`].
    pub fn to_json(&self) -> Result<String, BuildError> {
        self.check(&self.name)?;
        // Maps with string keys, strings and finite numbers: nothing in it can fail to be written.
        Ok(serde_json::to_string_pretty(self).unwrap_or_default())
    }

    fn check(&self, file: &str) -> Result<(), BuildError> {
        let letters = self.name.trim().chars().count();
        if letters == 0 || letters > MOST_LETTERS {
            return Err(BuildError::Name { file: file.to_owned() });
        }
        let wrong = |what: String| BuildError::Content { file: file.to_owned(), what };
        for (id, &value) in self.surface.iter().flatten() {
            within("the insole", PARAMS, id, value).map_err(wrong)?;
        }
        for element in &self.elements {
            let kind = elements::by_id(&element.kind)
                .ok_or_else(|| wrong(format!("there is no element called `{}`", element.kind)))?;
            for (id, &value) in &element.set {
                within(kind.label(), kind.params(), id, value).map_err(wrong)?;
            }
            for (id, value) in &element.moved {
                let known = kind.params().iter().any(|spec| spec.id == id);
                if !known || !value.is_finite() {
                    return Err(wrong(format!("{} cannot be moved by `{id}` {value}", kind.label())));
                }
            }
            if element.curve.iter().flatten().any(|n| !n.is_finite() || n.abs() > 500.0) {
                return Err(wrong(format!("{} is drawn to a place that is not near it", kind.label())));
            }
        }
        Ok(())
    }
}

fn within(of: &str, specs: &[ParamSpec], id: &str, value: f64) -> Result<(), String> {
    let spec = specs.iter().find(|spec| spec.id == id).ok_or_else(|| format!("{of} has no number `{id}`"))?;
    let ParamSpec { label, min, max, unit, .. } = spec;
    if spec.accepts(value) {
        return Ok(());
    }
    Err(format!("{label} of {of} is {value} {unit}, outside {min} to {max} {unit}"))
}

impl BuildElement {
    /// What is to be kept of an element placed on a foot; `None` for a kind that is not known.
    #[must_use]
    pub fn of(item: &ElementItem, site: &Site) -> Option<BuildElement> {
        let element = elements::by_id(&item.kind)?;
        let (rule, without) = (element.place(site), without_landmarks(element, site));
        let mut kept = BuildElement { kind: item.kind.clone(), text: item.text.clone(), ..BuildElement::default() };
        for spec in element.params() {
            let value = base::value_of(&item.params, spec);
            let by_rule = rule.get(spec.id).copied().unwrap_or(spec.default);
            let alike = |a: f64, b: f64| a.total_cmp(&b).is_eq();
            let follows_foot = without.get(spec.id).is_none_or(|other| !alike(*other, by_rule));
            if !alike(value, by_rule) {
                let (map, number) =
                    if follows_foot { (&mut kept.moved, value - by_rule) } else { (&mut kept.set, value) };
                map.insert(spec.id.to_owned(), number);
            }
        }
        let from = middle(element, &item.params, site);
        kept.curve = item.curve.iter().map(|&point| (DVec2::from_array(point) - from).to_array()).collect();
        Some(kept)
    }

    /// The element on a foot, with number 1; `None` for a kind that is not known. A number that would leave its range stops
    /// at the end of it.
    #[must_use]
    pub fn on(&self, site: &Site) -> Option<ElementItem> {
        let element = elements::by_id(&self.kind)?;
        let mut params = element.place(site);
        for spec in element.params() {
            let by_rule = params.get(spec.id).copied().unwrap_or(spec.default);
            let moved = self.moved.get(spec.id).map_or(by_rule, |by| by_rule + by);
            let value = self.set.get(spec.id).copied().unwrap_or(moved);
            params.insert(spec.id.to_owned(), value.clamp(spec.min, spec.max));
        }
        let from = middle(element, &params, site);
        let curve = self.curve.iter().map(|&point| (DVec2::from_array(point) + from).to_array()).collect();
        Some(ElementItem { curve, text: self.text.clone(), ..ElementItem::new(&self.kind, params) })
    }
}

/// The numbers of a kind on a foot without landmarks: those that are different follow the foot.
fn without_landmarks(element: &dyn Element, site: &Site) -> Params {
    element.place(&Site { landmarks: &Landmarks::new(), edge: site.edge })
}

/// Where an element is taken hold of as a whole.
fn middle(element: &dyn Element, params: &Params, site: &Site) -> DVec2 {
    let item = ElementItem::new(element.id(), params.clone());
    element.handles(&item, site.edge).first().map_or(DVec2::ZERO, |handle| handle.at)
}

/// A build to start from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StarterBuild {
    /// Stable id.
    pub id: &'static str,
    /// Its name.
    pub label: &'static str,
    /// What it is for and what to look at.
    pub about: &'static str,
    surface: &'static [(&'static str, f64)],
    elements: &'static [(&'static str, &'static [(&'static str, f64)])],
}

impl StarterBuild {
    /// The build.
    #[must_use]
    pub fn build(&self) -> Build {
        let params = |pairs: &[(&str, f64)]| pairs.iter().map(|&(id, value)| (id.to_owned(), value)).collect();
        let elements = self.elements.iter().map(|&(kind, set)| BuildElement {
            kind: kind.to_owned(),
            set: params(set),
            ..BuildElement::default()
        });
        Build::new(self.label, self.about, Some(params(self.surface)), elements.collect())
    }
}

/// Builds to start from, all of them common practice without a published recipe: every number is to be looked at on the foot.
pub const STARTERS: &[StarterBuild] = &[
    StarterBuild {
        id: "plain",
        label: "Plain insole",
        about: "A flat block with a shallow cup and a low arch: what a shoe comes with, to compare with.",
        surface: &[
            ("arch_fill", 0.4),
            ("cup_depth_mm", 6.0),
            ("conform_heel", 30.0),
            ("conform_medial", 40.0),
            ("conform_lateral", 0.0),
            ("lateral_height_mm", 2.0),
        ],
        elements: &[],
    },
    StarterBuild {
        id: "forefoot_at_risk",
        label: "Forefoot at risk",
        about: "Total contact for a foot that does not feel: deep cup, forefoot conforming, a pad behind the heads and a \
                relief under the first head under a 6 mm cover. Move pad and relief to the places that carry most.",
        surface: &[
            ("cup_depth_mm", 15.0),
            ("conform_forefoot", 60.0),
            ("conform_toes", 30.0),
            ("cover_mm", 6.0),
            ("base_thickness_mm", 11.0),
            ("rim_rounding_mm", 2.0),
        ],
        elements: &[("metatarsal_pad", &[("height_mm", 6.0)]), ("relief", &[("depth_mm", 2.5), ("blend_mm", 14.0)])],
    },
    StarterBuild {
        id: "flat_foot",
        label: "Flat foot",
        about: "Carries a low arch: deep cup, the arch filled well, a medial wedge under the heel and a medial flange.",
        surface: &[("cup_depth_mm", 16.0), ("arch_fill", 1.0), ("lateral_height_mm", 8.0), ("rim_rounding_mm", 2.0)],
        elements: &[("rearfoot_wedge", &[("angle_deg", 4.0)]), ("flange", &[("height_mm", 4.0)])],
    },
    StarterBuild {
        id: "high_arch",
        label: "High arch",
        about: "Spreads the load of a stiff, high arch over its whole length: full contact, soft cover, wide support behind \
                the heads.",
        surface: &[
            ("cup_depth_mm", 14.0),
            ("arch_fill", 0.9),
            ("lateral_arch_mm", 2.0),
            ("transverse_arch_mm", 2.5),
            ("conform_forefoot", 40.0),
            ("cover_mm", 4.0),
            ("base_thickness_mm", 7.0),
        ],
        elements: &[],
    },
    StarterBuild {
        id: "heel_pain",
        label: "Sore heel",
        about: "A deep cup that keeps the pad of the heel together, with a cushion under it.",
        surface: &[("cup_depth_mm", 16.0), ("heel_expansion_mm", 0.5), ("base_thickness_mm", 7.0)],
        elements: &[("heel_cushion", &[])],
    },
    StarterBuild {
        id: "thin_shell",
        label: "Thin shell",
        about: "A stiff shell of even thickness for tight shoes, hollow under the arch, with a thin cover.",
        surface: &[
            ("build", 1.0),
            ("shell_heel_mm", 3.0),
            ("shell_arch_mm", 3.0),
            ("shell_forefoot_mm", 2.0),
            ("cover_mm", 2.0),
        ],
        elements: &[],
    },
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::test_foot::{TestFoot, edge};
    use std::collections::BTreeSet;

    #[test]
    fn every_starter_is_a_build_with_a_name_of_its_own() {
        let ids: BTreeSet<&str> = STARTERS.iter().map(|starter| starter.id).collect();
        assert_eq!(ids.len(), STARTERS.len());
        let (foot, edge) = (TestFoot::new(), edge());
        for starter in STARTERS {
            let build = starter.build();
            let text = build.to_json().unwrap();
            assert_eq!(Build::from_json("b", &text).unwrap(), build, "{}", starter.id);
            let site = Site { landmarks: &foot.landmarks, edge: &edge };
            assert!(build.elements.iter().all(|element| element.on(&site).is_some()), "{}", starter.id);
        }
    }

    #[test]
    fn what_was_kept_of_a_foot_comes_back_on_it_and_follows_another() {
        let (foot, edge) = (TestFoot::new(), edge());
        let site = Site { landmarks: &foot.landmarks, edge: &edge };
        for &kind in elements::ALL {
            let mut item = ElementItem::new(kind.id(), kind.place(&site));
            for spec in kind.params() {
                let now = item.params[spec.id];
                let other = if now + spec.step <= spec.max { now + spec.step } else { now - spec.step };
                item.params.insert(spec.id.to_owned(), other);
            }
            if kind.is_drawn() {
                item.curve = vec![[150.0, 0.0], [170.0, 4.0], [160.0, 20.0]];
            }
            let kept = BuildElement::of(&item, &site).unwrap();
            let back = kept.on(&site).unwrap();
            for (id, value) in &item.params {
                assert!((back.params[id] - value).abs() < 1e-9, "{} {id}", kind.id());
            }
            assert!(back.curve.iter().flatten().zip(item.curve.iter().flatten()).all(|(a, b)| (a - b).abs() < 1e-9));
        }
        // A pad 3 mm further forward than its rule is that on a longer foot too.
        let pad = elements::by_id("metatarsal_pad").unwrap();
        let mut item = ElementItem::new(pad.id(), pad.place(&site));
        item.params.entry("x_mm".to_owned()).and_modify(|x| *x += 3.0);
        let kept = BuildElement::of(&item, &site).unwrap();
        assert_eq!((kept.set.len(), kept.moved.len()), (0, 1));
        let mut longer = foot.landmarks.clone();
        longer.values_mut().for_each(|mark| mark.at.x *= 1.1);
        let there = Site { landmarks: &longer, edge: &edge };
        let placed = kept.on(&there).unwrap().params["x_mm"];
        assert!((placed - pad.place(&there)["x_mm"] - 3.0).abs() < 1e-9);
    }

    #[test]
    fn a_file_that_is_no_build_says_what_is_wrong() {
        let with = |change: &str| format!(r#"{{"solewright_build": 1, "name": "n", {change}}}"#);
        for (text, word) in [
            ("", "line 1"),
            (r#"{"solewright_build": 7, "name": "n"}"#, "version 7"),
            (r#"{"solewright_build": 1, "name": ""}"#, "a build needs a name"),
            (&with(r#""surface": {"cup_depth_mm": 90}"#), "outside 0 to 25 mm"),
            (&with(r#""surface": {"depth": 1}"#), "no number `depth`"),
            (&with(r#""elements": [{"kind": "spring"}]"#), "no element called `spring`"),
            (&with(r#""elements": [{"kind": "relief", "moved": {"x": 1}}]"#), "cannot be moved by `x`"),
            (&with(r#""colour": 1"#), "unknown field"),
        ] {
            let error = Build::from_json("own.json", text).unwrap_err().to_string();
            assert!(error.starts_with("own.json: ") && error.contains(word), "{error}");
        }
    }
}
