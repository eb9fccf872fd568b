//! Fit as a practitioner does it: the shoe's own insole traced from a picture, the edge by mouse and by keys.

mod common;

use anyhow::{Context, Result};
use common::{bring_in_right, empty, handle, number, on_plan, read, snapshot, until};
use solewright_journeys::{At, Page, journey_in};
use std::fs;

/// A flat scan at 100 dpi, as an uncompressed bitmap: a dark insole on a light ground. `inside` says where, mm.
fn picture(width_mm: f64, height_mm: f64, inside: impl Fn(f64, f64) -> bool) -> Vec<u8> {
    let px = |mm: f64| (mm / 0.254).round() as u32;
    let (width, height) = (px(width_mm), px(height_mm));
    let row = (width * 3).next_multiple_of(4);
    let mut file = b"BM".to_vec();
    file.extend((54 + row * height).to_le_bytes());
    file.extend([0; 4]);
    file.extend(54_u32.to_le_bytes());
    for number in [40, width, height] {
        file.extend(number.to_le_bytes());
    }
    file.extend([1, 0, 24, 0]);
    file.extend([0; 24]);
    // Rows from the bottom; a few greys that are not the same, as paper has.
    for line in 0..height {
        let y_mm = f64::from(line) * 0.254;
        for column in 0..width {
            let grey = if inside(f64::from(column) * 0.254, y_mm) { 70 } else { 225 };
            file.extend([grey + ((column * 7 + line * 13) % 9) as u8; 3]);
        }
        file.extend(vec![0; (row - width * 3) as usize]);
    }
    file
}

/// The polygon of the fitted last outline, mm.
async fn last_outline(page: &Page) -> Result<Vec<[f64; 2]>> {
    Ok(serde_json::from_value(read(page, "/feet/right/edge/last").await?)?)
}

fn contains(polygon: &[[f64; 2]], x: f64, y: f64) -> bool {
    let edges = polygon.iter().zip(polygon.iter().cycle().skip(1));
    edges.filter(|(a, b)| (a[1] > y) != (b[1] > y) && x < a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1])).count() % 2
        == 1
}

#[test]
fn a_shoes_insole_is_traced_from_a_picture_and_the_template_is_printed() -> Result<()> {
    journey_in(&empty(), "trace", async |page| {
        bring_in_right(page).await?;
        page.click("stage-fit").await?;
        // The shoe's insole is the fitted outline drawn smaller: 3 % narrower, toes up, 30 mm from the corner.
        let outline = last_outline(page).await?;
        let bytes = picture(180.0, 330.0, |x, y| contains(&outline, y - 30.0, (90.0 - x) / 0.97));
        let folder = tempfile::tempdir()?;
        let file = folder.path().join("shoe.bmp");
        fs::write(&file, bytes)?;
        page.pick_files("shoe-trace", &[&file]).await?;
        page.wait_for_text("picture-says", "both ends of a known length").await?;
        // 150 mm on the ruler: between two places of the picture.
        for share in [0.1, 0.1 + 150.0 / 330.0] {
            page.mouse_click(page.place("picture", 0.05, share).await?).await?;
        }
        page.fill("picture-length", "150").await?;
        page.wait_for_text("picture-says", "mm a pixel").await?;
        page.click("picture-trace").await?;
        until(page, "the shoe is traced", "s.feet.right.edge.shoe_name === 'shoe.bmp'").await?;
        let shoe: Vec<[f64; 2]> = serde_json::from_value(read(page, "/feet/right/edge/shoe").await?)?;
        let span = |points: &[[f64; 2]], axis: usize| {
            let values = points.iter().map(|p| p[axis]);
            values.clone().fold(f64::MIN, f64::max) - values.fold(f64::MAX, f64::min)
        };
        // Clicks are whole pixels of the screen: a hundredth of the length is what they hold.
        assert!((span(&shoe, 0) / span(&outline, 0) - 1.0).abs() < 0.012, "{} {}", span(&shoe, 0), span(&outline, 0));
        assert!((span(&shoe, 1) / span(&outline, 1) - 0.97).abs() < 0.02, "{} {}", span(&shoe, 1), span(&outline, 1));
        // The fitted edge is kept inside it.
        let edge: Vec<[f64; 2]> = serde_json::from_value(read(page, "/feet/right/edge/whole").await?)?;
        assert!(edge.iter().all(|p| contains(&shoe, p[0], p[1])), "the edge leaves the shoe");

        page.click("edge-follow").await?;
        until(page, "the edge follows the shoe", "s.feet.right.edge.by_hand").await?;
        page.click("stage-make").await?;
        page.click("download-template_pdf").await?;
        let pdf = fs::read(page.downloaded("insole-template-pdf.pdf").await?)?;
        assert!(pdf.starts_with(b"%PDF"));
        Ok(())
    })
}

async fn knot(page: &Page, index: usize) -> Result<[f64; 2]> {
    let knots: Vec<[f64; 2]> = serde_json::from_value(read(page, "/feet/right/edge/knots").await?)?;
    knots.get(index).copied().with_context(|| format!("no knot {index}"))
}

#[test]
fn the_edge_is_drawn_by_mouse_and_by_keys() -> Result<()> {
    journey_in(&empty(), "edge", async |page| {
        bring_in_right(page).await?;
        page.click("stage-fit").await?;
        let before = snapshot(page).await?;
        let [x, y] = knot(page, 3).await?;
        let from = on_plan(page, "right", x, y).await?;
        let to = on_plan(page, "right", x, y - 6.0).await?;
        page.mouse_drag(from, to).await?;
        until(page, "the edge is drawn by hand", "s.feet.right.edge.by_hand").await?;
        assert!((knot(page, 3).await?[1] - (y - 6.0)).abs() < 1.0);

        // The point in hand goes on by keys, and away.
        page.press("ArrowUp").await?;
        until(page, "a nudge forward", &format!("Math.abs(s.feet.right.edge.knots[3][0] - {x}) > 0.4")).await?;
        let count = read(page, "/feet/right/edge/knots").await?.as_array().map_or(0, Vec::len);
        page.press("Delete").await?;
        until(page, "the point is gone", &format!("s.feet.right.edge.knots.length === {}", count - 1)).await?;
        page.click("edge-add").await?;
        page.mouse_click(from).await?;
        until(page, "a point is added", &format!("s.feet.right.edge.knots.length === {count}")).await?;

        // The curve itself, away from its points.
        let points: Vec<[f64; 2]> = serde_json::from_value(read(page, "/feet/right/edge/whole").await?)?;
        let knots: Vec<[f64; 2]> = serde_json::from_value(read(page, "/feet/right/edge/knots").await?)?;
        let free = |p: &&[f64; 2]| {
            knots.iter().map(|k| (k[0] - p[0]).powi(2) + (k[1] - p[1]).powi(2)).fold(f64::MAX, f64::min)
        };
        let taken = points.iter().max_by(|a, b| free(a).total_cmp(&free(b))).context("no edge")?;
        let curve = on_plan(page, "right", taken[0], taken[1]).await?;
        let at: At = on_plan(page, "right", taken[0], taken[1] * 1.25).await?;
        page.mouse_drag(curve, at).await?;
        until(
            page,
            "the curve follows",
            &format!(
                "s.feet.right.edge.knots.some(k => Math.hypot(k[0] - {}, k[1] - {}) < 2)",
                taken[0],
                taken[1] * 1.25
            ),
        )
        .await?;

        page.fill("edge-width-ball", "92").await?;
        until(page, "the width is set", "Math.abs(s.feet.right.edge.widths.find(w => w.id === 'ball').mm - 92) < 0.05")
            .await?;
        page.fill("edge-width-ball", "999").await?;
        page.wait_for_text("notice-text", "wide at").await?;

        page.choose("edge-length", "three-quarter").await?;
        until(page, "it is shorter", "s.feet.right.edge.trim && s.feet.right.outline_sizes[0][1] < 215").await?;
        let end = handle(page, "right", &["trim_end", "1"]).await?;
        let from = on_plan(page, "right", end[0], end[1]).await?;
        let to = on_plan(page, "right", end[0] - 12.0, end[1]).await?;
        page.mouse_drag(from, to).await?;
        until(page, "the trim line is moved", "s.feet.right.edge.trim_by_hand").await?;
        assert!((handle(page, "right", &["trim_end", "1"]).await?[0] - (end[0] - 12.0)).abs() < 1.5);
        page.click("trim-back").await?;
        page.choose("edge-length", "full").await?;
        page.click("edge-fit").await?;
        until(page, "it is fitted again", "!s.feet.right.edge.by_hand").await?;
        let after = snapshot(page).await?;
        assert_eq!(after.pointer("/feet/right/edge"), before.pointer("/feet/right/edge"));
        Ok(())
    })
}

#[test]
fn a_drawing_that_cannot_be_read_is_said_and_changes_nothing() -> Result<()> {
    journey_in(&empty(), "bad-drawing", async |page| {
        bring_in_right(page).await?;
        page.click("stage-fit").await?;
        let folder = tempfile::tempdir()?;
        for (name, bytes) in
            [("empty.svg", &b"<svg/>"[..]), ("words.dxf", b"Dear workshop"), ("notes.png", b"no picture")]
        {
            let file = folder.path().join(name);
            fs::write(&file, bytes)?;
            page.pick_files("shoe-trace", &[&file]).await?;
            page.wait_for_text("notices", name).await?;
        }
        assert!(number(page, "/revision").await? > 0.0);
        assert_eq!(read(page, "/feet/right/edge/shoe_name").await?, serde_json::Value::Null);
        Ok(())
    })
}
