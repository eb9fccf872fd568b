//! What tests and support can reach from the browser's console: the object `solewright` of the window.
//!
//! `crash_worker()` makes the engine fail as it never should; `in_worker()` says where it runs; `kept()` whether nothing
//! waits to be kept for the next visit; `check_storage()` holds the browser's store to its contract on a database of its own and gives a promise of `ok` or of what is wrong.
//! `?engine=page` in the page's address keeps the engine in the page.

use super::Bench;
use crate::protocol::Request;
use crate::storage::{BrowserStore, check_contract};
use js_sys::{Object, Reflect, Uint8Array};
use wasm_bindgen::prelude::Closure;
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_futures::{future_to_promise, spawn_local};

/// Name of the object.
const OBJECT: &str = "solewright";
/// Database for checking; removed before it is used.
const CHECK_DATABASE: &str = "solewright-check";

/// Whether the address asks for the engine in the page.
pub(super) fn engine_in_page() -> bool {
    let search = web_sys::window().and_then(|window| window.location().search().ok());
    search.is_some_and(|search| search.split(['?', '&']).any(|part| part == "engine=page"))
}

/// Puts the hooks for this bench on the window.
pub(super) fn install(bench: &Bench) {
    let crashing = bench.clone();
    hook("crash_worker", move || {
        let bench = crashing.clone();
        spawn_local(async move {
            // The answer is the failure itself, heard elsewhere.
            let _ = bench.send(Request::Crash).await;
        });
        JsValue::UNDEFINED
    });
    let asked = bench.clone();
    hook("in_worker", move || asked.in_worker().into());
    let keeping = bench.clone();
    hook("kept", move || keeping.kept().into());
    hook("check_storage", || {
        future_to_promise(async { Ok(check_storage().await.err().unwrap_or_else(|| "ok".to_owned()).into()) }).into()
    });
}

/// The window's object for tests and support; made when first asked for.
pub fn console_object() -> Object {
    let Some(window) = web_sys::window() else { return Object::new() };
    if let Ok(object) = Reflect::get(&window, &OBJECT.into())
        && object.is_object()
    {
        return object.unchecked_into();
    }
    let object = Object::new();
    // The window takes any property.
    let _ = Reflect::set(&window, &OBJECT.into(), &object);
    object
}

fn hook(name: &str, call: impl FnMut() -> JsValue + 'static) {
    let call = Closure::<dyn FnMut() -> JsValue>::new(call).into_js_value();
    // A plain object takes any property.
    let _ = Reflect::set(&console_object(), &name.into(), &call);
}

async fn check_storage() -> Result<(), String> {
    let factory = idb::Factory::new().map_err(|error| error.to_string())?;
    factory.delete(CHECK_DATABASE).map_err(|error| error.to_string())?.await.map_err(|error| error.to_string())?;
    let store = BrowserStore::open(CHECK_DATABASE).await.map_err(|error| error.to_string())?;
    check_contract(&store, |bytes| Uint8Array::from(bytes), Uint8Array::to_vec).await
}
