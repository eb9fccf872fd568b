//! Size systems, last outlines, their fit to a foot and their editing.
mod family;
mod fit;
mod outline;
mod polygon;
mod size;
mod spline;

pub use family::{
    BALL_OFFSET, BALL_WIDTH, HEEL_MARGIN, HEEL_OFFSET, HEEL_WIDTH, INNER_BALL, OUTER_BALL, PARAMS, SWING,
    TOE_ALLOWANCE, TOE_SHAPE, WAIST_OFFSET, WAIST_WIDTH,
};
pub use fit::{FitError, Fitted, FootPlan, fit};
pub use outline::{Nearest, Outline, OutlineError, SAG_MM};
pub use size::{ALL, Counts, Size, SizeError, SizeSystem, system};
pub use spline::{ClosedSpline, SplineError};
#[cfg(test)]
mod tests;
