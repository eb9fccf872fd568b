//! The headless bench: the same engine as the page, for tests, batches and workshops.
#![allow(clippy::print_stdout, reason = "a command line's answer goes to standard output")]

mod args;
mod bench;
mod commands;
mod memory;

use std::process::ExitCode;

/// Bad input: file, place, reason, what to do.
const BAD_INPUT: u8 = 2;
/// Done, but a finding says not to make it like this.
const STOPPED: u8 = 3;

fn main() -> ExitCode {
    let json = std::env::args_os().any(|argument| argument == "--json");
    let outcome =
        args::parse(std::env::args_os().skip(1)).and_then(|(command, options)| commands::run(&command, &options));
    match outcome {
        Ok(stop) => ExitCode::from(if stop { STOPPED } else { 0 }),
        Err(reason) => {
            if json {
                println!("{}", serde_json::json!({ "error": reason }));
            } else {
                eprintln!("solewright: {reason}");
            }
            ExitCode::from(BAD_INPUT)
        }
    }
}
