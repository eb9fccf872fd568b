//! What the panes have in common: their size on the screen, where a pointer is in them, how near counts as on it.

use super::geometry::{P2, View};
use leptos::prelude::*;
use wasm_bindgen::JsCast;
use wasm_bindgen::closure::Closure;
use web_sys::{Element, PointerEvent, ResizeObserver};

/// How near to a handle a pointer takes it, px: finer than a fingertip for a mouse, a fingertip for touch.
pub(crate) fn reach_px(event: &PointerEvent) -> f64 {
    if event.pointer_type() == "touch" { 24.0 } else { 12.0 }
}

/// A pointer that moved no farther than this since it went down has clicked, px.
pub(crate) const CLICK_PX: f64 = 4.0;

/// The text size for which the drawings' distances are made, px.
const USUAL_TEXT_PX: f64 = 14.0;

/// Drawings grow with the text: one of their own px is so many of the screen's.
pub(crate) fn zoom() -> f64 {
    let root = document().document_element();
    let style = root.and_then(|root| window().get_computed_style(&root).ok().flatten());
    let size = style.and_then(|style| style.get_property_value("font-size").ok());
    let px = size.and_then(|size| size.strip_suffix("px").and_then(|px| px.parse::<f64>().ok()));
    px.filter(|px| *px > 1.0).unwrap_or(USUAL_TEXT_PX) / USUAL_TEXT_PX
}

/// Where a pointer event is in the drawing that listens, its own px.
pub(crate) fn place_in_drawing(event: &web_sys::MouseEvent) -> P2 {
    let zoom = zoom();
    place_of(event).map(|px| px / zoom)
}

/// As [`watch_size`], in the drawing's own px.
pub(crate) fn watch_drawing(element: &Element, told: impl Fn(P2) + 'static) {
    watch_size(element, move |size| {
        let zoom = zoom();
        told(size.map(|px| px / zoom));
    });
}

/// The part of a drawing that its pane shows: all of it.
pub(crate) fn view_box(view: &View) -> String {
    format!("0 0 {:.2} {:.2}", view.size[0], view.size[1])
}

/// A wheel that turns by so many px zooms by a factor of e.
const PX_PER_ZOOM: f64 = 625.0;

/// By how much a turn of the wheel zooms.
pub(crate) fn zoom_of(event: &web_sys::WheelEvent) -> f64 {
    libm::exp(-event.delta_y() / PX_PER_ZOOM)
}

/// Where the pointer is in the element that listens, px.
fn place_in(element: &Element, client: P2) -> P2 {
    let frame = element.get_bounding_client_rect();
    [client[0] - frame.left(), client[1] - frame.top()]
}

/// Where a pointer event is in the element that listens, px.
pub(crate) fn place_of(event: &web_sys::MouseEvent) -> P2 {
    let client = [f64::from(event.client_x()), f64::from(event.client_y())];
    let listener = event.current_target().and_then(|target| target.dyn_into::<Element>().ok());
    listener.map_or(client, |element| place_in(&element, client))
}

/// Lets the element that listens have this pointer until it goes up.
pub(crate) fn capture(event: &PointerEvent) {
    if let Some(element) = event.current_target().and_then(|target| target.dyn_into::<Element>().ok()) {
        // It fails only for a pointer that is gone already.
        let _ = element.set_pointer_capture(event.pointer_id());
    }
}

/// Distance of two pixels.
pub(crate) fn distance(a: P2, b: P2) -> f64 {
    ((a[0] - b[0]).powi(2) + (a[1] - b[1]).powi(2)).sqrt()
}

/// Tells `told` the size of `element`, now and whenever it changes.
pub(crate) fn watch_size(element: &Element, told: impl Fn(P2) + 'static) {
    let watched = element.clone();
    let tell = move || told([f64::from(watched.client_width()), f64::from(watched.client_height())]);
    tell();
    let changed = Closure::<dyn Fn()>::new(tell);
    if let Ok(observer) = ResizeObserver::new(changed.as_ref().unchecked_ref()) {
        observer.observe(element);
    }
    // The panes live as long as the page.
    changed.forget();
}
