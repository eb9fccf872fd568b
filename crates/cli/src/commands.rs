use crate::args::{Command, HELP, Options};
use crate::bench;
use base::{Severity, Side, Work};
use case::Edit;
use engine::view::FootView;
use engine::{Engine, ScanFile, ScanHints, Snapshot};
use insole::build::{Build, STARTERS};
use scan::HeightScale;
use serde_json::{Map, Value, json};
use std::fs;
use std::io::{IsTerminal, Write};
use std::path::Path;

/// Prints a line. Whoever reads the answer may stop reading, as `head` does: that is no failure.
macro_rules! say {
    ($($words:tt)*) => {
        writeln!(std::io::stdout(), $($words)*).unwrap_or_default()
    };
}

/// Runs a command. Returns whether a finding says stop.
///
/// # Errors
/// File, place, reason and what to do.
pub(crate) fn run(command: &Command, options: &Options) -> Result<bool, String> {
    match command {
        Command::Help => {
            say!("{}", HELP.trim_end());
            Ok(false)
        }
        Command::Measure { scan } => measure(scan, options),
        Command::Draft { scans, out } => draft(scans.iter().map(AsRef::as_ref), out, options),
        Command::Apply { case, edits, out } => apply(case, edits, out, options),
        Command::Check { case } => check(case, options),
        Command::Make { case, out } => make(case, out, options),
        Command::Bench { scan } => {
            let told = bench::run(&scan_file(scan)?, &words(&options.only))?;
            say!("{told:#}");
            Ok(false)
        }
    }
}

fn measure(scan: &Path, options: &Options) -> Result<bool, String> {
    let mut engine = Engine::new();
    let sides = add_scans(&mut engine, &[scan], options)?;
    let [side] = sides[..] else {
        let advice = "say which one with --side left or --side right, or make a case of both with `draft`";
        return Err(format!("{}: there are two feet in this file: {advice}", scan.display()));
    };
    engine.apply(&Edit::SetWeightBearing { state: options.state }).map_err(text)?;
    engine.apply(&Edit::SetMass { mass_kg: options.mass_kg }).map_err(text)?;
    if let Some(second) = &options.second {
        let state = options.second_state.ok_or("--second needs --second-state none|half|full")?;
        let file = scan_file(second)?;
        let hints = hints(options)?;
        engine.add_second_scan(side, state, &file, &hints, &Work::quiet()).map_err(text)?;
    }
    let snapshot = engine.snapshot();
    let (Some(foot), Some(plan)) = (&snapshot.feet[side], &engine.case().feet[side]) else {
        return Err(snapshot.problems[side].clone().unwrap_or_default());
    };
    let pose = case::pose_from_rows(&plan.foot_from_scan).ok_or("the pose is not invertible")?;
    let scan_from_foot = pose.inverse();
    let of_steps = foot.steps.iter().filter_map(|step| step.note.as_ref());
    let notes: Vec<&base::Note> = foot.intake_notes.iter().chain(of_steps).collect();
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
        let missing: Map<String, Value> = foot
            .measures
            .iter()
            .filter_map(|measure| Some((measure.id.clone(), json!(measure.missing.as_ref()?))))
            .collect();
        let changes: Map<String, Value> = foot
            .second
            .iter()
            .flat_map(|second| second.changes.iter().map(|change| (change.id.clone(), json!(change.value))))
            .collect();
        let told = json!({
            "side": side,
            "unit": plan.unit,
            "kind": plan.kind,
            "format": foot.format,
            "state": options.state,
            "to_foot_frame": plan.foot_from_scan,
            "measures": measures,
            "missing": missing,
            "landmarks": landmarks,
            "changes": changes,
            "notes": notes,
        });
        say!("{told:#}");
    } else {
        say!("{}: {} foot, read in {}", foot.scan_name, side.word(), plan.unit.symbol());
        for measure in &foot.measures {
            match measure.value {
                Some(value) => say!("  {:<28}{value:>9.2} {}", measure.label, measure.unit),
                None => say!("  {:<28}        – {}", measure.label, measure.missing.as_deref().unwrap_or_default()),
            }
        }
        say!("  landmarks in the foot frame, mm");
        for landmark in &foot.landmarks {
            let [x, y, z] = landmark.at;
            say!("  {:<28}{x:>9.1}{y:>9.1}{z:>9.1}   {:.0} %", landmark.label, landmark.confidence * 100.0);
        }
        if let Some(second) = &foot.second {
            say!("  compared with {}, load: {}", second.scan_name, second.state.word());
            if let Some(problem) = &second.problem {
                say!("  {problem}");
            }
            for change in &second.changes {
                match change.value {
                    Some(value) => say!("  {:<28}{value:>9.2} {}", change.label, change.unit),
                    None => {
                        say!("  {:<28}        – {}", change.label, change.missing.as_deref().unwrap_or_default())
                    }
                }
            }
        }
        for note in notes {
            say!("  {} {}", note.text, note.advice);
        }
    }
    Ok(false)
}

fn draft<'a>(scans: impl Iterator<Item = &'a Path>, out: &Path, options: &Options) -> Result<bool, String> {
    let mut engine = Engine::new();
    add_scans(&mut engine, &scans.collect::<Vec<_>>(), options)?;
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
    let sides: Vec<Side> = engine.case().feet.iter().filter_map(|(side, foot)| foot.as_ref().map(|_| side)).collect();
    let last = options.last.as_deref().map(last_numbers).transpose()?;
    for &side in &sides {
        if let Some((name, params)) = &last {
            engine.apply(&Edit::UseLast { side, name: name.clone(), params: params.clone() }).map_err(text)?;
        }
        engine.apply(&Edit::SetInsoleLength { side, length: options.length }).map_err(text)?;
        if let Some(shoe) = &options.shoe {
            let edit = engine.trace_drawing_edit(side, &shoe.display().to_string(), &read(shoe)?).map_err(text)?;
            engine.apply(&edit).map_err(text)?;
        }
    }
    if let Some(build) = options.build.as_deref().map(build_of).transpose()? {
        let edit = engine.use_build_edit(&sides, &build).map_err(text)?;
        engine.apply(&edit).map_err(text)?;
    }
    write(out, &engine.save().map_err(text)?)?;
    tell(&engine.snapshot(), options, &[out.display().to_string()])
}

/// A build: a starter by its id, or a file.
fn build_of(word: &str) -> Result<Build, String> {
    if let Some(starter) = STARTERS.iter().find(|starter| starter.id == word) {
        return Ok(starter.build());
    }
    if !word.ends_with(".json") {
        let known: Vec<&str> = STARTERS.iter().map(|starter| starter.id).collect();
        return Err(format!("--build: there is no build `{word}`: use a .json file or one of {}", known.join(", ")));
    }
    let json = String::from_utf8(read(Path::new(word))?).map_err(|_| format!("{word}: not text"))?;
    Build::from_json(word, &json).map_err(|error| error.to_string())
}

/// Name and numbers of a last: a preset by its id, or a file.
fn last_numbers(word: &str) -> Result<(String, base::Params), String> {
    if let Some(preset) = last::preset(word) {
        return Ok((preset.label.to_owned(), preset.params()));
    }
    if !word.ends_with(".json") {
        let known: Vec<&str> = last::PRESETS.iter().map(|preset| preset.id).collect();
        return Err(format!("--last: there is no last `{word}`: use a .json file or one of {}", known.join(", ")));
    }
    let json = String::from_utf8(read(Path::new(word))?).map_err(|_| format!("{word}: not text"))?;
    let file = last::PresetFile::from_json(word, &json).map_err(|error| error.to_string())?;
    Ok((file.name, file.params))
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
    let mut of_formats: base::Params = [("paper".to_owned(), options.paper)].into();
    of_formats.extend(options.spacing.map(|mm| (making::formats::SPACING.id.to_owned(), mm)));
    let files = engine.make_with(&words(&options.only), &of_formats).map_err(text)?;
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
        say!("{told:#}");
        return Ok(stop);
    }
    if let Some(size) = &snapshot.size {
        say!("size {} ({}), last {:.1} mm", size.used, size.reason, size.last_length_mm);
    }
    for (side, foot) in snapshot.feet.iter() {
        let Some(foot) = foot else { continue };
        say!("{} insole", side.word());
        for (label, mm) in &foot.outline_sizes {
            say!("  {label:<28}{mm:>9.1} mm");
        }
        say!(
            "  {:<28}{:>9.1} mm = {:.2} × {:.1} mm",
            "Arch support height",
            foot.arch.used_mm,
            foot.arch.fill,
            foot.arch.apex_mm
        );
        say!("  {:<28}{:>9.1} mm", "Thinnest", foot.thinnest.0);
    }
    for finding in &snapshot.findings {
        let side = finding.side.map_or("pair", Side::word);
        say!("{:?}, {side}: {} {} [{}]", finding.severity, finding.text, finding.advice, finding.source);
    }
    for path in written {
        say!("{path}");
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

fn add_scans(engine: &mut Engine, paths: &[&Path], options: &Options) -> Result<Vec<Side>, String> {
    let files = paths.iter().map(|path| scan_file(path)).collect::<Result<Vec<_>, String>>()?;
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
    let added = engine.add_scans(&files, &hints(options)?, &Work::new(&on_step));
    if terminal {
        eprint!("\r\x1b[K");
    }
    Ok(added.map_err(text)?.into_iter().map(|added| added.side).collect())
}

fn scan_file(path: &Path) -> Result<ScanFile, String> {
    Ok(ScanFile { name: path.display().to_string(), bytes: read(path)?.into() })
}

fn hints(options: &Options) -> Result<ScanHints, String> {
    let heights = match (options.mm_per_pixel, options.mm_per_level) {
        (Some(mm_per_pixel), Some(mm_per_level)) => Some(HeightScale { mm_per_pixel, mm_per_level }),
        (None, None) => None,
        _ => return Err("a height image needs both --mm-per-pixel and --mm-per-level".to_owned()),
    };
    Ok(ScanHints { side: options.side, unit: options.unit, kind: options.kind, heights })
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

fn words(list: &[String]) -> Vec<&str> {
    list.iter().map(String::as_str).collect()
}

fn text(error: impl std::fmt::Display) -> String {
    error.to_string()
}
