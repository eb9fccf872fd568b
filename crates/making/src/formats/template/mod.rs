//! The template: every line of the insole at true size, as plain data for the formats that draw it.
//!
//! **Coordinates.** Each side lies as in the shoe, seen from above with the toes up: x to the wearer's right, y to the
//! toes, millimetres, origin where the foot frame has it, under the pternion. So the medial side of a left one is on the
//! right, and a template cut along its line can be laid into the shoe with its print upwards.
//!
//! **Guarantee.** Corners of the model's outlines are kept as they are: nothing is thinned or smoothed.

mod arrange;
mod block;
mod line;
pub(in crate::formats) mod tiles;

pub(in crate::formats) use arrange::{BAR_MM, BARS_MM, Sheet, check_bar_across, check_bar_up, side_by_side, with_bars};
use line::capitals_width;
pub(in crate::formats) use line::{Line, LineKind, Text, about_width};

use super::sheet::page::bounds;
use super::sheet::plan::element_edge;
use super::sides;
use crate::{MakeModel, SideModel};
use base::Side;
use foot::LandmarkId;
use glam::DVec2;

/// Round what is drawn, mm.
const MARGIN_MM: f64 = 1.0;
/// Half a cross, mm.
const CROSS_MM: f64 = 2.0;
/// Half the cross of the heel centre, by which a template is laid on, mm.
const HEEL_CROSS_MM: f64 = 6.0;
/// Landmarks nearer to each other than this share a label, mm.
const TOGETHER_MM: f64 = 2.5;
/// How far from the centre line a text keeps, mm.
const FROM_AXIS_MM: f64 = 3.0;
/// Height of a landmark's letters, mm.
const MARK_TEXT_MM: f64 = 1.8;

/// One insole at true size.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::formats) struct Template {
    /// Which side.
    pub(in crate::formats) side: Side,
    /// What is drawn.
    pub(in crate::formats) lines: Vec<Line>,
    /// A sample of each kind of line, for the legend.
    pub(in crate::formats) samples: Vec<Line>,
    /// What is written.
    pub(in crate::formats) texts: Vec<Text>,
    /// Least corner of the whole, mm.
    pub(in crate::formats) lo: DVec2,
    /// Greatest corner.
    pub(in crate::formats) hi: DVec2,
}

/// Landmarks that matter on a template, each with its letters.
const MARKS: [(LandmarkId, &str); 13] = [
    (LandmarkId::Pternion, "Pt"),
    (LandmarkId::HeelCentre, "HC"),
    (LandmarkId::ArchApex, "AA"),
    (LandmarkId::Navicular, "Nv"),
    (LandmarkId::MetatarsaleTibiale, "MT"),
    (LandmarkId::MetatarsaleFibulare, "MF"),
    (LandmarkId::MetatarsalHead1, "MH1"),
    (LandmarkId::MetatarsalHead2, "MH2"),
    (LandmarkId::MetatarsalHead3, "MH3"),
    (LandmarkId::MetatarsalHead4, "MH4"),
    (LandmarkId::MetatarsalHead5, "MH5"),
    (LandmarkId::SecondToeTip, "T2"),
    (LandmarkId::Akropodion, "Ak"),
];

/// The templates of the insoles there are, left first.
pub(in crate::formats) fn templates(model: &MakeModel) -> Vec<Template> {
    sides(model).filter_map(|(side, insole)| Template::of(model, side, insole)).collect()
}

/// From the foot frame to the sheet.
fn on_sheet(side: Side, p: DVec2) -> DVec2 {
    match side {
        Side::Left => DVec2::new(p.y, p.x),
        Side::Right => DVec2::new(-p.y, p.x),
    }
}

impl Template {
    /// `None` where there is nothing to draw.
    fn of(model: &MakeModel, side: Side, insole: &SideModel) -> Option<Template> {
        let mut template = Template {
            side,
            lines: Vec::new(),
            samples: Vec::new(),
            texts: Vec::new(),
            lo: DVec2::ZERO,
            hi: DVec2::ZERO,
        };
        template.outlines(insole);
        let (lo, hi) = bounds(template.lines.iter().flat_map(|line| line.points.iter().copied()))?;
        template.axes(insole, lo, hi);
        template.elements(insole);
        template.landmarks(insole);
        template.name(model, lo, hi);
        let drawn = template.lines.iter().flat_map(|line| line.points.iter().copied());
        let written = template.texts.iter().flat_map(|text| <[DVec2; 2]>::from(text.room()));
        let (lo, hi) = bounds(drawn.chain(written))?;
        (template.lo, template.hi) = (lo - MARGIN_MM, hi + MARGIN_MM);
        block::add(&mut template, model, insole);
        Some(template)
    }

    fn add(&mut self, kind: LineKind, points: &[DVec2], closed: bool) {
        let points: Vec<DVec2> = points.iter().filter(|p| p.is_finite()).map(|&p| on_sheet(self.side, p)).collect();
        if points.len() >= if closed { 3 } else { 2 } {
            self.lines.push(Line { kind, points, closed });
        }
    }

    fn outlines(&mut self, insole: &SideModel) {
        self.add(LineKind::Insole, &insole.outline, true);
        self.add(LineKind::Last, &insole.last_outline, true);
        self.add(LineKind::Shoe, &insole.shoe_outline, true);
        self.add(LineKind::Foot, &insole.silhouette, true);
        for contour in &insole.print {
            self.add(LineKind::Print, contour, true);
        }
    }

    /// The lines by which a template is laid on; the centre line runs as far as anything drawn, `lo` to `hi`.
    fn axes(&mut self, insole: &SideModel, lo: DVec2, hi: DVec2) {
        self.add(LineKind::Centre, &[DVec2::new(lo.y, 0.0), DVec2::new(hi.y, 0.0)], false);
        let at = |id| insole.landmarks.get(&id).map(|mark| mark.at.truncate());
        if let (Some(tibiale), Some(fibulare)) =
            (at(LandmarkId::MetatarsaleTibiale), at(LandmarkId::MetatarsaleFibulare))
        {
            self.add(LineKind::Ball, &[tibiale, fibulare], false);
        }
        if let Some(trim) = &insole.trim {
            self.add(LineKind::Trim, trim, false);
        }
    }

    fn elements(&mut self, insole: &SideModel) {
        let Some(edge) = insole.edge() else { return };
        for item in insole.elements.iter().filter(|item| item.on) {
            let Some((edge, centre)) = element_edge(item, &edge) else { continue };
            for contour in &edge {
                self.add(LineKind::Element, contour, true);
            }
            let label = insole::elements::by_id(&item.kind).map_or("", |element| element.label());
            let half = about_width(label, MARK_TEXT_MM) / 2.0;
            let at = on_sheet(self.side, centre) - DVec2::new(half, 2.0 * MARK_TEXT_MM);
            self.texts.push(Text::across(at, MARK_TEXT_MM, label));
        }
    }

    fn landmarks(&mut self, insole: &SideModel) {
        let mut labels: Vec<(DVec2, String)> = Vec::new();
        for (id, letters, at) in marks(insole) {
            let half = if id == LandmarkId::HeelCentre { HEEL_CROSS_MM } else { CROSS_MM };
            self.add(LineKind::Landmark, &[at - DVec2::new(half, 0.0), at + DVec2::new(half, 0.0)], false);
            self.add(LineKind::Landmark, &[at - DVec2::new(0.0, half), at + DVec2::new(0.0, half)], false);
            match labels.iter_mut().find(|(other, _)| other.distance(at) < TOGETHER_MM) {
                Some((_, label)) => *label = format!("{label}, {letters}"),
                None => labels.push((at, letters.to_owned())),
            }
        }
        for (at, label) in labels {
            // Away from the centre line, where fewer lines run.
            let at = on_sheet(self.side, at);
            let aside = if at.x < -FROM_AXIS_MM { -0.7 - capitals_width(&label, MARK_TEXT_MM) } else { 0.7 };
            self.texts.push(Text::across(at + DVec2::new(aside, 0.7), MARK_TEXT_MM, label));
        }
    }

    /// Side and title inside the outline, so that the piece still carries them when it is cut: along the lateral side of
    /// the centre line, from the heel centre to the waist.
    fn name(&mut self, model: &MakeModel, lo: DVec2, hi: DVec2) {
        let length = hi.y - lo.y;
        let (start, room) = (lo.y + 0.22 * length, 0.28 * length);
        let word = self.side.word().to_ascii_uppercase();
        let first = if model.title.trim().is_empty() { word } else { format!("{word}  {}", model.title.trim()) };
        let mut second = String::from("This side up");
        if !model.size.trim().is_empty() {
            // The reason for the size, which stands in brackets, is in the block.
            second = format!("{}.  {second}", model.size.split(" (").next().unwrap_or_default().trim());
        }
        let (first, first_mm) = fitted(&first, 6.0, room);
        let (second, second_mm) = fitted(&second, 2.5, room);
        // The upper edge of an upward text is on its left.
        let (first_x, second_x) = match self.side {
            Side::Left => (-FROM_AXIS_MM - second_mm - 2.0, -FROM_AXIS_MM),
            Side::Right => (FROM_AXIS_MM + first_mm, FROM_AXIS_MM + first_mm + 2.0 + second_mm),
        };
        self.texts.push(Text::upwards(DVec2::new(first_x, start), first_mm, first));
        self.texts.push(Text::upwards(DVec2::new(second_x, start), second_mm, second));
    }
}

/// The landmarks that are drawn, with their letters and places in the foot frame.
fn marks(insole: &SideModel) -> impl Iterator<Item = (LandmarkId, &'static str, DVec2)> {
    MARKS.iter().filter_map(|&(id, letters)| {
        let at = insole.landmarks.get(&id)?.at.truncate();
        at.is_finite().then_some((id, letters, at))
    })
}

/// The text and the height, at most `most_mm`, at which it fits into `room_mm`. A text too long even for the least
/// legible height ends in `…`; the block beside the foot has it in full.
fn fitted(text: &str, most_mm: f64, room_mm: f64) -> (String, f64) {
    const LEAST_MM: f64 = 2.0;
    let height_mm = (most_mm * room_mm / about_width(text, most_mm)).clamp(LEAST_MM, most_mm);
    let letters = (room_mm / about_width("m", height_mm)) as usize;
    if text.chars().count() <= letters.max(1) {
        return (text.to_owned(), height_mm);
    }
    let cut: String = text.chars().take(letters.saturating_sub(1)).collect();
    (format!("{}…", cut.trim_end()), height_mm)
}

#[cfg(test)]
mod tests;
