//! Fit: the pair's size in every system, and each foot's last and outline.

use super::fields::{ChoiceField, NumberField, NumberSpec, show};
use super::fit_edge::Edge;
use super::fit_last::Last;
use super::fit_shoe::Shoe;
use super::state::ui;
use case::Edit;
use engine::view::{RuleView, SizeView, SystemView};
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
    let choose_system = move |id: String| {
        if let Some(system) = systems.get_untracked().into_iter().find(|system| system.id == id) {
            ui.edit(Edit::SetSize { size: Some(last::Size { system: system.id, value: system.value }) });
        }
    };
    let rule = ui.part(|snapshot| {
        snapshot.size.as_ref().map(|size| {
            (size.rule.clone(), size.rules.iter().map(|rule| (rule.id.clone(), rule.label.clone())).collect::<Vec<_>>())
        })
    });
    let rules = Signal::derive(move || rule.get().flatten().map(|(_, all)| all).unwrap_or_default());
    let rule_now = Signal::derive(move || rule.get().flatten().map(|(now, _)| now).unwrap_or_default());
    let of_systems =
        Signal::derive(move || systems.get().into_iter().map(|system| (system.id, system.label)).collect());
    let choose_rule = move |rule| ui.edit(Edit::SetSizeRule { rule: Some(rule) });
    let field = move || {
        used.get().map(|system| {
            let spec = NumberSpec {
                testid: "size-value".into(),
                label: "Size of the pair".into(),
                unit: String::new(),
                min: 0.0,
                max: 500.0,
                step: system.step,
                help: format!("Both insoles have this size, but for a foot with its own below. {}", system.source),
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
                <ChoiceField testid="size-system" label="Counted in" options=of_systems set=choose_system
                    value=Signal::derive(move || used.get().map(|system| system.id).unwrap_or_default()) />
                {field}
                <ChoiceField testid="size-rule" label="Proposed by" options=rules value=rule_now set=choose_rule
                    help="Texts disagree on how a foot length becomes a size: choose the rule your shoes follow." />
            </div>
            <p class="quiet-text" data-testid="size-reason">{move || read().map(|size| size.reason)}</p>
            <table class="measures" data-testid="size-systems">
                <tbody>
                    {move || systems.get().into_iter().map(system_row).collect_view()}
                    {move || read().and_then(|size| size.mondopoint).map(|label| view! {
                        <tr><th scope="row">"Mondopoint with width"</th><td class="number" data-testid="size-label">{label}</td><td class="unit">"mm"</td></tr>
                    })}
                    {move || read().map(|size| view! {
                        <tr><th scope="row">"Length of the last"</th><td class="number" data-testid="last-length">{format!("{:.1}", size.last_length_mm)}</td><td class="unit">"mm"</td></tr>
                    })}
                </tbody>
            </table>
            <details>
                <summary>"What each published rule says"</summary>
                <table class="measures" data-testid="size-rules">
                    <tbody>{move || read().map(|size| size.rules.into_iter().map(rule_row).collect_view())}</tbody>
                </table>
                <p class="quiet-text">{allowance_advice()}</p>
            </details>
            <OwnSize />
        </section>
    }
}

fn rule_row(rule: RuleView) -> impl IntoView {
    let size = rule.size.map_or_else(|| "none".to_owned(), |size| show(size, 0.5));
    view! {
        <tr title=format!("{}. {}", rule.formula, rule.source)>
            <th scope="row">{rule.label}</th>
            <td class="number">{format!("{:.2}", rule.exact)}</td>
            <td class="number">{size}</td>
        </tr>
    }
}

/// What fit studies ask before the toes of a foot at risk.
fn allowance_advice() -> String {
    let advice = last::rules::AT_RISK_ALLOWANCE;
    let ((a, b), (c, d)) = (advice.minimum_mm, advice.maximum_mm);
    format!(
        "Before the toes of a foot at risk: at least {a:.0} to {b:.0} mm, at most {c:.0} to {d:.0} mm ({}).",
        advice.source.text
    )
}

/// A size for one foot alone.
#[component]
fn OwnSize() -> impl IntoView {
    let ui = ui();
    let size = ui.active(|foot| foot.size.clone());
    let side = move || ui.side.get_untracked();
    let own = move || size.get().flatten().is_some_and(|(_, own)| own);
    let parsed = move || size.get().flatten().and_then(|(size, _)| size.parse::<last::Size>().ok());
    let step = move || parsed().and_then(|size| size.check().ok().map(|system| system.step)).unwrap_or(0.5);
    let by = move |steps: f64| {
        if let Some(mut size) = untrack(parsed) {
            size.value += steps * untrack(step);
            ui.edit(Edit::SetFootSize { side: side(), size: Some(size) });
        }
    };
    view! {
        <div class="row tools" data-testid="own-size">
            <span>{move || {
                let word = ui.side.get().word();
                let now = parsed().map(|size| show(size.value, step())).unwrap_or_default();
                if own() { format!("The {word} foot: {now}, its own size") } else { format!("The {word} foot: {now}, as the pair") }
            }}</span>
            <button class="small" data-testid="own-size-less" aria-label="One step smaller for this foot" on:click=move |_| by(-1.0)>"−"</button>
            <button class="small" data-testid="own-size-more" aria-label="One step larger for this foot" on:click=move |_| by(1.0)>"+"</button>
            {move || own().then(|| view! {
                <button class="small" data-testid="own-size-reset" on:click=move |_| ui.edit(Edit::SetFootSize { side: side(), size: None })>"As the pair"</button>
            })}
        </div>
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
