//! Intake: which scan is which foot, in which unit, loaded how.

use super::fields::{NumberField, NumberSpec, sentence};
use super::files::{Pick, pick_files};
use super::marks::SeverityMark;
use super::state::ui;
use base::{LengthUnit, Note, Side};
use case::Edit;
use foot::WeightBearing;
use leptos::prelude::*;

/// The panel.
#[component]
pub(crate) fn Intake() -> impl IntoView {
    view! {
        <LoadState />
        <BodyMass />
        <FootCard side=Side::Left />
        <FootCard side=Side::Right />
    }
}

/// "Left", "Right".
pub(crate) fn side_label(side: Side) -> &'static str {
    match side {
        Side::Left => "Left",
        Side::Right => "Right",
    }
}

#[component]
fn LoadState() -> impl IntoView {
    let ui = ui();
    let now = ui.part(|snapshot| snapshot.weight_bearing);
    let state = move || now.get().flatten();
    let choice = move |value: WeightBearing, label: &'static str, what: &'static str| {
        view! {
            <label class="choice">
                <input type="radio" name="weight-bearing" data-testid=format!("weight-bearing-{}", value.word())
                    prop:checked=move || state() == Some(value)
                    on:change=move |_| ui.edit(Edit::SetWeightBearing { state: Some(value) }) />
                <span><b>{label}</b>" "{what}</span>
            </label>
        }
    };
    view! {
        <fieldset class="question" class:open=move || state().is_none()>
            <legend>"How was each foot loaded when scanned?"</legend>
            {choice(WeightBearing::None, "Not at all", "hanging or lying")}
            {choice(WeightBearing::Half, "Half", "sitting, or standing on both feet")}
            {choice(WeightBearing::Full, "Fully", "standing on this foot alone")}
            <p class="asked" data-testid="weight-bearing-open">
                {move || state().is_none().then_some("Not stated yet. The height of the arch support depends on it.")}
            </p>
        </fieldset>
    }
}

#[component]
fn BodyMass() -> impl IntoView {
    let ui = ui();
    let mass = ui.part(|snapshot| snapshot.mass_kg);
    let value = Signal::derive(move || mass.get().flatten());
    let origin = Signal::derive(move || value.get().is_none().then_some("not stated"));
    let spec = NumberSpec {
        testid: "mass".into(),
        label: "Body mass".into(),
        unit: "kg".into(),
        min: 10.0,
        max: 300.0,
        step: 1.0,
        help: "For the job sheet and the choice of hardness.".into(),
    };
    view! {
        <div class="fields">
            <NumberField spec value origin set=move |kg| ui.edit(Edit::SetMass { mass_kg: Some(kg) })
                reset=move |()| ui.edit(Edit::SetMass { mass_kg: None }) />
        </div>
    }
}

#[component]
fn FootCard(side: Side) -> impl IntoView {
    let ui = ui();
    let present = ui.foot(side, |_| ());
    let problem = ui.part(move |snapshot| snapshot.problems[side].clone());
    view! {
        <section class="card" data-testid=format!("foot-card-{}", side.word())>
            <h3>{side_label(side)}" foot"</h3>
            {move || problem.get().flatten().map(|text| view! { <p class="problem" role="alert">{sentence(&text)}</p> })}
            {move || match present.get() {
                Some(()) => view! { <FootFacts side /> }.into_any(),
                None => view! {
                    <p class="quiet-text">"No scan yet."</p>
                    <button data-testid=format!("add-scan-{}", side.word())
                        on:click=move |_| pick_files(ui, Pick::Scan(Some(side)))>"Bring in a scan…"</button>
                }
                .into_any(),
            }}
        </section>
    }
}

#[component]
fn FootFacts(side: Side) -> impl IntoView {
    let ui = ui();
    let word = side.word();
    let name = ui.foot(side, |foot| foot.scan_name.clone());
    let unit = ui.foot(side, |foot| foot.unit);
    let length = ui.foot(side, |foot| {
        foot.measures.iter().find(|measure| measure.id == "foot_length_mm").and_then(|measure| measure.value)
    });
    let cut = ui.foot(side, |foot| foot.cut_height_mm);
    let notes = ui.foot(side, |foot| foot.intake_notes.clone());
    let other_taken = Memo::new(move |_| ui.has(side.other()));
    let set_unit = move |event: leptos::ev::Targeted<leptos::ev::Event, web_sys::HtmlSelectElement>| {
        if let Some(unit) = LengthUnit::from_symbol(&event.target().value()) {
            ui.edit(Edit::SetUnit { side, unit });
        }
    };
    let cut_spec = NumberSpec {
        testid: format!("cut-height-{word}"),
        label: "Leg cut at".into(),
        unit: "mm".into(),
        min: 40.0,
        max: 200.0,
        step: 5.0,
        help: "Height above the support plane at which the leg is cut off.".into(),
    };
    let switch_title = move || {
        if other_taken.get() {
            "Take the other foot out first: its place is taken"
        } else {
            "Moves this foot to the other side"
        }
    };
    view! {
        <p class="file-name" data-testid=format!("scan-name-{word}")>{name}</p>
        <div class="fields">
            <div class="field">
                <label class="field-label" for=format!("unit-{word}")>"Unit"</label>
                <span class="made" data-testid=format!("unit-length-{word}")>
                    {move || length.get().flatten().map(|mm| format!("foot {mm:.1} mm long"))}
                </span>
                <select id=format!("unit-{word}") data-testid=format!("unit-{word}") on:change:target=set_unit
                    prop:value=move || unit.get().map_or("mm", LengthUnit::symbol)>
                    {LengthUnit::ALL.map(|unit| view! { <option value=unit.symbol()>{unit.symbol()}</option> }).collect_view()}
                </select>
            </div>
        </div>
        <div class="fields">
            <NumberField spec=cut_spec value=Signal::derive(move || cut.get())
                set=move |cut_height_mm| ui.edit(Edit::SetCutHeight { side, cut_height_mm }) />
        </div>
        <div class="row">
            <button class="small" data-testid=format!("switch-side-{word}") title=switch_title prop:disabled=move || other_taken.get()
                on:click=move |_| ui.edit(Edit::SwitchSide { side })>"It is the "{side.other().word()}" foot"</button>
            <button class="small" data-testid=format!("replace-scan-{word}") title="A new scan under the same design"
                on:click=move |_| pick_files(ui, Pick::Scan(Some(side)))>"Replace…"</button>
            <button class="small" data-testid=format!("remove-foot-{word}")
                on:click=move |_| ui.edit(Edit::RemoveFoot { side })>"Take out"</button>
        </div>
        <ul class="notes" data-testid=format!("intake-notes-{word}")>
            {move || notes.get().unwrap_or_default().into_iter().map(note_line).collect_view()}
        </ul>
    }
}

fn note_line(note: Note) -> impl IntoView {
    let advice = (!note.advice.is_empty()).then(|| format!(" {}", note.advice));
    view! { <li><SeverityMark severity=note.severity /><span>{note.text}{advice}</span></li> }
}
