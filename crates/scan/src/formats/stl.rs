//! STL, binary and text, through [`mesh::stl`].

use crate::{RawScan, ReadError, ScanFormat, Shape};
use base::{Report, Work};
use mesh::stl;

/// STL. No unit, no colours: the 16 spare bits of a triangle have no agreed meaning.
pub(crate) struct Stl;

impl ScanFormat for Stl {
    fn id(&self) -> &'static str {
        "stl"
    }

    fn label(&self) -> &'static str {
        "STL"
    }

    fn extensions(&self) -> &'static [&'static str] {
        &["stl"]
    }

    fn recognises(&self, _: &str, bytes: &[u8]) -> bool {
        stl::is_stl(bytes)
    }

    fn read(&self, name: &str, bytes: &[u8], work: &Work, report: &mut Report) -> Result<RawScan, ReadError> {
        let mesh = stl::read_stl(name, bytes, work, report)?;
        Ok(RawScan { shape: Shape::Mesh(mesh), colours: Vec::new(), unit: None, format: self.id() })
    }
}
