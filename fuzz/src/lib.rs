//! What the fuzz targets call: one reader, or all from a file to its measures. A panic is a find.
//!
//! Without a nightly compiler, `crates/scan/tests/mutated.rs` makes some thousand
//! mutations of valid files of every format and calls the readers in the same way.

use base::{Report, Work};
use foot::{PoseHints, Preparation, find_landmarks, find_pose, measures, prepare};
use scan::{RawScan, Shape};

/// Calls the reader with this id.
pub fn read(id: &str, bytes: &[u8]) {
    let Some(format) = scan::ALL.iter().find(|format| format.id() == id) else { return };
    let _ = format.recognises("scan", bytes);
    let result = format.read("scan", bytes, &Work::quiet(), &mut Report::default());
    match result {
        Ok(RawScan { shape: Shape::Heights(image), .. }) => {
            let _ = image.mesh(&scan::HeightScale { mm_per_pixel: 0.5, mm_per_level: 0.1 });
        }
        Ok(_) => {}
        Err(error) => assert!(!error.advice().is_empty() && error.to_string().starts_with("scan")),
    }
}

/// From a file in any format to the measures of the foot in it.
pub fn intake(bytes: &[u8]) {
    let (work, mut report) = (Work::quiet(), Report::default());
    let Ok(RawScan { shape: Shape::Mesh(mesh), .. }) = scan::read("scan", bytes, &work, &mut report) else { return };
    let Ok(pose) = find_pose("scan", &mesh, &PoseHints::default(), &work, &mut report) else { return };
    let how = Preparation::of_foot(110.0);
    let Ok(foot) = prepare("scan", &mesh, &pose.foot_from_scan, &how, &work, &mut report) else { return };
    let landmarks = find_landmarks(&foot);
    for measure in measures::ALL {
        let _ = measure.eval(&foot, &landmarks);
    }
}
