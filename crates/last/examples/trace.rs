//! Traces a drawing or a PNG picture and prints curves or contour as JSON, for the checks by other libraries in
//! `tests/outside/test_tracing.py`.
//!
//! `trace drawing FILE`, `trace picture FILE MM_PER_PIXEL`. Exit code 2 with a message if it cannot be traced.

#![allow(clippy::print_stdout, reason = "its output is what it is for")]

use last::tracing;
use std::error::Error;
use std::process::ExitCode;

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    match run(&words) {
        Ok(text) => {
            println!("{text}");
            ExitCode::SUCCESS
        }
        Err(error) => {
            println!("{error}");
            ExitCode::from(2)
        }
    }
}

fn run(words: &[String]) -> Result<String, Box<dyn Error>> {
    match words {
        [what, file] if what == "drawing" => {
            Ok(serde_json::to_string(&tracing::drawing::read(file, &std::fs::read(file)?)?)?)
        }
        [what, file, mm_per_pixel] if what == "picture" => {
            let picture = tracing::picture::Picture::from_png(&std::fs::read(file)?)?;
            Ok(serde_json::to_string(&tracing::picture::trace(&picture, mm_per_pixel.parse()?, None)?)?)
        }
        _ => Err("trace drawing FILE, or trace picture FILE MM_PER_PIXEL".into()),
    }
}
