//! Traces a drawing and prints its curves as JSON, for the checks by other libraries in `tests/outside/test_tracing.py`.
//!
//! `trace drawing FILE`. Exit code 2 with a message if it cannot be read.

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
        _ => Err("trace drawing FILE".into()),
    }
}
