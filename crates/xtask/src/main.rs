//! Everything a person types to build, open and test the project: `cargo xtask COMMAND`.
#![allow(clippy::print_stdout, reason = "a terminal program")]

mod bench;
mod browser;
mod check;
mod deps;
mod fold;
mod functions;
mod names;
mod offline;
mod open;
mod order;
mod python;
mod run;
mod site;
mod system;
mod wasm;

use std::process::ExitCode;

use anyhow::{Result, bail};
use lexopt::prelude::*;

use site::Profile;

fn help() -> String {
    format!(
        "\
cargo xtask COMMAND

  open   build the page, serve it on this machine and open it in a browser
           --dev          build quickly instead of small and fast
           --port N       serve at this port
           --no-browser   only print the address
  site   build the page into target/site
           --dev          build quickly instead of small and fast
  test   everything that has to hold, step by step, up to the first failure
           --only A,B     just these steps
           --dev          build the page quickly instead of small and fast
         the steps:
{}  deps   check that the crates depend on each other in order and the core on no browser
  accuracy
         takes in random phantom scans and holds landmarks and measures against the truth
           --count N      so many scans (500)
           --first S      from this seed on (0)
  bench  times on this machine: natively, in the page, and another library's part
  pictures
         take the pictures in docs/pictures from the page
           --dev          build the page quickly instead of small and fast
  scans  make the sample scans again
  help   this text
",
        check::step_list()
    )
}

fn main() -> ExitCode {
    match command() {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("\ncargo xtask: {error:#}");
            ExitCode::FAILURE
        }
    }
}

fn command() -> Result<()> {
    let mut arguments = lexopt::Parser::from_env();
    let name = match arguments.next()? {
        Some(Value(name)) => name.string()?,
        Some(Long("help") | Short('h')) | None => "help".to_owned(),
        Some(other) => return Err(other.unexpected().into()),
    };
    match name.as_str() {
        "open" => {
            let mut options = open::Options { profile: Profile::Page, port: None, browser: true };
            while let Some(argument) = arguments.next()? {
                match argument {
                    Long("dev") => options.profile = Profile::PageDev,
                    Long("port") => options.port = Some(arguments.value()?.parse()?),
                    Long("no-browser") => options.browser = false,
                    other => return Err(other.unexpected().into()),
                }
            }
            open::open(options)
        }
        "site" => {
            let profile = only_profile(&mut arguments)?;
            site::weigh(&site::build(profile)?, profile)
        }
        "test" => {
            let (mut only, mut profile) = (Vec::new(), Profile::Page);
            while let Some(argument) = arguments.next()? {
                match argument {
                    Long("dev") => profile = Profile::PageDev,
                    Long("only") => only.extend(arguments.value()?.string()?.split(',').map(str::to_owned)),
                    other => return Err(other.unexpected().into()),
                }
            }
            check::test(&only, profile)
        }
        "deps" => {
            no_more(&mut arguments)?;
            deps::check()
        }
        "accuracy" => {
            let (mut count, mut first) = (500_u64, 0_u64);
            while let Some(argument) = arguments.next()? {
                match argument {
                    Long("count") => count = arguments.value()?.parse()?,
                    Long("first") => first = arguments.value()?.parse()?,
                    other => return Err(other.unexpected().into()),
                }
            }
            let example = ["--quiet", "--release", "--package", "solewright-foot", "--example", "accuracy", "--"];
            run::run(run::cargo(["run"]).args(example).args([count.to_string(), first.to_string()]))
        }
        "bench" => {
            no_more(&mut arguments)?;
            bench::bench()
        }
        "pictures" => {
            site::build(only_profile(&mut arguments)?)?;
            run::run(&mut browser::journeys("run", &["--bin", "pictures", "--", "docs/pictures"])?)
        }
        "scans" => {
            no_more(&mut arguments)?;
            let example = ["--package", "solewright-foot", "--example", "sample_scans"];
            run::run(run::cargo(["run", "--release"]).args(example).args(["--", "sample-scans"]))
        }
        "help" => {
            print!("{}", help());
            Ok(())
        }
        other => bail!("there is no command `{other}`; `cargo xtask help` lists them"),
    }
}

fn only_profile(arguments: &mut lexopt::Parser) -> Result<Profile> {
    let mut profile = Profile::Page;
    while let Some(argument) = arguments.next()? {
        match argument {
            Long("dev") => profile = Profile::PageDev,
            other => return Err(other.unexpected().into()),
        }
    }
    Ok(profile)
}

fn no_more(arguments: &mut lexopt::Parser) -> Result<()> {
    match arguments.next()? {
        Some(argument) => Err(argument.unexpected().into()),
        None => Ok(()),
    }
}
