//! The shop's own builds: kept in this browser, apart from the case and from each other, one entry of its local storage
//! each.

use super::files::{save_text, stem};
use super::state::Ui;
use base::Severity;
use insole::build::{BUILD_EXTENSION, Build};
use leptos::prelude::*;
use web_sys::Storage;

/// Starts the key of every entry; the build's name follows.
const KEY: &str = "solewright-build:";

/// A build as it is kept.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct OwnBuild {
    pub(crate) name: String,
    /// The text of its file.
    pub(crate) text: String,
    /// What it holds, or why it cannot be read.
    pub(crate) build: Result<Build, String>,
}

impl OwnBuild {
    fn new(name: &str, text: String) -> OwnBuild {
        let build = Build::from_json(name, &text).map_err(|error| error.to_string());
        OwnBuild { name: name.to_owned(), text, build }
    }

    /// Hands it to the browser's downloads.
    pub(crate) fn save(&self) {
        save_text(&format!("{}.{BUILD_EXTENSION}", stem(&self.name)), "application/json", &self.text);
    }
}

impl Ui {
    /// Reads what is kept; another tab may have changed it.
    pub(crate) fn read_own_builds(self) {
        self.own_builds.set(kept());
    }

    /// Whether one is kept under this name.
    pub(crate) fn has_own_build(self, name: &str) -> bool {
        self.own_builds.with(|all| all.iter().any(|own| own.name == name))
    }

    /// Keeps the text of a build's file under the build's name, in place of one of that name. Where the browser refuses, it is
    /// downloaded instead, so that it is not lost.
    pub(crate) fn keep_build(self, name: &str, text: &str) {
        let kept = storage().is_some_and(|storage| storage.set_item(&format!("{KEY}{name}"), text).is_ok());
        self.read_own_builds();
        if kept {
            self.notify(Severity::Info, format!("Kept in this browser as “{name}”. Download it to have it elsewhere."));
        } else {
            OwnBuild::new(name, text.to_owned()).save();
            let text = format!("This browser keeps nothing for the page: “{name}” is among your downloads instead.");
            self.notify(Severity::Check, text);
        }
    }

    /// Forgets a build.
    pub(crate) fn forget_build(self, name: &str) {
        if let Some(storage) = storage() {
            // What is not there any more is forgotten.
            let _ = storage.remove_item(&format!("{KEY}{name}"));
        }
        self.read_own_builds();
    }
}

/// Keeps the build of a file; one of the same name that is another is not replaced.
pub(crate) fn take(ui: Ui, file: &str, text: &str) {
    match Build::from_json(file, text) {
        Err(error) => ui.notify(Severity::Check, error.to_string()),
        Ok(build) => {
            ui.read_own_builds();
            let name = build.name.trim();
            let same = |own: &OwnBuild| own.name == name && own.build.as_ref() == Ok(&build);
            if untrack(|| ui.has_own_build(name)) && !ui.own_builds.with_untracked(|all| all.iter().any(same)) {
                let text = format!(
                    "{file}: another build called “{name}” is kept here: remove that one first, or change the name in the file."
                );
                ui.notify(Severity::Check, text);
            } else {
                ui.keep_build(name, text);
            }
        }
    }
}

fn storage() -> Option<Storage> {
    window().local_storage().ok().flatten()
}

fn kept() -> Vec<OwnBuild> {
    let Some(storage) = storage() else { return Vec::new() };
    let keys = (0..storage.length().unwrap_or(0)).filter_map(|index| storage.key(index).ok().flatten());
    let mut names: Vec<String> = keys.filter_map(|key| key.strip_prefix(KEY).map(str::to_owned)).collect();
    names.sort();
    let read = |name: String| {
        let text = storage.get_item(&format!("{KEY}{name}")).ok().flatten()?;
        Some(OwnBuild::new(&name, text))
    };
    names.into_iter().filter_map(read).collect()
}
