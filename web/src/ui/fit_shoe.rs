//! Fit: the shoe the insole goes into: its own insole traced from a drawing or a picture, and its depth.

use super::fields::ParamList;
use super::files::{Pick, pick_files};
use super::marks::SeverityMark;
use super::state::ui;
use case::Edit;
use leptos::prelude::*;

/// The part of the panel.
#[component]
pub(crate) fn Shoe() -> impl IntoView {
    let ui = ui();
    let name = ui.active(|foot| foot.edge.shoe_name.clone());
    let notes = ui.active(|foot| foot.edge.shoe_notes.clone());
    let let_over = ui.active(|foot| foot.edge.let_over);
    let numbers = ui.active(|foot| foot.edge.numbers.clone());
    let side = move || ui.side.get_untracked();
    let set = move |(param, value)| ui.edit(Edit::SetShoe { side: side(), param, value });
    view! {
        <section>
            <h3>"Shoe, "{move || ui.side.get().word()}" foot"</h3>
            <div class="row tools">
                <button data-testid="shoe-trace" on:click=move |_| pick_files(ui, Pick::Shoe(side()))
                    title="An outline drawing (SVG, DXF), or a flat scan or photo of the shoe's own insole">"Trace the shoe's insole…"</button>
                {move || name.get().flatten().map(|_| view! {
                    <button data-testid="shoe-remove" on:click=move |_| ui.edit(Edit::SetShoeInsole { side: side(), shoe: None })>"Remove"</button>
                })}
            </div>
            <p class="quiet-text" data-testid="shoe-name">{move || match name.get().flatten() {
                Some(name) => format!("Traced from {name}. Drag it by the squares at its middle and its front; check that it lies on the right foot."),
                None => "Not traced yet. The insole's edge then goes by foot and last alone.".to_owned(),
            }}</p>
            {move || notes.get().unwrap_or_default().into_iter().map(|note| view! {
                <p class="quiet-text"><SeverityMark severity=note.severity />" "{note.text}" "{note.advice}</p>
            }).collect_view()}
            <label class="choice">
                <input type="checkbox" data-testid="shoe-limit" prop:checked=move || let_over.get() != Some(true)
                    on:change=move |_| ui.edit(Edit::LimitToShoe { side: side(), on: untrack(|| let_over.get()) == Some(true) }) />
                <span>"Keep the fitted edge inside it"</span>
            </label>
            <ParamList prefix="shoe" params=Signal::derive(move || numbers.get().unwrap_or_default()) set origin=origin />
        </section>
    }
}

fn origin(id: &str) -> &'static str {
    if id == last::CLEARANCE.id { "default" } else { "not measured" }
}
