//! The Python environment of the outside checks, in `target/venv`.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use xtask::places;

use crate::run::{command, run, succeeds};
use crate::system::{apt_install, find_program};

/// Returns the environment's interpreter, after bringing its packages to what `tests/outside` asks for.
///
/// Asks the network for nothing when the requirements are those of the last time.
pub(crate) fn ensure() -> Result<PathBuf> {
    let checks = places::root().join("tests/outside");
    let (libraries, data) = (checks.join("requirements.txt"), checks.join("requirements-data.txt"));
    let read = |path: &Path| fs::read_to_string(path).with_context(|| format!("cannot read {}", path.display()));
    let wanted = read(&libraries)? + &read(&data)?;

    let folder = places::target().join("venv");
    let python = folder.join(if cfg!(windows) { "Scripts/python.exe" } else { "bin/python" });
    let installed = folder.join("installed.txt");
    let works = succeeds(&mut command(&python, ["--version"]));
    if works && fs::read_to_string(&installed).is_ok_and(|installed| installed == wanted) {
        return Ok(python);
    }

    create(&folder)?;
    let pip = |arguments: &[&str], requirements: &Path| {
        let mut pip = command(&python, ["-m", "pip", "install", "--quiet", "--disable-pip-version-check"]);
        run(pip.args(arguments).arg("--requirement").arg(requirements))
    };
    pip(&[], &libraries)?;
    pip(&["--no-deps"], &data)?;
    fs::write(&installed, wanted).with_context(|| format!("cannot write {}", installed.display()))?;
    Ok(python)
}

/// Makes an empty environment in place of whatever is there.
fn create(folder: &Path) -> Result<()> {
    let venv = |python: &str| command(python, ["-m", "venv", "--clear"].map(Path::new).into_iter().chain([folder]));
    let python = if find_program("python3").is_some() || !cfg!(windows) { "python3" } else { "python" };
    println!("making a Python environment in {}", folder.display());
    if succeeds(&mut venv(python)) {
        return Ok(());
    }
    // Debian ships Python without the part that makes environments, or no Python at all.
    apt_install(&["python3", "python3-venv"], "The outside checks need Python with its venv module")?;
    run(&mut venv(if Path::new("/usr/bin/python3").exists() { "/usr/bin/python3" } else { python }))
}
