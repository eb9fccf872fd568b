//! Shape: the elements: added by the landmarks or by a click, and each with its numbers.

use super::fields::ParamList;
use super::shape_builds::save_as;
use super::state::{Held, Mode, Ui, element_of};
use crate::protocol::Request;
use base::{Params, Side};
use case::Edit;
use engine::view::{ElementView, FootView};
use leptos::html::Li;
use leptos::prelude::*;
use web_sys::{ScrollIntoViewOptions, ScrollLogicalPosition};

type CheckEvent = leptos::ev::Targeted<leptos::ev::Event, web_sys::HtmlInputElement>;

/// The part of the panel.
pub(super) fn elements(ui: Ui) -> AnyView {
    let by_click = RwSignal::new(false);
    let way = move |click: bool, testid: &'static str, label: &'static str| {
        let choose = move |_| {
            by_click.set(click);
            ui.mode.set(Mode::Select);
        };
        view! {
            <button class="small" data-testid=testid aria-pressed=move || (by_click.get() == click).to_string() on:click=choose>{label}</button>
        }
    };
    let kinds = insole::elements::ALL
        .iter()
        .map(|element| {
            let kind = element.id();
            let placing = move || ui.mode.with(|mode| matches!(mode, Mode::Place { kind: now } if now == kind));
            let add = move |_| {
                if !by_click.get_untracked() {
                    ui.place(ui.side.get_untracked(), kind, None);
                } else if untrack(placing) {
                    ui.mode.set(Mode::Select);
                } else {
                    ui.mode.set(Mode::Place { kind: kind.to_owned() });
                }
            };
            view! {
                <button class="small" title=element.help() on:click=add
                    aria-pressed=move || by_click.get().then(|| placing().to_string())
                    data-testid=move || format!("{}-{kind}", if by_click.get() { "place" } else { "add" })
                    on:focus=move |_| ui.hint.set(element.help().to_owned())>{element.label()}</button>
            }
        })
        .collect_view();
    view! {
        <div class="switcher" role="group" aria-label="Where an element goes">
            {way(false, "where-landmarks", "Where the landmarks say")}
            {way(true, "where-click", "Where I click")}
        </div>
        <div class="kinds">{kinds}{presets(ui)}</div>
        {list(ui)}
    }
    .into_any()
}

/// The shop's own elements: each is added as its build has it.
fn presets(ui: Ui) -> impl IntoView {
    move || {
        let own = ui.own_builds.get().into_iter().filter_map(|own| own.build.ok());
        let presets = own.filter(|build| build.surface.is_none()).map(|build| {
            let name = build.name.clone();
            let add = move |_| {
                ui.ask(Request::UseBuild { sides: vec![ui.side.get_untracked()], build: build.clone() });
            };
            view! {
                <button class="small" data-testid=format!("preset-{name}") title="Kept in this browser; goes where the landmarks say" on:click=add>
                    {format!("Own: {name}")}
                </button>
            }
        });
        presets.collect_view()
    }
}

fn list(ui: Ui) -> AnyView {
    // With side and kind: both feet may have the same ids, and a build may put another kind under one.
    let ids = Memo::new(move |_| {
        let side = ui.side.get();
        let ids = |foot: &FootView| {
            foot.elements.iter().map(|element| (side, element.id, element.kind.clone())).collect::<Vec<_>>()
        };
        ui.with_foot(side, ids).unwrap_or_default()
    });
    view! {
        {move || ids.with(Vec::is_empty).then(|| view! { <p class="quiet-text">"None on this foot yet."</p> })}
        <ul class="list" data-testid="elements">
            <For each=move || ids.get() key=Clone::clone children=move |(side, id, _)| row(ui, side, id) />
        </ul>
    }
    .into_any()
}

fn row(ui: Ui, side: Side, id: u32) -> AnyView {
    let now = ui.foot(side, move |foot| foot.elements.iter().find(|element| element.id == id).cloned());
    let read = move || now.get().flatten();
    let label = untrack(read).map(|element| element.label).unwrap_or_default();
    let chosen = Memo::new(move |_| {
        ui.held.with(|held| held.as_ref().is_some_and(|held| held.side == side && element_of(&held.target) == Some(id)))
    });
    let item = NodeRef::<Li>::new();
    // What was just added, or taken hold of on a drawing, lies below the kinds and out of sight.
    Effect::new(move |_| {
        if let (true, Some(item)) = (chosen.get(), item.get()) {
            let nearest = ScrollIntoViewOptions::new();
            nearest.set_block(ScrollLogicalPosition::Nearest);
            request_animation_frame(move || item.scroll_into_view_with_scroll_into_view_options(&nearest));
        }
    });
    let opened = RwSignal::new(false);
    let open = Memo::new(move |_| chosen.get() || opened.get());
    let choose = move |_| {
        if open.get_untracked() {
            opened.set(false);
            if chosen.get_untracked() {
                ui.held.set(None);
            }
            return;
        }
        opened.set(true);
        let first = untrack(|| {
            ui.with_foot(side, |foot| {
                foot.handles.iter().map(|handle| &handle.target).find(|target| element_of(target) == Some(id)).cloned()
            })
        });
        if let Some(target) = first.flatten() {
            ui.hold(Held { side, target });
        }
    };
    let on = move || read().is_some_and(|element| element.on);
    let set_on = move |event: CheckEvent| ui.edit(Edit::SwitchElement { side, id, on: event.target().checked() });
    let twin = Memo::new(move |_| read().is_some_and(|element| element.twin));
    let both = {
        let name = format!("{label} on both feet");
        move || {
            ui.has(side.other()).then(|| view! {
                <button class="small" data-testid=format!("element-{id}-twin") aria-label=name.clone() aria-pressed=move || twin.get().to_string()
                    title="The other foot has it too, mirrored, and it changes on both together"
                    on:click=move |_| ui.edit(Edit::TwinElement { side, id, on: !twin.get_untracked() })>"Both feet"</button>
            })
        }
    };
    view! {
        <li node_ref=item class:chosen=chosen>
            <div class="list-row">
                <label class="switch" title="Acts or not">
                    <input type="checkbox" data-testid=format!("element-{id}-on") aria-label=format!("{label} acts") prop:checked=on on:change:target=set_on />
                </label>
                <button class="row-name" data-testid=format!("element-{id}") aria-expanded=move || open.get().to_string() on:click=choose>{label.clone()}</button>
                {both}
                <button class="quiet" data-testid=format!("element-{id}-remove") aria-label=format!("Remove {label}") title="Remove"
                    on:click=move |_| ui.edit(Edit::RemoveElement { side, id })>"×"</button>
            </div>
            {move || open.get().then(|| opened_row(ui, side, id, now))}
        </li>
    }
    .into_any()
}

/// What an opened element says and asks.
fn opened_row(ui: Ui, side: Side, id: u32, now: Memo<Option<Option<ElementView>>>) -> AnyView {
    let read = move || now.get().flatten();
    let Some(element) = untrack(read) else { return ().into_any() };
    let ElementView { help, source, known, caution, can_be_drawn, text, .. } = element;
    let help = if known {
        help
    } else {
        "This program does not know this kind of element: it is kept, and does nothing.".to_owned()
    };
    let caution = (!caution.is_empty()).then(|| {
        view! {
            <p class="problem" data-testid=format!("element-{id}-caution")><b>"Caution: "</b>{caution}</p>
        }
    });
    let params = Signal::derive(move || read().map(|element| element.params).unwrap_or_default());
    let set = move |(param, value): (String, Option<f64>)| {
        if let Some(value) = value {
            ui.edit(Edit::set_element(side, id, Params::from([(param, value)])));
        }
    };
    let other = move || ui.has(side.other());
    view! {
        <div class="inset">
            <p class="quiet-text">{help}</p>
            {caution}
            {text.map(|_| written(ui, side, id, now))}
            <ParamList prefix=format!("element-{id}") params set />
            <div class="row tools">
                {can_be_drawn.then(|| drawn(ui, side, id, now))}
                <button class="small" data-testid=format!("element-{id}-copy") title="Once, mirrored; each then changes by itself"
                    prop:disabled=move || !other() on:click=move |_| ui.ask(Request::CopyElement { side, id })>"Copy to the other foot"</button>
                {save_as(&format!("element-{id}"), "Save as own…", "Keeps it in this browser, to be added to other feet", move || (side, Some(id)))}
            </div>
            <p class="source">{source}</p>
        </div>
    }
    .into_any()
}

/// What an element says.
fn written(ui: Ui, side: Side, id: u32, now: Memo<Option<Option<ElementView>>>) -> AnyView {
    let value = move || {
        ui.refused.track();
        now.get().flatten().and_then(|element| element.text).unwrap_or_default()
    };
    let write = move |event: CheckEvent| {
        let text = Some(event.target().value());
        ui.edit(Edit::SetElement { side, id, params: Params::new(), curve: None, text });
    };
    let testid = format!("element-{id}-text");
    view! {
        <div class="fields">
            <div class="field">
                <label class="field-label" for=testid.clone()>"Says"</label>
                <input class="text" id=testid.clone() data-testid=testid prop:value=value on:change:target=write />
            </div>
        </div>
    }
    .into_any()
}

/// The outline it is drawn to.
fn drawn(ui: Ui, side: Side, id: u32, now: Memo<Option<Option<ElementView>>>) -> AnyView {
    let drawing = move || {
        ui.mode.with(|mode| matches!(mode, Mode::Outline { side: of, element, .. } if (*of, *element) == (side, id)))
    };
    let draw = move |_| {
        let mode =
            if untrack(drawing) { Mode::Select } else { Mode::Outline { side, element: id, points: Vec::new() } };
        ui.mode.set(mode);
    };
    let has_curve = move || now.get().flatten().is_some_and(|element| !element.curve.is_empty());
    let back = move |_| {
        ui.edit(Edit::SetElement { side, id, params: Params::new(), curve: Some(Vec::new()), text: None });
    };
    view! {
        <button class="small" data-testid=format!("element-{id}-draw") aria-pressed=move || drawing().to_string() on:click=draw>
            {move || if drawing() { "Give up drawing" } else { "Draw its outline" }}
        </button>
        {move || has_curve().then(|| view! {
            <button class="small" data-testid=format!("element-{id}-undrawn") title="Forgets the outline that was drawn" on:click=back>"Back to the oval"</button>
        })}
    }
    .into_any()
}
