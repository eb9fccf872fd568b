//! What the journeys rely on: that a gesture, a key, a file or an error really arrives where a person's would.

use std::fs;
use std::path::Path;

use anyhow::Result;
use solewright_journeys::{At, Device, Scheme, Setting, journey_in};

fn playground() -> Setting {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/playground");
    Setting { folder, ..Setting::default() }
}

const PLACE: At = At { x: 200.0, y: 100.0 };

#[test]
fn mouse_and_keys_arrive() -> Result<()> {
    journey_in(&playground(), "harness-mouse", async |page| {
        page.mouse_drag(PLACE, PLACE.by(120.0, 40.0)).await?;
        page.wait_for_text("gesture", "mouse 200,100 by 120,40 moves many fingers 1 shift false").await?;
        page.mouse_drag_holding("Shift", PLACE, PLACE.by(0.0, 60.0)).await?;
        page.wait_for_text("gesture", "mouse 200,100 by 0,60 moves many fingers 1 shift true").await?;
        page.mouse_click(PLACE).await?;
        page.wait_for_text("gesture", "mouse 200,100 by 0,0 moves 0 fingers 1 shift false").await?;

        // A key in the middle of a drag: what Escape has to be able to interrupt.
        page.mouse_down(PLACE).await?;
        page.mouse_move(PLACE.by(30.0, 0.0)).await?;
        page.press("Escape").await?;
        page.wait_for_text("key", "Escape").await?;
        page.mouse_up().await?;
        page.wait_for_text("gesture", "mouse 200,100 by 30,0").await?;

        page.wheel(PLACE, 240).await?;
        page.wait_for_text("gesture", "wheel 240").await?;
        page.press("Ctrl+z").await?;
        page.wait_for_text("key", "Ctrl+z").await?;

        page.fill("field", "14.5").await?;
        page.wait_for_text("changed", "14.5").await?;
        assert_eq!(page.value("field").await?, "14.5");
        page.choose("list", "arch").await?;
        page.wait_for_text("chosen", "arch").await
    })
}

#[test]
fn fingers_arrive() -> Result<()> {
    let tablet = Setting { device: Device::Tablet, ..playground() };
    journey_in(&tablet, "harness-touch", async |page| {
        // That fingers arrive is told below: how many a screen says it has differs between versions of the browser.
        assert_eq!(page.eval("return innerWidth").await?, 1180);
        page.touch_drag(PLACE, PLACE.by(-50.0, 100.0)).await?;
        page.wait_for_text("gesture", "touch 200,100 by -50,100 moves many fingers 1").await?;
        page.tap(PLACE).await?;
        page.wait_for_text("gesture", "touch 200,100 by 0,0 moves 0 fingers 1").await?;
        page.pinch(PLACE, 40.0, 160.0).await?;
        page.wait_for_text("gesture", "touch 180,100").await?;
        page.wait_for_text("gesture", "moves many fingers 2").await?;
        page.two_finger_turn(PLACE, 120.0, 90.0).await?;
        page.wait_for_text("gesture", "touch 140,100").await?;
        page.wait_for_text("gesture", "moves many fingers 2").await?;
        Ok(())
    })
}

#[test]
fn files_go_in_and_come_out() -> Result<()> {
    let folder = tempfile::tempdir()?;
    let (left, right) = (folder.path().join("left.txt"), folder.path().join("right.txt"));
    fs::write(&left, "L")?;
    fs::write(&right, "R")?;
    journey_in(&playground(), "harness-files", async |page| {
        page.upload("files", &[&left, &right]).await?;
        page.wait_for_text("given", "left.txt: L, right.txt: R").await?;
        page.pick_files("pick", &[&left]).await?;
        page.wait_for_exact_text("given", "left.txt: L").await?;
        page.drop_files(PLACE, &[&right]).await?;
        page.wait_for_exact_text("given", "right.txt: R").await?;
        page.click("save").await?;
        assert_eq!(fs::read_to_string(page.downloaded("pair.txt").await?)?, "two soles");
        Ok(())
    })
}

#[test]
fn pictures_have_the_size_and_the_colours_asked_for() -> Result<()> {
    let folder = tempfile::tempdir()?;
    let picture = folder.path().join("page.png");
    for (scheme, dark) in [(Scheme::Light, false), (Scheme::Dark, true)] {
        journey_in(&Setting { scheme, ..playground() }, "harness-picture", async |page| {
            page.screenshot(&picture).await?;
            let is_dark = page.eval("return matchMedia('(prefers-color-scheme: dark)').matches").await?;
            assert_eq!(is_dark, dark);
            Ok(())
        })?;
        let png = fs::read(&picture)?;
        // PNG specification, 11.2.2: width and height are the first eight bytes of the IHDR chunk's data, at byte 16.
        assert_eq!(png[16..24], [0, 0, 5, 0, 0, 0, 2, 0xd0], "1280 × 720");
    }
    Ok(())
}

#[test]
fn console_errors_fail_a_journey_wherever_they_come_from() {
    for (testid, said) in [
        ("fail", "upside down"),
        ("throw", "no such foot"),
        ("worker-fail", "engine stuck"),
        ("worker-throw", "engine lost"),
    ] {
        let walked = journey_in(&playground(), "harness-errors", async |page| {
            page.click(testid).await?;
            page.wait_for_console_error(said).await
        });
        let error = format!("{:#}", walked.unwrap_err());
        assert!(error.contains("console has errors") && error.contains(said), "{testid}: {error}");
    }
}

#[test]
fn an_expected_console_error_is_none() -> Result<()> {
    journey_in(&playground(), "harness-expected", async |page| {
        page.expect_console_error("upside down");
        page.click("fail").await?;
        page.wait_for_console_error("upside down").await
    })
}

#[test]
fn a_journey_without_its_server_is_really_without_it() -> Result<()> {
    journey_in(&playground(), "harness-offline", async |page| {
        page.server_off();
        let asked = "return fetch('/?' + Math.random()).then(() => 'answered', () => 'nobody')";
        assert_eq!(page.eval(asked).await?, "nobody");
        page.server_on()?;
        assert_eq!(page.eval(asked).await?, "answered");
        page.reload().await?;
        page.wait_ready().await?;
        page.wait_until(
            "the ready page is marked",
            "return performance.getEntriesByName('journey-ready').length === 1",
        )
        .await?;
        assert!(page.ready_after_ms().await? > 0.0);
        Ok(())
    })
}
