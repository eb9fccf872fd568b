//! Drives the built page in a headless Chromium, as a person would: with mouse, keyboard and touch.
//!
//! A journey is a test with one call of [`journey`]. It serves `target/site` on a port of its own, starts a browser with
//! an empty profile, opens the page and waits until it says that it is ready. Afterwards the browser's console must
//! hold no error; when anything fails, the last picture of the page is in `target/journeys/`.
//!
//! ```no_run
//! use solewright_journeys::journey;
//!
//! # fn main() -> anyhow::Result<()> {
//! journey("heel-cup", async |page| {
//!     page.fill("cup-depth", "14").await?;
//!     page.wait_for_text("cup-depth-shown", "14 mm").await?;
//!     page.press("Ctrl+z").await?;
//!     page.wait_for_text("cup-depth-shown", "12 mm").await
//! })
//! # }
//! ```
//!
//! What a journey looks at is named by `data-testid`, never by the shape of the HTML. What it waits for is a state, never
//! a time: the one time limit, [`PATIENCE`], only ends a journey that would never end.
//!
//! `cargo xtask test --only journeys` builds the page and brings the browser first.

mod console;
mod driver;
mod gestures;
mod journey;
mod keys;
mod page;

pub use gestures::At;
pub use journey::{Device, Scheme, Setting, journey, journey_in};
pub use page::{PATIENCE, Page};
