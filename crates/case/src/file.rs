//! The case file: a zip archive with `case.json` (its version first) and the scans under `scans/`, by content.
//!
//! Guarantees: what was saved opens to an equal case; a file of a newer version is refused clearly; a scan whose bytes
//! do not match its name is refused. Non-guarantee: it is not encrypted; it holds health data, keep it accordingly.

use crate::{Case, FootCase, ScanRef};
use base::Side;
use scan::archive::{Archive, archive_of};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::io::Read;
use std::sync::Arc;
use thiserror::Error;

/// Version of the format this program writes.
pub const VERSION: u32 = 4;
/// The usual ending of a case file.
pub const EXTENSION: &str = "solewright";
/// No scan is larger than this unpacked, bytes: a guard against archives made to fill the memory.
const MOST_BYTES: u64 = 1 << 30;

/// Scan files by the SHA-256 of their bytes.
pub type Blobs = BTreeMap<String, Arc<[u8]>>;

/// Why a case file cannot be read.
#[derive(Debug, Error)]
pub enum FileError {
    /// Not a zip archive, or a damaged one.
    #[error(
        "{name}: not a case file, or damaged ({reason}): choose a file saved by Solewright, or an older copy of it"
    )]
    NotACase {
        /// The file's name.
        name: String,
        /// What was wrong.
        reason: String,
    },
    /// `case.json` does not hold a case.
    #[error("{name}: case.json cannot be read at line {line}, column {column} ({reason}): open an older copy")]
    BadCase {
        /// The file's name.
        name: String,
        /// Line in `case.json`.
        line: usize,
        /// Column in `case.json`.
        column: usize,
        /// What was wrong.
        reason: String,
    },
    /// Written by a later program.
    #[error(
        "{name}: saved in version {found} of the case file, this program reads up to {VERSION}: open it with a newer Solewright"
    )]
    Newer {
        /// The file's name.
        name: String,
        /// Version found.
        found: u32,
    },
    /// A scan is missing or not the one it says it is.
    #[error(
        "{name}: the scan {scan} is missing or damaged inside the file: bring in the scan again, or open an older copy"
    )]
    BadScan {
        /// The file's name.
        name: String,
        /// The scan's own file name.
        scan: String,
    },
}

#[derive(Serialize)]
struct Packed<'a> {
    solewright: u32,
    case: &'a Case,
}

#[derive(Deserialize)]
struct Version {
    solewright: u32,
}

#[derive(Deserialize)]
struct Unpacked {
    case: Case,
}

/// SHA-256 of `bytes`, lower-case hexadecimal: how scans are named.
#[must_use]
pub fn content_hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The case as the JSON text kept in `case.json`, version first.
#[must_use]
pub fn to_json(case: &Case) -> String {
    // A case is maps with string keys, strings and finite numbers: nothing in it can fail to be written.
    serde_json::to_string_pretty(&Packed { solewright: VERSION, case }).unwrap_or_default()
}

/// Reads what [`to_json`] wrote. `name` is named in errors.
///
/// # Errors
/// Not a case, or one of a newer version.
pub fn from_json(name: &str, json: &str) -> Result<Case, FileError> {
    let bad = |error: serde_json::Error| FileError::BadCase {
        name: name.to_owned(),
        line: error.line(),
        column: error.column(),
        reason: error.to_string(),
    };
    let version: Version = serde_json::from_str(json).map_err(bad)?;
    if version.solewright > VERSION {
        return Err(FileError::Newer { name: name.to_owned(), found: version.solewright });
    }
    let mut case = serde_json::from_str::<Unpacked>(json).map(|unpacked| unpacked.case).map_err(bad)?;
    if version.solewright < SHAPED_EDGES {
        for side in Side::ALL {
            keep_edges(&mut case.feet[side]);
        }
    }
    Ok(case)
}

/// From this version on the insole's edge is finished and its bottom follows the last by default.
const SHAPED_EDGES: u32 = 4;

/// An older design comes out as it was designed: sharp-edged and level.
fn keep_edges(foot: &mut Option<FootCase>) {
    if let Some(foot) = foot {
        for param in ["rim_rounding_mm", "follow_last"] {
            foot.surface.entry(param.to_owned()).or_insert(0.0);
        }
    }
}

/// Packs a case and the scans it refers to. The same case gives the same bytes.
///
/// # Errors
/// A scan is not among `blobs`, or the archive cannot be written.
pub fn save(name: &str, case: &Case, blobs: &Blobs) -> Result<Vec<u8>, FileError> {
    let fail = |reason: String| FileError::NotACase { name: name.to_owned(), reason };
    let json = to_json(case);
    let mut parts = vec![("case.json".to_owned(), json.as_bytes())];
    for scan in scans_of(case) {
        let bytes = blobs
            .get(&scan.hash)
            .ok_or_else(|| FileError::BadScan { name: name.to_owned(), scan: scan.name.clone() })?;
        parts.push((format!("scans/{}", scan.hash), bytes));
    }
    archive_of(parts).map_err(|error| fail(error.to_string()))
}

/// Unpacks a case file. `name` is named in errors.
///
/// # Errors
/// See [`FileError`]; nothing is half-read.
pub fn open(name: &str, bytes: &[u8]) -> Result<(Case, Blobs), FileError> {
    let fail = |reason: String| FileError::NotACase { name: name.to_owned(), reason };
    let archive = Archive::open(bytes).map_err(|error| fail(error.to_string()))?;
    let take = |path: &str| -> Result<Vec<u8>, String> {
        let entry = archive.part(path).map_err(|error| error.to_string())?;
        let mut out = Vec::new();
        entry.take(MOST_BYTES).read_to_end(&mut out).map_err(|error| error.to_string())?;
        Ok(out)
    };
    let json = take("case.json").map_err(fail)?;
    let json = String::from_utf8(json).map_err(|_| fail("case.json is not text".into()))?;
    let case = from_json(name, &json)?;
    let mut blobs = Blobs::new();
    for scan in scans_of(&case) {
        let damaged = || FileError::BadScan { name: name.to_owned(), scan: scan.name.clone() };
        let bytes = take(&format!("scans/{}", scan.hash)).map_err(|_| damaged())?;
        if content_hash(&bytes) != scan.hash {
            return Err(damaged());
        }
        blobs.insert(scan.hash.clone(), bytes.into());
    }
    Ok((case, blobs))
}

/// The scans a case refers to, each once, in order of their hash.
#[must_use]
pub fn scans_of(case: &Case) -> Vec<ScanRef> {
    let mut scans: Vec<ScanRef> = case
        .feet
        .iter()
        .filter_map(|(_, foot)| foot.as_ref())
        .flat_map(|foot| std::iter::once(&foot.scan).chain(foot.second.as_ref().map(|second| &second.scan)))
        .cloned()
        .collect();
    base::sort_by(&mut scans, Ord::cmp);
    scans.dedup_by(|a, b| a.hash == b.hash);
    scans
}
