//! Fit: the insole's edge by hand, how far forward it reaches, its widths.

use super::fields::{ChoiceField, NumberField, NumberSpec, fixed};
use super::state::{EdgeTool, Mode, Ui, ui};
use crate::protocol::Request;
use case::Edit;
use engine::view::{OutlineHand, Target};
use last::{InsoleLength, Keep, OutlineChange};
use leptos::prelude::*;

/// What stays the same while the edge is changed, in words of the page and of the person.
const WORDS_OF_KEEP: [(Keep, &str, &str); 3] = [
    (Keep::Nothing, "nothing", "Nothing else"),
    (Keep::Area, "area", "The area"),
    (Keep::Width, "width", "The width there"),
];

/// Words of a length in the page.
pub(crate) fn length_word(length: InsoleLength) -> &'static str {
    match length {
        InsoleLength::Full => "full",
        InsoleLength::Sulcus => "sulcus",
        InsoleLength::ThreeQuarter => "three-quarter",
        InsoleLength::Heel => "heel",
    }
}

/// The part of the panel.
#[component]
pub(crate) fn Edge() -> impl IntoView {
    let ui = ui();
    view! {
        <section>
            <h3>"Edge, "{move || ui.side.get().word()}" foot"</h3>
            <Length />
            <Widths />
            <ByHand />
            <p class="quiet-text" data-testid="fit-residual">{residual(ui)}</p>
        </section>
    }
}

/// How well the fitted edge lies on the foot's own, in words.
fn residual(ui: Ui) -> impl Fn() -> Option<String> + Copy + Send + Sync + 'static {
    let of_foot = ui.active(|foot| foot.fit_residual_mm);
    move || {
        of_foot.get().flatten().map(|(most, mean)| {
            format!("The fitted edge lies {mean:.1} mm from the foot's own on average, {most:.1} mm at most; the short strokes on the sheet show where, five times as long.")
        })
    }
}

#[component]
fn Length() -> impl IntoView {
    let ui = ui();
    let now = ui.active(|foot| (foot.edge.length, foot.edge.trim_by_hand));
    let word = Signal::derive(move || now.get().map_or("", |(length, _)| length_word(length)).to_owned());
    let choose = move |chosen: String| {
        if let Some(length) = InsoleLength::ALL.into_iter().find(|length| length_word(*length) == chosen) {
            ui.edit(Edit::SetInsoleLength { side: ui.side.get_untracked(), length });
        }
    };
    let back = move |_| ui.edit(Edit::SetTrim { side: ui.side.get_untracked(), trim: None });
    view! {
        <ChoiceField testid="edge-length" label="Reaches" value=word set=choose
            options=fixed(InsoleLength::ALL.map(|length| (length_word(length), length.label()))) />
        {move || now.get().is_some_and(|(_, by_hand)| by_hand).then(|| view! {
            <button data-testid="trim-back" on:click=back title="Where this length has it">"Put the trim line back"</button>
        })}
    }
}

#[component]
fn Widths() -> impl IntoView {
    let ui = ui();
    let widths = ui.active(|foot| foot.edge.widths.clone());
    let ids = ui.active(|foot| {
        foot.edge.widths.iter().map(|width| (width.id.clone(), width.label.clone())).collect::<Vec<_>>()
    });
    let field = move |(id, label): (String, String)| {
        let spec = NumberSpec {
            testid: format!("edge-width-{id}"),
            label,
            unit: "mm".into(),
            min: 20.0,
            max: 160.0,
            step: 0.5,
            help: "Width of the insole square to the foot axis. A number of your own draws the edge by hand.".into(),
        };
        let found = move || widths.get()?.into_iter().find(|width| width.id == id);
        let now = Memo::new(move |_| found().map(|width| (width.x_mm, width.mm)));
        let set = move |width_mm| {
            if let Some((x_mm, _)) = now.get_untracked() {
                ui.change_edge(OutlineChange::Width { x_mm, width_mm });
            }
        };
        view! { <NumberField spec value=Signal::derive(move || now.get().map(|(_, mm)| mm)) set /> }
    };
    view! {
        <div class="fields">
            <For each=move || ids.get().unwrap_or_default() key=|(id, _)| id.clone() children=field />
        </div>
    }
}

#[component]
fn ByHand() -> impl IntoView {
    let ui = ui();
    let by_hand = ui.active(|foot| foot.edge.by_hand);
    let has_shoe = ui.active(|foot| foot.edge.shoe_name.is_some());
    let other = Memo::new(move |_| ui.has(ui.side.get().other()));
    let held = Memo::new(move |_| match ui.held.get() {
        Some(held) if held.side == ui.side.get() => match held.target {
            Target::OutlineKnot { index } => Some(index),
            _ => None,
        },
        _ => None,
    });
    let tool = move |tool: EdgeTool, testid: &'static str, label: &'static str, title: &'static str| {
        let on = move || ui.mode.with(|mode| matches!(mode, Mode::Edge { tool: now, .. } if *now == tool));
        let toggle = move |_| {
            // A point in hand is where it begins.
            let from = if tool == EdgeTool::Add { None } else { held.get_untracked() };
            ui.mode.set(if untrack(on) { Mode::Select } else { Mode::Edge { tool, from } });
        };
        view! { <button data-testid=testid title=title aria-pressed=move || on().to_string() on:click=toggle>{label}</button> }
    };
    let remove = move |_| {
        if let Some(index) = held.get_untracked() {
            ui.held.set(None);
            ui.change_edge(OutlineChange::RemoveKnot { index });
        }
    };
    let keep = move |chosen: String| {
        if let Some((keep, ..)) = WORDS_OF_KEEP.iter().find(|(_, word, _)| *word == chosen) {
            ui.set_hand(OutlineHand { keep: *keep, ..ui.hand.get_untracked() });
        }
    };
    let keep_word = Signal::derive(move || {
        let now = ui.hand.get().keep;
        WORDS_OF_KEEP.iter().find(|(keep, ..)| *keep == now).map_or("", |(_, word, _)| *word).to_owned()
    });
    let side = move || ui.side.get_untracked();
    view! {
        <div class="row tools">
            {tool(EdgeTool::Add, "edge-add", "Add point", "Then click on the edge")}
            <button data-testid="edge-remove" title="Takes the point in hand away (Delete)" disabled=move || held.get().is_none() on:click=remove>"Remove point"</button>
            {tool(EdgeTool::Straighten, "edge-straighten", "Straighten", "Lays the edge between two points on a straight line")}
            {tool(EdgeTool::Smooth, "edge-smooth", "Smooth", "Calms the edge between two points")}
        </div>
        <ChoiceField testid="edge-keep" label="While changing, keep" value=keep_word set=keep
            options=fixed(WORDS_OF_KEEP.map(|(_, word, label)| (word, label))) />
        <label class="choice">
            <input type="checkbox" data-testid="edge-snap" prop:checked=move || ui.hand.get().snap
                on:change=move |_| { let hand = ui.hand.get_untracked(); ui.set_hand(OutlineHand { snap: !hand.snap, ..hand }) } />
            <span>"Snap to the shoe's own insole"</span>
        </label>
        <div class="row tools">
            <button data-testid="edge-fit" title="Forgets what was drawn by hand" disabled=move || by_hand.get() != Some(true)
                on:click=move |_| { ui.held.set(None); ui.edit(Edit::SetOutline { side: side(), points: None }) }>"Fit again"</button>
            <button data-testid="edge-copy" title="The other foot gets the same edge, mirrored" disabled=move || !other.get()
                on:click=move |_| ui.ask(Request::CopyOutline { side: side() })>"Copy to the other foot"</button>
            <button data-testid="edge-follow" title="Draws the edge along the shoe's own insole, inside by the clearance" disabled=move || has_shoe.get() != Some(true)
                on:click=move |_| ui.ask(Request::FollowShoe { side: side() })>"Follow the shoe"</button>
        </div>
    }
}
