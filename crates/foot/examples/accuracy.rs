//! Takes in many random phantom scans and prints how far landmarks and measures are off the truth, and whether that is
//! allowed: `cargo xtask accuracy`, or `cargo run --release -p solewright-foot --example accuracy -- COUNT FIRST`.

#![allow(clippy::print_stdout, reason = "printing is what it is for")]

#[path = "../tests/survey/mod.rs"]
mod survey;

use std::process::ExitCode;
use survey::{CRITERIA, Criterion, Findings};

/// Threads that take in scans.
const THREADS: u64 = 2;

/// Least length of a triangle's short sides, mm: a fine scanner.
const FINEST_MM: f64 = 1.0;

fn main() -> ExitCode {
    let number = |at: usize, usual: u64| std::env::args().nth(at).and_then(|n| n.parse().ok()).unwrap_or(usual);
    let (count, first) = (number(1, 500), number(2, 0));
    let mut findings = Findings::default();
    std::thread::scope(|scope| {
        let seeds = |start: u64| (first + start..first + count).step_by(THREADS as usize);
        let threads: Vec<_> =
            (0..THREADS).map(|start| scope.spawn(move || Findings::of(seeds(start), FINEST_MM))).collect();
        for thread in threads {
            match thread.join() {
                Ok(found) => findings.add(found),
                Err(_) => findings.wrong.push("a thread of the survey stopped".to_owned()),
            }
        }
    });
    println!("{count} random phantom scans, seeds {first}…{}; errors against the truth", first + count.max(1) - 1);
    println!(
        "{:32} {:>4} {:>7} {:>7} {:>7} {:>7} {:>6}  {:<18} allowed",
        "what", "n", "mean", "median", "95 %", "worst", "seed", "mean ± 1.96·SD/√N"
    );
    for (what, spread) in findings.spreads() {
        let interval =
            format!("{:+.3} … {:+.3}", spread.mean - spread.half_interval, spread.mean + spread.half_interval);
        let criterion = CRITERIA.iter().find(|criterion| criterion.what == what);
        let verdict = criterion.map_or(String::new(), |criterion| {
            format!("{}: {}", allowed(criterion), if spread.passes(criterion, 1.0) { "pass" } else { "FAIL" })
        });
        println!(
            "{what:32} {:4} {:7.2} {:7.2} {:7.2} {:7.2} {:6}  {interval:<18} {verdict}",
            spread.count, spread.mean, spread.median, spread.most_of, spread.worst, spread.worst_seed
        );
    }
    let failures = findings.failures(1.0);
    println!("{} refused, or taken for another side or unit", findings.wrong.len());
    failures.iter().for_each(|why| println!("  failed: {why}"));
    if failures.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

/// What is allowed, in words.
fn allowed(criterion: &Criterion) -> String {
    let parts = [
        criterion.interval.map(|mm| format!("interval ±{mm}")),
        criterion.median.map(|mm| format!("median {mm}")),
        criterion.most_of.map(|mm| format!("95 % {mm}")),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}
