use super::figure::{ball_line, choice, mark};
use super::{Element, ElementItem, Handle, HandleKind, Shape, Site, angle_deg, direction, read, set};
use crate::Edge;
use crate::smooth::step_over;
use base::{ParamSpec, Params, Source, defaults};
use foot::{LandmarkId, Landmarks};
use glam::DVec2;
use std::sync::Arc;

/// A dome behind the metatarsal heads: a drop, rounded in front and tapered to the rear, or one of the other outlines pads
/// are sold in.
///
/// With t the distance from the crest along the axis, as a share of the front or the rear part, and v the distance
/// from the axis, the height is `h (1 − ρ²)²` with `ρ² = t² + (v / (w q))²`. `q` is 1 in front of the crest and narrows
/// behind it as the outline says: `1 − taper t²` for a drop. A bean is an oval whose sides are shifted to the rear by the
/// square of v. Zero with zero slope from ρ = 1 on.
#[derive(Clone, Copy, Debug, Default)]
pub struct MetatarsalPad;

/// Share of the pad's length in front of its crest. A published pad has its distal bevel over 10 mm and its proximal
/// one over 25 mm (supplement to a forefoot pad trial, "Further details of forefoot pad fabrication and fitting"): 10 / 35.
const FRONT_SHARE: f64 = 10.0 / 35.0;

/// What makes an outline, as shares of the pad's length and width.
#[derive(Clone, Copy, Debug)]
struct Outline {
    /// Length in front of the crest.
    front: f64,
    /// Length behind the crest, in the middle of the width.
    rear: f64,
    /// How much narrower the rear end is than an ellipse, growing from the crest.
    taper: f64,
    /// How much narrower the stem is than the front, from [`STEM_FROM`] behind the crest on.
    stem: f64,
    /// How far the sides are shifted to the rear, as a share of the length.
    bend: f64,
}

const OUTLINE_WORDS: &[&str] = &["Drop", "Oval", "Bean", "T-shaped", "Half-round"];

/// The outlines in the order of [`OUTLINE_WORDS`]. Common shapes, no source for the numbers.
const OUTLINES: [Outline; 5] = [
    // Towards a taper of 1 the rear becomes a point; this much looks like a drop.
    Outline { front: FRONT_SHARE, rear: 1.0 - FRONT_SHARE, taper: 0.4, stem: 0.0, bend: 0.0 },
    Outline { front: 0.5, rear: 0.5, taper: 0.0, stem: 0.0, bend: 0.0 },
    // The rear edge is hollow where the rear is shorter than twice the bend, and the lobes beside the hollow reach
    // rear² / (4 bend) + bend behind the crest: 0.2 + 0.45, with 0.35 in front the whole length.
    Outline { front: 0.35, rear: 0.6, taper: 0.0, stem: 0.0, bend: 0.45 },
    Outline { front: FRONT_SHARE, rear: 1.0 - FRONT_SHARE, taper: 0.0, stem: 0.6, bend: 0.0 },
    // Nearly straight in front: for a narrow foot, whose heads leave no room for a rounded front.
    Outline { front: 0.2, rear: 0.8, taper: 0.0, stem: 0.0, bend: 0.0 },
];

/// Where a stem narrows, from the crest (0) to the rear end (1).
const STEM_FROM: (f64, f64) = (0.0, 0.6);

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
    ParamSpec::choice(
        "outline",
        "Outline",
        OUTLINE_WORDS.len() as u8,
        "Its form in plan, within the same length and width. A bean follows the heads in an arc; a T carries them widely on \
         a narrow stem; a half-round takes least room in front.",
    ),
];

/// The pad's numbers, read once.
#[derive(Clone, Copy)]
struct Pad {
    front: DVec2,
    axis: DVec2,
    length: f64,
    half_width: f64,
    height: f64,
    outline: Outline,
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

    fn words(&self, param: &str) -> &'static [&'static str] {
        if param == "outline" { OUTLINE_WORDS } else { &[] }
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
                at: pad.crest() + across * pad.half_width - pad.axis * (pad.outline.bend * pad.length),
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
            outline: OUTLINES[choice(PARAMS, params, "outline").min(OUTLINES.len() - 1)],
        }
    }

    fn crest(&self) -> DVec2 {
        self.front - self.axis * (self.length * self.outline.front)
    }

    fn height_at(&self, p: DVec2) -> f64 {
        let from_crest = p - self.crest();
        let Outline { front, rear, taper, stem, bend } = self.outline;
        let v = from_crest.dot(self.axis.perp());
        let across = v / self.half_width;
        if across.abs() >= 1.0 {
            return 0.0;
        }
        let along = from_crest.dot(self.axis) + bend * self.length * (across * across);
        let ahead = along > 0.0;
        let t = along / (self.length * if ahead { front } else { rear });
        if t.abs() >= 1.0 {
            return 0.0;
        }
        let narrowed = taper * t * t + stem * step_over(STEM_FROM.0, STEM_FROM.1, t.abs());
        let half_width = self.half_width * if ahead { 1.0 } else { 1.0 - narrowed };
        let within = (1.0 - (t * t + (v / half_width) * (v / half_width))).max(0.0);
        self.height * within * within
    }
}

#[cfg(test)]
mod tests {
    use super::super::figure::volume_mm3;
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

    fn with_outline(index: usize) -> (Shape, (DVec2, DVec2)) {
        let mut item = ElementItem::new("metatarsal_pad", defaults(PARAMS));
        item.params.insert("outline".to_owned(), index as f64);
        let edge = crate::test_foot::edge();
        (MetatarsalPad.shape(&item, &edge), MetatarsalPad.bounds(&item, &edge))
    }

    /// A dome `(1 − ρ²)²` over an ellipse holds a third of the cylinder over it. Where a rear half is narrowed by
    /// `1 − taper t²`, it holds `1 − taper / 8` of that, the mean of t² weighted by `(1 − t²)^(5/2)` being 1/8. Bending
    /// changes nothing.
    #[test]
    fn volumes_are_those_of_domes_over_the_outlines() {
        let (height, length, half_width) = (6.0, 50.0, 20.0);
        for (index, outline) in OUTLINES.iter().enumerate().filter(|(_, outline)| outline.stem.abs() < 1e-9) {
            let (shape, bounds) = with_outline(index);
            let whole = height * std::f64::consts::PI / 3.0 * half_width * length / 2.0;
            let expected = whole * (outline.front + outline.rear * (1.0 - outline.taper / 8.0));
            let volume = volume_mm3(&shape, bounds, 0.1);
            assert!((volume / expected - 1.0).abs() < 1e-3, "{}: {volume} mm³ for {expected}", OUTLINE_WORDS[index]);
        }
    }

    #[test]
    fn every_outline_fills_the_length_and_the_width() {
        for (index, word) in OUTLINE_WORDS.iter().enumerate() {
            let (shape, (lo, hi)) = with_outline(index);
            let grid = mesh::Grid::over(lo, hi, 0.1);
            let inside = (0..grid.values.len())
                .map(|i| grid.at(i % grid.columns, i / grid.columns))
                .filter(|&p| shape(p) > 1e-9)
                .fold((hi, lo), |(least, most), p| (least.min(p), most.max(p)));
            for (is, must) in [(inside.0, lo), (inside.1, hi)] {
                // Where an end is hardly there it is too low to be seen.
                assert!((is - must).abs().max_element() < 0.35, "{word}: {is} instead of {must}");
            }
        }
    }

    #[test]
    fn a_t_has_a_stem_a_bean_a_hollow_rear_and_a_half_round_a_short_front() {
        let at = |index: usize, along: f64, v: f64| with_outline(index).0(DVec2::new(170.0 - 50.0 * along, v));
        // Far behind, the T is narrower than 0.4 of its width, where the oval is not.
        assert!(at(3, 0.7, 8.1) == 0.0 && at(1, 0.7, 8.1) > 0.5 && at(3, 0.7, 5.0) > 0.1);
        // The lobes of the bean reach further back than its middle.
        assert!(at(2, 0.951, 0.0) == 0.0 && at(2, 0.951, 14.9) > 0.01);
        // 10 mm from the front edge to the crest.
        assert!((at(4, 0.2, 0.0) - 6.0).abs() < 1e-12);
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
