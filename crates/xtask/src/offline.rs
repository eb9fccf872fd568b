//! Tells the page's service worker what to keep and under which version.

use std::fs;
use std::path::Path;

use anyhow::{Context, Result, bail};
use flate2::Crc;

/// The lines of `sw.js` that the build fills in, as they stand in the source.
const VERSION_LINE: &str = "const VERSION = 'not built';";
const FILES_LINE: &str = "const FILES = [];";

/// Writes version and file list into `sw.js` and the version into `version.txt`. `files` are the site's files, relative
/// with forward slashes, in order; the same files with the same content give the same version.
///
/// # Errors
/// When a file cannot be read or written, or `sw.js` does not have its two lines.
pub(crate) fn stamp(site: &Path, files: &[String]) -> Result<()> {
    let worker = site.join("sw.js");
    let text = fs::read_to_string(&worker).with_context(|| format!("cannot read {}", worker.display()))?;
    if !text.contains(VERSION_LINE) || !text.contains(FILES_LINE) {
        bail!("www/sw.js has no line `{VERSION_LINE}` or `{FILES_LINE}` for the build to fill in");
    }
    let mut sum = Crc::new();
    for file in files {
        sum.update(file.as_bytes());
        sum.update(&fs::read(site.join(file)).with_context(|| format!("cannot read {file}"))?);
    }
    let version = format!("{:08x}{:x}", sum.sum(), sum.amount());
    let kept: Vec<String> = files
        .iter()
        .filter(|file| file.as_str() != "sw.js")
        // The page is asked for by its folder.
        .map(|file| if file == "index.html" { "'./'".to_owned() } else { format!("'./{file}'") })
        .collect();
    let text = text
        .replace(VERSION_LINE, &format!("const VERSION = '{version}';"))
        .replace(FILES_LINE, &format!("const FILES = [{}];", kept.join(", ")));
    fs::write(&worker, text).with_context(|| format!("cannot write {}", worker.display()))?;
    fs::write(site.join("version.txt"), version).context("cannot write version.txt")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn site(page: &str) -> tempfile::TempDir {
        let site = tempfile::tempdir().unwrap();
        fs::write(site.path().join("index.html"), page).unwrap();
        fs::write(site.path().join("sw.js"), format!("{VERSION_LINE}\n{FILES_LINE}\n")).unwrap();
        site
    }

    fn stamped(page: &str) -> (String, String) {
        let site = site(page);
        stamp(site.path(), &["index.html".to_owned(), "sw.js".to_owned()]).unwrap();
        let read = |name| fs::read_to_string(site.path().join(name)).unwrap();
        (read("sw.js"), read("version.txt"))
    }

    #[test]
    fn the_version_follows_the_content() {
        let (worker, version) = stamped("<p>one");
        assert_eq!(worker, format!("const VERSION = '{version}';\nconst FILES = ['./'];\n"));
        assert_eq!(stamped("<p>one").1, version);
        assert_ne!(stamped("<p>two").1, version);
    }

    #[test]
    fn a_worker_that_cannot_be_filled_in_is_an_error() {
        let site = site("");
        fs::write(site.path().join("sw.js"), "const VERSION = 1;").unwrap();
        assert!(stamp(site.path(), &[]).unwrap_err().to_string().contains("fill in"));
    }
}
