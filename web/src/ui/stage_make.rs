//! Make: what is to be looked at before making, and the files for the shop.

use super::files::{download, make, make_with, save_case, show_apart};
use super::findings::count;
use super::marks::SeverityMark;
use super::stage_intake::side_label;
use super::state::ui;
use base::{Severity, Side};
use case::Edit;
use leptos::prelude::*;

/// What holds of everything that is made here; always in view in this stage.
pub(crate) const CAUTION: &str = "An aid to a qualified practitioner, who answers for the device. Landmarks, fit and \
                                  hardness are estimates: check them on person and material. Local rules apply.";

/// The panel.
#[component]
pub(crate) fn Make() -> impl IntoView {
    view! {
        <Checks />
        <Outputs />
        <Notes />
    }
}

#[component]
fn Checks() -> impl IntoView {
    let ui = ui();
    let findings = ui.part(|snapshot| snapshot.findings.clone());
    let gravest = move || {
        let (stop, check) = findings.with(|all| (count(all, Severity::Stop), count(all, Severity::Check)));
        match (stop, check) {
            (0, 0) => view! { <li data-testid="check-findings"><SeverityMark severity=Severity::Info /><span>"No finding asks for a change."</span></li> }.into_any(),
            (0, check) => view! { <li data-testid="check-findings"><SeverityMark severity=Severity::Check /><span>{format!("{check} to look at, below.")}</span></li> }.into_any(),
            (stop, _) => view! { <li data-testid="check-findings"><SeverityMark severity=Severity::Stop /><span>{format!("{stop} to change before making, below.")}</span></li> }.into_any(),
        }
    };
    let size = ui.part(|snapshot| {
        snapshot.size.as_ref().map(|size| {
            let how = if size.chosen { "chosen" } else { "proposed, not confirmed" };
            let (system, value) = size.used.split_once(':').unwrap_or((&size.used, ""));
            let label = size.systems.iter().find(|known| known.id == system).map_or(system, |known| &known.label);
            format!("{label} {value}, {how}; last {:.1} mm.", size.last_length_mm)
        })
    });
    view! {
        <section>
            <h3>"Before making"</h3>
            <ul class="notes">
                {gravest}
                {move || size.get().flatten().map(|text| view! { <li data-testid="check-size"><span>{text}</span></li> })}
                {Side::ALL.map(|side| view! { <FootChecks side /> }).collect_view()}
            </ul>
        </section>
    }
}

#[component]
fn FootChecks(side: Side) -> impl IntoView {
    let ui = ui();
    let word = side.word();
    let thinnest = ui.foot(side, |foot| {
        let least = foot.surface.iter().find(|param| param.id == "min_thickness_mm").map_or(0.0, |param| param.value);
        (foot.thinnest, least)
    });
    let go = move |_| {
        if let Some(((_, at), _)) = thinnest.get_untracked() {
            ui.go_to(side, Some(at));
        }
    };
    move || {
        thinnest.get().map(|((mm, _), least)| {
        let severity = if mm < least { Severity::Check } else { Severity::Info };
        view! {
            <li data-testid=format!("check-thinnest-{word}")>
                <SeverityMark severity />
                <span>
                    {format!("{}: thinnest {mm:.1} mm, {least:.1} mm asked for. ", side_label(side))}
                    <button class="small" data-testid=format!("check-thinnest-{word}-show") on:click=go>"Show"</button>
                </span>
            </li>
        }
    })
    }
}

#[component]
fn Notes() -> impl IntoView {
    let ui = ui();
    let notes = ui.part(|snapshot| snapshot.notes.clone());
    let set = move |event: leptos::ev::Targeted<leptos::ev::Event, web_sys::HtmlTextAreaElement>| {
        ui.edit(Edit::SetNotes { notes: event.target().value() });
    };
    view! {
        <section>
            <h3><label for="job-notes">"Notes for the shop"</label></h3>
            <textarea id="job-notes" data-testid="job-notes" rows="3" prop:value=move || notes.get().unwrap_or_default() on:change:target=set></textarea>
        </section>
    }
}

/// Papers of a template, in the order of its option.
const PAPERS: [&str; 3] = ["A4", "A3", "US Letter"];

/// Formats of a template.
const TEMPLATES: [(&str, &str); 3] =
    [("template_pdf", "Template (PDF)"), ("template_svg", "SVG"), ("template_dxf", "DXF")];

#[component]
fn Outputs() -> impl IntoView {
    let ui = ui();
    let solid = move |side: Side| {
        let word = side.word();
        view! {
            <button class="main" data-testid=format!("download-solid-{word}") prop:disabled=move || !ui.has(side)
                on:click=move |_| make(ui, "solid", move |name| name.contains(word), download)>{side_label(side)}" insole (STL)"</button>
        }
    };
    let paper = RwSignal::new(0_usize);
    let template = move |(id, label): (&'static str, &'static str)| {
        let give = move |_| {
            let options = [("paper".to_owned(), paper.get_untracked() as f64)].into();
            make_with(ui, id, options, |_| true, download);
        };
        view! { <button data-testid=format!("download-{id}") prop:disabled=move || !(ui.has(Side::Left) || ui.has(Side::Right)) on:click=give>{label}</button> }
    };
    let none = move || Side::ALL.into_iter().all(|side| !ui.has(side));
    view! {
        <section>
            <h3>"Files"</h3>
            <p class="quiet-text">"Each insole is one closed body, in millimetres. A body that does not close is not handed out."</p>
            <div class="row">{Side::ALL.map(solid).collect_view()}</div>
            <div class="row">
                <button data-testid="open-sheet" prop:disabled=none on:click=move |_| make(ui, "sheet", |_| true, show_apart)>"Job sheet, to print"</button>
                <button data-testid="download-sheet" prop:disabled=none on:click=move |_| make(ui, "sheet", |_| true, download)>"Download it"</button>
            </div>
            <p class="quiet-text">"The outline at true size, to cut and to try in the shoe. Print without scaling and check the 100 mm bar."</p>
            <div class="row tools">
                <select data-testid="template-paper" aria-label="Paper of the template" prop:value=move || paper.get().to_string()
                    on:change:target=move |event| paper.set(event.target().value().parse().unwrap_or(0))>
                    {PAPERS.into_iter().enumerate().map(|(index, name)| view! { <option value=index>{name}</option> }).collect_view()}
                </select>
                {TEMPLATES.map(template).collect_view()}
            </div>
            <div class="row"><button data-testid="make-save-case" on:click=move |_| save_case(ui)>"Save the case file"</button></div>
        </section>
    }
}
