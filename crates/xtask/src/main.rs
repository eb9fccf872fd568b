//! Everything a person types to build, open and test the project: `cargo xtask COMMAND`.
#![allow(clippy::print_stdout, reason = "a terminal program")]

mod deps;
mod open;
mod run;
mod site;
mod system;
mod wasm;

use std::process::ExitCode;

use anyhow::{Result, bail};
use lexopt::prelude::*;

use site::Profile;

const HELP: &str = "\
cargo xtask COMMAND

  open   build the page, serve it on this machine and open it in a browser
           --dev          build quickly instead of small and fast
           --port N       serve at this port
           --no-browser   only print the address
  site   build the page into target/site
           --dev          build quickly instead of small and fast
  deps   check that the crates depend on each other in order and the core on no browser
  help   this text
";

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
    let Some(first) = arguments.next()? else {
        print!("{HELP}");
        return Ok(());
    };
    match first {
        Value(name) if name == "open" => {
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
        Value(name) if name == "site" => {
            let mut profile = Profile::Page;
            while let Some(argument) = arguments.next()? {
                match argument {
                    Long("dev") => profile = Profile::PageDev,
                    other => return Err(other.unexpected().into()),
                }
            }
            let folder = site::build(profile)?;
            site::weigh(&folder, profile)
        }
        Value(name) if name == "deps" => {
            no_more(&mut arguments)?;
            deps::check()
        }
        Value(name) if name == "help" => {
            print!("{HELP}");
            Ok(())
        }
        Long("help") | Short('h') => {
            print!("{HELP}");
            Ok(())
        }
        Value(name) => bail!("there is no command `{}`; `cargo xtask help` lists them", name.to_string_lossy()),
        other => Err(other.unexpected().into()),
    }
}

fn no_more(arguments: &mut lexopt::Parser) -> Result<()> {
    match arguments.next()? {
        Some(argument) => Err(argument.unexpected().into()),
        None => Ok(()),
    }
}
