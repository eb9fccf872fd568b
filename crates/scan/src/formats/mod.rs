//! The formats, one a file.

mod gltf;
mod obj;
mod ply;
mod png;
mod stl;
mod threemf;
mod xyz;

use crate::ScanFormat;

/// Every format that can be read. Where two could claim the same content, the stricter one comes first.
pub const ALL: &[&dyn ScanFormat] =
    &[&stl::Stl, &ply::Ply, &gltf::Gltf, &threemf::ThreeMf, &png::Png, &obj::Obj, &xyz::Xyz];
