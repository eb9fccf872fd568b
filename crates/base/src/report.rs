use serde::{Deserialize, Serialize};

/// How much a note or a finding weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// Worth knowing.
    Info,
    /// Look at it before making.
    Check,
    /// Do not make it like this.
    Stop,
}

/// One thing that was done or noticed on the way: partial success that the person must see.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Note {
    /// Stable id, snake_case.
    pub code: String,
    /// How much it weighs.
    pub severity: Severity,
    /// What happened, with its numbers and units.
    pub text: String,
    /// What to do about it; empty if nothing.
    pub advice: String,
}

/// The notes of one piece of work, in the order they arose.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Report {
    /// The notes.
    pub notes: Vec<Note>,
}

impl Report {
    /// Adds a note.
    pub fn add(&mut self, severity: Severity, code: &str, text: impl Into<String>, advice: impl Into<String>) {
        self.notes.push(Note { code: code.to_owned(), severity, text: text.into(), advice: advice.into() });
    }
}
