//! Intake: which scan is which foot, in which unit, loaded how.

use super::fields::{ChoiceField, NumberField, NumberSpec, fixed, sentence};
use super::files::{Pick, pick_files};
use super::marks::SeverityMark;
use super::state::{Mode, ui};
use crate::protocol::Request;
use base::{LengthUnit, Note, Side};
use case::Edit;
use engine::view::StepView;
use foot::{ScanKind, WeightBearing};
use leptos::prelude::*;
use scan::HeightScale;

/// The panel.
#[component]
pub(crate) fn Intake() -> impl IntoView {
    view! {
        <LoadState />
        <BodyMass />
        <FootCard side=Side::Left />
        <FootCard side=Side::Right />
        <HeightImages />
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
    let name = ui.foot(side, |foot| format!("{} · {}", foot.scan_name, foot.format));
    let notes = ui.foot(side, |foot| foot.intake_notes.clone());
    let has_dorsum = ui.foot(side, |foot| foot.has_dorsum);
    let both = Memo::new(move |_| ui.has(side.other()));
    let switch_title = move || if both.get() { "The feet change places" } else { "Moves this foot to the other side" };
    let laying = move || ui.mode.with(|mode| matches!(mode, Mode::Lay { side: laid, .. } if *laid == side));
    let lay = move |_| {
        ui.go_to(side, None);
        ui.mode.set(if untrack(laying) { Mode::Select } else { Mode::Lay { side, points: Vec::new() } });
    };
    view! {
        <p class="file-name" data-testid=format!("scan-name-{word}")>{name}</p>
        <Reading side />
        <div class="row">
            <button class="small" data-testid=format!("switch-side-{word}") title=switch_title
                on:click=move |_| ui.edit(Edit::SwitchSide { side })>"It is the "{side.other().word()}" foot"</button>
            <button class="small" data-testid=format!("lay-{word}") aria-pressed=move || laying().to_string()
                title="Lay the foot by three clicks: heel, ball at the big toe, ball at the little toe. Axis, support plane and side follow." on:click=lay>"Lay by 3 points"</button>
            <button class="small" data-testid=format!("replace-scan-{word}") title="A new scan under the same design"
                on:click=move |_| pick_files(ui, Pick::Scan(Some(side)))>"Replace…"</button>
            <button class="small" data-testid=format!("remove-foot-{word}")
                on:click=move |_| ui.edit(Edit::RemoveFoot { side })>"Take out"</button>
        </div>
        {move || (has_dorsum.get() == Some(false)).then(|| view! {
            <p class="quiet-text" data-testid=format!("sole-only-{word}")>"Only the sole is here: instep, girths and ankle are measured by hand."</p>
        })}
        <ul class="notes" data-testid=format!("intake-notes-{word}")>
            {move || notes.get().unwrap_or_default().into_iter().map(note_line).collect_view()}
        </ul>
        <Cleaning side />
        <SecondScan side />
    }
}

/// How the file is read: what it shows, its unit, its scale, where the leg ends.
#[component]
fn Reading(side: Side) -> impl IntoView {
    let ui = ui();
    let word = side.word();
    let unit = ui.foot(side, |foot| foot.unit);
    let kind = ui.foot(side, |foot| foot.kind);
    let heights = ui.foot(side, |foot| foot.heights);
    let foam = ui.foot(side, |foot| foot.foam_return.clone());
    let cut = ui.foot(side, |foot| foot.cut_height_mm);
    let length = ui.foot(side, |foot| {
        foot.measures.iter().find(|measure| measure.id == "foot_length_mm").and_then(|measure| measure.value)
    });
    let set_unit = move |event: leptos::ev::Targeted<leptos::ev::Event, web_sys::HtmlSelectElement>| {
        if let Some(unit) = LengthUnit::from_symbol(&event.target().value()) {
            ui.edit(Edit::SetUnit { side, unit });
        }
    };
    let set_kind = move |chosen: String| {
        let kind = ScanKind::ALL.into_iter().find(|kind| kind.word() == chosen);
        ui.ask(Request::Retake { side, kind, heights: None });
    };
    let cut_spec = NumberSpec {
        testid: format!("cut-height-{word}"),
        label: "Leg cut at".into(),
        unit: "mm".into(),
        min: case::CUT_HEIGHT.min,
        max: case::CUT_HEIGHT.max,
        step: 5.0,
        help: "Height above the support plane at which the leg is cut off; the arrows at the ankle move it too.".into(),
    };
    let is_impression = move || kind.get() == Some(ScanKind::Impression);
    view! {
        <div class="fields">
            <ChoiceField testid=format!("kind-{word}") label="Shows" set=set_kind
                value=Signal::derive(move || kind.get().map_or("foot", ScanKind::word).to_owned())
                options=fixed(ScanKind::ALL.map(|kind| (kind.word(), kind_label(kind)))) />
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
            {move || is_impression().then(|| foam.get_untracked()).flatten().map(|param| {
                let spec = NumberSpec {
                    testid: format!("foam-return-{word}"), label: param.label, unit: param.unit,
                    min: param.min, max: param.max, step: param.step, help: param.help,
                };
                let value = Signal::derive(move || foam.get().map(|param| param.value));
                view! { <NumberField spec value set=move |percent| ui.edit(Edit::SetFoamReturn { side, percent }) /> }
            })}
            {move || heights.get().flatten().map(|now| view! {
                <HeightFields prefix=format!("{word}-") scale=Signal::derive(move || (Some(now.mm_per_pixel), Some(now.mm_per_level)))
                    set=move |(pixel, level): (Option<f64>, Option<f64>)| {
                        let heights = HeightScale { mm_per_pixel: pixel.unwrap_or(now.mm_per_pixel), mm_per_level: level.unwrap_or(now.mm_per_level) };
                        ui.ask(Request::Retake { side, kind: None, heights: Some(heights) });
                    } />
            })}
        </div>
        <div class="fields">
            {move || (!is_impression()).then(|| view! {
                <NumberField spec=cut_spec.clone() value=Signal::derive(move || cut.get())
                    set=move |cut_height_mm| ui.edit(Edit::SetCutHeight { side, cut_height_mm }) />
            })}
        </div>
    }
}

fn kind_label(kind: ScanKind) -> &'static str {
    match kind {
        ScanKind::Foot => "foot or cast",
        ScanKind::Impression => "impression",
    }
}

/// The two numbers of a height image.
#[component]
fn HeightFields(
    /// Starts the test ids.
    #[prop(into)]
    prefix: String,
    #[prop(into)] scale: Signal<(Option<f64>, Option<f64>)>,
    /// Sets the number that is not `None`.
    #[prop(into)]
    set: Callback<(Option<f64>, Option<f64>)>,
) -> impl IntoView {
    let spec = |id: &str, label: &str, min: f64, max: f64, step: f64, help: &str| NumberSpec {
        testid: format!("{prefix}{id}"),
        label: label.into(),
        unit: "mm".into(),
        min,
        max,
        step,
        help: help.into(),
    };
    let pixel =
        spec("mm-per-pixel", "Height image, per pixel", 0.01, 5.0, 0.05, "Side of one pixel of a height image.");
    let level = spec(
        "mm-per-level",
        "Height image, per grey level",
        -1.0,
        1.0,
        0.001,
        "Height between two grey levels; negative where darker is higher.",
    );
    view! {
        <NumberField spec=pixel value=Signal::derive(move || scale.get().0) set=move |mm| set.run((Some(mm), None)) />
        <NumberField spec=level value=Signal::derive(move || scale.get().1) set=move |mm| set.run((None, Some(mm))) />
    }
}

/// What is done to the scan, step by step, each of which can be left out.
#[component]
fn Cleaning(side: Side) -> impl IntoView {
    let ui = ui();
    let word = side.word();
    let steps = ui.foot(side, |foot| foot.steps.clone());
    let done = move || steps.get().unwrap_or_default().iter().filter(|step| step.note.is_some()).count();
    let row = move |StepView { step, on, note }: StepView| {
        let switch = move |event: leptos::ev::Targeted<leptos::ev::Event, web_sys::HtmlInputElement>| {
            ui.edit(Edit::SwitchCleanStep { side, step, on: event.target().checked() });
        };
        let text = match (on, note) {
            (true, Some(note)) => {
                view! { <SeverityMark severity=note.severity /><span>{note.text}" "{note.advice}</span> }.into_any()
            }
            (true, None) => view! { <span class="quiet-text">"Nothing to do."</span> }.into_any(),
            (false, _) => view! { <span class="quiet-text">"Left out."</span> }.into_any(),
        };
        view! {
            <li>
                <label class="choice"><input type="checkbox" data-testid=format!("step-{}-{word}", step.id()) prop:checked=on on:change:target=switch />
                    <span>{step.label()}</span></label>
                <p class="step-note" data-testid=format!("step-note-{}-{word}", step.id())>{text}</p>
            </li>
        }
    };
    view! {
        <details class="more" data-testid=format!("cleaning-{word}")>
            <summary>"Cleaning: "{move || match done() { 0 => "nothing to do".to_owned(), 1 => "1 thing done".to_owned(), n => format!("{n} things done") }}</summary>
            <ul class="steps">{move || steps.get().unwrap_or_default().into_iter().map(row).collect_view()}</ul>
        </details>
    }
}

/// The same foot in another state of loading: what the arch does under load.
#[component]
fn SecondScan(side: Side) -> impl IntoView {
    let ui = ui();
    let word = side.word();
    let second = ui.foot(side, |foot| foot.second.clone());
    let state = RwSignal::new(None::<WeightBearing>);
    let choose = move |event: leptos::ev::Targeted<leptos::ev::Event, web_sys::HtmlSelectElement>| {
        let chosen = event.target().value();
        state.set(WeightBearing::ALL.into_iter().find(|state| state.word() == chosen));
    };
    let bring = move |_| {
        if let Some(state) = state.get_untracked() {
            pick_files(ui, Pick::Second(side, state));
        }
    };
    let navicular_spec = NumberSpec {
        testid: format!("second-navicular-{word}"),
        label: "Navicular felt at".into(),
        unit: "mm".into(),
        min: case::NAVICULAR_HEIGHT.min,
        max: case::NAVICULAR_HEIGHT.max,
        step: 0.5,
        help: "Its height over the support plane in this state, felt for and measured by hand. Place it on the first scan too: then the navicular drop is known.".into(),
    };
    let body = move || {
        match second.get().flatten() {
        Some(second) => view! {
            <p class="file-name" data-testid=format!("second-{word}")>{second.scan_name}", "{state_label(second.state)}</p>
            {second.problem.map(|text| view! { <p class="problem">{sentence(&text)}</p> })}
            <div class="fields">
                <NumberField spec=navicular_spec.clone() value=Signal::derive(move || second.navicular_height_mm)
                    origin=Signal::derive(move || second.navicular_height_mm.is_none().then_some("not felt"))
                    set=move |mm| ui.edit(Edit::SetSecondNavicular { side, height_mm: Some(mm) })
                    reset=move |()| ui.edit(Edit::SetSecondNavicular { side, height_mm: None }) />
            </div>
            <div class="row">
                <button class="small" data-testid=format!("remove-second-{word}")
                    on:click=move |_| ui.edit(Edit::RemoveSecondScan { side })>"Take out"</button>
            </div>
        }
        .into_any(),
        None => view! {
            <p class="quiet-text">"Compared with the first, it shows how far navicular and arch come down under load."</p>
            <div class="row">
                <select data-testid=format!("second-state-{word}") aria-label="How it was loaded" on:change:target=choose>
                    <option value="">"Loaded how?"</option>
                    {WeightBearing::ALL.map(|state| view! { <option value=state.word()>{state_label(state)}</option> }).collect_view()}
                </select>
                <button class="small" data-testid=format!("add-second-{word}") prop:disabled=move || state.get().is_none() on:click=bring>"Bring in…"</button>
            </div>
        }
        .into_any(),
    }
    };
    view! {
        <details class="more">
            <summary>"Second scan, loaded otherwise"</summary>
            {body}
        </details>
    }
}

/// A state of loading in words.
pub(crate) fn state_label(state: WeightBearing) -> &'static str {
    match state {
        WeightBearing::None => "not loaded",
        WeightBearing::Half => "half loaded",
        WeightBearing::Full => "fully loaded",
    }
}

/// Scale of height images that are to come.
#[component]
fn HeightImages() -> impl IntoView {
    let ui = ui();
    let scale = Signal::derive(move || (ui.heights.0.get(), ui.heights.1.get()));
    let set = move |(pixel, level): (Option<f64>, Option<f64>)| {
        if pixel.is_some() {
            ui.heights.0.set(pixel);
        }
        if level.is_some() {
            ui.heights.1.set(level);
        }
    };
    view! {
        <details class="more" data-testid="height-images">
            <summary>"Height images (16-bit PNG)"</summary>
            <p class="quiet-text">"State the scale before bringing one in; the image says nothing of millimetres."</p>
            <div class="fields"><HeightFields prefix="" scale set /></div>
        </details>
    }
}

fn note_line(note: Note) -> impl IntoView {
    let advice = (!note.advice.is_empty()).then(|| format!(" {}", note.advice));
    view! { <li><SeverityMark severity=note.severity /><span>{note.text}{advice}</span></li> }
}
