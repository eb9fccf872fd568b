//! Templates side by side on one sheet, and the bars that show whether a print is to scale.

use super::{Line, LineKind, Template, Text};
use glam::DVec2;

/// Length of a check bar, mm.
pub(in crate::formats) const BAR_MM: f64 = 100.0;
/// Breadth of the strip in which a check bar lies, mm.
pub(in crate::formats) const BARS_MM: f64 = 9.5;
/// Between two feet, mm.
const GAP_MM: f64 = 10.0;
/// Half the tick at the end of a bar, mm.
const END_MM: f64 = 2.0;
/// Half the tick at each centimetre, mm.
const TICK_MM: f64 = 0.8;

/// Templates side by side, left first, with their corners in one frame.
#[derive(Clone, Debug)]
pub(in crate::formats) struct Sheet {
    /// Each template with what takes its coordinates to the sheet's.
    pub(in crate::formats) placed: Vec<(DVec2, Template)>,
    /// Least corner is the origin; greatest corner, mm.
    pub(in crate::formats) size: DVec2,
}

/// The templates on one sheet, heels on one line.
pub(in crate::formats) fn side_by_side(templates: Vec<Template>) -> Sheet {
    let lowest = templates.iter().map(|template| template.lo.y).fold(f64::INFINITY, f64::min);
    let mut sheet = Sheet { placed: Vec::new(), size: DVec2::ZERO };
    for template in templates {
        let left = if sheet.placed.is_empty() { 0.0 } else { sheet.size.x + GAP_MM };
        let by = DVec2::new(left - template.lo.x, -lowest);
        sheet.size = sheet.size.max(template.hi + by);
        sheet.placed.push((by, template));
    }
    sheet
}

impl Sheet {
    /// Every line, on the sheet.
    pub(in crate::formats) fn lines(&self) -> impl Iterator<Item = Line> + '_ {
        self.placed
            .iter()
            .flat_map(|(by, template)| template.lines.iter().chain(&template.samples).map(move |line| line.moved(*by)))
    }

    /// Every text, on the sheet.
    pub(in crate::formats) fn texts(&self) -> impl Iterator<Item = Text> + '_ {
        self.placed.iter().flat_map(|(by, template)| template.texts.iter().map(move |text| text.moved(*by)))
    }
}

/// Round a sheet that is drawn whole, mm.
const FRAME_MM: f64 = 5.0;

/// The templates on one sheet with a frame round them and both check bars: up the left edge and along the lower.
pub(in crate::formats) fn with_bars(templates: Vec<Template>) -> (Sheet, Vec<Line>, [Text; 2]) {
    let mut sheet = side_by_side(templates);
    let strip = FRAME_MM + BARS_MM;
    for (by, _) in &mut sheet.placed {
        *by += strip;
    }
    sheet.size = (sheet.size + strip + FRAME_MM).max(DVec2::splat(strip + BAR_MM + FRAME_MM));
    let (mut lines, up) = check_bar_up(DVec2::new(strip - BARS_MM / 3.0, strip));
    let (across_lines, across) = check_bar_across(DVec2::new(strip, FRAME_MM + BARS_MM / 3.0));
    lines.extend(across_lines);
    (sheet, lines, [up, across])
}

/// A bar across the sheet from `at`, a tick at each centimetre, and its text above its right half.
pub(in crate::formats) fn check_bar_across(at: DVec2) -> (Vec<Line>, Text) {
    (bar(at, DVec2::X), Text::across(at + DVec2::new(0.5 * BAR_MM, END_MM + 0.6), 1.8, bar_text()))
}

/// The same up the sheet, the text on its left.
pub(in crate::formats) fn check_bar_up(at: DVec2) -> (Vec<Line>, Text) {
    (bar(at, DVec2::Y), Text::upwards(at + DVec2::new(-END_MM - 0.6, 1.5), 1.8, bar_text()))
}

fn bar_text() -> String {
    format!("Check bar: must measure {BAR_MM:.0} mm")
}

fn bar(at: DVec2, along: DVec2) -> Vec<Line> {
    const TICKS: u32 = 10;
    let line = |a: DVec2, b: DVec2| Line::open(LineKind::CheckBar, [a, b]);
    let mut lines = vec![line(at, at + along * BAR_MM)];
    lines.extend((0..=TICKS).map(|tick| {
        let half = along.perp() * if tick % TICKS == 0 { END_MM } else { TICK_MM };
        let middle = at + along * (BAR_MM * f64::from(tick) / f64::from(TICKS));
        line(middle - half, middle + half)
    }));
    lines
}
