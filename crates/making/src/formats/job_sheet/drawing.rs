//! The plan of one insole as a scalable drawing at a stated scale, seen from above, toes up.

use crate::SideModel;
use crate::formats::sheet::html::number;
use crate::formats::sheet::page::{Page, View, bounds, cross, text};
use crate::formats::sheet::plan::element_edge;
use base::Side;
use foot::LandmarkId;
use glam::DVec2;
use hardness::Region;
use insole::{Edge, ElementItem};
use mesh::Grid;
use std::fmt::Write;
use std::sync::Arc;

/// The drawing is this much smaller than the insole: 1 : 2 puts a pair on one page.
pub(super) const REDUCTION: f64 = 2.0;
/// Room around the insole, mm of the insole.
const MARGIN_MM: f64 = 8.0;
/// Height between contour lines, mm.
pub(super) const CONTOUR_MM: f64 = 2.0;
/// Contours are drawn this many samples beyond the outline, so that cutting them off there leaves no gap.
const BEYOND: usize = 3;
/// Appends the drawing of one insole with its caption.
pub(super) fn figure(out: &mut String, side: Side, insole: &SideModel) {
    let Some((lo, hi)) = bounds(insole.outline.iter().copied()) else { return };
    let (lo, hi) = (lo - MARGIN_MM, hi + MARGIN_MM);
    let page = Page { view: View::Plan, side, lo, hi, reduction: REDUCTION };
    let word = side.word();
    page.open(out, &format!("Plan of the {word} insole"));
    let outline = page.path(&insole.outline, true);
    let _ = write!(
        out,
        "<clipPath id=\"inside-{word}\"><path d=\"{outline}\"/></clipPath>\n<path class=\"o\" d=\"{outline}\"/>\n"
    );
    if !insole.silhouette.is_empty() {
        let _ = writeln!(out, "<path class=\"f\" d=\"{}\"/>", page.path(&insole.silhouette, true));
    }
    if let Some(top) = &insole.top {
        let _ = writeln!(out, "<g clip-path=\"url(#inside-{word})\">");
        contours(out, &page, top);
        out.push_str("</g>\n");
    }
    for region in insole.hardness.regions.iter().filter(|region| region.on) {
        region_curve(out, &page, region);
    }
    if let Some(edge) = insole.edge() {
        for (index, item) in insole.elements.iter().enumerate().filter(|(_, item)| item.on) {
            element_outline(out, &page, index + 1, item, &edge);
        }
    }
    for (id, mark) in &insole.landmarks {
        if DRAWN.contains(id) && mark.at.is_finite() {
            cross(out, page.at(mark.at.truncate()), id.label());
        }
    }
    page.close(out);
}

/// Landmarks that lie in the plan of the sole.
const DRAWN: [LandmarkId; 5] = [
    LandmarkId::Pternion,
    LandmarkId::HeelCentre,
    LandmarkId::ArchApex,
    LandmarkId::MetatarsaleTibiale,
    LandmarkId::MetatarsaleFibulare,
];

/// Lines of equal height of the top, each with its height.
fn contours(out: &mut String, page: &Page, top: &Grid) {
    let top = extended(top);
    let (lo, hi) = top
        .values
        .iter()
        .filter(|value| value.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), &z| (lo.min(f64::from(z)), hi.max(f64::from(z))));
    if lo > hi {
        return;
    }
    let steps = |z: f64| (z / CONTOUR_MM).clamp(-50.0, 50.0) as i32;
    // Height 0 is left out: the whole forefoot lies there.
    for step in (steps(lo)..=steps(hi)).filter(|&step| step != 0) {
        let level = f64::from(step) * CONTOUR_MM;
        for line in mesh::contour(&top, level) {
            let _ = writeln!(out, "<path class=\"c\" d=\"{}\"/>", page.path(&line, true));
            // Foremost of the line: in the hollow of the heel, on the slope of the arch.
            let label = line.iter().copied().reduce(|a, b| if b.x > a.x { b } else { a });
            if let Some(label) = label {
                text(out, "n", page.at(label), &number(level, 0, ""));
            }
        }
    }
}

/// The grid with the edge of its values carried some samples beyond.
fn extended(grid: &Grid) -> Grid {
    let mut grid = grid.clone();
    for _ in 0..BEYOND {
        let before = grid.clone();
        for row in 0..grid.rows {
            for column in 0..grid.columns {
                let index = row * grid.columns + column;
                if before.values[index].is_finite() {
                    continue;
                }
                let around = [
                    before.get(column.wrapping_sub(1), row),
                    before.get(column + 1, row),
                    before.get(column, row.wrapping_sub(1)),
                    before.get(column, row + 1),
                ];
                let known: Vec<f32> = around.into_iter().filter(|value| value.is_finite()).collect();
                if !known.is_empty() {
                    grid.values[index] = known.iter().sum::<f32>() / known.len() as f32;
                }
            }
        }
    }
    grid
}

fn region_curve(out: &mut String, page: &Page, region: &Region) {
    let points: Vec<DVec2> = region.plan_points().into_iter().filter(|p| p.is_finite()).map(|p| page.at(p)).collect();
    if points.len() < 3 {
        return;
    }
    // A closed curve through the points: each piece a cubic whose ends run parallel to the chord of their neighbours.
    let count = points.len();
    let mut path = format!("M{:.2} {:.2}", points[0].x, points[0].y);
    for index in 0..count {
        let [before, from, to, after] = [count - 1, 0, 1, 2].map(|k| points[(index + k) % count]);
        let (a, b) = (from + (to - before) / 6.0, to - (after - from) / 6.0);
        let _ = write!(path, "C{:.2} {:.2} {:.2} {:.2} {:.2} {:.2}", a.x, a.y, b.x, b.y, to.x, to.y);
    }
    let _ = writeln!(out, "<path class=\"h\" d=\"{path}Z\"/>");
    let centre = points.iter().sum::<DVec2>() / count as f64;
    text(out, "a", centre, &format!("A\u{a0}{}", number(region.shore_a, 0, "")));
}

fn element_outline(out: &mut String, page: &Page, place: usize, item: &ElementItem, edge: &Arc<Edge>) {
    let Some((lines, centre)) = element_edge(item, edge) else { return };
    for line in &lines {
        let _ = writeln!(out, "<path class=\"e\" d=\"{}\"/>", page.path(line, true));
    }
    text(out, "t", page.at(centre), &place.to_string());
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::test_model;

    /// Page position of the first mark with this name.
    fn mark(drawing: &str, name: &str) -> DVec2 {
        let end = drawing.find(&format!("<title>{name}")).unwrap();
        let start = drawing[..end].rfind("d=\"M").unwrap() + 4;
        let mut numbers = drawing[start..end].split(['h', ' ']).map(|number| number.parse::<f64>().unwrap());
        DVec2::new(numbers.next().unwrap() + 1.5, numbers.next().unwrap())
    }

    #[test]
    fn toes_are_up_and_the_medial_sides_face_each_other() {
        let insole = test_model::side(260.0);
        let drawn = |side| {
            let mut out = String::new();
            figure(&mut out, side, &insole);
            out
        };
        let (left, right) = (drawn(Side::Left), drawn(Side::Right));
        let half = insole.outline.iter().map(|p| p.y).fold(0.0, f64::max) + 8.0;
        assert!(mark(&left, "Medial arch apex").distance(DVec2::new(half + 25.0, 8.0 + 155.0) / 2.0) < 0.05);
        assert!(mark(&right, "Medial arch apex").distance(DVec2::new(half - 25.0, 8.0 + 155.0) / 2.0) < 0.05);
        assert!(mark(&left, "Heel centre").y > mark(&left, "Medial arch apex").y);
        // 1 : 2 with the margin, on paper.
        let size = format!("width=\"{half:.2}mm\" height=\"138.00mm\" viewBox=\"0 0 {half:.2} 138.00\"");
        assert!(left.contains(&size), "{size} in {}", &left[..300]);
    }

    #[test]
    fn contours_elements_and_regions_are_drawn_and_labelled() {
        let mut out = String::new();
        figure(&mut out, Side::Right, &test_model::side(260.0));
        // The dome of 11 mm: lines at 2, 4, … 10, each with its height.
        assert_eq!(out.matches("class=\"c\"").count(), 5);
        for height in [2, 4, 6, 8, 10] {
            assert!(out.contains(&format!(">{height}</text>")), "{height}");
        }
        // The pad that is on; not the one that is off, nor the unknown one.
        assert_eq!(out.matches("class=\"e\"").count(), 1);
        assert_eq!(out.matches("class=\"h\"").count(), 1);
        assert!(out.contains("A\u{a0}22"));
    }

    #[test]
    fn an_empty_outline_draws_nothing() {
        let mut insole = test_model::side(260.0);
        insole.outline.clear();
        let mut out = String::new();
        figure(&mut out, Side::Left, &insole);
        assert!(out.is_empty());
    }
}
