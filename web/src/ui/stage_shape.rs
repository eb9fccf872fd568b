//! Shape: the bearing surface and the elements on it.

use super::fields::ParamList;
use super::state::{Held, Mode, element_of, ui};
use base::{Params, Side};
use case::Edit;
use engine::view::{ArchView, ElementView, FootView};
use leptos::prelude::*;

/// The panel.
#[component]
pub(crate) fn Shape() -> impl IntoView {
    view! {
        <Arch />
        <Elements />
        <BearingSurface />
    }
}

/// What to call a number of the surface that was not decided.
fn surface_origin(id: &str) -> &'static str {
    if id.starts_with("arch_") && id != "arch_room_mm" { "computed" } else { "default" }
}

#[component]
fn Arch() -> impl IntoView {
    let ui = ui();
    let arch = ui.active(|foot| foot.arch.clone());
    view! {
        <section>
            <h3>"Arch support, "{move || ui.side.get().word()}" foot"</h3>
            {move || arch.get().map(arch_sum)}
        </section>
    }
}

fn arch_sum(arch: ArchView) -> impl IntoView {
    let ArchView { apex_mm, fill, computed_mm, used_mm, bounds_mm: (least, most), by_hand } = arch;
    let how = if by_hand { "set by hand" } else { "as computed" };
    view! {
        <dl class="sum" data-testid="arch-sum">
            <div><dt>"Arch apex"</dt><dd>{format!("{apex_mm:.1} mm")}</dd></div>
            <div><dt>"× fill"</dt><dd>{format!("{fill:.2}")}</dd></div>
            <div><dt>"= computed"</dt><dd data-testid="arch-computed">{format!("{computed_mm:.1} mm")}</dd></div>
            <div class="total"><dt>"Used"</dt><dd><b data-testid="arch-used">{format!("{used_mm:.1} mm")}</b></dd></div>
        </dl>
        <p class="quiet-text">{format!("{how}; a computed height stays within {least:.1} to {most:.1} mm")}</p>
    }
}

#[component]
fn BearingSurface() -> impl IntoView {
    let ui = ui();
    let params = ui.active(|foot| foot.surface.clone());
    let set = move |(param, value)| ui.edit(Edit::SetSurface { side: ui.side.get_untracked(), param, value });
    view! {
        <section>
            <h3>"Bearing surface"</h3>
            <ParamList prefix="surface" params=Signal::derive(move || params.get().unwrap_or_default()) set origin=surface_origin />
        </section>
    }
}

#[component]
fn Elements() -> impl IntoView {
    let ui = ui();
    // With the side: both feet may have the same ids.
    let ids = Memo::new(move |_| {
        let side = ui.side.get();
        let ids = |foot: &FootView| foot.elements.iter().map(|element| (side, element.id)).collect::<Vec<_>>();
        ui.with_foot(side, ids).unwrap_or_default()
    });
    let adders = insole::elements::ALL.iter().map(|element| {
        let (kind, label) = (element.id(), element.label());
        let placing = move || ui.mode.with(|mode| matches!(mode, Mode::Place { kind: now } if now == kind));
        let toggle = move |_| {
            let mode = if untrack(placing) { Mode::Select } else { Mode::Place { kind: kind.to_owned() } };
            ui.mode.set(mode);
        };
        view! {
            <div class="adder">
                <span class="adder-name" title=element.help()>{label}</span>
                <button class="small" data-testid=format!("add-{kind}") title="Where the landmarks say it belongs"
                    on:click=move |_| ui.place(ui.side.get_untracked(), kind, None)>"Add"</button>
                <button class="small" data-testid=format!("place-{kind}") aria-pressed=move || placing().to_string()
                    title="Then click on the sheet or in the 3D view" on:click=toggle>"Place…"</button>
            </div>
        }
    });
    view! {
        <section>
            <h3>"Elements"</h3>
            {adders.collect_view()}
            <ul class="list" data-testid="elements">
                <For each=move || ids.get() key=|item| *item children=|(side, id)| view! { <Element side id /> } />
            </ul>
        </section>
    }
}

#[component]
fn Element(side: Side, id: u32) -> impl IntoView {
    let ui = ui();
    let now = ui.foot(side, move |foot| foot.elements.iter().find(|element| element.id == id).cloned());
    let read = move || now.get().flatten();
    let fixed = untrack(read);
    let label = fixed.as_ref().map(|element| element.label.clone()).unwrap_or_default();
    let (help, source) = fixed.map(about).unwrap_or_default();
    let chosen = Memo::new(move |_| {
        ui.held.with(|held| held.as_ref().is_some_and(|held| held.side == side && element_of(&held.target) == Some(id)))
    });
    let opened = RwSignal::new(false);
    let open = Memo::new(move |_| chosen.get() || opened.get());
    let choose = move |_| {
        if untrack(|| open.get()) {
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
    let params = Signal::derive(move || read().map(|element| element.params).unwrap_or_default());
    let set = move |(param, value): (String, Option<f64>)| {
        if let Some(value) = value {
            ui.edit(Edit::set_element(side, id, Params::from([(param, value)])));
        }
    };
    let on = move || read().is_some_and(|element| element.on);
    let set_on = move |event: leptos::ev::Targeted<leptos::ev::Event, web_sys::HtmlInputElement>| {
        ui.edit(Edit::SwitchElement { side, id, on: event.target().checked() });
    };
    view! {
        <li class:chosen=chosen>
            <div class="list-row">
                <label class="switch" title="Acts or not">
                    <input type="checkbox" data-testid=format!("element-{id}-on") aria-label=format!("{label} acts") prop:checked=on on:change:target=set_on />
                </label>
                <button class="row-name" data-testid=format!("element-{id}") aria-expanded=move || open.get().to_string() on:click=choose>{label.clone()}</button>
                <button class="quiet" data-testid=format!("element-{id}-remove") aria-label=format!("Remove {label}") title="Remove"
                    on:click=move |_| ui.edit(Edit::RemoveElement { side, id })>"×"</button>
            </div>
            {move || open.get().then(|| view! {
                <div class="inset">
                    <p class="quiet-text">{help.clone()}</p>
                    <ParamList prefix=format!("element-{id}") params set />
                    <p class="source">{source.clone()}</p>
                </div>
            })}
        </li>
    }
}

fn about(element: ElementView) -> (String, String) {
    let unknown = "This program does not know this kind of element: it is kept, and does nothing.";
    (if element.known { element.help } else { unknown.to_owned() }, element.source)
}
