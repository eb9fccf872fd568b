//! What the elements that go across the whole insole share: straight slopes with rounded corners, a wedge's tilt, a line
//! across the foot, and the box they end in.

use super::{Shape, direction, read};
use crate::Edge;
use base::{ParamSpec, Params};
use glam::DVec2;

/// What goes on beyond the insole's edge ends this far outside the insole's own box, mm: further out than anything is
/// made, drawn or measured.
const BEYOND_MM: f64 = 20.0;
/// The corner at a wedge's hinge is rounded over this length, mm.
const HINGE_ROUND_MM: f64 = 4.0;
/// How far inside the edge a wedge's strength is taken hold of, mm.
const CREST_INSIDE_MM: f64 = 5.0;

/// The box in which the elements that go across the whole insole end.
pub(super) fn insole_box(edge: &Edge) -> (DVec2, DVec2) {
    let (lo, hi) = edge.bounds();
    (lo - BEYOND_MM, hi + BEYOND_MM)
}

/// `height` within the box, 0 outside.
pub(super) fn within((lo, hi): (DVec2, DVec2), height: impl Fn(DVec2) -> f64 + Send + Sync + 'static) -> Shape {
    Box::new(move |p| if p.cmpge(lo).all() && p.cmple(hi).all() { height(p) } else { 0.0 })
}

/// 0 before 0, `d` itself behind it, the corner between rounded by a parabola over `round`, half of it on either side.
pub(super) fn ramp(d: f64, round: f64) -> f64 {
    let in_corner = d + 0.5 * round;
    if in_corner <= 0.0 {
        0.0
    } else if in_corner >= round {
        d
    } else {
        in_corner * in_corner / (2.0 * round)
    }
}

/// 0 before 0, straight up to 1 at `length`, both corners rounded as by [`ramp`]; `length` is more than 0 and `round`.
pub(super) fn slope(d: f64, length: f64, round: f64) -> f64 {
    if d >= length + 0.5 * round { 1.0 } else { (ramp(d, round) - ramp(d - length, round)) / length }
}

/// A point on the insole near its edge on one side (medial 1, lateral −1), at `x` or as near to it as the insole reaches.
pub(super) fn beside_edge(edge: &Edge, x: f64, side: f64) -> DVec2 {
    let (lo, hi) = edge.bounds();
    let x = x.clamp(lo.x + CREST_INSIDE_MM, (hi.x - CREST_INSIDE_MM).max(lo.x + CREST_INSIDE_MM));
    let (lateral, medial) = edge.width_at(x).unwrap_or_default();
    let (middle, half) = (0.5 * (medial + lateral), 0.5 * (medial - lateral));
    DVec2::new(x, middle + side * (half - CREST_INSIDE_MM).max(0.0))
}

/// The names of the two sides, as a choice has them.
pub(super) const SIDES: &[&str] = &["Medial", "Lateral"];

/// 1 where the choice `id` says medial, −1 where it says lateral: the way in y to that side.
pub(super) fn side(specs: &[ParamSpec], params: &Params, id: &str) -> f64 {
    if read(specs, params, id) < 0.5 { 1.0 } else { -1.0 }
}

/// Which side a wedge raises.
pub(super) const RAISED_SIDE: ParamSpec =
    ParamSpec::choice("raised_side", "Raised side", 2, "The side that is lifted; the hinge goes to the other one.");

/// Where a wedge begins to rise.
pub(super) const fn hinge(default: f64) -> ParamSpec {
    ParamSpec::mm(
        "hinge_mm",
        "Hinge",
        (-40.0, 80.0),
        default,
        1.0,
        "The line along which the wedge begins to rise: its distance from the foot axis, towards the side that stays low.",
    )
}

/// A tilt about a hinge line that runs lengthways: `tan(angle)` times the distance from the hinge, with the corner at
/// the hinge rounded over [`HINGE_ROUND_MM`].
#[derive(Clone, Copy, Debug)]
pub(super) struct Tilt {
    /// The way in y to the raised side, 1 or −1.
    pub(super) side: f64,
    /// Distance of the hinge from the foot axis, away from the raised side.
    hinge: f64,
    rise: f64,
}

impl Tilt {
    pub(super) fn read(specs: &[ParamSpec], params: &Params) -> Tilt {
        Tilt {
            side: side(specs, params, "raised_side"),
            hinge: read(specs, params, "hinge_mm"),
            rise: libm::tan(read(specs, params, "angle_deg").to_radians()),
        }
    }

    pub(super) fn height(&self, y: f64) -> f64 {
        self.rise * ramp(self.side * y + self.hinge, HINGE_ROUND_MM)
    }

    /// The hinge's y.
    pub(super) fn hinge_y(&self) -> f64 {
        -self.side * self.hinge
    }

    /// The hinge's parameter that puts it at `y`.
    pub(super) fn hinge_at(&self, y: f64) -> f64 {
        -self.side * y
    }
}

/// A straight line across the foot.
#[derive(Clone, Copy, Debug)]
pub(super) struct CrossLine {
    /// Where it crosses the foot axis.
    x: f64,
    /// Square to it, to the toes.
    pub(super) forward: DVec2,
}

/// The way a line across the foot faces.
pub(super) const fn facing(id: &'static str) -> ParamSpec {
    ParamSpec::deg(
        id,
        "Direction of the line",
        (-45.0, 45.0),
        0.0,
        "0: square to the foot axis; below 0: its medial end lies further forward, as the first metatarsal head does.",
    )
}

impl CrossLine {
    /// The line that crosses the foot axis at `x` and faces `facing_deg`, less than 90 either way.
    pub(super) fn new(x: f64, facing_deg: f64) -> CrossLine {
        CrossLine { x, forward: direction(facing_deg) }
    }

    /// How far in front of the line `p` lies.
    pub(super) fn ahead(&self, p: DVec2) -> f64 {
        (p - DVec2::new(self.x, 0.0)).dot(self.forward)
    }

    /// The point at `y`, `ahead` mm in front of the line.
    pub(super) fn point(&self, ahead: f64, y: f64) -> DVec2 {
        DVec2::new(self.x + (ahead - y * self.forward.y) / self.forward.x, y)
    }

    /// Where a line with the same direction through `p` crosses the foot axis.
    pub(super) fn crossing(&self, p: DVec2) -> f64 {
        p.x + p.y * self.forward.y / self.forward.x
    }

    /// Least and greatest x, between two y, of the line moved `ahead` mm forward.
    pub(super) fn reach(&self, ahead: f64, y: (f64, f64)) -> (f64, f64) {
        let (a, b) = (self.point(ahead, y.0).x, self.point(ahead, y.1).x);
        (a.min(b), a.max(b))
    }
}

/// Volume of `shape` over a box, mm³, by the midpoints of squares of 0.5 mm.
#[cfg(test)]
pub(super) fn volume(shape: &Shape, lo: DVec2, hi: DVec2) -> f64 {
    const STEP: f64 = 0.5;
    let steps = ((hi - lo) / STEP).round();
    let row = |j: usize| {
        let at = |i: usize| shape(lo + STEP * (DVec2::new(i as f64, j as f64) + 0.5));
        (0..steps.x as usize).map(at).sum::<f64>()
    };
    (0..steps.y as usize).map(row).sum::<f64>() * STEP * STEP
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "these values are exact")]
mod tests {
    use super::*;

    #[test]
    fn slopes_are_straight_between_their_rounded_corners() {
        assert_eq!((ramp(-2.0, 4.0), ramp(2.0, 4.0), ramp(31.5, 4.0)), (0.0, 2.0, 31.5));
        // In the corner a parabola lies an eighth of its length above the sharp one.
        assert!((ramp(0.0, 4.0) - 4.0 / 8.0).abs() < 1e-12);
        assert_eq!((slope(-5.0, 40.0, 10.0), slope(20.0, 40.0, 10.0), slope(45.0, 40.0, 10.0)), (0.0, 0.5, 1.0));
        for d in [-5.0, 5.0, 35.0, 45.0] {
            assert!((slope(d + 1e-9, 40.0, 10.0) - slope(d - 1e-9, 40.0, 10.0)).abs() < 1e-9);
        }
    }

    #[test]
    fn a_line_across_knows_its_points() {
        let line = CrossLine::new(170.0, -14.0);
        for (ahead, y) in [(0.0, 0.0), (12.0, 40.0), (-50.0, -33.0)] {
            let p = line.point(ahead, y);
            assert!((line.ahead(p) - ahead).abs() < 1e-12 && p.y == y);
        }
        assert!((line.crossing(line.point(0.0, 37.0)) - 170.0).abs() < 1e-12);
        // Below 0 the medial end lies further forward.
        assert!(line.point(0.0, 40.0).x > line.point(0.0, -40.0).x);
        assert_eq!(line.reach(0.0, (-40.0, 40.0)), (line.point(0.0, -40.0).x, line.point(0.0, 40.0).x));
    }

    #[test]
    fn what_lies_beside_the_edge_is_on_the_insole() {
        let edge = crate::test_foot::edge();
        for x in [-500.0, 0.0, 60.0, 200.0, 900.0] {
            for side in [1.0, -1.0] {
                assert!(edge.inside_mm(beside_edge(&edge, x, side)) > 0.0, "{x} {side}");
            }
        }
    }
}
