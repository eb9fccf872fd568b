//! Shape: the brush, and the layer it sculpts.

use super::fields::{NumberField, NumberSpec};
use super::state::{Mode, Ui};
use case::Edit;
use insole::sculpt::{LEAST_RADIUS_MM, LIMIT_MM, MOST_RADIUS_MM, SculptLayer, Tool};
use leptos::prelude::*;

/// Share of the way that a brush of evening out goes by one stroke, before anybody set another.
const FIRST_SHARE: f64 = 0.5;

/// The part of the panel.
pub(super) fn sculpt(ui: Ui) -> AnyView {
    // What a stroke of raising and lowering moves in mm, and of the others as a share: each is kept while the other is used.
    let other_strength = StoredValue::new(FIRST_SHARE);
    let tool = move |tool: Tool| {
        let on = move || ui.mode.with(|mode| *mode == Mode::Sculpt) && ui.brush.with(|brush| brush.tool == tool);
        let choose = move |_| {
            if untrack(on) {
                ui.mode.set(Mode::Select);
                return;
            }
            ui.brush.update(|brush| {
                if in_mm(brush.tool) != in_mm(tool) {
                    let kept = other_strength.get_value();
                    other_strength.set_value(brush.strength);
                    brush.strength = kept;
                }
                brush.tool = tool;
            });
            ui.mode.set(Mode::Sculpt);
        };
        let label = tool.label();
        view! {
            <button class="small" data-testid=format!("sculpt-{}", label.to_ascii_lowercase()) aria-pressed=move || on().to_string() on:click=choose>{label}</button>
        }
    };
    let radius = NumberSpec {
        testid: "sculpt-radius".into(),
        label: "Radius".into(),
        unit: "mm".into(),
        min: LEAST_RADIUS_MM,
        max: MOST_RADIUS_MM,
        step: 1.0,
        help: "Where the brush's effect ends.".into(),
    };
    let mm = Memo::new(move |_| in_mm(ui.brush.get().tool));
    view! {
        <div class="switcher" role="group" aria-label="Brush">{Tool::ALL.map(tool).collect_view()}</div>
        <p class="quiet-text">"Choose one, then drag over the insole; again, or Escape, to stop."</p>
        <div class="fields">
            <NumberField spec=radius value=Signal::derive(move || Some(ui.brush.get().radius_mm))
                set=move |value: f64| ui.brush.update(|brush| brush.radius_mm = value.clamp(LEAST_RADIUS_MM, MOST_RADIUS_MM)) />
            {move || strength(ui, mm.get())}
        </div>
        {layer(ui)}
    }
    .into_any()
}

/// Whether a tool's strength is a height; else it is a share of the way.
fn in_mm(tool: Tool) -> bool {
    matches!(tool, Tool::Raise | Tool::Lower)
}

fn strength(ui: Ui, mm: bool) -> AnyView {
    let (unit, max, step, scale) = if mm { ("mm", LIMIT_MM, 0.1, 1.0) } else { ("%", 100.0, 5.0, 100.0) };
    let help = if mm {
        "What one stroke adds or takes away in its middle."
    } else {
        "How far one stroke goes towards even, flat or bare."
    };
    let spec = NumberSpec {
        testid: "sculpt-strength".into(),
        label: "Strength".into(),
        unit: unit.into(),
        min: step,
        max,
        step,
        help: help.into(),
    };
    let set = move |value: f64| ui.brush.update(|brush| brush.strength = value.clamp(step, max) / scale);
    view! { <NumberField spec value=Signal::derive(move || Some(ui.brush.get().strength * scale)) set /> }.into_any()
}

fn layer(ui: Ui) -> AnyView {
    let acts = ui.active(|foot| foot.sculpted);
    let side = move || ui.side.get_untracked();
    let there = Memo::new(move |_| acts.get().flatten().is_some());
    let switch =
        move |_| ui.edit(Edit::SwitchSculpt { side: side(), on: acts.get_untracked().flatten() == Some(false) });
    let clear = move |_| ui.edit(Edit::SetSculpt { side: side(), layer: SculptLayer::default() });
    view! {
        {move || there.get().then(|| view! {
            <div class="row">
                <label class="choice">
                    <input type="checkbox" data-testid="sculpt-on" prop:checked=move || acts.get().flatten() == Some(true) on:change=switch />
                    <span>"What was sculpted acts"</span>
                </label>
                <button class="small" data-testid="sculpt-clear" on:click=clear>"Take it away"</button>
            </div>
        })}
    }
    .into_any()
}
