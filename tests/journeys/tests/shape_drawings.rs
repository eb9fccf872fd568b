//! Shape in the drawings: elements taken anywhere, sculpting, measuring, cuts along a line, outlines drawn.

mod common;

use anyhow::{Context, Result, ensure};
use common::{bring_in_right, empty, handle, in_3d, look_from, number, on_plan, read, until};
use serde_json::Value;
use solewright_journeys::{Device, Page, Setting, journey_in};

/// A right foot at Shape, with an element where its rule places it.
async fn with_element(page: &Page, kind: &str) -> Result<()> {
    bring_in_right(page).await?;
    page.click("stage-shape").await?;
    page.click(&format!("add-{kind}")).await?;
    until(page, "the element is there", "s.feet.right.elements.length === 1").await
}

/// Everything that says where the element is.
async fn element(page: &Page) -> Result<Value> {
    read(page, "/feet/right/elements/0").await
}

/// A value of the element.
async fn param(page: &Page, id: &str) -> Result<f64> {
    let params = read(page, "/feet/right/elements/0/params").await?;
    let found = params.as_array().into_iter().flatten().find(|param| param["id"] == id).cloned();
    found.and_then(|param| param["value"].as_f64()).with_context(|| format!("no {id} in {params}"))
}

fn contains(polygon: &[[f64; 2]], [x, y]: [f64; 2]) -> bool {
    let edges = polygon.iter().zip(polygon.iter().cycle().skip(1));
    let crossed = |(a, b): &(&[f64; 2], &[f64; 2])| {
        (a[1] > y) != (b[1] > y) && x < a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1])
    };
    edges.filter(crossed).count() % 2 == 1
}

/// The place on the element that is farthest from every handle and from its edge.
async fn free_spot(page: &Page) -> Result<[f64; 2]> {
    let rim: Vec<[f64; 2]> = serde_json::from_value(read(page, "/feet/right/elements/0/rim/0").await?)?;
    let handles = read(page, "/feet/right/handles").await?;
    let handles: Vec<[f64; 3]> = handles
        .as_array()
        .into_iter()
        .flatten()
        .map(|h| serde_json::from_value(h["at"].clone()))
        .collect::<Result<_, _>>()?;
    let free = |p: &[f64; 2]| {
        let taken = handles.iter().map(|h| [h[0], h[1]]).chain(rim.iter().copied());
        taken.map(|q| (q[0] - p[0]).powi(2) + (q[1] - p[1]).powi(2)).fold(f64::MAX, f64::min)
    };
    let places = (0..240).flat_map(|x| (-60..60).map(move |y| [f64::from(x), f64::from(y)]));
    let inside = places.filter(|p| contains(&rim, *p));
    inside.max_by(|a, b| free(a).total_cmp(&free(b))).context("the element has no inside")
}

#[test]
fn an_element_is_selected_and_dragged_by_its_body_on_the_plan() -> Result<()> {
    journey_in(&empty(), "body-plan", async |page| {
        with_element(page, "metatarsal_pad").await?;
        let [x, y] = free_spot(page).await?;
        let spot = on_plan(page, "right", x, y).await?;

        // Pressed where nothing is selected the sheet moves; a click selects.
        page.press("Escape").await?;
        page.wait_until("nothing is selected", "return !document.querySelector('.handle.chosen')").await?;
        let before = element(page).await?;
        page.mouse_drag(spot, spot.by(0.0, 25.0)).await?;
        assert_eq!(element(page).await?, before);
        page.click("plan-fit").await?;
        page.mouse_click(spot).await?;
        page.wait_until(
            "it is selected",
            "return !!document.querySelector('[data-testid=plan-right-element-1-front].chosen')",
        )
        .await?;

        // Escape restores what a drag began.
        let undo = read(page, "/undo").await?;
        let x_mm = param(page, "x_mm").await?;
        let moved = |by: f64| {
            format!("Math.abs(s.feet.right.elements[0].params.find(p => p.id === 'x_mm').value - {x_mm} - {by}) < 0.6")
        };
        let to = on_plan(page, "right", x - 12.0, y).await?;
        page.mouse_down(spot).await?;
        page.mouse_move(spot.by(0.0, 6.0)).await?;
        page.mouse_move(to).await?;
        until(page, "the element follows", &moved(-12.0)).await?;
        page.press("Escape").await?;
        page.mouse_up().await?;
        until(page, "it is back", &moved(0.0)).await?;
        assert_eq!(read(page, "/undo").await?, undo);
        assert_eq!(element(page).await?, before);

        page.mouse_drag(spot, to).await?;
        until(page, "the element moved", &moved(-12.0)).await?;
        assert!(page.shows("plan-right-element-1-front").await?);
        page.press("Ctrl+z").await?;
        until(page, "one step back", &moved(0.0)).await?;
        assert_eq!(read(page, "/undo").await?, undo);
        Ok(())
    })
}

#[test]
fn an_element_is_dragged_by_its_body_in_the_3d_view() -> Result<()> {
    journey_in(&empty(), "body-3d", async |page| {
        with_element(page, "metatarsal_pad").await?;
        page.click("skin-off").await?;
        look_from(page, "top").await?;
        let height = handle(page, "right", &["element", "height"]).await?[2];
        let [x, y] = free_spot(page).await?;
        let spot = in_3d(page, "right", [x, y, height / 2.0]).await?;
        page.press("Escape").await?;
        page.mouse_click(spot).await?;
        page.wait_until(
            "it is selected",
            "return !!document.querySelector('[data-testid=plan-right-element-1-front].chosen')",
        )
        .await?;
        let x_mm = param(page, "x_mm").await?;
        page.mouse_drag(spot, spot.by(0.0, 22.0)).await?;
        until(
            page,
            "the pad moved to the heel",
            &format!("s.feet.right.elements[0].params.find(p => p.id === 'x_mm').value < {x_mm} - 5"),
        )
        .await
    })
}

#[test]
fn a_stroke_is_one_step_and_escape_gives_it_up() -> Result<()> {
    journey_in(&empty(), "sculpt", async |page| {
        bring_in_right(page).await?;
        page.click("stage-shape").await?;
        let undo = read(page, "/undo").await?;
        page.click("part-sculpt").await?;
        page.click("sculpt-raise").await?;
        let from = on_plan(page, "right", 150.0, -5.0).await?;
        let to = on_plan(page, "right", 125.0, -5.0).await?;
        let sculpted = "s.feet.right.sculpted === true";
        let bare = "s.feet.right.sculpted === null";

        page.mouse_down(from).await?;
        page.mouse_move(from.by(0.0, 10.0)).await?;
        page.mouse_move(to).await?;
        until(page, "the stroke is shown", sculpted).await?;
        page.press("Escape").await?;
        page.mouse_up().await?;
        until(page, "it never was", bare).await?;
        assert_eq!(read(page, "/undo").await?, undo);

        page.mouse_drag(from, to).await?;
        until(page, "the stroke is a step", &format!("{sculpted} && s.undo !== {undo}")).await?;
        page.press("Ctrl+z").await?;
        until(page, "one step back", bare).await?;
        assert_eq!(read(page, "/undo").await?, undo);

        // By keys: a smaller brush, once where the cuts cross.
        page.press("[").await?;
        page.wait_until("it is smaller", "return document.querySelector('[data-testid=sculpt-radius]').value === '11'")
            .await?;
        page.press("Space").await?;
        until(page, "a dab", sculpted).await?;
        page.press("Ctrl+z").await?;
        until(page, "and back", bare).await?;

        // In the 3D view, and the brush shows where it is.
        page.click("skin-off").await?;
        look_from(page, "top").await?;
        let at = in_3d(page, "right", [150.0, -5.0, 0.0]).await?;
        page.mouse_drag(at, at.by(0.0, 20.0)).await?;
        until(page, "sculpted in the 3D view", sculpted).await?;
        page.press("Escape").await?;
        page.wait_until("the brush is put away", "return !document.querySelector('[data-testid=plan-brush]')").await
    })
}

#[test]
fn a_finger_sculpts_and_two_fingers_zoom() -> Result<()> {
    let tablet = Setting { device: Device::Tablet, ..empty() };
    journey_in(&tablet, "sculpt-touch", async |page| {
        bring_in_right(page).await?;
        page.click("stage-shape").await?;
        page.click("part-sculpt").await?;
        page.click("sculpt-lower").await?;
        let from = on_plan(page, "right", 150.0, -5.0).await?;
        page.pinch(from, 60.0, 120.0).await?;
        page.drawn().await?;
        until(page, "zooming sculpts nothing", "s.feet.right.sculpted === null").await?;
        page.click("plan-fit").await?;
        page.touch_drag(from, from.by(0.0, 24.0)).await?;
        until(page, "the finger sculpts", "s.feet.right.sculpted === true").await
    })
}

#[test]
fn places_are_measured_on_the_plan_in_3d_and_on_a_cut() -> Result<()> {
    journey_in(&empty(), "measure-places", async |page| {
        bring_in_right(page).await?;
        page.click("stage-shape").await?;
        page.click("part-measure-cut").await?;
        page.click("measure-places").await?;
        let shown = async |page: &Page, testid: &str| -> Result<f64> {
            let text = page.text(testid).await?;
            let digits = text.trim_end_matches(" mm").trim_end_matches('°').replace('−', "-");
            digits.parse().with_context(|| format!("{testid} says {text:?}"))
        };
        page.mouse_click(on_plan(page, "right", 40.0, -10.0).await?).await?;
        page.mouse_click(on_plan(page, "right", 140.0, 10.0).await?).await?;
        page.wait_until("a distance", "return !!document.querySelector('[data-testid=plan-measured-distance]')")
            .await?;
        // 100 mm along and 20 mm across; a click is a whole pixel.
        let plan = shown(page, "plan-measured-distance").await?;
        assert!((plan - 101.98).abs() < 1.2, "{plan}");
        assert!(shown(page, "view3d-measured-distance").await? >= plan - 0.05, "through space it is no shorter");
        page.mouse_click(on_plan(page, "right", 160.0, -30.0).await?).await?;
        page.wait_until("an angle", "return !!document.querySelector('[data-testid=plan-measured-angle]')").await?;
        let angle = shown(page, "plan-measured-angle").await?;
        // Between the ways to (−100, −20) and to (20, −40).
        let expected = (libm::atan2(40.0, -20.0) - libm::atan2(20.0, 100.0)).to_degrees();
        assert!((angle - expected).abs() < 3.0, "{angle} against {expected}");

        // A fourth place begins anew: in the 3D view, then on the cut lengthwise.
        page.click("skin-off").await?;
        look_from(page, "top").await?;
        page.mouse_click(in_3d(page, "right", [100.0, 0.0, 0.0]).await?).await?;
        page.wait_until("one place", "return !document.querySelector('[data-testid=plan-measured-distance]')").await?;
        page.mouse_click(page.place("strip-along", 0.7, 0.6).await?).await?;
        page.wait_until("on the cut", "return !!document.querySelector('[data-testid=along-measured-distance]')")
            .await?;
        page.press("Escape").await?;
        page.press("Escape").await?;
        page.wait_until("all is put away", "return !document.querySelector('[data-testid=plan-measured-distance]')")
            .await
    })
}

#[test]
fn a_cut_goes_along_a_drawn_line_and_works_as_any_other() -> Result<()> {
    journey_in(&empty(), "cut-line", async |page| {
        with_element(page, "metatarsal_pad").await?;
        let [x, y, z] = handle(page, "right", &["element", "height"]).await?;
        page.click("part-measure-cut").await?;
        page.click("cut-line").await?;
        page.mouse_click(on_plan(page, "right", x - 70.0, y - 20.0).await?).await?;
        page.mouse_click(on_plan(page, "right", x + 35.0, y + 10.0).await?).await?;
        page.wait_for_text("strip-along-title", "C–C along the line, 109").await?;
        page.wait_until(
            "it is cut along the line",
            "const c = JSON.parse(window.solewright.section('along')); return c && c.top.length > 9 && c.top.at(-1)[0] < 110.5 && c.top[0][0] >= 0",
        )
        .await?;
        assert!(page.text("strip-readings").await?.starts_with("thick "));

        // Heights are dragged on it: the pad's own stands on the line.
        let height = param(page, "height_mm").await?;
        let grip = page.centre("along-right-element-1-height").await?;
        page.mouse_drag(grip, grip.by(0.0, 5.0)).await?;
        until(
            page,
            "the pad is lower",
            &format!("s.feet.right.elements[0].params.find(p => p.id === 'height_mm').value < {height} - 0.4"),
        )
        .await?;
        ensure!(z > 0.0);

        // Its ends move by mouse and by key.
        let end = page.centre("plan-cut-end-1").await?;
        page.mouse_drag(end, on_plan(page, "right", x + 55.0, y + 10.0).await?).await?;
        page.wait_for_text("strip-along-title", "C–C along the line, 12").await?;
        let before = page.text("strip-along-title").await?;
        page.eval("document.querySelector('[data-testid=plan-cut-end-1]').focus(); return true").await?;
        for _ in 0..4 {
            page.press("Shift+ArrowUp").await?;
        }
        page.wait_for_text("strip-along-title", "C–C along the line, 14").await?;
        assert_ne!(page.text("strip-along-title").await?, before);
        page.press("Delete").await?;
        page.wait_for_text("strip-along-title", "A–A lengthwise").await?;

        // And it is put down by keys alone.
        page.click("cut-line").await?;
        page.eval("document.querySelector('[data-testid=plan]').focus(); return true").await?;
        page.press("Space").await?;
        for _ in 0..3 {
            page.press("Shift+ArrowDown").await?;
        }
        page.press("Enter").await?;
        page.wait_for_text("strip-along-title", "C–C along the line, 30.0 mm").await?;
        page.click("strip-lengthwise").await?;
        page.wait_for_text("strip-along-title", "A–A lengthwise").await
    })
}

#[test]
fn a_relief_is_drawn_by_mouse_and_by_keys_and_pulled_at() -> Result<()> {
    journey_in(&empty(), "relief-outline", async |page| {
        with_element(page, "relief").await?;
        page.click("element-1-draw").await?;
        let corners = [(95.0, -25.0), (135.0, -25.0), (135.0, 10.0), (95.0, 10.0)];
        for (x, y) in corners {
            page.mouse_click(on_plan(page, "right", x, y).await?).await?;
        }
        page.mouse_click(on_plan(page, "right", corners[0].0, corners[0].1).await?).await?;
        until(page, "the outline is drawn", "s.feet.right.elements[0].curve.length === 4").await?;
        assert!((number(page, "/feet/right/elements/0/curve/1/0").await? - 135.0).abs() < 1.5);
        assert!(page.shows("plan-right-element-1-point-0").await?);

        // Its curve is pulled at between two points; its points stay handles.
        let edge = on_plan(page, "right", 140.0, -8.0).await?;
        let curve = read(page, "/feet/right/elements/0/curve").await?;
        let found = (-12..12).map(|px| edge.by(0.0, f64::from(px)));
        let mut taken = None;
        for at in found {
            page.mouse_move(at).await?;
            if page.eval("return document.querySelector('[data-testid=plan]').style.cursor").await? == "cell" {
                taken = Some(at);
                break;
            }
        }
        let taken = taken.context("the curve cannot be taken")?;
        page.mouse_drag(taken, taken.by(0.0, -14.0)).await?;
        until(page, "the curve is pulled", &format!("JSON.stringify(s.feet.right.elements[0].curve) !== '{curve}'"))
            .await?;
        page.press("Ctrl+z").await?;
        until(page, "and back", &format!("JSON.stringify(s.feet.right.elements[0].curve) === '{curve}'")).await?;

        // By keys: where the cuts cross, one point taken back, Escape once, then Enter.
        page.click("element-1-draw").await?;
        page.eval("document.querySelector('[data-testid=plan]').focus(); return true").await?;
        page.press("Space").await?;
        page.press("Escape").await?;
        assert_eq!(read(page, "/feet/right/elements/0/curve").await?, curve);
        page.click("element-1-draw").await?;
        page.eval("document.querySelector('[data-testid=plan]').focus(); return true").await?;
        for (arrow, times) in [("ArrowUp", 0), ("Shift+ArrowUp", 2), ("Shift+ArrowRight", 2), ("Shift+ArrowDown", 2)] {
            for _ in 0..times {
                page.press(arrow).await?;
            }
            page.press("Space").await?;
        }
        page.press("Backspace").await?;
        page.press("Enter").await?;
        until(page, "drawn by keys", "s.feet.right.elements[0].curve.length === 3").await?;
        let points: Vec<[f64; 2]> = serde_json::from_value(read(page, "/feet/right/elements/0/curve").await?)?;
        assert!((points[1][0] - points[0][0] - 20.0).abs() < 1e-6 && (points[2][1] - points[1][1] + 20.0).abs() < 1e-6);
        Ok(())
    })
}
