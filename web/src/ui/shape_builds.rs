//! Shape: builds to start from and the shop's own, used on a foot or on both.

use super::fields::ChoiceField;
use super::files::{Pick, pick_files};
use super::own_builds::OwnBuild;
use super::state::{Ui, ui};
use crate::protocol::{Reply, Request};
use base::Side;
use insole::build::{Build, STARTERS};
use leptos::html::Input;
use leptos::prelude::*;
use leptos::task::spawn_local;

/// Stand before the id of a build to start from and the name of an own one, so that neither can be the other.
const STARTER: &str = "starter:";
const OWN: &str = "own:";

/// The part of the panel.
pub(super) fn builds(ui: Ui) -> AnyView {
    let chosen = RwSignal::new(String::new());
    let options = Signal::derive(move || {
        let first = ("".to_owned(), "Choose…".to_owned());
        let starters = STARTERS.iter().map(|starter| (format!("{STARTER}{}", starter.id), starter.label.to_owned()));
        let own =
            ui.own_builds.get().into_iter().map(|own| (format!("{OWN}{}", own.name), format!("Own: {}", own.name)));
        std::iter::once(first).chain(starters).chain(own).collect::<Vec<_>>()
    });
    let own = move || {
        let chosen = chosen.get();
        let name = chosen.strip_prefix(OWN)?;
        ui.own_builds.with(|all| all.iter().find(|own| own.name == name).cloned())
    };
    let build = move || match own() {
        Some(own) => own.build.ok(),
        None => chosen.with(|chosen| {
            let id = chosen.strip_prefix(STARTER)?;
            STARTERS.iter().find(|starter| starter.id == id).map(|starter| starter.build())
        }),
    };
    let about = move || match own() {
        Some(OwnBuild { build: Err(error), .. }) => error,
        _ => build().map(|build| about(&build)).unwrap_or_default(),
    };
    let both = move || Side::ALL.into_iter().all(|side| ui.has(side));
    let apply = move |sides: Vec<Side>| {
        if let Some(build) = untrack(build) {
            ui.held.set(None);
            ui.ask(Request::UseBuild { sides, build });
        }
    };
    let of_own = move || {
        own().map(|own| {
            let name = own.name.clone();
            view! {
                <button class="small" data-testid="build-download" on:click=move |_| own.save()>"Download"</button>
                <button class="small" data-testid="build-remove" title="Forgets it in this browser; insoles made by it stay as they are"
                    on:click=move |_| { ui.forget_build(&name); chosen.set(String::new()) }>"Remove"</button>
            }
        })
    };
    view! {
        <ChoiceField testid="build-choice" label="Begin with" options value=chosen set=move |word| chosen.set(word) />
        <p class="quiet-text" data-testid="build-about">{about}</p>
        <div class="row">
            <button class="small" data-testid="build-use" prop:disabled=move || build().is_none()
                on:click=move |_| apply(vec![ui.side.get_untracked()])>"Use on this foot"</button>
            <button class="small" data-testid="build-use-both" prop:disabled=move || build().is_none() || !both()
                on:click=move |_| apply(Side::ALL.to_vec())>"Use on both feet"</button>
            {of_own}
        </div>
        <div class="row">
            {save_as("build", "Save this build…", "The numbers and elements of this foot, for other feet and other cases", move || (ui.side.get_untracked(), None))}
            <button class="small" data-testid="build-open" on:click=move |_| pick_files(ui, Pick::Build)>"Open a build file…"</button>
        </div>
    }
    .into_any()
}

fn about(build: &Build) -> String {
    let what = match build.surface {
        Some(_) => "Takes the place of the numbers and elements there; what was sculpted stays.",
        None => "Is added to what is there.",
    };
    format!("{} {what}", build.note).trim_start().to_owned()
}

/// A button that asks a name and keeps a build of a foot under it: of the whole insole, or of one element.
pub(super) fn save_as(
    testid: &str,
    label: &'static str,
    title: &'static str,
    of: impl Fn() -> (Side, Option<u32>) + Copy + Send + Sync + 'static,
) -> AnyView {
    let ui = ui();
    let name = RwSignal::new(None::<String>);
    let [button, field, keep] = ["save", "name", "keep"].map(|word| format!("{testid}-{word}"));
    let input = NodeRef::<Input>::new();
    Effect::new(move |_| {
        if let Some(input) = input.get() {
            // A field that cannot take the keyboard is still there to be clicked.
            let _ = input.focus();
        }
    });
    let submit = move |event: leptos::ev::SubmitEvent| {
        event.prevent_default();
        let (side, element) = of();
        let wanted = name.get_untracked().unwrap_or_default().trim().to_owned();
        spawn_local(async move {
            let request = Request::TakeBuild { side, name: wanted.clone(), element };
            if let Some(Reply::Json(text)) = ui.asked(request, Vec::new()).await {
                ui.keep_build(&wanted, &text);
                name.set(None);
            }
        });
    };
    let taken = move || name.with(|name| name.as_ref().is_some_and(|name| ui.has_own_build(name.trim())));
    let form = move || {
        view! {
            <form class="row" on:submit=submit>
                <input class="text" node_ref=input data-testid=field.clone() aria-label="Name" placeholder="Name" maxlength="80"
                    on:input:target=move |event| name.set(Some(event.target().value())) />
                <button class="small" data-testid=keep.clone()>{move || if taken() { "Replace" } else { "Keep" }}</button>
                <button class="small" type="button" on:click=move |_| name.set(None)>"Cancel"</button>
            </form>
        }
    };
    let asking = Memo::new(move |_| name.with(Option::is_some));
    view! {
        {move || if asking.get() { form().into_any() } else { view! {
            <button class="small" data-testid=button.clone() title=title on:click=move |_| name.set(Some(String::new()))>{label}</button>
        }.into_any() }}
    }
    .into_any()
}
