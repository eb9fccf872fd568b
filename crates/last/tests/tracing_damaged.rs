//! Damaged drawings: each is refused with its name, the place, what is wrong and what to do; and valid ones changed at
//! random, which end well whatever comes out and take no memory out of proportion.

#![allow(clippy::unwrap_used, reason = "a test may stop at what it did not expect")]
#![allow(unsafe_code, reason = "an allocator that counts has to be one")]

use last::tracing::TracingError;
use last::tracing::drawing::read;

#[path = "../../scan/tests/counting/mod.rs"]
mod counting;
mod drawings;
use counting::{Draw, greatest_request};
use drawings::{dxf, dxf_in, svg, svg_of};

/// Checks place and reason of one file; advice is the end of every message.
#[track_caller]
fn check(bytes: impl AsRef<[u8]>, message: &str) {
    let error = read("a.svg", bytes.as_ref()).unwrap_err();
    let text = error.to_string();
    assert!(!error.advice().is_empty() && text.ends_with(error.advice()), "{text}");
    let told = text[..text.len() - error.advice().len()].trim_end_matches([' ', '.']);
    assert_eq!(told, format!("a.svg{message}"));
}

#[test]
fn what_is_no_drawing() {
    let neither = |what: &str| format!(": this is neither an SVG nor a DXF drawing: it looks like {what}");
    check("", ": the file is empty");
    check(b"\x89PNG\r\n\x1a\n", &neither("a PNG picture"));
    check(b"%PDF-1.7", &neither("a PDF document"));
    check(b"AC1032\0\0\0", &neither("a DWG drawing"));
    check(b"\x1f\x8b\x08\0", &neither("a packed file (a packed SVG, svgz, is one)"));
    check(b"\x00\x01\x02", &neither("nothing known"));
    check("Dear colleague,\nhere it is.\n", &neither("a text file"));
    check(
        "<html><body/></html>",
        ", line 1 (html): this is neither an SVG nor a DXF drawing: it looks like another kind of XML",
    );
    check(
        b"AutoCAD Binary DXF\r\n\x1a\0\0\0SECTION\0",
        ": this is a binary DXF file, and only DXF in text form can be read",
    );
}

#[test]
fn damaged_svg() {
    let broken = |line: usize, what: &str| format!(", line {line}: the drawing is broken (XML): {what}");
    check("<svg>\n<g>\n", &broken(3, "the text ends before its last element does"));
    check("<svg>\n<g>\n</svg>", &broken(3, "a tag closes what was not opened last"));
    check("<svg>\n<path d=\"M0 0", &broken(2, "a tag is cut short"));
    check(b"<svg>\n\n<g id=\"\xff\"/></svg>", &broken(3, "the text is not UTF-8"));
    check("<!-- nothing -->", ": there is no svg element in it");
    check(svg(""), ": there is no curve in it");
    check(svg("<text>A</text>"), ": there is no curve in it (Not read: 1 texts.)");
    let found =
        |expected: &str, found: &str| format!(", line 2 (path id=\"p\"): expected {expected}, found \"{found}\"");
    let path = |d: &str| svg(&format!("<path id=\"p\" d=\"{d}\"/>"));
    check(path("M0 0L1 x"), &found("a number", "x"));
    check(path("M0 0L1"), &found("a number", "nothing"));
    check(path("M0 0L1 1e999 5 5"), &found("a number", "1e999 5 5"));
    check(path("M0 0A5 5 0 2 0 9 9"), &found("0 or 1", "2 0 9 9"));
    check(path("M0 0L1 1Z5 5"), &found("a path command", "5 5"));
    check(path("M0 0#"), &found("a path command", "#"));
    check(path("L0 0"), ", line 2 (path id=\"p\"): the path does not start with a move (M)");
    check(path("M0 0B1 1"), ", line 2 (path id=\"p\"): the path has a command that SVG does not know");
    check(
        path("M0 0L99999999 0"),
        ", line 2 (path id=\"p\"): a curve reaches farther than 10 m from the drawing's origin",
    );
    check(
        svg("<circle r=\"5em\"/>"),
        ", line 2 (circle): expected a length in mm, cm, in, pt, pc, px or %, found \"5em\"",
    );
    check(
        svg("<g transform=\"turn(5)\"><circle r=\"5\"/></g>"),
        ", line 2 (g): expected a transform, found \"turn with 1 numbers\"",
    );
    check(svg("<g transform=\"scale 5\"/>"), ", line 2 (g): expected ( after the name of a transform, found \"5\"");
    check(
        svg("<g transform=\"matrix(1 2 3 4 5 6 7)\"/>"),
        ", line 2 (g): expected the end of a transform, found \"7)\"",
    );
    check(svg_of("viewBox=\"0 0 0 5\"", ""), ", line 1 (svg): its viewBox has no extent");
    check(svg_of("width=\"-5mm\" height=\"5mm\"", ""), ", line 1 (svg): its width or height is not above zero");
    let deep = "<g>".repeat(100_000);
    check(svg(&deep), &broken(2, "a tag without name, or elements without end in each other"));
}

#[test]
fn damaged_dxf() {
    let good = dxf("LINE 10:0 20:0 11:200 21:0");
    check(good.replace("200", "2,5"), ", line 32: expected a number, found \"2,5\"");
    check(good.replace(" 11\n", "eleven\n"), ", line 31: expected a group code, found \"eleven\"");
    check(good.replace(" 11\n200\n", ""), ", line 26 (LINE): it lacks a coordinate");
    check(dxf("CIRCLE 10:0 20:0 40:-5"), ", line 26 (CIRCLE): its radius is not above zero");
    check(dxf("CIRCLE 10:0 20:0 40:inf"), ", line 32: expected a number, found \"inf\"");
    check(
        dxf("CIRCLE 10:0 20:0 40:1e9"),
        ", line 26 (CIRCLE): a curve reaches farther than 10 m from the drawing's origin",
    );
    check(dxf("LWPOLYLINE 10:0 20:0 10:5"), ", line 26 (LWPOLYLINE): it lacks a coordinate");
    check(dxf("TEXT 1:A"), ": there is no curve in it (Not read: 1 TEXT.)");
    check(dxf("POLYLINE 70:1|VERTEX 10:0 20:0"), ": the file ends in the middle of a polyline");
    check("0\nSECTION\n2\nENTITIES\n0\nLINE\n10", ", line 7: the file ends in the middle of a group");
    let spline = |rest: &str| dxf(&format!("SPLINE 70:8 {rest} 10:0 20:0 10:9 20:0 10:9 20:9"));
    let why = |what: &str| format!(", line 26 (SPLINE): {what}");
    let knots = "40:0 40:0 40:0 40:1 40:1 40:1";
    check(
        spline("71:3 40:0"),
        &why("the spline's degree is below 1, above 15, or not below the number of its control points"),
    );
    check(spline("71:2 40:0"), &why("the spline has not as many knots as its control points and its degree ask for"));
    check(spline(&format!("71:2 {}", knots.replace("40:1", "40:-1"))), &why("the spline's knots do not rise"));
    check(spline(&format!("71:2 41:1 {knots}")), &why("the spline has not as many weights as control points"));
    check(spline(&format!("71:2 41:1 41:0 41:1 {knots}")), &why("a weight of the spline is not above zero"));
    // A few lines that ask for more than memory has.
    let many = "CIRCLE 10:0 20:0 40:5|".repeat(2000);
    let placed = "INSERT 2:B 10:0 20:0|".repeat(2000);
    let error = read("a", dxf_in(4, &format!("BLOCK 2:B|{many}ENDBLK"), &placed).as_bytes()).unwrap_err();
    assert!(error.to_string().contains("the curves take more than 1048576 points"), "{error}");
}

/// Mutations of each format.
const ROUNDS: usize = 4000;
/// Greatest single request for a file of a few kB: what the points that are kept at most take, with room to grow.
const GREATEST_REQUEST: usize = 64 << 20;

const WORDS: [&str; 20] = [
    "-1",
    "nan",
    "inf",
    "99999999999",
    "1e300",
    "1e-300",
    "\"",
    "<",
    ">",
    "/",
    "\n",
    "(",
    ")",
    "%",
    "0",
    "70",
    " 10\n",
    "\u{e9}",
    "A1 1 0 0 0 9 9",
    "scale(1e200)",
];

/// One change of the text.
fn mutate(bytes: &mut Vec<u8>, other: &[u8], draw: &mut Draw) {
    let at = draw.below(bytes.len());
    match draw.below(7) {
        0 => bytes.truncate(at),
        1 => drop(bytes.drain(at..(at + 1 + draw.below(30)).min(bytes.len()))),
        2 => {
            let from = draw.below(other.len());
            let piece = &other[from..(from + 1 + draw.below(200)).min(other.len())];
            bytes.splice(at..at, piece.iter().copied());
        }
        3 | 4 => {
            let word = WORDS[draw.below(WORDS.len())].as_bytes();
            let end = if draw.below(2) == 0 { at } else { (at + word.len()).min(bytes.len()) };
            bytes.splice(at..end, word.iter().copied());
        }
        5 => {
            if let Some(figure) = bytes[at..].iter().position(u8::is_ascii_digit) {
                bytes[at + figure] = b'0' + draw.below(10) as u8;
            }
        }
        _ => {
            if let Some(byte) = bytes.get_mut(at) {
                *byte ^= 1 << draw.below(8);
            }
        }
    }
}

/// Whether it could be read.
fn ends_well(name: &str, bytes: &[u8]) -> bool {
    let (result, greatest) = greatest_request(|| read(name, bytes));
    assert!(greatest < GREATEST_REQUEST, "{name}: {greatest} bytes for a file of {}", bytes.len());
    match result {
        Ok(drawing) => {
            assert!(!drawing.curves.is_empty() && !drawing.unit.text.is_empty());
            for curve in &drawing.curves {
                assert!(curve.points.len() > 1 && curve.points.iter().all(|p| p.is_finite()));
            }
            true
        }
        Err(error) => {
            let TracingError::Drawing { name: told, .. } = &error else { unreachable!("it is a drawing") };
            let text = error.to_string();
            assert!(told == name && text.starts_with(name) && text.ends_with(error.advice()), "{text}");
            assert!(text.len() < 700, "{text}");
            false
        }
    }
}

#[test]
fn whatever_the_bytes_reading_ends_well() {
    let shapes = "<g transform=\"translate(5 5) rotate(30 1 2) skewX(3)\" id=\"a\"><path d=\"M10,10C20-20 120 20 150 60S280 \
                  40 280 100q-50-20-120 20t-40-10A30 60-40 1 0 20 10V20h5z\" style=\"display:inline\"/><rect x=\"1cm\" \
                  width=\"50%\" height=\"20\" rx=\"3\"/><svg viewBox=\"0 0 9 9\" width=\"40\"><circle r=\"4\"/></svg>\
                  <line x2=\"5\"/><line x1=\"5\" x2=\"9\" y2=\"9\"/><polygon points=\"1,1 9,1 5,7\"/></g>";
    let entities = "LINE 8:A 10:0 20:0 11:200 21:0|ARC 8:A 10:200 20:40 40:40 50:-90 51:90|ELLIPSE 10:0 20:0 11:9 21:0 \
                    40:0.5 41:0 42:6.28|LWPOLYLINE 90:3 70:1 10:0 20:0 42:1 10:200 20:0 10:9 20:80|POLYLINE 66:1 70:1|\
                    VERTEX 10:0 20:0|VERTEX 10:200 20:0 42:1|VERTEX 10:0 20:80|SEQEND|SPLINE 70:8 71:2 40:0 40:0 40:0 40:1 \
                    40:1 40:1 10:0 20:0 10:9 20:0 10:9 20:9|INSERT 2:B 10:5 20:5 41:2 50:30";
    let files = [
        ("a.svg", svg(shapes).into_bytes()),
        ("a.dxf", dxf_in(0, "BLOCK 2:B 10:1 20:1|CIRCLE 10:0 20:0 40:5|ENDBLK", entities).into_bytes()),
    ];
    let mut draw = Draw(1);
    for (name, bytes) in &files {
        assert!(ends_well(name, bytes));
        let mut read = 0;
        for _ in 0..ROUNDS {
            let mut changed = bytes.clone();
            for _ in 0..1 + draw.below(4) {
                let other = &files[draw.below(files.len())].1;
                mutate(&mut changed, other, &mut draw);
            }
            read += usize::from(ends_well(name, &changed));
        }
        // The mutations are neither all harmless nor all refused at the door.
        assert!(read > ROUNDS / 20 && read < ROUNDS * 19 / 20, "{name}: {read}");
    }
}
