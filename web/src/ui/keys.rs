//! The keyboard: steps back and forward, files, and what the pointer can do on the sheet.
//!
//! Arrow keys move the selected handle by 0.5 mm, with Alt by 0.1 mm, with Shift by 5 mm; Page Up and Page Down move it
//! up and down. Without a handle they move the cuts by 1 mm (Shift: 10 mm). Space or Enter puts down, where the cuts cross,
//! what a click would: an element, a point of a curve, a place to measure, a dab of the brush, whose radius [ and ] change.
//! Enter closes a curve being drawn, Backspace takes its last point back. Escape gives up, Delete removes.

use super::files::{Pick, pick_files, save_case};
use super::state::{Mode, Ui, element_of, region_of};
use crate::protocol::Request;
use base::Side;
use case::Edit;
use engine::view::{Moves, Target};
use last::OutlineChange;
use leptos::ev::{keydown, keyup};
use leptos::prelude::*;
use wasm_bindgen::JsCast;
use web_sys::{Element, KeyboardEvent};

/// Listens for the life of the page.
pub(crate) fn listen(ui: Ui) {
    let _ = window_event_listener(keydown, move |event| {
        if act(ui, &event) {
            event.prevent_default();
        }
    });
    let _ = window_event_listener(keyup, move |event| {
        if step_of(&event).is_some() {
            ui.drop_nudged();
        }
    });
}

/// Does what the key says; whether it was meant for the page.
fn act(ui: Ui, event: &KeyboardEvent) -> bool {
    let key = event.key();
    if event.ctrl_key() || event.meta_key() {
        return with_control(ui, event, &key.to_ascii_lowercase());
    }
    if typing(event) {
        return false;
    }
    match key.as_str() {
        "Escape" => give_up(ui),
        "Enter" if drawing(ui) => ui.close_curve(),
        "Backspace" if drawing(ui) => ui.take_point_back(),
        " " | "Enter" if on_sheet(event) && !selecting(ui) => ui.click_at_cursor(),
        "[" | "]" if on_sheet(event) && ui.mode.with_untracked(|mode| *mode == Mode::Sculpt) => {
            ui.resize_brush(if key == "]" { 1.0 } else { -1.0 });
        }
        "Delete" => return remove_held(ui),
        _ => return on_sheet(event) && step(ui, event),
    }
    true
}

fn with_control(ui: Ui, event: &KeyboardEvent, key: &str) -> bool {
    match key {
        "s" => save_case(ui),
        "o" => pick_files(ui, Pick::Case),
        // In a field these keys belong to the text being typed.
        "z" | "y" if typing(event) => return false,
        "z" if event.shift_key() => ui.ask(Request::Redo),
        "z" => ui.ask(Request::Undo),
        "y" => ui.ask(Request::Redo),
        _ => return false,
    }
    true
}

fn give_up(ui: Ui) {
    if ui.dragged.with_untracked(Option::is_some) {
        ui.cancel_drag();
    } else if ui.cancel_stroke() {
    } else if !selecting(ui) {
        ui.mode.set(Mode::Select);
    } else {
        ui.held.set(None);
        ui.measure.set(None);
        ui.measured.set(None);
    }
}

fn selecting(ui: Ui) -> bool {
    ui.mode.with_untracked(|mode| *mode == Mode::Select)
}

fn drawing(ui: Ui) -> bool {
    ui.mode.with_untracked(|mode| mode.drawn().is_some())
}

fn remove_held(ui: Ui) -> bool {
    let Some(held) = ui.held.get_untracked() else { return false };
    let side = held.side;
    if let Target::OutlineKnot { index } = held.target {
        ui.held.set(None);
        ui.go_to(side, None);
        ui.change_edge(OutlineChange::RemoveKnot { index });
        return true;
    }
    let edit = match (element_of(&held.target), region_of(&held.target)) {
        (Some(id), _) => Edit::RemoveElement { side, id },
        (_, Some(id)) => Edit::RemoveRegion { side, id },
        _ => return false,
    };
    ui.held.set(None);
    ui.edit(edit);
    true
}

/// Right, up and higher, in steps.
pub(crate) fn step_of(event: &KeyboardEvent) -> Option<[f64; 3]> {
    match event.key().as_str() {
        "ArrowRight" => Some([1.0, 0.0, 0.0]),
        "ArrowLeft" => Some([-1.0, 0.0, 0.0]),
        "ArrowUp" => Some([0.0, 1.0, 0.0]),
        "ArrowDown" => Some([0.0, -1.0, 0.0]),
        "PageUp" => Some([0.0, 0.0, 1.0]),
        "PageDown" => Some([0.0, 0.0, -1.0]),
        _ => None,
    }
}

fn step(ui: Ui, event: &KeyboardEvent) -> bool {
    let Some([right, up, higher]) = step_of(event) else { return false };
    // While something is put down they move the place where it goes.
    let held = ui.held.get_untracked().filter(|_| selecting(ui));
    let side = held.as_ref().map_or(ui.side.get_untracked(), |held| held.side);
    // On the sheet, right is medial on the left foot and lateral on the right one; up is to the toes.
    let medial = if side == Side::Left { right } else { -right };
    match held.and_then(|held| untrack(|| ui.handle(&held))) {
        Some(handle) => {
            let mm = if event.shift_key() {
                5.0
            } else if event.alt_key() {
                0.1
            } else {
                0.5
            };
            let by = if handle.moves == Moves::Vertical { [0.0, 0.0, up + higher] } else { [up, medial, higher] };
            ui.nudge(by.map(|n| n * mm));
        }
        None => {
            let mm = if event.shift_key() { 10.0 } else { 1.0 };
            ui.cursor[side].update(|cursor| *cursor = [cursor[0] + up * mm, cursor[1] + medial * mm]);
        }
    }
    true
}

fn target(event: &KeyboardEvent) -> Option<Element> {
    event.target()?.dyn_into::<Element>().ok()
}

/// Whether the key goes to something that takes text or a choice.
fn typing(event: &KeyboardEvent) -> bool {
    target(event).is_some_and(|element| {
        element.matches("input:not([type=checkbox]):not([type=radio]), select, textarea").unwrap_or(false)
    })
}

/// Whether the key is for the drawings: it goes to one of them, or to nothing in particular.
fn on_sheet(event: &KeyboardEvent) -> bool {
    target(event).is_none_or(|element| element.matches("body, svg *, svg, canvas").unwrap_or(false))
}
