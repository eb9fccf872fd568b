//! Running other programs: each call is printed, waited for, and an exit other than 0 is an error that names it.

use std::ffi::OsStr;
use std::process::{Command, Stdio};

use anyhow::{Context, Result, bail};
use xtask::places;

/// What `cargo xtask` leaves in the environment of this process and an inner cargo must not inherit: which compiler the
/// outer cargo was, and flags that were meant for the native build.
const NOT_FOR_INNER_CARGO: [&str; 6] =
    ["CARGO", "RUSTC", "RUSTDOC", "RUSTUP_TOOLCHAIN", "RUSTFLAGS", "CARGO_ENCODED_RUSTFLAGS"];

/// `program` with `arguments`, to be run in the repository's root.
pub(crate) fn command<A: AsRef<OsStr>>(program: impl AsRef<OsStr>, arguments: impl IntoIterator<Item = A>) -> Command {
    let mut command = Command::new(program);
    command.args(arguments).current_dir(places::root());
    for name in NOT_FOR_INNER_CARGO {
        command.env_remove(name);
    }
    command
}

/// The cargo that a person would get by typing `cargo` in the repository.
pub(crate) fn cargo<A: AsRef<OsStr>>(arguments: impl IntoIterator<Item = A>) -> Command {
    command("cargo", arguments)
}

/// Runs `command` with its output on the terminal.
pub(crate) fn run(command: &mut Command) -> Result<()> {
    let line = shown(command);
    println!("$ {line}");
    let status = command.stdin(Stdio::null()).status().with_context(|| format!("cannot start `{line}`"))?;
    if !status.success() {
        bail!("`{line}` failed ({status})");
    }
    Ok(())
}

/// Runs `command` and returns what it printed.
pub(crate) fn output_of(command: &mut Command) -> Result<String> {
    let line = shown(command);
    let output = command.stdin(Stdio::null()).output().with_context(|| format!("cannot start `{line}`"))?;
    if !output.status.success() {
        bail!("`{line}` failed ({}):\n{}", output.status, String::from_utf8_lossy(&output.stderr).trim());
    }
    String::from_utf8(output.stdout).with_context(|| format!("`{line}` printed something that is not UTF-8"))
}

/// Whether `command` starts and exits with 0; its output is thrown away.
pub(crate) fn succeeds(command: &mut Command) -> bool {
    command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null()).status().is_ok_and(|s| s.success())
}

/// The command as one would type it, near enough to read.
fn shown(command: &Command) -> String {
    let words = std::iter::once(command.get_program()).chain(command.get_args());
    words.map(OsStr::to_string_lossy).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_failure_names_the_command_and_what_it_said() {
        let error = output_of(&mut cargo(["no-such-subcommand"])).unwrap_err().to_string();
        assert!(error.contains("`cargo no-such-subcommand` failed"), "{error}");
        assert!(error.contains("no such command"), "{error}");
        let error = run(&mut command("no-such-program", ["--now"])).unwrap_err().to_string();
        assert_eq!(error, "cannot start `no-such-program --now`");
    }

    #[test]
    fn inner_cargo_does_not_see_the_outer_one() {
        let command = cargo(["build"]);
        let removed: Vec<_> = command.get_envs().filter(|(_, value)| value.is_none()).map(|(name, _)| name).collect();
        for name in NOT_FOR_INNER_CARGO {
            assert!(removed.contains(&OsStr::new(name)), "{name}");
        }
    }
}
