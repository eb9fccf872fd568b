//! Pages, each with a window of the drawing and what is to be known to print and join it.

use super::text::win_ansi;
use super::{FOOTER_MM, Job};
use crate::MakeModel;
use crate::formats::template::tiles::{Seam, Tile};
use crate::formats::template::{BAR_MM, BARS_MM, Line, LineKind, Text, about_width, check_bar_across, check_bar_up};
use glam::DVec2;
use pdf_writer::types::LineJoinStyle;
use pdf_writer::{Content, Finish, Name, Pdf, Rect, Ref, Str, TextStr};

/// PDF's unit, 1/72 inch, in mm.
const POINTS_PER_MM: f64 = 72.0 / 25.4;
/// Names of the resources of a page.
const FONT: Name<'static> = Name(b"F");
const DRAWING: Name<'static> = Name(b"Drawing");
/// Half a registration cross, mm.
const CROSS_MM: f64 = 4.0;
/// Height of capitals on the edge of a page, mm.
const TEXT_MM: f64 = 2.0;

/// The whole file, and whether a letter of its texts could not be shown.
pub(super) fn file(model: &MakeModel, jobs: &[Job]) -> (Vec<u8>, bool) {
    let mut next = 0;
    let mut new_ref = || {
        next += 1;
        Ref::new(next)
    };
    let [catalog, tree, font, info] = [new_ref(), new_ref(), new_ref(), new_ref()];
    let mut pdf = Pdf::new();
    let mut missing = false;
    let mut kids = Vec::new();
    let title = format!("Insole template: {}", model.title.trim());
    for job in jobs {
        let drawing = new_ref();
        let mut pen = Pen::new();
        for line in job.sheet.lines() {
            pen.line(&line);
        }
        for text in job.sheet.texts() {
            pen.text(&text);
        }
        missing |= pen.missing;
        let content = pen.content.finish();
        let mut form = pdf.form_xobject(drawing, &content);
        form.bbox(rect(DVec2::ZERO, job.sheet.size));
        form.resources().fonts().pair(FONT, font);
        form.finish();
        for tile in job.tiling.tiles() {
            let (page_ref, content_ref) = (new_ref(), new_ref());
            kids.push(page_ref);
            let mut page = pdf.page(page_ref);
            page.media_box(rect(DVec2::ZERO, job.page * POINTS_PER_MM)).parent(tree).contents(content_ref);
            let mut resources = page.resources();
            resources.fonts().pair(FONT, font);
            resources.x_objects().pair(DRAWING, drawing);
            resources.finish();
            page.finish();
            let mut pen = Pen::new();
            page_content(&mut pen, job, &tile, model.title.trim());
            missing |= pen.missing;
            pdf.stream(content_ref, &pen.content.finish());
        }
    }
    let count = i32::try_from(kids.len()).unwrap_or(i32::MAX);
    pdf.pages(tree).kids(kids).count(count);
    pdf.type1_font(font).base_font(Name(b"Helvetica")).encoding_predefined(Name(b"WinAnsiEncoding"));
    pdf.document_info(info).title(TextStr(&title)).creator(TextStr(&model.program));
    let mut root = pdf.catalog(catalog);
    root.pages(tree);
    let mut preferences = root.viewer_preferences();
    preferences.pair(Name(b"PrintScaling"), Name(b"None"));
    preferences.pair(Name(b"PickTrayByPDFSize"), true);
    preferences.finish();
    root.finish();
    (pdf.finish(), missing)
}

fn page_content(pen: &mut Pen, job: &Job, tile: &Tile, title: &str) {
    let size = tile.hi - tile.lo;
    pen.scaled(POINTS_PER_MM);
    // From the drawing to the page.
    let by = job.window - tile.lo;
    pen.content.save_state();
    let clip = rect(job.window, job.window + size);
    pen.content.rect(clip.x1, clip.y1, clip.x2 - clip.x1, clip.y2 - clip.y1).clip_nonzero().end_path();
    pen.moved(by);
    pen.content.x_object(DRAWING).restore_state();

    let seams = job.tiling.seams(tile);
    for seam in &seams {
        join(pen, seam, by);
    }
    let mut crosses: Vec<DVec2> = Vec::new();
    for end in seams.iter().flat_map(|seam| seam.ends) {
        if crosses.iter().all(|cross| cross.distance(end) > 1e-6) {
            crosses.push(end);
            for half in [DVec2::X, DVec2::Y].map(|axis| axis * CROSS_MM) {
                pen.line(&Line::open(LineKind::Landmark, [end + by - half, end + by + half]));
            }
        }
    }
    bars(pen, job, size);
    strip(pen, job, tile, title);
}

/// The bars of the page: up its left edge, and along its lower edge on the right.
fn bars(pen: &mut Pen, job: &Job, size: DVec2) {
    let up = check_bar_up(DVec2::new(job.margin_mm + BARS_MM * 0.65, job.margin_mm));
    let right = job.window.x + size.x - FOOTER_MM.x;
    let across = check_bar_across(DVec2::new(right + 1.0, job.margin_mm + 2.2));
    for (lines, text) in [up, across] {
        for line in &lines {
            pen.line(line);
        }
        pen.text(&text);
    }
}

/// What is written up the left edge, over the bar.
fn strip(pen: &mut Pen, job: &Job, tile: &Tile, title: &str) {
    let x = job.margin_mm + BARS_MM * 0.65;
    let y = job.margin_mm + BAR_MM + 6.0;
    let sides: Vec<&str> = job.sheet.placed.iter().map(|(_, template)| template.side.word()).collect();
    let feet = if sides.len() > 1 { "feet" } else { "foot" };
    let sides = sides.join(" and ").to_ascii_uppercase();
    let of = match job.tiling.count() {
        1 => String::new(),
        count => format!(", sheet {} of {count}", tile.name()),
    };
    let name: String = title.chars().take(60).collect();
    pen.text(&Text::upwards(DVec2::new(x - 2.6, y), TEXT_MM, format!("{sides} {feet}{of}. {name}")));
    let advice = match job.tiling.count() {
        1 => "Print at 100 %, no scaling. Measure both check bars before cutting.",
        _ => "Print at 100 %, no scaling. Measure both check bars, then join the sheets, cross on cross.",
    };
    pen.text(&Text::upwards(DVec2::new(x + 0.6, y), TEXT_MM, advice));
}

/// The seam as a thin dashed line, and which sheet joins there.
fn join(pen: &mut Pen, seam: &Seam, by: DVec2) {
    const DASH_MM: [f32; 2] = [2.0, 2.0];
    let [a, b] = seam.ends.map(|end| end + by);
    pen.content.save_state().set_line_width(0.13).set_dash_pattern(DASH_MM, 0.0);
    pen.path(&[a, b], false);
    pen.content.stroke().restore_state();
    // The sheet nearer to the toes or to the right is cut and laid over the other.
    let over = seam.towards.x + seam.towards.y < 0.0;
    let said = match over {
        true => format!("Cut here and lay on sheet {}", seam.neighbour),
        false => format!("Sheet {} is laid on here", seam.neighbour),
    };
    let inwards = -seam.towards;
    let along = (b - a).normalize_or_zero();
    // A text is written on the inner side of its seam, an arrowhead beside it points over the seam.
    // Near the far end: the foot stands on the left of its sheets.
    let start = b - along * (8.0 + about_width(&said, TEXT_MM));
    let text = if along.y > 0.5 {
        let aside = if inwards.x > 0.0 { 1.2 + TEXT_MM } else { -1.2 };
        Text::upwards(start + DVec2::new(aside, 0.0), TEXT_MM, said)
    } else {
        let aside = if inwards.y > 0.0 { 1.2 } else { -1.2 - TEXT_MM };
        Text::across(start + DVec2::new(0.0, aside), TEXT_MM, said)
    };
    pen.text(&text);
    let (base, half) = (start - along * 3.0 + inwards * 3.2, along * 1.2);
    pen.path(&[base - half, base + half, base + seam.towards * 2.4], true);
    pen.content.fill_nonzero();
}

/// A content stream in millimetres.
struct Pen {
    content: Content,
    /// Whether a letter could not be shown.
    missing: bool,
}

impl Pen {
    fn new() -> Pen {
        let mut content = Content::new();
        content.set_line_join(LineJoinStyle::RoundJoin);
        Pen { content, missing: false }
    }

    fn scaled(&mut self, by: f64) {
        self.content.transform([by as f32, 0.0, 0.0, by as f32, 0.0, 0.0]);
    }

    fn moved(&mut self, by: DVec2) {
        self.content.transform([1.0, 0.0, 0.0, 1.0, mm(by.x), mm(by.y)]);
    }

    fn path(&mut self, points: &[DVec2], closed: bool) {
        for (index, p) in points.iter().enumerate() {
            if index == 0 {
                self.content.move_to(mm(p.x), mm(p.y));
            } else {
                self.content.line_to(mm(p.x), mm(p.y));
            }
        }
        if closed {
            self.content.close_path();
        }
    }

    fn line(&mut self, line: &Line) {
        let look = line.kind.look();
        self.content.set_line_width(look.width_mm as f32);
        self.content.set_dash_pattern(look.dash_mm.iter().map(|&mm| mm as f32), 0.0);
        self.path(&line.points, line.closed);
        self.content.stroke();
    }

    fn text(&mut self, text: &Text) {
        let (bytes, missing) = win_ansi(&text.text);
        self.missing |= missing;
        let (x, y) = (mm(text.at.x), mm(text.at.y));
        let matrix = if text.upwards { [0.0, 1.0, -1.0, 0.0, x, y] } else { [1.0, 0.0, 0.0, 1.0, x, y] };
        self.content.begin_text().set_font(FONT, text.font_mm() as f32).set_text_matrix(matrix);
        self.content.show(Str(&bytes)).end_text();
    }
}

/// Ten-thousandths of a millimetre, finer than which a `f32` on a page does not hold.
fn mm(value: f64) -> f32 {
    ((value * 1e4).round() / 1e4) as f32
}

fn rect(lo: DVec2, hi: DVec2) -> Rect {
    Rect::new(lo.x as f32, lo.y as f32, hi.x as f32, hi.y as f32)
}
