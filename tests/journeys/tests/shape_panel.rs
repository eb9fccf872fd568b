//! Shape's panel as a practitioner uses it: elements with their numbers, builds kept in the browser, numbers on both feet,
//! comparison.

mod common;

use anyhow::{Context, Result};
use common::{number, read, snapshot, unfold, until};
use serde_json::Value;
use solewright_journeys::{Page, journey};

/// A number of an element's, as an expression over the snapshot.
fn of(side: &str, index: usize, param: &str) -> String {
    format!("s.feet.{side}.elements[{index}].params.find(p => p.id === '{param}').value")
}

/// A number of the bearing surface, as an expression over the snapshot.
fn surface(side: &str, param: &str) -> String {
    format!("s.feet.{side}.surface.find(p => p.id === '{param}').value")
}

async fn start(page: &Page) -> Result<()> {
    until(page, "the demo pair is there", "s.feet.left && s.feet.right").await?;
    page.wait_until("nothing is under way", "return !document.querySelector('[data-testid=busy]')").await?;
    page.click("stage-shape").await
}

/// A relief on the left foot, 2 mm deep.
async fn relief(page: &Page) -> Result<()> {
    page.click("add-relief").await?;
    until(page, "the relief is there", "s.feet.left.elements.length === 1").await?;
    page.fill("element-1-depth_mm", "2").await?;
    until(page, "it is as deep as said", &format!("{} === 2", of("left", 0, "depth_mm"))).await
}

#[test]
fn an_element_is_added_twinned_and_copied() -> Result<()> {
    journey("shape-elements", async |page| {
        start(page).await?;
        relief(page).await?;
        // What to beware of stands with its numbers; the newest element is open.
        page.wait_for_text("element-1-caution", "inspect the skin").await?;
        assert_eq!(page.attribute("element-1", "aria-expanded").await?.as_deref(), Some("true"));

        page.click("element-1-twin").await?;
        until(page, "the other foot has it", "s.feet.right.elements.length === 1 && s.feet.right.elements[0].twin")
            .await?;
        page.fill("element-1-depth_mm", "1.5").await?;
        until(
            page,
            "both change",
            &format!("{} === 1.5 && {0} === {}", of("left", 0, "depth_mm"), of("right", 0, "depth_mm")),
        )
        .await?;
        // Along the foot and to the medial side: in its own frame the mirrored one has the same numbers.
        let (left, right) =
            (read(page, "/feet/left/elements/0/params").await?, read(page, "/feet/right/elements/0/params").await?);
        assert_eq!(left, right);

        page.click("element-1-twin").await?;
        until(page, "each by itself", "!s.feet.left.elements[0].twin && !s.feet.right.elements[0].twin").await?;
        page.fill("element-1-depth_mm", "2.5").await?;
        until(
            page,
            "only one changes",
            &format!("{} === 2.5 && {} === 1.5", of("left", 0, "depth_mm"), of("right", 0, "depth_mm")),
        )
        .await?;
        page.click("element-1-copy").await?;
        until(page, "a copy is there", "s.feet.right.elements.length === 2").await?;
        assert!((number(page, "/feet/right/elements/1/params/5/value").await? - 2.5).abs() < 1e-9);

        page.click("element-1-on").await?;
        until(page, "it does not act", "!s.feet.left.elements[0].on").await?;
        page.click("element-1-remove").await?;
        until(page, "it is gone", "s.feet.left.elements.length === 0 && s.feet.right.elements.length === 2").await?;

        // By a click: the kind stays pressed until the place is known, and Escape gives up.
        page.click("where-click").await?;
        page.click("place-heel_lift").await?;
        assert_eq!(page.attribute("place-heel_lift", "aria-pressed").await?.as_deref(), Some("true"));
        page.press("Escape").await?;
        page.wait_until(
            "it is given up",
            "return document.querySelector('[data-testid=place-heel_lift]').ariaPressed === 'false'",
        )
        .await
    })
}

#[test]
fn a_number_is_set_and_given_back_on_both_feet() -> Result<()> {
    journey("shape-both", async |page| {
        start(page).await?;
        let before = snapshot(page).await?;
        unfold(page, "cup_depth_mm", "surface-cup_depth_mm").await?;
        page.click("surface-both").await?;
        page.fill("surface-cup_depth_mm", "14").await?;
        let (left, right) = (surface("left", "cup_depth_mm"), surface("right", "cup_depth_mm"));
        until(page, "both cups are set", &format!("{left} === 14 && {right} === 14")).await?;
        page.wait_for_text("decided-cup_depth_mm", "1 set").await?;
        page.click("undo").await?;
        until(page, "in one step", &format!("{left} === 12 && {right} === 12")).await?;

        // A choice among words is one number too.
        unfold(page, "base_thickness_mm", "surface-build").await?;
        page.choose("surface-build", "1").await?;
        let shells = format!("{} === 1 && {} === 1", surface("left", "build"), surface("right", "build"));
        until(page, "both are shells", &shells).await?;
        page.click("surface-build-reset").await?;
        until(
            page,
            "both are given back",
            "['left', 'right'].every(side => s.feet[side].surface.every(p => !p.decided))",
        )
        .await?;
        assert_eq!(page.value("surface-build").await?, "0");

        page.click("surface-both").await?;
        page.fill("surface-cup_depth_mm", "16").await?;
        until(page, "one cup is set", &format!("{left} === 16 && {right} === 12")).await?;
        assert_eq!(read(page, "/feet/right/surface").await?, before["feet"]["right"]["surface"]);
        Ok(())
    })
}

#[test]
fn a_build_is_kept_in_the_browser_and_used_on_the_other_foot() -> Result<()> {
    journey("shape-builds", async |page| {
        start(page).await?;
        // One to start from, on both feet; its element is named anew where a relief was.
        relief(page).await?;
        assert_eq!(page.text("element-1").await?, "Relief");
        page.choose("build-choice", "starter:flat_foot").await?;
        page.wait_for_text("build-about", "low arch").await?;
        page.click("build-use-both").await?;
        until(
            page,
            "both feet have it",
            "['left', 'right'].every(side => s.feet[side].elements[0]?.kind === 'rearfoot_wedge')",
        )
        .await?;
        page.wait_for_exact_text("element-1", "Rearfoot wedge").await?;

        unfold(page, "cup_depth_mm", "surface-cup_depth_mm").await?;
        page.fill("surface-cup_depth_mm", "18").await?;
        until(page, "the left cup is deep", &format!("{} === 18", surface("left", "cup_depth_mm"))).await?;
        page.click("build-save").await?;
        page.type_keys("Shop standard").await?;
        page.press("Enter").await?;
        page.wait_for_text("notice-text", "Kept in this browser").await?;
        page.wait_until("the case is kept", "return window.solewright.kept() === true").await?;

        page.goto("").await?;
        page.wait_ready().await?;
        page.click("stage-shape").await?;
        page.click("side-right").await?;
        page.choose("build-choice", "own:Shop standard").await?;
        let before = snapshot(page).await?;
        page.click("build-use").await?;
        until(page, "the right cup is deep", &format!("{} === 18", surface("right", "cup_depth_mm"))).await?;
        assert_eq!(read(page, "/undo").await?, "use build Shop standard");
        assert_eq!(read(page, "/feet/right/elements").await?.as_array().map(Vec::len), Some(2));
        page.click("undo").await?;
        until(page, "the step is taken back", &format!("{} === 16", surface("right", "cup_depth_mm"))).await?;
        let after = snapshot(page).await?;
        assert_eq!(after["feet"]["right"]["elements"], before["feet"]["right"]["elements"]);

        // Out as a file, away, and in again.
        page.click("build-download").await?;
        let file = page.downloaded("Shop standard.build.json").await?;
        let text: Value = serde_json::from_slice(&std::fs::read(&file)?)?;
        assert_eq!(text["surface"]["cup_depth_mm"].as_f64(), Some(18.0));
        page.click("build-remove").await?;
        let offered = "[...document.querySelectorAll('[data-testid=build-choice] option')].some(o => o.value === 'own:Shop standard')";
        page.wait_until("it is forgotten", &format!("return !{offered}")).await?;
        page.pick_files("build-open", &[&file]).await?;
        page.wait_until("it is there again", &format!("return {offered}")).await?;
        page.click("notice-dismiss").await?;
        // What is no build is said, and nothing is kept of it.
        let folder = tempfile::tempdir()?;
        let letter = folder.path().join("letter.json");
        std::fs::write(&letter, "{\"dear\": \"workshop\"}")?;
        page.pick_files("build-open", &[&letter]).await?;
        page.wait_for_text("notice-text", "letter.json").await
    })
}

#[test]
fn an_element_is_kept_and_added_as_it_was() -> Result<()> {
    journey("shape-presets", async |page| {
        start(page).await?;
        relief(page).await?;
        page.click("element-1-save").await?;
        page.type_keys("Shallow relief").await?;
        page.click("element-1-keep").await?;
        page.click("side-right").await?;
        page.click("preset-Shallow relief").await?;
        until(
            page,
            "the right foot has it",
            &format!("s.feet.right.elements.length === 1 && {} === 2", of("right", 0, "depth_mm")),
        )
        .await?;
        // A name that is there already is replaced only by a button that says so.
        page.click("element-1").await?;
        page.click("element-1-save").await?;
        page.type_keys("Shallow relief").await?;
        page.wait_for_exact_text("element-1-keep", "Replace").await
    })
}

#[test]
fn what_is_compared_is_told_in_figures() -> Result<()> {
    journey("shape-compare", async |page| {
        start(page).await?;
        relief(page).await?;
        unfold(page, "compare", "compare-with").await?;
        page.choose("compare-with", "kept").await?;
        page.wait_for_text("compare-missing", "No version was set aside yet.").await?;
        page.choose("compare-with", "bare").await?;
        page.wait_for_exact_text("compare-least", "−2.0").await?;
        page.wait_for_exact_text("compare-most", "0.0").await?;
        let area = number(page, "/feet/left/compare/area_mm2").await?;
        assert_eq!(page.text("compare-area").await?, format!("{:.1}", area / 100.0));
        page.click("compare-least-show").await?;
        let (x, y) =
            (number(page, "/feet/left/compare/least/1/0").await?, number(page, "/feet/left/compare/least/1/1").await?);
        page.wait_for_text("readout", &format!("x {x:.1}")).await?;
        page.wait_for_text("readout", &format!("y {y:.1}")).await?;

        page.click("set-aside").await?;
        page.choose("compare-with", "kept").await?;
        page.wait_for_exact_text("compare-least", "0.0").await?;
        page.fill("element-1-depth_mm", "3").await?;
        page.wait_for_exact_text("compare-least", "−1.0").await?;
        page.choose("compare-with", "").await?;
        let none = read(page, "/feet/left").await?;
        until(page, "nothing is compared with", "s.feet.left.compare === null").await?;
        none.get("compare").map(drop).context("the snapshot tells what it is compared with")
    })
}

#[test]
fn a_brush_is_chosen_and_laid_down() -> Result<()> {
    journey("shape-brush", async |page| {
        start(page).await?;
        unfold(page, "sculpt", "sculpt-radius").await?;
        page.fill("sculpt-radius", "99").await?;
        assert_eq!(page.value("sculpt-radius").await?, "40");
        page.click("sculpt-smooth").await?;
        page.wait_until(
            "evening out is a share",
            "return document.querySelector('[data-testid=sculpt-strength]').value === '50'",
        )
        .await?;
        page.click("sculpt-raise").await?;
        page.wait_until(
            "raising is a height",
            "return document.querySelector('[data-testid=sculpt-strength]').value === '1.0'",
        )
        .await?;
        assert_eq!(page.attribute("sculpt-raise", "aria-pressed").await?.as_deref(), Some("true"));
        page.click("sculpt-raise").await?;
        assert_eq!(page.attribute("sculpt-raise", "aria-pressed").await?.as_deref(), Some("false"));
        Ok(())
    })
}
