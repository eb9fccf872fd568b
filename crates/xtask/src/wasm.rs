//! A compiler for wasm32: rustup's target where rustup can fetch it, Debian's own toolchain where not.

use std::path::Path;
use std::process::Command;

use anyhow::{Context, Result, bail};

use crate::run::{cargo, command, output_of, run, succeeds};
use crate::system::{apt_install, find_program};

/// The target of everything that runs in the page.
pub(crate) const TARGET: &str = "wasm32-unknown-unknown";

/// Wasm and native builds have a target folder each, so that they do not rebuild each other's work.
pub(crate) const TARGET_DIR: &str = "target/wasm";

const DEBIAN_PACKAGES: [&str; 4] = ["rustc-web", "cargo-web", "rust-web-src", "lld-22"];

/// The linker of the last of them; rustup's compiler brings its own.
const DEBIAN_LINKER: &str = "/usr/bin/wasm-ld-22";

/// Which compiler builds the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Toolchain {
    /// The one that also builds the native crates; it has the standard library for wasm32.
    Usual,
    /// Debian's, which builds the standard library for wasm32 from its source.
    Debian,
}

impl Toolchain {
    /// Finds a compiler for wasm32, installing one where that needs nobody's password.
    ///
    /// # Errors
    /// Says the one command to type where a person has to.
    pub(crate) fn ensure() -> Result<Self> {
        if usual_has_target() {
            return Ok(Self::Usual);
        }
        if find_program("rustup").is_some() {
            match run(&mut command("rustup", ["target", "add", TARGET])) {
                Ok(()) if usual_has_target() => return Ok(Self::Usual),
                Ok(()) => println!("rustup added {TARGET}, but not to the compiler in use"),
                Err(error) => println!("{error:#}"),
            }
        }
        if !debian_is_there() {
            let why = format!("The page needs a Rust compiler for {TARGET} (`rustup target add {TARGET}` brings it)");
            apt_install(&DEBIAN_PACKAGES, &why)?;
            if !debian_is_there() {
                bail!("{why}; Debian's packages {} did not bring a working one", DEBIAN_PACKAGES.join(", "));
            }
        }
        println!("building the page with Debian's compiler and its standard library from source");
        Ok(Self::Debian)
    }

    /// `cargo SUBCOMMAND …` for the page's target and target folder.
    pub(crate) fn cargo(self, subcommand: &str, arguments: &[&str]) -> Command {
        let common = [subcommand, "--target", TARGET, "--target-dir", TARGET_DIR];
        match self {
            Self::Usual => cargo(common.iter().chain(arguments)),
            Self::Debian => {
                let mut cargo = command("/usr/bin/cargo", common.iter().chain(arguments));
                cargo.arg("-Zbuild-std=std,panic_abort");
                // Debian builds stable; building the standard library is a switch of the nightly one.
                cargo.env("RUSTC", "/usr/bin/rustc").env("RUSTC_BOOTSTRAP", "1");
                cargo.env("CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_LINKER", DEBIAN_LINKER);
                cargo
            }
        }
    }
}

fn usual_has_target() -> bool {
    let folder = output_of(&mut command("rustc", ["--print", "target-libdir", "--target", TARGET]));
    folder.is_ok_and(|folder| has_core(Path::new(folder.trim())))
}

/// A target's folder can outlive its content, so look for the one library that every crate needs.
fn has_core(folder: &Path) -> bool {
    let Ok(entries) = std::fs::read_dir(folder) else { return false };
    entries.flatten().any(|entry| entry.file_name().to_string_lossy().starts_with("libcore-"))
}

fn debian_is_there() -> bool {
    let source = || -> Result<bool> {
        let sysroot = output_of(&mut command("/usr/bin/rustc", ["--print", "sysroot"])).context("no Debian rustc")?;
        Ok(Path::new(sysroot.trim()).join("lib/rustlib/src/rust/library/Cargo.lock").exists())
    };
    Path::new(DEBIAN_LINKER).exists()
        && source().unwrap_or(false)
        && succeeds(&mut command("/usr/bin/cargo", ["--version"]))
}
