//! Fit: the pair's size in every system, and each foot's last and outline.

use super::fields::{NumberField, NumberSpec, ParamList, show};
use super::fit_edge::Edge;
use super::fit_shoe::Shoe;
use super::state::ui;
use case::Edit;
use engine::view::{SizeView, SystemView};
use leptos::prelude::*;

/// The panel.
#[component]
pub(crate) fn Fit() -> impl IntoView {
    view! {
        <SizeOfPair />
        <Last />
        <Edge />
        <Shoe />
    }
}

#[component]
fn SizeOfPair() -> impl IntoView {
    let ui = ui();
    let size = ui.part(|snapshot| snapshot.size.clone());
    let read = move || size.get().flatten();
    let systems = Memo::new(move |_| read().map(|size| size.systems).unwrap_or_default());
    let used = Memo::new(move |_| read().and_then(|size| used_system(&size)));
    let choose_system = move |event: leptos::ev::Targeted<leptos::ev::Event, web_sys::HtmlSelectElement>| {
        let id = event.target().value();
        if let Some(system) = systems.get_untracked().into_iter().find(|system| system.id == id) {
            ui.edit(Edit::SetSize { size: Some(last::Size { system: system.id, value: system.value }) });
        }
    };
    let field = move || {
        used.get().map(|system| {
            let spec = NumberSpec {
                testid: "size-value".into(),
                label: "Size of the pair".into(),
                unit: String::new(),
                min: 0.0,
                max: 500.0,
                step: system.step,
                help: format!("Both insoles have the same length. {}", system.source),
            };
            let id = system.id.clone();
            let set = move |value| ui.edit(Edit::SetSize { size: Some(last::Size { system: id.clone(), value }) });
            let origin = Signal::derive(move || read().and_then(|size| (!size.chosen).then_some("proposed")));
            let value = system.value;
            view! {
                <NumberField spec value=Signal::derive(move || Some(value)) set origin reset=move |()| ui.edit(Edit::SetSize { size: None }) />
            }
        })
    };
    view! {
        <section>
            <h3>"Size"</h3>
            <div class="fields">
                <div class="field">
                    <label class="field-label" for="size-system">"Counted in"</label>
                    <select id="size-system" data-testid="size-system" on:change:target=choose_system
                        prop:value=move || used.get().map(|system| system.id).unwrap_or_default()>
                        <For each=move || systems.get() key=|system| system.id.clone()
                            children=|system| view! { <option value=system.id>{system.label}</option> } />
                    </select>
                </div>
                {field}
            </div>
            <p class="quiet-text" data-testid="size-reason">{move || read().map(|size| size.reason)}</p>
            <table class="measures" data-testid="size-systems">
                <tbody>
                    {move || systems.get().into_iter().map(system_row).collect_view()}
                    {move || read().map(|size| view! {
                        <tr><th scope="row">"Length of the last"</th><td class="number" data-testid="last-length">{format!("{:.1}", size.last_length_mm)}</td><td class="unit">"mm"</td></tr>
                    })}
                </tbody>
            </table>
        </section>
    }
}

fn used_system(size: &SizeView) -> Option<SystemView> {
    let id = size.used.split(':').next()?;
    size.systems.iter().find(|system| system.id == id).cloned()
}

fn system_row(system: SystemView) -> impl IntoView {
    view! {
        <tr title=system.source>
            <th scope="row">{system.label}</th>
            <td class="number" data-testid=format!("size-{}", system.id)>{show(system.value, system.step)}</td>
            <td></td>
        </tr>
    }
}

#[component]
fn Last() -> impl IntoView {
    let ui = ui();
    let params = ui.active(|foot| foot.last.clone());
    let sizes = ui.active(|foot| foot.outline_sizes.clone());
    let set = move |(param, value)| ui.edit(Edit::SetLast { side: ui.side.get_untracked(), param, value });
    view! {
        <section>
            <h3>"Last, "{move || ui.side.get().word()}" foot"</h3>
            <ParamList prefix="last" params=Signal::derive(move || params.get().unwrap_or_default()) set origin=last_origin />
            <table class="measures" data-testid="outline-sizes">
                <tbody>
                    {move || sizes.get().unwrap_or_default().into_iter().map(|(label, mm)| view! {
                        <tr><th scope="row">{label}</th><td class="number">{format!("{mm:.1}")}</td><td class="unit">"mm"</td></tr>
                    }).collect_view()}
                </tbody>
            </table>
        </section>
    }
}

/// What to call a number of the last that was not decided. Room before the toes and behind the heel is the shoemaker's
/// choice, everything else is fitted to the foot.
fn last_origin(id: &str) -> &'static str {
    let allowances = [last::TOE_ALLOWANCE.id, last::HEEL_MARGIN.id];
    if allowances.contains(&id) { "default" } else { "fitted" }
}
