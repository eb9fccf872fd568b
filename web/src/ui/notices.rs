//! Messages to the person: read aloud, dismissable, never more than three.

use super::marks::SeverityMark;
use super::state::{Notice, ui};
use leptos::prelude::*;

/// The notices, over the lower edge of the sheet, and what is being waited for.
#[component]
pub(crate) fn Notices() -> impl IntoView {
    let ui = ui();
    let busy = move || {
        ui.busy.get().map(|(what, share)| {
            view! {
                <div class="notice" data-testid="busy">
                    <span>{what}</span>
                    <progress max="1" value=share aria-label="Progress"></progress>
                    <button class="small" data-testid="busy-stop"
                        on:click=move |_| { if let Some(bench) = ui.bench() { bench.abandon() } }>"Stop"</button>
                </div>
            }
        })
    };
    view! {
        <div class="notices" role="status" aria-live="polite" data-testid="notices">
            {busy}
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
