use super::{Element, ElementItem, Handle, HandleKind, Shape, Site, read, set};
use crate::Edge;
use crate::smooth::step;
use base::{ParamSpec, Params, Source, defaults};
use glam::DVec2;
use std::sync::Arc;

/// A groove along the insole's edge into which the edge of a cover is tucked or glued.
///
/// With s the distance from the groove's middle, as a share of half its width, its depth is `1 − 2 s²` up to s = ½ and
/// `2 (1 − s)²` from there to s = 1, times the depth.
#[derive(Clone, Copy, Debug, Default)]
pub struct CoverGroove;

/// Which part of the edge has it.
const STRETCH: ParamSpec = ParamSpec::choice("stretch", "Along", 3, "The part of the edge that has the groove.");
const STRETCHES: &[&str] = &["The whole edge", "In front of the line", "Behind the line"];

/// A groove that ends at the line runs out over this length, mm, half of it on either side of the line.
const END_MM: f64 = 20.0;
/// Its depth and its distance from the edge are taken hold of this far from the insole's ends and from the line, mm.
const HOLD_MM: f64 = 40.0;

const PARAMS: &[ParamSpec] = &[
    STRETCH,
    ParamSpec::mm(
        "x_mm",
        "Line",
        (-20.0, 350.0),
        150.0,
        1.0,
        "Where the groove ends, from the pternion towards the toes, unless it goes round the whole edge.",
    ),
    ParamSpec::mm("inset_mm", "Distance from the edge", (0.0, 10.0), 4.0, 0.5, "From the edge to the groove's middle."),
    ParamSpec::mm(
        "width_mm",
        "Width",
        (2.0, 6.0),
        3.0,
        0.5,
        "From one side of the groove to the other, at the surface.",
    ),
    ParamSpec::mm("depth_mm", "Depth", (0.0, 3.0), 1.0, 0.1, "How deep it is in its middle."),
];

impl Element for CoverGroove {
    fn id(&self) -> &'static str {
        "cover_groove"
    }

    fn label(&self) -> &'static str {
        "Cover groove"
    }

    fn help(&self) -> &'static str {
        "A groove along the edge that takes the edge of a cover, so that it lies flush and does not peel off. Make it as deep \
         as the cover is thick where it is tucked in."
    }

    fn caution(&self) -> &'static str {
        "A groove without its cover has two edges that the skin feels. It makes the insole thinner just inside its edge: see \
         that enough is left."
    }

    fn source(&self) -> Source {
        Source::practice("Place and size go by the cover: common practice, no published value found")
    }

    fn params(&self) -> &'static [ParamSpec] {
        PARAMS
    }

    fn words(&self, param: &str) -> &'static [&'static str] {
        if param == STRETCH.id { STRETCHES } else { &[] }
    }

    /// Round the whole edge; the line, should it be asked for, half way along the insole.
    fn place(&self, site: &Site) -> Params {
        let mut params = defaults(PARAMS);
        let (lo, hi) = site.edge.bounds();
        set(PARAMS, &mut params, "x_mm", (0.5 * (lo.x + hi.x)).round());
        params
    }

    fn shape(&self, item: &ElementItem, edge: &Arc<Edge>) -> Shape {
        let (groove, edge) = (Groove::read(item), Arc::clone(edge));
        let reach = groove.inset + groove.half_width;
        Box::new(move |p| {
            let share = groove.stretch.share(p.x);
            if share == 0.0 || !edge.may_be_within(p, reach) {
                return 0.0;
            }
            -share * groove.depth * profile((edge.inside_mm(p) - groove.inset).abs() / groove.half_width)
        })
    }

    fn bounds(&self, item: &ElementItem, edge: &Arc<Edge>) -> (DVec2, DVec2) {
        let groove = Groove::read(item);
        let (mut lo, mut hi) = edge.bounds();
        // Half of a groove on the edge itself lies outside; and the edge is a smooth curve near its polygon.
        let beyond = (groove.half_width - groove.inset).max(0.0) + 1.0;
        (lo, hi) = (lo - beyond, hi + beyond);
        match groove.stretch {
            Stretch::Whole => {}
            Stretch::InFrontOf(x) => lo.x = (x - 0.5 * END_MM).clamp(lo.x, hi.x),
            Stretch::Behind(x) => hi.x = (x + 0.5 * END_MM).clamp(lo.x, hi.x),
        }
        (lo, hi)
    }

    fn strength(&self) -> &'static str {
        "depth_mm"
    }

    fn crest(&self, item: &ElementItem, edge: &Arc<Edge>) -> DVec2 {
        let groove = Groove::read(item);
        groove.on_edge(edge) - DVec2::Y * groove.inset
    }

    fn handles(&self, item: &ElementItem, edge: &Arc<Edge>) -> Vec<Handle> {
        let mut all = Vec::new();
        if let Stretch::InFrontOf(x) | Stretch::Behind(x) = Groove::read(item).stretch {
            all.push(Handle { id: "line", label: "Move", kind: HandleKind::Along(DVec2::X), at: DVec2::new(x, 0.0) });
        }
        all.push(Handle {
            id: "inset",
            label: "Distance from the edge",
            kind: HandleKind::Along(-DVec2::Y),
            at: self.crest(item, edge),
        });
        all
    }

    fn drag(&self, item: &ElementItem, edge: &Arc<Edge>, handle: &str, to: DVec2) -> Params {
        let mut out = item.params.clone();
        if !to.is_finite() {
            return out;
        }
        match handle {
            "inset" => set(PARAMS, &mut out, "inset_mm", Groove::read(item).on_edge(edge).y - to.y),
            "line" => set(PARAMS, &mut out, "x_mm", to.x),
            _ => {}
        }
        out
    }
}

/// The groove's numbers, read once.
#[derive(Clone, Copy)]
struct Groove {
    stretch: Stretch,
    inset: f64,
    half_width: f64,
    depth: f64,
}

/// The part of the edge that has the groove.
#[derive(Clone, Copy)]
enum Stretch {
    Whole,
    InFrontOf(f64),
    Behind(f64),
}

impl Stretch {
    /// 1 where the groove is, 0 where it is not; half way at the line.
    fn share(self, x: f64) -> f64 {
        match self {
            Stretch::Whole => 1.0,
            Stretch::InFrontOf(line) => step(0.5 + (x - line) / END_MM),
            Stretch::Behind(line) => step(0.5 - (x - line) / END_MM),
        }
    }
}

impl Groove {
    fn read(item: &ElementItem) -> Groove {
        let value = |id| read(PARAMS, &item.params, id);
        let (stretch, line) = (value(STRETCH.id), value("x_mm"));
        Groove {
            stretch: if stretch < 0.5 {
                Stretch::Whole
            } else if stretch < 1.5 {
                Stretch::InFrontOf(line)
            } else {
                Stretch::Behind(line)
            },
            inset: value("inset_mm"),
            half_width: 0.5 * value("width_mm"),
            depth: value("depth_mm"),
        }
    }

    /// A point of the medial edge abreast of the groove.
    fn on_edge(&self, edge: &Edge) -> DVec2 {
        let (lo, hi) = edge.bounds();
        let x = match self.stretch {
            Stretch::Whole => lo.x + HOLD_MM,
            Stretch::InFrontOf(line) => line + HOLD_MM,
            Stretch::Behind(line) => line - HOLD_MM,
        };
        let x = x.max(lo.x + HOLD_MM).min(hi.x - HOLD_MM);
        DVec2::new(x, edge.width_at(x).map_or(0.0, |(_, medial)| medial))
    }
}

/// 1 at 0, falling to 0 at 1: two parabolas that meet half way.
fn profile(s: f64) -> f64 {
    if s < 0.5 {
        1.0 - 2.0 * s * s
    } else {
        let rest = (1.0 - s).max(0.0);
        2.0 * rest * rest
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shape(params: &[(&str, f64)]) -> Shape {
        let mut all = defaults(PARAMS);
        all.extend(params.iter().map(|&(id, value)| (id.to_owned(), value)));
        CoverGroove.shape(&ElementItem::new(CoverGroove.id(), all), &crate::test_foot::edge())
    }

    /// Least height within 3 mm of a point 4 mm inside the medial edge at `x`.
    fn deepest(shape: &Shape, x: f64) -> f64 {
        let medial = crate::test_foot::edge().width_at(x).unwrap().1;
        (-300..300).map(|i| shape(DVec2::new(x, medial - 4.0 + 0.01 * f64::from(i)))).fold(0.0, f64::min)
    }

    #[test]
    fn it_is_as_deep_and_as_wide_as_said_and_as_far_from_the_edge() {
        let (edge, shape) = (crate::test_foot::edge(), shape(&[("depth_mm", 1.2), ("width_mm", 4.0)]));
        let x = 90.0;
        let medial = edge.width_at(x).unwrap().1;
        for i in 0..1000 {
            let p = DVec2::new(x, medial - 0.01 * f64::from(i));
            let (inside, height) = (edge.inside_mm(p), shape(p));
            let from_middle = (inside - 4.0).abs();
            if from_middle >= 2.0 {
                assert!(height == 0.0);
            } else if (from_middle - 1.0).abs() < 0.005 {
                assert!((height + 0.6).abs() < 0.01, "half as deep half way to its side, not {height}");
            }
        }
        assert!((deepest(&shape, x) + 1.2).abs() < 1e-4);
    }

    /// Over the depth, each parabola pair is as large as half a block of the same width.
    #[test]
    fn its_cross_section_is_half_width_by_depth() {
        const N: i32 = 2000;
        let area: f64 = (0..N).map(|i| profile(((f64::from(i) + 0.5) / f64::from(N) * 2.0 - 1.0).abs())).sum();
        assert!((area / f64::from(N) - 0.5).abs() < 1e-6);
    }

    #[test]
    fn it_ends_at_the_line_if_asked_to() {
        let [whole, front, behind] = [0.0, 1.0, 2.0].map(|choice| shape(&[("stretch", choice), ("x_mm", 130.0)]));
        for (x, at_front, at_rear) in [(60.0, 0.0, 1.0), (119.0, 0.0, 1.0), (130.0, 0.5, 0.5), (200.0, 1.0, 0.0)] {
            let all = deepest(&whole, x);
            assert!((all + 1.0).abs() < 1e-3);
            assert!((deepest(&front, x) - at_front * all).abs() < 1e-9, "{x}");
            assert!((deepest(&behind, x) - at_rear * all).abs() < 1e-9, "{x}");
        }
    }
}
