//! Shape: distances and heights between places put down, and cuts along a drawn line.

use super::fields::number;
use super::state::{Mode, Ui};
use base::Side;
use engine::view::{MeasuredPlace, MeasuredView};
use leptos::prelude::*;

/// The part of the panel.
pub(super) fn measure(ui: Ui) -> AnyView {
    let measuring = move || ui.mode.with(|mode| matches!(mode, Mode::Measure { .. }));
    let cutting = move || ui.mode.with(|mode| matches!(mode, Mode::CutLine { .. }));
    let button = |testid: &'static str, label: &'static str, on: Signal<bool>, mode: fn(Side) -> Mode| {
        let toggle = move |_| {
            ui.mode.set(if on.get_untracked() { Mode::Select } else { mode(ui.side.get_untracked()) });
        };
        view! { <button class="small" data-testid=testid aria-pressed=move || on.get().to_string() on:click=toggle>{label}</button> }
    };
    let cut = move || ui.cut_line[ui.side.get()].get().is_some();
    view! {
        <div class="row">
            {button("measure-places", "Measure between places", Signal::derive(measuring), |side| Mode::Measure { side, points: Vec::new() })}
            {button("cut-line", "Cut along a line", Signal::derive(cutting), |side| Mode::CutLine { side, from: None })}
            {move || cut().then(|| view! {
                <button class="small" data-testid="cut-line-back" on:click=move |_| ui.cut_line[ui.side.get_untracked()].set(None)>"Back to the lengthwise cut"</button>
            })}
        </div>
        {move || ui.measured.get().map(|(side, view)| measured(ui, side, view))}
    }
    .into_any()
}

fn measured(ui: Ui, side: Side, view: MeasuredView) -> AnyView {
    let MeasuredView { places, plan_mm, straight_mm, rise_mm, slope_deg, direction_deg, angle_deg } = view;
    let figures = [
        ("plan", "In plan", plan_mm, "mm"),
        ("straight", "Straight through space", straight_mm, "mm"),
        ("rise", "Rise from first to last", rise_mm, "mm"),
        ("slope", "Slope from level", slope_deg, "°"),
        ("direction", "Direction, from the foot axis to medial", direction_deg, "°"),
        ("angle", "Angle at the second place", angle_deg, "°"),
    ];
    let row = |(id, label, value, unit): (&str, &'static str, Option<f64>, &'static str)| {
        let testid = format!("measured-{id}");
        value.map(|value| view! {
            <tr><th scope="row">{label}</th><td class="number" data-testid=testid>{number(value, 1)}</td><td class="unit">{unit}</td></tr>
        })
    };
    let place = |(index, place): (usize, MeasuredPlace)| {
        let MeasuredPlace { at, height_mm, thickness_mm, gap_mm } = place;
        let cell = |value: Option<f64>| view! { <td class="number">{value.map_or_else(|| "–".to_owned(), |mm| number(mm, 1))}</td> };
        view! {
            <tr>
                <th scope="row"><button class="row-name" title="Moves the cuts there" on:click=move |_| ui.go_to(side, Some(at))>{format!("Place {}", index + 1)}</button></th>
                {cell(height_mm)}{cell(thickness_mm)}{cell(gap_mm)}
            </tr>
        }
    };
    view! {
        <p class="quiet-text">{format!("On the {} insole:", side.word())}</p>
        <table class="measures" data-testid="measured"><tbody>{figures.map(row).collect_view()}</tbody></table>
        <table class="measures" data-testid="measured-places">
            <thead><tr><th scope="col">"mm"</th><th scope="col">"Height"</th><th scope="col">"Thickness"</th><th scope="col">"Gap to the skin"</th></tr></thead>
            <tbody>{places.into_iter().enumerate().map(place).collect_view()}</tbody>
        </table>
        <div class="row"><button class="small" data-testid="measured-clear" on:click=move |_| ui.measured.set(None)>"Clear"</button></div>
    }
    .into_any()
}
