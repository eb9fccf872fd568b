//! The foot frame, landmarks, measures and phantom feet.

mod ends;
mod error;
mod find_landmarks;
mod holes;
mod intake;
mod landmark;
pub mod measures;
pub mod phantom;
mod pose;
mod print;
mod view;
mod weight_bearing;

pub use error::IntakeError;
pub use find_landmarks::{ARCH_SPAN, FIFTH_HEAD, FIRST_HEAD, HEEL_END, find_landmarks, snap};
pub use intake::{Foot, GRID_STEP_MM, PRINT_HEIGHT_MM, SILHOUETTE_HEIGHT_MM, prepare};
pub use landmark::{Landmark, LandmarkId, Landmarks};
pub use pose::{Pose, PoseHints, find_pose};
pub use weight_bearing::WeightBearing;
