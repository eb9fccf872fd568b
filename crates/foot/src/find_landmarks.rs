use crate::{Foot, Landmarks};
use glam::DVec3;

/// Finds the landmarks of a foot from its shape.
///
/// One that cannot be found is missing from the answer; doubtful ones have a low confidence.
#[must_use]
pub fn find_landmarks(foot: &Foot) -> Landmarks {
    let _ = foot;
    Landmarks::new()
}

/// The point of the foot's skin nearest to `p`, foot frame, mm.
#[must_use]
pub fn snap(foot: &Foot, p: DVec3) -> DVec3 {
    let nearest = foot.mesh.positions().iter().min_by(|a, b| a.distance_squared(p).total_cmp(&b.distance_squared(p)));
    nearest.copied().unwrap_or(p)
}
