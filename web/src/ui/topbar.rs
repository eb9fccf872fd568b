//! The top bar: which case, which foot, one step back or forward, files, light or dark.

use super::files::{DEMOS, Pick, open_demo, pick_files, save_case, start_anew};
use super::notices::Busy;
use super::stage_intake::side_label;
use super::state::ui;
use crate::protocol::Request;
use base::Side;
use case::Edit;
use leptos::prelude::*;
use leptos::task::spawn_local;

/// The bar.
#[component]
pub(crate) fn TopBar() -> impl IntoView {
    view! {
        <header class="topbar">
            <span class="name">"Solewright"</span>
            <Title />
            <Steps />
            <SideSwitch />
            <Busy />
            <Files />
            <ThemeSwitch />
        </header>
    }
}

#[component]
fn Title() -> impl IntoView {
    let ui = ui();
    let title = ui.part(|snapshot| snapshot.title.clone());
    let set = move |event: leptos::ev::Targeted<leptos::ev::Event, web_sys::HtmlInputElement>| {
        ui.edit(Edit::SetTitle { title: event.target().value() });
    };
    Effect::new(move |_| {
        let title = title.get().unwrap_or_default();
        document().set_title(&if title.is_empty() {
            "Solewright".to_owned()
        } else {
            format!("{title} · Solewright")
        });
    });
    view! {
        <input class="title" data-testid="case-title" aria-label="Label of the case" placeholder="Label of the case" maxlength="80"
            prop:value=move || title.get().unwrap_or_default() on:change:target=set />
    }
}

#[component]
fn Steps() -> impl IntoView {
    let ui = ui();
    let undo = ui.part(|snapshot| snapshot.undo.clone());
    let redo = ui.part(|snapshot| snapshot.redo.clone());
    let step = move |testid: &'static str,
                     word: &'static str,
                     path: &'static str,
                     label: Memo<Option<Option<String>>>,
                     keys: &'static str,
                     request: Request| {
        let what = move || label.get().flatten();
        let title = move || {
            what().map_or_else(
                || format!("Nothing to {}", word.to_ascii_lowercase()),
                |what| format!("{word}: {what} ({keys})"),
            )
        };
        view! {
            <button class="icon" data-testid=testid aria-label=title title=title prop:disabled=move || what().is_none()
                on:click=move |_| ui.ask(request.clone())>
                <svg viewBox="0 0 20 20" width="1.4em" height="1.4em" fill="none" stroke="currentColor" stroke-width="1.6" stroke-linecap="round" stroke-linejoin="round" aria-hidden="true"><path d=path /></svg>
            </button>
        }
    };
    view! {
        <div class="group">
            {step("undo", "Undo", "M7.5 4 3.5 8l4 4M3.5 8H12a4.5 4.5 0 0 1 0 9H9", undo, "Ctrl+Z", Request::Undo)}
            {step("redo", "Redo", "M12.5 4l4 4-4 4M16.5 8H8a4.5 4.5 0 0 0 0 9h3", redo, "Ctrl+Shift+Z", Request::Redo)}
        </div>
    }
}

#[component]
fn SideSwitch() -> impl IntoView {
    let ui = ui();
    let choose = move |side: Side| {
        // A handle of the other foot would still answer to the arrow keys.
        if ui.held.with_untracked(|held| held.as_ref().is_some_and(|held| held.side != side)) {
            ui.held.set(None);
        }
        ui.go_to(side, None);
    };
    let item = move |side: Side| {
        view! {
            <button data-testid=format!("side-{}", side.word()) aria-pressed=move || (ui.side.get() == side).to_string()
                title=move || if ui.has(side) { "Work on this foot" } else { "There is no scan of this foot yet" }
                class:absent=move || !ui.has(side) on:click=move |_| choose(side)>{side_label(side)}</button>
        }
    };
    view! { <div class="switcher" role="group" aria-label="Foot in work">{Side::ALL.map(item).collect_view()}</div> }
}

#[component]
fn Files() -> impl IntoView {
    let ui = ui();
    let anew = move |_| {
        let changed =
            untrack(|| ui.snapshot.with(|snapshot| snapshot.as_ref().is_some_and(|snapshot| snapshot.undo.is_some())));
        let sure = !changed
            || window()
                .confirm_with_message("Begin an empty case? What was not saved to a file is lost.")
                .unwrap_or(false);
        if sure {
            spawn_local(start_anew(ui));
        }
    };
    let demo = move |event: leptos::ev::Targeted<leptos::ev::Event, web_sys::HtmlSelectElement>| {
        let chosen = event.target().value();
        event.target().set_value("");
        if let Some((person, _)) = DEMOS.into_iter().find(|(person, _)| *person == chosen) {
            open_demo(ui, person);
        }
    };
    view! {
        <div class="group">
            <select data-testid="demo" aria-label="Open a demo pair" title="Replaces the case by a demo pair" on:change:target=demo>
                <option value="">"Demo…"</option>
                {DEMOS.map(|(person, label)| view! { <option value=person>{label}</option> }).collect_view()}
            </select>
            <button data-testid="new-case" title="An empty case" on:click=anew>"New"</button>
            <button data-testid="open-case" title="Open a case file (Ctrl+O)" on:click=move |_| pick_files(ui, Pick::Case)>"Open…"</button>
            <button data-testid="save-case" title="Save the case to a file (Ctrl+S)" on:click=move |_| save_case(ui)>"Save"</button>
            <button class="main" data-testid="bring-in-scan" title="One or two STL files; they can also be dropped anywhere"
                on:click=move |_| pick_files(ui, Pick::Scan(None))>"Bring in a scan…"</button>
        </div>
    }
}

/// Where the chosen theme is kept between visits.
const THEME_KEY: &str = "solewright-theme";

#[component]
fn ThemeSwitch() -> impl IntoView {
    let ui = ui();
    let kept = window().local_storage().ok().flatten().and_then(|storage| storage.get_item(THEME_KEY).ok().flatten());
    let system_dark =
        || window().match_media("(prefers-color-scheme: dark)").ok().flatten().is_some_and(|query| query.matches());
    ui.dark.set(kept.map_or_else(system_dark, |theme| theme == "dark"));
    Effect::new(move |_| {
        let theme = if ui.dark.get() { "dark" } else { "light" };
        if let Some(root) = document().document_element() {
            let _ = root.set_attribute("data-theme", theme);
        }
    });
    let toggle = move |_| {
        ui.dark.update(|dark| *dark = !*dark);
        let theme = if ui.dark.get_untracked() { "dark" } else { "light" };
        if let Ok(Some(storage)) = window().local_storage() {
            // Without storage the theme is chosen again at the next visit.
            let _ = storage.set_item(THEME_KEY, theme);
        }
    };
    let title = move || if ui.dark.get() { "Light paper" } else { "Dark paper" };
    view! {
        <button class="icon" data-testid="theme" aria-label=title title=title on:click=toggle>
            <svg viewBox="0 0 20 20" width="1.4em" height="1.4em" fill="none" stroke="currentColor" stroke-width="1.5" aria-hidden="true">
                <circle cx="10" cy="10" r="6.5" /><path d="M10 3.5v13a6.5 6.5 0 0 0 0-13Z" fill="currentColor" stroke="none" />
            </svg>
        </button>
    }
}
