//! The labelled scale of a quantity drawn in colour.

use super::colour::Quantity;
use super::geometry::ticks;
use super::state::{Paint, ui};
use leptos::prelude::*;

/// Width of the scale's bar in its own units.
const WIDTH: f64 = 200.0;

impl Paint {
    /// The quantity drawn, if one is.
    pub(crate) fn quantity(self) -> Option<Quantity> {
        match self {
            Paint::Material => None,
            Paint::Hardness => Some(Quantity::Hardness),
            Paint::Thickness => Some(Quantity::Thickness),
        }
    }
}

/// The scale of what is drawn now; nothing if nothing is.
#[component]
pub(crate) fn Scale() -> impl IntoView {
    let ui = ui();
    move || ui.paint.get().quantity().map(bar)
}

/// The scale of one quantity: one step of colour between two iso-lines, its numbers under it.
pub(crate) fn bar(quantity: Quantity) -> impl IntoView {
    let (least, greatest) = quantity.range();
    let step = quantity.iso_step();
    let at = move |value: f64| 10.0 + (value - least) / (greatest - least) * WIDTH;
    // Half a step finer than the lines, so that the bar reads as continuous.
    let cells = ticks(least, greatest - step / 5.0, step / 5.0).map(move |from| {
        let width = WIDTH * step / 5.0 / (greatest - least) + 0.3;
        view! { <rect x=at(from) y="0" width=width height="10" fill=quantity.css(from + step / 10.0) /> }
    });
    let marks = ticks(least, greatest, step).map(move |value| {
        let x = at(value);
        view! { <line x1=x x2=x y1="0" y2="13" class="scale-tick" /> }
    });
    let numbers = ticks(least, greatest, step * 2.0).map(move |value| {
        view! { <text x=at(value) y="23" text-anchor="middle">{format!("{value:.0}")}</text> }
    });
    let name =
        format!("Scale: {} from {least:.0} (light) to {greatest:.0} {} (dark)", quantity.label(), quantity.unit());
    view! {
        <figure class="scale" data-testid="scale">
            <figcaption>{quantity.label()}", "{quantity.unit()}</figcaption>
            <svg viewBox="0 0 220 26" role="img" aria-label=name>
                {cells.collect_view()}{marks.collect_view()}{numbers.collect_view()}
            </svg>
        </figure>
    }
}
