//! `cargo xtask test`: everything that has to hold before a change lands, cheapest first.

use std::fmt::Write;
use std::path::PathBuf;
use std::time::Instant;

use anyhow::{Context, Result, bail};
use xtask::places;

use crate::run::{cargo, command, run, succeeds};
use crate::site::{self, Profile};
use crate::wasm::Toolchain;
use crate::{browser, deps, python};

struct Step {
    name: &'static str,
    about: &'static str,
    run: fn(Profile) -> Result<()>,
}

const STEPS: [Step; 9] = [
    Step { name: "fmt", about: "every file is formatted", run: formatted },
    Step { name: "deps", about: "crates depend in order, the core on no browser", run: |_| deps::check() },
    Step { name: "lint", about: "no lint warns in native code", run: linted },
    Step { name: "docs", about: "the documentation builds without a warning", run: documented },
    Step { name: "unit", about: "tests of the native crates and of the tools", run: unit_tests },
    Step { name: "wasm", about: "no lint warns in the page's code", run: wasm_linted },
    Step { name: "outside", about: "the command line against other libraries and published tables", run: outside },
    Step { name: "site", about: "the page builds and keeps its download budget", run: site_built },
    Step { name: "journeys", about: "the page in a real browser", run: journeys },
];

/// The steps as the help text lists them.
pub(crate) fn step_list() -> String {
    STEPS.iter().fold(String::new(), |mut list, step| {
        let _ = writeln!(list, "           {:<10} {}", step.name, step.about);
        list
    })
}

/// Runs all steps, or those that `only` names, in their order, up to the first that fails.
pub(crate) fn test(only: &[String], profile: Profile) -> Result<()> {
    let steps = chosen(only)?;
    let mut passed = Vec::new();
    for step in steps {
        println!("\n━━ {}: {}", step.name, step.about);
        let start = Instant::now();
        (step.run)(profile).with_context(|| {
            let before = if passed.is_empty() { String::new() } else { format!(" (passed: {})", passed.join(", ")) };
            format!("step `{}` failed{before}; again with: cargo xtask test --only {}", step.name, step.name)
        })?;
        passed.push(format!("{} {:.0} s", step.name, start.elapsed().as_secs_f64()));
    }
    println!("\nall steps passed: {}", passed.join(", "));
    Ok(())
}

fn chosen(only: &[String]) -> Result<Vec<&'static Step>> {
    for name in only {
        if !STEPS.iter().any(|step| step.name == name) {
            bail!("there is no step `{name}`; the steps are\n{}", step_list());
        }
    }
    let is_named = |name: &str| only.iter().any(|other| other == name);
    // The journeys walk through the page that was built last, so it has to be today's.
    let is_chosen =
        |step: &&Step| only.is_empty() || is_named(step.name) || (step.name == "site" && is_named("journeys"));
    Ok(STEPS.iter().filter(is_chosen).collect())
}

fn formatted(_: Profile) -> Result<()> {
    ensure_component("rustfmt", "fmt")?;
    run(&mut cargo(["fmt", "--all", "--check"])).context("`cargo fmt --all` mends it")
}

fn linted(_: Profile) -> Result<()> {
    ensure_component("clippy", "clippy")?;
    run(&mut cargo(["clippy", "--all-targets", "--", "--deny", "warnings"]))?;
    let tools = ["--package", "xtask", "--package", "solewright-journeys"];
    run(cargo(["clippy", "--all-targets"]).args(tools).args(["--", "--deny", "warnings"]))
}

fn documented(_: Profile) -> Result<()> {
    run(cargo(["doc", "--no-deps"]).env("RUSTDOCFLAGS", "--deny warnings"))
}

fn unit_tests(_: Profile) -> Result<()> {
    run(&mut cargo(["test"]))?;
    run(&mut cargo(["test", "--package", "xtask"]))
}

fn wasm_linted(_: Profile) -> Result<()> {
    let page = ["--package", "solewright-web", "--package", "solewright-workshop"];
    match Toolchain::ensure()? {
        Toolchain::Usual => run(Toolchain::Usual.cargo("clippy", &page).args(["--", "--deny", "warnings"])),
        // Debian's clippy cannot build the standard library; the page is still type-checked.
        Toolchain::Debian => run(&mut Toolchain::Debian.cargo("check", &page)),
    }
}

/// Example programs that outside checks call: package, example, and the variable that says where it is.
const EXAMPLES: [(&str, &str, &str); 3] = [
    ("solewright-last", "trace", "TRACE_BIN"),
    ("solewright-engine", "designs", "DESIGNS_BIN"),
    ("solewright-contact", "contact", "CONTACT_BIN"),
];

fn outside(_: Profile) -> Result<()> {
    let bench = command_line()?;
    let mut pytest = command(python::ensure()?, ["-m", "pytest", "tests/outside"]);
    pytest.env("SOLEWRIGHT_BIN", bench).env("PYTHONDONTWRITEBYTECODE", "1");
    for (package, example, variable) in EXAMPLES {
        run(&mut cargo(["build", "--release", "--package", package, "--example", example]))?;
        pytest.env(variable, program(&format!("examples/{example}")));
    }
    run(&mut pytest)
}

fn site_built(profile: Profile) -> Result<()> {
    site::weigh(&site::build(profile)?, profile)
}

fn journeys(_: Profile) -> Result<()> {
    // One browser at a time: two drawing in software share the processor and run into each other's waits.
    run(&mut browser::journeys("test", &["--no-fail-fast", "--", "--test-threads", "1"])?)
}

/// Builds the headless bench as people get it and returns its path.
pub(crate) fn command_line() -> Result<PathBuf> {
    run(&mut cargo(["build", "--release", "--package", "solewright"]))?;
    Ok(program("solewright"))
}

/// A program built for release.
fn program(name: &str) -> PathBuf {
    places::target().join("release").join(format!("{name}{}", std::env::consts::EXE_SUFFIX))
}

/// Brings a part of the Rust toolchain that `cargo SUBCOMMAND` needs.
fn ensure_component(component: &str, subcommand: &str) -> Result<()> {
    if succeeds(&mut cargo([subcommand, "--version"])) {
        return Ok(());
    }
    run(&mut command("rustup", ["component", "add", component]))
        .with_context(|| format!("`cargo {subcommand}` needs the Rust component {component}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(only: &[&str]) -> Vec<&'static str> {
        let only: Vec<String> = only.iter().map(|name| (*name).to_owned()).collect();
        chosen(&only).unwrap().iter().map(|step| step.name).collect()
    }

    #[test]
    fn without_a_choice_every_step_runs() {
        assert_eq!(names(&[]).len(), STEPS.len());
    }

    #[test]
    fn chosen_steps_run_in_their_own_order_and_journeys_bring_the_site() {
        assert_eq!(names(&["unit", "fmt"]), ["fmt", "unit"]);
        assert_eq!(names(&["journeys"]), ["site", "journeys"]);
    }

    #[test]
    fn an_unknown_step_is_refused_with_the_list() {
        let error = chosen(&["lnit".to_owned()]).err().unwrap().to_string();
        assert!(error.contains("no step `lnit`") && error.contains("journeys"), "{error}");
    }
}
