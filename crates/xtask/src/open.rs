//! Builds the page, serves it on this machine and opens it.

use std::io;

use anyhow::{Context, Result};
use xtask::serve::Server;

use crate::site::{self, Profile};

/// The browser keeps saved cases by address, so the page should come back at the same one.
const USUAL_PORT: u16 = 8417;

/// What a person asked for on the command line.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Options {
    pub(crate) profile: Profile,
    /// A port that was asked for by number; none means the usual one, or another if that is taken.
    pub(crate) port: Option<u16>,
    pub(crate) browser: bool,
}

/// Serves the page until the process is ended.
pub(crate) fn open(options: Options) -> Result<()> {
    let folder = site::build(options.profile)?;
    site::weigh(&folder, Profile::PageDev)?;
    let server = match options.port {
        Some(port) => Server::start(&folder, port).with_context(|| format!("cannot serve at port {port}"))?,
        None => match Server::start(&folder, USUAL_PORT) {
            Err(error) if error.kind() == io::ErrorKind::AddrInUse => {
                println!("port {USUAL_PORT} is taken: cases saved there are not seen at the address below");
                Server::start(&folder, 0)?
            }
            usual => usual?,
        },
    };
    let url = server.url();
    println!("\nSolewright is at {url}   (Ctrl+C ends it)\n");
    if options.browser
        && has_display()
        && let Err(error) = open::that_detached(&url)
    {
        println!("no browser could be started ({error}): open the address by hand");
    }
    server.wait();
    Ok(())
}

/// Whether there is a screen to open a browser on. Only Unix systems other than macOS can tell, and may have none.
fn has_display() -> bool {
    let has = |name| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    !cfg!(all(unix, not(target_os = "macos"))) || has("DISPLAY") || has("WAYLAND_DISPLAY")
}
