use super::*;
use crate::test_model;
use crate::{check_solid, in_shoe_frame};
use base::BySide;
use glam::DVec3;
use std::io::Cursor;

fn written(format: &dyn Format, model: &MakeModel, part: Part) -> Vec<u8> {
    let mut out = Vec::new();
    format.write(model, part, &Params::new(), &mut out, &mut Report::default()).unwrap();
    out
}

fn sheet(model: &MakeModel) -> String {
    String::from_utf8(written(&JobSheet, model, Part::Pair)).unwrap()
}

#[test]
fn every_format_is_complete_and_writes_the_same_bytes_twice() {
    let model = test_model::pair();
    for (index, format) in ALL.iter().enumerate() {
        assert!(ALL[..index].iter().all(|other| other.id() != format.id()));
        assert_eq!(by_id(format.id()).map(Format::id), Some(format.id()));
        assert!(!format.label().is_empty() && format.help().len() > 40 && format.media_type().contains('/'));
        for spec in format.options() {
            assert!(spec.accepts(spec.default), "{} {}", format.id(), spec.id);
        }
        let parts = format.parts(&model);
        assert!(!parts.is_empty());
        for part in parts {
            let bytes = written(*format, &model, part);
            assert!(bytes.len() > 1000);
            assert_eq!(bytes, written(*format, &model, part));
            let name = format.file_name(&model, part);
            assert!(name.ends_with(&format!(".{}", format.extension())), "{name}");
            assert!(name.chars().all(|c| c.is_ascii_alphanumeric() || "-.".contains(c)), "{name}");
        }
    }
    assert!(by_id("no_such_format").is_none());
}

#[test]
fn without_an_insole_there_is_nothing_to_write() {
    let empty = MakeModel::default();
    for format in ALL {
        assert!(format.parts(&empty).is_empty());
        for part in [Part::Pair, Part::Foot(Side::Left)] {
            let result = format.write(&empty, part, &Params::new(), &mut Vec::new(), &mut Report::default());
            assert!(result.is_err(), "{} {part:?}", format.id());
        }
    }
}

#[test]
fn insoles_and_feet_are_written_each_without_the_other() {
    let only_feet = MakeModel { sides: BySide::default(), ..test_model::pair() };
    let only_insoles = MakeModel { feet: BySide::default(), ..test_model::pair() };
    for format in ALL {
        let (with, without) =
            if format.needs_solid() { (&only_insoles, &only_feet) } else { (&only_feet, &only_insoles) };
        assert!(format.parts(without).is_empty(), "{}", format.id());
        for part in format.parts(with) {
            assert_eq!(written(*format, with, part), written(*format, &test_model::pair(), part));
        }
        assert!(!format.parts(with).is_empty(), "{}", format.id());
    }
    let refused = ReportPage.write(&only_insoles, Part::Pair, &Params::new(), &mut Vec::new(), &mut Report::default());
    assert!(matches!(refused, Err(WriteError::NoFeet)));
}

#[test]
fn a_full_disk_is_an_error_not_a_panic() {
    let model = test_model::pair();
    for format in ALL {
        for part in format.parts(&model) {
            let mut small = [0_u8; 100];
            let mut out = Cursor::new(&mut small[..]);
            let result = format.write(&model, part, &Params::new(), &mut out, &mut Report::default());
            assert!(matches!(result, Err(WriteError::Io(_))), "{}", format.id());
        }
    }
}

/// Read back by a reader that is not ours.
#[test]
fn the_stl_holds_the_solid_in_shoe_coordinates() {
    let model = test_model::pair();
    for side in Side::ALL {
        let insole = model.sides[side].as_ref().unwrap();
        let bytes = written(&SolidStl, &model, Part::Foot(side));
        assert_eq!(bytes.len(), 84 + 50 * insole.solid.mesh().triangles().len());
        let read = stl_io::read_stl(&mut Cursor::new(&bytes)).unwrap();
        read.validate().unwrap();
        assert_eq!(read.faces.len(), insole.solid.mesh().triangles().len());
        let corner = |index: usize| {
            let [x, y, z]: [f32; 3] = read.vertices[index].into();
            DVec3::new(f64::from(x), f64::from(y), f64::from(z))
        };
        let volume: f64 =
            read.faces.iter().map(|face| face.vertices.map(corner)).map(|[a, b, c]| a.dot(b.cross(c)) / 6.0).sum();
        let expected = check_solid(&insole.solid, &insole.outline);
        assert!((volume - expected.volume_mm3).abs() < 1e-4 * expected.volume_mm3, "{volume} mm³");
        // The dome lies on the medial side: to the left of a right insole, to the right of a left one.
        let highest = (0..read.vertices.len()).map(corner).reduce(|a, b| if b.z > a.z { b } else { a }).unwrap();
        assert!(highest.y * if side == Side::Right { 1.0 } else { -1.0 } > 20.0, "{side:?}: {highest}");
        assert_eq!(in_shoe_frame(insole.solid.mesh(), side).triangles().len(), read.faces.len());
    }
}

#[test]
fn every_page_is_self_contained_and_without_scripts() {
    let model = test_model::pair();
    for format in ALL.iter().filter(|format| format.media_type() == "text/html") {
        let page = String::from_utf8(written(*format, &model, Part::Pair)).unwrap();
        assert!(page.starts_with("<!doctype html>") && page.trim_end().ends_with("</html>"));
        assert!(!page.contains("<script") && !page.contains("src=") && !page.contains("@import"));
        let elsewhere = page.replace("http://www.w3.org/2000/svg", "");
        assert!(!elsewhere.contains("http:") && !elsewhere.contains("https:") && !elsewhere.contains("url(h"));
        assert!(page.contains("@page{size:A4"));
        for tag in [
            "html",
            "head",
            "body",
            "style",
            "title",
            "header",
            "section",
            "h1",
            "h2",
            "table",
            "tr",
            "td",
            "th",
            "svg",
            "g",
            "text",
            "figure",
            "figcaption",
            "ul",
            "ol",
            "li",
            "p",
            "div",
            "span",
            "b",
            "sup",
        ] {
            let opened = page.matches(&format!("<{tag}>")).count() + page.matches(&format!("<{tag} ")).count();
            assert_eq!(opened, page.matches(&format!("</{tag}>")).count(), "{} <{tag}>", format.id());
        }
    }
}

#[test]
fn the_sheet_takes_no_text_for_markup() {
    let page = sheet(&test_model::pair());
    assert!(page.contains("Case 7 &lt;b&gt;&quot;ü&quot;&lt;/b&gt;"));
    assert!(page.contains("&lt;script&gt;alert(&#39;thin&#39;)&lt;/script&gt;"));
    assert!(page.contains("second &lt;i&gt;line&lt;/i&gt;"));
    assert!(
        page.contains("heel &amp; &quot;rim&quot;")
            && page.contains("Arch index &lt;AI&gt;")
            && page.contains("&lt;later&gt;")
    );
}

#[test]
fn the_sheet_says_what_the_workshop_needs() {
    let mut model = test_model::pair();
    let page = sheet(&model);
    let volume = check_solid(&model.sides.left.as_ref().unwrap().solid, &[]).volume_mm3 / 1000.0;
    for text in [
        "Mondopoint 265",
        "without load",
        "81.5\u{a0}kg",
        "2031-05-04",
        "251.5\u{a0}mm",
        "255.5\u{a0}mm",
        "scale 1 : 2",
        "13.5\u{a0}mm",
        "13.5\u{a0}mm (fill 0.75)",
        "Metatarsal pad",
        "Metatarsal pad (off)",
        "unknown kind",
        "35\u{a0}Shore A",
        "22\u{a0}Shore A",
        "Do not make",
        "Thicken &amp; check",
        "check the skin",
        "Checked by",
        &format!("{volume:.1}\u{a0}cm³"),
        &format!("{:.0}\u{a0}g", volume * 0.2),
    ] {
        assert!(page.contains(text), "{text} is missing");
    }
    // What was not measured shows as a dash, not as a number.
    assert!(page.contains("<td>–</td>"));

    model.sides.right = None;
    let left = sheet(&model);
    assert!(left.contains("left only") && !left.contains("<th scope=\"col\">Right</th>"));
    model.density_g_cm3 = None;
    assert!(!sheet(&model).contains("Mass, estimate"));
}

#[test]
fn file_names_are_safe_everywhere() {
    let name = |title: &str| {
        let model = MakeModel { title: title.to_owned(), ..test_model::pair() };
        SolidStl.file_name(&model, Part::Foot(Side::Left))
    };
    assert_eq!(name("Mrs. K. / 2031"), "mrs-k-2031-left-solid-stl.stl");
    assert_eq!(name("../../etc"), "etc-left-solid-stl.stl");
    assert_eq!(name("足"), "insole-left-solid-stl.stl");
    assert!(name(&"x".repeat(500)).len() < 70);
}
