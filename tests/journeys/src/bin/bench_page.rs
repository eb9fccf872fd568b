//! Times the engine in the page: `bench_page SCAN` prints one JSON object like that of `solewright bench SCAN --json`.
//!
//! The page's program runs the engine's own steps in a worker, and one step is added that only a page has: from a cold
//! start to the first picture.
#![allow(clippy::print_stdout, reason = "a terminal program")]

use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};
use serde_json::{Value, json};
use solewright_journeys::{Setting, journey_in};

/// Cold starts that the median is taken of, each with a new browser and an empty profile.
const STARTS: usize = 5;

/// The file name under which the page finds the scan.
const SCAN: &str = "bench.stl";

/// Runs the bench of the page's program in a worker of its own; gives its JSON text.
const IN_A_WORKER: &str = "
    const program = new URL('solewright.js', location.href).href;
    const scan = new URL(arguments[0], location.href).href;
    const code = `
        import init, { bench_steps } from '${program}';
        await init();
        const scan = new Uint8Array(await (await fetch('${scan}')).arrayBuffer());
        postMessage(await bench_steps(scan, () => performance.now()));`;
    const source = URL.createObjectURL(new Blob([code], { type: 'text/javascript' }));
    const worker = new Worker(source, { type: 'module' });
    return new Promise((done, failed) => {
        worker.onmessage = (event) => done(event.data);
        worker.onerror = (event) => failed(new Error(event.message));
    });";

fn main() -> Result<()> {
    let scan = PathBuf::from(std::env::args_os().nth(1).context("say the scan to run the bench on")?);
    let mut times_ms = Vec::new();
    for _ in 0..STARTS {
        journey_in(&Setting::default(), "bench-start", async |page| {
            times_ms.push(page.ready_after_ms().await?);
            Ok(())
        })?;
    }
    times_ms.sort_by(f64::total_cmp);
    let start = json!({
        "id": "first_picture",
        "label": "open the page: first picture",
        "ms_median": times_ms[STARTS / 2],
        "ms_worst": times_ms[STARTS - 1],
        "runs": STARTS,
    });

    let mut told = engine_steps(&scan)?;
    let Some(steps) = told["steps"].as_array_mut() else { bail!("the page's bench gave no steps: {told}") };
    steps.push(start);
    println!("{told}");
    Ok(())
}

fn engine_steps(scan: &Path) -> Result<Value> {
    let with_scan = tempfile::tempdir()?;
    let setting = Setting::default();
    for entry in std::fs::read_dir(&setting.folder)? {
        let entry = entry?;
        if entry.file_type()?.is_file() {
            std::fs::copy(entry.path(), with_scan.path().join(entry.file_name()))?;
        }
    }
    std::fs::copy(scan, with_scan.path().join(SCAN)).with_context(|| format!("no scan {}", scan.display()))?;
    let setting = Setting { folder: with_scan.path().to_path_buf(), path: "?demo=none".to_owned(), ..setting };
    let mut told = Value::Null;
    journey_in(&setting, "bench-steps", async |page| {
        let text = page.eval_with(IN_A_WORKER, vec![json!(SCAN)]).await?;
        told = serde_json::from_str(text.as_str().context("the page's bench gave no JSON text")?)?;
        Ok(())
    })?;
    Ok(told)
}
