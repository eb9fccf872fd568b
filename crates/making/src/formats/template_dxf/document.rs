//! A DXF drawing as it is being written.

use glam::DVec2;
use std::fmt::{Display, Write};

/// A layer: a name of capital letters, digits and `_`.
pub(super) struct Layer {
    pub(super) name: String,
    pub(super) linetype: &'static str,
    /// One of the widths of the reference: 0.18, 0.25, 0.3, 0.35, 0.5 mm and others.
    pub(super) width_mm: f64,
}

/// A pattern of dashes and gaps; none is a solid line.
pub(super) struct Linetype {
    pub(super) name: &'static str,
    pub(super) label: &'static str,
    pub(super) dash_mm: &'static [f64],
}

/// Pairs of a group code and a value, and the handle to give out next.
struct Pairs {
    text: String,
    next: u32,
}

/// Handles that others refer to; those given out come after them.
mod handle {
    pub(super) const MODEL: u32 = 0x10;
    pub(super) const PAPER: u32 = 0x11;
    pub(super) const ROOT: u32 = 0x12;
    pub(super) const GROUPS: u32 = 0x13;
    pub(super) const LAYOUTS: u32 = 0x14;
    pub(super) const MODEL_LAYOUT: u32 = 0x15;
    pub(super) const PAPER_LAYOUT: u32 = 0x16;
    pub(super) const FIRST_FREE: u32 = 0x20;
}

impl Pairs {
    /// One pair. Writing to a `String` cannot fail.
    fn put(&mut self, code: u32, value: impl Display) -> &mut Pairs {
        let _ = write!(self.text, "{code:>3}\n{value}\n");
        self
    }

    /// A coordinate or length, thousandths of a millimetre.
    fn length(&mut self, code: u32, mm: f64) -> &mut Pairs {
        self.put(code, format_args!("{mm:.3}"))
    }

    fn point(&mut self, code: u32, p: DVec2) -> &mut Pairs {
        self.length(code, p.x).length(code + 10, p.y)
    }

    fn handle(&mut self, code: u32, handle: u32) -> &mut Pairs {
        self.put(code, format_args!("{handle:X}"))
    }

    fn new_handle(&mut self) -> u32 {
        self.next += 1;
        self.next - 1
    }

    fn section(&mut self, name: &str) {
        self.put(0, "SECTION").put(2, name);
    }

    fn end_section(&mut self) {
        self.put(0, "ENDSEC");
    }

    /// Opens a table of `count` entries and tells its handle.
    fn table(&mut self, name: &str, count: usize) -> u32 {
        let own = self.new_handle();
        self.put(0, "TABLE").put(2, name).handle(5, own).put(330, 0).put(100, "AcDbSymbolTable").put(70, count);
        if name == "DIMSTYLE" {
            self.put(100, "AcDbDimStyleTable").put(71, count);
        }
        own
    }

    fn end_table(&mut self) {
        self.put(0, "ENDTAB");
    }

    /// Opens an entry of the table `owner`.
    fn entry(&mut self, kind: &str, own: Option<u32>, owner: u32, class: &str, name: &str) -> &mut Pairs {
        let own = own.unwrap_or_else(|| self.new_handle());
        let code = if kind == "DIMSTYLE" { 105 } else { 5 };
        self.put(0, kind).handle(code, own).handle(330, owner);
        self.put(100, "AcDbSymbolTableRecord").put(100, class).put(2, name)
    }

    /// Opens an entity of model space.
    fn entity(&mut self, kind: &str, layer: &str) -> &mut Pairs {
        let own = self.new_handle();
        self.put(0, kind).handle(5, own).handle(330, handle::MODEL).put(100, "AcDbEntity").put(8, layer)
    }
}

/// A drawing in millimetres.
pub(super) struct Document {
    size: DVec2,
    layers: Vec<Layer>,
    linetypes: Vec<Linetype>,
    entities: Pairs,
}

impl Document {
    /// An empty drawing that reaches from the origin to `size`, mm.
    pub(super) fn new(size: DVec2) -> Document {
        let entities = Pairs { text: String::new(), next: handle::FIRST_FREE };
        Document { size, layers: Vec::new(), linetypes: Vec::new(), entities }
    }

    /// Defines a layer.
    pub(super) fn layer(&mut self, layer: Layer) {
        self.layers.push(layer);
    }

    /// Defines a linetype; a solid one is there already.
    pub(super) fn linetype(&mut self, linetype: Linetype) {
        if !linetype.dash_mm.is_empty() {
            self.linetypes.push(linetype);
        }
    }

    /// A polyline, with the linetype and width of its layer unless `look` gives others.
    pub(super) fn polyline(&mut self, layer: &str, look: Option<(&str, f64)>, points: &[DVec2], closed: bool) {
        let out = self.entities.entity("LWPOLYLINE", layer);
        if let Some((linetype, width_mm)) = look {
            out.put(6, linetype).put(370, hundredths(width_mm));
        }
        out.put(100, "AcDbPolyline").put(90, points.len()).put(70, i32::from(closed)).length(43, 0.0);
        for &p in points {
            out.point(10, p);
        }
    }

    /// A text from the left end of its base line, across or up the sheet.
    pub(super) fn text(&mut self, layer: &str, at: DVec2, height_mm: f64, upwards: bool, text: &str) {
        let out = self.entities.entity("TEXT", layer).put(100, "AcDbText").point(10, at).length(30, 0.0);
        out.length(40, height_mm).put(1, plain(text));
        if upwards {
            out.put(50, 90);
        }
        out.put(100, "AcDbText");
    }

    /// The whole file.
    pub(super) fn finish(self) -> String {
        let mut body = Pairs { text: String::new(), next: self.entities.next };
        self.tables(&mut body);
        blocks(&mut body);
        body.section("ENTITIES");
        body.text.push_str(&self.entities.text);
        body.end_section();
        objects(&mut body);
        body.put(0, "EOF");

        let mut file = Pairs { text: String::new(), next: 0 };
        file.section("HEADER");
        file.put(9, "$ACADVER").put(1, "AC1015");
        file.put(9, "$DWGCODEPAGE").put(3, "ANSI_1252");
        file.put(9, "$HANDSEED").handle(5, body.next);
        file.put(9, "$EXTMIN").point(10, DVec2::ZERO).length(30, 0.0);
        file.put(9, "$EXTMAX").point(10, self.size).length(30, 0.0);
        // Metric linetypes, as they are defined, and millimetres.
        file.put(9, "$MEASUREMENT").put(70, 1);
        file.put(9, "$LTSCALE").put(40, "1.0");
        file.put(9, "$INSUNITS").put(70, 4);
        file.end_section();
        file.section("CLASSES");
        file.end_section();
        file.text + &body.text
    }

    fn tables(&self, out: &mut Pairs) {
        out.section("TABLES");
        let table = out.table("VPORT", 1);
        out.entry("VPORT", None, table, "AcDbViewportTableRecord", "*ACTIVE").put(70, 0);
        out.point(10, DVec2::ZERO)
            .point(11, DVec2::ONE)
            .point(12, self.size / 2.0)
            .length(40, self.size.y)
            .put(41, "1.5");
        out.end_table();

        let table = out.table("LTYPE", self.linetypes.len() + 3);
        for name in ["ByBlock", "ByLayer", "CONTINUOUS"] {
            let entry = out.entry("LTYPE", None, table, "AcDbLinetypeTableRecord", name).put(70, 0);
            entry.put(3, "").put(72, 65).put(73, 0).length(40, 0.0);
        }
        for Linetype { name, label, dash_mm } in &self.linetypes {
            let entry = out.entry("LTYPE", None, table, "AcDbLinetypeTableRecord", name).put(70, 0).put(3, label);
            entry.put(72, 65).put(73, dash_mm.len()).length(40, dash_mm.iter().sum());
            for (place, &mm) in dash_mm.iter().enumerate() {
                entry.length(49, if place % 2 == 0 { mm } else { -mm }).put(74, 0);
            }
        }
        out.end_table();

        let table = out.table("LAYER", self.layers.len() + 1);
        out.entry("LAYER", None, table, "AcDbLayerTableRecord", "0").put(70, 0).put(62, 7).put(6, "CONTINUOUS");
        for Layer { name, linetype, width_mm } in &self.layers {
            let entry = out.entry("LAYER", None, table, "AcDbLayerTableRecord", name).put(70, 0).put(62, 7);
            entry.put(6, linetype).put(370, hundredths(*width_mm));
        }
        out.end_table();

        let table = out.table("STYLE", 1);
        let entry = out.entry("STYLE", None, table, "AcDbTextStyleTableRecord", "STANDARD").put(70, 0);
        entry.length(40, 0.0).put(41, "1.0").put(50, 0).put(71, 0).length(42, 2.5).put(3, "arial.ttf").put(4, "");
        out.end_table();

        for name in ["VIEW", "UCS"] {
            out.table(name, 0);
            out.end_table();
        }
        let table = out.table("APPID", 1);
        out.entry("APPID", None, table, "AcDbRegAppTableRecord", "ACAD").put(70, 0);
        out.end_table();
        let table = out.table("DIMSTYLE", 1);
        out.entry("DIMSTYLE", None, table, "AcDbDimStyleTableRecord", "STANDARD").put(70, 0);
        out.end_table();

        let table = out.table("BLOCK_RECORD", 2);
        for (name, own, layout) in [
            ("*Model_Space", handle::MODEL, handle::MODEL_LAYOUT),
            ("*Paper_Space", handle::PAPER, handle::PAPER_LAYOUT),
        ] {
            out.entry("BLOCK_RECORD", Some(own), table, "AcDbBlockTableRecord", name).handle(340, layout);
        }
        out.end_table();
        out.end_section();
    }
}

fn blocks(out: &mut Pairs) {
    out.section("BLOCKS");
    for (name, owner) in [("*Model_Space", handle::MODEL), ("*Paper_Space", handle::PAPER)] {
        let own = out.new_handle();
        out.put(0, "BLOCK").handle(5, own).handle(330, owner).put(100, "AcDbEntity").put(8, 0);
        out.put(100, "AcDbBlockBegin")
            .put(2, name)
            .put(70, 0)
            .point(10, DVec2::ZERO)
            .length(30, 0.0)
            .put(3, name)
            .put(1, "");
        let own = out.new_handle();
        out.put(0, "ENDBLK")
            .handle(5, own)
            .handle(330, owner)
            .put(100, "AcDbEntity")
            .put(8, 0)
            .put(100, "AcDbBlockEnd");
    }
    out.end_section();
}

fn objects(out: &mut Pairs) {
    out.section("OBJECTS");
    let dictionary = |out: &mut Pairs, own: u32, owner: u32, entries: &[(&str, u32)]| {
        out.put(0, "DICTIONARY").handle(5, own).handle(330, owner).put(100, "AcDbDictionary").put(281, 1);
        for (name, of) in entries {
            out.put(3, name).handle(350, *of);
        }
    };
    dictionary(out, handle::ROOT, 0, &[("ACAD_GROUP", handle::GROUPS), ("ACAD_LAYOUT", handle::LAYOUTS)]);
    dictionary(out, handle::GROUPS, handle::ROOT, &[]);
    let layouts = [("Model", handle::MODEL_LAYOUT, handle::MODEL), ("Layout1", handle::PAPER_LAYOUT, handle::PAPER)];
    dictionary(out, handle::LAYOUTS, handle::ROOT, &layouts.map(|(name, own, _)| (name, own)));
    for (order, (name, own, of)) in layouts.into_iter().enumerate() {
        out.put(0, "LAYOUT").handle(5, own).handle(330, handle::LAYOUTS).put(100, "AcDbPlotSettings").put(1, "");
        out.put(100, "AcDbLayout").put(1, name).put(70, 1).put(71, order).handle(330, of);
    }
    out.end_section();
}

/// A width as DXF counts it.
fn hundredths(mm: f64) -> i32 {
    (mm * 100.0).round() as i32
}

/// A text in ASCII on one line, with what DXF takes for a code written out.
fn plain(text: &str) -> String {
    let mut out = String::new();
    let mut units = [0; 2];
    for c in text.chars() {
        match c {
            // A caret announces a control character; a caret and a space stand for a caret.
            '^' => out.push_str("^ "),
            c if c.is_control() => out.push(' '),
            c if c.is_ascii() => out.push(c),
            '\u{a0}' => out.push(' '),
            c => {
                for unit in c.encode_utf16(&mut units) {
                    let _ = write!(out, "\\U+{unit:04X}");
                }
            }
        }
    }
    // Two per cent signs announce a code; three stand for one sign.
    out.replace("%%", "%%%%%%")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_are_ascii_and_hold_no_codes() {
        assert_eq!(plain("Größe 42½\n"), "Gr\\U+00F6\\U+00DFe 42\\U+00BD ");
        assert_eq!(plain("足𝄞"), "\\U+8DB3\\U+D834\\U+DD1E");
        assert_eq!(plain("100 %, %%d ^J"), "100 %, %%%%%%d ^ J");
    }
}
