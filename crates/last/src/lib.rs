//! Size systems, last outlines, their fit to a foot and their editing.
//!
//! A [`Size`] names a length in a [`SizeSystem`]; millimetres are the truth, and how a foot comes to its size is one of
//! several published [`rules`] that disagree. An [`Outline`] is the insole's edge in plan: a
//! closed curve with continuous curvature. [`fit`] finds one for a foot out of a family whose numbers ([`PARAMS`]) are
//! those of the trade; each of them can be decided by hand, and the rest is fitted round it. The numbers of [`PROFILE`] give
//! the last's bottom its height, a [`LastBottom`]; [`PRESETS`] hold both for kinds of shoes.
//!
//! ```
//! use foot::{Landmark, LandmarkId, Landmarks};
//! use last::{FootPlan, Size, fit};
//! let tip = Landmark { at: glam::DVec3::new(261.0, 18.0, 12.0), confidence: 1.0, by_hand: false };
//! let landmarks = Landmarks::from([(LandmarkId::Akropodion, tip)]);
//! let allowance_mm = 12.0;
//! let size = Size::propose("paris", 261.0, allowance_mm)?;
//! assert_eq!(size.to_string(), "paris:41");
//! let foot = FootPlan { silhouette: &[], landmarks: &landmarks };
//! let fitted = fit(&foot, size.last_length_mm(allowance_mm)?, &base::Params::new())?;
//! assert!((fitted.length_mm - 273.0).abs() < 1e-9);
//! assert!(fitted.outline.contains(glam::DVec2::new(130.0, 0.0)));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod bottom;
mod edit;
mod family;
mod fit;
mod limit;
mod outline;
mod polygon;
mod preset_file;
mod presets;
mod profile;
mod shoe;
mod size;
mod spline;
mod toe;
pub mod tracing;
mod trim;

pub use bottom::{BottomPlan, LastBottom};
pub use edit::{ChangeError, Keep, OutlineChange, changed, snapped};
pub use family::{
    BALL_OFFSET, BALL_WIDTH, HEEL_MARGIN, HEEL_OFFSET, HEEL_WIDTH, INNER_BALL, OUTER_BALL, PARAMS, SWING,
    TOE_ALLOWANCE, WAIST_OFFSET, WAIST_WIDTH,
};
pub use fit::{FitError, Fitted, FootPlan, LANDMARKS, fit};
pub use limit::{CLEARANCE, LIMIT_MM, Limited, limited};
pub use outline::{Nearest, Outline, OutlineError, SAG_MM};
pub use preset_file::{PRESET_EXTENSION, PresetError, PresetFile};
pub use presets::{LastPreset, PRESETS, param, preset};
pub use profile::{
    BOTTOM_RADIUS, HEEL_PITCH, JOINT_GIRTH, PROFILE, ProfileError, SEAT_DEPTH, TOE_SPRING, check, check_profile,
    joint_girth_mm,
};
pub use shoe::{DEPTH_BALL, DEPTH_HEEL, DEPTH_TOE, DEPTH_WAIST, SHOE, ShoeInsole};
pub use size::{
    ALL, Counts, GIRTH_STEPS, GirthDifference, GirthStep, JOINT_GIRTH_GRADE, MondopointLabel, PairProposal, Size,
    SizeError, SizeSystem, girth_steps, propose_pair, rules, system,
};
pub use spline::{ClosedSpline, SplineError};
pub use toe::{TOE_ASYMMETRY, TOE_BOX, TOE_POINT, TOE_SHAPE, TOE_SHAPES, ToeShape, toe_shape};
pub use trim::{InsoleLength, Trim, TrimError, Trimmed, trimmed};
#[cfg(test)]
mod tests;
