//! The foot frame, landmarks, measures and phantom feet.

mod landmark;

pub use landmark::{Landmark, LandmarkId, Landmarks};
