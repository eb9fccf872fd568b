//! The page.

pub mod bench;
pub mod offline;
pub mod protocol;
pub mod storage;
mod ui;
pub mod view3d;
pub mod worker;

use wasm_bindgen::prelude::wasm_bindgen;

/// Builds the page. Called once by `www/index.html`, never in the worker.
#[wasm_bindgen]
pub fn page_main() {
    ui::start();
    offline::register();
}
