//! The foot frame, landmarks, measures and phantom feet.
//!
//! From a scan to a measure sheet: [`find_pose`] finds how the foot lies in its file, [`prepare`] takes it into the
//! foot frame and samples its sole, [`find_landmarks`] finds the landmarks, and [`measures::ALL`] measures.
//!
//! ```
//! use base::{Report, Side, Work};
//! use foot::phantom::{Phantom, PhantomParams, ScanSwitches};
//! use foot::{PoseHints, Preparation, find_landmarks, find_pose, measures, prepare};
//!
//! let phantom = Phantom::new(PhantomParams { side: Side::Left, foot_length_mm: 262.0, ..Default::default() })?;
//! let scan = phantom.scan(&ScanSwitches { triangle_mm: 3.0, ..ScanSwitches::default() });
//!
//! let (work, mut report) = (Work::quiet(), Report::default());
//! let pose = find_pose("scan.stl", &scan.mesh, &PoseHints::default(), &work, &mut report)?;
//! assert_eq!(pose.side, Side::Left);
//! let how = Preparation::of_foot(110.0);
//! let foot = prepare("scan.stl", &scan.mesh, &pose.foot_from_scan, &how, &work, &mut report)?;
//! let landmarks = find_landmarks(&foot);
//! let [length, ..] = measures::ALL else { unreachable!() };
//! assert!((length.eval(&foot, &landmarks)?.value - 262.0).abs() < 1.0);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod change;
mod clean;
mod curved;
mod ends;
mod envelope;
mod error;
mod find_landmarks;
mod holes;
mod intake;
mod landmark;
mod landmarks;
pub mod measures;
mod near;
pub mod phantom;
mod points;
mod pose;
mod preparation;
mod print;
pub mod tissue;
mod view;
mod weight_bearing;

pub use error::IntakeError;
pub use find_landmarks::{ARCH_SPAN, FIFTH_HEAD, FIRST_HEAD, HEEL_END, find_landmarks, snap};
pub use intake::{Foot, GRID_STEP_MM, PRINT_HEIGHT_MM, SILHOUETTE_HEIGHT_MM, prepare, prepare_owned};
pub use landmark::{Clue, FoundLandmarks, Landmark, LandmarkId, Landmarks};
pub use landmarks::{clues_of, renew_estimates, seek_landmarks};
pub use points::skin_of_points;
pub use pose::{Pose, PoseHints, find_feet, find_pose, pose_from_clicks};
pub use preparation::{CleanStep, FOAM_RETURN, Preparation, ScanKind};
pub use weight_bearing::WeightBearing;
