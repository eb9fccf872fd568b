//! The page's beginning: the engine started, the kept case or a demo shown.

use super::app::App;
use super::files::{DEMOS, open_demo_now};
use super::state::Ui;
use super::test_surface;
use crate::protocol::Request;
use crate::worker::{Bench, Trouble};
use base::{Severity, Side};
use leptos::prelude::*;
use leptos::task::spawn_local;

/// Builds the page and starts the engine.
pub fn start() {
    let ui = Ui::new();
    mount_to_body(move || view! { <App ui /> });
    let bench = Bench::start(
        move |update| ui.receive(update),
        move |progress| ui.busy.set(progress.map(|progress| (progress.what, progress.fraction))),
        move |trouble| tell(ui, &trouble),
    );
    ui.bench.set_value(Some(bench.clone()));
    bench.watch(untrack(|| ui.cuts_wanted()));
    test_surface::install(ui);
    spawn_local(async move {
        // Answered only when the kept case is back.
        ui.asked(Request::Snapshot, Vec::new()).await;
        let asked = demo_in_address();
        let empty = Side::ALL.into_iter().all(|side| !untrack(|| ui.has(side)));
        match asked.as_deref() {
            Some("none") => {}
            Some(person) => demo(ui, person).await,
            None if empty => demo(ui, DEMOS[0].0).await,
            None => {}
        }
        // Two frames: what was received is on the screen.
        request_animation_frame(move || request_animation_frame(move || ui.ready.set(true)));
    });
}

async fn demo(ui: Ui, person: &str) {
    match DEMOS.into_iter().find(|(id, _)| *id == person) {
        Some((person, _)) => open_demo_now(ui, person).await,
        None => {
            let known = DEMOS.map(|(id, _)| id).join(", ");
            ui.notify(
                Severity::Check,
                format!("There is no demo called {person}: the address can ask for {known} or none."),
            );
        }
    }
}

/// The demo asked for in the address: `?demo=flat`.
fn demo_in_address() -> Option<String> {
    let query = window().location().search().ok()?;
    web_sys::UrlSearchParams::new_with_str(&query).ok()?.get("demo")
}

fn tell(ui: Ui, trouble: &Trouble) {
    let severity =
        if matches!(trouble, Trouble::NoWorker | Trouble::NotKept { .. }) { Severity::Info } else { Severity::Check };
    ui.notify(severity, trouble.sentence());
    if let Trouble::Lost { json, .. } = trouble {
        super::files::offer_text("kept-case.json", json);
    }
}
