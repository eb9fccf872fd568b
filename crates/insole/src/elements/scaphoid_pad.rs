use super::figure::{dome, head, heel, mark};
use super::{Element, ElementItem, Handle, HandleKind, Shape, Site, angle_deg, direction, read, set};
use crate::Edge;
use base::{ParamSpec, Params, Source, defaults};
use foot::{LandmarkId, Landmarks};
use glam::DVec2;
use std::sync::Arc;

/// A half-oval pad in the medial arch under the navicular: highest near the medial edge, with a long slope to the lateral
/// side and a short one to the medial side, which may run over the edge.
///
/// The height is `h (1 − ρ²)²` over two half-ovals of one length, wide on the one side of the crest and narrow on the
/// other: together a third of the cylinder over them.
#[derive(Clone, Copy, Debug, Default)]
pub struct ScaphoidPad;

const PARAMS: &[ParamSpec] = &[
    ParamSpec::mm(
        "x_mm",
        "Crest, along",
        (-20.0, 350.0),
        102.0,
        1.0,
        "Its highest point, from the pternion towards the toes.",
    ),
    ParamSpec::mm(
        "y_mm",
        "Crest, across",
        (-80.0, 80.0),
        24.0,
        1.0,
        "Its highest point, from the foot axis to the medial side.",
    ),
    ParamSpec::deg(
        "angle_deg",
        "Direction of the high side",
        (-180.0, 180.0),
        90.0,
        "From the foot axis to the medial side: at 90° the pad is highest straight medially.",
    ),
    ParamSpec::mm("length_mm", "Length", (20.0, 140.0), 76.0, 1.0, "Along the foot, from end to end."),
    ParamSpec::mm("width_mm", "Slope inwards", (8.0, 80.0), 30.0, 1.0, "From the crest down to the lateral border."),
    ParamSpec::mm(
        "outer_mm",
        "Slope outwards",
        (4.0, 60.0),
        18.0,
        1.0,
        "From the crest down to the medial border, which may lie beyond the edge of the insole.",
    ),
    ParamSpec::mm("height_mm", "Height", (0.0, 20.0), 5.0, 0.5, "Height of the crest over the surface below."),
];

/// Place of the navicular on the way from the heel centre (0) to the first metatarsal head (1), where neither it nor the
/// arch's apex is known: its tuberosity at 0.385 of the foot length, heel centre at 0.15 and head at 0.74. From memory.
const NAVICULAR_SHARE: f64 = 0.4;
/// The crest's distance from the medial edge, as a share of the insole's width there. No source.
const FROM_EDGE: f64 = 0.12;
/// Length, slope inwards and slope outwards as shares of the same width. No source.
const SIZE: (f64, f64, f64) = (1.15, 0.45, 0.27);

impl Element for ScaphoidPad {
    fn id(&self) -> &'static str {
        "scaphoid_pad"
    }

    fn label(&self) -> &'static str {
        "Scaphoid pad"
    }

    fn help(&self) -> &'static str {
        "A pad in the medial arch under the navicular and the shelf of the heel bone behind it, highest near the medial edge. It \
         adds to the arch of the surface below."
    }

    fn caution(&self) -> &'static str {
        "Much height presses on the navicular and the soft tissue of the arch: raise it in steps, and inspect the skin of feet \
         that do not feel. A hot, swollen midfoot is no case for a pad: refer."
    }

    fn source(&self) -> Source {
        Source::practice("Place and size: common practice, no published value found")
    }

    fn params(&self) -> &'static [ParamSpec] {
        PARAMS
    }

    fn usual(&self, param: &str) -> Option<(f64, f64)> {
        match param {
            "height_mm" => Some((3.0, 8.0)),
            _ => None,
        }
    }

    /// Abreast of the navicular, a little inside the medial edge; abreast of the arch's apex where the navicular is missing.
    fn place(&self, site: &Site) -> Params {
        let mut params = defaults(PARAMS);
        let Some(bone) = navicular(site.landmarks) else { return params };
        let mut crest = bone;
        if let Some((lateral, medial)) = site.edge.width_at(bone.x) {
            let width = medial - lateral;
            crest.y = medial - FROM_EDGE * width;
            let (length, inwards, outwards) = SIZE;
            set(PARAMS, &mut params, "length_mm", (length * width).round());
            set(PARAMS, &mut params, "width_mm", (inwards * width).round());
            set(PARAMS, &mut params, "outer_mm", (outwards * width).round());
        }
        set(PARAMS, &mut params, "x_mm", crest.x);
        set(PARAMS, &mut params, "y_mm", crest.y);
        params
    }

    fn shape(&self, item: &ElementItem, _: &Arc<Edge>) -> Shape {
        let pad = Pad::read(item);
        Box::new(move |p| pad.height_at(p))
    }

    fn bounds(&self, item: &ElementItem, _: &Arc<Edge>) -> (DVec2, DVec2) {
        let pad = Pad::read(item);
        let along = (pad.high.perp() * pad.half_length).abs();
        let (inwards, outwards) = (pad.crest - pad.high * pad.inwards, pad.crest + pad.high * pad.outwards);
        (inwards.min(outwards) - along, inwards.max(outwards) + along)
    }

    fn strength(&self) -> &'static str {
        "height_mm"
    }

    fn crest(&self, item: &ElementItem, _: &Arc<Edge>) -> DVec2 {
        Pad::read(item).crest
    }

    fn handles(&self, item: &ElementItem, _: &Arc<Edge>) -> Vec<Handle> {
        let pad = Pad::read(item);
        let forward = -pad.high.perp();
        vec![
            Handle { id: "crest", label: "Move", kind: HandleKind::Point, at: pad.crest },
            Handle {
                id: "inner",
                label: "Slope inwards and direction",
                kind: HandleKind::Point,
                at: pad.crest - pad.high * pad.inwards,
            },
            Handle {
                id: "front",
                label: "Length",
                kind: HandleKind::Along(forward),
                at: pad.crest + forward * pad.half_length,
            },
            Handle {
                id: "outer",
                label: "Slope outwards",
                kind: HandleKind::Along(pad.high),
                at: pad.crest + pad.high * pad.outwards,
            },
        ]
    }

    fn drag(&self, item: &ElementItem, _: &Arc<Edge>, handle: &str, to: DVec2) -> Params {
        let mut out = item.params.clone();
        if !to.is_finite() {
            return out;
        }
        let pad = Pad::read(item);
        let from_crest = to - pad.crest;
        match handle {
            "crest" => {
                set(PARAMS, &mut out, "x_mm", to.x);
                set(PARAMS, &mut out, "y_mm", to.y);
            }
            "inner" => {
                set(PARAMS, &mut out, "width_mm", from_crest.length());
                if from_crest.length() > f64::EPSILON {
                    set(PARAMS, &mut out, "angle_deg", angle_deg(-from_crest));
                }
            }
            "front" => set(PARAMS, &mut out, "length_mm", -2.0 * from_crest.dot(pad.high.perp())),
            "outer" => set(PARAMS, &mut out, "outer_mm", from_crest.dot(pad.high)),
            _ => {}
        }
        out
    }
}

/// The pad's numbers, read once.
#[derive(Clone, Copy)]
struct Pad {
    crest: DVec2,
    /// Unit vector to the high side.
    high: DVec2,
    half_length: f64,
    inwards: f64,
    outwards: f64,
    height: f64,
}

impl Pad {
    fn read(item: &ElementItem) -> Pad {
        let value = |id| read(PARAMS, &item.params, id);
        Pad {
            crest: DVec2::new(value("x_mm"), value("y_mm")),
            high: direction(value("angle_deg")),
            half_length: value("length_mm") / 2.0,
            inwards: value("width_mm"),
            outwards: value("outer_mm"),
            height: value("height_mm"),
        }
    }

    fn height_at(&self, p: DVec2) -> f64 {
        let from_crest = p - self.crest;
        let out = from_crest.dot(self.high);
        let across = out / if out > 0.0 { self.outwards } else { self.inwards };
        let along = from_crest.dot(self.high.perp()) / self.half_length;
        self.height * dome(across * across + along * along)
    }
}

/// Where the navicular lies along the foot: the landmark, the arch's apex, or its usual place.
fn navicular(landmarks: &Landmarks) -> Option<DVec2> {
    mark(landmarks, LandmarkId::Navicular)
        .or_else(|| mark(landmarks, LandmarkId::ArchApex))
        .or_else(|| Some(heel(landmarks)?.lerp(head(landmarks, 1)?, NAVICULAR_SHARE)))
}

#[cfg(test)]
mod tests {
    use super::super::figure::volume_mm3;
    use super::*;
    use crate::test_foot::TestFoot;
    use foot::Landmark;

    #[test]
    fn it_is_placed_by_the_navicular_the_apex_or_the_first_ray_and_highest_medially() {
        let (mut foot, edge) = (TestFoot::new(), crate::test_foot::edge());
        let place = |landmarks: &Landmarks| ScaphoidPad.place(&Site { landmarks, edge: &edge });
        assert!((place(&foot.landmarks)["x_mm"] - 108.0).abs() < 1e-9, "abreast of the apex");
        let at = DVec2::new(100.0, 45.0).extend(30.0);
        foot.landmarks.insert(LandmarkId::Navicular, Landmark { at, confidence: 0.5, by_hand: false });
        let params = place(&foot.landmarks);
        assert!((params["x_mm"] - 100.0).abs() < 1e-9, "abreast of the navicular");
        // Inside the edge, though the navicular is not; higher at the medial edge than in the middle of the foot.
        let (lateral, medial) = edge.width_at(100.0).unwrap();
        let shape = ScaphoidPad.shape(&ElementItem::new("scaphoid_pad", params.clone()), &edge);
        assert!(params["y_mm"] < medial - 5.0 && (shape(DVec2::new(100.0, params["y_mm"])) - 5.0).abs() < 1e-12);
        let (at_edge, at_middle) =
            (shape(DVec2::new(100.0, medial)), shape(DVec2::new(100.0, (medial + lateral) / 2.0)));
        assert!(at_edge > 2.0 && at_middle < 0.5, "{at_edge} and {at_middle}");
        for id in [LandmarkId::Navicular, LandmarkId::ArchApex] {
            foot.landmarks.remove(&id);
        }
        let first = head(&foot.landmarks, 1).unwrap();
        assert!((place(&foot.landmarks)["x_mm"] - (38.0 + 0.4 * (first.x - 38.0))).abs() < 1e-9);
    }

    #[test]
    fn the_volume_is_a_third_of_the_cylinder_over_both_half_ovals() {
        let (item, edge) = (ElementItem::new("scaphoid_pad", defaults(PARAMS)), crate::test_foot::edge());
        let volume = volume_mm3(&ScaphoidPad.shape(&item, &edge), ScaphoidPad.bounds(&item, &edge), 0.2);
        let expected = 5.0 / 3.0 * std::f64::consts::PI * 38.0 * (30.0 + 18.0) / 2.0;
        assert!((volume / expected - 1.0).abs() < 1e-3, "{volume} mm³ for {expected}");
    }
}
