//! Both feet to scale with their measuring paths: in plan, and from the medial side.

use super::Marked;
use super::strokes::{Stroke, from_medial, in_plan, spread};
use crate::formats::sheet::ROOM_MM;
use crate::formats::sheet::page::{Page, View, bounds, cross, text};
use base::Side;
use glam::{DVec2, Vec3Swizzles};
use std::fmt::Write;

/// How much smaller than life a drawing may be: the first at which the feet fit on the page.
const REDUCTIONS: [f64; 8] = [2.0, 2.5, 3.0, 4.0, 5.0, 10.0, 20.0, 50.0];
/// Between the drawings of two feet, mm on paper.
const GAP_MM: f64 = 10.0;
/// Most height of a drawing, mm on paper: both and their legends fit on one page.
const TALLEST_MM: [(View, f64); 2] = [(View::Plan, 165.0), (View::Medial, 50.0)];

/// Round the foot, mm on paper.
const MARGIN_MM: f64 = 4.0;
/// From one length drawn beside the foot to the next, mm on paper.
const LENGTH_STEP_MM: f64 = 5.0;
/// From the foot to its row of keys, mm on paper.
const KEYS_MM: f64 = 6.0;
/// Between two keys at least, mm on paper.
const KEY_GAP_MM: f64 = 3.4;
/// Nearer to each other than this, two lines of a measure share a key, mm on paper.
const AGAIN_MM: f64 = 15.0;
/// From a landmark to its number, mm on paper.
const NUMBER_MM: f64 = 2.6;
/// A landmark this near to the top of a height is what the height runs to, mm of the foot.
const ON_TOP_MM: f64 = 1.0;
/// Landmarks nearer to each other than this share a number's place, mm on paper.
const CROWDED_MM: f64 = 2.5;
/// Half an end tick of a length, mm on paper.
const TICK_MM: f64 = 0.8;

/// Appends the feet as seen from `view` and tells how much smaller than life they are; nothing and `None` where there is
/// nothing to draw.
pub(super) fn feet(out: &mut String, view: View, feet: &[Marked<'_>]) -> Option<f64> {
    let (drawings, reduction) = REDUCTIONS.iter().find_map(|&reduction| {
        let drawings: Vec<Drawing<'_>> = feet.iter().filter_map(|foot| Drawing::of(view, foot, reduction)).collect();
        let gaps = GAP_MM * drawings.len().saturating_sub(1) as f64;
        let sizes = || drawings.iter().map(|drawing| drawing.page.size());
        let tallest = TALLEST_MM.iter().find(|(of, _)| *of == view).map_or(0.0, |(_, mm)| *mm);
        let fits = sizes().map(|size| size.x).sum::<f64>() + gaps <= ROOM_MM && sizes().all(|size| size.y <= tallest);
        fits.then_some((drawings, reduction))
    })?;
    if drawings.is_empty() {
        return None;
    }
    out.push_str("<div class=\"plan\">\n");
    for drawing in drawings {
        drawing.write(out);
    }
    out.push_str("</div>\n");
    Some(reduction)
}

/// One foot on its page.
struct Drawing<'a> {
    marked: &'a Marked<'a>,
    page: Page,
    /// The foot and its lines without the room for keys and lengths, in the points of the view.
    lo: DVec2,
    hi: DVec2,
    lines: Vec<Stroke>,
    lengths: Vec<Stroke>,
}

impl<'a> Drawing<'a> {
    /// `None` where there is no outline to draw on.
    fn of(view: View, marked: &'a Marked<'a>, reduction: f64) -> Option<Self> {
        let foot = marked.foot;
        let outline: Vec<DVec2> = match view {
            View::Plan => foot.silhouette.iter().chain(foot.print.iter().flatten()).copied().collect(),
            View::Medial => foot.profile.iter().flatten().copied().collect(),
        };
        bounds(outline.iter().copied())?;
        let (lines, lengths) = match view {
            View::Plan => in_plan(marked),
            View::Medial => (from_medial(marked), Vec::new()),
        };
        let of_lines = lines.iter().chain(&lengths).flat_map(|stroke| stroke.points.iter().copied());
        let (lo, hi) = bounds(outline.into_iter().chain(of_lines))?;
        // Keys stand medially of a plan and under a side view, lengths laterally.
        let most = lines.iter().map(|stroke| stroke.keys.len()).max().filter(|&most| most > 0);
        let keys = most.map_or(0.0, |most| KEYS_MM + KEY_GAP_MM * (most - 1) as f64);
        let beside = LENGTH_STEP_MM * lengths.len() as f64;
        let (before, after) = match view {
            View::Plan => (DVec2::new(0.0, beside), DVec2::new(0.0, keys)),
            View::Medial => (DVec2::new(0.0, keys), DVec2::ZERO),
        };
        let page = Page {
            view,
            side: marked.side,
            lo: lo - (before + MARGIN_MM) * reduction,
            hi: hi + (after + MARGIN_MM) * reduction,
            reduction,
        };
        Some(Drawing { marked, page, lo, hi, lines, lengths })
    }

    fn write(&self, out: &mut String) {
        let (page, foot, word) = (&self.page, self.marked.foot, self.marked.side.word());
        match page.view {
            View::Plan => {
                page.open(out, &format!("Plan of the {word} foot"));
                let print: String = foot.print.iter().map(|line| page.path(line, true)).collect();
                let _ = writeln!(out, "<path class=\"p\" d=\"{print}\"/>");
                let _ = writeln!(out, "<path class=\"o\" d=\"{}\"/>", page.path(&foot.silhouette, true));
            }
            View::Medial => {
                page.open(out, &format!("The {word} foot from the medial side"));
                let ground = [self.lo.x, self.hi.x].map(|x| DVec2::new(x, 0.0));
                let _ = writeln!(out, "<path class=\"x\" d=\"{}\"/>", page.path(&ground, false));
                let profile: String = foot.profile.iter().map(|line| page.path(line, true)).collect();
                let _ = writeln!(out, "<path class=\"o\" d=\"{profile}\"/>");
            }
        }
        for (place, stroke) in self.lengths.iter().enumerate() {
            self.length(out, place, stroke);
        }
        for stroke in &self.lines {
            let _ = writeln!(out, "<path class=\"l d{}\" d=\"{}\"/>", stroke.dash, page.path(&stroke.points, false));
        }
        self.keys(out);
        self.landmarks(out);
        page.close(out);
    }

    /// A length beside the foot, with thin lines from the places it is measured between.
    fn length(&self, out: &mut String, place: usize, stroke: &Stroke) {
        let page = &self.page;
        let y = self.lo.y - (1.0 + place as f64) * LENGTH_STEP_MM * page.reduction;
        for &end in &stroke.points {
            let thin = page.path(&[end, DVec2::new(end.x, y - TICK_MM * page.reduction)], false);
            let foot = page.at(DVec2::new(end.x, y));
            let tick = format!("M{:.2} {:.2}l{full} -{full}", foot.x - TICK_MM, foot.y + TICK_MM, full = 2.0 * TICK_MM);
            let _ = writeln!(out, "<path class=\"x\" d=\"{thin}\"/><path class=\"l\" d=\"{tick}\"/>");
        }
        let line: Vec<DVec2> = stroke.points.iter().map(|end| DVec2::new(end.x, y)).collect();
        let _ = writeln!(out, "<path class=\"l\" d=\"{}\"/>", page.path(&line, false));
        // Keys one below the other, on the middle of the line.
        let middle = page.at(line.iter().sum::<DVec2>() / line.len() as f64);
        let step = DVec2::new(0.0, KEY_GAP_MM);
        write_keys(out, middle - step * stroke.keys.len().saturating_sub(1) as f64 / 2.0, step, stroke.keys.iter());
    }

    /// The keys of the lines drawn where they were measured, each tied to its line.
    fn keys(&self, out: &mut String) {
        let page = &self.page;
        let away = (KEYS_MM - MARGIN_MM / 4.0) * page.reduction;
        // Of each line the point nearest to the row of keys.
        let near = |p: &DVec2| if page.view == View::Plan { p.y } else { -p.y };
        let nearest =
            |stroke: &Stroke| stroke.points.iter().copied().reduce(|a, b| if near(&b) > near(&a) { b } else { a });
        let mut tied: Vec<(DVec2, &Stroke)> = Vec::new();
        for stroke in self.lines.iter().filter(|stroke| !stroke.keys.is_empty()) {
            let Some(end) = nearest(stroke) else { continue };
            let again = |(other, before): &(DVec2, &Stroke)| {
                before.keys == stroke.keys && other.distance(end) < AGAIN_MM * page.reduction
            };
            if !tied.iter().any(again) {
                tied.push((end, stroke));
            }
        }
        let wanted: Vec<f64> = tied.iter().map(|(end, _)| end.x).collect();
        let places = spread(&wanted, KEY_GAP_MM * page.reduction, self.lo.x, self.hi.x);
        for (x, (end, stroke)) in places.into_iter().zip(tied) {
            let (place, step) = match page.view {
                View::Plan => (DVec2::new(x, self.hi.y + away), DVec2::new(KEY_GAP_MM, 0.0)),
                View::Medial => (DVec2::new(x, self.lo.y - away), DVec2::new(0.0, KEY_GAP_MM)),
            };
            let _ = writeln!(out, "<path class=\"x\" d=\"{}\"/>", page.path(&[end, place], false));
            // Away from the foot, and from left to right wherever that is.
            match (page.view, page.side) {
                (View::Plan, Side::Right) => write_keys(out, page.at(place), -step, stroke.keys.iter().rev()),
                _ => write_keys(out, page.at(place), step, stroke.keys.iter()),
            }
        }
    }

    /// Crosses with their numbers, those of crowded ones together, away from the middle of the foot.
    fn landmarks(&self, out: &mut String) {
        let page = &self.page;
        let middle = page.at((self.lo + self.hi) / 2.0);
        let heights = self.lines.iter().map(|stroke| &stroke.points).filter(|points| points.first() != points.last());
        let tops: Vec<DVec2> =
            heights.filter_map(|points| points.iter().copied().reduce(|a, b| if b.y > a.y { b } else { a })).collect();
        let mut numbered: Vec<(DVec2, String)> = Vec::new();
        for (number, row) in self.marked.landmarks.iter().filter(|(_, row)| row.at.is_finite()) {
            let p = if page.view == View::Plan { row.at.truncate() } else { row.at.xz() };
            // Seen from the side the front of the foot is crowded: there, only what a height runs to.
            if page.view == View::Medial && !tops.iter().any(|top| top.distance(p) < ON_TOP_MM) {
                continue;
            }
            let at = page.at(p);
            cross(out, at, &row.label);
            match numbered.iter_mut().find(|(other, _)| other.distance(at) < CROWDED_MM) {
                Some((_, numbers)) => {
                    let _ = write!(numbers, " {number}");
                }
                None => numbered.push((at, number.to_string())),
            }
        }
        for (at, numbers) in numbered {
            let out_of_foot = (at - middle).normalize_or(DVec2::NEG_Y);
            text(out, "n", at + NUMBER_MM * out_of_foot, &numbers);
        }
    }
}

/// Keys from a place on paper on.
fn write_keys<'a>(out: &mut String, from: DVec2, step: DVec2, keys: impl Iterator<Item = &'a String>) {
    for (index, key) in keys.enumerate() {
        text(out, "k", from + step * index as f64, key);
    }
}
