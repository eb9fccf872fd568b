use super::alphabet::{ADVANCE, HEIGHT, WIDTH, strokes};
use super::figure::{across, along, mark};
use super::{Element, ElementItem, Face, Handle, HandleKind, Shape, Site, angle_deg, direction, read, set};
use crate::Edge;
use base::{ParamSpec, Params, Source, defaults};
use foot::LandmarkId;
use glam::DVec2;
use std::sync::Arc;

/// Letters engraved into the underside, to be read from below.
///
/// Each stroke is a line along which `(R² − r²)²` is added up, r being the distance from a point of the line: a rounded groove
/// without a seam where lines meet at any angle. With F that sum as a share of the one under a long straight stroke, the
/// depth is `F (2 − F)` of the full one, and the full one where strokes meet or cross and F exceeds 1.
///
/// Left feet are designed mirrored. What is written for a left foot is therefore written mirrored here, about the line
/// lengthways through its middle, and reads as it should once made.
#[derive(Clone, Copy, Debug)]
pub struct Engraving {
    id: &'static str,
    label: &'static str,
    help: &'static str,
    params: &'static [ParamSpec],
    kind: Kind,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Text,
    SideMark,
}

/// A text of one's own, under the waist.
pub const ENGRAVED_TEXT: Engraving = Engraving {
    id: "engraved_text",
    label: "Engraved text",
    help: "Letters and digits engraved into the underside, such as the number of the order or the date; up to 80. Keep the \
           letters at least six times as high as a stroke is wide.",
    params: &params(105.0, 0.0, 10.0, 1.2),
    kind: Kind::Text,
};

/// The foot's side, under the heel.
pub const SIDE_MARK: Engraving = Engraving {
    id: "side_mark",
    label: "Side mark",
    help: "A large R or L engraved into the underside of the heel, so that the two insoles cannot be mixed up. A text of your \
           own replaces it.",
    params: &params(38.0, 90.0, 20.0, 1.6),
    kind: Kind::SideMark,
};

/// Letters beyond this many are left out: at the least height they are longer than any insole.
const MOST_LETTERS: usize = 80;
/// A straight stroke has half its depth at this share of R from its middle: there `(1 − t²)^2.5 = 1 − √½`.
const HALF_DEPTH_AT: f64 = 0.622_97;
/// Half the size of the cross that makes a dot, as a share of R: in its middle F is then 1.06.
const DOT_SHARE: f64 = 0.3;
/// The handle for height and direction stands this share of the height beyond the text's end.
const HANDLE_BEYOND: f64 = 0.5;
/// Place of a text, as a share of the insole's length: under the waist. No source.
const WAIST_AT: f64 = 0.4;

const WRITTEN_FOR: ParamSpec = ParamSpec::choice(
    "written_for",
    "Written for",
    2,
    "Left feet are designed mirrored: so is what is written for one.",
);
const FEET: &[&str] = &["Right foot", "Left foot"];

const fn params(x: f64, angle: f64, letter: f64, stroke: f64) -> [ParamSpec; 7] {
    [
        WRITTEN_FOR,
        along(x),
        across(0.0),
        ParamSpec::deg(
            "angle_deg",
            "Direction",
            (-180.0, 180.0),
            angle,
            "0: it reads from the heel to the toes; 90: it reads across, upright with the toes up.",
        ),
        ParamSpec::mm("letter_mm", "Letter height", (4.0, 30.0), letter, 1.0, "Height of the letters."),
        ParamSpec::mm("stroke_mm", "Stroke width", (0.8, 3.0), stroke, 0.1, "Width of a stroke at half its depth."),
        ParamSpec::mm("depth_mm", "Depth", (0.0, 2.0), 0.6, 0.1, "How deep the strokes are in their middle."),
    ]
}

impl Element for Engraving {
    fn id(&self) -> &'static str {
        self.id
    }

    fn label(&self) -> &'static str {
        self.label
    }

    fn help(&self) -> &'static str {
        self.help
    }

    fn caution(&self) -> &'static str {
        "The insole is thinner along the strokes: where it is thin and bends, a crack can begin there. Engrave a number rather \
         than a name: anyone can read it."
    }

    fn source(&self) -> Source {
        Source::practice("Strokes 0.4 to 1 mm deep are easily read: common practice, no published value found")
    }

    fn params(&self) -> &'static [ParamSpec] {
        self.params
    }

    fn words(&self, param: &str) -> &'static [&'static str] {
        if param == WRITTEN_FOR.id { FEET } else { &[] }
    }

    fn usual(&self, param: &str) -> Option<(f64, f64)> {
        (param == "depth_mm").then_some((0.4, 1.0))
    }

    fn face(&self) -> Face {
        Face::Bottom
    }

    fn has_text(&self) -> bool {
        true
    }

    /// Half way between the edges, a text at the waist, a side mark at the heel's centre.
    fn place(&self, site: &Site) -> Params {
        let mut params = defaults(self.params);
        let (lo, hi) = site.edge.bounds();
        let x = match self.kind {
            Kind::Text => Some(lo.x + (hi.x - lo.x) * WAIST_AT),
            Kind::SideMark => mark(site.landmarks, LandmarkId::HeelCentre).map(|heel| heel.x),
        };
        if let Some(x) = x {
            set(self.params, &mut params, "x_mm", x.round());
            if let Some((lateral, medial)) = site.edge.width_at(x) {
                set(self.params, &mut params, "y_mm", (0.5 * (lateral + medial)).round());
            }
        }
        params
    }

    fn shape(&self, item: &ElementItem, _: &Arc<Edge>) -> Shape {
        let line = self.line(item);
        Box::new(move |p| line.height_at(p))
    }

    fn bounds(&self, item: &ElementItem, _: &Arc<Edge>) -> (DVec2, DVec2) {
        let line = self.line(item);
        let half = line.half + line.radius;
        let reach = (line.axis * half.x).abs() + (line.up * half.y).abs();
        (line.centre - reach, line.centre + reach)
    }

    fn strength(&self) -> &'static str {
        "depth_mm"
    }

    /// In the middle of the first stroke.
    fn crest(&self, item: &ElementItem, _: &Arc<Edge>) -> DVec2 {
        let line = self.line(item);
        let first = line.letters.iter().flatten().next();
        let at = first.map_or(DVec2::ZERO, |segment| segment.from + segment.along * (0.5 * segment.length) - line.half);
        line.centre + line.axis * at.x + line.up * at.y
    }

    fn handles(&self, item: &ElementItem, _: &Arc<Edge>) -> Vec<Handle> {
        let line = self.line(item);
        vec![
            Handle { id: "centre", label: "Move", kind: HandleKind::Point, at: line.centre },
            Handle {
                id: "end",
                label: "Letter height and direction",
                kind: HandleKind::Point,
                at: line.centre + line.axis * (line.height * line.handle_share()),
            },
        ]
    }

    fn drag(&self, item: &ElementItem, _: &Arc<Edge>, handle: &str, to: DVec2) -> Params {
        let mut out = item.params.clone();
        if !to.is_finite() {
            return out;
        }
        let line = self.line(item);
        match handle {
            "centre" => {
                set(self.params, &mut out, "x_mm", to.x);
                set(self.params, &mut out, "y_mm", to.y);
            }
            "end" => {
                let from_centre = to - line.centre;
                set(self.params, &mut out, "letter_mm", from_centre.length() / line.handle_share());
                if from_centre.length() > f64::EPSILON {
                    set(self.params, &mut out, "angle_deg", angle_deg(from_centre * line.mirror));
                }
            }
            _ => {}
        }
        out
    }
}

impl Engraving {
    /// What `item` says, ready to be engraved.
    fn line(&self, item: &ElementItem) -> Line {
        let value = |id| read(self.params, &item.params, id);
        let for_left = value(WRITTEN_FOR.id) >= 0.5;
        let text = match (self.kind, item.text.is_empty(), for_left) {
            (Kind::SideMark, true, false) => "R",
            (Kind::SideMark, true, true) => "L",
            _ => &item.text,
        };
        let mirror = DVec2::new(1.0, if for_left { -1.0 } else { 1.0 });
        let axis = direction(value("angle_deg"));
        let height = value("letter_mm");
        let step = height / HEIGHT;
        let radius = 0.5 * value("stroke_mm") / HALF_DEPTH_AT;
        let letters: Vec<Vec<Segment>> = text
            .chars()
            .take(MOST_LETTERS)
            .enumerate()
            .map(|(place, letter)| segments(letter, ADVANCE * place as f64, step, radius))
            .collect();
        let count = letters.len().max(1) as f64;
        Line {
            centre: DVec2::new(value("x_mm"), value("y_mm")),
            axis: axis * mirror,
            // Seen from below, up is to the right of the way one reads.
            up: -axis.perp() * mirror,
            mirror,
            half: 0.5 * step * DVec2::new(ADVANCE * (count - 1.0) + WIDTH, HEIGHT),
            height,
            advance: ADVANCE * step,
            radius,
            depth: value("depth_mm"),
            letters,
        }
    }
}

/// The lines of a letter that begins `start` steps from the text's, in mm.
fn segments(letter: char, start: f64, step: f64, radius: f64) -> Vec<Segment> {
    let mut all = Vec::new();
    for stroke in strokes(letter) {
        let points: Vec<DVec2> = stroke.iter().map(|&[x, y]| DVec2::new(start + x, y) * step).collect();
        match points[..] {
            // A dot: a cross so small that it looks round, just large enough to be as deep as the strokes.
            [dot] => {
                for half in [DVec2::X, DVec2::Y].map(|way| way * (radius * DOT_SHARE)) {
                    all.extend(Segment::new(dot - half, dot + half));
                }
            }
            _ => all.extend(points.windows(2).filter_map(|pair| Segment::new(pair[0], pair[1]))),
        }
    }
    all
}

/// A line of text, its numbers read once.
#[derive(Clone)]
struct Line {
    centre: DVec2,
    /// The way one reads.
    axis: DVec2,
    /// From the letters' feet to their heads.
    up: DVec2,
    /// Turns the way one reads on the foot as made into that on the foot as designed, and back.
    mirror: DVec2,
    /// Half the text's length and height.
    half: DVec2,
    height: f64,
    /// From a letter's left side to the next one's.
    advance: f64,
    /// How far a stroke reaches to its side.
    radius: f64,
    depth: f64,
    /// The lines of each letter, from the text's lower left corner.
    letters: Vec<Vec<Segment>>,
}

impl Line {
    /// Distance of the handle for height and direction, as a multiple of the height.
    fn handle_share(&self) -> f64 {
        self.half.x / self.height + HANDLE_BEYOND
    }

    fn height_at(&self, p: DVec2) -> f64 {
        let from = p - self.centre;
        let local = DVec2::new(from.dot(self.axis), from.dot(self.up));
        if local.abs().cmpgt(self.half + self.radius).any() {
            return 0.0;
        }
        let local = local + self.half;
        // Only letters within reach; a negative number becomes 0.
        let letter = |x: f64| ((x / self.advance) as usize).min(self.letters.len());
        let first = letter(local.x - self.radius);
        let behind_last = letter(local.x + self.radius + self.advance);
        let near = self.letters[first..behind_last].iter().flatten();
        let sum: f64 = near.map(|segment| segment.sum(local, self.radius)).sum();
        -self.depth * if sum < 1.0 { sum * (2.0 - sum) } else { 1.0 }
    }
}

/// A straight line of a letter.
#[derive(Clone, Copy)]
struct Segment {
    from: DVec2,
    /// Unit vector.
    along: DVec2,
    length: f64,
}

impl Segment {
    fn new(from: DVec2, to: DVec2) -> Option<Segment> {
        let along = (to - from).try_normalize()?;
        Some(Segment { from, along, length: from.distance(to) })
    }

    /// The integral of `(R² − r²)²` over the part of the line within `radius` of `p`, as a share of that over a long line
    /// through `p`.
    fn sum(&self, p: DVec2, radius: f64) -> f64 {
        let from = p - self.from;
        let beside = from.perp_dot(self.along);
        let squared = radius * radius - beside * beside;
        if squared <= 0.0 {
            return 0.0;
        }
        let (here, half) = (from.dot(self.along), squared.sqrt());
        let (start, end) = ((-here).max(-half), (self.length - here).min(half));
        if end <= start {
            return 0.0;
        }
        let integral = |s: f64| s * (squared * squared - s * s * (2.0 / 3.0 * squared - s * s / 5.0));
        let long = 16.0 / 15.0 * radius * radius * radius * radius * radius;
        (integral(end) - integral(start)) / long
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::test_foot;

    fn item(kind: &Engraving, text: &str, params: &[(&str, f64)]) -> ElementItem {
        let mut all = defaults(kind.params);
        all.extend(params.iter().map(|&(id, value)| (id.to_owned(), value)));
        ElementItem { text: text.to_owned(), ..ElementItem::new(kind.id, all) }
    }

    fn shape(kind: &Engraving, text: &str, params: &[(&str, f64)]) -> Shape {
        kind.shape(&item(kind, text, params), &test_foot::edge())
    }

    /// Whether a letter 12 mm high around the origin has a stroke at a point of its grid, as seen from below with the
    /// reading direction `right`.
    fn has_stroke(shape: &Shape, right: DVec2, up: DVec2, x: f64, y: f64) -> bool {
        shape(right * (2.0 * (x - 0.5 * WIDTH)) + up * (2.0 * (y - 0.5 * HEIGHT))) < -0.4
    }

    const AT_ORIGIN: [(&str, f64); 3] = [("x_mm", 0.0), ("y_mm", 0.0), ("letter_mm", 12.0)];

    #[test]
    fn a_stroke_has_its_depth_in_its_middle_and_half_of_it_at_half_its_width() {
        for (stroke, depth) in [(1.0, 0.5), (1.2, 0.6), (3.0, 2.0)] {
            let params = [("letter_mm", 30.0), ("stroke_mm", stroke), ("depth_mm", depth), ("x_mm", 0.0)];
            // The upright stroke of a T runs through the middle of the text.
            let shape = shape(&ENGRAVED_TEXT, "T", &params);
            assert!((shape(DVec2::ZERO) + depth).abs() < 1e-9);
            for side in [-1.0, 1.0] {
                let half = shape(DVec2::new(0.5 * side * stroke, 0.0));
                assert!((half + 0.5 * depth).abs() < 1e-4 * depth, "{half}");
                assert!(shape(DVec2::new(0.81 * side * stroke, 0.0)) == 0.0);
            }
        }
    }

    /// Where lines meet in a row there is no seam, where they cross it is no deeper, and a dot is as deep.
    #[test]
    fn it_is_nowhere_deeper_than_said() {
        let shape = shape(&ENGRAVED_TEXT, "X8+:.", &[("x_mm", 0.0)]);
        let mut least: f64 = 0.0;
        for i in -400..400 {
            for j in -80..80 {
                least = least.min(shape(DVec2::new(0.1 * f64::from(i), 0.1 * f64::from(j))));
            }
        }
        assert!((least + 0.6).abs() < 1e-9);
        let dot = self::shape(&ENGRAVED_TEXT, ".", &AT_ORIGIN);
        assert!((dot(DVec2::new(0.0, 6.0)) + 0.6).abs() < 1e-9);
    }

    #[test]
    fn a_straight_stroke_is_the_sum_of_its_parts() {
        let [from, middle, to] = [DVec2::new(1.0, 2.0), DVec2::new(2.5, 4.0), DVec2::new(4.0, 6.0)];
        let [whole, first, second] =
            [(from, to), (from, middle), (middle, to)].map(|(a, b)| Segment::new(a, b).unwrap());
        for p in [middle, DVec2::new(2.4, 4.4), DVec2::new(0.8, 1.9), DVec2::new(9.0, 9.0)] {
            let parts = first.sum(p, 1.3) + second.sum(p, 1.3);
            assert!((whole.sum(p, 1.3) - parts).abs() < 1e-12);
        }
        assert!((whole.sum(middle, 1.3) - 1.0).abs() < 1e-12);
        // Against the integral itself, by midpoints.
        let p = DVec2::new(1.6, 3.4);
        let integral = (0..2500).map(|i| from.lerp(to, (f64::from(i) + 0.5) / 2500.0)).map(|q| {
            let rest = (1.3 * 1.3 - q.distance_squared(p)).max(0.0);
            rest * rest * from.distance(to) / 2500.0
        });
        let long = 16.0 / 15.0 * libm::pow(1.3, 5.0);
        assert!((whole.sum(p, 1.3) - integral.sum::<f64>() / long).abs() < 1e-6);
    }

    /// Seen from below with the toes to the right, +y points down on a foot as it is: there the letters' heads are at −y. On a
    /// left foot as designed, mirrored, they are at +y.
    #[test]
    fn it_reads_from_below_on_the_foot_it_is_written_for() {
        let lengthways = [AT_ORIGIN.as_slice(), &[("angle_deg", 0.0)]].concat();
        for (for_left, up) in [(0.0, -DVec2::Y), (1.0, DVec2::Y)] {
            let shape = shape(&ENGRAVED_TEXT, "L", &[lengthways.as_slice(), &[("written_for", for_left)]].concat());
            let at = |x: f64, y: f64| has_stroke(&shape, DVec2::X, up, x, y);
            assert!(at(0.0, 3.0) && at(0.0, 5.0) && at(2.0, 0.0) && at(3.5, 0.0));
            assert!(!at(4.0, 3.0) && !at(2.0, 6.0) && !at(4.0, 5.0));
        }
    }

    /// Seen from below with the toes up, the reader's right is medial on a right foot and lateral on a left one; medial is +y
    /// on both as designed.
    #[test]
    fn the_side_mark_says_its_side_upright_with_the_toes_up() {
        for (for_left, right, letter) in [(0.0, DVec2::Y, 'R'), (1.0, -DVec2::Y, 'L')] {
            let shape = shape(&SIDE_MARK, "", &[AT_ORIGIN.as_slice(), &[("written_for", for_left)]].concat());
            for stroke in strokes(letter) {
                for pair in stroke.windows(2) {
                    let [x, y] = [0, 1].map(|axis| 0.5 * (pair[0][axis] + pair[1][axis]));
                    assert!(has_stroke(&shape, right, DVec2::X, x, y), "{letter} at {x} {y}");
                }
            }
            assert!(!has_stroke(&shape, right, DVec2::X, 4.0, 3.0) && !has_stroke(&shape, right, DVec2::X, 2.0, 1.0));
        }
        let own = shape(&SIDE_MARK, "T", &AT_ORIGIN);
        assert!(has_stroke(&own, DVec2::Y, DVec2::X, 2.0, 1.0));
    }

    /// The same numbers for the other foot give the mirror image, about the line lengthways through the middle: what is made
    /// of a mirrored design is then the same text.
    #[test]
    fn for_the_other_foot_it_is_the_mirror_image() {
        let edge = test_foot::edge();
        let [right, left] = [0.0, 1.0].map(|foot| {
            let params = [("written_for", foot), ("angle_deg", 33.0), ("y_mm", 0.0)];
            ENGRAVED_TEXT.shape(&item(&ENGRAVED_TEXT, "B7", &params), &edge)
        });
        let mut most: f64 = 0.0;
        for i in 0..200 {
            for j in -100..100 {
                let p = DVec2::new(90.0 + 0.15 * f64::from(i), 0.15 * f64::from(j));
                assert!((right(p) - left(p * DVec2::new(1.0, -1.0))).abs() < 1e-12);
                most = most.max((right(p) - left(p)).abs());
            }
        }
        assert!(most > 0.5, "and is no mirror image of itself");
    }

    #[test]
    fn letters_follow_each_other_and_nothing_written_is_nothing() {
        let (both, first) = (shape(&ENGRAVED_TEXT, "HI", &AT_ORIGIN), shape(&ENGRAVED_TEXT, "H", &AT_ORIGIN));
        for i in 0..100 {
            let p = DVec2::new(0.1 * f64::from(i) - 5.0, 2.5);
            // Two letters are 12 mm longer than one: the first moves back by half of that.
            assert!((both(p - DVec2::X * 6.0) - first(p)).abs() < 1e-12);
        }
        assert!((-300..300).all(|i| shape(&ENGRAVED_TEXT, "", &[])(DVec2::new(105.0, 0.1 * f64::from(i))) == 0.0));
        // A text beyond all bounds is cut.
        assert_eq!(ENGRAVED_TEXT.line(&item(&ENGRAVED_TEXT, &"8".repeat(9999), &[])).letters.len(), MOST_LETTERS);
    }
}
