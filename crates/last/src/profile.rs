//! The last's numbers beyond its plan: girth, heel pitch, toe spring, and the forms of forefoot and seat. What they do to
//! the last's bottom is [`crate::LastBottom`].

use base::{ParamSpec, Params, value_of};

/// Girth of the last round the ball.
pub const JOINT_GIRTH: ParamSpec = ParamSpec {
    id: "joint_girth_mm",
    label: "Joint girth",
    unit: "mm",
    min: 120.0,
    max: 400.0,
    default: 245.0,
    step: 1.0,
    help: "Girth of the last round the ball. The foot's own girth unless set.",
};

/// Height of the seat over the tread.
pub const HEEL_PITCH: ParamSpec = ParamSpec {
    id: "heel_pitch_mm",
    label: "Heel pitch",
    unit: "mm",
    min: 0.0,
    max: 80.0,
    default: 0.0,
    step: 1.0,
    help: "How much higher the last's seat stands than its tread under the ball.",
};

/// Height of the toe's tip over the tread.
pub const TOE_SPRING: ParamSpec = ParamSpec {
    id: "toe_spring_mm",
    label: "Toe spring",
    unit: "mm",
    min: 0.0,
    max: 30.0,
    default: 0.0,
    step: 1.0,
    help: "How much higher the last's tip stands than its tread under the ball.",
};

/// Radius of the last's bottom across the forefoot.
pub const BOTTOM_RADIUS: ParamSpec = ParamSpec {
    id: "bottom_radius_mm",
    label: "Bottom radius",
    unit: "mm",
    min: 0.0,
    max: 400.0,
    default: 0.0,
    step: 5.0,
    help: "Radius of the bottom across the forefoot, lowest in the middle: 60 to 400, or 0 for a flat one.",
};

/// Depth of a moulded seat.
pub const SEAT_DEPTH: ParamSpec = ParamSpec {
    id: "seat_depth_mm",
    label: "Seat depth",
    unit: "mm",
    min: 0.0,
    max: 8.0,
    default: 0.0,
    step: 0.5,
    help: "How much deeper the middle of the seat lies than its edge; 0 for a flat seat.",
};

/// The numbers of a last beyond its plan, as a form lists them. A missing one has its default, which is a flat bottom; a
/// missing joint girth is the foot's.
pub const PROFILE: &[ParamSpec] = &[JOINT_GIRTH, HEEL_PITCH, TOE_SPRING, BOTTOM_RADIUS, SEAT_DEPTH];

/// A bottom rounder than this holds no forefoot, mm.
const LEAST_RADIUS_MM: f64 = 60.0;

/// Why numbers are not those of a last.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{label} cannot be {value} {unit}: it goes from {min} to {max}{or_zero}")]
pub struct ProfileError {
    /// Label of the parameter.
    pub label: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// The value given.
    pub value: f64,
    /// Least value.
    pub min: f64,
    /// Greatest value.
    pub max: f64,
    /// Added where zero is allowed beside the range.
    pub or_zero: &'static str,
}

/// The joint girth that was decided for the last, mm; `None` if it is to be the foot's.
#[must_use]
pub fn joint_girth_mm(params: &Params) -> Option<f64> {
    params.get(JOINT_GIRTH.id).copied()
}

/// Whether a number of a last, in plan or profile, is in its range.
///
/// # Errors
/// The number with its range.
pub fn check(spec: &ParamSpec, value: f64) -> Result<(), ProfileError> {
    let ParamSpec { label, unit, min, max, .. } = *spec;
    let is_radius = spec.id == BOTTOM_RADIUS.id;
    if spec.accepts(value) && !(is_radius && value > 0.0 && value < LEAST_RADIUS_MM) {
        return Ok(());
    }
    let (min, or_zero) = if is_radius { (LEAST_RADIUS_MM, ", or 0 for a flat bottom") } else { (min, "") };
    Err(ProfileError { label, unit, value, min, max, or_zero })
}

/// Whether every number of [`PROFILE`] in `params` is in its range.
///
/// # Errors
/// The first that is not, with its range.
pub fn check_profile(params: &Params) -> Result<(), ProfileError> {
    PROFILE.iter().try_for_each(|spec| check(spec, value_of(params, spec)))
}
