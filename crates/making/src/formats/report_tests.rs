//! The foot report in its three forms.

use super::paired::{changes, measures};
use super::*;
use crate::{MeasureRow, test_model};
use base::BySide;
use glam::{DVec2, DVec3};
use serde_json::Value;

fn written(format: &dyn Format, model: &MakeModel) -> String {
    let mut out = Vec::new();
    format.write(model, Part::Pair, &Params::new(), &mut out, &mut Report::default()).unwrap();
    String::from_utf8(out).unwrap()
}

/// The rows of the table by column name, read by a reader that is not ours.
fn table(model: &MakeModel) -> Vec<std::collections::BTreeMap<String, String>> {
    let csv = written(&ReportCsv, model);
    assert!(csv.ends_with("\r\n"));
    csv::Reader::from_reader(csv.as_bytes()).deserialize().map(|row| row.unwrap()).collect()
}

/// Bits of the number in a cell, `None` for an empty one.
fn cell(text: &str) -> Option<u64> {
    (!text.is_empty()).then(|| text.parse::<f64>().unwrap().to_bits())
}

#[test]
fn the_table_reads_back_with_equal_values() {
    let model = test_model::pair();
    let rows = table(&model);
    let expected: Vec<_> = measures(&model).into_iter().chain(changes(&model)).collect();
    assert_eq!(rows.len(), expected.len());
    for (row, measure) in rows.iter().zip(&expected) {
        assert_eq!(
            (&row["id"], &row["label"], &row["unit"]),
            (&measure.spec.id, &measure.spec.label, &measure.spec.unit)
        );
        assert_eq!(cell(&row["left"]), measure.value(Side::Left).map(f64::to_bits), "{}", row["id"]);
        assert_eq!(cell(&row["right"]), measure.value(Side::Right).map(f64::to_bits));
        assert_eq!(cell(&row["left_minus_right"]), measure.difference().map(f64::to_bits));
        assert_eq!((&row["definition"], &row["source"]), (&measure.spec.definition, &measure.spec.source));
        assert_eq!((row["weight_bearing"].as_str(), row["left_scan"].as_str()), ("none", "feet/\"a\" & <b>.stl"));
    }
    let of = |id: &str| rows.iter().find(|row| row["id"] == id).unwrap();
    assert_eq!(of("foot_length_mm")["left_minus_right"], "-4");
    let girth = of("ball_girth_mm");
    assert_eq!((girth["right"].as_str(), girth["left_missing_because"].as_str()), ("", ""));
    assert!(girth["right_missing_because"].contains("round the <ball>"));
    assert!(of("arch_index")["left_class"].contains("<Other> 2030: low (low from 0.24)"));
    assert_eq!(of("navicular_drop_mm")["part"], "change");
}

#[test]
fn no_text_in_the_table_is_a_formula() {
    let mut model = test_model::pair();
    for foot in [&mut model.feet.left, &mut model.feet.right].into_iter().flatten() {
        foot.scan_name = "@cmd, \"x\"\r\ny".into();
        foot.measures[0].label = "=HYPERLINK(\"http://x\")".into();
        foot.measures[0].definition = "-1+2".into();
    }
    let rows = table(&model);
    assert_eq!(rows[0]["label"], "'=HYPERLINK(\"http://x\")");
    assert_eq!(rows[0]["definition"], "'-1+2");
    assert_eq!(rows[0]["left_scan"], "'@cmd, \"x\"\r\ny");
    // A negative number is a number.
    assert_eq!(rows[0]["left_minus_right"], "-4");
}

#[test]
fn the_json_holds_every_number_to_the_last_bit() {
    let model = test_model::pair();
    let text = written(&ReportJson, &model);
    let json: Value = serde_json::from_str(&text).unwrap();
    assert_eq!((&json["schema"], &json["version"]), (&"solewright_foot_report".into(), &1.into()));
    assert_eq!((&json["weight_bearing"], &json["body_mass_kg"]), (&"none".into(), &81.5.into()));
    let bits = |value: &Value| value.as_f64().map(f64::to_bits);
    for (side, foot) in feet(&model) {
        let read = &json["feet"][side.word()];
        assert_eq!(read["scan"]["unit"], "mm");
        for (key, rows) in [("measures", &foot.measures), ("changes", &foot.changes)] {
            assert_eq!(read[key].as_array().unwrap().len(), rows.len());
            for (k, row) in rows.iter().enumerate() {
                let read = &read[key][k];
                assert_eq!((read["id"].as_str(), read["unit"].as_str()), (Some(&*row.id), Some(&*row.unit)));
                assert_eq!(bits(&read["value"]), row.value.map(f64::to_bits));
                for (at, p) in row.path.iter().enumerate().flat_map(|(l, line)| (0..).zip(line).map(move |p| (l, p))) {
                    let read = &read["path_mm"][at][p.0];
                    assert_eq!([0, 1, 2].map(|axis| bits(&read[axis])), p.1.to_array().map(|v| Some(v.to_bits())));
                }
            }
        }
        for (read, row) in read["landmarks"].as_array().unwrap().iter().zip(&foot.landmarks) {
            assert_eq!([0, 1, 2].map(|axis| bits(&read["at_mm"][axis])), row.at.to_array().map(|v| Some(v.to_bits())));
        }
    }
    // Keys stand where they always stand.
    let place = |key: &str| text.find(&format!("\"{key}\":")).unwrap();
    let keys = ["schema", "version", "program", "title", "date", "weight_bearing", "frame", "feet", "left", "scan"];
    assert!(keys.windows(2).all(|pair| place(pair[0]) < place(pair[1])));
    // The girth is missing on the right: no difference.
    let differences = json["differences"].as_array().unwrap();
    assert_eq!(differences.len(), measures(&model).len() - 1 + changes(&model).len());
    assert!(differences.iter().all(|row| row["id"] != "ball_girth_mm"));

    let one = MakeModel { feet: BySide { right: None, ..model.feet.clone() }, weight_bearing: None, ..model };
    let json: Value = serde_json::from_str(&written(&ReportJson, &one)).unwrap();
    assert!(json["feet"]["right"].is_null() && json["weight_bearing"].is_null());
    assert_eq!(json["differences"], Value::Array(Vec::new()));
}

#[test]
fn a_difference_needs_two_values_in_one_unit() {
    let row = |value: Option<f64>, unit: &str| MeasureRow {
        id: "length".into(),
        unit: unit.into(),
        value,
        ..MeasureRow::default()
    };
    let difference = |left: MeasureRow, right: MeasureRow| {
        let foot = |row| Some(FootModel { measures: vec![row], ..FootModel::default() });
        let model = MakeModel { feet: BySide { left: foot(left), right: foot(right) }, ..MakeModel::default() };
        measures(&model)[0].difference()
    };
    assert_eq!(difference(row(Some(3.5), "mm"), row(Some(4.0), "mm")), Some(-0.5));
    assert_eq!(difference(row(Some(3.5), "mm"), row(None, "mm")), None);
    assert_eq!(difference(row(Some(f64::NAN), "mm"), row(Some(1.0), "mm")), None);
    assert_eq!(difference(row(Some(3.5), "mm"), row(Some(4.0), "cm")), None);
}

#[test]
fn the_page_says_what_was_measured_and_what_was_not() {
    let page = written(&ReportPage, &test_model::pair());
    for text in [
        "without load",
        "81.5\u{a0}kg",
        "2031-05-04",
        "<td>260.0</td><td>264.0</td><td>\u{2212}4.0</td><td>mm</td>",
        "<td>246.0</td><td>–</td><td>–</td><td>mm</td>",
        "Ball girth, right: the skin is missing",
        "scale 1 : 2",
        "must measure 50 mm",
        "Cavanagh &amp; Rodgers 1987",
        "Where the authors disagree",
        "Navicular drop",
        "by hand",
        "Closed 3 holes",
        "Author 2029",
        "no diagnosis",
        "practitioner licensed",
        "Checked by",
    ] {
        assert!(page.contains(text), "{text} is missing");
    }
    assert!(!page.contains("not stated"));
    // Each source is listed once.
    assert_eq!(page.matches("<li>Author 2029, J Feet 1:1</li>").count(), 1);

    let unsaid = MakeModel { weight_bearing: None, date: String::new(), ..test_model::pair() };
    let page = written(&ReportPage, &unsaid);
    assert!(page.contains("class=\"loud\">The state of loading is not stated"));
    assert!(page.contains("<b>Date</b> <span class=\"fill\"></span>"));
}

#[test]
fn the_page_takes_no_text_for_markup() {
    let page = written(&ReportPage, &test_model::pair());
    assert!(
        page.contains("Case 7 &lt;b&gt;&quot;ü&quot;&lt;/b&gt;")
            && page.contains("feet/&quot;a&quot; &amp; &lt;b&gt;.stl")
    );
    for word in ["AI", "ball", "Other", "another", "of feet", "support", "2"] {
        assert!(page.contains(&format!("&lt;{word}&gt;")) && !page.contains(&format!("<{word}>")), "{word}");
    }
}

#[test]
fn one_foot_has_no_difference() {
    let both = test_model::pair();
    let model = MakeModel { feet: BySide { left: None, ..both.feet.clone() }, ..both };
    let page = written(&ReportPage, &model);
    assert!(page.contains("right only") && page.contains(">Right</th>"));
    assert!(!page.contains(">Left</th>") && !page.contains("Difference") && page.matches("<figure>").count() == 2);
    assert!(table(&model).iter().all(|row| row["left"].is_empty() && row["left_minus_right"].is_empty()));
}

#[test]
fn what_is_not_there_is_not_drawn() {
    let mut model = test_model::pair();
    let figures = |model: &MakeModel| written(&ReportPage, model).matches("<figure>").count();
    assert_eq!(figures(&model), 4);
    let foot = model.feet.left.as_mut().unwrap();
    (foot.print, foot.profile) = (Vec::new(), Vec::new());
    assert_eq!(figures(&model), 3);
    model.feet.left.as_mut().unwrap().silhouette.clear();
    assert_eq!(figures(&model), 2);
    model.feet = BySide::from_fn(|_| Some(FootModel::default()));
    let page = written(&ReportPage, &model);
    assert!(!page.contains("<svg") && page.contains("<p>None.</p>"));
}

#[test]
fn what_is_not_a_number_is_not_printed() {
    let mut model = test_model::pair();
    let foot = model.feet.left.as_mut().unwrap();
    foot.silhouette[3] = DVec2::NAN;
    foot.print[0][0].x = f64::INFINITY;
    foot.profile[0][1] = DVec2::NAN;
    foot.landmarks[0].at = DVec3::NAN;
    foot.landmarks[1].confidence = f64::NAN;
    foot.measures[0].value = Some(f64::INFINITY);
    foot.measures[1].path[0][0] = DVec3::NAN;
    for format in [&ReportPage as &dyn Format, &ReportCsv] {
        let text = written(format, &model);
        assert!(!text.contains("NaN") && !text.contains("inf"), "{}", format.id());
    }
    let json: Value = serde_json::from_str(&written(&ReportJson, &model)).unwrap();
    assert!(json["feet"]["left"]["measures"][0]["value"].is_null());
}

/// Every drawing's width and height on paper, mm.
fn sizes(page: &str) -> Vec<DVec2> {
    let attribute = |svg: &str, name: &str| -> f64 {
        let start = svg.find(&format!(" {name}=\"")).unwrap() + name.len() + 3;
        svg[start..start + svg[start..].find("mm\"").unwrap()].parse().unwrap()
    };
    page.split("<figure><svg")
        .skip(1)
        .map(|svg| DVec2::new(attribute(svg, "width"), attribute(svg, "height")))
        .collect()
}

#[test]
fn feet_of_any_size_stay_on_the_paper_at_the_scale_stated() {
    // Up to the largest a scan may be.
    for (length, scale) in [(90.0, "1 : 2."), (264.0, "1 : 2."), (330.0, "1 : 2.5."), (1000.0, "1 : 10.")] {
        let feet = BySide::from_fn(|_| Some(test_model::foot(length)));
        let page = written(&ReportPage, &MakeModel { feet, ..test_model::pair() });
        assert!(page.contains(&format!("Seen from above, scale {scale}")), "{length}");
        for pair in sizes(&page).chunks(2) {
            assert!(pair[0].x + 10.0 + pair[1].x <= 186.0 && pair[0].y <= 165.0, "{length}: {pair:?}");
        }
    }
}

#[test]
fn the_length_drawn_is_the_length_measured() {
    let page = written(&ReportPage, &test_model::pair());
    let left = page.split("<figure>").nth(1).unwrap();
    // Straight up beside the foot, 260 mm at 1 : 2.
    let ends = |line: &str| -> Vec<f64> {
        let path = line.split("d=\"M").nth(1).unwrap().split('"').next().unwrap();
        path.split(['L', ' ']).map(|number| number.parse().unwrap()).collect()
    };
    let lengths = left.lines().filter(|line| line.starts_with("<path class=\"l\" d=") && line.contains('L')).map(ends);
    let lengths: Vec<f64> = lengths.filter(|e| (e[0] - e[2]).abs() < 1e-9).map(|e| (e[1] - e[3]).abs()).collect();
    assert_eq!(lengths, [93.0, 130.0]);
    let key = |key: &str| {
        let line = left.lines().find(|line| line.ends_with(&format!(">{key}</text>"))).unwrap();
        let number = |name: &str| line.split(name).nth(1).unwrap().split('"').next().unwrap().parse::<f64>().unwrap();
        DVec2::new(number(" x=\""), number(" y=\""))
    };
    // Ball length, truncated length and the length in the arch height index are one line, with three keys.
    let [a, b, c, j] = ["A", "B", "C", "J"].map(key);
    assert!((b.x - c.x).abs() < 1e-9 && (b.x - j.x).abs() < 1e-9 && b.y < c.y && c.y < j.y && a.x < b.x);
    // The medial side of a left foot is on the right: so is the key of its breadth.
    assert!(key("D").x > sizes(&page)[0].x / 2.0 && a.x < sizes(&page)[0].x / 2.0);
}

/// What is written in a drawing in this class.
fn texts<'a>(drawing: &'a str, class: &str) -> Vec<&'a str> {
    let start = format!("<text class=\"{class}\"");
    let lines = drawing.lines().filter(|line| line.starts_with(&start));
    lines.filter_map(|line| line.split(['>', '<']).nth(2)).collect()
}

#[test]
fn a_drawing_names_each_line_and_landmark_once() {
    let mut model = test_model::pair();
    let foot = model.feet.left.as_mut().unwrap();
    // An area is shown by its loops: one key.
    let ring = |reach: f64| [(0.0, 0.0), (reach, 0.0), (reach, reach), (0.0, 0.0)].map(|(x, y)| DVec3::new(x, y, 0.0));
    let path = vec![ring(10.0).to_vec(), ring(30.0).to_vec(), ring(20.0).to_vec()];
    foot.measures.push(MeasureRow { id: "area".into(), value: Some(1.0), path, ..MeasureRow::default() });
    let page = written(&ReportPage, &model);
    let drawings: Vec<&str> = page.split("<figure>").skip(1).collect();
    let [plan, _, side, _] = drawings[..] else { panic!("{} drawings", drawings.len()) };
    let mut keys = texts(plan, "k");
    keys.sort_unstable();
    // The thirds have two lines far apart, as have the indices of breadths.
    assert_eq!(keys, ["A", "B", "C", "D", "E", "F", "J", "K", "K", "L", "L", "M", "M", "N", "O"]);
    let mut keys = texts(side, "k");
    keys.sort_unstable();
    assert_eq!(keys, ["F", "G", "H", "I", "J"]);
    assert_eq!(texts(plan, "n").join(" ").split(' ').count(), 9);
    // Arch apex, navicular and instep.
    assert_eq!(texts(side, "n"), ["3", "4", "5"]);
}
