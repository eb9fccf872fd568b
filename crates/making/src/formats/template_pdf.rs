//! The template on paper: pages at exact size, the drawing divided among them where it is larger than one.
//!
//! Each page has two check bars of its own, since a printer may scale one way and not the other. The file asks its
//! reader not to scale when printing (`PrintScaling`, ISO 32000-1, table 150); not every reader obeys.

mod pages;
mod text;

use super::template::tiles::{Tile, Tiling};
use super::template::{BAR_MM, BARS_MM, Sheet, Template, side_by_side, templates};
use super::{Format, Part, WriteError, check_pair};
use crate::MakeModel;
use base::{ParamSpec, Params, Report, Severity, value_of};
use glam::{DVec2, Vec2Swizzles};
use std::io::Write;

/// Outlines and landmarks of both insoles at true size for print.
#[derive(Clone, Copy, Debug, Default)]
pub struct TemplatePdf;

const PAPER: ParamSpec = ParamSpec {
    id: "paper",
    label: "Paper (0 A4, 1 A3, 2 US Letter)",
    unit: "",
    min: 0.0,
    max: 2.0,
    default: 0.0,
    step: 1.0,
    help: "0: A4. 1: A3, both feet on one sheet where they fit. 2: US Letter. What is larger than a sheet is divided among several.",
};

const OVERLAP_MM: ParamSpec = ParamSpec {
    id: "overlap_mm",
    label: "Overlap of sheets",
    unit: "mm",
    min: 5.0,
    max: 30.0,
    default: 10.0,
    step: 1.0,
    help: "How much of the drawing two sheets that are joined both show.",
};

const MARGIN_MM: ParamSpec = ParamSpec {
    id: "margin_mm",
    label: "Margin the printer needs",
    unit: "mm",
    min: 4.0,
    max: 20.0,
    default: 10.0,
    step: 1.0,
    help: "Edge of the sheet that stays free, since most printers cannot print there.",
};

/// Portrait sizes by [`PAPER`], mm: ISO 216, and 8.5 × 11 inch.
const PAPERS: [DVec2; 3] = [DVec2::new(210.0, 297.0), DVec2::new(297.0, 420.0), DVec2::new(215.9, 279.4)];
/// Place of A3 among them.
const A3: usize = 1;
/// Room that the bar across the page takes, mm.
const FOOTER_MM: DVec2 = DVec2::new(BAR_MM + 1.5, 5.0);
/// Room that the bar and its text above its right half take, mm.
const FOOTER_TEXT_MM: DVec2 = DVec2::new(BAR_MM / 2.0 + 1.5, BARS_MM);

impl Format for TemplatePdf {
    fn id(&self) -> &'static str {
        "template_pdf"
    }

    fn label(&self) -> &'static str {
        "Template 1:1 (PDF)"
    }

    fn help(&self) -> &'static str {
        "Both insoles at true size for print at 100 %: outlines, landmarks, axes and a check bar both ways on every page. \
         What is larger than a sheet is divided, with crosses to join it by."
    }

    fn extension(&self) -> &'static str {
        "pdf"
    }

    fn media_type(&self) -> &'static str {
        "application/pdf"
    }

    fn options(&self) -> &'static [ParamSpec] {
        &[PAPER, OVERLAP_MM, MARGIN_MM]
    }

    fn write(
        &self,
        model: &MakeModel,
        part: Part,
        options: &Params,
        out: &mut dyn Write,
        report: &mut Report,
    ) -> Result<(), WriteError> {
        check_pair(self, model, part)?;
        let [paper, overlap_mm, margin_mm] = [&PAPER, &OVERLAP_MM, &MARGIN_MM].map(|spec| {
            let value = value_of(options, spec);
            let whole = spec.id != PAPER.id || value.fract().abs() < f64::EPSILON;
            if spec.accepts(value) && whole { Ok(value) } else { Err(WriteError::Option { spec: *spec, value }) }
        });
        let (paper, overlap_mm, margin_mm) = (paper? as usize, overlap_mm?, margin_mm?);
        let jobs = jobs(templates(model), paper, overlap_mm, margin_mm);
        let (file, missing) = pages::file(model, &jobs);
        if missing {
            report.add(
                Severity::Check,
                "template_letters",
                "The template's PDF shows some letters of its texts as “?”: the font that every PDF reader has knows Latin letters only.",
                "Write the title and size in Latin letters, or use the SVG template.",
            );
        }
        out.write_all(&file)?;
        Ok(())
    }
}

/// A drawing and the pages it goes on.
struct Job {
    sheet: Sheet,
    /// Size of the page, mm.
    page: DVec2,
    /// Least corner of the window on the page, mm.
    window: DVec2,
    tiling: Tiling,
    margin_mm: f64,
}

/// One page for both feet where a sheet of A3 is large enough, else pages for each.
fn jobs(templates: Vec<Template>, paper: usize, overlap_mm: f64, margin_mm: f64) -> Vec<Job> {
    let upright = PAPERS.get(paper).copied().unwrap_or(PAPERS[0]);
    if paper == A3 && templates.len() > 1 {
        let both = job(side_by_side(templates.clone()), upright.yx(), overlap_mm, margin_mm);
        if both.tiling.count() == 1 {
            return vec![both];
        }
    }
    let alone = |template| job(side_by_side(vec![template]), upright, overlap_mm, margin_mm);
    templates.into_iter().map(alone).collect()
}

/// The bar up the page has a strip of its own on the left. The bar across lies within the drawing, at its lower right,
/// if it then all goes on one sheet, and else has a strip too: that often saves half the sheets.
fn job(sheet: Sheet, page: DVec2, overlap_mm: f64, margin_mm: f64) -> Job {
    let of = |strip: DVec2| {
        let size = page - 2.0 * margin_mm - strip;
        (DVec2::splat(margin_mm) + strip, Tiling::over(sheet.size, size, overlap_mm))
    };
    let (mut window, mut tiling) = of(DVec2::new(BARS_MM, 0.0));
    let free = tiling.count() == 1 && tiling.tiles().all(|tile| footer_is_free(&sheet, &tile));
    if !free {
        (window, tiling) = of(DVec2::splat(BARS_MM));
    }
    Job { sheet, page, window, tiling, margin_mm }
}

/// Whether nothing is drawn where the bar across the page and its text would lie.
fn footer_is_free(sheet: &Sheet, tile: &Tile) -> bool {
    [FOOTER_MM, FOOTER_TEXT_MM].into_iter().all(|room| {
        let (left, right) = (tile.hi.x - room.x, tile.hi.x);
        is_free(sheet, DVec2::new(left, tile.lo.y), DVec2::new(right, tile.lo.y + room.y))
    })
}

/// Whether nothing is drawn in the box from `lo` to `hi`.
fn is_free(sheet: &Sheet, lo: DVec2, hi: DVec2) -> bool {
    let crosses = |a: DVec2, b: DVec2| {
        // What of the segment, as shares of its length, is inside on each axis.
        let (mut from, mut to) = (0.0_f64, 1.0_f64);
        for axis in 0..2 {
            let (start, by) = (a[axis], b[axis] - a[axis]);
            if by.abs() < 1e-12 {
                if start < lo[axis] || start > hi[axis] {
                    return false;
                }
                continue;
            }
            let (enter, leave) = ((lo[axis] - start) / by, (hi[axis] - start) / by);
            from = from.max(enter.min(leave));
            to = to.min(enter.max(leave));
        }
        from <= to
    };
    let lines_free = sheet.lines().all(|line| {
        let closing = line.points.last().zip(line.points.first()).filter(|_| line.closed);
        !line.points.windows(2).any(|pair| crosses(pair[0], pair[1])) && !closing.is_some_and(|(&a, &b)| crosses(a, b))
    });
    let texts_free = sheet.texts().all(|text| {
        let (a, b) = text.room();
        b.x < lo.x || a.x > hi.x || b.y < lo.y || a.y > hi.y
    });
    lines_free && texts_free
}

#[cfg(test)]
mod tests;
