mod drawing;
mod html;

use super::{Format, Part, WriteError, sides};
use crate::{MakeModel, SideModel, check_solid};
use base::{BySide, Note, ParamSpec, Params, Report, Severity, Side, value_of};
use foot::WeightBearing;
use hardness::HardnessField;
use html::{escaped, number, of_spec, short, table};
use insole::{ArchBound, ArchSupport};
use std::fmt::Write as _;
use std::io::Write;

/// One printable page with everything the workshop needs to know: self-contained HTML for A4, without scripts.
#[derive(Clone, Copy, Debug, Default)]
pub struct JobSheet;

/// What every sheet says, whatever is on it.
const CAUTIONS: [&str; 5] = [
    "This sheet is an aid for a qualified practitioner, who decides and answers for the device.",
    "Heights, hardness and mass are computed from a scan: estimates, to be verified on the finished insole and the wearer.",
    "Custom-made devices need a prescription, a statement and records. The rules are those of the place where the device is supplied.",
    "A foot that does not feel must not judge the fit: check the skin after the first hour of wear and every day after.",
    "Redness that lasts, blisters, warmth or swelling: stop wearing and see the practitioner at once.",
];

const STYLE: &str = "\
@page{size:A4;margin:12mm}\
*{box-sizing:border-box}\
body{font:10pt/1.35 system-ui,sans-serif;color:#111;background:#fff;max-width:186mm;margin:0 auto;padding:4mm 0}\
header{display:flex;justify-content:space-between;align-items:baseline;border-bottom:.5mm solid #111;padding-bottom:2mm}\
h1{font-size:16pt;margin:0}h2{font-size:11pt;margin:5mm 0 1.5mm}\
p{margin:1mm 0}\
.facts{display:flex;flex-wrap:wrap;gap:1mm 8mm;margin:2mm 0}\
.facts b{font-weight:600}\
.plan{display:flex;justify-content:center;gap:10mm;margin:3mm 0}\
figure{margin:0;text-align:center}\
table{border-collapse:collapse;width:100%;font-variant-numeric:tabular-nums}\
th,td{text-align:left;vertical-align:top;padding:.6mm 2mm;border-bottom:.2mm solid #bbb;font-weight:400}\
thead th{font-weight:600;border-bottom:.3mm solid #111}\
.sides td{text-align:right;width:46mm}td:first-child,th:first-child{white-space:nowrap}.sides thead th+th{text-align:right}\
tr,figure,.keep{break-inside:avoid}\
.small{font-size:8.5pt;color:#333}\
.sign{display:flex;gap:8mm;margin-top:12mm}.sign div{flex:1;border-top:.3mm solid #111;padding-top:1mm;font-size:8.5pt}\
svg .o{fill:none;stroke:#111;stroke-width:.9}\
svg .f{fill:none;stroke:#777;stroke-width:.4}\
svg .c{fill:none;stroke:#999;stroke-width:.3}\
svg .h{fill:none;stroke:#111;stroke-width:.5;stroke-dasharray:3 2}\
svg .e{fill:none;stroke:#111;stroke-width:.6;stroke-dasharray:.1 1.6;stroke-linecap:round}\
svg .m{fill:none;stroke:#111;stroke-width:.4}\
svg text{font:5px system-ui,sans-serif;text-anchor:middle;dominant-baseline:middle;fill:#111;\
paint-order:stroke;stroke:#fff;stroke-width:1.2}\
svg .n{font-size:4px;fill:#555}svg .t{font-size:7px;font-weight:700}";

impl Format for JobSheet {
    fn id(&self) -> &'static str {
        "job_sheet"
    }

    fn label(&self) -> &'static str {
        "Job sheet (HTML)"
    }

    fn help(&self) -> &'static str {
        "One page for print, A4: drawing to scale, measures, surface, elements, hardness, solid, findings and cautions."
    }

    fn extension(&self) -> &'static str {
        "html"
    }

    fn media_type(&self) -> &'static str {
        "text/html"
    }

    fn parts(&self, model: &MakeModel) -> Vec<Part> {
        sides(model).next().map(|_| Part::Pair).into_iter().collect()
    }

    fn write(
        &self,
        model: &MakeModel,
        part: Part,
        _: &Params,
        out: &mut dyn Write,
        _: &mut Report,
    ) -> Result<(), WriteError> {
        if part != Part::Pair {
            return Err(WriteError::WrongPart { format: self.id() });
        }
        if sides(model).next().is_none() {
            return Err(WriteError::Empty);
        }
        out.write_all(page(model).as_bytes())?;
        Ok(())
    }
}

/// The whole page. Writing to a `String` cannot fail, so the results of `write!` are dropped throughout.
fn page(model: &MakeModel) -> String {
    let title = if model.title.trim().is_empty() { "Untitled" } else { model.title.trim() };
    let title = escaped(title);
    let mut out = String::new();
    let _ = write!(
        out,
        "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">\
         <meta name=\"viewport\" content=\"width=device-width\">\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\
         <title>Job sheet: {title}</title>\n<style>{STYLE}</style></head>\n<body>\n\
         <header><h1>Job sheet: {title}</h1><span>{}</span></header>\n",
        escaped(&model.program)
    );
    facts(&mut out, model);
    plan(&mut out, model);
    findings(&mut out, model);
    measures(&mut out, model);
    surface(&mut out, model);
    elements(&mut out, model);
    hardness_section(&mut out, model);
    solid(&mut out, model);
    out.push_str("<section class=\"keep\"><h2>Please note</h2><ul class=\"small\">\n");
    for caution in CAUTIONS {
        let _ = writeln!(out, "<li>{}</li>", escaped(caution));
    }
    out.push_str("</ul>\n<div class=\"sign\"><div>Designed by</div><div>Made by</div><div>Checked by</div><div>Date</div></div></section>\n");
    out.push_str("</body></html>\n");
    out
}

fn facts(out: &mut String, model: &MakeModel) {
    let scanned = match model.weight_bearing {
        None => "not stated",
        Some(WeightBearing::None) => "without load",
        Some(WeightBearing::Half) => "under half load",
        Some(WeightBearing::Full) => "under full load",
    };
    let given = |text: &str| if text.trim().is_empty() { "–".to_owned() } else { escaped(text.trim()) };
    let which = match (&model.sides.left, &model.sides.right) {
        (Some(_), Some(_)) => "pair",
        (Some(_), None) => "left only",
        _ => "right only",
    };
    let mass = model.mass_kg.map_or("–".to_owned(), |mass| short(mass, "kg"));
    let _ = writeln!(
        out,
        "<div class=\"facts\"><span><b>Insoles</b> {which}</span><span><b>Size</b> {}</span><span><b>Scanned</b> {scanned}</span>\
         <span><b>Body mass</b> {mass}</span><span><b>Date</b> {}</span></div>",
        given(&model.size),
        given(&model.date)
    );
    if !model.notes.trim().is_empty() {
        let _ = writeln!(out, "<p style=\"white-space:pre-line\">{}</p>", escaped(model.notes.trim()));
    }
}

fn plan(out: &mut String, model: &MakeModel) {
    let _ = writeln!(out, "<section><div class=\"plan\">");
    for (side, insole) in sides(model) {
        drawing::figure(out, side, insole);
    }
    let _ = writeln!(
        out,
        "</div>\n<p class=\"small\">Seen from above, scale 1 : {}. <svg width=\"{bar}mm\" height=\"3mm\" viewBox=\"0 0 {bar} 3\" \
         role=\"img\" aria-label=\"Bar of {bar} mm\"><path class=\"o\" style=\"stroke-width:.4\" d=\"M.2 .5v2M.2 1.5h{:.1}m0 -1v2\"/></svg> \
         This bar must measure {bar} mm on paper; if not, print at 100 %. Thick: insole outline. Thin: foot. Grey: height of the \
         top every {} mm, 0 under heel and forefoot. Dotted: elements, by number. Dashed: hardness regions, Shore A. Crosses: \
         landmarks.</p></section>",
        short(drawing::REDUCTION, ""),
        drawing::BAR_MM - 0.4,
        short(drawing::CONTOUR_MM, ""),
        bar = drawing::BAR_MM,
    );
}

/// Head of a table with a column for each side there is.
fn head(model: &MakeModel, first: &'static str) -> Vec<&'static str> {
    let mut head = vec![first];
    head.extend(sides(model).map(|(side, _)| if side == Side::Left { "Left" } else { "Right" }));
    head
}

/// A row of such a table.
fn row(model: &MakeModel, label: &str, cell: impl Fn(Side, &SideModel) -> String) -> Vec<String> {
    let mut row = vec![label.to_owned()];
    row.extend(sides(model).map(|(side, insole)| cell(side, insole)));
    row
}

fn measures(out: &mut String, model: &MakeModel) {
    let mut seen: Vec<(&str, &str)> = Vec::new();
    for (_, insole) in sides(model) {
        for reading in &insole.measures {
            if seen.iter().all(|(id, _)| *id != reading.id) {
                seen.push((&reading.id, &reading.label));
            }
        }
    }
    let mut rows: Vec<Vec<String>> = seen
        .iter()
        .map(|(id, label)| {
            row(model, &escaped(label), |_, insole| {
                let reading = insole.measures.iter().find(|reading| reading.id == *id);
                reading.map_or("–".to_owned(), |reading| number(reading.value, reading.digits.min(6), &reading.unit))
            })
        })
        .collect();
    rows.push(row(model, "Insole, length × greatest width", |_, insole| {
        let check = check_solid(&insole.solid, &insole.outline);
        let size = check.hi_mm - check.lo_mm;
        format!("{} × {}", number(size.x, 1, ""), number(size.y, 1, "mm"))
    }));
    out.push_str("<section><h2>Measures</h2>\n");
    table(out, "sides", &head(model, "Measure"), &rows);
    out.push_str("</section>\n");
}

fn surface(out: &mut String, model: &MakeModel) {
    let mut rows: Vec<Vec<String>> = Vec::new();
    let arch =
        |insole: &SideModel, show: &dyn Fn(&ArchSupport) -> String| insole.arch.as_ref().map_or("–".to_owned(), show);
    if sides(model).any(|(_, insole)| insole.arch.is_some()) {
        rows.push(row(model, "Plantar height at the arch apex", |_, insole| {
            arch(insole, &|arch| number(arch.apex_height_mm, 1, "mm"))
        }));
        rows.push(row(model, "Arch height computed", |_, insole| {
            arch(insole, &|arch| format!("{} (fill {})", number(arch.computed_mm, 1, "mm"), short(arch.fill, "")))
        }));
        rows.push(row(model, "Arch height used", |_, insole| {
            arch(insole, &|arch| {
                let why = match (arch.by_hand, arch.bound) {
                    (true, _) => " (by hand)",
                    (false, Some(ArchBound::TooLow)) => " (raised to the least)",
                    (false, Some(ArchBound::Unloaded)) => " (kept to the unloaded arch)",
                    (false, Some(ArchBound::Room)) => " (kept to the shoe's room)",
                    (false, None) => "",
                };
                format!("<b>{}</b>{why}", number(arch.used_mm, 1, "mm"))
            })
        }));
    }
    // The arch's own numbers are above.
    let others = insole::PARAMS.iter().filter(|spec| !["arch_height_mm", "arch_fill"].contains(&spec.id));
    for spec in others {
        rows.push(row(model, &escaped(spec.label), |_, insole| of_spec(spec, value_of(&insole.surface, spec))));
    }
    out.push_str("<section><h2>Bearing surface</h2>\n");
    table(out, "sides", &head(model, "Number"), &rows);
    out.push_str("</section>\n");
}

fn elements(out: &mut String, model: &MakeModel) {
    let mut rows = Vec::new();
    for (side, insole) in sides(model) {
        for (index, item) in insole.elements.iter().enumerate() {
            let element = insole::elements::by_id(&item.kind);
            let name = match element {
                Some(element) => escaped(element.label()),
                None => format!("{} (unknown kind, left out)", escaped(&item.kind)),
            };
            let off = if item.on { "" } else { " (off)" };
            let values = match element {
                Some(element) => list(element.params(), &item.params),
                None => String::new(),
            };
            rows.push(vec![format!("{} {}", side_word(side), index + 1), format!("{name}{off}"), values]);
        }
    }
    out.push_str("<section><h2>Elements</h2>\n");
    if rows.is_empty() {
        out.push_str("<p>None.</p>\n");
    }
    table(out, "", &["No.", "Element", "Numbers"], &rows);
    out.push_str("</section>\n");
}

/// `Length 50 mm, Width 40 mm, …`
fn list(specs: &[ParamSpec], params: &Params) -> String {
    let each = specs.iter().map(|spec| format!("{} {}", escaped(spec.label), of_spec(spec, value_of(params, spec))));
    each.collect::<Vec<_>>().join(", ")
}

fn hardness_section(out: &mut String, model: &MakeModel) {
    let mut rows = Vec::new();
    for (side, insole) in sides(model) {
        let plan = &insole.hardness;
        let steepest = HardnessField::new(plan).steepest(&insole.outline);
        rows.push(vec![
            side_word(side).to_owned(),
            "Base".to_owned(),
            format!("<b>{}</b>", number(plan.base_shore_a, 0, "Shore A")),
            format!("steepest change {}", number(steepest.shore_a_per_mm, 2, "Shore A per mm")),
        ]);
        for (index, region) in plan.regions.iter().enumerate() {
            let name = if region.name.trim().is_empty() {
                format!("Region {}", index + 1)
            } else {
                escaped(region.name.trim())
            };
            let off = if region.on { "" } else { " (off)" };
            rows.push(vec![
                side_word(side).to_owned(),
                format!("{name}{off}"),
                format!("<b>{}</b>", number(region.shore_a, 0, "Shore A")),
                format!("changes over {}", short(region.transition_mm, "mm")),
            ]);
        }
    }
    out.push_str("<section><h2>Hardness</h2>\n");
    table(out, "", &["Side", "Where", "Hardness", "Transition"], &rows);
    out.push_str("</section>\n");
}

fn solid(out: &mut String, model: &MakeModel) {
    let checks =
        BySide::from_fn(|side| model.sides[side].as_ref().map(|insole| check_solid(&insole.solid, &insole.outline)));
    let checked = |side: Side, show: &dyn Fn(crate::SolidCheck) -> String| checks[side].map_or("–".to_owned(), show);
    let mut rows = vec![
        row(model, "Length × width × height", |side, _| {
            checked(side, &|check| {
                let size = check.hi_mm - check.lo_mm;
                format!("{} × {} × {}", number(size.x, 1, ""), number(size.y, 1, ""), number(size.z, 1, "mm"))
            })
        }),
        row(model, "Volume", |side, _| checked(side, &|check| number(check.volume_mm3 / 1000.0, 1, "cm³"))),
    ];
    if let Some(density) = model.density_g_cm3.filter(|density| density.is_finite() && *density > 0.0) {
        let label = format!("Mass, estimate at {}", short(density, "g/cm³"));
        rows.push(row(model, &label, |side, _| {
            checked(side, &|check| number(density * check.volume_mm3 / 1000.0, 0, "g"))
        }));
    }
    rows.push(row(model, "Triangles, closed", |side, _| checked(side, &|check| check.triangles.to_string())));
    rows.push(row(model, "Plan beside the outline by at most", |side, _| {
        checked(side, &|check| number(check.outline_deviation_mm, 2, "mm"))
    }));
    out.push_str("<section><h2>Solid</h2>\n");
    table(out, "sides", &head(model, "As filed"), &rows);
    out.push_str(
        "<p class=\"small\">Files are in millimetres, x to the toes, y to the wearer's left, z up; the left insole is filed as a \
         left one. STL itself carries no unit.</p></section>\n",
    );
}

fn findings(out: &mut String, model: &MakeModel) {
    let mut all: Vec<(&str, &Note)> = model.findings.iter().map(|note| ("Pair", note)).collect();
    for (side, insole) in sides(model) {
        all.extend(insole.findings.iter().map(|note| (side_word(side), note)));
    }
    // What stops the job comes first; within a severity the order given stays.
    all.sort_by_key(|(_, note)| std::cmp::Reverse(note.severity));
    let rows: Vec<Vec<String>> = all
        .into_iter()
        .map(|(of, note)| {
            let weight = match note.severity {
                Severity::Info => "Note",
                Severity::Check => "Check",
                Severity::Stop => "<b>Do not make</b>",
            };
            vec![of.to_owned(), weight.to_owned(), escaped(&note.text), escaped(&note.advice)]
        })
        .collect();
    out.push_str("<section><h2>Findings</h2>\n");
    if rows.is_empty() {
        out.push_str("<p>None.</p>\n");
    }
    table(out, "", &["Of", "Weight", "Finding", "What to do"], &rows);
    out.push_str("</section>\n");
}

fn side_word(side: Side) -> &'static str {
    match side {
        Side::Left => "Left",
        Side::Right => "Right",
    }
}
