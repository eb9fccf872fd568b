//! What journeys through the bench read and where they point.
#![allow(dead_code, reason = "each journey file uses its own part")]

use anyhow::{Context, Result};
use serde_json::Value;
use solewright_journeys::{At, Page, Setting};
use std::path::PathBuf;

/// A scan of `sample-scans/`.
pub(crate) fn sample(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../sample-scans").join(name)
}

/// The page without a demo: a practitioner's first day.
pub(crate) fn empty() -> Setting {
    Setting { path: "?demo=none".into(), ..Setting::default() }
}

/// The latest snapshot.
pub(crate) async fn snapshot(page: &Page) -> Result<Value> {
    let text = page.eval("return window.solewright.snapshot()").await?;
    serde_json::from_str(text.as_str().context("the snapshot is no text")?).context("the snapshot is no JSON")
}

/// The part of the latest snapshot that `pointer` names, `/feet/right/…`.
pub(crate) async fn read(page: &Page, pointer: &str) -> Result<Value> {
    snapshot(page).await?.pointer(pointer).cloned().with_context(|| format!("the snapshot has no {pointer}"))
}

/// A number of the latest snapshot.
pub(crate) async fn number(page: &Page, pointer: &str) -> Result<f64> {
    read(page, pointer).await?.as_f64().with_context(|| format!("{pointer} is no number"))
}

/// Waits until an expression over the latest snapshot `s` holds.
pub(crate) async fn until(page: &Page, what: &str, expression: &str) -> Result<()> {
    let script = format!("const s = JSON.parse(window.solewright.snapshot()); return Boolean(s && ({expression}))");
    page.wait_until(what, &script).await?;
    page.drawn().await
}

/// The value of a measure of a foot.
pub(crate) async fn measure(page: &Page, side: &str, id: &str) -> Result<f64> {
    let all = read(page, &format!("/feet/{side}/measures")).await?;
    let found = all.as_array().into_iter().flatten().find(|measure| measure["id"] == id);
    found.and_then(|measure| measure["value"].as_f64()).with_context(|| format!("no value of {id}"))
}

/// Where a landmark lies in the foot frame.
pub(crate) async fn landmark(page: &Page, side: &str, id: &str) -> Result<([f64; 3], bool)> {
    let all = read(page, &format!("/feet/{side}/landmarks")).await?;
    let found = all.as_array().into_iter().flatten().find(|landmark| landmark["id"] == id).cloned();
    let found = found.with_context(|| format!("no landmark {id}"))?;
    Ok((serde_json::from_value(found["at"].clone())?, found["by_hand"] == true))
}

/// The first handle whose target holds all of `words`, `["element", "move"]`.
pub(crate) async fn handle(page: &Page, side: &str, words: &[&str]) -> Result<[f64; 3]> {
    let all = read(page, &format!("/feet/{side}/handles")).await?;
    let fits = |handle: &&Value| words.iter().all(|word| handle["target"].to_string().contains(word));
    let found = all.as_array().into_iter().flatten().find(fits).cloned();
    let found = found.with_context(|| format!("no handle for {words:?} in {all}"))?;
    Ok(serde_json::from_value(found["at"].clone())?)
}

/// Looks from a standpoint in the 3D view and waits until the camera has come there.
pub(crate) async fn look_from(page: &Page, preset: &str) -> Result<()> {
    page.choose("preset", preset).await?;
    let still = "const at = () => JSON.stringify(window.solewright.project('right', 100, 0, 0));
        const frames = (n) => n === 0 ? Promise.resolve() : new Promise(requestAnimationFrame).then(() => frames(n - 1));
        const before = at();
        return frames(20).then(() => at() === before)";
    page.wait_until("the camera stands still", still).await
}

/// Where a point of the foot frame lies in the 3D view.
pub(crate) async fn in_3d(page: &Page, side: &str, [x, y, z]: [f64; 3]) -> Result<At> {
    place(page, &format!("return window.solewright.project('{side}', {x}, {y}, {z})")).await
}

/// Where a plan position lies on the sheet.
pub(crate) async fn on_plan(page: &Page, side: &str, x: f64, y: f64) -> Result<At> {
    place(page, &format!("return window.solewright.plan_point('{side}', {x}, {y})")).await
}

async fn place(page: &Page, script: &str) -> Result<At> {
    page.drawn().await?;
    let [x, y]: [f64; 2] = serde_json::from_value(page.eval(script).await?).context("it is not in the view")?;
    Ok(At { x, y })
}

/// Unfolds a part of the panel, or a group of numbers, unless what is looked for in it shows already.
pub(crate) async fn unfold(page: &Page, part: &str, testid: &str) -> Result<()> {
    if !page.shows(testid).await? {
        page.click(&format!("part-{part}")).await?;
    }
    page.drawn().await
}

/// Brings in the ordinary pair's scan of one side on an empty page and says how the feet were loaded.
pub(crate) async fn bring_in_right(page: &Page) -> Result<()> {
    page.pick_files("bring-in-scan", &[&sample("ordinary-right.stl")]).await?;
    until(page, "the right foot is measured", "s.feet.right && s.feet.right.landmarks.length > 5").await?;
    page.wait_until("nothing is under way", "return !document.querySelector('[data-testid=busy]')").await
}
