//! The document: what the practitioner decided, and nothing that can be computed from it.
//!
//! A [`Case`] changes only through an [`Edit`], applied by a pure function; [`History`] keeps the steps, so undo,
//! redo, autosave, replay, the headless bench and the page share one code path.
//! [`mod@file`] packs a case with the scans it refers to.
//!
//! Invariant: nothing here reads a scan or computes a surface.
//! Invariant: undo after apply gives an equal case; a refused edit leaves the case as it was.
//!
//! ```
//! use case::{Edit, History};
//! let mut history = History::default();
//! history.apply(&Edit::SetTitle { title: "Walking shoe, spring".into() })?;
//! history.undo();
//! assert_eq!(history.case().title, "");
//! # Ok::<(), case::EditError>(())
//! ```

mod document;
mod edit;
pub mod file;
mod history;
mod pose;

pub use document::{Case, DEFAULT_CUT_HEIGHT_MM, FootCase, ScanRef, SecondScan, ShoeCase};
pub use edit::{CUT_HEIGHT, Edit, EditError, NAVICULAR_HEIGHT, mirrored_item};
pub use history::{History, Step};
pub use pose::{pose_from_rows, rows_from_pose};
