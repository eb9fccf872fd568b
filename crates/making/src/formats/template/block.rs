//! What is written beside the foot: whose template it is, how to print it, and what its lines mean.

use super::{Line, LineKind, Template, Text, about_width, marks};
use crate::formats::sheet::page::bounds;
use crate::{MakeModel, SideModel};
use foot::LandmarkId;
use glam::DVec2;

/// Breadth of the block, mm: with it a foot of usual breadth still goes on one sheet of A4.
const WIDTH_MM: f64 = 54.0;
/// From the foot to the block, mm.
const GAP_MM: f64 = 4.0;
/// Room left under the block for a bar across the sheet, mm.
const UNDER_MM: f64 = 12.0;
/// Height of capitals, mm.
const TEXT_MM: f64 = 1.9;
/// From line to line, in heights of a capital.
const LEADING: f64 = 1.75;
/// Length of a sample in the legend, mm.
const SAMPLE_MM: f64 = 15.0;
/// A title longer than this many lines ends in `…`.
const TITLE_LINES: usize = 4;

/// Adds the block on the right of the foot, its foot at the heel, and widens the template's corners to hold it.
pub(super) fn add(template: &mut Template, model: &MakeModel, insole: &SideModel) {
    let rows = rows(template, model, insole);
    let height: f64 = rows.iter().map(Row::height_mm).sum();
    let left = template.hi.x + GAP_MM;
    let mut top = template.lo.y + UNDER_MM + height;
    template.hi = template.hi.max(DVec2::new(left + WIDTH_MM, top));
    for row in rows {
        let base = top - row.height_mm() + TEXT_MM * (LEADING - 1.0) / 2.0;
        top -= row.height_mm();
        match row {
            Row::Text(height_mm, text) => template.texts.push(Text::across(DVec2::new(left, base), height_mm, text)),
            Row::Legend(kind) => {
                let middle = base + TEXT_MM / 2.0;
                template.samples.extend(sample(kind, DVec2::new(left, middle)));
                let at = DVec2::new(left + SAMPLE_MM + 2.0, base);
                template.texts.push(Text::across(at, TEXT_MM, kind.label()));
            }
            Row::Gap => {}
        }
    }
}

/// A sample of a kind of line from `at` to the right: a cross for landmarks.
fn sample(kind: LineKind, at: DVec2) -> Vec<Line> {
    let line = |from: DVec2, to: DVec2| Line::open(kind, [from, to]);
    if kind != LineKind::Landmark {
        return vec![line(at, at + DVec2::new(SAMPLE_MM, 0.0))];
    }
    let centre = at + DVec2::new(SAMPLE_MM / 2.0, 0.0);
    [DVec2::X, DVec2::Y].map(|axis| line(centre - axis * TEXT_MM / 1.5, centre + axis * TEXT_MM / 1.5)).into()
}

enum Row {
    /// A text and its height of capitals, mm.
    Text(f64, String),
    /// A sample of a line and what it means.
    Legend(LineKind),
    Gap,
}

impl Row {
    fn height_mm(&self) -> f64 {
        match self {
            Row::Text(height_mm, _) => height_mm * LEADING,
            Row::Legend(_) => TEXT_MM * LEADING * 1.15,
            Row::Gap => TEXT_MM,
        }
    }
}

/// The block from top to bottom.
fn rows(template: &Template, model: &MakeModel, insole: &SideModel) -> Vec<Row> {
    let mut rows = vec![Row::Text(5.5, template.side.word().to_ascii_uppercase())];
    let mut title = wrapped(model.title.trim(), 2.5);
    if title.len() > TITLE_LINES {
        title.truncate(TITLE_LINES);
        title.push("…".into());
    }
    rows.extend(title.into_iter().map(|line| Row::Text(2.5, line)));
    rows.push(Row::Gap);
    let mut say = |text: &str| rows.extend(wrapped(text, TEXT_MM).into_iter().map(|line| Row::Text(TEXT_MM, line)));
    if !model.size.trim().is_empty() {
        say(&format!("Size: {}", model.size.trim()));
    }
    for line in sizes(insole) {
        say(&line);
    }
    say(&format!("Date: {}", if model.date.trim().is_empty() { "____________________" } else { model.date.trim() }));
    say("Checked by: ________________");
    say(&model.program);
    rows.push(Row::Gap);
    let mut say = |text: &str| rows.extend(wrapped(text, TEXT_MM).into_iter().map(|line| Row::Text(TEXT_MM, line)));
    say("Print at 100 %, no scaling. Each check bar must measure 100 mm.");
    say("Seen from above, toes up, as it lies in the shoe. Try the cut template in the shoe before making from it.");
    rows.push(Row::Gap);
    let drawn = |kind: &LineKind| template.lines.iter().any(|line| line.kind == *kind);
    rows.extend(LineKind::ALL.into_iter().filter(drawn).map(Row::Legend));
    rows.push(Row::Gap);
    rows.extend(wrapped(&key(insole), TEXT_MM).into_iter().map(|line| Row::Text(TEXT_MM, line)));
    rows
}

/// Length and widths of the outline.
fn sizes(insole: &SideModel) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some((lo, hi)) = bounds(insole.outline.iter().copied()) {
        lines.push(format!("Insole length: {:.1} mm", hi.x - lo.x));
        lines.push(format!("Greatest width: {:.1} mm", hi.y - lo.y));
    }
    let widths = insole.measures.iter().filter(|reading| reading.id.starts_with("width_at_"));
    lines
        .extend(widths.map(|width| format!("{}: {:.*} {}", width.label, width.digits.min(6), width.value, width.unit)));
    lines
}

/// What the letters at the landmarks mean. The heads share one entry.
fn key(insole: &SideModel) -> String {
    let mut entries: Vec<String> = Vec::new();
    let mut heads = false;
    for (id, letters, _) in marks(insole) {
        if !LandmarkId::METATARSAL_HEADS.contains(&id) {
            entries.push(format!("{letters} {}", id.label()));
        } else if !heads {
            heads = true;
            entries.push("MH1–5 Metatarsal heads (estimates)".into());
        }
    }
    if entries.is_empty() { String::new() } else { format!("{}.", entries.join(", ")) }
}

/// Text broken between words into lines that fit the block; a word longer than a line is broken too.
fn wrapped(text: &str, height_mm: f64) -> Vec<String> {
    let most = (WIDTH_MM / about_width("m", height_mm)) as usize;
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let letters: Vec<char> = word.chars().collect();
        for piece in letters.chunks(most.max(1)) {
            if !line.is_empty() && line.chars().count() + 1 + piece.len() > most {
                lines.push(std::mem::take(&mut line));
            }
            if !line.is_empty() {
                line.push(' ');
            }
            line.extend(piece);
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}
