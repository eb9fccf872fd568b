use super::pause;
use crate::storage::DATABASE;
use futures_channel::oneshot;
use js_sys::{Function, Object, Promise, Reflect};
use std::cell::RefCell;
use wasm_bindgen::prelude::Closure;
use wasm_bindgen::{JsCast, JsValue};

/// A page that is being reloaded may still hold the store for a moment: so often and so long it is asked again.
const TRIES: u32 = 4;
const TRY_MS: i32 = 250;

/// Whether this is the only tab with the bench open. If so, it is from now on until it is closed: two tabs would write
/// over each other's case. A browser without locks counts as having one tab.
pub(super) async fn only_tab() -> bool {
    for _ in 1..TRIES {
        if take_lock().await {
            return true;
        }
        pause(TRY_MS).await;
    }
    take_lock().await
}

async fn take_lock() -> bool {
    let Some(locks) = locks() else { return true };
    let (said, answer) = oneshot::channel();
    let said = RefCell::new(Some(said));
    // Called with the lock, or with null where another tab has it; the lock is held until what is returned is settled,
    // which for the winner is never.
    let on_answer = Closure::<dyn FnMut(JsValue) -> JsValue>::new(move |lock: JsValue| {
        if let Some(said) = said.borrow_mut().take() {
            let _ = said.send(!lock.is_null());
        }
        if lock.is_null() { JsValue::UNDEFINED } else { Promise::new(&mut |_, _| {}).into() }
    });
    let options = Object::new();
    let _ = Reflect::set(&options, &"ifAvailable".into(), &JsValue::TRUE);
    let Ok(request) = Reflect::get(&locks, &"request".into()).and_then(|request| request.dyn_into::<Function>()) else {
        return true;
    };
    let on_refused = Closure::<dyn FnMut(JsValue)>::new(|_| {});
    match request.call3(&locks, &DATABASE.into(), &options, on_answer.as_ref()) {
        Ok(promise) => {
            if let Ok(promise) = promise.dyn_into::<Promise>() {
                let _ = promise.catch(&on_refused);
            }
        }
        Err(_) => return true,
    }
    // Both are called later, by the browser.
    on_answer.forget();
    on_refused.forget();
    answer.await.unwrap_or(true)
}

fn locks() -> Option<JsValue> {
    let navigator = web_sys::window()?.navigator();
    Reflect::get(&navigator, &"locks".into()).ok().filter(JsValue::is_object)
}
