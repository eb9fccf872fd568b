//! The shoe the insole goes into: its own insole as traced, and how much room it has in depth.

use crate::limit::CLEARANCE;
use crate::outline::{Outline, OutlineError};
use base::{Note, ParamSpec};
use glam::DVec2;
use serde::{Deserialize, Serialize};

/// The shoe's own insole, traced and laid on the foot.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ShoeInsole {
    /// Name of the drawing or picture it was traced from.
    pub name: String,
    /// Knots of its outline, foot frame, mm.
    pub points: Vec<[f64; 2]>,
    /// What was assumed when it was read and laid on the foot.
    #[serde(default)]
    pub notes: Vec<Note>,
}

impl ShoeInsole {
    /// Its outline.
    ///
    /// # Errors
    /// The points make none.
    pub fn outline(&self) -> Result<Outline, OutlineError> {
        Outline::through(&self.points.iter().map(|&point| DVec2::from_array(point)).collect::<Vec<_>>())
    }

    /// The same one turned about the pternion and then shifted.
    #[must_use]
    pub fn moved(&self, turn_deg: f64, shift_mm: DVec2) -> ShoeInsole {
        let turn = DVec2::from_angle(turn_deg.to_radians());
        let point = |p: &[f64; 2]| (turn.rotate(DVec2::from_array(*p)) + shift_mm).to_array();
        ShoeInsole { points: self.points.iter().map(point).collect(), ..self.clone() }
    }
}

/// Room between the shoe's own bottom and its quarter's upper edge at the back of the heel.
pub const DEPTH_HEEL: ParamSpec =
    depth("depth_heel_mm", "Depth at heel", "Height of the counter's upper edge over the shoe's bottom, at the back.");
/// Room at the waist.
pub const DEPTH_WAIST: ParamSpec =
    depth("depth_waist_mm", "Depth at waist", "Height inside the closed shoe over its bottom, at the instep.");
/// Room at the ball.
pub const DEPTH_BALL: ParamSpec =
    depth("depth_ball_mm", "Depth at ball", "Height inside the shoe over its bottom, at the ball.");
/// Room at the toes.
pub const DEPTH_TOE: ParamSpec =
    depth("depth_toe_mm", "Depth at toes", "Height inside the toe box over the shoe's bottom, over the great toe.");

/// The numbers of a shoe, as a form lists them. A depth that is missing was not measured.
pub const SHOE: &[ParamSpec] = &[CLEARANCE, DEPTH_HEEL, DEPTH_WAIST, DEPTH_BALL, DEPTH_TOE];

/// A depth of 0 stands for one that was not measured: it is below the least accepted.
const fn depth(id: &'static str, label: &'static str, help: &'static str) -> ParamSpec {
    ParamSpec { id, label, unit: "mm", min: 5.0, max: 200.0, default: 0.0, step: 1.0, help }
}
