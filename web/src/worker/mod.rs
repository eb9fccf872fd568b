//! The engine beside the page: in a Web Worker where one starts, in the page itself where none does.
//!
//! [`Bench`] is what the page talks to and the only thing it needs to know. Behind it, `host` answers requests with an
//! engine, `line` lets them wait their turn, `workshop` is the second program that makes files, `parcel` turns answers into messages and back, `entry` is the worker's own start, `place` is where the
//! engine runs, `shown` what the page has been told, `keeper` what survives a failure and the end of the visit.
//!
//! Invariant: what was committed survives the worker: it is started anew and the case put back.
//! Invariant: at most one preview is under way and at most one waits, so a drag never queues up.

mod bench;
mod entry;
mod hooks;
mod host;
mod keeper;
mod line;
mod only_tab;
mod parcel;
mod place;
mod shown;
mod trouble;
mod workshop;

pub use bench::Bench;
pub use entry::worker_main;
pub use hooks::console_object;
pub use shown::{FootBuffers, Grid, Mesh, Update};
pub use trouble::{Progress, Trouble};
pub(crate) use workshop::fetch as fetch_workshop;

/// Waits for `milliseconds`; 0 lets the browser paint and take input first.
async fn pause(milliseconds: i32) {
    let promise = js_sys::Promise::new(&mut |resolve, _| {
        if let Some(window) = web_sys::window() {
            // Without a timer there is nothing to wait with: the promise then never resolves, and the browser is broken.
            let _ = window.set_timeout_with_callback_and_timeout_and_arguments_0(&resolve, milliseconds);
        }
    });
    let _ = wasm_bindgen_futures::JsFuture::from(promise).await;
}
