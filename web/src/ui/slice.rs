//! A cut as its pane shows it: the picture's own plane (along the cut to the right, up), and what is read from its lines.

use super::geometry::{Bounds, P2};
use base::Side;
use engine::view::{Cut, SectionView};

/// Two cuts that meet at less than this, as a sine, do not cross in one place.
const PARALLEL: f64 = 0.02;

/// A cut of one foot and the other cut shown beside it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Slice {
    pub(crate) side: Side,
    pub(crate) cut: Cut,
    pub(crate) other: Cut,
    /// Where both cuts were put, foot frame.
    pub(crate) cursor: P2,
}

/// A cut's length where it has ends, mm.
fn length(cut: Cut) -> Option<f64> {
    match cut {
        Cut::Line([ax, ay], [bx, by]) => Some(((bx - ax).powi(2) + (by - ay).powi(2)).sqrt()),
        _ => None,
    }
}

/// A place of the plan along a cut and beside it, mm.
fn along_and_beside(cut: Cut, [x, y]: P2) -> P2 {
    let (origin, ahead) = (cut.at(0.0), cut.at(1.0));
    let ([dx, dy], [px, py]) = ([ahead[0] - origin[0], ahead[1] - origin[1]], [x - origin[0], y - origin[1]]);
    [px * dx + py * dy, py * dx - px * dy]
}

impl Slice {
    /// Across a right foot the picture is drawn as on the sheet: y grows to the left.
    pub(crate) fn sign(self) -> f64 {
        if matches!(self.cut, Cut::Transverse(_)) && self.side == Side::Right { -1.0 } else { 1.0 }
    }

    /// A place of the plan along the cut and beside it, mm.
    pub(crate) fn beside(self, at: P2) -> P2 {
        along_and_beside(self.cut, at)
    }

    /// Foot frame → the picture's plane.
    pub(crate) fn flat(self, [x, y, z]: [f64; 3]) -> P2 {
        [self.sign() * self.beside([x, y])[0], z]
    }

    /// The point of the picture's plane in the foot frame, as far beside the cut as `from`.
    pub(crate) fn solid(self, [s, z]: P2, from: [f64; 3]) -> [f64; 3] {
        let by = s * self.sign() - self.beside([from[0], from[1]])[0];
        let (origin, to) = (self.cut.at(0.0), self.cut.at(by));
        [from[0] + to[0] - origin[0], from[1] + to[1] - origin[1], z]
    }

    /// Distance of a point from the cut in plan, mm.
    pub(crate) fn off(self, at: [f64; 3]) -> f64 {
        let [s, beside] = self.beside([at[0], at[1]]);
        let beyond = length(self.cut).map_or(0.0, |length| (-s).max(s - length).max(0.0));
        (beside * beside + beyond * beyond).sqrt()
    }

    /// Where the other cut crosses this one, mm along it; of two in the same direction, where the cursor lies.
    pub(crate) fn crossing(self) -> Option<f64> {
        let (origin, ahead) = (self.other.at(0.0), self.other.at(1.0));
        let (p, q) = (self.beside(origin), self.beside(ahead));
        let rise = q[1] - p[1];
        let s = if rise.abs() < PARALLEL { self.beside(self.cursor)[0] } else { p[0] - p[1] * (q[0] - p[0]) / rise };
        let on = |cut: Cut, s: f64| length(cut).is_none_or(|length| (0.0..=length).contains(&s));
        (on(self.cut, s) && on(self.other, along_and_beside(self.other, self.cut.at(s))[0])).then_some(s)
    }

    /// From where to where the cut goes in the picture, over a foot within `bounds` in plan.
    pub(crate) fn ends(self, bounds: Bounds) -> P2 {
        match self.cut {
            Cut::Longitudinal(_) => [bounds.min[0], bounds.max[0]],
            Cut::Transverse(_) if self.side == Side::Left => [bounds.min[1], bounds.max[1]],
            Cut::Transverse(_) => [-bounds.max[1], -bounds.min[1]],
            Cut::Line(..) => [0.0, length(self.cut).unwrap_or_default()],
        }
    }

    /// What lies at the left and the right end of the picture.
    pub(crate) fn end_words(self) -> [&'static str; 2] {
        let (lengthwise, forward) = match self.cut {
            Cut::Longitudinal(_) => (true, true),
            Cut::Transverse(_) => (false, self.side == Side::Left),
            Cut::Line([ax, ay], [bx, by]) => {
                let (dx, dy) = (bx - ax, by - ay);
                if dx.abs() > dy.abs() { (true, dx > 0.0) } else { (false, dy > 0.0) }
            }
        };
        match (lengthwise, forward) {
            (true, true) => ["Heel", "Toes"],
            (true, false) => ["Toes", "Heel"],
            (false, true) => ["Lateral", "Medial"],
            (false, false) => ["Medial", "Lateral"],
        }
    }

    /// Where a closed outline crosses the cut, mm along it.
    pub(crate) fn crossings(self, outline: &[[f32; 2]]) -> Vec<f64> {
        let turned = |p: &[f32; 2]| self.beside(p.map(f64::from));
        let ends = outline.iter().zip(outline.iter().cycle().skip(1)).map(|(a, b)| (turned(a), turned(b)));
        ends.filter(|(a, b)| (a[1] <= 0.0) != (b[1] <= 0.0))
            .map(|(a, b)| a[0] - a[1] * (b[0] - a[0]) / (b[1] - a[1]))
            .collect()
    }
}

/// Height of a line over a place along the cut; the lowest where it passes more than once.
fn height(line: &[[f32; 2]], s: f64) -> Option<f64> {
    let heights = line.windows(2).filter_map(|ends| {
        let [[a, from], [b, to]] = [ends[0], ends[1]].map(|p| p.map(f64::from));
        let within = a.min(b) <= s && s <= a.max(b) && (a - b).abs() > f64::EPSILON;
        within.then(|| from + (to - from) * (s - a) / (b - a))
    });
    heights.reduce(f64::min)
}

/// What is read off a cut at one place, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Reading {
    /// Bottom of the insole.
    pub(crate) bottom: f64,
    /// Top of the insole made.
    pub(crate) top: f64,
    /// Top of the cover; `None` without one.
    pub(crate) cover: Option<f64>,
    /// The skin above.
    pub(crate) skin: Option<f64>,
}

impl Reading {
    /// The reading `s` mm along the cut; `None` beside the insole.
    pub(crate) fn at(cut: &SectionView, s: f64) -> Option<Reading> {
        let skin = cut.skin.iter().filter_map(|piece| height(piece, s)).reduce(f64::min);
        Some(Reading { bottom: height(&cut.bottom, s)?, top: height(&cut.top, s)?, cover: height(&cut.cover, s), skin })
    }

    /// Height of the surface that the foot meets.
    pub(crate) fn bearing(self) -> f64 {
        self.cover.unwrap_or(self.top)
    }

    /// From that surface up to the skin; negative where it presses into the skin as scanned.
    pub(crate) fn gap(self) -> Option<f64> {
        self.skin.map(|skin| skin - self.bearing())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn slice(side: Side, cut: Cut, other: Cut) -> Slice {
        Slice { side, cut, other, cursor: [110.0, 12.0] }
    }

    const CUTS: [Cut; 4] = [
        Cut::Longitudinal(12.0),
        Cut::Transverse(110.0),
        Cut::Line([20.0, -10.0], [170.0, 30.0]),
        Cut::Line([150.0, 30.0], [90.0, -40.0]),
    ];

    #[test]
    fn what_is_put_on_the_picture_is_found_there_again() {
        for side in Side::ALL {
            for cut in CUTS {
                let slice = slice(side, cut, Cut::Transverse(100.0));
                let from = [90.0, 7.0, 3.0];
                let [s, z] = slice.flat(from);
                let there = slice.solid([s + 4.0, z + 2.0], from);
                let back = slice.flat(there);
                assert!((back[0] - s - 4.0).abs() < 1e-9 && (back[1] - z - 2.0).abs() < 1e-9, "{cut:?}");
                let moved = ((there[0] - 90.0_f64).powi(2) + (there[1] - 7.0_f64).powi(2)).sqrt();
                assert!((moved - 4.0).abs() < 1e-9, "along the cut only: {cut:?}");
                assert!((slice.off(there) - slice.off(from)).abs() < 1e-9, "{cut:?}");
            }
        }
    }

    #[test]
    fn cuts_cross_where_their_lines_do() {
        let at = |cut, other| slice(Side::Right, cut, other).crossing();
        assert_eq!(at(CUTS[0], CUTS[1]), Some(110.0));
        assert_eq!(at(CUTS[1], CUTS[0]), Some(12.0));
        let s = at(CUTS[2], CUTS[1]).unwrap();
        assert!((CUTS[2].at(s)[0] - 110.0).abs() < 1e-9);
        let y = at(CUTS[1], CUTS[2]).unwrap();
        assert!((y - CUTS[2].at(s)[1]).abs() < 1e-9, "seen from either");
        assert_eq!(at(CUTS[2], Cut::Transverse(200.0)), None, "beyond its end");
        let across = Cut::Line([110.0, -30.0], [110.0, 30.0]);
        assert_eq!(at(across, Cut::Transverse(110.0)), Some(42.0), "where the cursor is");
    }

    #[test]
    fn a_line_is_no_longer_than_drawn() {
        let slice = slice(Side::Left, Cut::Line([0.0, 0.0], [30.0, 40.0]), CUTS[1]);
        assert!((slice.off([30.0, 40.0, 9.0])).abs() < 1e-9);
        assert!((slice.off([33.0, 44.0, 0.0]) - 5.0).abs() < 1e-9);
        assert_eq!(slice.ends(Bounds { min: [0.0; 2], max: [1.0; 2] }), [0.0, 50.0]);
    }

    #[test]
    fn readings_are_interpolated() {
        let cut = SectionView {
            skin: vec![vec![[0.0, 9.0], [10.0, 11.0]], vec![[10.0, 40.0], [0.0, 40.0]]],
            top: vec![[0.0, 2.0], [10.0, 4.0]],
            bottom: vec![[0.0, -3.0], [10.0, -3.0]],
            cover: vec![[0.0, 5.0], [10.0, 7.0]],
            ..SectionView::default()
        };
        let reading = Reading::at(&cut, 5.0).unwrap();
        assert_eq!(reading, Reading { bottom: -3.0, top: 3.0, cover: Some(6.0), skin: Some(10.0) });
        assert_eq!((reading.bearing(), reading.gap()), (6.0, Some(4.0)));
        assert_eq!(Reading::at(&cut, 10.5), None);
        let bare = Reading::at(&SectionView { cover: Vec::new(), ..cut }, 0.0).unwrap();
        assert_eq!((bare.bearing(), bare.gap()), (2.0, Some(7.0)));
    }
}
