//! What a client shows of the insole's edge and of the shoe.

use crate::view::ParamView;
use base::Note;
use last::{InsoleLength, Keep, OutlineChange};
use serde::{Deserialize, Serialize};

/// The insole's edge and what it came from; lines closed and counter-clockwise, foot frame, mm.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct OutlineView {
    /// The last outline fitted to the foot.
    pub last: Vec<[f32; 2]>,
    /// The whole edge before it is trimmed.
    pub whole: Vec<[f32; 2]>,
    /// Its knots.
    pub knots: Vec<[f64; 2]>,
    /// Drawn by hand; else fitted.
    pub by_hand: bool,
    /// Where the foot's own edge was compared with the fitted one.
    pub residuals: Vec<ResidualView>,
    /// The shoe's own insole.
    pub shoe: Vec<[f32; 2]>,
    /// What it was traced from.
    pub shoe_name: Option<String>,
    /// What was assumed when it was traced.
    pub shoe_notes: Vec<Note>,
    /// Whether the fitted edge may go over it.
    pub let_over: bool,
    /// How far forward the insole reaches.
    pub length: InsoleLength,
    /// The trim line, lateral and medial end.
    pub trim: Option<[[f64; 2]; 2]>,
    /// The trim line was moved by hand.
    pub trim_by_hand: bool,
    /// Widths that can be set.
    pub widths: Vec<WidthView>,
    /// Numbers of the shoe.
    pub numbers: Vec<ParamView>,
}

/// How far the foot's own edge lies from the fitted one at one place.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct ResidualView {
    /// On the foot's edge.
    pub foot: [f32; 2],
    /// The nearest place of the fitted one.
    pub last: [f32; 2],
    /// How far the foot lies outside, mm; negative inside.
    pub mm: f32,
}

/// A width of the edge.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WidthView {
    /// `heel`, `waist`, `ball`.
    pub id: String,
    /// Label.
    pub label: String,
    /// Where along the foot axis, mm.
    pub x_mm: f64,
    /// The width, mm.
    pub mm: f64,
}

/// A change of the edge by hand, as a client asks for it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct OutlineRequest {
    /// What is changed.
    pub change: OutlineChange,
    /// How.
    pub hand: OutlineHand,
}

/// How a hand changes the edge. A habit of the person at the bench, no part of the case.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct OutlineHand {
    /// What stays the same.
    pub keep: Keep,
    /// Whether a place near the shoe's own insole goes onto it.
    pub snap: bool,
}
