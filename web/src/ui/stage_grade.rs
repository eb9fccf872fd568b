//! Grade: the base hardness and the regions over it.

use super::fields::{NumberField, NumberSpec, number, show};
use super::state::{Held, Mode, region_of, ui};
use base::{ParamSpec, Side};
use case::Edit;
use engine::view::{FootView, RegionView, Target};
use hardness::{SHORE_A, TRANSITION};
use leptos::prelude::*;

/// The panel.
#[component]
pub(crate) fn Grade() -> impl IntoView {
    view! {
        <Base />
        <NewRegion />
        <Regions />
    }
}

fn spec_of(spec: &ParamSpec, testid: impl Into<String>, label: &str) -> NumberSpec {
    NumberSpec {
        testid: testid.into(),
        label: label.to_owned(),
        unit: spec.unit.to_owned(),
        min: spec.min,
        max: spec.max,
        step: spec.step,
        help: spec.help.to_owned(),
    }
}

#[component]
fn Base() -> impl IntoView {
    let ui = ui();
    let base = ui.active(|foot| foot.base_shore_a);
    let range = ui.active(|foot| foot.shore_a_range);
    let steepest = ui.active(|foot| foot.steepest);
    let set = move |shore_a| ui.edit(Edit::SetBaseHardness { side: ui.side.get_untracked(), shore_a });
    let go = move |_| {
        if let Some((_, at)) = steepest.get_untracked() {
            ui.go_to(ui.side.get_untracked(), Some(at));
        }
    };
    view! {
        <section>
            <h3>"Whole insole, "{move || ui.side.get().word()}</h3>
            <div class="fields">
                <NumberField spec=spec_of(&SHORE_A, "base-shore-a", "Base hardness") value=Signal::derive(move || base.get()) set />
            </div>
            <p class="quiet-text" data-testid="hardness-range">
                {move || range.get().map(|(least, most)| format!("From {least:.0} to {most:.0} Shore A on this insole."))}
            </p>
            <p class="quiet-text" data-testid="steepest">
                {move || steepest.get().map(|(slope, [x, y])| {
                    let (x, y) = (number(x, 0), number(y, 0));
                    format!("Steepest change {slope:.2} Shore A per mm, at x {x}, y {y} mm. ")
                })}
                <button class="small" data-testid="steepest-show" on:click=go>"Show"</button>
            </p>
        </section>
    }
}

#[component]
fn NewRegion() -> impl IntoView {
    let ui = ui();
    let (shore_a, transition) = (ui.new_region.0, ui.new_region.1);
    let drawing = move || ui.mode.with(|mode| matches!(mode, Mode::Draw { .. }));
    let points = move || ui.mode.with(|mode| if let Mode::Draw { points, .. } = mode { points.len() } else { 0 });
    let toggle = move |_| {
        let mode = if untrack(drawing) {
            Mode::Select
        } else {
            Mode::Draw { side: ui.side.get_untracked(), points: Vec::new() }
        };
        ui.mode.set(mode);
    };
    let progress = move || {
        drawing().then(|| view! {
            <p class="asked" data-testid="draw-help">
                {move || format!("{} points. Click round the area on the sheet or in the 3D view. ", points())}
                "Space adds one where the cuts cross; Enter or a click on the first point closes the curve, Backspace takes the last point back, Escape gives up."
            </p>
            <div class="row">
                <button class="small" data-testid="draw-add" on:click=move |_| ui.click_at_cursor()>"Add at the cuts"</button>
                <button class="small" data-testid="draw-close" prop:disabled=move || { points() < 3 } on:click=move |_| ui.close_curve()>"Close"</button>
                <button class="small" data-testid="draw-back" prop:disabled=move || points() == 0 on:click=move |_| ui.take_point_back()>"Take back"</button>
            </div>
        })
    };
    view! {
        <section>
            <h3>"New region"</h3>
            <div class="fields">
                <NumberField spec=spec_of(&SHORE_A, "new-shore-a", "Hardness") value=Signal::derive(move || Some(shore_a.get())) set=move |value| shore_a.set(value) />
                <NumberField spec=spec_of(&TRANSITION, "new-transition", "Transition") value=Signal::derive(move || Some(transition.get())) set=move |value| transition.set(value) />
            </div>
            <div class="row">
                <button data-testid="draw-region" aria-pressed=move || drawing().to_string() on:click=toggle>
                    {move || if drawing() { "Give up drawing" } else { "Draw its curve" }}
                </button>
            </div>
            {progress}
        </section>
    }
}

#[component]
fn Regions() -> impl IntoView {
    let ui = ui();
    // With the side: both feet may have the same ids.
    let ids = Memo::new(move |_| {
        let side = ui.side.get();
        let ids = |foot: &FootView| foot.regions.iter().map(|region| (side, region.id)).collect::<Vec<_>>();
        ui.with_foot(side, ids).unwrap_or_default()
    });
    view! {
        <section>
            <h3>"Regions, the last on top"</h3>
            {move || ids.get().is_empty().then(|| view! { <p class="quiet-text">"None: the insole is equally hard everywhere."</p> })}
            <ul class="list" data-testid="regions">
                <For each=move || ids.get() key=|item| *item children=|(side, id)| view! { <Region side id /> } />
            </ul>
        </section>
    }
}

/// An edit of one region that changes nothing yet.
struct Change {
    name: Option<String>,
    points: Option<Vec<[f64; 2]>>,
    shore_a: Option<f64>,
    transition_mm: Option<f64>,
    on: Option<bool>,
}

const NOTHING: Change = Change { name: None, points: None, shore_a: None, transition_mm: None, on: None };

impl Change {
    fn of(self, side: Side, id: u32) -> Edit {
        let Change { name, points, shore_a, transition_mm, on } = self;
        Edit::SetRegion { side, id, name, points, shore_a, transition_mm, on }
    }
}

#[component]
fn Region(side: Side, id: u32) -> impl IntoView {
    let ui = ui();
    let now = ui.foot(side, move |foot| foot.regions.iter().find(|region| region.id == id).cloned());
    let read = move || now.get().flatten();
    let chosen = Memo::new(move |_| {
        ui.held.with(|held| held.as_ref().is_some_and(|held| held.side == side && region_of(&held.target) == Some(id)))
    });
    let opened = RwSignal::new(false);
    let open = Memo::new(move |_| chosen.get() || opened.get());
    let choose = move |_| {
        if open.get_untracked() {
            opened.set(false);
            if chosen.get_untracked() {
                ui.held.set(None);
            }
        } else {
            opened.set(true);
            ui.hold(Held { side, target: Target::RegionPoint { id, index: 0 } });
        }
    };
    let name = move || read().map(|region| region.name).unwrap_or_default();
    let summary = move || read().map(|region| format!("{} Shore A", show(region.shore_a, 1.0)));
    let set_on = move |event: leptos::ev::Targeted<leptos::ev::Event, web_sys::HtmlInputElement>| {
        let on = event.target().checked();
        ui.edit(Change { on: Some(on), ..NOTHING }.of(side, id));
    };
    view! {
        <li class:chosen=chosen>
            <div class="list-row">
                <label class="switch" title="Acts or not">
                    <input type="checkbox" data-testid=format!("region-{id}-on") aria-label="Region acts"
                        prop:checked=move || read().is_some_and(|region| region.on) on:change:target=set_on />
                </label>
                <button class="row-name" data-testid=format!("region-{id}") aria-expanded=move || open.get().to_string() on:click=choose>{name}</button>
                <span class="confidence">{summary}</span>
                <button class="quiet" data-testid=format!("region-{id}-remove") aria-label="Remove region" title="Remove"
                    on:click=move |_| ui.edit(Edit::RemoveRegion { side, id })>"×"</button>
            </div>
            {move || open.get().then(|| view! { <RegionFields side id now /> })}
        </li>
    }
}

#[component]
fn RegionFields(side: Side, id: u32, now: Memo<Option<Option<RegionView>>>) -> impl IntoView {
    let ui = ui();
    let read = move || now.get().flatten();
    let rename = move |event: leptos::ev::Targeted<leptos::ev::Event, web_sys::HtmlInputElement>| {
        let name = Some(event.target().value());
        ui.edit(Change { name, ..NOTHING }.of(side, id));
    };
    let set_shore_a = move |value| {
        ui.edit(Change { shore_a: Some(value), ..NOTHING }.of(side, id));
    };
    let set_transition = move |value| {
        ui.edit(Change { transition_mm: Some(value), ..NOTHING }.of(side, id));
    };
    let count = Memo::new(move |_| read().map_or(0, |region| region.points.len()));
    let place = move |index: usize, axis: usize, label: &'static str| {
        let spec = NumberSpec {
            testid: format!("region-{id}-point-{index}-{label}"),
            label: format!("{} {label}", index + 1),
            unit: "mm".into(),
            min: -300.0,
            max: 400.0,
            step: 0.5,
            help: "A point of the region's curve.".into(),
        };
        let value = Signal::derive(move || read().and_then(|region| region.points.get(index).map(|point| point[axis])));
        let set = move |value: f64| {
            let points = untrack(read).map(|region| {
                let mut points = region.points;
                if let Some(point) = points.get_mut(index) {
                    point[axis] = value;
                }
                points
            });
            ui.edit(Change { points, ..NOTHING }.of(side, id));
        };
        view! { <NumberField spec value set /> }
    };
    view! {
        <div class="fields inset">
            <div class="field">
                <label class="field-label" for=format!("region-{id}-name")>"Name"</label>
                <input class="text" id=format!("region-{id}-name") data-testid=format!("region-{id}-name")
                    prop:value=move || read().map(|region| region.name).unwrap_or_default() on:change:target=rename />
            </div>
            <NumberField spec=spec_of(&SHORE_A, format!("region-{id}-shore-a"), "Hardness") value=Signal::derive(move || read().map(|region| region.shore_a)) set=set_shore_a />
            <NumberField spec=spec_of(&TRANSITION, format!("region-{id}-transition"), "Transition") value=Signal::derive(move || read().map(|region| region.transition_mm)) set=set_transition />
            <details>
                <summary>"Points of its curve"</summary>
                <For each=move || 0..count.get() key=|index| *index children=move |index| view! {
                    <div class="pair">{place(index, 0, "x")}{place(index, 1, "y")}</div>
                } />
            </details>
        </div>
    }
}
