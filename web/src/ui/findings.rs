//! Findings: always in view, the gravest first, each with what to do and where it comes from.

use super::marks::SeverityMark;
use super::state::ui;
use base::Severity;
use engine::view::FindingView;
use leptos::prelude::*;

/// The list.
#[component]
pub(crate) fn Findings() -> impl IntoView {
    let ui = ui();
    let all = ui.part(|snapshot| snapshot.findings.clone());
    let summary = move || {
        all.with(|all| {
            let words = [(Severity::Stop, "stop"), (Severity::Check, "check"), (Severity::Info, "note")];
            words.map(|(severity, word)| format!("{} {word}", count(all, severity))).join(", ")
        })
    };
    let numbered = move || all.get().unwrap_or_default().into_iter().enumerate().collect::<Vec<_>>();
    view! {
        <section class="findings" aria-label="Findings" data-testid="findings">
            <header><h2>"Findings"</h2><span class="quiet-text" role="status" data-testid="findings-summary">{summary}</span></header>
            <ul>
                <For each=numbered key=|(_, finding)| (finding.rule.clone(), finding.side, finding.text.clone())
                    children=|(_, finding)| view! { <Finding finding /> } />
            </ul>
        </section>
    }
}

/// How many findings weigh that much.
pub(crate) fn count(all: &Option<Vec<FindingView>>, severity: Severity) -> usize {
    all.iter().flatten().filter(|finding| finding.severity == severity).count()
}

#[component]
fn Finding(finding: FindingView) -> impl IntoView {
    let ui = ui();
    let FindingView { rule, severity, side, text, advice, source, at } = finding;
    let whose = side.map(|side| if side == base::Side::Left { "Left" } else { "Right" });
    let show = side.zip(at).map(|(side, [x, y, _])| {
        view! {
            <button class="small" data-testid="finding-show" on:click=move |_| ui.go_to(side, Some([x, y]))>"Show the place"</button>
        }
    });
    view! {
        <li data-testid=format!("finding-{rule}")>
            <details>
                <summary>
                    <SeverityMark severity />
                    <span>{whose.map(|whose| view! { <b>{whose}" "</b> })}{text}</span>
                </summary>
                <p>{advice}</p>
                <p class="source">{source}</p>
                {show}
            </details>
        </li>
    }
}
