//! The brush: a stroke is shown as it goes and becomes one step at its end.

use super::geometry::P2;
use super::pane::distance;
use super::state::Ui;
use super::taken::inside;
use crate::protocol::{Phase, Request};
use base::Side;
use insole::sculpt::{LEAST_RADIUS_MM, MOST_RADIUS_MM};
use leptos::prelude::*;
use leptos::task::spawn_local;

/// Places of a stroke are at least this far apart, mm: half the distance of the layer's nodes.
const APART_MM: f64 = 1.0;
/// By so much a key changes the radius, mm.
const RADIUS_STEP_MM: f64 = 1.0;

impl Ui {
    /// Puts the brush down.
    pub(crate) fn begin_stroke(self, side: Side, at: P2) {
        self.go_to(side, Some(at));
        self.stroke.set(Some((side, vec![at])));
        self.show_stroke();
    }

    /// The brush goes on to `at`.
    pub(crate) fn go_on_stroke(self, at: P2) {
        let grown = self.stroke.try_maybe_update(|stroke| {
            let path = stroke.as_mut().map(|(_, path)| path);
            let grown = path.filter(|path| path.last().is_some_and(|last| distance(*last, at) >= APART_MM));
            let grows = grown.is_some();
            if let Some(path) = grown {
                path.push(at);
            }
            (grows, grows)
        });
        if grown == Some(true) {
            self.go_to(self.side.get_untracked(), Some(at));
            self.show_stroke();
        }
    }

    fn show_stroke(self) {
        if let (Some(bench), Some(request)) = (self.bench(), self.stroke_request(Phase::Preview)) {
            bench.preview(request);
        }
    }

    fn stroke_request(self, phase: Phase) -> Option<Request> {
        let (side, path) = self.stroke.get_untracked()?;
        Some(Request::Sculpt { side, brush: self.brush.get_untracked(), path, phase })
    }

    /// Lifts the brush: one step.
    pub(crate) fn end_stroke(self) {
        let Some(request) = self.stroke_request(Phase::Commit) else { return };
        self.stroke.set(None);
        spawn_local(async move {
            if self.asked(request, Vec::new()).await.is_none() {
                self.asked(Request::Cancel, Vec::new()).await;
            }
        });
    }

    /// The stroke under the hand never was; whether there was one.
    pub(crate) fn cancel_stroke(self) -> bool {
        let stroking = self.stroke.with_untracked(Option::is_some);
        if stroking {
            self.stroke.set(None);
            self.ask(Request::Cancel);
        }
        stroking
    }

    /// Puts the brush down once.
    pub(crate) fn dab(self, side: Side, at: P2) {
        self.go_to(side, Some(at));
        self.stroke.set(Some((side, vec![at])));
        self.end_stroke();
    }

    /// Makes the brush larger or smaller by `steps`.
    pub(crate) fn resize_brush(self, steps: f64) {
        self.brush.update(|brush| {
            let radius_mm = brush.radius_mm + steps * RADIUS_STEP_MM;
            brush.radius_mm = radius_mm.clamp(LEAST_RADIUS_MM, MOST_RADIUS_MM);
        });
    }

    /// Whether the brush held at `at` touches the insole.
    pub(crate) fn brush_touches(self, side: Side, at: P2) -> bool {
        let radius_mm = self.brush.get_untracked().radius_mm;
        let touches = |foot: &engine::view::FootView| {
            let near = |p: &[f32; 2]| distance(p.map(f64::from), at) <= radius_mm;
            inside([&foot.outline], at) || foot.outline.iter().any(near)
        };
        untrack(|| self.with_foot(side, touches)).unwrap_or(false)
    }

    /// Where the brush is to be drawn: under the pointer, else where the cuts cross. Asked only while sculpting.
    pub(crate) fn brush_shown(self) -> (Side, P2) {
        let side = self.side.get();
        self.brush_at.get().map_or_else(|| (side, self.cursor[side].get()), |(side, at, _)| (side, at))
    }
}
