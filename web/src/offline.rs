//! Asks the browser to keep the page for days without a network. The keeping itself is `www/sw.js`.

use wasm_bindgen_futures::{JsFuture, spawn_local};

/// Registers the page's service worker, where the browser has any and the page comes from a server.
pub fn register() {
    let Some(window) = web_sys::window() else { return };
    let navigator = window.navigator();
    let served = window.location().protocol().is_ok_and(|protocol| protocol.starts_with("http"));
    if !served || !js_sys::Reflect::has(&navigator, &"serviceWorker".into()).unwrap_or(false) {
        return;
    }
    let registered = navigator.service_worker().register("./sw.js");
    spawn_local(async move {
        // A page that cannot be kept works all the same; the console says why.
        if let Err(error) = JsFuture::from(registered).await {
            web_sys::console::warn_2(&"this page cannot be kept for use without a network:".into(), &error);
        }
    });
}
