//! The browser that the journeys drive.

use std::path::PathBuf;
use std::process::Command;

use anyhow::{Result, bail};
use xtask::places;

use crate::run::cargo;
use crate::system::{apt_install, find_program};

/// Set by a person to use a ChromeDriver that is not on the search path; passed on to the journeys.
const CHROMEDRIVER: &str = "SOLEWRIGHT_CHROMEDRIVER";

/// `cargo SUBCOMMAND` of the journeys' package, which walks through the page in `target/site`.
///
/// # Errors
/// When there is no browser and none can be installed.
pub(crate) fn journeys(subcommand: &str, arguments: &[&str]) -> Result<Command> {
    let driver = ensure()?;
    let mut journeys = cargo([subcommand, "--package", "solewright-journeys"].iter().chain(arguments));
    journeys.env(CHROMEDRIVER, driver).env("SOLEWRIGHT_SITE", places::site());
    Ok(journeys)
}

/// Returns the ChromeDriver to use, after installing it with its Chromium where neither is there.
fn ensure() -> Result<PathBuf> {
    if let Some(path) = std::env::var_os(CHROMEDRIVER) {
        return Ok(path.into());
    }
    if let (Some(driver), true) = (find_program("chromedriver"), has_browser()) {
        return Ok(driver);
    }
    let why =
        format!("The browser journeys need Chromium and its ChromeDriver on the search path (or in {CHROMEDRIVER})");
    apt_install(&["chromium", "chromium-driver"], &why)?;
    match find_program("chromedriver") {
        Some(driver) => Ok(driver),
        None => bail!("{why}; the packages brought no `chromedriver`"),
    }
}

fn has_browser() -> bool {
    // macOS and Windows keep browsers elsewhere; ChromeDriver finds them there.
    !cfg!(target_os = "linux")
        || ["chromium", "chromium-browser", "google-chrome"].iter().any(|name| find_program(name).is_some())
}
