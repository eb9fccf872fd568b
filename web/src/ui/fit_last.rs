//! Fit: the last: a kind of shoe to begin with, toe shape, its numbers in plan and those of its bottom.

use super::fields::{ChoiceField, ParamList, fixed};
use super::files::{Pick, pick_files, save_text};
use super::state::{Ui, ui};
use base::{Params, Severity};
use case::Edit;
use last::{PRESET_EXTENSION, PRESETS, PresetFile, TOE_SHAPES};
use leptos::prelude::*;

/// The part of the panel.
#[component]
pub(crate) fn Last() -> impl IntoView {
    let ui = ui();
    let params = ui.active(|foot| foot.last.clone());
    let profile = ui.active(|foot| foot.profile.clone());
    let sizes = ui.active(|foot| foot.outline_sizes.clone());
    let set = move |(param, value)| ui.edit(Edit::SetLast { side: ui.side.get_untracked(), param, value });
    view! {
        <section>
            <h3>"Last, "{move || ui.side.get().word()}" foot"</h3>
            <Preset />
            <ToeShape />
            <ParamList prefix="last" params=Signal::derive(move || params.get().unwrap_or_default()) set origin=last_origin />
            <details>
                <summary data-testid="last-bottom">"Its bottom and girth"</summary>
                <ParamList prefix="last" params=Signal::derive(move || profile.get().unwrap_or_default()) set origin=profile_origin />
                <p class="quiet-text">"The cut shows the last's bottom as a dotted line. The insole made is bent to it as far as “Bottom follows the last” says, at Shape."</p>
            </details>
            <table class="measures" data-testid="outline-sizes">
                <tbody>
                    {move || sizes.get().unwrap_or_default().into_iter().map(|(label, mm)| view! {
                        <tr><th scope="row">{label}</th><td class="number">{format!("{mm:.1}")}</td><td class="unit">"mm"</td></tr>
                    }).collect_view()}
                </tbody>
            </table>
        </section>
    }
}

#[component]
fn Preset() -> impl IntoView {
    let ui = ui();
    let name = ui.active(|foot| foot.last_name.clone());
    let now = move || name.get().flatten().unwrap_or_default();
    let known = move || PRESETS.iter().find(|preset| preset.label == now());
    let choose = move |chosen: String| {
        if let Some(preset) = PRESETS.iter().find(|preset| preset.id == chosen) {
            let (side, name, params) = (ui.side.get_untracked(), preset.label.to_owned(), preset.params());
            ui.edit(Edit::UseLast { side, name, params });
        }
    };
    let about = move || match known() {
        Some(preset) => format!("{} {}", preset.purpose, preset.caution.unwrap_or_default()),
        None if now().is_empty() => {
            "Choose a kind of shoe to begin with; its numbers are a start to change at the shoe.".to_owned()
        }
        None => format!("Own last: {}.", now()),
    };
    view! {
        <ChoiceField testid="last-preset" label="Kind of shoe" set=choose
            value=Signal::derive(move || known().map(|preset| preset.id).unwrap_or_default().to_owned())
            options=fixed(std::iter::once(("", "…")).chain(PRESETS.iter().map(|preset| (preset.id, preset.label)))) />
        <p class="quiet-text" data-testid="last-about">{about}</p>
        <div class="row tools">
            <button data-testid="last-save" title="The numbers decided here as a file, for other cases and other benches" on:click=move |_| save(ui)>"Save this last…"</button>
            <button data-testid="last-open" on:click=move |_| pick_files(ui, Pick::Last(ui.side.get_untracked()))>"Open a last…"</button>
        </div>
    }
}

/// Hands the decided numbers of the active foot's last to the browser's downloads.
fn save(ui: Ui) {
    let decided = untrack(|| {
        ui.with_foot(ui.side.get(), |foot| {
            let all = foot.last.iter().chain(&foot.profile).filter(|param| param.decided);
            let params: Params = all.map(|param| (param.id.clone(), param.value)).collect();
            (foot.last_name.clone().unwrap_or_else(|| "Own last".to_owned()), params)
        })
    });
    let Some((name, params)) = decided else { return };
    match PresetFile::new(name, "", params).to_json() {
        Ok(json) => save_text(&format!("last.{PRESET_EXTENSION}"), "application/json", &json),
        Err(error) => ui.notify(Severity::Check, error.to_string()),
    }
}

/// Takes the numbers of a file as the last of a foot.
pub(crate) fn take(ui: Ui, side: base::Side, file: &str, text: &str) {
    match PresetFile::from_json(file, text) {
        Ok(preset) => ui.edit(Edit::UseLast { side, name: preset.name, params: preset.params }),
        Err(error) => ui.notify(Severity::Check, error.to_string()),
    }
}

#[component]
fn ToeShape() -> impl IntoView {
    let ui = ui();
    let values = ui.active(|foot| foot.last.iter().map(|param| (param.id.clone(), param.value)).collect::<Params>());
    // The named shape whose every number is the one in force.
    let now = move || {
        let values = values.get().unwrap_or_default();
        let is = |id: &str, value: f64| values.get(id).is_some_and(|now| (now - value).abs() < 1e-9);
        TOE_SHAPES
            .iter()
            .find(|shape| shape.params().iter().all(|(id, value)| is(id, *value)))
            .map_or("", |shape| shape.id)
    };
    let choose = move |chosen: String| {
        let side = ui.side.get_untracked();
        if let Some(shape) = TOE_SHAPES.iter().find(|shape| shape.id == chosen) {
            let edits =
                shape.params().into_iter().map(|(param, value)| Edit::SetLast { side, param, value: Some(value) });
            ui.edit(Edit::Together {
                label: format!("toe shape {}", shape.label.to_ascii_lowercase()),
                edits: edits.collect(),
            });
        }
    };
    view! {
        <ChoiceField testid="toe-shape" label="Toe" value=Signal::derive(move || now().to_owned()) set=choose
            options=fixed(std::iter::once(("", "By its numbers")).chain(TOE_SHAPES.iter().map(|shape| (shape.id, shape.label)))) />
    }
}

/// What to call a number of the last that was not decided. Room before the toes and behind the heel and the toe's shape are
/// the shoemaker's choice, everything else is fitted to the foot.
fn last_origin(id: &str) -> &'static str {
    let chosen = [
        last::TOE_ALLOWANCE.id,
        last::HEEL_MARGIN.id,
        last::TOE_SHAPE.id,
        last::TOE_POINT.id,
        last::TOE_BOX.id,
        last::TOE_ASYMMETRY.id,
    ];
    if chosen.contains(&id) { "default" } else { "fitted" }
}

fn profile_origin(id: &str) -> &'static str {
    if id == last::JOINT_GIRTH.id { "not stated" } else { "flat" }
}
