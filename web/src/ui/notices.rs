//! Messages to the person: read aloud, dismissable, never more than three; and what is being waited for.

use super::marks::SeverityMark;
use super::state::{Notice, ui};
use leptos::prelude::*;

/// The notices, in a row of their own under the drawings.
#[component]
pub(crate) fn Notices() -> impl IntoView {
    let ui = ui();
    view! {
        <div class="notices" role="status" aria-live="polite" data-testid="notices">
            <For each=move || ui.notices.get() key=|notice| notice.id children=move |Notice { id, severity, text }| view! {
                <div class="notice" data-testid="notice">
                    <SeverityMark severity />
                    <span data-testid="notice-text">{text}</span>
                    <button class="quiet" data-testid="notice-dismiss" aria-label="Dismiss"
                        on:click=move |_| ui.notices.update(|all| all.retain(|notice| notice.id != id))>"×"</button>
                </div>
            } />
        </div>
    }
}

/// What is being waited for, how far it is, and a way to stop it.
#[component]
pub(crate) fn Busy() -> impl IntoView {
    let ui = ui();
    let stop = move |_| {
        if let Some(bench) = ui.bench() {
            bench.abandon();
        }
    };
    view! {
        <div class="busy" role="status">
            {move || ui.busy.get().map(|(what, share)| view! {
                <span data-testid="busy">{what}</span>
                <progress max="1" value=share aria-label="Progress"></progress>
                <button class="small" data-testid="busy-stop" on:click=stop>"Stop"</button>
            })}
        </div>
    }
}
