//! The page a person sees. It shows what the engine derived and turns what the person does into requests; no rule of
//! the trade lives here.
//!
//! `state` holds the signals, `actions` what can be done, `app` puts the parts together; `plan`, `strip` and
//! `view_3d_pane` are the three views of the same feet, `stage_*` the panels. `testids` lists the names tests use.

// The component macro writes `pub` items of its own into these private modules.
#![allow(unreachable_pub)]

mod actions;
mod app;
mod colour;
mod fields;
mod files;
mod findings;
mod fit_edge;
mod fit_last;
mod fit_picture;
mod fit_shoe;
mod geometry;
mod isolines;
mod keys;
mod marks;
mod measuring;
mod notices;
mod own_builds;
mod pane;
mod plan;
mod plan_layers;
mod plan_marks;
mod plan_sheet;
mod rail;
mod scale;
mod shape_builds;
mod shape_compare;
mod shape_elements;
mod shape_measure;
mod shape_sculpt;
mod shape_surface;
mod slice;
mod stage_fit;
mod stage_grade;
mod stage_intake;
mod stage_make;
mod stage_measure;
mod stage_shape;
mod start;
mod state;
mod strip;
mod strip_lines;
mod strokes;
mod taken;
mod test_surface;
mod testids;
mod theme;
mod topbar;
mod view_3d_pane;

pub(crate) use start::start;
