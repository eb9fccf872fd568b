use crate::args::{Command, HELP, Options};
use crate::bench;
use base::{Severity, Side, Work};
use case::Edit;
use engine::view::FootView;
use engine::{Engine, Snapshot};
use foot::PoseHints;
use serde_json::{Map, Value, json};
use std::fs;
use std::io::{IsTerminal, Write};
use std::path::Path;

/// Runs a command. Returns whether a finding says stop.
///
/// # Errors
/// File, place, reason and what to do.
pub(crate) fn run(command: &Command, options: &Options) -> Result<bool, String> {
    match command {
        Command::Help => {
            println!("{}", HELP.trim_end());
            Ok(false)
        }
        Command::Measure { scan } => measure(scan, options),
        Command::Draft { scans, out } => draft(scans.iter().map(AsRef::as_ref), out, options),
        Command::Apply { case, edits, out } => apply(case, edits, out, options),
        Command::Check { case } => check(case, options),
        Command::Make { case, out } => make(case, out, options),
        Command::Bench { scan } => {
            let told = bench::run(&read(scan)?)?;
            println!("{told:#}");
            Ok(false)
        }
    }
}

fn measure(scan: &Path, options: &Options) -> Result<bool, String> {
    let mut engine = Engine::new();
    let side = add_scan(&mut engine, scan, options)?;
    engine.apply(&Edit::SetWeightBearing { state: options.state }).map_err(text)?;
    let snapshot = engine.snapshot();
    let (Some(foot), Some(plan)) = (&snapshot.feet[side], &engine.case().feet[side]) else {
        return Err(snapshot.problems[side].clone().unwrap_or_default());
    };
    let pose = case::pose_from_rows(&plan.foot_from_scan).ok_or("the pose is not invertible")?;
    let scan_from_foot = pose.inverse();
    if options.json {
        let landmarks: Map<String, Value> = foot
            .landmarks
            .iter()
            .map(|landmark| {
                let in_scan = scan_from_foot.transform_point3(landmark.at.into()).to_array();
                let told = json!({ "scan": in_scan, "foot": landmark.at, "confidence": landmark.confidence });
                (landmark.id.id().to_owned(), told)
            })
            .collect();
        let measures: Map<String, Value> =
            foot.measures.iter().map(|measure| (measure.id.clone(), json!(measure.value))).collect();
        let told = json!({
            "side": side,
            "unit": plan.unit,
            "state": options.state,
            "to_foot_frame": plan.foot_from_scan,
            "measures": measures,
            "landmarks": landmarks,
            "notes": foot.intake_notes,
        });
        println!("{told:#}");
    } else {
        println!("{}: {} foot, read in {}", foot.scan_name, side.word(), plan.unit.symbol());
        for measure in &foot.measures {
            match measure.value {
                Some(value) => println!("  {:<28}{value:>9.2} {}", measure.label, measure.unit),
                None => println!("  {:<28}        – {}", measure.label, measure.missing.as_deref().unwrap_or_default()),
            }
        }
        println!("  landmarks in the foot frame, mm");
        for landmark in &foot.landmarks {
            let [x, y, z] = landmark.at;
            println!("  {:<28}{x:>9.1}{y:>9.1}{z:>9.1}   {:.0} %", landmark.label, landmark.confidence * 100.0);
        }
        for note in &foot.intake_notes {
            println!("  {} {}", note.text, note.advice);
        }
    }
    Ok(false)
}

fn draft<'a>(scans: impl Iterator<Item = &'a Path>, out: &Path, options: &Options) -> Result<bool, String> {
    let mut engine = Engine::new();
    let mut sides: Vec<Side> = Vec::new();
    for scan in scans {
        let side = add_scan(&mut engine, scan, options)?;
        if sides.contains(&side) {
            return Err(format!(
                "{}: this is a second {} foot; a case takes one of each side: check the files, or give --side for a single scan",
                scan.display(),
                side.word()
            ));
        }
        sides.push(side);
    }
    let size = options
        .size
        .as_deref()
        .map(str::parse::<last::Size>)
        .transpose()
        .map_err(|error| format!("--size: {error}"))?;
    let edits = [
        Edit::SetWeightBearing { state: options.state },
        Edit::SetMass { mass_kg: options.mass_kg },
        Edit::SetSize { size },
    ];
    for edit in &edits {
        engine.apply(edit).map_err(text)?;
    }
    write(out, &engine.save().map_err(text)?)?;
    tell(&engine.snapshot(), options, &[out.display().to_string()])
}

fn apply(case: &Path, edits: &Path, out: &Path, options: &Options) -> Result<bool, String> {
    let mut engine = open(case)?;
    let json = String::from_utf8(read(edits)?)
        .map_err(|_| format!("{}: not text; give a JSON array of edits", edits.display()))?;
    let list: Vec<Value> = serde_json::from_str(&json).map_err(|error| {
        format!(
            "{}: line {}, column {}: {error}; give a JSON array of edits",
            edits.display(),
            error.line(),
            error.column()
        )
    })?;
    for (index, value) in list.into_iter().enumerate() {
        let place = |reason: String| format!("{}: edit {}: {reason}", edits.display(), index + 1);
        let edit: Edit = serde_json::from_value(value).map_err(|error| place(error.to_string()))?;
        engine.apply(&edit).map_err(|error| place(error.to_string()))?;
    }
    write(out, &engine.save().map_err(text)?)?;
    tell(&engine.snapshot(), options, &[out.display().to_string()])
}

fn check(case: &Path, options: &Options) -> Result<bool, String> {
    tell(&open(case)?.snapshot(), options, &[])
}

fn make(case: &Path, out: &Path, options: &Options) -> Result<bool, String> {
    let mut engine = open(case)?;
    let only: Vec<&str> = options.only.iter().map(String::as_str).collect();
    let files = engine.make(&only).map_err(text)?;
    fs::create_dir_all(out)
        .map_err(|error| format!("{}: {error}; choose a folder that can be written", out.display()))?;
    let mut written = Vec::new();
    for file in &files {
        let path = out.join(&file.name);
        write(&path, &file.bytes)?;
        written.push(path.display().to_string());
    }
    tell(&engine.snapshot(), options, &written)
}

/// Tells what is in the case and what was found; returns whether a finding says stop.
fn tell(snapshot: &Snapshot, options: &Options, written: &[String]) -> Result<bool, String> {
    if let Some((side, problem)) = snapshot.problems.iter().find_map(|(side, problem)| Some((side, problem.as_ref()?)))
    {
        return Err(format!("{} foot: {problem}", side.word()));
    }
    let stop = snapshot.findings.iter().any(|finding| finding.severity == Severity::Stop);
    if options.json {
        let feet: Map<String, Value> = snapshot
            .feet
            .iter()
            .filter_map(|(side, foot)| Some((side.word().to_owned(), foot_json(foot.as_ref()?))))
            .collect();
        let told = json!({
            "size": snapshot.size,
            "feet": feet,
            "findings": snapshot.findings,
            "written": written,
        });
        println!("{told:#}");
        return Ok(stop);
    }
    if let Some(size) = &snapshot.size {
        println!("size {} ({}), last {:.1} mm", size.used, size.reason, size.last_length_mm);
    }
    for (side, foot) in snapshot.feet.iter() {
        let Some(foot) = foot else { continue };
        println!("{} insole", side.word());
        for (label, mm) in &foot.outline_sizes {
            println!("  {label:<28}{mm:>9.1} mm");
        }
        println!(
            "  {:<28}{:>9.1} mm = {:.2} × {:.1} mm",
            "Arch support height", foot.arch.used_mm, foot.arch.fill, foot.arch.apex_mm
        );
        println!("  {:<28}{:>9.1} mm", "Thinnest", foot.thinnest.0);
    }
    for finding in &snapshot.findings {
        let side = finding.side.map_or("pair", Side::word);
        println!("{:?}, {side}: {} {} [{}]", finding.severity, finding.text, finding.advice, finding.source);
    }
    for path in written {
        println!("{path}");
    }
    Ok(stop)
}

fn foot_json(foot: &FootView) -> Value {
    json!({
        "scan": foot.scan_name,
        "measures": foot.measures.iter().map(|m| (m.id.clone(), json!(m.value))).collect::<Map<_, _>>(),
        "outline_sizes": foot.outline_sizes,
        "arch": foot.arch,
        "thinnest_mm": foot.thinnest.0,
        "steepest_shore_a_per_mm": foot.steepest.0,
        "shore_a_range": foot.shore_a_range,
    })
}

fn add_scan(engine: &mut Engine, path: &Path, options: &Options) -> Result<Side, String> {
    let bytes = read(path)?;
    let hints = PoseHints { side: options.side, unit: options.unit, ..PoseHints::default() };
    let terminal = std::io::stderr().is_terminal();
    let on_step = |what: &str, fraction: f64| {
        if terminal {
            eprint!("\r{what} {:.0} %\x1b[K", fraction * 100.0);
            if fraction >= 1.0 {
                eprintln!();
            }
            // Progress is a courtesy: a closed terminal must not stop the work.
            let _ = std::io::stderr().flush();
        }
        true
    };
    let added = engine.add_scan(&path.display().to_string(), &bytes, &hints, &Work::new(&on_step));
    if terminal {
        eprint!("\r\x1b[K");
    }
    Ok(added.map_err(text)?.side)
}

fn open(path: &Path) -> Result<Engine, String> {
    let mut engine = Engine::new();
    engine.open(&path.display().to_string(), &read(path)?).map_err(text)?;
    Ok(engine)
}

fn read(path: &Path) -> Result<Vec<u8>, String> {
    fs::read(path).map_err(|error| format!("{}: {error}; check the path", path.display()))
}

fn write(path: &Path, bytes: &[u8]) -> Result<(), String> {
    fs::write(path, bytes).map_err(|error| format!("{}: {error}; choose a place that can be written", path.display()))
}

fn text(error: impl std::fmt::Display) -> String {
    error.to_string()
}
