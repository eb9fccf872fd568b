use crate::{ContactError, Plane};
use glam::DVec2;

/// A rigid body seen from below, or two that share a hinge.
#[derive(Clone, Debug, PartialEq)]
pub struct Indenter {
    /// Height of the body's underside over the undeformed columns at each node, mm, in the pose of rest; only differences matter.
    /// `NaN` or infinity where there is no body.
    pub profile_mm: Vec<f64>,
    /// Where the body bends.
    pub hinge: Option<Hinge>,
}

/// A straight line across the body at which its far part turns against the near one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hinge {
    /// A point on the line, mm.
    pub on_mm: DVec2,
    /// Direction square to the line, of any length, to the far body.
    pub to_far: DVec2,
}

impl Indenter {
    /// A body in one piece.
    #[must_use]
    pub fn rigid(profile_mm: Vec<f64>) -> Indenter {
        Indenter { profile_mm, hinge: None }
    }

    pub(crate) fn check(&self, plane: &Plane) -> Result<(), ContactError> {
        plane.check_size("profile", self.profile_mm.len())?;
        match self.hinge {
            Some(hinge) if !(hinge.on_mm.is_finite() && hinge.direction().is_finite()) => {
                Err(ContactError::BadNumber {
                    what: "direction or place of the hinge",
                    value: hinge.to_far.length(),
                    must: "finite, the direction longer than zero",
                })
            }
            _ => Ok(()),
        }
    }
}

impl Hinge {
    /// Unit vector to the far body; not finite for a direction without length.
    pub(crate) fn direction(&self) -> DVec2 {
        self.to_far / self.to_far.length()
    }

    /// How far a place lies beyond the hinge, mm; 0 on the near side.
    #[must_use]
    pub fn reach_mm(&self, at_mm: DVec2) -> f64 {
        (at_mm - self.on_mm).dot(self.direction()).max(0.0)
    }
}

/// How a body stands: the depth of its underside below the pose of rest is
/// `sink_mm + slope·(p − about_mm) − bend·reach` at a place p, where `reach` is how far p lies beyond the hinge. Slopes are
/// tangents, not angles: the body turns as if by small angles, at any size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pose {
    /// The place that `sink_mm` is of, mm.
    pub about_mm: DVec2,
    /// Depth there, mm.
    pub sink_mm: f64,
    /// Depth gained per mm along x and along y.
    pub slope: DVec2,
    /// By how much the far body rises per mm beyond the hinge, against the near one.
    pub bend: f64,
}

impl Pose {
    /// Depth of the near body at a place, mm.
    #[must_use]
    pub fn depth_mm(&self, at_mm: DVec2) -> f64 {
        self.sink_mm + self.slope.dot(at_mm - self.about_mm)
    }
}

/// What presses the body down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoadCase {
    /// Force straight down, N, greater than zero.
    pub force_n: f64,
    /// Where it acts, mm.
    pub at_mm: DVec2,
    /// What holds the hinge; of no account for a body in one piece.
    pub bend: Bend,
}

/// What holds the hinge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Bend {
    /// The far body is held raised by this tangent against the near one.
    Held(f64),
    /// A moment about the hinge presses the far body down, N·mm: it equals the moment of the pressure under the far body.
    MomentNmm(f64),
}

impl LoadCase {
    /// A force acting at a place.
    #[must_use]
    pub fn at(force_n: f64, at_mm: DVec2) -> LoadCase {
        LoadCase { force_n, at_mm, bend: Bend::Held(0.0) }
    }

    /// A force through `about_mm` with moments about the axes through it in N·mm, right-handed with z up: a force down at (x, y) has the
    /// moments (−F·y, F·x).
    #[must_use]
    pub fn with_moments(force_n: f64, about_mm: DVec2, moment_n_mm: DVec2) -> LoadCase {
        LoadCase::at(force_n, about_mm + DVec2::new(moment_n_mm.y, -moment_n_mm.x) / force_n)
    }

    pub(crate) fn check(&self) -> Result<(), ContactError> {
        let fault = |what, value, must| Err(ContactError::BadNumber { what, value, must });
        if !(self.force_n > 0.0 && self.force_n.is_finite()) {
            return fault("force in N", self.force_n, "finite and greater than zero");
        }
        if !self.at_mm.is_finite() {
            return fault("point of application in mm", self.at_mm.x + self.at_mm.y, "finite");
        }
        let (Bend::Held(value) | Bend::MomentNmm(value)) = self.bend;
        if value.is_finite() { Ok(()) } else { fault("bend or moment of the hinge", value, "finite") }
    }
}
