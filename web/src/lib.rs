//! The page.

pub mod protocol;
pub mod view3d;
pub mod worker;
