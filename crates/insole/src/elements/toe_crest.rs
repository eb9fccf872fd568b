use super::figure::{Band, BandPlace, head, mark, tip, turned};
use super::{Element, ElementItem, Handle, HandleKind, Shape, Site, read, set};
use crate::Edge;
use crate::smooth::bump;
use base::{ParamSpec, Params, Source, defaults};
use foot::{LandmarkId, Landmarks};
use glam::DVec2;
use std::sync::Arc;

/// A ridge under the crook of the toes 2 to 4, in an arc as the toes lie.
///
/// Across the ridge the height is `h (1 − t²)²`, so its volume is `8/15 h width (length − run-out)`, whatever the bow.
#[derive(Clone, Copy, Debug, Default)]
pub struct ToeCrest;

const PARAMS: &[ParamSpec] = &[
    ParamSpec::mm(
        "x_mm",
        "Crest, along",
        (-20.0, 350.0),
        230.0,
        1.0,
        "Middle of the ridge, from the pternion towards the toes.",
    ),
    ParamSpec::mm(
        "y_mm",
        "Crest, across",
        (-80.0, 80.0),
        -12.0,
        1.0,
        "Middle of the ridge, from the foot axis to the medial side.",
    ),
    turned(-18.0),
    ParamSpec::mm(
        "bow_mm",
        "Bow",
        (-10.0, 30.0),
        3.0,
        0.5,
        "How far the ends of the ridge lie behind its middle, so that it follows the toes.",
    ),
    ParamSpec::mm("length_mm", "Length", (20.0, 110.0), 52.0, 1.0, "Across the foot, from one end to the other."),
    ParamSpec::mm("width_mm", "Width", (6.0, 40.0), 16.0, 1.0, "From the front foot of the ridge to its rear foot."),
    ParamSpec::mm("height_mm", "Height", (0.0, 15.0), 5.0, 0.5, "Height of the ridge over the surface below."),
];

/// Its ends run out over this, mm. No source.
const RUN_OUT_MM: f64 = 8.0;
/// Where a toe's crook lies, from the metatarsal head (0) to the tip of the toe (1). No source.
const CROOK: f64 = 0.6;

impl Element for ToeCrest {
    fn id(&self) -> &'static str {
        "toe_crest"
    }

    fn label(&self) -> &'static str {
        "Toe crest"
    }

    fn help(&self) -> &'static str {
        "A ridge under the crook of the toes 2 to 4 that fills the room below clawed or hammered toes, so that their tips carry \
         less. It belongs behind the pulps of the toes and in front of the metatarsal heads."
    }

    fn caution(&self) -> &'static str {
        "It must fill the room, not press: feel for the crook of each toe, leave room above the toes in the shoe, and inspect \
         the skin of feet that do not feel."
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

    /// Along the crooks of the toes 2 to 4, with half a toe more at either end.
    fn place(&self, site: &Site) -> Params {
        let mut params = defaults(PARAMS);
        if let Some(arc) = crooks(site.landmarks).and_then(|crooks| BandPlace::through(&crooks)) {
            // Two toes lie between the middles of the outer ones; half the run-out carries as well.
            arc.set(PARAMS, &mut params, "length_mm", arc.half * 1.5 + RUN_OUT_MM / 2.0);
        }
        params
    }

    fn shape(&self, item: &ElementItem, _: &Arc<Edge>) -> Shape {
        let ridge = Ridge::read(item);
        Box::new(move |p| ridge.height_at(p))
    }

    fn bounds(&self, item: &ElementItem, _: &Arc<Edge>) -> (DVec2, DVec2) {
        let ridge = Ridge::read(item);
        ridge.band.bounds(-ridge.half_width, ridge.half_width)
    }

    fn strength(&self) -> &'static str {
        "height_mm"
    }

    fn crest(&self, item: &ElementItem, _: &Arc<Edge>) -> DVec2 {
        Ridge::read(item).band.middle
    }

    fn handles(&self, item: &ElementItem, _: &Arc<Edge>) -> Vec<Handle> {
        let ridge = Ridge::read(item);
        let mut all = ridge.band.handles(0.0);
        all.push(Handle {
            id: "front",
            label: "Width",
            kind: HandleKind::Along(ridge.band.axis),
            at: ridge.band.at(DVec2::new(ridge.half_width, 0.0)),
        });
        all
    }

    fn drag(&self, item: &ElementItem, _: &Arc<Edge>, handle: &str, to: DVec2) -> Params {
        let mut out = item.params.clone();
        if !to.is_finite() {
            return out;
        }
        let band = Ridge::read(item).band;
        match handle {
            "front" => set(PARAMS, &mut out, "width_mm", 2.0 * (to - band.middle).dot(band.axis)),
            _ => band.drag(PARAMS, &mut out, handle, 0.0, to),
        }
        out
    }
}

/// The ridge's numbers, read once.
#[derive(Clone, Copy)]
struct Ridge {
    band: Band,
    half_width: f64,
    height: f64,
}

impl Ridge {
    fn read(item: &ElementItem) -> Ridge {
        Ridge {
            band: Band::read(PARAMS, item, "length_mm", RUN_OUT_MM),
            half_width: read(PARAMS, &item.params, "width_mm") / 2.0,
            height: read(PARAMS, &item.params, "height_mm"),
        }
    }

    fn height_at(&self, p: DVec2) -> f64 {
        let local = self.band.local(p);
        let t = local.x / self.half_width;
        if t.abs() >= 1.0 { 0.0 } else { self.height * bump(t) * self.band.share(local.y) }
    }
}

/// The crooks of the toes 2 to 4, medial to lateral. A toe whose tip is not known is taken to be as long as the nearest one
/// that is, and all to end as far forward as the foremost where none is.
fn crooks(landmarks: &Landmarks) -> Option<[DVec2; 3]> {
    let heads = [head(landmarks, 2)?, head(landmarks, 3)?, head(landmarks, 4)?];
    let mut toes = [2, 3, 4].map(|ray| tip(landmarks, ray).map(|tip| tip - heads[ray - 2]));
    if toes.iter().all(Option::is_none) {
        let foremost = mark(landmarks, LandmarkId::Akropodion).or_else(|| tip(landmarks, 1))?;
        toes[0] = Some(DVec2::new(foremost.x - heads[0].x, 0.0));
    }
    let toe = |ray: usize| toes[ray].or(toes[1]).or(toes[2 - ray]).or(toes[0]).or(toes[2]);
    Some([heads[0] + toe(0)? * CROOK, heads[1] + toe(1)? * CROOK, heads[2] + toe(2)? * CROOK])
}

#[cfg(test)]
mod tests {
    use super::super::figure::volume_mm3;
    use super::*;
    use foot::Landmark;

    fn landmarks(marks: &[(LandmarkId, f64, f64)]) -> Landmarks {
        let ball = [(LandmarkId::MetatarsaleTibiale, 192.0, 43.0), (LandmarkId::MetatarsaleFibulare, 168.0, -50.0)];
        let all = marks.iter().chain(&ball);
        all.map(|&(id, x, y)| (id, Landmark { at: glam::DVec3::new(x, y, 4.0), confidence: 1.0, by_hand: true }))
            .collect()
    }

    #[test]
    fn the_crest_lies_between_heads_and_tips_of_the_toes_2_to_4() {
        let marks = landmarks(&[
            (LandmarkId::SecondToeTip, 255.0, 8.0),
            (LandmarkId::ThirdToeTip, 246.0, -9.0),
            (LandmarkId::FourthToeTip, 232.0, -24.0),
        ]);
        let edge = crate::test_foot::edge();
        let params = ToeCrest.place(&Site { landmarks: &marks, edge: &edge });
        let shape = ToeCrest.shape(&ElementItem::new("toe_crest", params), &edge);
        for ray in 2..=4 {
            let (head, tip) = (head(&marks, ray).unwrap(), tip(&marks, ray).unwrap());
            assert!((shape(head.lerp(tip, CROOK)) - 5.0).abs() < 1e-6, "ray {ray}");
            assert!(shape(head) == 0.0 && shape(tip) == 0.0, "ray {ray}");
        }
    }

    #[test]
    fn toes_that_are_not_known_are_taken_from_those_that_are() {
        let second = landmarks(&[(LandmarkId::SecondToeTip, 255.0, 8.0)]);
        let foremost = landmarks(&[(LandmarkId::Akropodion, 258.0, 20.0)]);
        for (marks, tip) in
            [(&second, DVec2::new(255.0, 8.0)), (&foremost, DVec2::new(258.0, head(&foremost, 2).unwrap().y))]
        {
            let found = crooks(marks).unwrap();
            assert!(found[0].distance(head(marks, 2).unwrap().lerp(tip, CROOK)) < 1e-9);
            for (ray, crook) in (2..=4).zip(found) {
                let ahead = crook - head(marks, ray).unwrap();
                assert!(ahead.distance(found[0] - head(marks, 2).unwrap()) < 1e-9);
            }
        }
        assert!(crooks(&landmarks(&[])).is_none());
    }

    #[test]
    fn the_volume_is_that_of_a_quartic_ridge() {
        let (item, edge) = (ElementItem::new("toe_crest", defaults(PARAMS)), crate::test_foot::edge());
        let volume = volume_mm3(&ToeCrest.shape(&item, &edge), ToeCrest.bounds(&item, &edge), 0.2);
        let expected = 8.0 / 15.0 * 5.0 * 16.0 * (52.0 - RUN_OUT_MM);
        assert!((volume / expected - 1.0).abs() < 1e-3, "{volume} mm³ for {expected}");
    }
}
