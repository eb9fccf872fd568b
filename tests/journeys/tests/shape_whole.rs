//! Two insoles from scan to solid: a forefoot at risk by mouse, a flat foot by the keyboard alone.

mod common;

use anyhow::{Result, bail};
use common::{handle, number, on_plan, read, unfold, until};
use solewright_journeys::{Page, journey};
use std::path::Path;

/// The file is a binary STL of a solid: its length is what its count of triangles says.
fn is_solid(file: &Path) -> Result<()> {
    let bytes = std::fs::read(file)?;
    let count = bytes.get(80..84).map_or(0, |n| u32::from_le_bytes([n[0], n[1], n[2], n[3]]));
    assert!(count > 10_000 && bytes.len() == 84 + 50 * count as usize, "{count} triangles in {} bytes", bytes.len());
    Ok(())
}

#[test]
fn a_forefoot_at_risk_from_scan_to_solid_by_mouse() -> Result<()> {
    journey("whole-mouse", async |page| {
        page.click("weight-bearing-half").await?;
        until(page, "the load is stated", "s.weight_bearing === 'half'").await?;
        page.click("stage-shape").await?;
        page.choose("build-choice", "starter:forefoot_at_risk").await?;
        page.click("build-use-both").await?;
        let both = "['left', 'right'].every(side => s.feet[side].elements.length === 2)";
        until(page, "both feet have pad and relief", both).await?;

        // The pad a little back on the right foot, by its front; the relief under the second head.
        page.click("side-right").await?;
        let front = handle(page, "right", &["element", "front"]).await?;
        let at = on_plan(page, "right", front[0], front[1]).await?;
        page.mouse_drag(at, at.by(0.0, 9.0)).await?;
        until(page, "the pad is moved", "/element/.test(s.undo ?? '')").await?;
        let after = handle(page, "right", &["element", "front"]).await?;
        assert!(after[0] < front[0] - 1.0, "{front:?} → {after:?}");

        // What it does to the surface, in figures: the pad is 6 mm high, the relief 2.5 mm deep.
        unfold(page, "compare", "compare-with").await?;
        page.choose("compare-with", "bare").await?;
        until(page, "it is compared", "s.feet.right.compare?.missing === null").await?;
        let (most, least) =
            (number(page, "/feet/right/compare/most/0").await?, number(page, "/feet/right/compare/least/0").await?);
        assert!((most - 6.0).abs() < 0.2 && (least + 2.5).abs() < 0.2, "{most} and {least}");

        page.click("stage-make").await?;
        page.click("download-solid-right").await?;
        is_solid(&page.downloaded("insole-right-solid-stl.stl").await?)
    })
}

/// Moves the focus by the Tab key until it is on an element.
async fn tab_to(page: &Page, testid: &str) -> Result<()> {
    let here = format!("return document.activeElement?.dataset?.testid === '{testid}'");
    for _ in 0..400 {
        if page.eval(&here).await? == true {
            return Ok(());
        }
        page.press("Tab").await?;
    }
    bail!("`{testid}` is not reached by the Tab key")
}

/// Reaches a control by the Tab key and presses it.
async fn press(page: &Page, testid: &str, key: &str) -> Result<()> {
    tab_to(page, testid).await?;
    page.press(key).await
}

#[test]
fn a_flat_foot_from_scan_to_solid_by_the_keyboard_alone() -> Result<()> {
    journey("whole-keys", async |page| {
        tab_to(page, "demo").await?;
        page.type_keys("Flat").await?;
        until(page, "the flat feet are there", "s.feet.right?.scan_name === 'flat-right.stl'").await?;
        // Of a group of choices the Tab key reaches one, the arrows the others.
        tab_to(page, "weight-bearing-none").await?;
        page.press("ArrowDown").await?;
        until(page, "the load is stated", "s.weight_bearing === 'half'").await?;

        press(page, "stage-shape", "Enter").await?;
        tab_to(page, "build-choice").await?;
        page.type_keys("Flat").await?;
        page.wait_for_text("build-about", "low arch").await?;
        press(page, "build-use-both", "Enter").await?;
        let both = "['left', 'right'].every(side => s.feet[side].elements.length === 2)";
        until(page, "both feet have wedge and flange", both).await?;

        // One element more, its height by its field, moved by the arrow keys on the plan.
        press(page, "add-scaphoid_pad", "Enter").await?;
        let side = if page.attribute("side-left", "aria-pressed").await?.as_deref() == Some("true") {
            "left"
        } else {
            "right"
        };
        let at = format!("s.feet.{side}.elements[2]");
        until(page, "the pad is there", &format!("{at}?.kind === 'scaphoid_pad'")).await?;
        let id = number(page, &format!("/feet/{side}/elements/2/id")).await?;
        let value = |param: &str| format!("{at}.params.find(p => p.id === '{param}').value");
        tab_to(page, &format!("element-{id}-height_mm")).await?;
        page.press("Ctrl+a").await?;
        page.type_keys("4.5").await?;
        page.press("Enter").await?;
        until(page, "the pad is 4.5 mm high", &format!("{} === 4.5", value("height_mm"))).await?;
        let before = read(page, &format!("/feet/{side}/elements/2/params")).await?;
        tab_to(page, &format!("plan-{side}-element-{id}-crest")).await?;
        for _ in 0..4 {
            page.press("ArrowUp").await?;
        }
        until(page, "the pad is moved", &format!("JSON.stringify({at}.params) !== JSON.stringify({before})")).await?;

        press(page, "stage-make", "Enter").await?;
        press(page, &format!("download-solid-{side}"), "Enter").await?;
        is_solid(&page.downloaded(&format!("insole-{side}-solid-stl.stl")).await?)
    })
}
