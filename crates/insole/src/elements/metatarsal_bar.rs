use super::figure::{Band, BandPlace, fall, head, turned};
use super::{Element, ElementItem, Handle, HandleKind, Shape, Site, read, set};
use crate::Edge;
use base::{ParamSpec, Params, Source, defaults};
use glam::DVec2;
use std::sync::Arc;

/// A bar across the foot behind all metatarsal heads. Its front edge follows the line of the heads, an arc, at a signed
/// setback; a bevel rises from there to a flat top and another one falls behind it.
///
/// With both bevels quintics, half of each counts: the volume is
/// `h (top + front / 2 + rear / 2) (width − run-out)`, whatever the bow.
#[derive(Clone, Copy, Debug, Default)]
pub struct MetatarsalBar;

const PARAMS: &[ParamSpec] = &[
    ParamSpec::mm(
        "x_mm",
        "Line of the heads, along",
        (-20.0, 350.0),
        190.0,
        1.0,
        "Middle of the arc through the metatarsal heads, from the pternion towards the toes.",
    ),
    ParamSpec::mm(
        "y_mm",
        "Line of the heads, across",
        (-80.0, 80.0),
        0.0,
        1.0,
        "Middle of the arc through the metatarsal heads, from the foot axis to the medial side.",
    ),
    turned(-12.0),
    ParamSpec::mm(
        "bow_mm",
        "Bow",
        (-10.0, 50.0),
        14.0,
        0.5,
        "How far the ends of the bar lie behind its middle, so that its front edge follows the heads.",
    ),
    ParamSpec::mm(
        "setback_mm",
        "Setback",
        (-20.0, 40.0),
        7.5,
        0.5,
        "The front edge lies this far behind the line of the heads; negative: in front of it. Usual 5 to 10 mm; the trials \
         disagree on the best place.",
    ),
    ParamSpec::mm("width_mm", "Width", (40.0, 160.0), 95.0, 1.0, "Across the foot, from one end to the other."),
    ParamSpec::mm("top_mm", "Flat top", (0.0, 40.0), 6.0, 1.0, "Length of the flat top between the two bevels."),
    ParamSpec::mm(
        "front_bevel_mm",
        "Front bevel",
        (5.0, 40.0),
        10.0,
        1.0,
        "From the front edge up to the top. A published pad has 10 mm.",
    ),
    ParamSpec::mm(
        "rear_bevel_mm",
        "Rear bevel",
        (5.0, 60.0),
        25.0,
        1.0,
        "From the top down to the rear edge. A published pad has 25 mm.",
    ),
    ParamSpec::mm("height_mm", "Height", (0.0, 15.0), 5.0, 0.5, "Height of the top over the surface below."),
];

/// Its ends run out to the sides over this, mm. No source.
const RUN_OUT_MM: f64 = 12.0;

impl Element for MetatarsalBar {
    fn id(&self) -> &'static str {
        "metatarsal_bar"
    }

    fn label(&self) -> &'static str {
        "Metatarsal bar"
    }

    fn help(&self) -> &'static str {
        "A bar behind all metatarsal heads that carries their shafts. With a measured pressure map its front edge belongs on \
         the contour of 77 % of the peak pressure; without one, some mm behind the heads. Verify it."
    }

    fn caution(&self) -> &'static str {
        "A bar under the heads instead of behind them presses where it should relieve. Measure the pressure with it, above \
         all where the foot does not feel."
    }

    fn source(&self) -> Source {
        Source::seen(
            "front edge on the contour of 77 % of the peak: Martinez-Santos et al. 2019 (10.1186/s13047-019-0344-z); place \
             behind the heads: Hsi et al. 2005, Am J Phys Med Rehabil 84:514, and J Foot Ankle Res 2014 7:18 (they disagree); \
             bevels of 10 and 25 mm: supplement \"Further details of forefoot pad fabrication and fitting\"",
        )
    }

    fn params(&self) -> &'static [ParamSpec] {
        PARAMS
    }

    fn usual(&self, param: &str) -> Option<(f64, f64)> {
        match param {
            "setback_mm" => Some((5.0, 10.0)),
            _ => None,
        }
    }

    /// Along the heads, whose arc is the parabola through the first and the fifth that lies nearest to the three between
    /// them; from edge to edge.
    fn place(&self, site: &Site) -> Params {
        let mut params = defaults(PARAMS);
        let heads: Option<Vec<DVec2>> = (1..=5).map(|ray| head(site.landmarks, ray)).collect();
        let Some(heads) = heads else { return params };
        if let Some(arc) = BandPlace::through(&heads) {
            let half_span =
                site.edge.width_at(arc.top.x).map_or(arc.half, |(lateral, medial)| (medial - lateral) / 2.0);
            arc.set(PARAMS, &mut params, "width_mm", half_span);
        }
        params
    }

    fn shape(&self, item: &ElementItem, _: &Arc<Edge>) -> Shape {
        let bar = Bar::read(item);
        Box::new(move |p| bar.height_at(p))
    }

    fn bounds(&self, item: &ElementItem, _: &Arc<Edge>) -> (DVec2, DVec2) {
        let bar = Bar::read(item);
        bar.band.bounds(bar.rear(), -bar.setback)
    }

    fn strength(&self) -> &'static str {
        "height_mm"
    }

    fn crest(&self, item: &ElementItem, _: &Arc<Edge>) -> DVec2 {
        let bar = Bar::read(item);
        bar.band.at(DVec2::new(bar.top_front() - bar.top / 2.0, 0.0))
    }

    fn handles(&self, item: &ElementItem, _: &Arc<Edge>) -> Vec<Handle> {
        let bar = Bar::read(item);
        let mut all = bar.band.handles(bar.top_front());
        let (front, back) = (HandleKind::Along(bar.band.axis), HandleKind::Along(-bar.band.axis));
        let at = |along| bar.band.at(DVec2::new(along, 0.0));
        all.extend([
            Handle { id: "front", label: "Setback of the front edge", kind: front, at: at(-bar.setback) },
            Handle { id: "top", label: "Flat top", kind: back, at: at(bar.top_front() - bar.top) },
            Handle { id: "rear", label: "Rear bevel", kind: back, at: at(bar.rear()) },
        ]);
        all
    }

    fn drag(&self, item: &ElementItem, _: &Arc<Edge>, handle: &str, to: DVec2) -> Params {
        let mut out = item.params.clone();
        if !to.is_finite() {
            return out;
        }
        let bar = Bar::read(item);
        let along = (to - bar.band.middle).dot(bar.band.axis);
        match handle {
            "front" => set(PARAMS, &mut out, "setback_mm", -along),
            "top" => set(PARAMS, &mut out, "top_mm", bar.top_front() - along),
            "rear" => set(PARAMS, &mut out, "rear_bevel_mm", bar.top_front() - bar.top - along),
            _ => bar.band.drag(PARAMS, &mut out, handle, bar.top_front(), to),
        }
        out
    }
}

/// The bar's numbers, read once.
#[derive(Clone, Copy)]
struct Bar {
    band: Band,
    setback: f64,
    front_bevel: f64,
    top: f64,
    rear_bevel: f64,
    height: f64,
}

impl Bar {
    fn read(item: &ElementItem) -> Bar {
        let value = |id| read(PARAMS, &item.params, id);
        Bar {
            band: Band::read(PARAMS, item, "width_mm", RUN_OUT_MM),
            setback: value("setback_mm"),
            front_bevel: value("front_bevel_mm"),
            top: value("top_mm"),
            rear_bevel: value("rear_bevel_mm"),
            height: value("height_mm"),
        }
    }

    /// Front end of the flat top, from the line of the heads forward.
    fn top_front(&self) -> f64 {
        -self.setback - self.front_bevel
    }

    /// Rear edge, from the line of the heads forward.
    fn rear(&self) -> f64 {
        self.top_front() - self.top - self.rear_bevel
    }

    fn height_at(&self, p: DVec2) -> f64 {
        let local = self.band.local(p);
        let (ahead, behind) = (local.x - self.top_front(), self.top_front() - self.top - local.x);
        if ahead >= self.front_bevel || behind >= self.rear_bevel {
            return 0.0;
        }
        // Never on both bevels at once.
        let along = if ahead > 0.0 { fall(ahead, self.front_bevel) } else { fall(behind, self.rear_bevel) };
        self.height * along * self.band.share(local.y)
    }
}

#[cfg(test)]
mod tests {
    use super::super::figure::volume_mm3;
    use super::*;
    use foot::{Landmark, LandmarkId, Landmarks};

    /// Heads on a parabola 12 mm high over a chord of 64 mm, square to the foot axis and turned by 15°.
    fn heads() -> (Landmarks, DVec2, DVec2) {
        let (top, axis) = (DVec2::new(188.0, -3.0), super::super::direction(-15.0));
        let landmarks = LandmarkId::METATARSAL_HEADS
            .into_iter()
            .zip([32.0, 15.0, 0.0, -14.0, -32.0])
            .map(|(id, across): (_, f64)| {
                let at = top - axis * (12.0 * (across / 32.0) * (across / 32.0)) + axis.perp() * across;
                (id, Landmark { at: at.extend(5.0), confidence: 1.0, by_hand: true })
            })
            .collect();
        (landmarks, top, axis)
    }

    #[test]
    fn the_front_edge_lies_at_the_setback_behind_every_head() {
        let (landmarks, top, axis) = heads();
        let edge = crate::test_foot::edge();
        let params = MetatarsalBar.place(&Site { landmarks: &landmarks, edge: &edge });
        assert!(DVec2::new(params["x_mm"], params["y_mm"]).distance(top) < 1e-9);
        assert!((params["angle_deg"] + 15.0).abs() < 1e-9);
        let (lateral, medial) = edge.width_at(top.x).unwrap();
        assert!((params["width_mm"] - (medial - lateral)).abs() < 1e-9);
        let shape = MetatarsalBar.shape(&ElementItem::new("metatarsal_bar", params), &edge);
        for mark in landmarks.values() {
            let front = mark.at.truncate() - axis * 7.5;
            assert!(shape(front + axis * 0.01) == 0.0 && shape(front - axis) > 1e-4, "at {front}");
        }
    }

    #[test]
    fn bevels_and_top_have_their_lengths_and_the_volume_is_as_by_the_formula() {
        let item = ElementItem::new("metatarsal_bar", defaults(PARAMS));
        let edge = crate::test_foot::edge();
        let (shape, bar) = (MetatarsalBar.shape(&item, &edge), Bar::read(&item));
        // Behind the line of the heads: setback 7.5, bevel 10, top 6, bevel 25 mm; height 5 mm.
        for (behind, height) in
            [(7.5, 0.0), (12.5, 2.5), (17.5, 5.0), (20.0, 5.0), (23.5, 5.0), (36.0, 2.5), (48.5, 0.0)]
        {
            let is = shape(bar.band.at(DVec2::new(-behind, 10.0)));
            assert!((is - height).abs() < 1e-9, "{is} at {behind}");
        }
        let expected = 5.0 * (6.0 + 5.0 + 12.5) * (95.0 - RUN_OUT_MM);
        let volume = volume_mm3(&shape, MetatarsalBar.bounds(&item, &edge), 0.2);
        assert!((volume / expected - 1.0).abs() < 1e-3, "{volume} mm³ for {expected}");
    }
}
