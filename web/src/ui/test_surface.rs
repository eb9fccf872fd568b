//! What tests read and ask: `window.solewright`. Plain readings of the page, nothing that changes the case.
//!
//! - `ready()`: the first foot or the kept case is on the screen, or it is known that there is none.
//! - `revision()`: of the latest snapshot; grows with every change.
//! - `snapshot()`: the latest snapshot as JSON text.
//! - `plan_point(side, x, y)`: where a plan position lies, page pixels `[x, y]`.
//! - `project(side, x, y, z)`: where a point lies in the 3D view, page pixels `[x, y]`, or `null`.
//! - `section(way)`: one of the shown cuts, `along` or `across`, as JSON text.

use super::geometry::sheet_from_foot;
use super::pane::zoom;
use super::state::Ui;
use crate::worker::console_object;
use base::Side;
use js_sys::{Array, Object, Reflect};
use leptos::prelude::*;
use wasm_bindgen::JsValue;
use wasm_bindgen::closure::Closure;

/// Puts the readings on the window.
pub(crate) fn install(ui: Ui) {
    let surface = console_object();
    put(&surface, "ready", Closure::<dyn Fn() -> bool>::new(move || ui.ready.get_untracked()).into_js_value());
    put(
        &surface,
        "revision",
        Closure::<dyn Fn() -> f64>::new(move || {
            ui.snapshot.with_untracked(|snapshot| snapshot.as_ref().map_or(0.0, |snapshot| snapshot.revision as f64))
        })
        .into_js_value(),
    );
    put(
        &surface,
        "snapshot",
        Closure::<dyn Fn() -> String>::new(move || {
            ui.snapshot.with_untracked(|snapshot| serde_json::to_string(&snapshot.as_deref()).unwrap_or_default())
        })
        .into_js_value(),
    );
    put(
        &surface,
        "section",
        Closure::<dyn Fn(String) -> String>::new(move |way: String| {
            let index = usize::from(way == "across");
            ui.cuts.with_untracked(|cuts| serde_json::to_string(&cuts.get(index)).unwrap_or_default())
        })
        .into_js_value(),
    );
    put(
        &surface,
        "plan_point",
        Closure::<dyn Fn(String, f64, f64) -> JsValue>::new(move |side: String, x, y| {
            plan_point(ui, side_of(&side), x, y).map_or(JsValue::NULL, pair)
        })
        .into_js_value(),
    );
    put(
        &surface,
        "project",
        Closure::<dyn Fn(String, f64, f64, f64) -> JsValue>::new(move |side: String, x, y, z| {
            project(ui, side_of(&side), [x, y, z]).map_or(JsValue::NULL, pair)
        })
        .into_js_value(),
    );
}

fn put(surface: &Object, name: &str, function: JsValue) {
    // A plain object takes any property.
    let _ = Reflect::set(surface, &name.into(), &function);
}

fn side_of(word: &str) -> Side {
    if word == "right" { Side::Right } else { Side::Left }
}

fn pair([x, y]: [f64; 2]) -> JsValue {
    Array::of2(&x.into(), &y.into()).into()
}

fn plan_point(ui: Ui, side: Side, x: f64, y: f64) -> Option<[f64; 2]> {
    let (view, body) = ui.plan_view.get_value()?;
    let frame = body.get_untracked()?.get_bounding_client_rect();
    let [px, py] = view.get_untracked().px(sheet_from_foot(side, [x, y]));
    let zoom = zoom();
    Some([frame.left() + px * zoom, frame.top() + py * zoom])
}

fn project(ui: Ui, side: Side, at: [f64; 3]) -> Option<[f64; 2]> {
    let frame = document().query_selector("canvas.scene").ok()??.get_bounding_client_rect();
    let (x, y, _) = ui.with_view3d(|view| view.project(side, at))??;
    Some([frame.left() + x, frame.top() + y])
}
