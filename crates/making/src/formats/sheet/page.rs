//! From the foot frame to a drawing on paper, in millimetres.

use super::html::escaped;
use base::Side;
use glam::{DVec2, Vec2Swizzles};
use std::fmt::Write;

/// From where a foot or an insole is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::formats) enum View {
    /// From above, toes up, as the wearer sees it: points are (x, y). The medial side is on the right of a left one
    /// and on the left of a right one, so that the two face each other.
    Plan,
    /// From the medial side, sole down: points are (x, z). The toes of a left one point to the right, those of a right
    /// one to the left.
    Medial,
}

/// A part of the foot frame, drawn on paper.
#[derive(Clone, Copy, Debug)]
pub(in crate::formats) struct Page {
    /// From where.
    pub(in crate::formats) view: View,
    /// Which side.
    pub(in crate::formats) side: Side,
    /// Least corner of the part, in the points of the view, mm.
    pub(in crate::formats) lo: DVec2,
    /// Greatest corner.
    pub(in crate::formats) hi: DVec2,
    /// How much smaller than life.
    pub(in crate::formats) reduction: f64,
}

impl Page {
    /// Place of a point of the view, mm from the drawing's upper left corner.
    pub(in crate::formats) fn at(&self, p: DVec2) -> DVec2 {
        let [lo, hi, p] = [self.lo, self.hi, p].map(|p| self.upright(p));
        let across = match self.side {
            Side::Left => p.x - lo.x,
            Side::Right => hi.x - p.x,
        };
        DVec2::new(across, hi.y - p.y) / self.reduction
    }

    /// Size on paper, mm.
    pub(in crate::formats) fn size(&self) -> DVec2 {
        self.upright(self.hi - self.lo) / self.reduction
    }

    /// Path data of a line, hundredths of a millimetre; points that are not finite are left out.
    pub(in crate::formats) fn path(&self, points: &[DVec2], closed: bool) -> String {
        let mut out = String::new();
        for (index, &p) in points.iter().filter(|p| p.is_finite()).enumerate() {
            let p = self.at(p);
            let _ = write!(out, "{}{:.2} {:.2}", if index == 0 { 'M' } else { 'L' }, p.x, p.y);
        }
        if closed && !out.is_empty() {
            out.push('Z');
        }
        out
    }

    /// Opens the figure and its drawing, which shows `what`.
    pub(in crate::formats) fn open(&self, out: &mut String, what: &str) {
        let size = self.size();
        let _ = writeln!(
            out,
            "<figure><svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" aria-label=\"{}\" width=\"{x:.2}mm\" \
             height=\"{y:.2}mm\" viewBox=\"0 0 {x:.2} {y:.2}\">",
            escaped(what),
            x = size.x,
            y = size.y
        );
    }

    /// Closes both, with the side as caption.
    pub(in crate::formats) fn close(&self, out: &mut String) {
        let _ = writeln!(out, "</svg><figcaption>{}</figcaption></figure>", super::side_word(self.side));
    }

    /// A point of the view as (across, up).
    fn upright(&self, p: DVec2) -> DVec2 {
        match self.view {
            View::Plan => p.yx(),
            View::Medial => p,
        }
    }
}

/// Least and greatest corner round the finite ones of `points`; `None` without any.
pub(in crate::formats) fn bounds(points: impl IntoIterator<Item = DVec2>) -> Option<(DVec2, DVec2)> {
    points.into_iter().filter(|p| p.is_finite()).map(|p| (p, p)).reduce(|(lo, hi), (a, b)| (lo.min(a), hi.max(b)))
}

/// A text centred on a place on paper.
pub(in crate::formats) fn text(out: &mut String, class: &str, p: DVec2, text: &str) {
    let _ = writeln!(out, "<text class=\"{class}\" x=\"{:.2}\" y=\"{:.2}\">{}</text>", p.x, p.y, escaped(text));
}

/// The cross of a landmark at a place on paper, with its name.
pub(in crate::formats) fn cross(out: &mut String, p: DVec2, name: &str) {
    const HALF_MM: f64 = 1.5;
    let _ = writeln!(
        out,
        "<path class=\"m\" d=\"M{:.2} {:.2}h{full}M{:.2} {:.2}v{full}\"><title>{}</title></path>",
        p.x - HALF_MM,
        p.y,
        p.x,
        p.y - HALF_MM,
        escaped(name),
        full = 2.0 * HALF_MM
    );
}
