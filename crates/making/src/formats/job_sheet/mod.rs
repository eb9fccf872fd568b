mod drawing;

use super::sheet::html::{escaped, number, of_spec, short, table};
use super::sheet::{self, given, loading, mass, scale_note, side_word};
use super::{Format, Part, WriteError, check_pair, sides};
use crate::{MakeModel, SideModel, check_solid};
use base::{BySide, Note, ParamSpec, Params, Report, Side, value_of};
use hardness::HardnessField;
use insole::elements::Element;
use insole::{ArchBound, ArchSupport, ElementItem};
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
.sides td{text-align:right;width:46mm}td:first-child,th:first-child{white-space:nowrap}.sides thead th+th{text-align:right}\
svg .f{fill:none;stroke:#777;stroke-width:.2}\
svg .c{fill:none;stroke:#999;stroke-width:.15}\
svg .h{fill:none;stroke:#111;stroke-width:.25;stroke-dasharray:1.5 1}\
svg .e{fill:none;stroke:#111;stroke-width:.3;stroke-dasharray:.05 .8;stroke-linecap:round}\
svg .n{font-size:2px;fill:#555}svg .t{font-size:3.5px;font-weight:700}";

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

fn page(model: &MakeModel) -> String {
    let mut out = String::new();
    sheet::begin(&mut out, "Job sheet", model, STYLE);
    facts(&mut out, model);
    plan(&mut out, model);
    findings(&mut out, model);
    measures(&mut out, model);
    surface(&mut out, model);
    elements(&mut out, model);
    hardness_section(&mut out, model);
    solid(&mut out, model);
    sheet::end(&mut out, &CAUTIONS, &["Designed by", "Made by", "Checked by", "Date"]);
    out
}

fn facts(out: &mut String, model: &MakeModel) {
    let which = match (&model.sides.left, &model.sides.right) {
        (Some(_), Some(_)) => "pair",
        (Some(_), None) => "left only",
        _ => "right only",
    };
    let (scanned, mass) = (loading(model.weight_bearing), mass(model));
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
        "</div>\n<p class=\"small\">Seen from above, {} Thick: insole outline. Thin: foot. Grey: height of the top every {} mm, \
         0 under heel and forefoot. Dotted: elements, by number. Dashed: hardness regions, Shore A. Crosses: landmarks.</p>\
         </section>",
        scale_note(drawing::REDUCTION),
        short(drawing::CONTOUR_MM, ""),
    );
}

/// Head of a table with a column for each side there is.
fn head(model: &MakeModel, first: &'static str) -> Vec<&'static str> {
    let mut head = vec![first];
    head.extend(sides(model).map(|(side, _)| side_word(side)));
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
        rows.push(row(model, &escaped(spec.label), |_, insole| surface_value(spec, value_of(&insole.surface, spec))));
    }
    out.push_str("<section><h2>Bearing surface</h2>\n");
    table(out, "sides", &head(model, "Number"), &rows);
    out.push_str("</section>\n");
}

fn surface_value(spec: &ParamSpec, value: f64) -> String {
    let word = insole::words(spec.id).get(value.round() as usize);
    word.map_or_else(|| of_spec(spec, value), |word| escaped(word))
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
                Some(element) => list(element, item),
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
fn list(element: &dyn Element, item: &ElementItem) -> String {
    let one = |spec: &ParamSpec| {
        let value = value_of(&item.params, spec);
        let word = element.words(spec.id).get(value.round() as usize);
        let shown = word.map_or_else(|| of_spec(spec, value), |word| escaped(word));
        format!("{} {shown}", escaped(spec.label))
    };
    let numbers = element.params().iter().map(one);
    let drawn = (!item.curve.is_empty()).then(|| format!("drawn to an outline of {} points", item.curve.len()));
    let text = (!item.text.is_empty()).then(|| format!("text \u{201c}{}\u{201d}", escaped(&item.text)));
    numbers.chain(drawn).chain(text).collect::<Vec<_>>().join(", ")
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
    out.push_str("<section><h2>Findings</h2>\n");
    if all.is_empty() {
        out.push_str("<p>None.</p>\n");
    }
    sheet::notes(out, "Finding", "Do not make", all);
    out.push_str("</section>\n");
}
