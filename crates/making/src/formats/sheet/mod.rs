//! What every printable sheet shares: the page around it, its plain look, its words, tables and drawings.
//!
//! A sheet is self-contained HTML for A4 without scripts, readable without colour. Writing to a `String` cannot fail,
//! so the results of `write!` are dropped throughout.

pub(in crate::formats) mod html;
pub(in crate::formats) mod page;
pub(in crate::formats) mod plan;

use crate::MakeModel;
use base::{Note, Severity, Side};
use foot::WeightBearing;
use html::{escaped, number, short, table};
use std::fmt::Write;

/// Breadth of what can be printed on, mm: A4 within the margins of [`STYLE`].
pub(in crate::formats) const ROOM_MM: f64 = 186.0;
/// Length of the bar that shows whether the print is to scale, mm on paper.
const BAR_MM: f64 = 50.0;

/// The look that all sheets share. Drawings are in millimetres on paper.
const STYLE: &str = "\
@page{size:A4;margin:12mm}\
*{box-sizing:border-box}\
body{font:10pt/1.35 system-ui,sans-serif;color:#111;background:#fff;max-width:186mm;margin:0 auto;padding:4mm 0;overflow-wrap:break-word}\
header{display:flex;justify-content:space-between;align-items:baseline;gap:6mm;border-bottom:.5mm solid #111;padding-bottom:2mm}\
header span{white-space:nowrap}h1{font-size:16pt;margin:0;min-width:0}h2{font-size:11pt;margin:5mm 0 1.5mm;break-after:avoid}\
p{margin:1mm 0}\
.facts{display:flex;flex-wrap:wrap;gap:1mm 8mm;margin:2mm 0}\
.facts b{font-weight:600}\
.plan{display:flex;justify-content:center;align-items:flex-end;gap:10mm;margin:3mm 0}\
figure{margin:0;text-align:center}\
table{border-collapse:collapse;width:100%;font-variant-numeric:tabular-nums}\
th,td{text-align:left;vertical-align:top;padding:.6mm 2mm;border-bottom:.2mm solid #bbb;font-weight:400}\
thead th{font-weight:600;border-bottom:.3mm solid #111}td{overflow-wrap:anywhere}\
tr,figure,.keep{break-inside:avoid}\
.small{font-size:8.5pt;color:#333}\
.sign{display:flex;gap:8mm;margin-top:12mm}.sign div{flex:1;border-top:.3mm solid #111;padding-top:1mm;font-size:8.5pt}\
svg .o{fill:none;stroke:#111;stroke-width:.45}\
svg .m{fill:none;stroke:#111;stroke-width:.2}\
svg text{font:2.5px system-ui,sans-serif;text-anchor:middle;dominant-baseline:middle;fill:#111;\
paint-order:stroke;stroke:#fff;stroke-width:.6}";

/// Opens the page of a sheet called `name`, with its title and the program in the header. `style` adds to [`STYLE`].
pub(in crate::formats) fn begin(out: &mut String, name: &str, model: &MakeModel, style: &str) {
    let title = if model.title.trim().is_empty() { "Untitled" } else { model.title.trim() };
    let title = escaped(title);
    let _ = write!(
        out,
        "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">\
         <meta name=\"viewport\" content=\"width=device-width\">\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\
         <title>{name}: {title}</title>\n<style>{STYLE}{style}</style></head>\n<body>\n\
         <header><h1>{name}: {title}</h1><span>{}</span></header>\n",
        escaped(&model.program)
    );
}

/// Closes the page with what is to be noted and a line to sign for each of `signers`.
pub(in crate::formats) fn end(out: &mut String, cautions: &[&str], signers: &[&str]) {
    out.push_str("<section class=\"keep\"><h2>Please note</h2><ul class=\"small\">\n");
    for caution in cautions {
        let _ = writeln!(out, "<li>{}</li>", escaped(caution));
    }
    out.push_str("</ul>\n<div class=\"sign\">");
    for signer in signers {
        let _ = write!(out, "<div>{}</div>", escaped(signer));
    }
    out.push_str("</div></section>\n</body></html>\n");
}

/// Says how much smaller than life a drawing is, with a bar to check the print by.
pub(in crate::formats) fn scale_note(reduction: f64) -> String {
    format!(
        "scale 1 : {}. <svg width=\"{bar}mm\" height=\"3mm\" viewBox=\"0 0 {bar} 3\" role=\"img\" \
         aria-label=\"Bar of {bar} mm\"><path class=\"o\" d=\"M.2 .5v2M.2 1.5h{:.1}m0 -1v2\"/></svg> \
         This bar must measure {bar} mm on paper; if not, print at 100\u{a0}%.",
        short(reduction, ""),
        BAR_MM - 0.4,
        bar = number(BAR_MM, 0, ""),
    )
}

/// A table of notes, each with what it is of, what weighs most first and the order kept within; `stop` is what the
/// gravest are called.
pub(in crate::formats) fn notes(out: &mut String, what: &str, stop: &str, mut notes: Vec<(&str, &Note)>) {
    base::sort_by_key(&mut notes, |(_, note)| std::cmp::Reverse(note.severity));
    let rows: Vec<Vec<String>> = notes
        .into_iter()
        .map(|(of, note)| {
            let weight = match note.severity {
                Severity::Info => "Note".to_owned(),
                Severity::Check => "Check".to_owned(),
                Severity::Stop => format!("<b>{}</b>", escaped(stop)),
            };
            vec![of.to_owned(), weight, escaped(&note.text), escaped(&note.advice)]
        })
        .collect();
    table(out, "", &["Of", "Weight", what, "What to do"], &rows);
}

/// `text`, or a dash for nothing.
pub(in crate::formats) fn given(text: &str) -> String {
    if text.trim().is_empty() { "–".to_owned() } else { escaped(text.trim()) }
}

/// Body mass as printed.
pub(in crate::formats) fn mass(model: &MakeModel) -> String {
    model.mass_kg.map_or("–".to_owned(), |mass| short(mass, "kg"))
}

/// The state of loading as printed.
pub(in crate::formats) fn loading(state: Option<WeightBearing>) -> &'static str {
    match state {
        None => "not stated",
        Some(WeightBearing::None) => "without load",
        Some(WeightBearing::Half) => "under half load",
        Some(WeightBearing::Full) => "under full load",
    }
}

/// The side as a heading says it.
pub(in crate::formats) fn side_word(side: Side) -> &'static str {
    match side {
        Side::Left => "Left",
        Side::Right => "Right",
    }
}
