use crate::family::PARAMS;
use crate::presets::{LastPreset, param};
use crate::profile::{PROFILE, ProfileError, check};
use base::Params;
use serde::de::{Deserializer, Error, MapAccess, Visitor};
use serde::{Deserialize, Serialize};
use std::fmt;

/// Version of the preset file this program writes.
const VERSION: u32 = 1;

/// The usual ending of a preset's file.
pub const PRESET_EXTENSION: &str = "last.json";

/// A practitioner's own preset, as a file: JSON with the version first. What is read has only known numbers in their ranges; what
/// was written reads back equal.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PresetFile {
    /// Version of the format.
    solewright_last: u32,
    /// What it is called.
    pub name: String,
    /// What it is for.
    #[serde(default)]
    pub note: String,
    /// Its numbers by id, out of [`PARAMS`] and [`PROFILE`].
    #[serde(deserialize_with = "each_once")]
    pub params: Params,
}

/// Why a preset cannot be read or written. `file` is the file's name, or the preset's when it is written.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PresetError {
    /// Not JSON of the form of a preset.
    #[error("{file}: not a last preset: line {line}, column {column}: {reason}: choose a file saved as a preset")]
    NotAPreset {
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
        "{file}: saved in version {found} of the preset file, this program reads version {VERSION}: open it with a newer Solewright"
    )]
    Version {
        /// The file's name.
        file: String,
        /// Version found.
        found: u32,
    },
    /// Without a name, or with one longer than a form shows.
    #[error("{file}: a preset needs a name of 1 to {MOST_LETTERS} letters: write one behind \"name\"")]
    Name {
        /// The file's name.
        file: String,
    },
    /// No last has this number.
    #[error("{file}: a last has no number `{id}`: remove it; there are {}", known())]
    UnknownParam {
        /// The file's name.
        file: String,
        /// The number's id.
        id: String,
    },
    /// Out of its range.
    #[error("{file}: {range}: correct it in the file")]
    OutOfRange {
        /// The file's name.
        file: String,
        /// The number with its range.
        range: ProfileError,
    },
}

/// Longest name, letters.
const MOST_LETTERS: usize = 80;

#[derive(Deserialize)]
struct Version {
    solewright_last: u32,
}

impl PresetFile {
    /// A preset of these numbers. What is out of range is refused when it is written.
    #[must_use]
    pub fn new(name: impl Into<String>, note: impl Into<String>, params: Params) -> PresetFile {
        PresetFile { solewright_last: VERSION, name: name.into(), note: note.into(), params }
    }

    /// As text for a file.
    ///
    /// # Errors
    /// No name, a number unknown or out of its range.
    pub fn to_json(&self) -> Result<String, PresetError> {
        self.check(&self.name)?;
        serde_json::to_string_pretty(self).map_err(|error| not_a_preset(&self.name, &error))
    }

    /// Reads the text of the file called `file`.
    ///
    /// # Errors
    /// Not a preset, another version, no name, a number unknown, given twice or out of its range.
    pub fn from_json(file: &str, text: &str) -> Result<PresetFile, PresetError> {
        // The version first: a later one may hold what this program does not know.
        let version: Version = serde_json::from_str(text).map_err(|error| not_a_preset(file, &error))?;
        if version.solewright_last != VERSION {
            return Err(PresetError::Version { file: file.to_owned(), found: version.solewright_last });
        }
        let preset: PresetFile = serde_json::from_str(text).map_err(|error| not_a_preset(file, &error))?;
        preset.check(file)?;
        Ok(preset)
    }

    fn check(&self, file: &str) -> Result<(), PresetError> {
        if self.name.trim().is_empty() || self.name.chars().count() > MOST_LETTERS {
            return Err(PresetError::Name { file: file.to_owned() });
        }
        for (id, &value) in &self.params {
            let unknown = || PresetError::UnknownParam { file: file.to_owned(), id: id.clone() };
            let spec = param(id).ok_or_else(unknown)?;
            check(spec, value).map_err(|range| PresetError::OutOfRange { file: file.to_owned(), range })?;
        }
        Ok(())
    }
}

impl From<&LastPreset> for PresetFile {
    fn from(preset: &LastPreset) -> Self {
        PresetFile::new(preset.label, preset.purpose, preset.params())
    }
}

fn known() -> String {
    PARAMS.iter().chain(PROFILE).map(|spec| spec.id).collect::<Vec<_>>().join(", ")
}

fn not_a_preset(file: &str, error: &serde_json::Error) -> PresetError {
    let text = error.to_string();
    // The library ends with the place, which is told before the reason.
    let reason = text.split(" at line ").next().unwrap_or_default().to_owned();
    PresetError::NotAPreset { file: file.to_owned(), line: error.line(), column: error.column(), reason }
}

/// Reads numbers by id and refuses one that is given twice: which of the two was meant, nobody knows.
fn each_once<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Params, D::Error> {
    struct Once;
    impl<'de> Visitor<'de> for Once {
        type Value = Params;
        fn expecting(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
            formatter.write_str("numbers by id")
        }
        fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Params, A::Error> {
            let mut params = Params::new();
            while let Some((id, value)) = map.next_entry::<String, f64>()? {
                if params.contains_key(&id) {
                    return Err(A::Error::custom(format_args!("`{id}` is given twice")));
                }
                params.insert(id, value);
            }
            Ok(params)
        }
    }
    deserializer.deserialize_map(Once)
}
