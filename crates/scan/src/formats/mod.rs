//! The formats, one a file.

mod obj;
mod ply;
mod stl;

use crate::ScanFormat;

/// Every format that can be read. Where two could claim the same content, the stricter one comes first.
pub const ALL: &[&dyn ScanFormat] = &[&stl::Stl, &ply::Ply, &obj::Obj];
