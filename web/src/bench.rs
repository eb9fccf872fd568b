//! The engine's steps timed as wasm. Only `cargo xtask bench` calls it, in a worker, where the page's engine runs too.

use crate::worker::fetch_workshop;
use js_sys::Function;
use wasm_bindgen::prelude::wasm_bindgen;
use wasm_bindgen::{JsError, JsValue};

/// Times the engine's steps on a scan: JSON text like that of `solewright bench --json`. `now_ms` is
/// `() => performance.now()`.
///
/// # Errors
/// When a step refuses the scan, or the second program cannot be fetched.
#[wasm_bindgen]
pub async fn bench_steps(scan: Vec<u8>, now_ms: Function) -> Result<String, JsError> {
    // A clock that fails shows as times that are no number.
    let now_ms = || now_ms.call0(&JsValue::NULL).ok().and_then(|now| now.as_f64()).unwrap_or(f64::NAN);
    let scan = engine::ScanFile::new("bench.stl", &scan);
    let workshop = fetch_workshop().await.map_err(|reason| JsError::new(&reason))?;
    let steps = engine::time_steps(&scan, &[], &workshop, now_ms).map_err(|error| JsError::new(&error.to_string()))?;
    Ok(serde_json::json!({ "steps": steps }).to_string())
}
