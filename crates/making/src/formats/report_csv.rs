use super::paired::{Paired, changes, measures};
use super::{Format, Part, WriteError, check_pair};
use crate::MakeModel;
use base::{Params, Report, Side};
use std::io::Write;

/// The measures of both feet as a table of comma-separated values (RFC 4180), UTF-8, numbers with a decimal point and
/// in full.
#[derive(Clone, Copy, Debug, Default)]
pub struct ReportCsv;

/// The columns. Units have their own, so that those of the values hold nothing but numbers.
const HEAD: [&str; 18] = [
    "part",
    "id",
    "label",
    "unit",
    "left",
    "right",
    "left_minus_right",
    "left_missing_because",
    "right_missing_because",
    "left_class",
    "right_class",
    "left_disagreement",
    "right_disagreement",
    "definition",
    "source",
    "weight_bearing",
    "left_scan",
    "right_scan",
];

/// A text that begins like this is taken for a formula by spreadsheets.
const FORMULA: [char; 8] = ['=', '+', '-', '@', '＝', '＋', '－', '＠'];

impl Format for ReportCsv {
    fn id(&self) -> &'static str {
        "report_csv"
    }

    fn label(&self) -> &'static str {
        "Foot report (CSV)"
    }

    fn help(&self) -> &'static str {
        "The measures of both feet for a spreadsheet: a row each with unit, left, right, difference, classes and source."
    }

    fn extension(&self) -> &'static str {
        "csv"
    }

    fn media_type(&self) -> &'static str {
        "text/csv"
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
        let mut csv = HEAD.join(",") + "\r\n";
        for (part, rows) in [("measure", measures(model)), ("change", changes(model))] {
            for row in &rows {
                csv.push_str(&record(model, part, row).join(","));
                csv.push_str("\r\n");
            }
        }
        out.write_all(csv.as_bytes())?;
        Ok(())
    }
}

/// One row, in the order of [`HEAD`].
fn record(model: &MakeModel, part: &str, row: &Paired<'_>) -> [String; HEAD.len()] {
    let spec = row.spec;
    let value = |side| number(row.value(side));
    let missing = |side| text(row.missing(side).unwrap_or_default());
    let disagreement = |side| text(row.disagreement(side).unwrap_or_default());
    let scan = |side: Side| text(model.feet[side].as_ref().map_or("", |foot| &foot.scan_name));
    [
        text(part),
        text(&spec.id),
        text(&spec.label),
        text(&spec.unit),
        value(Side::Left),
        value(Side::Right),
        number(row.difference()),
        missing(Side::Left),
        missing(Side::Right),
        classes(row, Side::Left),
        classes(row, Side::Right),
        disagreement(Side::Left),
        disagreement(Side::Right),
        text(&spec.definition),
        text(&spec.source),
        text(model.weight_bearing.map_or("not stated", |state| state.word())),
        scan(Side::Left),
        scan(Side::Right),
    ]
}

/// The shortest number that reads back as the same; nothing for none.
fn number(value: Option<f64>) -> String {
    value.map(|value| value.to_string()).unwrap_or_default()
}

/// `Author: class (limits); …`
fn classes(row: &Paired<'_>, side: Side) -> String {
    let each = row.classes(side).iter().map(|class| format!("{}: {} ({})", class.author, class.class, class.limits));
    text(&each.collect::<Vec<_>>().join("; "))
}

/// A text as one cell: quoted where it must be, and with an apostrophe before what a spreadsheet would compute.
fn text(text: &str) -> String {
    let guard = if text.trim_start().starts_with(FORMULA) { "'" } else { "" };
    let text = format!("{guard}{text}");
    if text.contains(['"', ',', '\r', '\n', ';', '\t']) || text.trim() != text {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_is_one_cell_and_never_a_formula() {
        assert_eq!(text("plain ü"), "plain ü");
        assert_eq!(text("a \"b\", c"), "\"a \"\"b\"\", c\"");
        assert_eq!(text("two\r\nlines"), "\"two\r\nlines\"");
        for formula in ["=1+1", "+1", "-1", "@f", "\t=1", "\r=1", " =1", "＝1"] {
            assert!(text(formula).trim_start_matches('"').starts_with('\''), "{formula:?}");
        }
        assert_eq!(number(Some(-0.1)), "-0.1");
        assert_eq!(number(None), "");
    }
}
