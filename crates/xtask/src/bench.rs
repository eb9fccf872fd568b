//! Times of the job's steps on this machine in one run: natively, in the page, and what a general mesh library needs
//! for its part. Nothing here passes or fails: times of one machine are read, not asserted.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::fs;
use std::path::Path;

use anyhow::{Context, Result};
use serde::Deserialize;
use xtask::places;

use crate::check::command_line;
use crate::run::{command, output_of};
use crate::site::{self, Profile};
use crate::{browser, python};

/// The demo scan from which the finer ones are made.
const SMALL_SCAN: &str = "sample-scans/ordinary-left.stl";

/// Triangles of the scans whose intake is timed.
const TRIANGLES: [u32; 4] = [50_000, 250_000, 1_000_000, 4_000_000];

/// The one of them on which all steps are timed: the budget speaks of it.
const BUDGETED: u32 = 1_000_000;

/// Id of the step from file to measures.
const INTAKE: &str = "read_measure";

/// What one program tells about its steps.
#[derive(Debug, Deserialize)]
struct Told {
    steps: Vec<Step>,
    /// The most memory the program took, MB; where the system tells it.
    #[serde(default)]
    peak_mb: Option<f64>,
    /// Name and version of the library, if it is one.
    #[serde(default)]
    library: String,
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

/// The intake of a scan of some size.
struct Intake {
    triangles: u32,
    file_mb: f64,
    native_ms: f64,
    peer_ms: f64,
    peak_mb: Option<f64>,
}

/// Runs all three one after the other and prints both tables.
pub(crate) fn bench() -> Result<()> {
    let solewright = command_line()?;
    site::build(Profile::Page)?;
    let python = python::ensure()?;

    let folder = places::target().join("bench");
    fs::create_dir_all(&folder)?;
    let peer = |arguments: &[&str]| {
        let mut peer = command(&python, ["tests/outside/bench_peer.py"].iter().chain(arguments));
        // Settings that hold a numerical library back would flatter the ratios.
        output_of(peer.env_remove("OPENBLAS_CORETYPE").env_remove("OPENBLAS_L2_SIZE"))
    };
    // Made once: the name says what is in it.
    let name_of = |triangles: u32| folder.join(format!("scan-{triangles}.stl")).to_string_lossy().into_owned();
    for triangles in TRIANGLES {
        let scan = name_of(triangles);
        if !Path::new(&scan).exists() {
            // Under its name only when it is whole.
            let part = format!("{scan}.part");
            print!("{}", peer(&["make", SMALL_SCAN, &triangles.to_string(), &part])?);
            fs::rename(&part, &scan)?;
        }
    }

    let scan = name_of(BUDGETED);
    println!("timing natively …");
    let native = told(&output_of(&mut command(&solewright, ["bench", &scan, "--json"]))?)?;
    println!("timing in the page …");
    let page = browser::journeys("run", &["--quiet", "--bin", "bench_page", "--", &scan]);
    let page = told(&output_of(&mut page?)?)?;
    println!("timing the other library …");
    let peer_told = told(&peer(&["time", &scan])?)?;

    println!("timing the intake of scans of all sizes …");
    let mut intakes = Vec::new();
    for triangles in TRIANGLES {
        let scan = name_of(triangles);
        // A process of its own for each, so that its peak is that of this scan.
        let native = told(&output_of(&mut command(&solewright, ["bench", &scan, "--only", INTAKE, "--json"]))?)?;
        let peer = told(&peer(&["load", &scan])?)?;
        intakes.push(Intake {
            triangles,
            file_mb: fs::metadata(&scan)?.len() as f64 / 1e6,
            native_ms: median(&native, INTAKE)?,
            peer_ms: median(&peer, INTAKE)?,
            peak_mb: native.peak_mb,
        });
    }

    println!("\nscan: {BUDGETED} triangles, binary STL. Times in ms: median (worst).\n");
    let library = peer_told.library.clone();
    print!("{}", table(&Times { native, page, peer: peer_told }));
    println!("\nread, clean, lay in the foot frame, find landmarks, measure: binary STLs of one foot, medians.");
    println!("library: {library}, load and merge only. peak: resident memory of the whole native process.\n");
    print!("{}", sizes(&intakes));
    Ok(())
}

fn median(told: &Told, id: &str) -> Result<f64> {
    let step = told.steps.iter().find(|step| step.id == id);
    Ok(step.with_context(|| format!("the step {id} was not timed"))?.ms_median)
}

fn told(text: &str) -> Result<Told> {
    serde_json::from_str(text).with_context(|| format!("no bench result: {text}"))
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

/// Share of the library's time that the intake of [`BUDGETED`] triangles may take.
const MOST_OF_LIBRARY: f64 = 0.5;
/// Sizes of the file that the process may take.
const MOST_OF_FILE: f64 = 4.0;

/// One row a scan, and what is aimed at below.
fn sizes(intakes: &[Intake]) -> String {
    let mut rows = vec![
        ["triangles", "file MB", "native ms", "ms per 100k", "library ms", "native/library", "peak MB", "peak/file"]
            .map(str::to_owned),
    ];
    let per_100k = |intake: &Intake| intake.native_ms * 1e5 / f64::from(intake.triangles);
    let told = |value: Option<f64>, places: usize| value.map_or_else(|| "–".to_owned(), |v| format!("{v:.places$}"));
    for intake in intakes {
        rows.push([
            intake.triangles.to_string(),
            format!("{:.1}", intake.file_mb),
            format!("{:.1}", intake.native_ms),
            format!("{:.1}", per_100k(intake)),
            format!("{:.1}", intake.peer_ms),
            format!("{:.2}", intake.native_ms / intake.peer_ms),
            told(intake.peak_mb, 1),
            told(intake.peak_mb.map(|peak| peak / intake.file_mb), 2),
        ]);
    }
    let mut text = aligned(&rows);
    let _ = writeln!(
        text,
        "aimed at: native/library at most {MOST_OF_LIBRARY} at {BUDGETED} triangles, peak/file at most {MOST_OF_FILE}, \
         ms per 100k no more for many triangles than for few"
    );
    text
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
        Told { steps: list.iter().map(step).collect(), peak_mb: None, library: String::new() }
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
    fn sizes_are_told_with_ratios_and_a_dash_where_the_system_tells_no_peak() {
        let intake = |triangles, peak_mb| Intake {
            triangles,
            file_mb: f64::from(triangles) * 50e-6,
            native_ms: 500.0,
            peer_ms: 1250.0,
            peak_mb,
        };
        let text = sizes(&[intake(1_000_000, Some(125.0)), intake(4_000_000, None)]);
        let words = |line: usize| text.lines().nth(line).unwrap().split_whitespace().collect::<Vec<_>>();
        assert_eq!(words(1), ["1000000", "50.0", "500.0", "50.0", "1250.0", "0.40", "125.0", "2.50"]);
        assert_eq!(words(2), ["4000000", "200.0", "500.0", "12.5", "1250.0", "0.40", "–", "–"]);
    }

    #[test]
    fn a_result_is_read_as_the_programs_write_it() {
        let told = told(r#"{"steps":[{"id":"a","label":"b","ms_median":1.5,"ms_worst":2,"runs":3}]}"#).unwrap();
        assert_eq!((told.steps[0].ms_median, told.steps[0].runs), (1.5, 3));
        assert_eq!((told.peak_mb, told.library.as_str()), (None, ""));
        let told = super::told(r#"{"steps":[],"peak_mb":12.5,"library":"a 1.0"}"#).unwrap();
        assert_eq!((told.peak_mb, told.library.as_str()), (Some(12.5), "a 1.0"));
        assert!(median(&told, "a").is_err());
        assert!(super::told("no").is_err());
    }
}
