//! Where the project keeps things, all as absolute paths.

use std::path::{Path, PathBuf};

/// The repository's root: the folder of the workspace's `Cargo.toml`.
#[must_use]
pub fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.ancestors().nth(2).unwrap_or(here).to_path_buf()
}

/// Everything that is built or fetched, and can be deleted: `target/`.
#[must_use]
pub fn target() -> PathBuf {
    root().join("target")
}

/// The finished page as it is served: `target/site/`.
#[must_use]
pub fn site() -> PathBuf {
    target().join("site")
}
