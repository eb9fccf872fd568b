//! Places put on the insole to measure between, and the line of a cut: what the pointer and the keys put down.

use super::fields::number;
use super::geometry::P2;
use super::pane::distance;
use super::state::{Mode, Ui};
use crate::protocol::{Reply, Request};
use base::Side;
use engine::view::MeasuredView;
use leptos::prelude::*;
use leptos::task::spawn_local;

/// More places than this are not measured between: the next one begins anew.
const MOST_PLACES: usize = 3;
/// A cut is at least so long, mm.
const LEAST_CUT_MM: f64 = 5.0;

impl Ui {
    /// Puts down one more place to measure between.
    pub(crate) fn measure_at(self, side: Side, at: P2) {
        let points = self.mode.try_maybe_update(|mode| {
            let Mode::Measure { side: of, points } = mode else { return (false, None) };
            if *of != side || points.len() == MOST_PLACES {
                points.clear();
            }
            *of = side;
            points.push(at);
            (true, Some(points.clone()))
        });
        self.go_to(side, Some(at));
        if let Some(points) = points.flatten() {
            self.measure(side, points);
        }
    }

    fn measure(self, side: Side, points: Vec<P2>) {
        spawn_local(async move {
            if let Some(Reply::Measured(view)) = self.asked(Request::Measure { side, points }, Vec::new()).await {
                self.measured.set(Some((side, view)));
            }
        });
    }

    /// Puts down an end of a cut; the second shows it.
    pub(crate) fn cut_at(self, side: Side, at: P2) {
        let Mode::CutLine { side: of, from } = self.mode.get_untracked() else { return };
        match from.filter(|_| of == side) {
            None => {
                self.go_to(side, None);
                self.mode.set(Mode::CutLine { side, from: Some(at) });
            }
            Some(from) if distance(from, at) >= LEAST_CUT_MM => {
                self.mode.set(Mode::Select);
                self.cut_line[side].set(Some([from, at]));
                // The cut across goes through its middle.
                self.go_to(side, Some([(from[0] + at[0]) / 2.0, (from[1] + at[1]) / 2.0]));
            }
            Some(_) => {}
        }
    }

    /// Moves an end of the cut along a line, unless the two would meet.
    pub(crate) fn move_cut_end(self, side: Side, end: usize, to: P2) {
        self.cut_line[side].maybe_update(|line| match line {
            Some(ends) if distance(ends[1 - end], to) >= LEAST_CUT_MM => {
                ends[end] = to;
                true
            }
            _ => false,
        });
    }
}

/// Measures again what is shown whenever the insole is another one, but not under the hand.
pub(crate) fn measure_again(ui: Ui) {
    Effect::new(move |_| {
        ui.snapshot.track();
        let busy = ui.dragged.with(Option::is_some) || ui.stroke.with(Option::is_some);
        let Some((side, view)) = ui.measured.get_untracked().filter(|_| !busy) else { return };
        if untrack(|| ui.has(side)) {
            ui.measure(side, view.places.iter().map(|place| place.at).collect());
        } else {
            ui.measured.set(None);
        }
    });
}

/// The places in space; one beside the insole lies on the support plane.
pub(crate) fn places(view: &MeasuredView) -> Vec<[f64; 3]> {
    view.places.iter().map(|place| [place.at[0], place.at[1], place.height_mm.unwrap_or(0.0)]).collect()
}

/// What was measured, each number with its place: the distance half way from the first to the last (`through` space or in
/// plan), the angle at the second of three.
pub(crate) fn numbers(view: &MeasuredView, through: bool) -> [Option<([f64; 3], String)>; 2] {
    let all = places(view);
    let middle = || {
        let (first, last) = all.first().zip(all.last())?;
        Some([0, 1, 2].map(|axis: usize| (first[axis] + last[axis]) / 2.0))
    };
    let mm = if through { view.straight_mm.or(view.plan_mm) } else { view.plan_mm };
    let distance = mm.and_then(|mm| Some((middle()?, format!("{} mm", number(mm, 1)))));
    let angle = view.angle_deg.and_then(|deg| Some((*all.get(1)?, format!("{}°", number(deg, 1)))));
    [distance, angle]
}
