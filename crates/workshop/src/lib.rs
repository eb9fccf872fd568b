//! The page's second program: [`InHouse`] for a page that leaves it out of its first download.
//!
//! Orders and what comes of them cross as postcard bytes, each a tuple of the arguments of a method of [`Workshop`] and
//! what it returns. An order that cannot be read, of another build of the page, is answered with no bytes.

use engine::{InHouse, Workshop};
use serde::Serialize;
use serde::de::DeserializeOwned;
use wasm_bindgen::prelude::wasm_bindgen;

/// A failure here is a failure of whoever ordered: it is thrown with its words.
#[wasm_bindgen(start)]
fn begin() {
    std::panic::set_hook(Box::new(|info| wasm_bindgen::throw_str(&info.to_string())));
}

/// [`Workshop::need_solids`].
#[wasm_bindgen]
#[must_use]
pub fn need_solids(order: &[u8]) -> Vec<u8> {
    done(order, |only: Vec<String>| InHouse.need_solids(&only))
}

/// [`Workshop::make`].
#[wasm_bindgen]
#[must_use]
pub fn make(order: &[u8]) -> Vec<u8> {
    done(order, |(model, only, options): (_, Vec<String>, _)| InHouse.make(&model, &only, &options))
}

/// [`Workshop::trace`].
#[wasm_bindgen]
#[must_use]
pub fn trace(order: &[u8]) -> Vec<u8> {
    done(order, |(name, drawn, onto): (String, _, Vec<_>)| InHouse.trace(&name, &drawn, &onto))
}

fn done<Order: DeserializeOwned, Done: Serialize>(order: &[u8], work: impl FnOnce(Order) -> Done) -> Vec<u8> {
    let read = postcard::from_bytes(order);
    read.and_then(|order| postcard::to_stdvec(&work(order))).unwrap_or_default()
}
