//! Takes the pictures of the documentation: each stage of the built page, light and dark, and the page on a tablet.
//!
//! `cargo xtask pictures` builds the page first and passes the folder to write to.
#![allow(clippy::print_stdout, reason = "a terminal program")]

use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use solewright_journeys::{Device, Scheme, Setting, journey_in};

/// The stages by their names in the page, in the order of work.
const STAGES: [&str; 6] = ["intake", "measure", "fit", "shape", "grade", "make"];

fn main() -> Result<()> {
    let folder = std::env::args_os().nth(1).context("say the folder to write the pictures to")?;
    let folder = PathBuf::from(folder);
    for (scheme, word) in [(Scheme::Light, "light"), (Scheme::Dark, "dark")] {
        let laptop = Setting { scheme, ..Setting::default() };
        take(&laptop, &STAGES, &folder, word)?;
    }
    let tablet = Setting { device: Device::Tablet, ..Setting::default() };
    take(&tablet, &["shape"], &folder, "tablet")
}

/// One picture a stage, `STAGE-WORD.png`.
fn take(setting: &Setting, stages: &[&str], folder: &Path, word: &str) -> Result<()> {
    journey_in(setting, &format!("pictures-{word}"), async |page| {
        for stage in stages {
            page.click(&format!("stage-{stage}")).await?;
            page.wait_until("nothing is under way", "return !document.querySelector('[data-testid=busy]')").await?;
            page.drawn().await?;
            let picture = folder.join(format!("{stage}-{word}.png"));
            page.screenshot(&picture).await?;
            println!("{}", picture.display());
        }
        Ok(())
    })
}
