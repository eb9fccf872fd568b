//! The engine beside the page: in a Web Worker where one starts, in the page itself where none does.
//!
//! [`Bench`] is what the page talks to and the only thing it needs to know. Behind it, `host` answers requests with an
//! engine, `parcel` turns answers into messages and back, `entry` is the worker's own start.
//!
//! Invariant: what was committed survives the worker: it is restarted and the case put back.
//! Invariant: at most one preview is under way and at most one waits, so a drag never queues up.

mod bench;

pub use bench::{Bench, FootBuffers, Grid, Mesh, Progress, Trouble, Update};
