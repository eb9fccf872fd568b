//! Shape: the insole beside another, and by how much they differ.

use super::fields::{ChoiceField, fixed, number, sentence};
use super::state::{Paint, Ui};
use crate::protocol::Request;
use base::Severity;
use engine::view::{ALIKE_MM, CompareView, CompareWith};
use leptos::prelude::*;

/// Words of the page for what an insole is compared with; the empty word is nothing.
fn word(with: CompareWith) -> &'static str {
    match with {
        CompareWith::Before => "before",
        CompareWith::Kept => "kept",
        CompareWith::Other => "other",
        CompareWith::Bare => "bare",
    }
}

/// The part of the panel.
pub(super) fn compare(ui: Ui) -> AnyView {
    let compared = ui.active(|foot| foot.compare.clone());
    let now = move || compared.get().flatten();
    let chosen = Signal::derive(move || now().map_or("", |view| word(view.with)).to_owned());
    let choose = move |chosen: String| {
        let with = CompareWith::ALL.into_iter().find(|with| word(*with) == chosen);
        // The difference is shown in colours while there is one.
        ui.paint.set(if with.is_some() { Paint::Difference } else { Paint::Thickness });
        ui.ask(Request::Compare { with });
    };
    let options =
        std::iter::once(("", "Nothing")).chain(CompareWith::ALL.iter().map(|with| (word(*with), with.label())));
    let set_aside = move |_| {
        ui.ask(Request::SetAside);
        let text = format!("Set aside until this case is closed: compare with “{}”.", CompareWith::Kept.label());
        ui.notify(Severity::Info, text);
    };
    view! {
        <ChoiceField testid="compare-with" label="Compare with" options=fixed(options) value=chosen set=choose />
        {move || now().map(|view| figures(ui, view))}
        <div class="row">
            <button class="small" data-testid="set-aside" title="Both insoles as they are now, to be compared with later" on:click=set_aside>"Set this version aside"</button>
        </div>
    }
    .into_any()
}

fn figures(ui: Ui, view: CompareView) -> AnyView {
    let CompareView { missing, least, most, mean_mm, area_mm2, .. } = view;
    if let Some(reason) = missing {
        return view! { <p class="quiet-text" data-testid="compare-missing">{sentence(&reason)}</p> }.into_any();
    }
    let place = |testid: &'static str, label: &'static str, (mm, at): (f64, [f64; 2])| {
        let sign = if mm > 0.0 { "+" } else { "" };
        view! {
            <tr>
                <th scope="row"><button class="row-name" title="Moves the cuts there" data-testid=format!("{testid}-show")
                    on:click=move |_| ui.go_to(ui.side.get_untracked(), Some(at))>{label}</button></th>
                <td class="number" data-testid=testid>{format!("{sign}{}", number(mm, 1))}</td><td class="unit">"mm"</td>
            </tr>
        }
    };
    view! {
        <table class="measures" data-testid="compare-figures">
            <tbody>
                {place("compare-most", "Greatest difference", most)}
                {place("compare-least", "Least difference", least)}
                <tr><th scope="row">"On average, up or down"</th><td class="number" data-testid="compare-mean">{number(mean_mm, 2)}</td><td class="unit">"mm"</td></tr>
                <tr><th scope="row">{format!("Where they differ by over {ALIKE_MM} mm")}</th><td class="number" data-testid="compare-area">{number(area_mm2 / 100.0, 1)}</td><td class="unit">"cm²"</td></tr>
            </tbody>
        </table>
        <p class="quiet-text">"Of the surface the foot meets: + where this insole is higher."</p>
    }
    .into_any()
}
