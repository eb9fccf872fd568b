//! From a case to everything derived from it: the one API of the page and the command line.
//!
//! Edits go in; snapshots, buffers and files come out. Each stage (scan → landmarks → measures → outline → surface →
//! hardness) is computed from the stages before it and kept until its inputs change.
//!
//! Invariant: no I/O, clock or randomness; the same edits on the same scans give the same bytes everywhere.
//! Invariant: what fails leaves the case as it was.
//!
//! ```
//! use engine::Engine;
//! let mut engine = Engine::new();
//! engine.apply(&case::Edit::SetTitle { title: "Spring boots".into() })?;
//! assert_eq!(engine.snapshot().undo.as_deref(), Some("name the case"));
//! # Ok::<(), engine::EngineError>(())
//! ```

mod bench;
mod bend;
mod compare;
mod display;
mod element_moves;
mod engine;
mod error;
mod handles;
mod intake;
mod make;
mod measured;
mod memo;
mod outline_edits;
mod outlined;
mod pairing;
mod section;
mod size;
mod skin;
mod snapshot;
mod stages;
mod trace_edits;
pub mod view;
mod view_outline;
mod workshop;

pub use bench::{STEPS, Step, StepTime, step_ids, time_steps};
pub use engine::Engine;
pub use error::EngineError;
pub use intake::{Added, ScanFile, ScanHints};
pub use view::{Cut, GridBuffers, MadeFile, MeshBuffers, SectionView, Snapshot, Target};
pub use workshop::{Drawn, InHouse, Workshop};
