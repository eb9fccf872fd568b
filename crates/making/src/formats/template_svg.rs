use super::sheet::html::escaped;
use super::template::{Line, LineKind, Sheet, Template, Text, templates, with_bars};
use super::{Format, Part, WriteError, check_pair};
use crate::MakeModel;
use base::{Params, Report};
use glam::DVec2;
use std::fmt::Write as _;
use std::io::Write;

/// Outlines and landmarks of both insoles at true size as one scalable drawing, mm, a layer for each kind of line.
#[derive(Clone, Copy, Debug, Default)]
pub struct TemplateSvg;

impl Format for TemplateSvg {
    fn id(&self) -> &'static str {
        "template_svg"
    }

    fn label(&self) -> &'static str {
        "Template 1:1 (SVG)"
    }

    fn help(&self) -> &'static str {
        "Both insoles at true size for a drawing program or a cutting machine: outlines, landmarks, axes and check bars, each \
         kind of line on its own layer, 1 unit = 1 mm."
    }

    fn extension(&self) -> &'static str {
        "svg"
    }

    fn media_type(&self) -> &'static str {
        "image/svg+xml"
    }

    fn write(
        &self,
        model: &MakeModel,
        part: Part,
        _: &Params,
        out: &mut dyn Write,
        _: &mut Report,
    ) -> Result<(), WriteError> {
        check_pair(self, model, part)?;
        let (sheet, bars, bar_texts) = with_bars(templates(model));
        out.write_all(drawing(model, &sheet, &bars, &bar_texts).as_bytes())?;
        Ok(())
    }
}

/// Writing to a `String` cannot fail, so the results of `write!` are dropped here and below.
fn drawing(model: &MakeModel, sheet: &Sheet, bars: &[Line], bar_texts: &[Text]) -> String {
    let (size, mut out) = (sheet.size, String::new());
    let _ = write!(
        out,
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" width=\"{x:.3}mm\" \
         height=\"{y:.3}mm\" viewBox=\"0 0 {x:.3} {y:.3}\" font-family=\"Helvetica,Arial,sans-serif\" fill=\"none\" \
         stroke=\"#000\" stroke-linejoin=\"round\">\n<title>{}</title>\n<desc>{}</desc>\n",
        escaped(&format!("Insole template: {}", model.title.trim())),
        escaped(&format!("1 unit = 1 mm. {}", model.program)),
        x = size.x,
        y = size.y,
    );
    for (by, template) in &sheet.placed {
        side(&mut out, size.y, *by, template);
    }
    let id = LineKind::CheckBar.layer().to_ascii_lowercase().replace('_', "-");
    open(&mut out, &id, LineKind::CheckBar);
    for line in bars {
        path(&mut out, size.y, DVec2::ZERO, line, "");
    }
    out.push_str("</g>\n<g id=\"check-bar-text\" fill=\"#000\" stroke=\"none\">\n");
    for label in bar_texts {
        text(&mut out, size.y, label);
    }
    out.push_str("</g>\n</svg>\n");
    out
}

fn side(out: &mut String, height: f64, by: DVec2, template: &Template) {
    let word = template.side.word();
    let _ = writeln!(out, "<g id=\"{word}\">");
    for kind in LineKind::ALL {
        let mut of_kind = template.lines.iter().filter(|line| line.kind == kind).peekable();
        if of_kind.peek().is_none() {
            continue;
        }
        open(out, &format!("{}-{word}", kind.layer().to_ascii_lowercase().replace('_', "-")), kind);
        for line in of_kind {
            path(out, height, by, line, "");
        }
        out.push_str("</g>\n");
    }
    let _ = writeln!(out, "<g id=\"legend-{word}\">");
    for sample in &template.samples {
        path(out, height, by, sample, &look(sample.kind));
    }
    let _ = writeln!(out, "</g>\n<g id=\"text-{word}\" fill=\"#000\" stroke=\"none\">");
    for label in &template.texts {
        text(out, height, &label.moved(by));
    }
    out.push_str("</g>\n</g>\n");
}

fn open(out: &mut String, id: &str, kind: LineKind) {
    let _ = writeln!(out, "<g id=\"{id}\"{}>", look(kind));
}

/// Attributes of a kind of line, with a space before them.
fn look(kind: LineKind) -> String {
    let look = kind.look();
    let mut out = format!(" stroke-width=\"{}\"", look.width_mm);
    if !look.dash_mm.is_empty() {
        let dashes: Vec<String> = look.dash_mm.iter().map(f64::to_string).collect();
        let _ = write!(out, " stroke-dasharray=\"{}\"", dashes.join(" "));
    }
    out
}

/// A line, thousandths of a millimetre; y runs down in SVG.
fn path(out: &mut String, height: f64, by: DVec2, line: &Line, look: &str) {
    let _ = write!(out, "<path{look} d=\"");
    for (index, p) in line.moved(by).points.iter().enumerate() {
        let _ = write!(out, "{}{:.3} {:.3}", if index == 0 { 'M' } else { 'L' }, p.x, height - p.y);
    }
    let _ = writeln!(out, "{}\"/>", if line.closed { "Z" } else { "" });
}

fn text(out: &mut String, height: f64, text: &Text) {
    let (x, y) = (text.at.x, height - text.at.y);
    let turned = if text.upwards { format!(" transform=\"rotate(-90 {x:.3} {y:.3})\"") } else { String::new() };
    let _ = writeln!(
        out,
        "<text x=\"{x:.3}\" y=\"{y:.3}\" font-size=\"{:.3}\"{turned}>{}</text>",
        text.font_mm(),
        escaped(&text.text)
    );
}
