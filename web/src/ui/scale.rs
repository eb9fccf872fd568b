//! The labelled scale of the quantity drawn in colour, upright at the sheet's right edge.

use super::colour::Quantity;
use super::geometry::ticks;
use super::state::{Paint, ui};
use leptos::prelude::*;

/// Width the scale takes of the sheet, px at the usual text size.
pub(crate) const SCALE_PX: f64 = 54.0;
/// Height of its bar in its own units, which are px at the usual text size.
const HEIGHT: f64 = 240.0;
/// Where the bar begins below the unit.
const TOP: f64 = 24.0;

impl Paint {
    /// The quantity drawn, if one is.
    pub(crate) fn quantity(self) -> Option<Quantity> {
        match self {
            Paint::Material => None,
            Paint::Hardness => Some(Quantity::Hardness),
            Paint::Thickness => Some(Quantity::Thickness),
            Paint::Difference => Some(Quantity::Difference),
        }
    }
}

/// The scale of what is drawn now; nothing if nothing is.
#[component]
pub(crate) fn Scale() -> impl IntoView {
    let ui = ui();
    move || ui.paint.get().quantity().map(bar)
}

/// The least value at the top. Iso-lines are drawn at every tick.
fn bar(quantity: Quantity) -> impl IntoView {
    let (least, greatest) = quantity.range();
    let step = quantity.iso_step();
    let at = move |value: f64| TOP + (value - least) / (greatest - least) * HEIGHT;
    // Five cells between two lines read as continuous.
    let cell = step / 5.0;
    let cells = ticks(least, greatest - cell, cell).map(move |from| {
        let height = HEIGHT * cell / (greatest - least) + 0.4;
        view! { <rect x="4" y=at(from) width="14" height=height fill=quantity.css(from + cell / 2.0) /> }
    });
    let signed = quantity == Quantity::Difference;
    let labels = if signed { step } else { 2.0 * step };
    let labelled = move |value: f64| (value / labels - (value / labels).round()).abs() < 1e-6;
    let marks = ticks(least, greatest, step).map(move |value| {
        let (y, long) = (at(value), if labelled(value) { 6 } else { 3 });
        view! { <path class="scale-tick" d=format!("M18 {y:.2}h{long}") /> }
    });
    let numbers = ticks(least, greatest, labels).map(move |value| {
        let text = quantity.word(value, 0);
        // What lies beyond the scale has the colour of its end.
        let text = match (signed, value <= least, value >= greatest) {
            (true, true, _) => format!("≤ {text}"),
            (true, _, true) => format!("≥ {text}"),
            (false, _, true) => format!("{text}+"),
            _ => text,
        };
        view! { <text x="26" y=at(value) dy="0.35em">{text}</text> }
    });
    let (from, to) = if signed { ("lower, orange", "higher, purple") } else { ("light", "dark") };
    let [least_word, greatest_word] = [least, greatest].map(|value| quantity.word(value, 0));
    let name =
        format!("Scale: {} from {least_word} ({from}) to {greatest_word} {} ({to})", quantity.label(), quantity.unit());
    view! {
        <svg class="scale" viewBox="0 0 58 272" role="img" aria-label=name data-testid="scale">
            <text x="2" y="13">{quantity.unit()}</text>
            {cells.collect_view()}
            {marks.collect_view()}
            {numbers.collect_view()}
        </svg>
    }
}
