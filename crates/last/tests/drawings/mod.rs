//! Small drawings for the tests.

#![allow(dead_code, reason = "each test takes what it needs")]

/// An SVG of 300 by 200 mm whose user unit is a millimetre.
pub(crate) fn svg(content: &str) -> String {
    svg_of(r#"width="300mm" height="200mm" viewBox="0 0 300 200""#, content)
}

/// An SVG with these attributes of its root.
pub(crate) fn svg_of(head: &str, content: &str) -> String {
    format!("<svg xmlns=\"http://www.w3.org/2000/svg\" {head}>\n{content}\n</svg>\n")
}

/// A DXF in mm of entities told in short: `LINE 10:0 20:0 11:5 21:5|CIRCLE …`.
pub(crate) fn dxf(entities: &str) -> String {
    dxf_in(4, "", entities)
}

/// A DXF with a unit and blocks.
pub(crate) fn dxf_in(units: i32, blocks: &str, entities: &str) -> String {
    let mut text = format!("0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1015\n9\n$INSUNITS\n70\n{units}\n0\nENDSEC\n");
    for (name, records) in [("BLOCKS", blocks), ("ENTITIES", entities)] {
        text += &format!("0\nSECTION\n2\n{name}\n");
        for record in records.split('|').filter(|record| !record.is_empty()) {
            let mut words = record.split_whitespace();
            text += &format!("  0\n{}\n", words.next().unwrap_or_default());
            for (code, value) in words.filter_map(|word| word.split_once(':')) {
                text += &format!(" {code}\n{value}\n");
            }
        }
        text += "0\nENDSEC\n";
    }
    text + "0\nEOF\n"
}
