//! Times of the job's steps on this machine in one run: natively, in the page, and what a general mesh library needs
//! for its part. Nothing here passes or fails: times of one machine are read, not asserted.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::fs;

use anyhow::{Context, Result};
use serde::Deserialize;
use xtask::places;

use crate::check::command_line;
use crate::run::{command, output_of};
use crate::site::{self, Profile};
use crate::{browser, python};

/// The demo scan from which the large one is made.
const SMALL_SCAN: &str = "sample-scans/ordinary-left.stl";

/// What one program tells about its steps.
#[derive(Debug, Deserialize)]
struct Told {
    steps: Vec<Step>,
}

#[derive(Debug, Clone, Deserialize)]
struct Step {
    id: String,
    label: String,
    ms_median: f64,
    ms_worst: f64,
    runs: usize,
}

/// The three programs' steps, one table.
struct Times {
    native: Told,
    page: Told,
    peer: Told,
}

/// Runs all three one after the other and prints the table.
pub(crate) fn bench() -> Result<()> {
    let solewright = command_line()?;
    site::build(Profile::Page)?;
    let python = python::ensure()?;

    let folder = places::target().join("bench");
    fs::create_dir_all(&folder)?;
    let scan = folder.join("large.stl");
    let scan_name = scan.to_string_lossy().into_owned();
    let peer = |arguments: &[&str]| {
        let mut peer = command(&python, ["tests/outside/bench_peer.py"].iter().chain(arguments));
        // Settings that hold a numerical library back would flatter the ratios.
        output_of(peer.env_remove("OPENBLAS_CORETYPE").env_remove("OPENBLAS_L2_SIZE"))
    };
    if !scan.exists() {
        print!("{}", peer(&["make", SMALL_SCAN, &scan_name])?);
    }

    println!("timing natively …");
    let native = told(&output_of(&mut command(&solewright, ["bench", &scan_name, "--json"]))?)?;
    println!("timing in the page …");
    let page = browser::journeys("run", &["--quiet", "--bin", "bench_page", "--", &scan_name]);
    let page = told(&output_of(&mut page?)?)?;
    println!("timing the other library …");
    let peer = told(&peer(&["time", &scan_name])?)?;

    let triangles = triangles_in(fs::metadata(&scan)?.len());
    println!("\nscan: {triangles} triangles, binary STL. Times in ms: median (worst).\n");
    print!("{}", table(&Times { native, page, peer }));
    Ok(())
}

fn told(text: &str) -> Result<Told> {
    serde_json::from_str(text).with_context(|| format!("no bench result: {text}"))
}

/// Binary STL: a header of 80 bytes, a count of 4, and 50 a triangle.
fn triangles_in(bytes: u64) -> u64 {
    bytes.saturating_sub(84) / 50
}

/// One row a step: all of the native run in their order, then what only the page or only the library has.
fn table(times: &Times) -> String {
    let by_id = |told: &Told| told.steps.iter().map(|step| (step.id.clone(), step.clone())).collect();
    let (page, peer): (BTreeMap<_, _>, BTreeMap<_, _>) = (by_id(&times.page), by_id(&times.peer));
    let mut steps: Vec<&Step> = times.native.steps.iter().collect();
    for step in times.page.steps.iter().chain(&times.peer.steps) {
        if !steps.iter().any(|other| other.id == step.id) {
            steps.push(step);
        }
    }
    let mut rows =
        vec![["step", "runs", "native", "page", "page/native", "library", "native/library"].map(str::to_owned)];
    for step in &steps {
        let native = times.native.steps.iter().find(|other| other.id == step.id);
        let (page, peer) = (page.get(&step.id), peer.get(&step.id));
        rows.push([
            step.label.clone(),
            step.runs.to_string(),
            cell(native),
            cell(page),
            ratio(page, native),
            cell(peer),
            ratio(native, peer),
        ]);
    }
    let mut text = aligned(&rows);
    for step in &times.peer.steps {
        let _ = writeln!(text, "library, {}: {}", step.id, step.label);
    }
    text
}

fn cell(step: Option<&Step>) -> String {
    step.map_or_else(|| "–".to_owned(), |step| format!("{:.1} ({:.1})", step.ms_median, step.ms_worst))
}

fn ratio(step: Option<&Step>, to: Option<&Step>) -> String {
    match (step, to) {
        (Some(step), Some(to)) if to.ms_median > 0.0 => format!("{:.2}", step.ms_median / to.ms_median),
        _ => "–".to_owned(),
    }
}

/// The first column to the left, the others to the right.
fn aligned<const N: usize>(rows: &[[String; N]]) -> String {
    let width = |column: usize| rows.iter().map(|row| row[column].chars().count()).max().unwrap_or(0);
    let widths: [usize; N] = std::array::from_fn(width);
    let mut text = String::new();
    for row in rows {
        for (column, (value, width)) in row.iter().zip(widths).enumerate() {
            let _ = match column {
                0 => write!(text, "{value:<width$}"),
                _ => write!(text, "  {value:>width$}"),
            };
        }
        text.push('\n');
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn steps(list: &[(&str, f64, f64)]) -> Told {
        let step = |&(id, ms_median, ms_worst): &(&str, f64, f64)| Step {
            id: id.to_owned(),
            label: format!("the {id}"),
            ms_median,
            ms_worst,
            runs: 5,
        };
        Told { steps: list.iter().map(step).collect() }
    }

    #[test]
    fn steps_of_the_same_id_stand_in_one_row_with_their_ratios() {
        let table = table(&Times {
            native: steps(&[("read", 100.0, 120.0), ("drag", 4.0, 5.0)]),
            page: steps(&[("read", 150.0, 160.0), ("drag", 10.0, 11.0), ("start", 900.0, 1000.0)]),
            peer: steps(&[("read", 400.0, 410.0), ("cut", 7.0, 8.0)]),
        });
        let words =
            |line: usize| table.lines().nth(line).unwrap().split("  ").filter(|w| !w.is_empty()).collect::<Vec<_>>();
        let trimmed = |line| words(line).into_iter().map(str::trim).collect::<Vec<_>>();
        assert_eq!(trimmed(1), ["the read", "5", "100.0 (120.0)", "150.0 (160.0)", "1.50", "400.0 (410.0)", "0.25"]);
        assert_eq!(trimmed(2), ["the drag", "5", "4.0 (5.0)", "10.0 (11.0)", "2.50", "–", "–"]);
        assert_eq!(trimmed(3), ["the start", "5", "–", "900.0 (1000.0)", "–", "–", "–"]);
        assert_eq!(trimmed(4), ["the cut", "5", "–", "–", "–", "7.0 (8.0)", "–"]);
    }

    #[test]
    fn triangles_are_counted_from_the_size_of_a_binary_stl() {
        assert_eq!(triangles_in(84 + 50 * 12), 12);
        assert_eq!(triangles_in(3), 0);
    }

    #[test]
    fn a_result_is_read_as_the_programs_write_it() {
        let told = told(r#"{"steps":[{"id":"a","label":"b","ms_median":1.5,"ms_worst":2,"runs":3}]}"#).unwrap();
        assert_eq!((told.steps[0].ms_median, told.steps[0].runs), (1.5, 3));
        assert!(super::told("no").is_err());
    }
}
