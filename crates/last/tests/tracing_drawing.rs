//! Drawings: shapes of known area, transforms, units, pieces, and an independent reader of SVG paths.

#![allow(clippy::unwrap_used, reason = "a test may stop at what it did not expect")]

use glam::DVec2;
use last::tracing::drawing::{Curve, Drawing, JOIN_MM, SAG_MM, read};
use mesh::outline::{perimeter_mm, signed_area_mm2};
use std::f64::consts::PI;

mod drawings;
use drawings::{dxf, dxf_in, svg, svg_of};

#[track_caller]
fn read_ok(text: &str) -> Drawing {
    read("a", text.as_bytes()).unwrap()
}

fn area(curve: &Curve) -> f64 {
    signed_area_mm2(&curve.points).abs()
}

fn bounds(curve: &Curve) -> (DVec2, DVec2) {
    let start = (curve.points[0], curve.points[0]);
    curve.points.iter().fold(start, |(lo, hi), p| (lo.min(*p), hi.max(*p)))
}

/// Checks the one curve of an SVG of 300 by 200 mm against an area and a bounding box in its own axes, mm.
#[track_caller]
fn check(content: &str, area_mm2: f64, lo: (f64, f64), hi: (f64, f64)) {
    let drawing = read_ok(&svg(content));
    assert_eq!(drawing.curves.len(), 1);
    let curve = &drawing.curves[0];
    assert!(curve.closed);
    // Chords within the sag lose at most its length times the perimeter.
    let lost = SAG_MM * perimeter_mm(&curve.points);
    assert!((area(curve) - area_mm2).abs() < lost, "{} {area_mm2}", area(curve));
    let (least, greatest) = bounds(curve);
    let (lo, hi) = (DVec2::new(lo.0, -hi.1), DVec2::new(hi.0, -lo.1));
    assert!((least - lo).abs().max_element() < 2.0 * SAG_MM, "{least} {lo}");
    assert!((greatest - hi).abs().max_element() < 2.0 * SAG_MM, "{greatest} {hi}");
}

#[test]
fn the_basic_shapes_have_their_areas() {
    check(r#"<rect x="10" y="20" width="250" height="90"/>"#, 22_500.0, (10.0, 20.0), (260.0, 110.0));
    let rounded = 22_500.0 - (4.0 - PI) * 20.0 * 30.0;
    check(r#"<rect x="10" y="20" width="250" height="90" rx="20" ry="30"/>"#, rounded, (10.0, 20.0), (260.0, 110.0));
    let rounded = 22_500.0 - (4.0 - PI) * 20.0 * 20.0;
    check(r#"<rect x="10" y="20" width="250" height="90" rx="20"/>"#, rounded, (10.0, 20.0), (260.0, 110.0));
    check(r#"<circle cx="150" cy="100" r="60"/>"#, PI * 3600.0, (90.0, 40.0), (210.0, 160.0));
    check(r#"<ellipse cx="150" cy="100" rx="130" ry="45"/>"#, PI * 130.0 * 45.0, (20.0, 55.0), (280.0, 145.0));
    check(r#"<ellipse cx="50%" cy="50%" rx="10%" ry="10%"/>"#, PI * 600.0, (120.0, 80.0), (180.0, 120.0));
    check(r#"<polygon points="10,10 110,10,110 90 10 90"/>"#, 8000.0, (10.0, 10.0), (110.0, 90.0));
    // A polyline that comes back to its start is closed.
    check(r#"<polyline points="10,10 110,10 110,90 10,90 10,10"/>"#, 8000.0, (10.0, 10.0), (110.0, 90.0));
    check(r#"<path d="m10 10h100v80H10z"/>"#, 8000.0, (10.0, 10.0), (110.0, 90.0));
    check(r#"<path d="M10,10 110-0L110,90,10 90Z"/>"#, 8500.0, (10.0, 0.0), (110.0, 90.0));
    // Half a disc by arcs, flags and numbers without gaps; then radii too small, which grow.
    check(r#"<path d="M40 100A60 60 0 01160 100z"/>"#, PI * 1800.0, (40.0, 40.0), (160.0, 100.0));
    check(r#"<path d="M40 100a5-5 30 10120 0z"/>"#, PI * 1800.0, (40.0, 100.0), (160.0, 160.0));
    // Three quarters of a disc.
    let segment = 2500.0 * (1.5 * PI + 1.0) / 2.0;
    check(r#"<path d="M150 50A50 50 0 1 1 100 100z"/>"#, segment, (100.0, 50.0), (200.0, 150.0));
}

#[test]
fn transforms_nest_from_the_outside_in() {
    let square = r#"<rect width="20" height="10"/>"#;
    let turned = format!(r#"<g transform="translate(100 50)"><g transform="rotate(90) scale(2,-3)">{square}</g></g>"#);
    check(&turned, 1200.0, (100.0, 50.0), (130.0, 90.0));
    let listed = format!(r#"<g transform="translate(100,50),rotate(90)scale(2 -3)">{square}</g>"#);
    check(&listed, 1200.0, (100.0, 50.0), (130.0, 90.0));
    let about = r#"<rect width="20" height="10" x="90" y="95" transform="rotate(90 100 100)"/>"#;
    check(about, 200.0, (95.0, 90.0), (105.0, 110.0));
    let skewed = r#"<rect width="20" height="10" transform="skewX(45)"/>"#;
    check(skewed, 200.0, (0.0, 0.0), (30.0, 10.0));
    let skewed = r#"<rect width="20" height="10" transform="skewY(-45)"/>"#;
    check(skewed, 200.0, (0.0, -20.0), (20.0, 10.0));
    let matrix = r#"<circle r="10" transform="matrix(2 0 0 1 50 60)"/>"#;
    check(matrix, 200.0 * PI, (30.0, 50.0), (70.0, 70.0));
    let nested =
        r#"<svg x="100" y="50" width="100" height="100" viewBox="0 0 10 20"><rect width="10" height="20"/></svg>"#;
    check(nested, 5000.0, (125.0, 50.0), (175.0, 150.0));
    let aligned = nested.replace("viewBox", r#"preserveAspectRatio="xMaxYMid meet" viewBox"#);
    check(&aligned, 5000.0, (150.0, 50.0), (200.0, 150.0));
    let stretched = nested.replace("viewBox", r#"preserveAspectRatio="none" viewBox"#);
    check(&stretched, 10_000.0, (100.0, 50.0), (200.0, 150.0));
}

#[test]
fn what_is_not_drawn_is_left_out() {
    let hidden = r#"<?xml version="1.0"?><!DOCTYPE svg PUBLIC "-" "x.dtd" [ <!ENTITY ns "http://a"> <!ENTITY b "c">
        ]><!-- <circle r="9"/> --><svg xmlns="http://www.w3.org/2000/svg" width="30cm" height="20cm" viewBox="0 0 300 200">
        <defs><circle r="90"/></defs><symbol><rect width="99" height="99"/></symbol><clipPath><circle r="80"/></clipPath>
        <g display="none"><circle r="70"/></g><g style="fill:red; display : none"><circle r="60"/></g>
        <circle id="it" r="50"/><rect width="0" height="5"/><path d=""/><use href="it"/><text>A</text></svg>"#;
    let drawing = read_ok(hidden);
    assert_eq!(drawing.curves.len(), 1);
    assert_eq!(drawing.curves[0].label, "it");
    assert!((area(&drawing.curves[0]) / (PI * 2500.0) - 1.0).abs() < 1e-3);
    assert_eq!(drawing.report.notes[0].text, "Not read: 1 copies (use), 1 texts.");
}

#[test]
fn every_unit_of_svg_gives_its_millimetres() {
    let side = |head: &str| {
        let drawing = read_ok(&svg_of(head, r#"<rect width="100" height="100"/>"#));
        (area(&drawing.curves[0]).sqrt(), drawing.unit.code)
    };
    let check = |head: &str, mm: f64, code: &str| {
        let (found, told) = side(head);
        assert!((found - mm).abs() < 1e-9 && told == code, "{head}: {found} {told}");
    };
    check(r#"width="200mm" height="200mm" viewBox="0 0 100 100""#, 200.0, "drawing_unit_stated");
    check(r#"width="20cm" height="30cm" viewBox="0 0 100 100""#, 200.0, "drawing_unit_stated");
    check(r#"width="8in" height="8in" viewBox="0 0 100 100""#, 203.2, "drawing_unit_stated");
    check(r#"width="576pt" height="576pt" viewBox="0 0 100 100""#, 203.2, "drawing_unit_stated");
    check(r#"width="200mm" viewBox="0 0 100 50""#, 200.0, "drawing_unit_stated");
    check(r#"width="200mm" height="200mm""#, 25.4 / 0.96, "drawing_unit_stated");
    check(r#"width="960px" height="960" viewBox="0 0 100 100""#, 254.0, "drawing_unit_pixels");
    check(r#"width="100%" height="100%" viewBox="0 0 100 100""#, 25.4 / 0.96, "drawing_unit_missing");
    check(r#"viewBox="-5 -5 100 100""#, 25.4 / 0.96, "drawing_unit_missing");
    check("", 25.4 / 0.96, "drawing_unit_missing");
}

#[test]
fn curves_come_largest_first_closed_before_open() {
    let many = r#"<line x1="0" y1="0" x2="290" y2="0"/><circle id="small" cx="100" cy="100" r="20"/>
        <circle id="large" cx="100" cy="100" r="90"/><path id="two" d="M10 150h20v20h-20z m40 0h30v30h-30z"/>"#;
    let drawing = read_ok(&svg(many));
    let labels: Vec<&str> = drawing.curves.iter().map(|curve| curve.label.as_str()).collect();
    assert_eq!(labels, ["large", "small", "two", "two", ""]);
    assert_eq!(drawing.curves.iter().filter(|curve| curve.closed).count(), 4);
    let (lo, hi) = bounds(&drawing.curves[4]);
    assert!(lo.length() < 1e-9 && hi.distance(DVec2::new(290.0, 0.0)) < 1e-9);
}

#[test]
fn pieces_whose_ends_meet_become_one() {
    // Four sides, in disorder, two of them backwards, gaps of 0.09 mm, one drawn twice.
    let near = r#"<line x1="10" y1="10" x2="209.95" y2="10"/><line x1="10.05" y1="90" x2="210" y2="90"/>
        <line x1="210" y1="10.05" x2="210" y2="89.95"/><line x1="210" y1="10.05" x2="210" y2="89.95"/>
        <path d="M10 90.05L10 10"/>"#;
    let drawing = read_ok(&svg(near));
    assert_eq!(drawing.curves.len(), 1);
    assert!(drawing.curves[0].closed && drawing.curves[0].points.len() == 4);
    assert!((area(&drawing.curves[0]) - 16_000.0).abs() < 2.0 * 560.0 * JOIN_MM);
    assert_eq!(drawing.report.notes[0].text, "4 open pieces were joined into 1 where their ends meet.");
    let far = r#"<line x1="10" y1="10" x2="210" y2="10"/><line x1="210.2" y1="10" x2="210" y2="90"/>"#;
    let drawing = read_ok(&svg(far));
    assert_eq!(drawing.curves.len(), 2);
    assert!(drawing.report.notes.iter().any(|note| note.code == "drawing_without_closed_curve"));
}

/// kurbo reads the same paths on its own, and its exact area by Green's theorem is the reference.
#[test]
fn paths_enclose_what_another_reader_says() {
    use kurbo::Shape;
    let paths = [
        "M20 100C20 20 120 20 150 60S280 40 280 100 200 190 150 150 20 180 20 100Z",
        "m20,100q50-120 120-40t120 40t-120 30 -120-30z",
        "M20 100A100 50 25 0 1 200 80A30 60 -40 1 0 180 150L60,170Z",
        "M60.5.5 L200-.5 200e0,1.5E2 Q 100 250 6e1 150 z",
        "M20 100 A 80 40 0 1 0 180 100 A 80 40 0 0 0 20 100 Z",
        "M100 50a50 20 10 0 0 100 30a50 20 10 1 1-100-30",
    ];
    for path in paths {
        let drawing = read_ok(&svg(&format!(r#"<path d="{path}"/>"#)));
        let theirs = kurbo::BezPath::from_svg(path).unwrap();
        let area_mm2: f64 = theirs.area().abs();
        let curve = &drawing.curves[0];
        // Both replace arcs: this by chords, that by cubics within 0.1 of the unit.
        let close = (SAG_MM + 0.1) * perimeter_mm(&curve.points) / 3.0;
        assert!((area(curve) - area_mm2).abs() < close, "{path}: {} {area_mm2}", area(curve));
        let bounds_of_theirs = theirs.bounding_box();
        let whole = drawing.curves.iter().map(bounds).reduce(|a, b| (a.0.min(b.0), a.1.max(b.1))).unwrap();
        let (lo, hi) = (DVec2::new(whole.0.x, -whole.1.y), DVec2::new(whole.1.x, -whole.0.y));
        let (x0, y0, x1, y1) = (bounds_of_theirs.x0, bounds_of_theirs.y0, bounds_of_theirs.x1, bounds_of_theirs.y1);
        assert!(lo.distance(DVec2::new(x0, y0)) < 0.1 && hi.distance(DVec2::new(x1, y1)) < 0.1, "{path} {lo} {hi}");
        // Every point lies on that curve: nearest of its flattening.
        let mut flat: Vec<kurbo::Point> = Vec::new();
        kurbo::flatten(&theirs, 0.001, |element| match element {
            kurbo::PathEl::MoveTo(p) | kurbo::PathEl::LineTo(p) => {
                let steps = flat.last().map_or(1, |last| (last.distance(p) / 0.05).ceil() as usize);
                let from = flat.last().copied().unwrap_or(p);
                flat.extend((1..=steps).map(|step| from.lerp(p, step as f64 / steps as f64)));
            }
            _ => {}
        });
        for p in &curve.points {
            let off = flat.iter().map(|q| DVec2::new(q.x, -q.y).distance(*p)).fold(f64::INFINITY, f64::min);
            assert!(off < 0.15, "{path}: {p} {off}");
        }
    }
}

#[test]
fn entities_of_dxf_have_their_areas() {
    let check = |entities: &str, area_mm2: f64| {
        let drawing = read_ok(&dxf(entities));
        assert_eq!(drawing.curves.len(), 1, "{entities}");
        let curve = &drawing.curves[0];
        let lost = SAG_MM * perimeter_mm(&curve.points);
        assert!(curve.closed && (area(curve) - area_mm2).abs() < lost, "{entities}: {} {area_mm2}", area(curve));
        assert_eq!(curve.label, "SOLE");
    };
    check("CIRCLE 8:SOLE 10:100 20:50 40:60", PI * 3600.0);
    check("ELLIPSE 8:SOLE 10:0 20:0 11:100 21:0 40:0.5 41:0 42:6.283185307179586", PI * 5000.0);
    let stadium = 200.0 * 80.0 + PI * 1600.0;
    check("LWPOLYLINE 8:SOLE 90:4 70:1 10:0 20:0 10:200 20:0 42:1 10:200 20:80 10:0 20:80 42:1", stadium);
    let polyline = "POLYLINE 8:SOLE 66:1 70:1 10:0 20:0|VERTEX 10:0 20:0|VERTEX 10:200 20:0 42:1|VERTEX 10:200 20:80|\
                    VERTEX 10:0 20:80 42:1|SEQEND";
    check(polyline, stadium);
    let pieces = "LINE 8:SOLE 10:0 20:0 11:200 21:0|ARC 8:SOLE 10:200 20:40 40:40 50:-90 51:90|\
                  LINE 8:SOLE 10:0 20:80 11:200 21:80|ARC 8:SOLE 10:0 20:40 40:40 50:90 51:270";
    check(pieces, stadium);
    // Seen from behind, an arc runs the other way.
    let behind = "LWPOLYLINE 8:SOLE 90:4 70:1 230:-1 10:0 20:0 42:1 10:0 20:80 10:-200 20:80 42:1 10:-200 20:0";
    check(behind, stadium);
    // The unit circle as a rational quadratic spline (Piegl and Tiller, The NURBS Book, 7.5: nine points), 50 times.
    let weight = std::f64::consts::FRAC_1_SQRT_2;
    let mut circle = "SPLINE 8:SOLE 70:13 71:2 72:12 73:9".to_owned();
    for knot in [0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4] {
        circle += &format!(" 40:{knot}");
    }
    for (index, (x, y)) in
        [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1), (1, 0)].into_iter().enumerate()
    {
        circle += &format!(" 41:{} 10:{} 20:{} 30:0", if index % 2 == 0 { 1.0 } else { weight }, 50 * x, 50 * y);
    }
    check(&circle, PI * 2500.0);
    let drawing = read_ok(&dxf(&circle));
    assert!(drawing.curves[0].points.iter().all(|p| (p.length() - 50.0).abs() < 1e-9));
    assert!(drawing.curves[0].points.len() < 300, "{}", drawing.curves[0].points.len());
}

#[test]
fn blocks_are_placed_once() {
    let blocks = "BLOCK 2:PIECE 10:10 20:0|CIRCLE 8:SOLE 10:10 20:0 40:40|INSERT 2:OTHER 10:0 20:0|ENDBLK";
    let placed = "INSERT 2:PIECE 10:100 20:50 41:2 42:1 50:90|TEXT 1:A";
    let drawing = read_ok(&dxf_in(4, blocks, placed));
    let (lo, hi) = bounds(&drawing.curves[0]);
    assert!(lo.distance(DVec2::new(60.0, -30.0)) < 0.05 && hi.distance(DVec2::new(140.0, 130.0)) < 0.05, "{lo} {hi}");
    assert_eq!(drawing.report.notes[0].text, "Not read: 1 INSERT (a block in a block, or aslant), 1 TEXT.");
}

#[test]
fn every_unit_of_dxf_gives_its_millimetres() {
    let length = |units: i32, size: f64| {
        let drawing = read_ok(&dxf_in(
            units,
            "",
            &format!("LWPOLYLINE 70:1 10:0 20:0 10:{size} 20:0 10:{size} 20:{}", size / 3.0),
        ));
        (bounds(&drawing.curves[0]).1.x, drawing.unit.code, drawing.report.notes.len())
    };
    let stated = |units, size, mm: f64| {
        let (found, code, notes) = length(units, size);
        assert!((found - mm).abs() < 1e-9 && code == "drawing_unit_stated" && notes == 0, "{units} {found} {code}");
    };
    stated(4, 270.0, 270.0);
    stated(5, 27.0, 270.0);
    stated(6, 0.27, 270.0);
    stated(1, 10.0, 254.0);
    for (size, mm) in [(270.0, 270.0), (27.0, 270.0), (0.27, 270.0), (11.0, 279.4)] {
        let (found, code, _) = length(0, size);
        assert!((found - mm).abs() < 1e-9 && code == "drawing_unit_guessed", "{size} {found} {code}");
    }
    // A stated unit is kept, however odd the size, and reported.
    let (found, code, notes) = length(4, 27.0);
    assert!((found - 27.0).abs() < 1e-9 && code == "drawing_unit_stated" && notes == 1);
}
