//! The main job as a practitioner does it, in a real browser: a scan goes in, an insole comes out.

mod common;

use anyhow::Result;
use base::{Report, Work};
use common::{
    bring_in_right, empty, handle, in_3d, landmark, look_from, measure, number, on_plan, read, snapshot, unfold, until,
};
use serde_json::Value;
use solewright_journeys::{At, Device, Page, Setting, journey, journey_in};

/// Adds the pad where its rule places it and returns its id's pointer in the snapshot.
async fn add_pad(page: &Page) -> Result<()> {
    page.click("stage-shape").await?;
    page.click("add-metatarsal_pad").await?;
    until(page, "the pad is there", "s.feet.right.elements.length === 1").await
}

#[test]
fn from_a_scan_to_an_insole_file() -> Result<()> {
    journey_in(&empty(), "main-job", async |page| {
        bring_in_right(page).await?;
        page.click("weight-bearing-half").await?;
        until(page, "the load is stated", "s.weight_bearing === 'half'").await?;

        // A landmark dragged on the skin in the 3D view: it stays there and what is measured from it follows.
        page.click("stage-measure").await?;
        look_from(page, "medial").await?;
        let before = measure(page, "right", "arch_apex_height_mm").await?;
        let (at, by_hand) = landmark(page, "right", "navicular").await?;
        assert!(!by_hand);
        let from = in_3d(page, "right", at).await?;
        page.mouse_drag(from, from.by(14.0, -6.0)).await?;
        until(
            page,
            "the navicular is placed by hand",
            "s.feet.right.landmarks.some(l => l.id === 'navicular' && l.by_hand)",
        )
        .await?;
        let (moved, _) = landmark(page, "right", "navicular").await?;
        assert!((moved[0] - at[0]).abs() > 2.0, "{at:?} → {moved:?}");
        let after = measure(page, "right", "arch_apex_height_mm").await?;
        assert!((after - before).abs() < 1e-9, "only what hangs on it follows: {before} → {after}");
        assert_eq!(read(page, "/undo").await?, "place Navicular (estimate)");

        // A pad placed by a click in the 3D view and dragged there.
        page.click("stage-shape").await?;
        look_from(page, "top").await?;
        page.click("where-click").await?;
        page.click("place-metatarsal_pad").await?;
        let spot = in_3d(page, "right", [155.0, 0.0, 0.0]).await?;
        page.mouse_click(spot).await?;
        until(page, "the pad is there", "s.feet.right.elements.length === 1").await?;
        let middle = handle(page, "right", &["element", "height"]).await?;
        assert!((middle[0] - 155.0).abs() < 8.0 && middle[1].abs() < 8.0, "{middle:?}");
        let placed = handle(page, "right", &["element"]).await?;
        let grip = in_3d(page, "right", placed).await?;
        page.mouse_drag(grip, grip.by(0.0, 18.0)).await?;
        until(
            page,
            "the pad moved",
            &format!("Math.abs(s.feet.right.elements[0].params.find(p => p.id === 'x_mm').value - {}) > 2", placed[0]),
        )
        .await?;
        let dragged = handle(page, "right", &["element"]).await?;
        assert!(dragged[0] < placed[0] - 2.0, "down on the screen is towards the heel: {placed:?} → {dragged:?}");

        // The cup by number.
        unfold(page, "cup_depth_mm", "surface-cup_depth_mm").await?;
        page.fill("surface-cup_depth_mm", "15").await?;
        until(
            page,
            "the cup is set",
            "s.feet.right.surface.some(p => p.id === 'cup_depth_mm' && p.value === 15 && p.decided)",
        )
        .await?;

        // A soft heel drawn on the plan.
        page.click("stage-grade").await?;
        page.fill("new-shore-a", "22").await?;
        page.click("draw-region").await?;
        for (x, y) in [(8.0, -20.0), (52.0, -22.0), (54.0, 20.0), (10.0, 18.0)] {
            page.mouse_click(on_plan(page, "right", x, y).await?).await?;
        }
        page.press("Enter").await?;
        until(page, "the region is there", "s.feet.right.regions.length === 1").await?;
        let points = read(page, "/feet/right/regions/0/points").await?;
        assert_eq!(points.as_array().map(Vec::len), Some(4));
        assert!((number(page, "/feet/right/regions/0/points/1/0").await? - 52.0).abs() < 1.5);
        assert!((number(page, "/feet/right/shore_a_range/0").await? - 22.0).abs() < 0.5);

        // Undo and redo, by key.
        let whole = snapshot(page).await?;
        for _ in 0..3 {
            page.press("Ctrl+z").await?;
        }
        until(page, "three steps are undone", "s.feet.right.regions.length === 0").await?;
        for _ in 0..3 {
            page.press("Ctrl+Shift+z").await?;
        }
        until(page, "and done again", "s.feet.right.regions.length === 1").await?;
        let again = snapshot(page).await?;
        for part in ["/feet/right/regions", "/feet/right/elements", "/feet/right/surface", "/feet/right/landmarks"] {
            assert_eq!(again.pointer(part), whole.pointer(part), "{part}");
        }

        // What was kept is there after a reload.
        page.wait_until("the case is kept", "return window.solewright.kept() === true").await?;
        page.goto("").await?;
        page.wait_ready().await?;
        until(page, "the case is back", "s.feet.right && s.feet.right.regions.length === 1").await?;
        let kept = snapshot(page).await?;
        for part in ["/feet/right/regions", "/feet/right/elements", "/feet/right/surface", "/feet/right/landmarks"] {
            assert_eq!(kept.pointer(part), whole.pointer(part), "{part}");
        }

        // Out it goes, and what went out is a closed solid of the size shown.
        page.click("stage-make").await?;
        page.click("download-solid-right").await?;
        let file = page.downloaded("insole-right-solid-stl.stl").await?;
        let bytes = std::fs::read(&file)?;
        let mesh = mesh::stl::read_stl("made", &bytes, &Work::quiet(), &mut Report::default())?;
        let solid = mesh::ClosedMesh::new(mesh).map_err(|faults| anyhow::anyhow!("{} faults", faults.len()))?;
        let (lo, hi) = solid.bounds();
        let length = number(page, "/feet/right/outline_sizes/0/1").await?;
        assert!((hi.x - lo.x - length).abs() < 0.3, "{} against {length}", hi.x - lo.x);

        page.click("download-sheet").await?;
        let sheet = std::fs::read_to_string(page.downloaded("insole-job-sheet.html").await?)?;
        assert!(sheet.contains("22") && sheet.contains("Metatarsal pad"));
        Ok(())
    })
}

#[test]
fn the_demo_is_a_pair_and_every_stage_shows() -> Result<()> {
    journey("demo", async |page| {
        until(page, "the demo pair is measured", "s.feet.left && s.feet.right").await?;
        for stage in ["intake", "measure", "fit", "shape", "grade", "make"] {
            page.click(&format!("stage-{stage}")).await?;
            page.drawn().await?;
            assert!(!page.text("panel").await?.is_empty(), "{stage}");
        }
        let problems = read(page, "/problems").await?;
        assert_eq!(problems, serde_json::json!({"left": null, "right": null}));
        // The other demo people open over it.
        page.choose("demo", "high-arched").await?;
        until(page, "another pair is there", "s.feet.left && s.feet.left.scan_name.includes('high-arched')").await
    })
}

#[test]
fn a_drag_that_is_escaped_leaves_nothing_and_arrow_keys_nudge() -> Result<()> {
    journey_in(&empty(), "keys", async |page| {
        bring_in_right(page).await?;
        add_pad(page).await?;
        let before = snapshot(page).await?;
        let at = handle(page, "right", &["element"]).await?;
        let from = on_plan(page, "right", at[0], at[1]).await?;
        page.mouse_down(from).await?;
        page.mouse_move(from.by(0.0, 15.0)).await?;
        page.mouse_move(from.by(0.0, 30.0)).await?;
        until(
            page,
            "the pad follows",
            &format!("Math.abs(s.feet.right.handles.find(h => h.target.element).at[0] - {}) > 2", at[0]),
        )
        .await?;
        page.press("Escape").await?;
        page.mouse_up().await?;
        until(
            page,
            "the pad is back",
            &format!("Math.abs(s.feet.right.handles.find(h => h.target.element).at[0] - {}) < 1e-6", at[0]),
        )
        .await?;
        assert_eq!(read(page, "/undo").await?, before["undo"]);

        page.mouse_click(on_plan(page, "right", at[0], at[1]).await?).await?;
        page.press("ArrowUp").await?;
        until(
            page,
            "a nudge forward",
            &format!("s.feet.right.handles.find(h => h.target.element).at[0] > {} + 0.3", at[0]),
        )
        .await?;
        let nudged = handle(page, "right", &["element"]).await?;
        assert!((nudged[0] - at[0] - 0.5).abs() < 0.11, "{at:?} → {nudged:?}");
        page.press("Ctrl+z").await?;
        until(
            page,
            "undone",
            &format!("Math.abs(s.feet.right.handles.find(h => h.target.element).at[0] - {}) < 1e-6", at[0]),
        )
        .await?;

        // A number out of range is refused and said; the case stays.
        unfold(page, "cup_depth_mm", "surface-cup_depth_mm").await?;
        page.fill("surface-cup_depth_mm", "99").await?;
        page.wait_until("it is said", "return document.body.innerText.includes('25')").await?;
        let cup = read(page, "/feet/right/surface").await?;
        let cup =
            cup.as_array().into_iter().flatten().find(|p| p["id"] == "cup_depth_mm").cloned().unwrap_or(Value::Null);
        assert_eq!((cup["value"].as_f64(), cup["decided"].as_bool()), (Some(12.0), Some(false)));
        Ok(())
    })
}

#[test]
fn fingers_drag_a_pad_and_zoom_the_plan() -> Result<()> {
    let tablet = Setting { device: Device::Tablet, ..empty() };
    journey_in(&tablet, "touch", async |page| {
        bring_in_right(page).await?;
        add_pad(page).await?;
        let at = handle(page, "right", &["element"]).await?;
        let from = on_plan(page, "right", at[0], at[1]).await?;
        page.touch_drag(from, from.by(0.0, 24.0)).await?;
        until(
            page,
            "the pad moved",
            &format!("s.feet.right.handles.find(h => h.target.element).at[0] < {} - 3", at[0]),
        )
        .await?;

        let apart = async |page: &Page| -> Result<f64> {
            let (a, b) = (on_plan(page, "right", 50.0, 0.0).await?, on_plan(page, "right", 150.0, 0.0).await?);
            Ok((a.y - b.y).abs())
        };
        let before = apart(page).await?;
        page.pinch(page.place("plan", 0.5, 0.85).await?, 60.0, 160.0).await?;
        page.drawn().await?;
        let after = apart(page).await?;
        assert!(after > 1.3 * before, "{before} → {after} px for 100 mm");
        Ok(())
    })
}

#[test]
fn what_is_no_scan_is_refused_in_words_and_the_case_stays() -> Result<()> {
    journey_in(&empty(), "bad-files", async |page| {
        bring_in_right(page).await?;
        let before = snapshot(page).await?;
        let folder = tempfile::tempdir()?;
        let good = std::fs::read(common::sample("ordinary-left.stl"))?;
        let huge = [&[b' '; 80][..], &u32::MAX.to_le_bytes()[..], &[0; 100][..]].concat();
        let files: [(&str, &[u8]); 5] = [
            ("empty.stl", b""),
            ("truncated.stl", &good[..good.len() / 2]),
            ("huge-count.stl", &huge),
            ("letter.stl", b"Dear workshop, the scan follows."),
            ("broken.solewright", b"PK\x03\x04 and nothing more"),
        ];
        for (name, bytes) in files {
            let path = folder.path().join(name);
            std::fs::write(&path, bytes)?;
            page.drop_files(At { x: 900.0, y: 300.0 }, &[&path]).await?;
            page.wait_for_text("notice-text", name).await?;
            let said = page.text("notice-text").await?;
            assert!(said.len() > name.len() + 40 && !said.contains("panic"), "{said}");
            page.click("notice-dismiss").await?;
            page.wait_until("it is gone", "return !document.querySelector('[data-testid=notice-text]')").await?;
        }
        let after = snapshot(page).await?;
        assert_eq!(after["feet"], before["feet"]);
        Ok(())
    })
}

#[test]
fn a_worker_that_dies_is_said_and_the_case_comes_back() -> Result<()> {
    journey_in(&empty(), "worker-dies", async |page| {
        bring_in_right(page).await?;
        add_pad(page).await?;
        let before = snapshot(page).await?;
        page.expect_console_error("");
        page.eval("window.solewright.crash_worker(); return true").await?;
        page.wait_until("it is said", "return !!document.querySelector('[data-testid=notice-text]')").await?;
        until(page, "the case is back", "s.feet.right && s.feet.right.elements.length === 1").await?;
        page.click("stage-shape").await?;
        unfold(page, "cup_depth_mm", "surface-cup_depth_mm").await?;
        page.fill("surface-cup_depth_mm", "14").await?;
        until(page, "and works", "s.feet.right.surface.some(p => p.id === 'cup_depth_mm' && p.value === 14)").await?;
        let after = snapshot(page).await?;
        assert_eq!(after.pointer("/feet/right/elements"), before.pointer("/feet/right/elements"));
        Ok(())
    })
}

#[test]
fn without_webgl_the_plan_and_the_sections_still_work() -> Result<()> {
    journey_in(&empty(), "no-webgl", async |page| {
        let without = "const get = HTMLCanvasElement.prototype.getContext;
            HTMLCanvasElement.prototype.getContext = function (kind, ...rest) {
                return kind.startsWith('webgl') ? null : get.call(this, kind, ...rest);
            };";
        page.dev_tools("Page.addScriptToEvaluateOnNewDocument", serde_json::json!({ "source": without })).await?;
        page.reload().await?;
        page.wait_ready().await?;
        assert!(!page.text("no-3d").await?.is_empty());
        bring_in_right(page).await?;
        add_pad(page).await?;
        let at = handle(page, "right", &["element"]).await?;
        let from = on_plan(page, "right", at[0], at[1]).await?;
        page.mouse_drag(from, from.by(0.0, 24.0)).await?;
        until(page, "the pad moved", &format!("s.feet.right.handles.find(h => h.target.element).at[0] < {} - 3", at[0]))
            .await
    })
}

#[test]
fn after_one_visit_the_page_works_without_its_server() -> Result<()> {
    journey("offline", async |page| {
        page.wait_until(
            "the page is kept for offline use",
            "return navigator.serviceWorker.ready.then(r => r.active?.state === 'activated')",
        )
        .await?;
        until(page, "the demo pair is there", "s.feet.left && s.feet.right").await?;
        page.wait_until("it is kept", "return window.solewright.kept() === true").await?;
        page.server_off();
        page.reload().await?;
        page.wait_ready().await?;
        until(page, "the case is back", "s.feet.left && s.feet.right").await?;
        page.server_on()
    })
}
