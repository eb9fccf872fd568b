use crate::BaseSurface;
use crate::elements::{self, ElementItem, Shape};
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

/// The thinnest place of an insole.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Thinnest {
    /// Thickness as designed, mm; may be less than 0 where a recess goes through.
    pub mm: f64,
    /// Where, foot frame, mm.
    pub at: DVec2,
}

struct Placed {
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
            let (lo, hi) = element.bounds(&item.params);
            placed.push(Placed { lo, hi, shape: element.shape(&item.params) });
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
    pub fn bottom(&self, _p: DVec2) -> f64 {
        -self.base.base_thickness_mm()
    }

    /// Thickness as designed, mm; less than [`SOLID_MIN_MM`], even below 0, where a recess takes too much away.
    #[must_use]
    pub fn thickness(&self, p: DVec2) -> f64 {
        self.designed(p) - self.bottom(p)
    }

    /// The thinnest of `points`, the first of them where several are alike; `None` without points.
    #[must_use]
    pub fn thinnest(&self, points: impl IntoIterator<Item = DVec2>) -> Option<Thinnest> {
        points
            .into_iter()
            .map(|at| Thinnest { mm: self.thickness(at), at })
            .reduce(|least, next| if next.mm < least.mm { next } else { least })
    }

    fn designed(&self, p: DVec2) -> f64 {
        let mut height = self.base.height(p);
        for element in &self.placed {
            if p.cmpge(element.lo).all() && p.cmple(element.hi).all() {
                height += (element.shape)(p);
            }
        }
        height
    }
}

impl std::fmt::Debug for Surface {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter.debug_struct("Surface").field("base", &self.base).field("elements", &self.placed.len()).finish()
    }
}
