use crate::elements::{self, ElementItem, Face, Shape};
use crate::smooth::{greater, lesser};
use crate::{BaseSurface, Sculpt};
use base::{Report, Severity};
use glam::DVec2;
use serde::Serialize;
use std::sync::Arc;

/// Where an insole would be thinner than this, the solid is kept this thick, mm: closed files stay valid whatever was
/// designed. Far below anything that can be worn; the finding on the minimum thickness comes long before.
pub const SOLID_MIN_MM: f64 = 0.4;

/// The whole insole: bearing surface, elements, cover, underside and the finish of its edge.
///
/// From above: the **bearing** surface, which the foot meets, with the cover on if there is one; the **top** of the insole that
/// is made, lower by the cover; the **bottom**. Both faces end at the edge with the finish that was asked for: the upper
/// edge rounded over, the lower one bevelled. The bottom stays where it is, whatever the elements on top do. Where they
/// would take the top nearer to it than [`SOLID_MIN_MM`], [`Surface::top`] stops there, while [`Surface::thickness`] tells
/// what was designed, so that a shortfall is always seen: nothing is repaired silently.
pub struct Surface {
    base: Arc<BaseSurface>,
    placed: Vec<Placed>,
    sculpted: Option<Arc<Sculpt>>,
}

/// An extreme value and its place.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Extreme {
    /// The value, mm.
    pub mm: f64,
    /// Where, foot frame, mm.
    pub at: DVec2,
}

/// A thickness beside the least one asked for, and its place.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Thin {
    /// The thickness as designed, mm.
    pub mm: f64,
    /// The least thickness asked for there, mm.
    pub least_mm: f64,
    /// Where, foot frame, mm.
    pub at: DVec2,
}

impl Thin {
    /// How much is missing, mm; negative where there is more than asked for.
    #[must_use]
    pub fn missing_mm(&self) -> f64 {
        self.least_mm - self.mm
    }

    /// The one of both that misses more; this one where both miss as much.
    #[must_use]
    pub fn worse(self, other: Thin) -> Thin {
        if other.missing_mm() > self.missing_mm() { other } else { self }
    }
}

struct Placed {
    face: Face,
    lo: DVec2,
    hi: DVec2,
    shape: Shape,
}

impl Surface {
    /// Puts the elements that are on and what was sculpted onto `base`. A kind this version does not know adds nothing and
    /// is noted.
    #[must_use]
    pub fn new(
        base: Arc<BaseSurface>,
        items: &[ElementItem],
        sculpted: Option<Arc<Sculpt>>,
        report: &mut Report,
    ) -> Surface {
        let mut placed = Vec::new();
        for item in items.iter().filter(|item| item.on) {
            let Some(element) = elements::by_id(&item.kind) else {
                report.add(
                    Severity::Check,
                    "unknown_element",
                    format!(
                        "element {} is of the kind \"{}\", which this version does not know: it is left out",
                        item.id, item.kind
                    ),
                    "Open the case with the version that made it, or remove the element.",
                );
                continue;
            };
            let (lo, hi) = element.bounds(item, base.edge());
            placed.push(Placed { face: element.face(), lo, hi, shape: element.shape(item, base.edge()) });
        }
        Surface { base, placed, sculpted }
    }

    /// The bearing surface below the elements.
    #[must_use]
    pub fn base(&self) -> &BaseSurface {
        &self.base
    }

    /// Height of the surface that the foot meets, mm: bearing surface, elements and what was sculpted, on top of the cover.
    #[must_use]
    pub fn bearing(&self, p: DVec2) -> f64 {
        self.top(p) + self.base.cover_mm()
    }

    /// Height of the top of the insole made, below the cover, mm; at least [`SOLID_MIN_MM`] over the bottom.
    #[must_use]
    pub fn top(&self, p: DVec2) -> f64 {
        let (top, bottom) = self.faces(p);
        top.max(bottom + SOLID_MIN_MM)
    }

    /// Height of the bottom, mm.
    #[must_use]
    pub fn bottom(&self, p: DVec2) -> f64 {
        self.faces(p).1
    }

    /// Top and bottom at `p`, each as [`Surface::top`] and [`Surface::bottom`]: cheaper than both.
    #[must_use]
    pub fn top_and_bottom(&self, p: DVec2) -> (f64, f64) {
        let (top, bottom) = self.faces(p);
        (top.max(bottom + SOLID_MIN_MM), bottom)
    }

    /// Thickness of the insole made as designed, before its edge is finished, mm; less than [`SOLID_MIN_MM`], even below 0,
    /// where a recess takes too much away.
    #[must_use]
    pub fn thickness(&self, p: DVec2) -> f64 {
        let (top, bottom) = self.unfinished(p);
        top - bottom
    }

    /// Height of the surface that the foot meets and thickness of the insole, both before the edge is finished, mm.
    #[must_use]
    pub fn height_and_thickness(&self, p: DVec2) -> (f64, f64) {
        let (top, bottom) = self.unfinished(p);
        (top + self.base.cover_mm(), top - bottom)
    }

    /// Where of `points` the thickness falls shortest of, or exceeds least, what its area asks for; `None` without points.
    #[must_use]
    pub fn thinnest(&self, points: impl IntoIterator<Item = DVec2>) -> Option<Thin> {
        points.into_iter().map(|at| self.thin(at, self.thickness(at))).reduce(Thin::worse)
    }

    /// The thickness `mm` at `p` beside what is asked for there.
    #[must_use]
    pub fn thin(&self, at: DVec2, mm: f64) -> Thin {
        Thin { mm, least_mm: self.base.least_thickness_mm(at), at }
    }

    /// Top and bottom before the edge is finished, the top below the cover.
    fn unfinished(&self, p: DVec2) -> (f64, f64) {
        let mut top = self.base.height(p);
        let mut bottom = self.base.underside_below(p, top);
        for placed in &self.placed {
            if p.cmpge(placed.lo).all() && p.cmple(placed.hi).all() {
                match placed.face {
                    Face::Top => top += (placed.shape)(p),
                    Face::Bottom => bottom -= (placed.shape)(p),
                }
            }
        }
        if let Some(sculpted) = &self.sculpted {
            top += sculpted.height(p);
        }
        (top - self.base.cover_mm(), bottom)
    }

    /// Top and bottom with the edge finished.
    fn faces(&self, p: DVec2) -> (f64, f64) {
        let (mut top, mut bottom) = self.unfinished(p);
        let finish = self.base.finish();
        let bevel_in =
            if finish.bevel > 0.0 { finish.bevel_in * (1.0 + BEVEL_ROUNDING_MM / finish.bevel) } else { 0.0 };
        let reach = finish.rounding.max(bevel_in);
        if reach > 0.0 && self.base.edge().may_be_within(p, reach) {
            let inside = self.base.edge().inside_mm(p).max(0.0);
            let land = (top - bottom - LAND_MM).max(0.0);
            top -= rounded_off(inside, lesser(finish.rounding, land, LAND_MM).max(0.0));
            let bevel = lesser(finish.bevel, land, LAND_MM);
            if bevel > 0.0 && finish.bevel > 0.0 {
                // The slope stays what was asked for where the wall is lower than the bevel.
                let rise = bevel - inside * finish.bevel / finish.bevel_in;
                bottom += greater(rise, 0.0, BEVEL_ROUNDING_MM);
            }
        }
        (top, bottom)
    }
}

/// How much the edge's finish leaves of the wall, mm: an edge is never made sharp.
const LAND_MM: f64 = 1.0;
/// The inner end of the bevel is rounded over this, mm.
const BEVEL_ROUNDING_MM: f64 = 0.6;

/// How much lower a rounded edge lies `inside` mm from it: a quarter circle of this radius down to where it is 60° steep, from
/// there straight on.
fn rounded_off(inside: f64, radius: f64) -> f64 {
    let out = radius - inside;
    if out <= 0.0 {
        return 0.0;
    }
    // sin 60°; there the circle has fallen by half the radius, at a slope of tan 60°.
    const STEEP: f64 = 0.866_025_403_784_438_6;
    const SLOPE: f64 = 1.732_050_807_568_877_2;
    let share = (out / radius).min(STEEP);
    radius * (1.0 - (1.0 - share * share).sqrt()) + (out - share * radius) * SLOPE
}

impl std::fmt::Debug for Surface {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter.debug_struct("Surface").field("base", &self.base).field("elements", &self.placed.len()).finish()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::test_foot::TestFoot;
    use base::Params;

    fn item(kind: &str, params: &[(&str, f64)]) -> ElementItem {
        let params: Params = params.iter().map(|&(id, value)| (id.to_owned(), value)).collect();
        ElementItem::new(kind, params)
    }

    fn surface(items: &[ElementItem]) -> (Surface, Report) {
        let mut report = Report::default();
        let base = Arc::new(TestFoot::new().surface().unwrap());
        (Surface::new(base, items, None, &mut report), report)
    }

    const FLAT: DVec2 = DVec2::new(215.0, 5.0);

    #[test]
    fn elements_add_up_and_the_ones_that_are_off_do_nothing() {
        let pad = item("metatarsal_pad", &[]);
        let relief = item("relief", &[("x_mm", 160.0), ("y_mm", 0.0)]);
        let off = ElementItem { on: false, ..pad.clone() };
        let (plain, _) = surface(&[]);
        let (both, report) = surface(&[pad.clone(), relief.clone(), off]);
        assert!(report.notes.is_empty());
        let pads = elements::by_id("metatarsal_pad").unwrap();
        let reliefs = elements::by_id("relief").unwrap();
        for p in [DVec2::new(160.0, 0.0), DVec2::new(150.0, 10.0), DVec2::new(140.0, 3.0)] {
            let expected = plain.top(p)
                + pads.height(&pad, plain.base().edge(), p)
                + reliefs.height(&relief, plain.base().edge(), p);
            assert!((both.top(p) - expected).abs() < 1e-12);
            assert!((both.thickness(p) - expected - 4.0).abs() < 1e-12);
        }
    }

    #[test]
    fn a_relief_through_the_insole_is_told_while_the_solid_stays_valid() {
        let deep = item("relief", &[("x_mm", FLAT.x), ("y_mm", FLAT.y), ("depth_mm", 6.0)]);
        let (surface, _) = surface(&[deep]);
        assert!((surface.thickness(FLAT) + 2.0).abs() < 1e-9, "designed: 4 mm of base less 6 mm");
        assert!((surface.top(FLAT) - surface.bottom(FLAT) - SOLID_MIN_MM).abs() < 1e-12);
        let points = (0..60).map(|i| DVec2::new(185.0 + f64::from(i), 5.0));
        let thinnest = surface.thinnest(points).unwrap();
        assert!((thinnest.mm + 2.0).abs() < 1e-9 && thinnest.at.distance(FLAT) < 14.0);
        assert!(surface.thinnest([]).is_none());
    }

    #[test]
    fn a_kind_from_a_later_version_is_left_out_and_told() {
        let (with, report) = surface(&[item("of_a_later_version", &[("height_mm", 9.0)])]);
        let (without, _) = surface(&[]);
        assert_eq!(report.notes.len(), 1);
        assert!(report.notes[0].text.contains("of_a_later_version"));
        assert!((with.top(FLAT) - without.top(FLAT)).abs() < 1e-15);
    }
}
