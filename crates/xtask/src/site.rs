//! Builds the page: its two programs, their JavaScript glue and the static shell together in `target/site/`.
//!
//! The first program is downloaded before anything is seen; the second, which makes files and traces drawings, when it is
//! first asked for, or by the service worker behind the first picture.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};
use flate2::Crc;
use wasm_bindgen_cli_support::Bindgen;
use xtask::places;

use crate::fold::fold;
use crate::names::shortened;
use crate::offline;
use crate::order::alike_together;
use crate::run::run;
use crate::wasm::{TARGET, TARGET_DIR, Toolchain};

/// What a first visit should download at most before it is of use, compressed, in kB of 1000 bytes; a slow clinic line takes about a second.
const DOWNLOAD_BUDGET_KB: f64 = 800.0;

/// A page over its budget is told of; one over this is refused, so that it does not grow unseen.
const DOWNLOAD_LIMIT_KB: f64 = 1000.0;

/// How the page is built.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Profile {
    /// As it is served to people: small and fast, slow to build.
    Page,
    /// While working on it: quick to build.
    PageDev,
}

impl Profile {
    fn name(self) -> &'static str {
        match self {
            Self::Page => "page",
            Self::PageDev => "page-dev",
        }
    }
}

/// Bytes of one file, as it is and as it travels.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
struct Size {
    raw: usize,
    travels: usize,
}

/// Ending of the compressed twin that the server sends to browsers that take it (brotli, RFC 7932).
const COMPRESSED: &str = "br";

/// Builds the page and returns the folder to serve.
///
/// # Errors
/// When no wasm compiler can be had, the crate does not build, or a file cannot be written.
pub(crate) fn build(profile: Profile) -> Result<PathBuf> {
    compile(profile)?;
    // Put together beside the page that may be open or under test just now, and exchanged when whole; in a folder of
    // this process, since two builds may run at once.
    let beside = |word: &str| places::target().join(format!("site-{word}-{}", std::process::id()));
    let (next, last) = (beside("next"), beside("last"));
    remove_folder(&next)?;
    copy_folder(&places::root().join("www"), &next)?;
    copy_scans(&places::root().join("sample-scans"), &next.join("sample-scans"))?;
    for (package, name) in PROGRAMS {
        bind(&compiled(package, profile), name, &next, profile)?;
        if profile == Profile::Page {
            slim(&next, name)?;
        }
    }
    name_by_content(&next, WORKSHOP)?;
    offline::stamp(&next, &kept(&next)?)?;
    if profile == Profile::Page {
        compress(&next)?;
    }

    let site = places::site();
    remove_folder(&last)?;
    if site.exists() {
        fs::rename(&site, &last).with_context(|| format!("cannot replace {}", site.display()))?;
    }
    fs::rename(&next, &site).with_context(|| format!("cannot write {}", site.display()))?;
    remove_folder(&last)?;
    println!("page in {}", site.display());
    Ok(site)
}

/// Prints what a first visit downloads before it is of use, and what it takes in behind the first picture.
///
/// # Errors
/// When the page as served is over its limit. A page built for working on it is only measured.
pub(crate) fn weigh(site: &Path, profile: Profile) -> Result<()> {
    let mut files = Vec::new();
    for name in kept(site)? {
        let size = size_of(&site.join(&name))?;
        files.push((name, size));
    }
    files.sort_by_key(|(_, size)| std::cmp::Reverse(size.travels));
    for (name, size) in files.iter().filter(|(name, _)| name.ends_with(".wasm")) {
        let when = if is_later(name) { "when files are made or a drawing traced" } else { "at once" };
        println!("{name}, {when}: {:.0} kB, {:.0} kB compressed", kb(size.raw), kb(size.travels));
    }
    let (later, files): (Vec<_>, Vec<_>) = files.into_iter().partition(|(name, _)| is_later(name));
    let sum = |files: &[(String, Size)]| kb(files.iter().map(|(_, size)| size.travels).sum());
    let (total, later) = (sum(&files), sum(&later));
    println!("a first visit downloads {total:.0} kB compressed (budget {DOWNLOAD_BUDGET_KB:.0} kB)");
    println!("and {later:.0} kB more behind the first picture, to do without a network");
    if profile == Profile::Page && total > DOWNLOAD_BUDGET_KB {
        println!("OVER ITS BUDGET by {:.0} kB (refused from {DOWNLOAD_LIMIT_KB:.0} kB)", total - DOWNLOAD_BUDGET_KB);
    }
    if profile == Profile::Page && total > DOWNLOAD_LIMIT_KB {
        let largest: Vec<_> =
            files.iter().take(5).map(|(name, size)| format!("{name} {:.0}", kb(size.travels))).collect();
        bail!("the page is over its download limit; largest files in kB: {}", largest.join(", "));
    }
    Ok(())
}

/// The page's programs: package and name in the page.
const PROGRAMS: [(&str, &str); 2] = [("solewright-web", "solewright"), ("solewright-workshop", WORKSHOP)];

/// The program that is not downloaded at once.
const WORKSHOP: &str = "workshop";

fn compile(profile: Profile) -> Result<()> {
    let packages = PROGRAMS.iter().flat_map(|(package, _)| ["--package", package]);
    let arguments: Vec<&str> = packages.chain(["--lib", "--profile", profile.name()]).collect();
    run(&mut Toolchain::ensure()?.cargo("build", &arguments))
}

/// Where [`compile`] leaves the program of a package.
fn compiled(package: &str, profile: Profile) -> PathBuf {
    let file = format!("{}.wasm", package.replace('-', "_"));
    places::root().join(TARGET_DIR).join(TARGET).join(profile.name()).join(file)
}

/// Gives a program's wasm a name of its content: a page that is open while the site is renewed must not fetch another
/// build's second program.
fn name_by_content(site: &Path, program: &str) -> Result<()> {
    let old = format!("{program}_bg.wasm");
    let mut sum = Crc::new();
    sum.update(&fs::read(site.join(&old)).with_context(|| format!("cannot read {old}"))?);
    let new = format!("{program}-{:08x}.wasm", sum.sum());
    let glue = site.join(format!("{program}.js"));
    let text = fs::read_to_string(&glue).with_context(|| format!("cannot read {}", glue.display()))?;
    if !text.contains(&old) {
        bail!("{} does not name {old}: wasm-bindgen writes another glue than expected", glue.display());
    }
    fs::write(&glue, text.replace(&old, &new)).with_context(|| format!("cannot write {}", glue.display()))?;
    fs::rename(site.join(&old), site.join(&new)).with_context(|| format!("cannot rename {old}"))
}

/// Whether a file is needed only when files are made or a drawing is traced.
fn is_later(name: &str) -> bool {
    name.starts_with(WORKSHOP) && name.ends_with(".wasm")
}

/// Names of the files that are kept for use without a network, relative to the site, with forward slashes.
fn kept(site: &Path) -> Result<Vec<String>> {
    let name = |path: &PathBuf| path.strip_prefix(site).unwrap_or(path).to_string_lossy().replace('\\', "/");
    // Demo scans are fetched only when asked for.
    Ok(files_below(site)?
        .iter()
        .map(name)
        .filter(|name| !name.starts_with("sample-scans") && !name.ends_with(COMPRESSED))
        .collect())
}

/// Writes `NAME.js` and `NAME_bg.wasm` beside the page.
fn bind(wasm: &Path, name: &str, site: &Path, profile: Profile) -> Result<()> {
    let for_people = profile == Profile::Page;
    let mut bindgen = Bindgen::new();
    bindgen.input_path(wasm).out_name(name).typescript(false);
    // The glue finds the wasm beside itself, in the page and in the worker, without being told.
    bindgen.omit_default_module_path(false);
    bindgen.web(true)?.keep_debug(!for_people).remove_producers_section(for_people).remove_name_section(for_people);
    bindgen.generate(site).context(
        "wasm-bindgen could not write the page's glue; if it speaks of a version, bring wasm-bindgen and \
         wasm-bindgen-cli-support in Cargo.toml to the same one",
    )
}

/// Folds equal functions of a program into one, orders those left so that they compress well, and shortens the names
/// between it and its glue.
fn slim(site: &Path, name: &str) -> Result<()> {
    let (wasm, glue) = (site.join(format!("{name}_bg.wasm")), site.join(format!("{name}.js")));
    let before = fs::read(&wasm).with_context(|| format!("cannot read {}", wasm.display()))?;
    let text = fs::read_to_string(&glue).with_context(|| format!("cannot read {}", glue.display()))?;
    let (after, dropped) = fold(&before)?;
    println!("{name}: folded {dropped} functions: {:.0} kB less", kb(before.len().saturating_sub(after.len())));
    let (after, text) = shortened(&alike_together(&after)?, &text)?;
    fs::write(&wasm, after).with_context(|| format!("cannot write {}", wasm.display()))?;
    fs::write(&glue, text).with_context(|| format!("cannot write {}", glue.display()))
}

fn remove_folder(folder: &Path) -> Result<()> {
    if folder.exists() {
        fs::remove_dir_all(folder).with_context(|| format!("cannot clear {}", folder.display()))?;
    }
    Ok(())
}

fn copy_folder(from: &Path, to: &Path) -> Result<()> {
    for path in files_below(from)? {
        let target = to.join(path.strip_prefix(from).unwrap_or(&path));
        if let Some(folder) = target.parent() {
            fs::create_dir_all(folder)?;
        }
        fs::copy(&path, &target).with_context(|| format!("cannot copy {}", path.display()))?;
    }
    Ok(())
}

fn copy_scans(from: &Path, to: &Path) -> Result<()> {
    fs::create_dir_all(to)?;
    for path in files_below(from)? {
        if let (Some("stl"), Some(name)) = (path.extension().and_then(|e| e.to_str()), path.file_name()) {
            fs::copy(&path, to.join(name)).with_context(|| format!("cannot copy {}", path.display()))?;
        }
    }
    Ok(())
}

/// All plain files at any depth, hidden ones left out, sorted by path.
fn files_below(folder: &Path) -> Result<Vec<PathBuf>> {
    let mut files = Vec::new();
    let entries = fs::read_dir(folder).with_context(|| format!("cannot list {}", folder.display()))?;
    for entry in entries {
        let entry = entry?;
        let path = entry.path();
        if entry.file_name().to_string_lossy().starts_with('.') {
            continue;
        }
        if path.is_dir() {
            files.extend(files_below(&path)?);
        } else {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}

/// Puts a compressed twin beside every file that is kept. Slow and small: done once for everybody who visits.
fn compress(site: &Path) -> Result<()> {
    let hard = brotli::enc::BrotliEncoderParams { quality: 11, lgwin: 24, ..Default::default() };
    for name in kept(site)? {
        let path = site.join(&name);
        let bytes = fs::read(&path).with_context(|| format!("cannot read {}", path.display()))?;
        let mut out = Vec::new();
        brotli::BrotliCompress(&mut bytes.as_slice(), &mut out, &hard)?;
        let twin = site.join(format!("{name}.{COMPRESSED}"));
        fs::write(&twin, out).with_context(|| format!("cannot write {}", twin.display()))?;
    }
    Ok(())
}

/// Size of a file, and of its compressed twin where there is one.
fn size_of(path: &Path) -> Result<Size> {
    let length = |path: &Path| -> Result<usize> {
        Ok(usize::try_from(fs::metadata(path).with_context(|| format!("cannot read {}", path.display()))?.len())?)
    };
    let raw = length(path)?;
    let mut twin = path.as_os_str().to_owned();
    twin.push(format!(".{COMPRESSED}"));
    let twin = PathBuf::from(twin);
    Ok(Size { raw, travels: if twin.exists() { length(&twin)? } else { raw } })
}

fn kb(bytes: usize) -> f64 {
    bytes as f64 / 1000.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_over_its_limit_is_refused_and_names_the_largest_file() {
        let site = tempfile::tempdir().unwrap();
        fs::write(site.path().join("index.html"), "<p>small").unwrap();
        weigh(site.path(), Profile::Page).unwrap();

        // Bytes that do not compress: a linear congruential sequence (constants of Numerical Recipes, "ranqd1").
        let mut state = 1_u32;
        let noise: Vec<u8> = (0..1_100_000)
            .map(|_| {
                state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                (state >> 24) as u8
            })
            .collect();
        fs::create_dir(site.path().join("sample-scans")).unwrap();
        fs::write(site.path().join("sample-scans/foot.stl"), &noise).unwrap();
        weigh(site.path(), Profile::Page).unwrap();

        fs::write(site.path().join("large.wasm"), &noise).unwrap();
        let error = weigh(site.path(), Profile::Page).unwrap_err().to_string();
        assert!(error.contains("large.wasm 11"), "{error}");
        weigh(site.path(), Profile::PageDev).unwrap();

        fs::rename(site.path().join("large.wasm"), site.path().join("workshop-1.wasm")).unwrap();
        weigh(site.path(), Profile::Page).unwrap();
    }

    #[test]
    fn the_second_program_is_named_by_its_content_and_found_by_its_glue() {
        let site = tempfile::tempdir().unwrap();
        fs::write(site.path().join("workshop_bg.wasm"), "123456789").unwrap();
        fs::write(site.path().join("workshop.js"), "new URL('workshop_bg.wasm', import.meta.url)").unwrap();
        name_by_content(site.path(), WORKSHOP).unwrap();
        // The check value of CRC-32 in the catalogue of parametrised CRC algorithms by G. Cook (from memory).
        let name = "workshop-cbf43926.wasm";
        assert!(is_later(name) && site.path().join(name).exists());
        assert!(fs::read_to_string(site.path().join("workshop.js")).unwrap().contains(name));
    }

    #[test]
    fn the_shell_is_copied_at_any_depth_without_hidden_files() {
        let (from, to) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
        fs::create_dir(from.path().join("icons")).unwrap();
        for name in ["index.html", "icons/a.svg", ".hidden"] {
            fs::write(from.path().join(name), name).unwrap();
        }
        copy_folder(from.path(), to.path()).unwrap();
        assert_eq!(files_below(to.path()).unwrap(), [to.path().join("icons/a.svg"), to.path().join("index.html")]);
        assert_eq!(fs::read_to_string(to.path().join("icons/a.svg")).unwrap(), "icons/a.svg");
    }

    #[test]
    fn only_scans_are_copied_from_the_demo_scans() {
        let (from, to) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
        for name in ["left.stl", "README.md"] {
            fs::write(from.path().join(name), name).unwrap();
        }
        copy_scans(from.path(), to.path()).unwrap();
        assert_eq!(files_below(to.path()).unwrap(), [to.path().join("left.stl")]);
    }
}
