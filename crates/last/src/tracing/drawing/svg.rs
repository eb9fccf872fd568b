//! SVG: the tree of elements with its transforms and viewports (SVG 2, 5 and 8), and how large a user unit is.
//!
//! Not read: style sheets (a `display` in them included), `use`, and what text draws.

use super::left_out::LeftOut;
use super::svg_text::{Length, PX_PER_MM, Scanner, transform};
use super::{Fault, Read, svg_shapes};
use crate::tracing::{DrawingFault, Place};
use base::{Note, Report, Severity};
use glam::{DAffine2, DVec2};
use scan::xml::{DocumentType, Tag, each_tag, local};

/// Elements whose content is drawn where another names it, or not at all.
const NOT_DRAWN: [&str; 14] = [
    "defs",
    "clipPath",
    "symbol",
    "mask",
    "pattern",
    "marker",
    "linearGradient",
    "radialGradient",
    "filter",
    "metadata",
    "namedview",
    "style",
    "script",
    "title",
];
/// Elements that draw something that is no curve.
const LEFT_OUT: [(&str, &str); 4] =
    [("use", "copies (use)"), ("text", "texts"), ("image", "pictures"), ("foreignObject", "foreign contents")];

pub(super) fn read(bytes: &[u8]) -> Result<Read, Fault> {
    let line_ends = |piece: &[u8]| piece.iter().filter(|byte| **byte == b'\n').count();
    let broken = |at: usize, what: &str| {
        (Place::Line(1 + line_ends(&bytes[..at.min(bytes.len())])), DrawingFault::Markup { what: what.to_owned() })
    };
    let (mut line, mut counted) = (1, 0);
    let mut tree = Tree { open: Vec::new(), shapes: Vec::new(), unit: None, left_out: LeftOut::default() };
    each_tag(bytes, DocumentType::PassedOver, broken, |at, tag, is_start| {
        if !is_start {
            tree.open.pop();
            return Ok(());
        }
        line += line_ends(&bytes[counted..at]);
        counted = at;
        let place = || Place::Element { line, element: told(tag) };
        tree.take(tag, place).map_err(|fault| (place(), fault))
    })?;
    let Some(unit) = tree.unit else {
        return Err((Place::File, DrawingFault::Unsound { what: "there is no svg element in it" }));
    };
    let mut report = Report::default();
    tree.left_out.report(&mut report);
    Ok(Read { shapes: tree.shapes, unit, report })
}

/// An element as messages name it.
fn told(tag: &Tag) -> String {
    const MOST_LETTERS: usize = 40;
    let id = tag.attribute("id").map(|id| format!(" id=\"{}\"", id.chars().take(MOST_LETTERS).collect::<String>()));
    format!("{}{}", tag.name.chars().take(MOST_LETTERS).collect::<String>(), id.unwrap_or_default())
}

/// What holds for the content of an element.
#[derive(Clone, Copy)]
struct Inside {
    /// User units there → mm, y up.
    map: DAffine2,
    /// Size of the nearest viewport, user units.
    viewport: DVec2,
    is_hidden: bool,
}

struct Tree {
    open: Vec<Inside>,
    shapes: Vec<(Place, super::Shape)>,
    /// Known from the root element on.
    unit: Option<Note>,
    left_out: LeftOut,
}

impl Tree {
    fn take(&mut self, tag: &Tag, place: impl Fn() -> Place) -> Result<(), DrawingFault> {
        let name = local(tag.name);
        let Some(&outer) = self.open.last() else {
            if name != "svg" {
                return Err(DrawingFault::OtherFormat { looks_like: "another kind of XML" });
            }
            let (inside, unit) = root(tag)?;
            self.unit.get_or_insert(unit);
            self.open.push(inside);
            return Ok(());
        };
        let mut inside = outer;
        inside.is_hidden |= is_hidden(tag) || NOT_DRAWN.contains(&name);
        if inside.is_hidden {
            self.open.push(inside);
            return Ok(());
        }
        if let Some((_, kind)) = LEFT_OUT.iter().find(|(left_out, _)| *left_out == name) {
            self.left_out.add(kind);
            inside.is_hidden = true;
        }
        if let Some(text) = tag.attribute("transform") {
            inside.map *= transform(text)?;
        }
        if name == "svg" {
            nested(tag, &mut inside)?;
        } else if let Some(shapes) = svg_shapes::shapes(tag, inside.viewport)? {
            let label = tag.attributes().find(|(name, _)| *name == "id").map_or("", |(_, id)| id);
            for shape in shapes {
                let shape = super::Shape { label: label.to_owned(), ..shape.mapped(&inside.map) };
                self.shapes.push((place(), shape));
            }
        }
        self.open.push(inside);
        Ok(())
    }
}

/// Whether an attribute or the element's own style takes it out of the drawing.
fn is_hidden(tag: &Tag) -> bool {
    let none = |value: &str| value.trim_ascii() == "none";
    let styled = || {
        let style = tag.attribute("style").unwrap_or_default();
        style.split(';').filter_map(|one| one.split_once(':')).any(|(name, value)| {
            name.trim_ascii() == "display" && none(value.trim_ascii().trim_end_matches("!important"))
        })
    };
    tag.attribute("display").is_some_and(none) || styled()
}

/// The root: its viewport, and what its user unit is in millimetres.
fn root(tag: &Tag) -> Result<(Inside, Note), DrawingFault> {
    let view_box = view_box(tag)?;
    let (width, height) = (size(tag, "width")?, size(tag, "height")?);
    let known = |length: Option<Length>| match length {
        Some(Length::Measured(px) | Length::Px(px)) => Some(px),
        Some(Length::Share(_)) | None => None,
    };
    let viewport = match (known(width), known(height), view_box) {
        (Some(width), Some(height), _) => DVec2::new(width, height),
        // The side that is missing follows from the other by the view box's proportions.
        (Some(width), None, Some((_, of))) => of * (width / of.x),
        (None, Some(height), Some((_, of))) => of * (height / of.y),
        (None, None, Some((_, of))) => of,
        (width, height, None) => DVec2::new(width.or(height).unwrap_or(100.0), height.or(width).unwrap_or(100.0)),
    };
    let (into, viewport_inside) = match view_box {
        Some(view_box) => (fitted(tag, view_box, viewport)?, view_box.1),
        None => (DAffine2::IDENTITY, viewport),
    };
    let map = DAffine2::from_scale(DVec2::new(1.0, -1.0) / PX_PER_MM) * into;
    let is_measured = |length| matches!(length, Some(Length::Measured(_)));
    let unit = if is_measured(width) || is_measured(height) {
        let size = viewport / PX_PER_MM;
        Note {
            code: "drawing_unit_stated".to_owned(),
            severity: Severity::Info,
            text: format!("The drawing says that its sheet is {:.1} by {:.1} mm.", size.x, size.y),
            advice: String::new(),
        }
    } else {
        let (what, code) = if known(width).or(known(height)).is_some() {
            ("gives its size in pixels", "drawing_unit_pixels")
        } else {
            ("does not give its size", "drawing_unit_missing")
        };
        Note {
            code: code.to_owned(),
            severity: Severity::Check,
            text: format!("The drawing {what}: 96 pixels were taken for an inch, as CSS does."),
            advice: "Check a length you know; some programs write 72 or 90 pixels an inch, or millimetres.".to_owned(),
        }
    };
    Ok((Inside { map, viewport: viewport_inside, is_hidden: false }, unit))
}

/// A drawing within the drawing.
fn nested(tag: &Tag, inside: &mut Inside) -> Result<(), DrawingFault> {
    let px = |name: &str, whole: f64, usual: f64| -> Result<f64, DrawingFault> {
        Ok(size(tag, name)?.map_or(usual, |length| length.px(whole)))
    };
    let outer = inside.viewport;
    let corner = DVec2::new(px("x", outer.x, 0.0)?, px("y", outer.y, 0.0)?);
    let viewport = DVec2::new(px("width", outer.x, outer.x)?, px("height", outer.y, outer.y)?);
    inside.map *= DAffine2::from_translation(corner);
    inside.viewport = viewport;
    if let Some(view_box) = view_box(tag)? {
        inside.map *= fitted(tag, view_box, viewport)?;
        inside.viewport = view_box.1;
    }
    Ok(())
}

fn size(tag: &Tag, name: &str) -> Result<Option<Length>, DrawingFault> {
    let text = tag.attribute(name).map(str::trim_ascii).filter(|text| !text.is_empty() && *text != "auto");
    let length = text.map(Length::parse).transpose()?;
    let is_positive = !matches!(name, "width" | "height") || length.is_none_or(|length| length.px(1.0) > 0.0);
    if is_positive { Ok(length) } else { Err(DrawingFault::Unsound { what: "its width or height is not above zero" }) }
}

/// Corner and size.
fn view_box(tag: &Tag) -> Result<Option<(DVec2, DVec2)>, DrawingFault> {
    let Some(text) = tag.attribute("viewBox") else { return Ok(None) };
    let mut scanner = Scanner::of(text);
    let (corner, size) = (scanner.pair()?, scanner.pair()?);
    if size.min_element() > 0.0 {
        Ok(Some((corner, size)))
    } else {
        Err(DrawingFault::Unsound { what: "its viewBox has no extent" })
    }
}

/// The map of a view box into a viewport (`preserveAspectRatio`, SVG 2, 8.7).
fn fitted(tag: &Tag, (corner, size): (DVec2, DVec2), viewport: DVec2) -> Result<DAffine2, DrawingFault> {
    let aspect = tag.attribute("preserveAspectRatio").unwrap_or_default();
    let mut words = aspect.split_ascii_whitespace();
    let (align, slice) = (words.next().unwrap_or("xMidYMid"), words.next() == Some("slice"));
    let ratio = viewport / size;
    let scale = match (align, slice) {
        ("none", _) => ratio,
        (_, false) => DVec2::splat(ratio.min_element()),
        (_, true) => DVec2::splat(ratio.max_element()),
    };
    let share = |axis: char| match align.split_once(axis).map(|(_, after)| after.get(..3)) {
        Some(Some("Min")) => 0.0,
        Some(Some("Max")) => 1.0,
        _ => 0.5,
    };
    let room = viewport - size * scale;
    let map = DAffine2::from_scale_angle_translation(scale, 0.0, room * DVec2::new(share('x'), share('Y')));
    if map.is_finite() {
        Ok(map * DAffine2::from_translation(-corner))
    } else {
        Err(DrawingFault::Unsound { what: "its viewBox has no extent" })
    }
}
