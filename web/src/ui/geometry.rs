//! Where things stand on the screen: the sheet both feet lie on, and the view of it. Nothing here measures a foot.
//!
//! Three spaces: the *foot frame* of a side (x to the toes, y medial, mm); the *sheet* (u right, v up, mm), on which
//! both feet lie toes up, seen from above; *pixels* of a pane (right and down).

use base::Side;

/// A plan position or a pixel.
pub(crate) type P2 = [f64; 2];

/// Each foot's axis lies this far from the middle of the sheet, mm: the medial half of a broad insole (about 50 mm at
/// the ball) and a gap in which a letter still fits.
const AXIS_OFFSET_MM: f64 = 58.0;

/// Foot frame → sheet. Seen from above with the toes up, the medial side of a left foot is on its right.
pub(crate) fn sheet_from_foot(side: Side, [x, y]: P2) -> P2 {
    match side {
        Side::Left => [-AXIS_OFFSET_MM + y, x],
        Side::Right => [AXIS_OFFSET_MM - y, x],
    }
}

/// Sheet → foot frame.
pub(crate) fn foot_from_sheet(side: Side, [u, v]: P2) -> P2 {
    match side {
        Side::Left => [v, u + AXIS_OFFSET_MM],
        Side::Right => [v, AXIS_OFFSET_MM - u],
    }
}

/// The side whose half of the sheet holds `point`.
pub(crate) fn side_at([u, _]: P2) -> Side {
    if u < 0.0 { Side::Left } else { Side::Right }
}

/// An axis-parallel box.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Bounds {
    /// Least corner.
    pub(crate) min: P2,
    /// Greatest corner.
    pub(crate) max: P2,
}

impl Bounds {
    /// The smallest box around `points`; `None` without any.
    pub(crate) fn around(points: impl IntoIterator<Item = P2>) -> Option<Bounds> {
        points.into_iter().fold(None, |bounds: Option<Bounds>, point| {
            let Bounds { min, max } = bounds.unwrap_or(Bounds { min: point, max: point });
            Some(Bounds {
                min: [min[0].min(point[0]), min[1].min(point[1])],
                max: [max[0].max(point[0]), max[1].max(point[1])],
            })
        })
    }
}

/// A pane's view of a plane in mm whose second axis points up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct View {
    /// The point shown in the middle of the pane, mm.
    pub(crate) centre: P2,
    /// Pixels a millimetre.
    pub(crate) scale: f64,
    /// Width and height of the pane, px.
    pub(crate) size: P2,
}

/// Zoom ends here, px per mm: a foot scanned in mm and read in metres still shows whole, and a square millimetre is the
/// size of a fingertip.
const SCALE_RANGE: (f64, f64) = (0.001, 60.0);

impl View {
    /// The view that shows all of `bounds` with `margin_px` around it.
    pub(crate) fn fit(bounds: Bounds, size: P2, margin_px: f64) -> View {
        let span = |axis: usize| (bounds.max[axis] - bounds.min[axis]).max(1.0);
        let room = |axis: usize| (size[axis] - 2.0 * margin_px).max(20.0);
        let scale = (room(0) / span(0)).min(room(1) / span(1)).clamp(SCALE_RANGE.0, SCALE_RANGE.1);
        let centre = [(bounds.min[0] + bounds.max[0]) / 2.0, (bounds.min[1] + bounds.max[1]) / 2.0];
        View { centre, scale, size }
    }

    /// mm → px.
    pub(crate) fn px(&self, [u, v]: P2) -> P2 {
        [self.size[0] / 2.0 + (u - self.centre[0]) * self.scale, self.size[1] / 2.0 - (v - self.centre[1]) * self.scale]
    }

    /// px → mm.
    pub(crate) fn mm(&self, [x, y]: P2) -> P2 {
        [self.centre[0] + (x - self.size[0] / 2.0) / self.scale, self.centre[1] - (y - self.size[1] / 2.0) / self.scale]
    }

    /// The same pane, the drawing moved by `by` px.
    pub(crate) fn panned(&self, by: P2) -> View {
        View { centre: [self.centre[0] - by[0] / self.scale, self.centre[1] + by[1] / self.scale], ..*self }
    }

    /// The same pane zoomed by `factor`; what lies under the pixel `at` stays there.
    pub(crate) fn zoomed(&self, at: P2, factor: f64) -> View {
        let fixed = self.mm(at);
        let zoomed = View { scale: (self.scale * factor).clamp(SCALE_RANGE.0, SCALE_RANGE.1), ..*self };
        let moved = zoomed.px(fixed);
        zoomed.panned([at[0] - moved[0], at[1] - moved[1]])
    }

    /// The SVG transform that carries mm to px.
    pub(crate) fn svg_transform(&self) -> String {
        let [x, y] = self.px([0.0, 0.0]);
        format!("matrix({k:.5} 0 0 {n:.5} {x:.3} {y:.3})", k = self.scale, n = -self.scale)
    }
}

/// The distance between labelled ticks that leaves at least `least_px` between them, mm: 1, 2, 5, 10, 20 …
pub(crate) fn tick_mm(scale: f64, least_px: f64) -> f64 {
    let decades = [1.0, 10.0, 100.0, 1_000.0, 10_000.0, 100_000.0];
    let mut steps = decades.into_iter().flat_map(|decade| [1.0, 2.0, 5.0].map(|step| step * decade));
    steps.find(|step| step * scale >= least_px).unwrap_or(1_000_000.0)
}

/// Multiples of `step` within `from..=to`.
pub(crate) fn ticks(from: f64, to: f64, step: f64) -> impl Iterator<Item = f64> {
    let first = (from / step).ceil() as i64;
    let last = (to / step).floor() as i64;
    (first..=last).map(move |i| i as f64 * step)
}

/// An SVG path through `points`.
pub(crate) fn path(points: impl IntoIterator<Item = P2>, closed: bool) -> String {
    use std::fmt::Write;
    let mut d = String::new();
    for (index, [x, y]) in points.into_iter().enumerate() {
        // Writing to a string cannot fail.
        let _ = write!(d, "{}{x:.2} {y:.2}", if index == 0 { "M" } else { "L" });
    }
    if closed && !d.is_empty() {
        d.push('Z');
    }
    d
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_feet_lie_toes_up_with_their_medial_sides_together() {
        for side in Side::ALL {
            let medial = sheet_from_foot(side, [100.0, 40.0]);
            let lateral = sheet_from_foot(side, [100.0, -40.0]);
            assert!(medial[0].abs() < lateral[0].abs(), "{side:?}");
            assert_eq!(side_at(medial), side);
            assert_eq!(side_at(lateral), side);
            assert!(sheet_from_foot(side, [200.0, 0.0])[1] > medial[1]);
            assert_eq!(foot_from_sheet(side, medial), [100.0, 40.0]);
        }
    }

    #[test]
    fn a_view_shows_all_it_was_fitted_to_and_zooms_about_the_pointer() {
        let bounds = Bounds::around([[-120.0, -10.0], [120.0, 280.0]]).unwrap();
        let view = View::fit(bounds, [456.0, 420.0], 20.0);
        for corner in [bounds.min, bounds.max] {
            let [x, y] = view.px(corner);
            assert!((19.9..=436.1).contains(&x) && (19.9..=400.1).contains(&y), "{x} {y}");
        }
        let at = [100.0, 50.0];
        let zoomed = view.zoomed(at, 3.0);
        let (before, after) = (view.mm(at), zoomed.mm(at));
        assert!((before[0] - after[0]).abs() < 1e-9 && (before[1] - after[1]).abs() < 1e-9);
        assert!(view.px([0.0, 10.0])[1] < view.px([0.0, 0.0])[1], "up is up");
    }

    #[test]
    fn ticks_are_round_and_apart() {
        assert_eq!(tick_mm(1.6, 40.0), 50.0);
        assert_eq!(tick_mm(10.0, 40.0), 5.0);
        assert_eq!(tick_mm(0.002, 40.0), 20_000.0);
        assert_eq!(ticks(-12.0, 21.0, 10.0).collect::<Vec<_>>(), [-10.0, 0.0, 10.0, 20.0]);
    }
}
