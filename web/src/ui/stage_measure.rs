//! Measure: landmarks, each movable and given back; measures of both feet with their definition and source.

use super::fields::{NumberField, NumberSpec, number};
use super::files::{download, make, show_apart};
use super::state::{Held, Mode, ui};
use base::Side;
use case::Edit;
use engine::view::{ClassView, LandmarkView, MeasureView, MissingView, Target};
use foot::LandmarkId;
use leptos::prelude::*;

/// The panel.
#[component]
pub(crate) fn Measure() -> impl IntoView {
    view! {
        <Landmarks />
        <Measures />
        <Changes />
        <Report />
    }
}

#[component]
fn Landmarks() -> impl IntoView {
    let ui = ui();
    let ids = ui.active(|foot| foot.landmarks.iter().map(|landmark| landmark.id).collect::<Vec<_>>());
    let missing = ui.active(|foot| foot.missing.clone());
    view! {
        <section>
            <h3>"Landmarks, "{move || ui.side.get().word()}" foot"</h3>
            <ul class="list" data-testid="landmarks">
                <For each=move || ids.get().unwrap_or_default() key=|id| *id children=|id| view! { <Landmark id /> } />
                <For each=move || missing.get().unwrap_or_default() key=|missing| missing.id children=|missing| view! { <Missing missing /> } />
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

/// A landmark that was not found: why, and a way to put it where it is.
#[component]
fn Missing(missing: MissingView) -> impl IntoView {
    let ui = ui();
    let MissingView { id, clue } = missing;
    let marking = move || ui.mode.with(|mode| *mode == Mode::Mark { id });
    let mark = move |_| ui.mode.set(if untrack(marking) { Mode::Select } else { Mode::Mark { id } });
    view! {
        <li class="absent" title=clue.clone()>
            <div class="list-row">
                <span class="row-name">{id.label()}</span>
                <span class="confidence">"not found"</span>
                <button class="small" data-testid=format!("landmark-{}-place", id.id()) aria-pressed=move || marking().to_string()
                    title=format!("Click where it is. {clue}") on:click=mark>"Place"</button>
            </div>
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
    let clue = ui.active(move |foot| {
        foot.landmarks
            .iter()
            .find(|landmark| landmark.id == id)
            .filter(|landmark| !landmark.by_hand)
            .map(|landmark| landmark.clue.clone())
    });
    view! {
        <p class="clue" data-testid=format!("landmark-{}-clue", id.id())>{move || clue.get().flatten()}</p>
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
                <thead><tr><th scope="col">"Measure"</th><th scope="col">"Left"</th><th scope="col">"Right"</th><th scope="col" title="Left less right">"L − R"</th><th scope="col">"Unit"</th></tr></thead>
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
    let value_on = |side: Side| {
        let id = id.clone();
        ui.foot(side, move |foot| {
            foot.measures.iter().find(|measure| measure.id == id).and_then(|measure| measure.value)
        })
    };
    let (on_left, on_right) = (value_on(Side::Left), value_on(Side::Right));
    let difference = move || {
        let apart = on_left.get().flatten()? - on_right.get().flatten()?;
        Some(number(apart, places))
    };
    let difference = view! { <td class="number" data-testid=format!("measure-{id}-difference")>{move || difference().unwrap_or_else(|| "–".into())}</td> };
    let judged = {
        let id = id.clone();
        ui.part(move |snapshot| {
            let of = |side: Side| {
                let measure = snapshot.feet[side].as_ref()?.measures.iter().find(|measure| measure.id == id)?;
                Some((side, measure.classes.clone(), measure.disagreement.clone()))
            };
            Side::ALL.into_iter().filter_map(of).collect::<Vec<_>>()
        })
    };
    view! {
        <tr class:chosen=chosen>
            <th scope="row">
                <button class="row-name" data-testid=format!("measure-{id}") aria-expanded=move || chosen.get().to_string() on:click=choose>{label}</button>
            </th>
            {left}{right}{difference}<td class="unit">{unit}</td>
        </tr>
        {move || chosen.get().then(|| view! {
            <tr class="definition"><td colspan="5"><p>{definition.clone()}</p><p class="source">{source.clone()}</p>
                {move || judgement(&judged.get().unwrap_or_default())}</td></tr>
        })}
    }
}

/// The published classes of both feet, each with its author, and where the authors disagree.
fn judgement(judged: &[(Side, Vec<ClassView>, Option<String>)]) -> impl IntoView + use<> {
    // The limits are the same on both feet.
    let authors = judged.first().map(|(_, classes, _)| classes.clone()).unwrap_or_default();
    let rows = authors.into_iter().enumerate().map(|(index, ClassView { author, limits, .. })| {
        let class = |(side, classes, _): &(Side, Vec<ClassView>, Option<String>)| {
            let class = classes.get(index).map(|class| class.class.clone()).filter(|class| !class.is_empty())?;
            Some(format!("{}: {class}", side.word()))
        };
        let found = judged.iter().filter_map(class).collect::<Vec<_>>().join(", ");
        view! { <p class="class"><b>{found}</b>" "{limits}" "<span class="source">{author}</span></p> }
    });
    let disagreements = judged.iter().filter_map(|(side, _, text)| Some(format!("{}: {}", side.word(), text.clone()?)));
    view! {
        {rows.collect_view()}
        {disagreements.map(|text| view! { <p class="class">{super::fields::sentence(&text)}</p> }).collect_view()}
    }
}

/// What changes between the two scans of a foot in two states of loading.
#[component]
fn Changes() -> impl IntoView {
    let ui = ui();
    let second = ui.active(|foot| foot.second.clone());
    move || {
        second.get().flatten().map(|second| {
            let rows = second.changes.into_iter().map(|change| {
                let places = if change.unit.is_empty() { 3 } else { 1 };
                let value = change.value.map_or("–".to_owned(), |value| number(value, places));
                let judged = [(ui.side.get_untracked(), change.classes, change.disagreement)];
                view! {
                    <tr><th scope="row" title=change.definition>{change.label}</th>
                        <td class="number" data-testid=format!("change-{}", change.id) title=change.missing>{value}</td><td class="unit">{change.unit}</td></tr>
                    <tr class="definition"><td colspan="3"><p class="source">{change.source}</p>{judgement(&judged)}</td></tr>
                }
            });
            view! {
                <section>
                    <h3>"Under load, "{ui.side.get_untracked().word()}" foot"</h3>
                    {second.problem.map(|text| view! { <p class="problem">{super::fields::sentence(&text)}</p> })}
                    <table class="measures" data-testid="changes"><tbody>{rows.collect_view()}</tbody></table>
                    {second.notes.into_iter().map(|note| view! { <p class="quiet-text">{note}</p> }).collect_view()}
                </section>
            }
        })
    }
}

/// The foot report: to read and print, and as data.
#[component]
fn Report() -> impl IntoView {
    let ui = ui();
    let ending = |ending: &'static str| move |name: &str| name.ends_with(ending);
    view! {
        <section>
            <h3>"Foot report"</h3>
            <div class="row">
                <button data-testid="report-show" on:click=move |_| make(ui, "report", ending(".html"), show_apart)>"Show to print"</button>
                <button class="small" data-testid="report-csv" on:click=move |_| make(ui, "report", ending(".csv"), download)>"Table (CSV)"</button>
                <button class="small" data-testid="report-json" on:click=move |_| make(ui, "report", ending(".json"), download)>"Data (JSON)"</button>
            </div>
        </section>
    }
}
