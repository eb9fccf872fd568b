use super::{Measure, MeasureError, MeasureSpec, Measured, at, breadth_of};
use crate::{Foot, LandmarkId, Landmarks};
use base::Source;
use glam::DVec2;

/// Hallux angle.
pub(super) struct HalluxAngle;

const SPEC: MeasureSpec = MeasureSpec {
    id: "hallux_angle_deg",
    label: "Hallux angle (skin)",
    unit: "°",
    definition: "Angle in plan at the metatarsale tibiale between the line that touches the medial border of the heel, drawn on, and the line that touches the medial border of the hallux; positive where the hallux leans laterally. An angle of the skin, not the hallux valgus angle of a radiograph: a bunion or a broad heel changes it.",
    source: Source::practice("Medial tangents of heel, ball and hallux as on footprints: common practice, no source"),
    classes: &[],
    references: &[],
};

/// The heel's medial border lies behind this share of foot length.
const HEEL_TO: f64 = 0.35;

/// The hallux is touched in front of this share of the way from the metatarsale tibiale to its tip: behind, the skin
/// still bends round the head of the metatarsal.
const HALLUX_FROM: f64 = 0.5;

/// The outline has a point within this distance, mm.
const BESIDE_MM: f64 = 1.5;

impl Measure for HalluxAngle {
    fn spec(&self) -> &'static MeasureSpec {
        &SPEC
    }

    fn eval(&self, foot: &Foot, landmarks: &Landmarks) -> Result<Measured, MeasureError> {
        let tibiale = at(landmarks, LandmarkId::MetatarsaleTibiale)?;
        let tip = at(landmarks, LandmarkId::HalluxTip)?.truncate();
        let length_mm = at(landmarks, LandmarkId::Akropodion)?.x;
        if tip.x <= tibiale.x {
            return Err(MeasureError::MisplacedLandmark(LandmarkId::HalluxTip));
        }
        // On the outline as the other two, which lies a little inside the skin.
        let beside = tibiale.x - BESIDE_MM..=tibiale.x + BESIDE_MM;
        let [_, ball] = breadth_of(&foot.silhouette, beside).ok_or(MeasureError::MissingSkin("at the ball"))?;
        let from = ball.x + HALLUX_FROM * (tip.x - ball.x);
        // Seen from the ball, the border touched is the most medial direction to the front, the least steep to the rear.
        let steepness = |p: DVec2| (p.y - ball.y) / (p.x - ball.x);
        let border = || foot.silhouette.iter().copied();
        let heel = border()
            .filter(|p| p.x < (HEEL_TO * length_mm).min(ball.x))
            .min_by(|&a, &b| steepness(a).total_cmp(&steepness(b)))
            .ok_or(MeasureError::MissingSkin("at the heel"))?;
        let hallux = border()
            .filter(|p| p.x > from && p.x < tip.x)
            .max_by(|&a, &b| steepness(a).total_cmp(&steepness(b)))
            .ok_or(MeasureError::MissingSkin("at the hallux"))?;
        let drawn_on = ball + (ball - heel).normalize_or_zero() * hallux.distance(ball);
        let path =
            [vec![heel, ball, drawn_on], vec![ball, hallux]].map(|line| line.iter().map(|p| p.extend(0.0)).collect());
        Ok(Measured { value: angle_deg(ball - heel, hallux - ball), path: path.to_vec() })
    }
}

/// Angle from `forward` to `hallux`, positive to the lateral side, −y.
fn angle_deg(forward: DVec2, hallux: DVec2) -> f64 {
    -libm::atan2(forward.perp_dot(hallux), forward.dot(hallux)).to_degrees()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn leaning_laterally_is_positive() {
        let right_angle = angle_deg(DVec2::X, DVec2::NEG_Y);
        assert!((right_angle - 90.0).abs() < 1e-12);
        // 20 mm out on 100 mm, then straight ahead: atan(0.2).
        let found = angle_deg(DVec2::new(100.0, 20.0), DVec2::X);
        assert!((found - 11.309_932_474).abs() < 1e-8, "{found}");
        assert!(angle_deg(DVec2::X, DVec2::new(50.0, 10.0)) < 0.0);
    }
}
