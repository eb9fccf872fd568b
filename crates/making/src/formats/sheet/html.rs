//! Text into HTML: everything that comes from outside passes through [`escaped`].

use base::ParamSpec;
use std::fmt::Write;

/// `text` with the characters that mean something in HTML, in text and in quoted attributes, written out. Control
/// characters that HTML does not allow become spaces.
pub(in crate::formats) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\n' | '\t' => out.push(c),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

/// A number with `digits` after the point and its unit; a dash for what is not a number.
pub(in crate::formats) fn number(value: f64, digits: usize, unit: &str) -> String {
    if !value.is_finite() {
        return "–".to_owned();
    }
    let text = format!("{value:.digits$}");
    // No minus before a number that shows as zero.
    let text = if text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.') {
        text.trim_start_matches('-').to_owned()
    } else {
        text.replace('-', "\u{2212}")
    };
    match unit {
        "" => text,
        "°" => text + unit,
        unit => format!("{text}\u{a0}{}", escaped(unit)),
    }
}

/// A number like [`number`]'s with its sign before it, but for one that shows as zero.
pub(in crate::formats) fn signed(value: f64, digits: usize) -> String {
    let text = number(value, digits, "");
    if value > 0.0 && text.chars().any(|c| ('1'..='9').contains(&c)) { format!("+{text}") } else { text }
}

/// A number of up to two digits after the point, without those that say nothing: `12`, `0.85`.
pub(in crate::formats) fn short(value: f64, unit: &str) -> String {
    let hundredths = (value * 100.0).round();
    let digits = if hundredths % 100.0 == 0.0 { 0 } else { 1 + usize::from(hundredths % 10.0 != 0.0) };
    number(value, digits, unit)
}

/// The value of a parameter, no finer than its step can set by hand, but to a tenth at least.
pub(in crate::formats) fn of_spec(spec: &ParamSpec, value: f64) -> String {
    let parts = if spec.step < 0.1 { 100.0 } else { 10.0 };
    short((value * parts).round() / parts, spec.unit)
}

/// A table. Cells are HTML already; the first cell of each row names it. Nothing for no rows.
pub(in crate::formats) fn table(out: &mut String, class: &str, head: &[&str], rows: &[Vec<String>]) {
    if rows.is_empty() {
        return;
    }
    let _ = write!(out, "<table class=\"{class}\"><thead><tr>");
    for cell in head {
        let _ = write!(out, "<th scope=\"col\">{cell}</th>");
    }
    out.push_str("</tr></thead><tbody>\n");
    for row in rows {
        out.push_str("<tr>");
        for (column, cell) in row.iter().enumerate() {
            let _ =
                if column == 0 { write!(out, "<th scope=\"row\">{cell}</th>") } else { write!(out, "<td>{cell}</td>") };
        }
        out.push_str("</tr>\n");
    }
    out.push_str("</tbody></table>\n");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_of_a_text_is_taken_for_markup() {
        assert_eq!(escaped("<b a='1' b=\"2\">&amp;"), "&lt;b a=&#39;1&#39; b=&quot;2&quot;&gt;&amp;amp;");
        assert_eq!(escaped("Größe 42½\u{0}\u{1b}"), "Größe 42½  ");
    }

    #[test]
    fn numbers_are_short_and_never_minus_zero() {
        assert_eq!(number(-0.04, 1, "mm"), "0.0\u{a0}mm");
        assert_eq!(number(-3.25, 1, "°"), "\u{2212}3.2°");
        assert_eq!(number(f64::NAN, 1, "mm"), "–");
        assert_eq!(
            (short(12.0, ""), short(0.85, ""), short(7.5, "mm")),
            ("12".into(), "0.85".into(), "7.5\u{a0}mm".into())
        );
        assert_eq!(short(1.0 / 3.0, ""), "0.33");
        assert_eq!(
            [1.25, -1.25, 0.04, -0.04, f64::NAN].map(|v| signed(v, 1)),
            ["+1.2", "\u{2212}1.2", "0.0", "0.0", "–"]
        );
    }
}
