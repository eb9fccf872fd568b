//! A small writer of its own: the general one costs the page more than the whole of this format.
//!
//! The subset written is that of release 2000 (AC1015): a header with the unit, the tables that release asks for, one
//! block for model space and one for paper space, LWPOLYLINE and TEXT, after Autodesk's public DXF reference.
//! All is ASCII: other letters are written as `\U+XXXX`, as the reference has it.

mod document;

use super::template::{Line, LineKind, Template, Text, templates, with_bars};
use super::{Format, Part, WriteError, check_pair};
use crate::MakeModel;
use base::{Params, Report};
use document::{Document, Layer, Linetype};
use glam::DVec2;
use std::io::Write;

/// Outlines and landmarks of both insoles at true size for a cutting machine, mm, a layer for each kind of line and side.
#[derive(Clone, Copy, Debug, Default)]
pub struct TemplateDxf;

/// Layer of the legend's samples, apart from the lines they stand for, so that no machine cuts them.
const LEGEND: &str = "LEGEND";
/// Layer of what belongs to no side.
const TEXT: &str = "TEXT";

impl Format for TemplateDxf {
    fn id(&self) -> &'static str {
        "template_dxf"
    }

    fn label(&self) -> &'static str {
        "Template 1:1 (DXF)"
    }

    fn help(&self) -> &'static str {
        "Both insoles at true size for a cutting machine or a CAD program: closed polylines in millimetres, layers such as \
         INSOLE_LEFT. Tell the machine to cut that layer alone."
    }

    fn extension(&self) -> &'static str {
        "dxf"
    }

    fn media_type(&self) -> &'static str {
        "image/vnd.dxf"
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
        let mut document = Document::new(sheet.size);
        for kind in LineKind::ALL {
            let look = kind.look();
            document.linetype(Linetype { name: linetype(kind), label: kind.label(), dash_mm: look.dash_mm });
        }
        for (by, template) in &sheet.placed {
            side(&mut document, *by, template);
        }
        let bar = LineKind::CheckBar;
        document.layer(Layer { name: bar.layer().into(), linetype: linetype(bar), width_mm: bar.look().width_mm });
        for line in &bars {
            document.polyline(bar.layer(), None, &line.points, line.closed);
        }
        document.layer(Layer { name: LEGEND.into(), linetype: SOLID, width_mm: 0.25 });
        document.layer(Layer { name: TEXT.into(), linetype: SOLID, width_mm: 0.18 });
        for text in &bar_texts {
            document.text(TEXT, text.at, text.height_mm, text.upwards, &text.text);
        }
        out.write_all(document.finish().as_bytes())?;
        Ok(())
    }
}

/// The linetype that every drawing has.
const SOLID: &str = "CONTINUOUS";

fn linetype(kind: LineKind) -> &'static str {
    if kind.look().dash_mm.is_empty() { SOLID } else { kind.layer() }
}

fn side(document: &mut Document, by: DVec2, template: &Template) {
    let word = template.side.word().to_ascii_uppercase();
    for kind in LineKind::ALL {
        let mut of_kind = template.lines.iter().filter(|line| line.kind == kind).peekable();
        if of_kind.peek().is_none() {
            continue;
        }
        let name = format!("{}_{word}", kind.layer());
        document.layer(Layer { name: name.clone(), linetype: linetype(kind), width_mm: kind.look().width_mm });
        for line in of_kind {
            document.polyline(&name, None, &line.moved(by).points, line.closed);
        }
    }
    for sample in &template.samples {
        let look = (linetype(sample.kind), sample.kind.look().width_mm);
        let Line { points, closed, .. } = sample.moved(by);
        document.polyline(LEGEND, Some(look), &points, closed);
    }
    let name = format!("{TEXT}_{word}");
    document.layer(Layer { name: name.clone(), linetype: SOLID, width_mm: 0.18 });
    for Text { at, height_mm, upwards, text } in &template.texts {
        document.text(&name, *at + by, *height_mm, *upwards, text);
    }
}
