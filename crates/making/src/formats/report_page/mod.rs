mod drawing;
mod strokes;

use super::paired::{Paired, changes, measures};
use super::sheet::html::{escaped, number, signed, table};
use super::sheet::page::View;
use super::sheet::{self, given, loading, mass, scale_note, side_word};
use super::{Format, Part, WriteError, check_pair, feet};
use crate::{FootModel, LandmarkRow, MakeModel, MeasureRow};
use base::{Note, Params, Report, Side};
use std::fmt::Write as _;
use std::io::Write;

/// The measures of both feet on a printable page with the feet and the measuring paths drawn to scale: self-contained
/// HTML for A4, without scripts.
#[derive(Clone, Copy, Debug, Default)]
pub struct ReportPage;

/// What every report says, whatever is on it.
const CAUTIONS: [&str; 6] = [
    "All numbers are read off a scan by a program: estimates, no finer than the scanner and the way the foot was held. \
     Repeat by hand what a decision hangs on.",
    "Feet change with load and with the time of day. Compare only measures taken in the same state of loading.",
    "The navicular cannot be seen in a scan. Until someone has felt for it and moved the mark, its place and everything \
     computed from it are guesses.",
    "Classes are the limits of the authors named, for the people they studied. Authors disagree; a class is no diagnosis.",
    "A foot that does not feel cannot report what hurts it: look at the skin, whatever the numbers say.",
    "This report decides nothing. Assessment and treatment belong to a practitioner licensed where the person is treated.",
];

const STYLE: &str = "\
body{font-size:9.5pt}th,td{padding:.4mm 2mm}sup{line-height:0}\
td:first-child,th:first-child{width:1%}\
.num td:nth-child(n+3){text-align:right;white-space:nowrap}.num thead th:nth-child(n+3){text-align:right}\
.unit td:last-child,.unit thead th:last-child{text-align:left}\
.lead{break-after:avoid}li{break-inside:avoid}\
.loud{border:.5mm solid #111;padding:1.5mm 3mm;font-weight:600}\
.fill{display:inline-block;width:32mm;border-bottom:.2mm solid #111}\
.keys,.sources{margin:1mm 0;padding-left:7mm}.keys{list-style:none;padding:0}.keys li,.sources li{margin:.6mm 0}\
.plan{margin:2mm 0 1mm;break-inside:avoid;break-after:avoid}.plan svg{overflow:visible}\
svg .p{fill:#e6e6e6;stroke:#777;stroke-width:.15;fill-rule:evenodd}\
svg .x{fill:none;stroke:#555;stroke-width:.12;stroke-dasharray:.4 .5}\
svg .l{fill:none;stroke:#111;stroke-width:.28}\
svg .d1{stroke-dasharray:2 .8}svg .d2{stroke-dasharray:.8 .6}svg .d3{stroke-dasharray:2.4 .7 .5 .7}\
svg .k{font-size:3px;font-weight:700}svg .n{font-size:2.3px}";

impl Format for ReportPage {
    fn id(&self) -> &'static str {
        "report_page"
    }

    fn label(&self) -> &'static str {
        "Foot report (HTML)"
    }

    fn help(&self) -> &'static str {
        "The feet for print, A4: drawings to scale with every measuring path, measures of both sides, classes and sources."
    }

    fn extension(&self) -> &'static str {
        "html"
    }

    fn media_type(&self) -> &'static str {
        "text/html"
    }

    fn needs_solid(&self) -> bool {
        false
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
        out.write_all(page(model).as_bytes())?;
        Ok(())
    }
}

/// One foot with the keys of its measures and the numbers of its landmarks.
struct Marked<'a> {
    side: Side,
    foot: &'a FootModel,
    /// With their places in the table of both feet, which make their keys.
    measures: Vec<(usize, &'a MeasureRow)>,
    landmarks: Vec<(usize, &'a LandmarkRow)>,
}

fn page(model: &MakeModel) -> String {
    let (measures, changes, landmarks) = (measures(model), changes(model), landmark_labels(model));
    let mut out = String::new();
    sheet::begin(&mut out, "Foot report", model, STYLE);
    facts(&mut out, model);
    drawings(&mut out, model, &measures, &landmarks);
    values(&mut out, model, &measures);
    changed(&mut out, model, &changes, measures.len());
    let all: Vec<(String, Paired<'_>)> =
        measures.iter().chain(&changes).enumerate().map(|(index, row)| (key(index), *row)).collect();
    classes(&mut out, model, &all);
    landmark_table(&mut out, model, &landmarks);
    on_the_way_in(&mut out, model);
    definitions(&mut out, &all);
    sheet::end(&mut out, &CAUTIONS, &["Measured by", "Checked by", "Date"]);
    out
}

/// `A` … `Z`, `AA`, …
fn key(index: usize) -> String {
    let letter = char::from(b'A' + (index % 26) as u8);
    match index / 26 {
        0 => letter.to_string(),
        more => format!("{}{letter}", key(more - 1)),
    }
}

fn facts(out: &mut String, model: &MakeModel) {
    let which = match (&model.feet.left, &model.feet.right) {
        (Some(_), Some(_)) => "both",
        (Some(_), None) => "left only",
        _ => "right only",
    };
    let date =
        if model.date.trim().is_empty() { "<span class=\"fill\"></span>".to_owned() } else { given(&model.date) };
    let _ = writeln!(
        out,
        "<div class=\"facts\"><span><b>Feet</b> {which}</span><span><b>Scanned</b> {}</span><span><b>Body mass</b> {}</span>\
         <span><b>Date</b> {date}</span></div>",
        loading(model.weight_bearing),
        mass(model)
    );
    if model.weight_bearing.is_none() {
        out.push_str(
            "<p class=\"loud\">The state of loading is not stated. Length, breadth and above all the arch depend on it: find \
             out how the feet were scanned before these numbers are used or compared.</p>\n",
        );
    }
    for (side, foot) in feet(model) {
        let _ = write!(
            out,
            "<p class=\"small\"><b>{}:</b> {}, {}, file in {}{}",
            side_word(side),
            given(&foot.scan_name),
            given(&foot.format),
            given(&foot.unit),
            if foot.kind == "foot" { String::new() } else { format!(", scan of an {}", escaped(&foot.kind)) },
        );
        if let Some((name, state)) = &foot.second {
            let _ = write!(out, "; second scan {}, {}", given(name), given(state));
        }
        out.push_str("</p>\n");
    }
}

fn drawings(out: &mut String, model: &MakeModel, measures: &[Paired<'_>], landmarks: &[(&str, &str)]) {
    let marked: Vec<Marked<'_>> = feet(model)
        .map(|(side, foot)| Marked {
            side,
            foot,
            measures: measures.iter().enumerate().filter_map(|(k, row)| Some((k, row.rows[side]?))).collect(),
            landmarks: (1..).zip(landmarks).filter_map(|(n, (id, _))| Some((n, landmark(foot, id)?))).collect(),
        })
        .collect();
    out.push_str("<section>\n");
    if let Some(reduction) = drawing::feet(out, View::Plan, &marked) {
        let _ = writeln!(
            out,
            "<p class=\"small\">Seen from above, {} Thick: outline of the foot. Grey: print. Letters: the measures of the \
             table, on the lines they were taken along; lengths along the foot axis stand beside the foot. Crosses: landmarks, \
             by their numbers in the table of landmarks.</p>",
            scale_note(reduction)
        );
    }
    if let Some(reduction) = drawing::feet(out, View::Medial, &marked) {
        let _ = writeln!(
            out,
            "<p class=\"small\">Seen from the medial side, scale 1 : {}. Heights stand on the support plane; a girth shows as \
             the tape would from here. Crosses: the landmarks that heights run to.</p>",
            sheet::html::short(reduction, "")
        );
    }
    out.push_str("</section>\n");
}

/// Id and label of every landmark that a foot has, in the order of the first foot that has it.
fn landmark_labels(model: &MakeModel) -> Vec<(&str, &str)> {
    let mut out: Vec<(&str, &str)> = Vec::new();
    for row in feet(model).flat_map(|(_, foot)| &foot.landmarks) {
        if out.iter().all(|(id, _)| *id != row.id) {
            out.push((&row.id, &row.label));
        }
    }
    out
}

fn landmark<'a>(foot: &'a FootModel, id: &str) -> Option<&'a LandmarkRow> {
    foot.landmarks.iter().find(|row| row.id == id)
}

/// The head of a table with a column for each foot there is, and one for the difference of two.
fn head(model: &MakeModel) -> Vec<&'static str> {
    let mut head = vec!["Key", "Measure"];
    head.extend(feet(model).map(|(side, _)| side_word(side)));
    if feet(model).count() == 2 {
        head.push("Difference");
    }
    head.push("Unit");
    head
}

/// Its row.
fn row(model: &MakeModel, key: &str, row: &Paired<'_>) -> Vec<String> {
    let (spec, digits) = (row.spec, row.spec.digits.min(6));
    let mut cells = vec![format!("<b>{key}</b>"), escaped(&spec.label)];
    cells
        .extend(feet(model).map(|(side, _)| row.value(side).map_or("–".to_owned(), |value| number(value, digits, ""))));
    if feet(model).count() == 2 {
        cells.push(row.difference().map_or("–".to_owned(), |value| signed(value, digits)));
    }
    cells.push(escaped(&spec.unit));
    cells
}

fn values(out: &mut String, model: &MakeModel, measures: &[Paired<'_>]) {
    let rows: Vec<_> = measures.iter().enumerate().map(|(k, measure)| row(model, &key(k), measure)).collect();
    out.push_str("<section><h2>Measures</h2>\n");
    if rows.is_empty() {
        out.push_str("<p>None.</p>\n");
    }
    table(out, "num unit", &head(model), &rows);
    if feet(model).count() == 2 && !rows.is_empty() {
        out.push_str("<p class=\"small\">Difference: left minus right, of the values before rounding.</p>\n");
    }
    missing(out, model, (0..).map(key).zip(measures));
    out.push_str("</section>\n");
}

/// Why there is a dash in a table, the feet that lack a measure for the same reason together.
fn missing<'a>(out: &mut String, model: &MakeModel, rows: impl Iterator<Item = (String, &'a Paired<'a>)>) {
    let rows =
        rows.flat_map(|(key, row)| sentences(model, row, |side| row.missing(side)).map(move |s| (key.clone(), s)));
    let each: Vec<String> = rows.map(|(key, sentence)| format!("<li><b>{key}</b> {sentence}</li>\n")).collect();
    if !each.is_empty() {
        let _ =
            writeln!(out, "<p class=\"lead\">Where there is a dash:</p><ul class=\"keys\">\n{}</ul>", each.concat());
    }
}

/// `Label, left: what is said of it`: once for both feet where the same is said of both.
fn sentences<'a>(
    model: &MakeModel,
    row: &Paired<'a>,
    said: impl Fn(Side) -> Option<&'a str>,
) -> impl Iterator<Item = String> {
    let of: Vec<(Side, &str)> = feet(model).filter_map(|(side, _)| Some((side, said(side)?))).collect();
    let label = escaped(&row.spec.label);
    let told = match of[..] {
        [(_, left), (_, right)] if left == right => vec![("left and right", left)],
        _ => of.into_iter().map(|(side, text)| (side.word(), text)).collect(),
    };
    told.into_iter().map(move |(sides, text)| format!("{label}, {sides}: {}", escaped(text)))
}

fn changed(out: &mut String, model: &MakeModel, changes: &[Paired<'_>], before: usize) {
    if changes.is_empty() {
        return;
    }
    out.push_str("<section><h2>Changes between two states of loading</h2>\n");
    for (side, foot) in feet(model) {
        if let Some((name, state)) = &foot.second {
            let _ = writeln!(
                out,
                "<p>{}: between {} ({}) and {} ({}).</p>",
                side_word(side),
                given(&foot.scan_name),
                loading(model.weight_bearing),
                given(name),
                given(state)
            );
        }
    }
    let keyed = || (before..).map(key).zip(changes);
    table(out, "num unit", &head(model), &keyed().map(|(key, change)| row(model, &key, change)).collect::<Vec<_>>());
    missing(out, model, keyed());
    out.push_str("</section>\n");
}

/// What the published limits make of the values, an author a row, and where the authors disagree.
fn classes(out: &mut String, model: &MakeModel, all: &[(String, Paired<'_>)]) {
    let mut head = vec!["Key", "Measure", "By the limits of"];
    head.extend(feet(model).map(|(side, _)| side_word(side)));
    let (mut rows, mut disagreements) = (Vec::new(), String::new());
    for (key, row) in all {
        let mut limits: Vec<(&str, &str)> = Vec::new();
        for class in Side::ALL.iter().flat_map(|&side| row.classes(side)) {
            if !limits.contains(&(&class.author, &class.limits)) {
                limits.push((&class.author, &class.limits));
            }
        }
        for (place, (author, limit)) in limits.into_iter().enumerate() {
            let of =
                |side: Side| row.classes(side).iter().find(|class| class.author == author && class.limits == limit);
            let mut cells = match place {
                0 => vec![format!("<b>{key}</b>"), escaped(&row.spec.label)],
                _ => vec![String::new(), String::new()],
            };
            cells.push(format!("{}<br><span class=\"small\">{}</span>", escaped(author), escaped(limit)));
            cells.extend(feet(model).map(|(side, _)| of(side).map_or("–".to_owned(), |class| escaped(&class.class))));
            rows.push(cells);
        }
        for sentence in sentences(model, row, |side| row.disagreement(side)) {
            let _ = writeln!(disagreements, "<li><b>{key}</b> {sentence}</li>");
        }
    }
    if rows.is_empty() && disagreements.is_empty() {
        return;
    }
    out.push_str("<section><h2>Classes by published limits</h2>\n");
    table(out, "", &head, &rows);
    if !disagreements.is_empty() {
        let _ =
            writeln!(out, "<p class=\"lead\">Where the authors disagree:</p><ul class=\"keys\">\n{disagreements}</ul>");
    }
    out.push_str("</section>\n");
}

fn landmark_table(out: &mut String, model: &MakeModel, landmarks: &[(&str, &str)]) {
    let mut head = vec!["No.", "Landmark"];
    for (side, _) in feet(model) {
        head.extend([side_word(side), "Certainty"]);
    }
    let rows = (1..).zip(landmarks).map(|(n, (id, label))| {
        let mut cells = vec![format!("<b>{n}</b>"), escaped(label)];
        for (_, foot) in feet(model) {
            cells.extend(match landmark(foot, id) {
                Some(row) => [
                    row.at.to_array().map(|mm| number(mm, 1, "")).join("; "),
                    if row.by_hand { "by hand".to_owned() } else { number(row.confidence, 2, "") },
                ],
                None => ["–".to_owned(), "not found".to_owned()],
            });
        }
        cells
    });
    let rows: Vec<Vec<String>> = rows.collect();
    if rows.is_empty() {
        return;
    }
    out.push_str("<section><h2>Landmarks</h2>\n");
    table(out, "num", &head, &rows);
    out.push_str(
        "<p class=\"small\">Millimetres from the place on the support plane under the pternion: along the foot axis to the toes; \
         to the medial side; up. Certainty: 0 a guess, 1 unmistakable, as the program judges it.</p></section>\n",
    );
}

fn on_the_way_in(out: &mut String, model: &MakeModel) {
    let notes: Vec<(&str, &Note)> =
        feet(model).flat_map(|(side, foot)| foot.notes.iter().map(move |note| (side_word(side), note))).collect();
    if notes.is_empty() {
        return;
    }
    out.push_str("<section><h2>What was done to the scans on the way in</h2>\n");
    sheet::notes(out, "What", "Stop", notes);
    out.push_str("</section>\n");
}

/// What each measure is, with the number of its source.
fn definitions(out: &mut String, all: &[(String, Paired<'_>)]) {
    let mut sources: Vec<&str> = Vec::new();
    let mut items = String::new();
    for (key, row) in all {
        let (spec, source) = (row.spec, row.spec.source.trim());
        let _ = write!(items, "<li><b>{key}</b> {}: {}", escaped(&spec.label), given(&spec.definition));
        if !source.is_empty() {
            let place = sources.iter().position(|known| *known == source).unwrap_or_else(|| {
                sources.push(source);
                sources.len() - 1
            });
            let _ = write!(items, " <sup>{}</sup>", place + 1);
        }
        items.push_str("</li>\n");
    }
    if items.is_empty() {
        return;
    }
    let _ = writeln!(out, "<section><h2>What the measures are</h2>\n<ul class=\"keys small\">\n{items}</ul>");
    if !sources.is_empty() {
        out.push_str("<h2>Sources</h2>\n<ol class=\"sources small\">\n");
        for source in sources {
            let _ = writeln!(out, "<li>{}</li>", escaped(source));
        }
        out.push_str("</ol>\n");
    }
    out.push_str("</section>\n");
}
