//! The basic shapes (SVG 2, 10) and paths, in user units.

use super::shape::{Arc, Segment, Shape};
use super::svg_path;
use super::svg_text::{Length, Scanner};
use crate::tracing::DrawingFault;
use glam::DVec2;
use scan::xml::{Tag, local};
use std::f64::consts::FRAC_PI_2;

/// What an element draws; `None` if it is no shape. `viewport` is what shares are of.
pub(super) fn shapes(tag: &Tag, viewport: DVec2) -> Result<Option<Vec<Shape>>, DrawingFault> {
    let element = Element { tag, viewport };
    let shapes = match local(tag.name) {
        "path" => svg_path::shapes(tag.attribute("d").unwrap_or_default())?,
        "rect" => element.rectangle()?.into_iter().collect(),
        "circle" => element.circle()?.into_iter().collect(),
        "ellipse" => element.ellipse()?.into_iter().collect(),
        "line" => {
            let [x1, y1, x2, y2] = [element.x("x1")?, element.y("y1")?, element.x("x2")?, element.y("y2")?];
            run(DVec2::new(x1, y1), vec![Segment::Line(DVec2::new(x2, y2))], false).into_iter().collect()
        }
        "polyline" => element.points(false)?.into_iter().collect(),
        "polygon" => element.points(true)?.into_iter().collect(),
        _ => return Ok(None),
    };
    Ok(Some(shapes))
}

fn run(start: DVec2, segments: Vec<Segment>, closed: bool) -> Option<Shape> {
    (!segments.is_empty()).then_some(Shape { label: String::new(), start, segments, closed })
}

struct Element<'a> {
    tag: &'a Tag<'a>,
    viewport: DVec2,
}

impl Element<'_> {
    fn length(&self, name: &str, whole: f64) -> Result<Option<f64>, DrawingFault> {
        let text = self.tag.attribute(name).map(str::trim_ascii).filter(|text| !text.is_empty() && *text != "auto");
        text.map(|text| Length::parse(text).map(|length| length.px(whole))).transpose()
    }

    fn x(&self, name: &str) -> Result<f64, DrawingFault> {
        Ok(self.length(name, self.viewport.x)?.unwrap_or(0.0))
    }

    fn y(&self, name: &str) -> Result<f64, DrawingFault> {
        Ok(self.length(name, self.viewport.y)?.unwrap_or(0.0))
    }

    fn rectangle(&self) -> Result<Option<Shape>, DrawingFault> {
        let corner = DVec2::new(self.x("x")?, self.y("y")?);
        let size = DVec2::new(self.x("width")?, self.y("height")?);
        if size.min_element() <= 0.0 {
            return Ok(None);
        }
        // A radius that is missing is as great as the other.
        let (rx, ry) = (self.length("rx", self.viewport.x)?, self.length("ry", self.viewport.y)?);
        let radii = DVec2::new(rx.or(ry).unwrap_or(0.0), ry.or(rx).unwrap_or(0.0));
        let radii = radii.max(DVec2::ZERO).min(size / 2.0);
        let far = corner + size;
        let mut segments = Vec::new();
        if radii.min_element() <= 0.0 {
            let corners = [DVec2::new(far.x, corner.y), far, DVec2::new(corner.x, far.y)];
            return Ok(run(corner, corners.map(Segment::Line).to_vec(), true));
        }
        let centres = [
            (DVec2::new(far.x - radii.x, corner.y + radii.y), -FRAC_PI_2),
            (far - radii, 0.0),
            (DVec2::new(corner.x + radii.x, far.y - radii.y), FRAC_PI_2),
            (corner + radii, 2.0 * FRAC_PI_2),
        ];
        for (centre, from) in centres {
            let (u, v) = (DVec2::X * radii.x, DVec2::Y * radii.y);
            let arc = Arc { centre, u, v, from, turn: FRAC_PI_2 };
            segments.extend([Segment::Line(arc.start()), Segment::Arc(arc)]);
        }
        Ok(run(DVec2::new(corner.x + radii.x, corner.y), segments, true))
    }

    fn circle(&self) -> Result<Option<Shape>, DrawingFault> {
        let whole = (self.viewport.length_squared() / 2.0).sqrt();
        let radius = self.length("r", whole)?.unwrap_or(0.0);
        self.round(DVec2::splat(radius))
    }

    fn ellipse(&self) -> Result<Option<Shape>, DrawingFault> {
        let (rx, ry) = (self.length("rx", self.viewport.x)?, self.length("ry", self.viewport.y)?);
        self.round(DVec2::new(rx.or(ry).unwrap_or(0.0), ry.or(rx).unwrap_or(0.0)))
    }

    fn round(&self, radii: DVec2) -> Result<Option<Shape>, DrawingFault> {
        let centre = DVec2::new(self.x("cx")?, self.y("cy")?);
        if radii.min_element() <= 0.0 {
            return Ok(None);
        }
        let arc = Arc::whole(centre, DVec2::X * radii.x, DVec2::Y * radii.y);
        Ok(run(arc.start(), vec![Segment::Arc(arc)], true))
    }

    fn points(&self, closed: bool) -> Result<Option<Shape>, DrawingFault> {
        let mut scanner = Scanner::of(self.tag.attribute("points").unwrap_or_default());
        if scanner.peek().is_none() {
            return Ok(None);
        }
        let start = scanner.pair()?;
        let mut segments = Vec::new();
        while scanner.peek().is_some() {
            segments.push(Segment::Line(scanner.pair()?));
        }
        Ok(run(start, segments, closed))
    }
}
