use serde_json::{Value, json};
use std::time::Instant;

/// Runs the engine's steps on a scan and tells median and worst, ms.
pub(crate) fn run(bytes: &[u8]) -> Result<Value, String> {
    let start = Instant::now();
    let steps = engine::time_steps(bytes, || start.elapsed().as_secs_f64() * 1000.0);
    Ok(json!({ "steps": steps.map_err(|error| error.to_string())? }))
}
