//! Measure: landmarks, each movable and given back; measures of both feet with their definition and source.

use super::fields::{NumberField, NumberSpec};
use super::state::{Held, ui};
use base::Side;
use case::Edit;
use engine::view::{LandmarkView, MeasureView, Target};
use foot::LandmarkId;
use leptos::prelude::*;

/// The panel.
#[component]
pub(crate) fn Measure() -> impl IntoView {
    view! {
        <Landmarks />
        <Measures />
    }
}

#[component]
fn Landmarks() -> impl IntoView {
    let ui = ui();
    let ids = ui.active(|foot| foot.landmarks.iter().map(|landmark| landmark.id).collect::<Vec<_>>());
    view! {
        <section>
            <h3>"Landmarks, "{move || ui.side.get().word()}" foot"</h3>
            <ul class="list" data-testid="landmarks">
                <For each=move || ids.get().unwrap_or_default() key=|id| *id children=|id| view! { <Landmark id /> } />
            </ul>
        </section>
    }
}

#[component]
fn Landmark(id: LandmarkId) -> impl IntoView {
    let ui = ui();
    let word = id.id();
    let now = ui.active(move |foot| foot.landmarks.iter().find(|landmark| landmark.id == id).cloned());
    let read = move || now.get().flatten();
    let target = Target::Landmark { id };
    let chosen = {
        let target = target.clone();
        Memo::new(move |_| {
            let side = ui.side.get();
            ui.held.with(|held| held.as_ref().is_some_and(|held| held.side == side && held.target == target))
        })
    };
    let choose = move |_| {
        let side = ui.side.get_untracked();
        if chosen.get_untracked() { ui.held.set(None) } else { ui.hold(Held { side, target: target.clone() }) }
    };
    let release = move |_| ui.edit(Edit::ReleaseLandmark { side: ui.side.get_untracked(), landmark: id });
    view! {
        <li class:chosen=chosen>
            <div class="list-row">
                <button class="row-name" data-testid=format!("landmark-{word}") aria-expanded=move || chosen.get().to_string()
                    on:click=choose>{id.label()}</button>
                {move || read().map(|landmark| if landmark.by_hand {
                    view! {
                        <span class="badge" data-testid=format!("landmark-{word}-by-hand")>"by hand"</span>
                        <button class="quiet" title="Find it again" data-testid=format!("landmark-{word}-release")
                            aria-label=format!("Find {} again", id.label()) on:click=release>"↺"</button>
                    }
                    .into_any()
                } else {
                    view! { <span class="confidence">{confidence(landmark.confidence)}</span> }.into_any()
                })}
            </div>
            {move || chosen.get().then(|| view! { <Coordinates id /> })}
        </li>
    }
}

/// A confidence as a word and a number.
fn confidence(value: f64) -> String {
    let word = if value >= 0.8 {
        "clear"
    } else if value >= 0.5 {
        "fair"
    } else {
        "doubtful"
    };
    format!("{word} {value:.2}")
}

#[component]
fn Coordinates(id: LandmarkId) -> impl IntoView {
    let ui = ui();
    let at = ui.active(move |foot| place_of(&foot.landmarks, id));
    let field = move |axis: usize, label: &'static str, help: &'static str| {
        let spec = NumberSpec {
            testid: format!("landmark-{}-{label}", id.id()),
            label: label.into(),
            unit: "mm".into(),
            min: -300.0,
            max: 400.0,
            step: 0.5,
            help: help.into(),
        };
        let set = move |value| {
            if let Some(mut to) = at.get_untracked().flatten() {
                to[axis] = value;
                ui.edit(Edit::PlaceLandmark { side: ui.side.get_untracked(), landmark: id, at: to });
            }
        };
        view! { <NumberField spec value=Signal::derive(move || at.get().flatten().map(|at| at[axis])) set /> }
    };
    view! {
        <div class="fields inset">
            {field(0, "x", "Along the foot, from the heel to the toes.")}
            {field(1, "y", "Across the foot, to the inner side.")}
            {field(2, "z", "Above the support plane.")}
        </div>
    }
}

fn place_of(landmarks: &[LandmarkView], id: LandmarkId) -> Option<[f64; 3]> {
    landmarks.iter().find(|landmark| landmark.id == id).map(|landmark| landmark.at)
}

#[component]
fn Measures() -> impl IntoView {
    let ui = ui();
    // Definitions are the same on both feet; whichever is there tells them.
    let described = ui.part(|snapshot| {
        let foot = snapshot.feet.left.as_ref().or(snapshot.feet.right.as_ref());
        foot.map(|foot| foot.measures.iter().map(Description::of).collect::<Vec<_>>()).unwrap_or_default()
    });
    view! {
        <section>
            <h3>"Measures"</h3>
            <table class="measures" data-testid="measures">
                <thead><tr><th scope="col">"Measure"</th><th scope="col">"Left"</th><th scope="col">"Right"</th><th scope="col">"Unit"</th></tr></thead>
                <tbody>
                    <For each=move || described.get().unwrap_or_default() key=|measure| measure.id.clone()
                        children=|measure| view! { <MeasureRow measure /> } />
                </tbody>
            </table>
        </section>
    }
}

/// What is the same on both feet.
#[derive(Clone, Debug, PartialEq)]
struct Description {
    id: String,
    label: String,
    unit: String,
    definition: String,
    source: String,
}

impl Description {
    fn of(measure: &MeasureView) -> Description {
        let MeasureView { id, label, unit, definition, source, .. } = measure.clone();
        Description { id, label, unit, definition, source }
    }
}

#[component]
fn MeasureRow(measure: Description) -> impl IntoView {
    let ui = ui();
    let Description { id, label, unit, definition, source } = measure;
    let chosen = {
        let id = id.clone();
        Memo::new(move |_| ui.measure.with(|chosen| chosen.as_ref() == Some(&id)))
    };
    let choose = {
        let id = id.clone();
        move |_| ui.measure.update(|now| *now = (now.as_ref() != Some(&id)).then(|| id.clone()))
    };
    let places = if unit.is_empty() { 2 } else { 1 };
    let cell = |side: Side| {
        let (found, testid) = (id.clone(), format!("measure-{id}-{}", side.word()));
        let value = ui.foot(side, move |foot| {
            foot.measures
                .iter()
                .find(|measure| measure.id == found)
                .map(|measure| (measure.value, measure.missing.clone()))
        });
        let text = move || {
            value.get().flatten().and_then(|(value, _)| value).map_or("–".into(), |value| format!("{value:.places$}"))
        };
        let why = move || value.get().flatten().and_then(|(_, missing)| missing);
        view! { <td class="number" data-testid=testid title=why>{text}</td> }
    };
    let (left, right) = (cell(Side::Left), cell(Side::Right));
    view! {
        <tr class:chosen=chosen>
            <th scope="row">
                <button class="row-name" data-testid=format!("measure-{id}") aria-expanded=move || chosen.get().to_string() on:click=choose>{label}</button>
            </th>
            {left}{right}<td class="unit">{unit}</td>
        </tr>
        {move || chosen.get().then(|| view! {
            <tr class="definition"><td colspan="4"><p>{definition.clone()}</p><p class="source">{source.clone()}</p></td></tr>
        })}
    }
}
