//! What a person does, turned into requests to the engine. Every refusal is shown; nothing is decided here.

use super::geometry::P2;
use super::state::{EdgeTool, Held, Mode, Ui};
use crate::protocol::{Phase, Reply, Request};
use crate::worker::Bench;
use base::{Params, Severity, Side};
use case::Edit;
use engine::Target;
use engine::view::OutlineHand;
use js_sys::Uint8Array;
use last::OutlineChange;
use leptos::prelude::*;
use leptos::task::spawn_local;

/// A closed curve has at least so many points.
const LEAST_POINTS: usize = 3;
/// Nearer than this, two places put in by key are one, mm.
const SAME_PLACE_MM: f64 = 2.0;

impl Ui {
    /// The engine, once it has been started.
    pub(crate) fn bench(self) -> Option<Bench> {
        self.bench.with_value(Clone::clone)
    }

    /// One edit as one step.
    pub(crate) fn edit(self, edit: Edit) {
        self.ask(Request::Apply(edit));
    }

    /// Sends a request; if it is refused, says why and lets every field show the value in force.
    pub(crate) fn ask(self, request: Request) {
        spawn_local(async move {
            self.asked(request, Vec::new()).await;
        });
    }

    /// As [`Ui::ask`], waiting for the answer; `None` if it was refused.
    pub(crate) async fn asked(self, request: Request, files: Vec<Uint8Array>) -> Option<Reply<Uint8Array>> {
        let answer = self.bench()?.send_with(request, files).await;
        answer
            .map_err(|sentence| {
                self.notify(Severity::Check, sentence);
                self.refused.update(|count| *count += 1);
            })
            .ok()
    }

    /// Adds an element by its landmark rule, or centred at `at`, and leaves the placing mode.
    pub(crate) fn place(self, side: Side, kind: &str, at: Option<P2>) {
        self.mode.set(Mode::Select);
        self.go_to(side, None);
        let kind = kind.to_owned();
        spawn_local(async move {
            let request = Request::Place { side, kind, at };
            if self.asked(request, Vec::new()).await.is_some() {
                self.hold_newest_element(side);
            }
        });
    }

    /// Changes the edge of the active foot's insole by hand.
    pub(crate) fn change_edge(self, change: OutlineChange) {
        let (side, hand) = (self.side.get_untracked(), self.hand.get_untracked());
        self.ask(Request::Outline { side, change, hand });
    }

    /// How handles on the edge are moved from now on.
    pub(crate) fn set_hand(self, hand: OutlineHand) {
        self.hand.set(hand);
        self.ask(Request::Hand(hand));
    }

    /// A click near an edge point, or anywhere on the edge, with one of the edge's tools.
    fn edge_clicked(self, side: Side, at: P2, tool: EdgeTool, from: Option<usize>) {
        self.go_to(side, Some(at));
        let nearest = untrack(|| {
            self.with_foot(side, |foot| {
                let far = |knot: &[f64; 2]| (knot[0] - at[0]).powi(2) + (knot[1] - at[1]).powi(2);
                let knots = foot.edge.knots.iter().enumerate();
                knots.min_by(|a, b| far(a.1).total_cmp(&far(b.1))).map(|(index, _)| index)
            })
        });
        let Some(nearest) = nearest.flatten() else { return };
        let change = match (tool, from) {
            (EdgeTool::Add, _) => OutlineChange::AddKnot { near: at },
            (_, None) => {
                self.hold(Held { side, target: Target::OutlineKnot { index: nearest } });
                self.mode.set(Mode::Edge { tool, from: Some(nearest) });
                return;
            }
            (EdgeTool::Straighten, Some(from)) => OutlineChange::Straighten { from, to: nearest },
            (EdgeTool::Smooth, Some(from)) => OutlineChange::Smooth { from, to: nearest },
        };
        self.mode.set(Mode::Select);
        self.change_edge(change);
    }

    /// Closes the curve being drawn: a new hardness region, or the outline of an element.
    pub(crate) fn close_curve(self) {
        let mode = self.mode.get_untracked();
        let Some((_, points)) = mode.drawn() else { return };
        if points.len() < LEAST_POINTS {
            self.notify(Severity::Check, "A closed curve needs at least 3 points: click once more on the sheet.");
            return;
        }
        self.mode.set(Mode::Select);
        match mode {
            Mode::Draw { side, points } => {
                let count = untrack(|| self.with_foot(side, |foot| foot.regions.len())).unwrap_or(0);
                let (shore_a, transition_mm) = (self.new_region.0.get_untracked(), self.new_region.1.get_untracked());
                self.edit(Edit::AddRegion {
                    side,
                    name: format!("Region {}", count + 1),
                    points,
                    shore_a,
                    transition_mm,
                });
            }
            Mode::Outline { side, element: id, points } => {
                self.edit(Edit::SetElement { side, id, params: Params::new(), curve: Some(points), text: None });
            }
            _ => {}
        }
    }

    /// Closes the curve being drawn, if there is one that can be closed.
    pub(crate) fn close_curve_if_drawn(self) {
        if self.mode.with_untracked(|mode| mode.drawn().is_some_and(|(_, points)| points.len() >= LEAST_POINTS)) {
            self.close_curve();
        }
    }

    /// Takes the last point of the curve being drawn back.
    pub(crate) fn take_point_back(self) {
        self.mode.update(|mode| {
            if let Mode::Draw { points, .. } | Mode::Outline { points, .. } = mode {
                points.pop();
            }
        });
    }

    /// A click while a curve is drawn: one more point, or its end at the first.
    fn draw_at(self, at: P2, reach_mm: f64) {
        let near = |p: &P2| (p[0] - at[0]).powi(2) + (p[1] - at[1]).powi(2) <= reach_mm * reach_mm;
        let (closes, doubled) = self.mode.with_untracked(|mode| {
            let points = mode.drawn().map_or(&[][..], |(_, points)| points);
            (points.len() >= LEAST_POINTS && points.first().is_some_and(near), points.last().is_some_and(near))
        });
        if closes {
            self.close_curve();
        } else if !doubled {
            self.mode.update(|mode| {
                if let Mode::Draw { points, .. } | Mode::Outline { points, .. } = mode {
                    points.push(at);
                }
            });
        }
    }

    /// What a click on a foot does in the mode there is, foot frame, mm; `reach_mm` is how near counts as on a point. A
    /// click on the sheet is one on the support plane.
    pub(crate) fn click_at(self, side: Side, [x, y, z]: [f64; 3], reach_mm: f64) {
        let at = [x, y];
        match self.mode.get_untracked() {
            Mode::Lay { side: laid, mut points } if laid == side => {
                points.push([x, y, z]);
                match <[[f64; 3]; 3]>::try_from(points) {
                    Ok(clicks) => {
                        self.mode.set(Mode::Select);
                        self.ask(Request::Lay { side, clicks });
                    }
                    Err(points) => self.mode.set(Mode::Lay { side, points }),
                }
            }
            Mode::Lay { .. } => {}
            Mode::Mark { id } => {
                self.mode.set(Mode::Select);
                let held = Held { side, target: Target::Landmark { id } };
                let request = Request::Move { side, target: held.target.clone(), to: [x, y, z], phase: Phase::Commit };
                spawn_local(async move {
                    if self.asked(request, Vec::new()).await.is_some() {
                        self.hold(held);
                    }
                });
            }
            Mode::Select => {
                self.go_to(side, Some(at));
                self.held.set(None);
            }
            Mode::Edge { tool, from } => self.edge_clicked(side, at, tool, from),
            Mode::Place { kind } => self.place(side, &kind, Some(at)),
            Mode::Sculpt => self.dab(side, at),
            Mode::Measure { .. } => self.measure_at(side, at),
            Mode::CutLine { .. } => self.cut_at(side, at),
            Mode::Draw { points, .. } if points.is_empty() && self.has(side) => {
                self.go_to(side, None);
                self.mode.set(Mode::Draw { side, points: vec![at] });
            }
            Mode::Draw { side: drawn, .. } | Mode::Outline { side: drawn, .. } if drawn == side => {
                self.draw_at(at, reach_mm);
            }
            Mode::Draw { .. } | Mode::Outline { .. } => {}
        }
    }

    /// Takes hold of a handle: the gesture begins with the first movement.
    pub(crate) fn grab(self, held: Held) {
        // Who takes an element anywhere keeps the handle that is selected.
        if !matches!(held.target, Target::ElementBody { .. } | Target::ElementCurve { .. }) {
            self.hold(held.clone());
        }
        self.dragged.set(Some(held));
        self.moved_to.set(None);
    }

    /// Moves the handle in hand to `to`, foot frame, mm.
    pub(crate) fn drag_to(self, to: [f64; 3]) {
        let (Some(held), Some(bench)) = (self.dragged.get_untracked(), self.bench()) else { return };
        // The first preview begins the gesture.
        self.moved_to.set(Some(to));
        self.go_to(held.side, Some([to[0], to[1]]));
        bench.preview(Request::Move { side: held.side, target: held.target, to, phase: Phase::Preview });
    }

    /// Lets the handle go where it is: one step.
    pub(crate) fn drop_handle(self) {
        let held = self.dragged.get_untracked();
        self.dragged.set(None);
        if let (Some(held), Some(to)) = (held, self.moved_to.get_untracked()) {
            self.moved_to.set(None);
            let settling = Some((held.clone(), to));
            self.settling.set(settling.clone());
            let request = Request::Move { side: held.side, target: held.target, to, phase: Phase::Commit };
            spawn_local(async move {
                // What cannot be done is not left standing half done.
                if self.asked(request, Vec::new()).await.is_none() {
                    self.asked(Request::Cancel, Vec::new()).await;
                }
                if self.settling.with_untracked(|now| *now == settling) {
                    self.settling.set(None);
                }
            });
        }
    }

    /// Lets the handle go and puts everything back as it was when it was taken.
    pub(crate) fn cancel_drag(self) {
        let moved = self.moved_to.get_untracked().is_some();
        self.dragged.set(None);
        self.moved_to.set(None);
        if moved {
            self.ask(Request::Cancel);
        }
    }

    /// As [`Ui::click_at`], where the cuts cross.
    pub(crate) fn click_at_cursor(self) {
        let side = self.side.get_untracked();
        let [x, y] = self.cursor[side].get_untracked();
        self.click_at(side, [x, y, 0.0], SAME_PLACE_MM);
    }

    /// Moves the selected handle by `by` under a key that is down; [`Ui::drop_handle`] at its release makes it a step.
    pub(crate) fn nudge(self, by: [f64; 3]) {
        let Some(held) = self.held.get_untracked() else { return };
        if self.dragged.with_untracked(|dragged| dragged.as_ref() != Some(&held)) {
            self.grab(held.clone());
            self.nudging.set(true);
        }
        // Keys may come faster than answers: the case still shows the handle where it was before the last one.
        let settling = || self.settling.get_untracked().filter(|(of, _)| *of == held).map(|(_, at)| at);
        let shown = || untrack(|| self.handle(&held)).map(|handle| handle.at);
        let now = self.moved_to.get_untracked().or_else(settling).or_else(shown);
        if let Some([x, y, z]) = now {
            self.drag_to([x + by[0], y + by[1], z + by[2]]);
        }
    }

    /// [`Ui::drop_handle`] for a handle moved by a key; one in the pointer's hand stays there.
    pub(crate) fn drop_nudged(self) {
        if self.nudging.get_untracked() {
            self.nudging.set(false);
            self.drop_handle();
        }
    }

    fn hold_newest_element(self, side: Side) {
        let newest = untrack(|| {
            self.with_foot(side, |foot| {
                let id = foot.elements.iter().map(|element| element.id).max()?;
                foot.handles
                    .iter()
                    .map(|handle| &handle.target)
                    .find(|target| super::state::element_of(target) == Some(id))
                    .cloned()
            })
        });
        if let Some(target) = newest.flatten() {
            self.hold(Held { side, target });
        }
    }
}
