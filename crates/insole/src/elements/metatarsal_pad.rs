use super::figure::{ball_line, mark};
use super::{Element, ElementItem, Handle, HandleKind, Shape, Site, angle_deg, direction, read, set};
use crate::Edge;
use base::{ParamSpec, Params, Source, defaults};
use foot::{LandmarkId, Landmarks};
use glam::DVec2;
use std::sync::Arc;

/// A drop-shaped dome behind the metatarsal heads: rounded in front, tapered to the rear.
///
/// With t the distance from the crest along the axis, as a share of the front or the rear part, and v the distance
/// from the axis, the height is `h (1 − ρ²)²` with `ρ² = t² + (v / (w q))²`, where `q = 1` in front of the crest and
/// `q = 1 − taper t²` behind it. Zero with zero slope from ρ = 1 on.
#[derive(Clone, Copy, Debug, Default)]
pub struct MetatarsalPad;

/// Share of the pad's length in front of its crest. A published pad has its distal bevel over 10 mm and its proximal
/// one over 25 mm (supplement to a forefoot pad trial, "Further details of forefoot pad fabrication and fitting"): 10 / 35.
const FRONT_SHARE: f64 = 10.0 / 35.0;

/// How much narrower the rear end is than an ellipse, as a share of the width. 0 would be an ellipse, towards 1 the
/// rear becomes a point; this much looks like a drop. No source.
const REAR_TAPER: f64 = 0.4;

/// Front edge this far behind the line through the metatarsal heads, mm: the middle of the 5…10 mm proximal that is the
/// usual advice. The evidence conflicts: a pad just behind the second head took 37 % off its peak and one 9 mm further
/// back did nothing (Hsi et al. 2005), while another trial found 5 mm distal best (J Foot Ankle Res 2014 7:18).
const USUAL_SETBACK_MM: f64 = 7.5;

/// Place across the ball, from the first metatarsal head (0) to the fifth (1): between the second and the third ray.
/// Common practice, no source for the number.
const ACROSS_BALL: f64 = 0.4;

/// Width of the pad as a share of the breadth between the two landmarks; covers the shafts of rays 2 to 4. No source.
const WIDTH_SHARE: f64 = 0.45;

/// Length of the pad as a share of its width. No source.
const LENGTH_SHARE: f64 = 1.3;

const PARAMS: &[ParamSpec] = &[
    ParamSpec {
        id: "x_mm",
        label: "Front edge, along",
        unit: "mm",
        min: -20.0,
        max: 350.0,
        default: 170.0,
        step: 1.0,
        help: "Middle of the front edge, from the pternion towards the toes.",
    },
    ParamSpec {
        id: "y_mm",
        label: "Front edge, across",
        unit: "mm",
        min: -80.0,
        max: 80.0,
        default: 0.0,
        step: 1.0,
        help: "Middle of the front edge, from the foot axis to the medial side.",
    },
    ParamSpec {
        id: "angle_deg",
        label: "Direction",
        unit: "°",
        min: -60.0,
        max: 60.0,
        default: 0.0,
        step: 1.0,
        help: "Direction of the long axis from rear to front, from the foot axis to the medial side.",
    },
    ParamSpec {
        id: "length_mm",
        label: "Length",
        unit: "mm",
        min: 20.0,
        max: 100.0,
        default: 50.0,
        step: 1.0,
        help: "From the tapered rear end to the front edge.",
    },
    ParamSpec {
        id: "width_mm",
        label: "Width",
        unit: "mm",
        min: 15.0,
        max: 90.0,
        default: 40.0,
        step: 1.0,
        help: "Greatest width.",
    },
    ParamSpec {
        id: "height_mm",
        label: "Height",
        unit: "mm",
        min: 0.0,
        max: 15.0,
        default: 6.0,
        step: 0.5,
        help: "Height of the crest over the surface below.",
    },
];

/// The pad's numbers, read once.
#[derive(Clone, Copy)]
struct Pad {
    front: DVec2,
    axis: DVec2,
    length: f64,
    half_width: f64,
    height: f64,
}

impl MetatarsalPad {
    /// How far the front edge of a pad with `params` lies behind the straight line through the metatarsale tibiale and
    /// fibulare, mm, square to that line; negative where it lies in front. `None` where a landmark is missing.
    #[must_use]
    pub fn setback_mm(landmarks: &Landmarks, params: &Params) -> Option<f64> {
        let (tibiale, fibulare) = ball_line(landmarks)?;
        let forward = -(tibiale - fibulare).perp().normalize_or_zero();
        Some((fibulare - Pad::read(params).front).dot(forward))
    }
}

impl Element for MetatarsalPad {
    fn id(&self) -> &'static str {
        "metatarsal_pad"
    }

    fn label(&self) -> &'static str {
        "Metatarsal pad"
    }

    fn help(&self) -> &'static str {
        "A dome behind the metatarsal heads that carries their shafts, so that the heads themselves carry less. Its \
         front edge belongs 5 to 10 mm behind the heads; the trials disagree on the best place, so verify it."
    }

    fn source(&self) -> Source {
        Source::seen("Hsi et al. 2005, Am J Phys Med Rehabil 84:514; J Foot Ankle Res 2014 7:18 (they disagree)")
    }

    fn params(&self) -> &'static [ParamSpec] {
        PARAMS
    }

    fn place(&self, site: &Site) -> Params {
        let mut params = defaults(PARAMS);
        let Some((tibiale, fibulare)) = ball_line(site.landmarks) else { return params };
        let across = fibulare - tibiale;
        let forward = across.perp().normalize_or_zero();
        let front = tibiale + across * ACROSS_BALL - forward * USUAL_SETBACK_MM;
        let heel = mark(site.landmarks, LandmarkId::HeelCentre).unwrap_or_default();
        let width = across.length() * WIDTH_SHARE;
        set(PARAMS, &mut params, "x_mm", front.x);
        set(PARAMS, &mut params, "y_mm", front.y);
        set(PARAMS, &mut params, "angle_deg", angle_deg(front - heel));
        set(PARAMS, &mut params, "width_mm", width.round());
        set(PARAMS, &mut params, "length_mm", (width * LENGTH_SHARE).round());
        params
    }

    fn shape(&self, item: &ElementItem, _: &Arc<Edge>) -> Shape {
        let pad = Pad::read(&item.params);
        Box::new(move |p| pad.height_at(p))
    }

    fn bounds(&self, item: &ElementItem, _: &Arc<Edge>) -> (DVec2, DVec2) {
        let pad = Pad::read(&item.params);
        let rear = pad.front - pad.axis * pad.length;
        let side = (pad.axis.perp() * pad.half_width).abs();
        (pad.front.min(rear) - side, pad.front.max(rear) + side)
    }

    fn strength(&self) -> &'static str {
        "height_mm"
    }

    fn crest(&self, item: &ElementItem, _: &Arc<Edge>) -> DVec2 {
        Pad::read(&item.params).crest()
    }

    fn handles(&self, item: &ElementItem, _: &Arc<Edge>) -> Vec<Handle> {
        let pad = Pad::read(&item.params);
        let across = pad.axis.perp();
        vec![
            Handle { id: "front", label: "Move", kind: HandleKind::Point, at: pad.front },
            Handle {
                id: "rear",
                label: "Length and direction",
                kind: HandleKind::Point,
                at: pad.front - pad.axis * pad.length,
            },
            Handle {
                id: "side",
                label: "Width",
                kind: HandleKind::Along(across),
                at: pad.crest() + across * pad.half_width,
            },
        ]
    }

    fn drag(&self, item: &ElementItem, _: &Arc<Edge>, handle: &str, to: DVec2) -> Params {
        let mut out = item.params.clone();
        if !to.is_finite() {
            return out;
        }
        let pad = Pad::read(&item.params);
        match handle {
            "front" => {
                set(PARAMS, &mut out, "x_mm", to.x);
                set(PARAMS, &mut out, "y_mm", to.y);
            }
            "rear" => {
                let axis = pad.front - to;
                set(PARAMS, &mut out, "length_mm", axis.length());
                if axis.length() > f64::EPSILON {
                    set(PARAMS, &mut out, "angle_deg", angle_deg(axis));
                }
            }
            "side" => set(PARAMS, &mut out, "width_mm", 2.0 * (to - pad.crest()).dot(pad.axis.perp())),
            _ => {}
        }
        out
    }
}

impl Pad {
    fn read(params: &Params) -> Pad {
        let value = |id| read(PARAMS, params, id);
        Pad {
            front: DVec2::new(value("x_mm"), value("y_mm")),
            axis: direction(value("angle_deg")),
            length: value("length_mm"),
            half_width: value("width_mm") / 2.0,
            height: value("height_mm"),
        }
    }

    fn crest(&self) -> DVec2 {
        self.front - self.axis * (self.length * FRONT_SHARE)
    }

    fn height_at(&self, p: DVec2) -> f64 {
        let from_crest = p - self.crest();
        let (along, v) = (from_crest.dot(self.axis), from_crest.dot(self.axis.perp()));
        let ahead = along > 0.0;
        let t = along / (self.length * if ahead { FRONT_SHARE } else { 1.0 - FRONT_SHARE });
        if t.abs() >= 1.0 {
            return 0.0;
        }
        let half_width = self.half_width * if ahead { 1.0 } else { 1.0 - REAR_TAPER * t * t };
        let rho_squared = t * t + (v / half_width) * (v / half_width);
        if rho_squared >= 1.0 { 0.0 } else { self.height * (1.0 - rho_squared) * (1.0 - rho_squared) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use foot::Landmark;

    fn landmarks() -> Landmarks {
        [
            (LandmarkId::HeelCentre, DVec2::new(38.0, 0.0)),
            (LandmarkId::MetatarsaleTibiale, DVec2::new(180.0, 40.0)),
            (LandmarkId::MetatarsaleFibulare, DVec2::new(180.0, -50.0)),
        ]
        .into_iter()
        .map(|(id, at)| (id, Landmark { at: at.extend(10.0), confidence: 1.0, by_hand: false }))
        .collect()
    }

    #[test]
    fn the_pad_is_placed_behind_the_heads_between_the_second_and_third_ray() {
        let (landmarks, edge) = (landmarks(), crate::test_foot::edge());
        let params = MetatarsalPad.place(&Site { landmarks: &landmarks, edge: &edge });
        assert!((params["x_mm"] - 172.5).abs() < 1e-9 && (params["y_mm"] - 4.0).abs() < 1e-9);
        let setback = MetatarsalPad::setback_mm(&landmarks, &params).unwrap();
        assert!((5.0..=10.0).contains(&setback), "{setback} mm behind the heads");
        let mut too_far = params.clone();
        too_far.insert("x_mm".to_owned(), 184.0);
        assert!((MetatarsalPad::setback_mm(&landmarks, &too_far).unwrap() + 4.0).abs() < 1e-9);
        assert!(MetatarsalPad::setback_mm(&Landmarks::new(), &params).is_none());
    }

    #[test]
    fn the_crest_has_the_height_and_the_front_is_the_steeper_end() {
        let pad = Pad::read(&defaults(PARAMS));
        assert!((pad.height_at(pad.crest()) - 6.0).abs() < 1e-12);
        let steepest = |from: f64, to: f64| {
            let at = |s: f64| pad.height_at(pad.front - pad.axis * (pad.length * s));
            (0..100)
                .map(|i| from + (to - from) * f64::from(i) / 100.0)
                .map(|s| ((at(s + 1e-5) - at(s)) / (1e-5 * pad.length)).abs())
                .fold(0.0, f64::max)
        };
        let (front, rear) = (steepest(0.0, FRONT_SHARE), steepest(FRONT_SHARE, 1.0));
        // A quartic's steepest slope over its foot length is 8/(3√3) ≈ 1.54 times the mean one.
        let quartic = 8.0 / (3.0 * 3.0_f64.sqrt());
        assert!((front - quartic * 6.0 / (50.0 * FRONT_SHARE)).abs() < 0.01, "{front}");
        assert!((rear - quartic * 6.0 / (50.0 * (1.0 - FRONT_SHARE))).abs() < 0.01, "{rear}");
    }
}
