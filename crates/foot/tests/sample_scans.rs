//! The committed sample scans are what their generator writes, and show what their names say.

#[path = "../examples/sample_scans.rs"]
#[allow(unreachable_pub, reason = "public in the example, whose documentation it is")]
mod sample_scans;

use base::Side;
use sample_scans::{file, file_name, people};
use std::path::Path;

fn folder() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../../sample-scans"))
}

#[test]
fn the_generator_still_writes_the_committed_files() {
    for (person, side) in people().iter().zip([Side::Left, Side::Right, Side::Left]) {
        let (bytes, _) = file(person, side).unwrap();
        let name = file_name(person, side);
        let committed = std::fs::read(folder().join(&name)).unwrap();
        assert!(bytes == committed, "{name}: write the sample scans again and say so in the changelog");
    }
}

#[test]
fn the_files_are_small_and_the_readme_names_each() {
    let readme = std::fs::read_to_string(folder().join("README.md")).unwrap();
    let mut all = 0;
    for person in &people() {
        for side in Side::ALL {
            let name = file_name(person, side);
            let size = std::fs::metadata(folder().join(&name)).unwrap().len();
            assert!(size < 1_500_000, "{name} has {size} bytes");
            all += size;
            assert!(readme.contains(&format!("| {name} |")), "{name}");
        }
    }
    assert!(all < 8_000_000, "{all}");
}
