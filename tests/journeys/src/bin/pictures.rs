//! Takes the pictures of the documentation: each stage of the built page, light and dark, and the page on a tablet.
//!
//! `cargo xtask pictures` builds the page first and passes the folder to write to.
#![allow(clippy::print_stdout, reason = "a terminal program")]

use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use solewright_journeys::{At, Device, Page, Scheme, Setting, journey_in};

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
            work(page, stage).await?;
            page.wait_until("nothing is under way", "return !document.querySelector('[data-testid=busy]')").await?;
            // The 3D view draws coarsely while it moves and finely when it has come to rest.
            page.eval("return new Promise((done) => setTimeout(() => done(true), 1500))").await?;
            let picture = folder.join(format!("{stage}-{word}.png"));
            page.screenshot(&picture).await?;
            println!("{}", picture.display());
        }
        Ok(())
    })
}

/// What a practitioner would have done in a stage: pictures of a pair in work tell more than those of a bare one.
async fn work(page: &Page, stage: &str) -> Result<()> {
    match stage {
        "measure" => page.click("measure-foot_breadth_mm").await,
        "shape" => page.click("add-metatarsal_pad").await,
        "grade" => {
            page.fill("new-shore-a", "20").await?;
            page.click("draw-region").await?;
            for (x, y) in [(10.0, -22.0), (55.0, -24.0), (62.0, 0.0), (55.0, 22.0), (10.0, 20.0)] {
                page.drawn().await?;
                let place = page.eval(&format!("return window.solewright.plan_point('left', {x}, {y})")).await?;
                let [x, y]: [f64; 2] = serde_json::from_value(place)?;
                page.mouse_click(At { x, y }).await?;
            }
            page.press("Enter").await
        }
        _ => Ok(()),
    }
}
