use crate::BaseSurface;
use crate::elements::{self, ElementItem, Face, Shape};
use base::{Report, Severity};
use glam::DVec2;
use serde::Serialize;
use std::sync::Arc;

/// Where an insole would be thinner than this, the solid is kept this thick, mm: closed files stay valid whatever was
/// designed. Far below anything that can be worn; the finding on the minimum thickness comes long before.
pub const SOLID_MIN_MM: f64 = 0.4;

/// The whole insole: bearing surface, elements and bottom.
///
/// The bottom stays where it is, whatever the elements do. Where they would take the top nearer to it than
/// [`SOLID_MIN_MM`], [`Surface::top`] stops there, while [`Surface::thickness`] tells what was designed, so that a
/// shortfall is always seen: nothing is repaired silently.
pub struct Surface {
    base: Arc<BaseSurface>,
    placed: Vec<Placed>,
}

/// An extreme value and its place.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Extreme {
    /// The value, mm.
    pub mm: f64,
    /// Where, foot frame, mm.
    pub at: DVec2,
}

struct Placed {
    face: Face,
    lo: DVec2,
    hi: DVec2,
    shape: Shape,
}

impl Surface {
    /// Puts the elements that are on onto `base`. A kind this version does not know adds nothing and is noted.
    #[must_use]
    pub fn new(base: Arc<BaseSurface>, items: &[ElementItem], report: &mut Report) -> Surface {
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
        Surface { base, placed }
    }

    /// The bearing surface below the elements.
    #[must_use]
    pub fn base(&self) -> &BaseSurface {
        &self.base
    }

    /// Height of the top, mm: bearing surface plus elements, at least [`SOLID_MIN_MM`] over the bottom.
    #[must_use]
    pub fn top(&self, p: DVec2) -> f64 {
        self.designed(p).max(self.bottom(p) + SOLID_MIN_MM)
    }

    /// Height of the bottom, mm.
    #[must_use]
    pub fn bottom(&self, p: DVec2) -> f64 {
        -self.base.base_thickness_mm() - self.added(Face::Bottom, p)
    }

    /// Thickness as designed, mm; less than [`SOLID_MIN_MM`], even below 0, where a recess takes too much away.
    #[must_use]
    pub fn thickness(&self, p: DVec2) -> f64 {
        self.designed(p) - self.bottom(p)
    }

    /// The thinnest of `points` as designed (below 0 where a recess goes through), the first of them where several are alike; `None` without points.
    #[must_use]
    pub fn thinnest(&self, points: impl IntoIterator<Item = DVec2>) -> Option<Extreme> {
        points
            .into_iter()
            .map(|at| Extreme { mm: self.thickness(at), at })
            .reduce(|least, next| if next.mm < least.mm { next } else { least })
    }

    fn designed(&self, p: DVec2) -> f64 {
        self.base.height(p) + self.added(Face::Top, p)
    }

    /// What the elements add to a face at `p`, outwards.
    fn added(&self, face: Face, p: DVec2) -> f64 {
        let here = |placed: &&Placed| placed.face == face && p.cmpge(placed.lo).all() && p.cmple(placed.hi).all();
        self.placed.iter().filter(here).map(|placed| (placed.shape)(p)).sum()
    }
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
        (Surface::new(base, items, &mut report), report)
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
