//! The stage rail: where one is in the work, in the order in which a pair is made.

use super::marks::stage_path;
use super::state::{Stage, ui};
use leptos::prelude::*;

/// The rail.
#[component]
pub(crate) fn Rail() -> impl IntoView {
    let ui = ui();
    let item = move |stage: Stage| {
        let current = move || (ui.stage.get() == stage).then_some("step");
        view! {
            <button class="rail-item" data-testid=format!("stage-{}", stage.word()) title=stage.purpose() aria-current=current
                on:click=move |_| ui.stage.set(stage)>
                <svg viewBox="0 0 24 24" width="1.75em" height="1.75em" fill="none" stroke="currentColor" stroke-width="1.4"
                    stroke-linejoin="round" stroke-linecap="round" aria-hidden="true">
                    <path d=stage_path(stage) />
                </svg>
                <span>{stage.label()}</span>
            </button>
        }
    };
    view! { <nav class="rail" aria-label="Stages">{Stage::ALL.map(item).collect_view()}</nav> }
}
