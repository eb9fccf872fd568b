//! What the project's own tools share: where things lie, and the small static server.
//!
//! The commands are in the binary, `cargo xtask`; the browser journeys start the same [`serve::Server`] that
//! `cargo xtask open` does, so what is tested is what a person opens.

pub mod places;
pub mod serve;
