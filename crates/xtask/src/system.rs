//! What has to come from the system's packages, and how it gets there.

use std::path::PathBuf;

use anyhow::{Context, Result, bail};

use crate::run::{command, output_of, run, succeeds};

/// Installs Debian packages: as root directly, otherwise through a `sudo` that asks for no password.
///
/// # Errors
/// Where neither is possible, the error is the one command for the person to type.
pub(crate) fn apt_install(packages: &[&str], why: &str) -> Result<()> {
    let by_hand = format!("sudo apt-get install --yes {}", packages.join(" "));
    if find_program("apt-get").is_none() {
        bail!("{why}. Install what this system calls {}, then try again", packages.join(", "));
    }
    let apt_get = if is_root() {
        vec!["apt-get"]
    } else if succeeds(&mut command("sudo", ["-n", "true"])) {
        vec!["sudo", "-n", "--preserve-env=DEBIAN_FRONTEND", "apt-get"]
    } else {
        bail!("{why}. Type this, then try again:\n\n    {by_hand}\n");
    };
    println!("{why}: installing {}", packages.join(", "));
    let apt = |arguments: &[&str]| {
        let mut command = command(apt_get[0], apt_get[1..].iter().chain(arguments));
        run(command.env("DEBIAN_FRONTEND", "noninteractive"))
    };
    // A list that cannot be refreshed may still be good enough to install from.
    if let Err(error) = apt(&["update", "--quiet"]) {
        println!("{error:#}; going on with the package list as it is");
    }
    let mut install = vec!["install", "--yes", "--quiet", "--no-install-recommends"];
    install.extend(packages);
    apt(&install).with_context(|| format!("{why}. By hand: {by_hand}"))
}

/// Where `name` lies on the search path.
pub(crate) fn find_program(name: &str) -> Option<PathBuf> {
    let paths = std::env::var_os("PATH")?;
    let file = format!("{name}{}", std::env::consts::EXE_SUFFIX);
    std::env::split_paths(&paths).map(|folder| folder.join(&file)).find(|path| path.is_file())
}

fn is_root() -> bool {
    output_of(&mut command("id", ["-u"])).is_ok_and(|id| id.trim() == "0")
}
