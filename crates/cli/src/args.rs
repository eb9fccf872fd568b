use base::{LengthUnit, Side};
use foot::{ScanKind, WeightBearing};
use last::InsoleLength;
use lexopt::prelude::*;
use std::path::PathBuf;

/// What `solewright help` prints.
pub(crate) const HELP: &str = "\
solewright, the headless bench: from a foot scan to an insole file

  solewright measure SCAN [--state none|half|full] [--second SCAN --second-state none|half|full] [--mass-kg M]
  solewright draft SCAN [SCAN2] --out CASE [--size mondopoint:265|paris:42|uk:8|us-m:9] [--state none|half|full]
                   [--mass-kg M] [--last KIND|FILE.last.json] [--shoe OUTLINE.svg|OUTLINE.dxf]
                   [--length full|sulcus|three-quarter|heel] [--build KIND|FILE.build.json]
  solewright apply CASE EDITS.json --out CASE
  solewright check CASE
  solewright make CASE --out DIR [--only solid,sheet,template,report] [--paper a4|a3|letter]
                   [--spacing 1|0.5|0.25]
  solewright bench SCAN [--only read_measure,solid]

A SCAN is STL, OBJ, PLY, glTF, GLB, 3MF, a list of points (XYZ, CSV) or a height image (PNG). What is known of it:
  [--side auto|left|right] [--unit auto|mm|cm|m|in] [--kind auto|foot|impression]
  [--mm-per-pixel W --mm-per-level H]  scale of a height image; a negative H where darker is higher

Every command takes --json: one JSON object on standard output.
Exit: 0 done, 2 bad input (file, place, reason, what to do), 3 done with findings that say stop.

An aid to a qualified practitioner. What it computes is an estimate; local rules apply.
";

/// One command with its arguments.
#[derive(Debug, PartialEq)]
pub(crate) enum Command {
    /// Print the help.
    Help,
    /// Landmarks and measures of a scan.
    Measure {
        /// The scan file.
        scan: PathBuf,
    },
    /// A case from one or two scans.
    Draft {
        /// The scan files.
        scans: Vec<PathBuf>,
        /// The case file to write.
        out: PathBuf,
    },
    /// Applies a list of edits to a case.
    Apply {
        /// The case file.
        case: PathBuf,
        /// A JSON array of edits.
        edits: PathBuf,
        /// The case file to write.
        out: PathBuf,
    },
    /// Findings of a case.
    Check {
        /// The case file.
        case: PathBuf,
    },
    /// Writes everything a workshop needs.
    Make {
        /// The case file.
        case: PathBuf,
        /// The folder to write into.
        out: PathBuf,
    },
    /// Times the main steps on a scan.
    Bench {
        /// The scan file.
        scan: PathBuf,
    },
}

/// Options shared by the commands.
#[derive(Debug, Default, PartialEq)]
pub(crate) struct Options {
    /// One JSON object on standard output.
    pub(crate) json: bool,
    /// Side, if given.
    pub(crate) side: Option<Side>,
    /// Unit, if given.
    pub(crate) unit: Option<LengthUnit>,
    /// What the scan shows, if given.
    pub(crate) kind: Option<ScanKind>,
    /// Side of a pixel of a height image, mm.
    pub(crate) mm_per_pixel: Option<f64>,
    /// Height between two grey levels of a height image, mm.
    pub(crate) mm_per_level: Option<f64>,
    /// Weight-bearing state, if given.
    pub(crate) state: Option<WeightBearing>,
    /// A second scan of the same foot, if given.
    pub(crate) second: Option<PathBuf>,
    /// Weight-bearing state of the second scan, if given.
    pub(crate) second_state: Option<WeightBearing>,
    /// Size text, if given.
    pub(crate) size: Option<String>,
    /// Paper of a template, as the format numbers it.
    pub(crate) paper: f64,
    /// Id of a preset or file of a last, if given.
    pub(crate) last: Option<String>,
    /// Id of a starter build or file of a build, if given.
    pub(crate) build: Option<String>,
    /// Distance of the points of a solid, mm, if given.
    pub(crate) spacing: Option<f64>,
    /// Outline drawing of the shoe's own insole, if given.
    pub(crate) shoe: Option<PathBuf>,
    /// How far forward the insole reaches.
    pub(crate) length: InsoleLength,
    /// Body mass, kg, if given.
    pub(crate) mass_kg: Option<f64>,
    /// Families of output to make, or steps to time; empty: all.
    pub(crate) only: Vec<String>,
}

impl Options {
    fn set(&mut self, name: &str, value: String) -> Result<(), String> {
        match name {
            "side" => {
                let sides = [("auto", None), ("left", Some(Side::Left)), ("right", Some(Side::Right))];
                self.side = one_of(name, &value, &sides)?;
            }
            "unit" => {
                let mut units = vec![("auto", None)];
                units.extend(LengthUnit::ALL.map(|unit| (unit.symbol(), Some(unit))));
                self.unit = one_of(name, &value, &units)?;
            }
            "kind" => {
                let mut kinds = vec![("auto", None)];
                kinds.extend(ScanKind::ALL.map(|kind| (kind.word(), Some(kind))));
                self.kind = one_of(name, &value, &kinds)?;
            }
            "state" => self.state = state(name, &value)?,
            "second" => self.second = Some(value.into()),
            "second-state" => self.second_state = state(name, &value)?,
            "mass-kg" => self.mass_kg = Some(value.parse().map_err(|_| wrong(name, &value, "a number of kilograms"))?),
            "mm-per-pixel" => self.mm_per_pixel = Some(millimetres(name, &value)?),
            "mm-per-level" => self.mm_per_level = Some(millimetres(name, &value)?),
            "only" => {
                self.only =
                    value.split(',').map(|word| word.trim().to_owned()).filter(|word| !word.is_empty()).collect();
            }
            "paper" => self.paper = one_of(name, &value, &[("a4", 0.0), ("a3", 1.0), ("letter", 2.0)])?,
            "last" => self.last = Some(value),
            "build" => self.build = Some(value),
            "spacing" => {
                self.spacing = one_of(name, &value, &[("1", Some(1.0)), ("0.5", Some(0.5)), ("0.25", Some(0.25))])?
            }
            "shoe" => self.shoe = Some(value.into()),
            "length" => {
                let lengths = ["full", "sulcus", "three-quarter", "heel"].into_iter().zip(InsoleLength::ALL);
                self.length = one_of(name, &value, &lengths.collect::<Vec<_>>())?;
            }
            _ => self.size = Some(value),
        }
        Ok(())
    }
}

/// Reads the command line.
///
/// # Errors
/// A sentence that says what is wrong and what would be right.
pub(crate) fn parse(arguments: impl IntoIterator<Item = std::ffi::OsString>) -> Result<(Command, Options), String> {
    let mut parser = lexopt::Parser::from_args(arguments);
    let mut options = Options::default();
    let mut words: Vec<std::ffi::OsString> = Vec::new();
    let mut out: Option<PathBuf> = None;
    while let Some(argument) = parser.next().map_err(|error| error.to_string())? {
        let name = match argument {
            Value(word) => {
                words.push(word);
                continue;
            }
            Long(name) => name.to_owned(),
            Short('h') => "help".to_owned(),
            Short(_) => return Err(format!("{}: see `solewright help`", argument.unexpected())),
        };
        match name.as_str() {
            "json" => options.json = true,
            "help" => words = vec!["help".into()],
            "out" => out = Some(PathBuf::from(parser.value().map_err(|error| error.to_string())?)),
            "side" | "unit" | "kind" | "state" | "second" | "second-state" | "size" | "mass-kg" | "mm-per-pixel"
            | "mm-per-level" | "only" | "last" | "paper" | "shoe" | "length" | "build" | "spacing" => {
                let value = parser.value().map_err(|error| error.to_string())?;
                let value = value.into_string().map_err(|_| format!("--{name}: not readable text"))?;
                options.set(&name, value)?;
            }
            _ => return Err(format!("there is no option --{name}: see `solewright help`")),
        }
    }
    let mut words = words.into_iter();
    let Some(name) = words.next() else { return Ok((Command::Help, options)) };
    let name = name.to_string_lossy().into_owned();
    let rest: Vec<PathBuf> = words.map(PathBuf::from).collect();
    let count = |least: usize, most: usize, what: &str| -> Result<(), String> {
        if (least..=most).contains(&rest.len()) {
            Ok(())
        } else {
            Err(format!("`{name}` takes {what}; {} given: see `solewright help`", rest.len()))
        }
    };
    let need_out = |what: &str| out.clone().ok_or_else(|| format!("`{name}` needs --out {what}"));
    let command = match name.as_str() {
        "help" => Command::Help,
        "measure" => {
            count(1, 1, "one scan file")?;
            Command::Measure { scan: rest[0].clone() }
        }
        "draft" => {
            count(1, 2, "one or two scan files")?;
            Command::Draft { out: need_out("CASE")?, scans: rest.clone() }
        }
        "apply" => {
            count(2, 2, "a case file and a file of edits")?;
            Command::Apply { case: rest[0].clone(), edits: rest[1].clone(), out: need_out("CASE")? }
        }
        "check" => {
            count(1, 1, "one case file")?;
            Command::Check { case: rest[0].clone() }
        }
        "make" => {
            count(1, 1, "one case file")?;
            Command::Make { case: rest[0].clone(), out: need_out("DIR")? }
        }
        "bench" => {
            count(1, 1, "one scan file")?;
            Command::Bench { scan: rest[0].clone() }
        }
        other => return Err(format!("there is no command `{other}`: see `solewright help`")),
    };
    Ok((command, options))
}

fn state(option: &str, value: &str) -> Result<Option<WeightBearing>, String> {
    one_of(option, value, &WeightBearing::ALL.map(|state| (state.word(), Some(state))))
}

fn millimetres(option: &str, value: &str) -> Result<f64, String> {
    value.parse().map_err(|_| wrong(option, value, "a number of millimetres"))
}

fn wrong(option: &str, value: &str, right: &str) -> String {
    format!("--{option} {value}: give {right}")
}

fn one_of<T: Copy>(option: &str, value: &str, choices: &[(&str, T)]) -> Result<T, String> {
    choices
        .iter()
        .find(|(word, _)| *word == value)
        .map(|(_, choice)| *choice)
        .ok_or_else(|| wrong(option, value, &choices.iter().map(|(word, _)| *word).collect::<Vec<_>>().join(", ")))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(line: &str) -> Result<(Command, Options), String> {
        parse(line.split_whitespace().map(Into::into))
    }

    #[test]
    fn reads_the_commands_of_the_help() {
        let (command, options) = read("measure foot.stl --side left --unit cm --state half --json").unwrap();
        assert_eq!(command, Command::Measure { scan: "foot.stl".into() });
        assert_eq!((options.side, options.unit), (Some(Side::Left), Some(LengthUnit::Centimetre)));
        assert_eq!((options.state, options.json), (Some(WeightBearing::Half), true));
        let (command, options) = read("make a.solewright --out dir --only solid,sheet").unwrap();
        assert_eq!(command, Command::Make { case: "a.solewright".into(), out: "dir".into() });
        assert_eq!(options.only, ["solid", "sheet"]);
    }

    #[test]
    fn says_what_would_be_right() {
        assert!(read("measure").unwrap_err().contains("one scan file"));
        assert!(read("measure a b").unwrap_err().contains("2 given"));
        assert!(read("draft a.stl").unwrap_err().contains("--out"));
        assert!(read("measure a --side up").unwrap_err().contains("left, right"));
        assert!(read("knit a").unwrap_err().contains("knit"));
        assert!(read("measure a --mass-kg heavy").unwrap_err().contains("kilograms"));
    }
}
