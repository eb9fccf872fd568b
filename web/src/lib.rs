//! The page.

pub mod protocol;
pub mod storage;
pub mod view3d;
pub mod worker;
