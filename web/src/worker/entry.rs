//! The worker's own start: the same module as the page, another door.

use super::line::{Line, Said};
use super::parcel::{self, Parcel};
use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::{Closure, wasm_bindgen};
use web_sys::{DedicatedWorkerGlobalScope, MessageEvent};

/// Turns the thread it is called on into the engine's. Called by `www/worker.js`, never by the page.
#[wasm_bindgen]
pub fn worker_main() {
    let Ok(scope) = js_sys::global().dyn_into::<DedicatedWorkerGlobalScope>() else { return };
    say_when_failing();
    let saying = scope.clone();
    let line = Line::new(false, move |said| {
        post(
            &saying,
            match said {
                Said::Answer(id, answer) => parcel::pack_answer(id, answer),
                Said::Progress(what, fraction) => parcel::pack_progress(what, fraction),
            },
        );
    });
    let refusing = scope.clone();
    let on_message = Closure::<dyn FnMut(MessageEvent)>::new(move |event: MessageEvent| {
        match parcel::unpack_request(&event.data()) {
            Ok((id, request, files)) => line.put(id, request, files),
            Err(error) => post(&refusing, parcel::pack_failed(error.to_string())),
        }
    });
    scope.set_onmessage(Some(on_message.as_ref().unchecked_ref()));
    // The worker listens as long as it lives.
    on_message.forget();
    post(&scope, parcel::pack_ready());
}

/// A failure ends the worker in the middle of a message; its last words tell the page at once.
fn say_when_failing() {
    std::panic::set_hook(Box::new(|info| {
        web_sys::console::error_1(&info.to_string().into());
        if let Ok(scope) = js_sys::global().dyn_into::<DedicatedWorkerGlobalScope>() {
            post(&scope, parcel::pack_failed(info.to_string()));
        }
    }));
}

fn post(scope: &DedicatedWorkerGlobalScope, Parcel(items): Parcel) {
    if let Err(error) = scope.post_message_with_transfer(&items, &items) {
        // Buffers are made for the message that takes them away, so none is ever handed over twice.
        web_sys::console::error_1(&error);
    }
}
