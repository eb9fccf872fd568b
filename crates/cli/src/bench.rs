use engine::STEPS;
use serde_json::{Value, json};
use std::time::Instant;

/// Runs the engine's steps on a scan and tells median and worst, ms.
pub(crate) fn run(bytes: &[u8]) -> Result<Value, String> {
    let mut steps = Vec::new();
    for step in STEPS {
        let mut engine = (step.prepare)(bytes).map_err(|error| error.to_string())?;
        let mut times_ms = Vec::new();
        for run in 0..step.runs {
            let start = Instant::now();
            (step.run)(&mut engine, bytes, run).map_err(|error| error.to_string())?;
            times_ms.push(start.elapsed().as_secs_f64() * 1000.0);
        }
        times_ms.sort_by(f64::total_cmp);
        let (median, worst) = (times_ms[times_ms.len() / 2], times_ms[times_ms.len() - 1]);
        steps.push(
            json!({ "id": step.id, "label": step.label, "ms_median": median, "ms_worst": worst, "runs": step.runs }),
        );
    }
    Ok(json!({ "steps": steps }))
}
