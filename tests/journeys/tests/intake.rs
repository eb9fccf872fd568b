//! Intake and Measure as a clinic meets them: pairs, both feet in one file, wrong poses, second scans, long files.

mod common;

use anyhow::Result;
use base::{Report, Work};
use common::{
    bring_in_right, empty, handle, in_3d, landmark, look_from, measure, number, read, sample, snapshot, until,
};
use glam::{DAffine3, DVec3};
use mesh::TriMesh;
use serde_json::Value;
use solewright_journeys::{At, Device, Page, Setting, journey_in};
use std::path::Path;

fn scan(name: &str) -> Result<TriMesh> {
    let bytes = std::fs::read(sample(name))?;
    Ok(mesh::stl::read_stl(name, &bytes, &Work::quiet(), &mut Report::default())?)
}

fn joined(a: &TriMesh, b: &TriMesh) -> Result<TriMesh> {
    let first = a.positions().len() as u32;
    let positions = [a.positions(), b.positions()].concat();
    let more = b.triangles().iter().map(|t| t.map(|v| v + first));
    Ok(TriMesh::new(positions, a.triangles().iter().copied().chain(more).collect())?)
}

fn write(folder: &Path, name: &str, mesh: &TriMesh) -> Result<std::path::PathBuf> {
    let mut bytes = Vec::new();
    mesh::stl::write_stl(mesh, name, &mut bytes)?;
    let path = folder.join(name);
    std::fs::write(&path, bytes)?;
    Ok(path)
}

async fn idle(page: &Page) -> Result<()> {
    page.wait_until("nothing is under way", "return !document.querySelector('[data-testid=busy]')").await
}

/// Where files are dropped: beside the panel.
const DROP: At = At { x: 900.0, y: 300.0 };

#[test]
fn files_dropped_together_are_a_pair_and_one_step() -> Result<()> {
    journey_in(&empty(), "pair", async |page| {
        let (left, right) = (sample("flat-left.stl"), sample("flat-right.stl"));
        page.drop_files(DROP, &[&right, &left]).await?;
        until(page, "both feet are there", "s.feet.left && s.feet.right").await?;
        assert_eq!(read(page, "/feet/left/scan_name").await?, "flat-left.stl");
        assert_eq!(read(page, "/feet/right/scan_name").await?, "flat-right.stl");
        page.press("Ctrl+z").await?;
        until(page, "one step took both out", "!s.feet.left && !s.feet.right").await
    })
}

#[test]
fn two_feet_in_one_file_are_taken_apart() -> Result<()> {
    journey_in(&empty(), "two-feet", async |page| {
        let folder = tempfile::tempdir()?;
        let aside = DAffine3::from_translation(DVec3::new(0.0, 200.0, 0.0));
        let both = joined(&scan("ordinary-left.stl")?, &scan("ordinary-right.stl")?.transformed(&aside))?;
        let file = write(folder.path(), "both.stl", &both)?;
        page.drop_files(DROP, &[&file]).await?;
        until(page, "both feet are there", "s.feet.left && s.feet.right").await?;
        page.wait_for_text("notice-text", "two feet in one file").await?;
        let (left, right) =
            (measure(page, "left", "foot_length_mm").await?, measure(page, "right", "foot_length_mm").await?);
        assert!((left - right).abs() < 8.0 && left > 200.0, "{left} {right}");
        Ok(())
    })
}

#[test]
fn the_leg_is_cut_by_hand_and_steps_are_left_out() -> Result<()> {
    journey_in(&empty(), "cleaning", async |page| {
        bring_in_right(page).await?;
        look_from(page, "medial").await?;
        let from = in_3d(page, "right", handle(page, "right", &["leg_cut"]).await?).await?;
        page.mouse_drag(from, from.by(0.0, 40.0)).await?;
        until(page, "the leg is cut lower", "s.feet.right.cut_height_mm < 100").await?;
        page.fill("cut-height-right", "120").await?;
        until(page, "and higher, by number", "s.feet.right.cut_height_mm === 120").await?;
        // The unit at one click, and back.
        let before = measure(page, "right", "foot_length_mm").await?;
        page.choose("unit-right", "in").await?;
        until(page, "read in inches", "s.feet.right === null || s.feet.right.unit === 'inch' || s.problems.right")
            .await?;
        page.press("Ctrl+z").await?;
        until(page, "and back", "s.feet.right && s.problems.right === null").await?;
        assert!((measure(page, "right", "foot_length_mm").await? - before).abs() < 1e-9);
        page.eval("document.querySelector('[data-testid=cleaning-right]').open = true; return true").await?;
        page.click("step-leg-right").await?;
        until(page, "the leg stays on", "s.feet.right.steps.some(v => v.step === 'leg' && !v.on)").await?;
        page.wait_for_text("step-note-leg-right", "Left out").await
    })
}

#[test]
fn three_clicks_lay_a_foot_and_everything_follows() -> Result<()> {
    journey_in(&empty(), "lay", async |page| {
        bring_in_right(page).await?;
        let truth = measure(page, "right", "foot_length_mm").await?;
        look_from(page, "sole").await?;
        let places = [[8.0, 0.0, 3.0], [185.0, 34.0, 5.0], [160.0, -36.0, 5.0]];
        page.click("lay-right").await?;
        for (k, place) in places.into_iter().enumerate() {
            page.wait_for_text("hint", &format!("{} of 3", k + 1)).await?;
            page.mouse_click(in_3d(page, "right", place).await?).await?;
        }
        until(page, "the pose is set", "s.undo === 'set pose'").await?;
        let laid = measure(page, "right", "foot_length_mm").await?;
        assert!((laid - truth).abs() < 0.5, "{truth} → {laid}");
        // The wrong way round: heel and toes exchanged are refused or followed, never half done.
        let before = snapshot(page).await?;
        page.click("lay-right").await?;
        page.press("Escape").await?;
        assert_eq!(snapshot(page).await?["feet"], before["feet"]);
        Ok(())
    })
}

#[test]
fn a_landmark_is_explained_moved_by_key_and_stays_by_hand() -> Result<()> {
    journey_in(&empty(), "landmarks", async |page| {
        bring_in_right(page).await?;
        page.click("stage-measure").await?;
        page.click("landmark-metatarsale_tibiale").await?;
        let clue = page.text("landmark-metatarsale_tibiale-clue").await?;
        assert!(clue.len() > 30, "{clue}");
        let (before, _) = landmark(page, "right", "metatarsale_tibiale").await?;
        let girth = measure(page, "right", "ball_girth_mm").await?;
        page.eval("document.querySelector('[data-testid=plan]').focus(); return true").await?;
        for _ in 0..6 {
            page.press("ArrowDown").await?;
        }
        let moved = format!(
            "s.feet.right.landmarks.some(l => l.id === 'metatarsale_tibiale' && l.by_hand && l.at[0] < {})",
            before[0] - 1.5
        );
        until(page, "it is by hand and has moved", &moved).await?;
        let (moved, _) = landmark(page, "right", "metatarsale_tibiale").await?;
        assert!((measure(page, "right", "ball_girth_mm").await? - girth).abs() > 1e-6);
        // Another cut makes the finder look again; what was placed by hand stays.
        page.click("stage-intake").await?;
        page.fill("cut-height-right", "95").await?;
        until(page, "cut anew", "s.feet.right.cut_height_mm === 95").await?;
        let (kept, by_hand) = landmark(page, "right", "metatarsale_tibiale").await?;
        assert!(by_hand && (kept[0] - moved[0]).abs() < 1e-9);
        Ok(())
    })
}

#[test]
fn what_was_not_found_is_placed_by_a_click() -> Result<()> {
    journey_in(&empty(), "place", async |page| {
        bring_in_right(page).await?;
        // Cut below the ankle there is no malleolus to be found.
        page.fill("cut-height-right", "50").await?;
        until(page, "the malleoli are gone", "s.feet.right.missing.some(m => m.id === 'malleolus_medialis')").await?;
        page.click("stage-measure").await?;
        look_from(page, "medial").await?;
        page.click("landmark-malleolus_medialis-place").await?;
        page.wait_for_text("hint", "medial malleolus").await?;
        page.mouse_click(in_3d(page, "right", [60.0, 25.0, 40.0]).await?).await?;
        until(page, "it is placed", "s.feet.right.landmarks.some(l => l.id === 'malleolus_medialis' && l.by_hand)")
            .await?;
        let height = measure(page, "right", "malleolus_medialis_height_mm").await?;
        assert!(height > 15.0 && height < 50.0, "{height}");
        Ok(())
    })
}

#[test]
fn a_second_scan_shows_what_load_does() -> Result<()> {
    journey_in(&empty(), "second", async |page| {
        bring_in_right(page).await?;
        page.click("weight-bearing-none").await?;
        page.eval("document.querySelectorAll('details.more').forEach(d => { d.open = true }); return true").await?;
        page.choose("second-state-right", "full").await?;
        page.pick_files("add-second-right", &[&sample("flat-right.stl")]).await?;
        until(page, "the second scan is compared", "s.feet.right.second && s.feet.right.second.changes.length > 2")
            .await?;
        page.click("stage-measure").await?;
        page.wait_for_text("changes", "Navicular drop").await?;
        assert_eq!(read(page, "/feet/right/second/problem").await?, Value::Null);
        Ok(())
    })
}

#[test]
fn the_foot_report_goes_out_as_page_table_and_data() -> Result<()> {
    journey_in(&Setting::default(), "report", async |page| {
        until(page, "the demo pair is measured", "s.feet.left && s.feet.right").await?;
        page.click("stage-measure").await?;
        let length = measure(page, "left", "foot_length_mm").await?;
        page.click("report-csv").await?;
        let table = std::fs::read_to_string(page.downloaded("insole-report-csv.csv").await?)?;
        let row = table.lines().find(|line| line.contains("foot_length_mm")).unwrap_or_default().to_owned();
        assert!(row.contains(&length.to_string()), "{row} has no {length}");
        page.click("report-json").await?;
        let data: Value = serde_json::from_slice(&std::fs::read(page.downloaded("insole-report-json.json").await?)?)?;
        assert!(data.to_string().contains("foot_length_mm"));
        let unit = number(page, "/feet/left/measures/0/value").await?;
        assert!((unit - length).abs() < 1e-9);
        Ok(())
    })
}

#[test]
fn a_long_scan_shows_progress_and_can_be_stopped() -> Result<()> {
    journey_in(&empty(), "long-scan", async |page| {
        bring_in_right(page).await?;
        let folder = tempfile::tempdir()?;
        let mut fine = scan("high-arched-left.stl")?;
        while fine.triangles().len() < 2_000_000 {
            fine = divided(&fine)?;
        }
        let file = write(folder.path(), "long.stl", &fine)?;
        page.drop_files(DROP, &[&file]).await?;
        page.wait_until("it says what it does", "return !!document.querySelector('[data-testid=busy-stop]')").await?;
        // The page answers meanwhile.
        page.click("stage-measure").await?;
        page.wait_for_text("stage-title", "Measure").await?;
        page.click("busy-stop").await?;
        idle(page).await?;
        until(page, "the case is as it was", "s.feet.right && !s.feet.left").await?;
        // And once more, to the end.
        page.drop_files(DROP, &[&file]).await?;
        until(page, "it is taken in", "s.feet.left && s.feet.left.scan_name === 'long.stl'").await
    })
}

#[test]
fn fingers_move_a_landmark() -> Result<()> {
    journey_in(&Setting { device: Device::Tablet, ..empty() }, "touch-landmark", async |page| {
        bring_in_right(page).await?;
        page.click("stage-measure").await?;
        let (before, _) = landmark(page, "right", "heel_centre").await?;
        let from = common::on_plan(page, "right", before[0], before[1]).await?;
        page.touch_drag(from, from.by(0.0, -18.0)).await?;
        until(page, "it moved", "s.feet.right.landmarks.some(l => l.id === 'heel_centre' && l.by_hand)").await?;
        let (after, _) = landmark(page, "right", "heel_centre").await?;
        assert!(after[0] > before[0] + 2.0, "{before:?} → {after:?}");
        Ok(())
    })
}

/// Every triangle in four.
fn divided(mesh: &TriMesh) -> Result<TriMesh> {
    let mut positions = mesh.positions().to_vec();
    let mut middles = std::collections::BTreeMap::new();
    let mut triangles = Vec::with_capacity(4 * mesh.triangles().len());
    for &[a, b, c] in mesh.triangles() {
        let mut middle = |p: u32, q: u32| {
            *middles.entry((p.min(q), p.max(q))).or_insert_with(|| {
                positions.push((positions[p as usize] + positions[q as usize]) / 2.0);
                positions.len() as u32 - 1
            })
        };
        let (ab, bc, ca) = (middle(a, b), middle(b, c), middle(c, a));
        triangles.extend([[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]);
    }
    Ok(TriMesh::new(positions, triangles)?)
}
