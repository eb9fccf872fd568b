//! Shape: how an insole is built, the elements on it, its bearing surface, and what is looked up about it.

use super::shape_builds::builds;
use super::shape_compare::compare;
use super::shape_elements::elements;
use super::shape_measure::measure;
use super::shape_sculpt::sculpt;
use super::shape_surface::surface;
use super::state::{Ui, ui};
use leptos::prelude::*;
use wasm_bindgen::JsCast;

/// Parts that are unfolded before anybody folded one.
pub(crate) const UNFOLDED: [&str; 3] = ["build", "elements", "surface"];

/// The panel.
#[component]
pub(crate) fn Shape() -> impl IntoView {
    let ui = ui();
    ui.read_own_builds();
    view! {
        <div class="parts">
            {part(ui, "build", "Build", builds(ui))}
            {part(ui, "elements", "Elements", elements(ui))}
            {part(ui, "surface", "Bearing surface", surface(ui))}
            {part(ui, "sculpt", "Sculpt", sculpt(ui))}
            {part(ui, "compare", "Compare", compare(ui))}
            {part(ui, "measure-cut", "Measure and cut", measure(ui))}
        </div>
    }
}

fn part(ui: Ui, id: &'static str, title: &'static str, content: AnyView) -> AnyView {
    let title =
        view! { <h3>{title}<span class="origin-word">{move || format!("{} foot", ui.side.get().word())}</span></h3> };
    fold(ui, id, title.into_any(), content)
}

/// A part that can be folded away, and is found again as it was left.
pub(super) fn fold(ui: Ui, id: &'static str, title: AnyView, content: AnyView) -> AnyView {
    let open = ui.unfolded.with_value(|all| all.contains(id));
    let toggled = move |event: web_sys::Event| {
        let details = event.target().and_then(|target| target.dyn_into::<web_sys::Element>().ok());
        let open = details.is_some_and(|details| details.has_attribute("open"));
        ui.unfolded.update_value(|all| {
            all.remove(id);
            all.extend(open.then_some(id));
        });
    };
    view! {
        <details class="part" open=open on:toggle=toggled>
            <summary data-testid=format!("part-{id}")>{title}</summary>
            <div class="part-body">{content}</div>
        </details>
    }
    .into_any()
}
