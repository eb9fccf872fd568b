use crate::memory::peak_mb;
use engine::{InHouse, ScanFile};
use serde_json::{Value, json};
use std::time::Instant;

/// Runs the engine's steps on a scan, those named in `only` or all, and tells median and worst, ms, and the most memory
/// that this program took, MB.
pub(crate) fn run(scan: &ScanFile, only: &[&str]) -> Result<Value, String> {
    let known = engine::step_ids();
    if let Some(unknown) = only.iter().find(|id| known.iter().all(|step| step != *id)) {
        let known = known.join(", ");
        return Err(format!("--only {unknown}: there is no such step; give some of {known}"));
    }
    let start = Instant::now();
    let steps = engine::time_steps(scan, only, &InHouse, || start.elapsed().as_secs_f64() * 1000.0);
    Ok(json!({ "steps": steps.map_err(|error| error.to_string())?, "peak_mb": peak_mb() }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_that_do_not_exist_are_refused_with_those_that_do() {
        let error = run(&ScanFile::new("a.stl", &[]), &["read_measure", "knit"]).unwrap_err();
        assert!(error.contains("knit") && error.contains("read_measure"), "{error}");
    }
}
