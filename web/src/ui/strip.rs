//! The section strip: the cut lengthwise (A–A), or along a line drawn on the plan (C–C), and the cut across (B–B) through
//! the cursor, to one scale, with handles on the lines.

use super::fields::number;
use super::geometry::{Bounds, P2, View, tick_mm, ticks};
use super::pane::{CLICK_PX, capture, distance, place_in_drawing, reach_px, view_box, watch_drawing, zoom_of};
use super::plan_marks::{Handle, handle_word, nearest, visible_handles};
use super::slice::Slice;
use super::state::{Held, Mode, Ui, ui};
use super::strip_lines::{CutDrawing, Dimensions, Legend, MeasuredOnCut, Readings};
use base::{BySide, Side};
use engine::view::{Cut, HandleView, Moves};
use leptos::html::Div;
use leptos::prelude::*;
use web_sys::{PointerEvent, WheelEvent};

/// Heights shown, mm: the bottom of a thick insole to the ankle's beginning.
const HEIGHTS_MM: P2 = [-12.0, 52.0];
/// A handle, or a place measured at, stands on a cut that passes it within this, mm.
pub(crate) const NEAR_MM: f64 = 8.0;
/// Room for the ruler on the left and below, px.
pub(crate) const RULER_PX: P2 = [30.0, 18.0];

/// Which of the two panes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Way {
    /// Lengthwise at the cursor's y, drawn over x, heel on the left; or along a line drawn on the plan.
    Along,
    /// Across at the cursor's x, drawn as on the sheet: seen from behind.
    Across,
}

impl Way {
    pub(crate) fn word(self) -> &'static str {
        match self {
            Way::Along => "along",
            Way::Across => "across",
        }
    }

    /// Its place among the cuts that the page asks for.
    pub(crate) fn index(self) -> usize {
        match self {
            Way::Along => 0,
            Way::Across => 1,
        }
    }

    /// The cut shown here now.
    fn slice(self, ui: Ui) -> Slice {
        let cuts = ui.cuts_wanted();
        let ((side, cut), (_, other)) = (cuts[self.index()], cuts[1 - self.index()]);
        Slice { side, cut, other, cursor: ui.cursor[side].get() }
    }
}

/// The pane.
#[component]
pub(crate) fn Strip() -> impl IntoView {
    let ui = ui();
    Effect::new(move |_| {
        let cuts = ui.cuts_wanted();
        if let Some(bench) = ui.bench() {
            bench.watch(cuts);
        }
    });
    let sizes = Sizes { along: RwSignal::new([600.0, 150.0]), across: RwSignal::new([300.0, 150.0]) };
    view! {
        <section class="strip" aria-label="Sections">
            <CutPane way=Way::Along sizes />
            <CutPane way=Way::Across sizes />
        </section>
    }
}

/// How large each cut's pane is: the scale is the one at which both fit.
#[derive(Clone, Copy)]
struct Sizes {
    along: RwSignal<P2>,
    across: RwSignal<P2>,
}

impl Sizes {
    fn of(self, way: Way) -> RwSignal<P2> {
        match way {
            Way::Along => self.along,
            Way::Across => self.across,
        }
    }
}

#[component]
fn CutPane(way: Way, sizes: Sizes) -> impl IntoView {
    let ui = ui();
    let slice = Memo::new(move |_| way.slice(ui));
    let body = NodeRef::<Div>::new();
    let size = sizes.of(way);
    Effect::new(move |_| {
        if let Some(body) = body.get() {
            watch_drawing(&body, move |now| size.set(now))
        }
    });
    let moved = RwSignal::new(None::<View>);
    let view = Memo::new(move |_| {
        let size = size.get();
        moved.get().map_or_else(|| whole(ui, way, sizes), |view| View { size, ..view })
    });
    let handles = BySide::from_fn(|side| visible_handles(ui, side));
    let near = Memo::new(move |_| {
        let slice = slice.get();
        let side = slice.side;
        let held = ui.held.get().map(|held| held.target);
        let on = |handle: &HandleView| slice.off(handle.at) <= NEAR_MM || held.as_ref() == Some(&handle.target);
        handles[side].get().into_iter().filter(on).map(|handle| (side, handle)).collect::<Vec<_>>()
    });
    let mouse = Mouse { ui, slice, view, near, state: StoredValue::new_local(State::default()) };
    let title = move || {
        let slice = slice.get();
        let foot = slice.side.word();
        match slice.cut {
            Cut::Longitudinal(y) => format!("A–A lengthwise at y {} mm, {foot} foot", number(y, 1)),
            Cut::Transverse(x) => format!("B–B across at x {} mm", number(x, 1)),
            Cut::Line(from, to) => format!("C–C along the line, {} mm, {foot} foot", number(distance(from, to), 1)),
        }
    };
    let line_shown = move || matches!(slice.get().cut, Cut::Line(..));
    let lengthwise = move |_| ui.cut_line[ui.side.get_untracked()].set(None);
    let wheel = move |event: WheelEvent| {
        event.prevent_default();
        moved.set(Some(view.get_untracked().zoomed(place_in_drawing(&event), zoom_of(&event))));
    };
    view! {
        <div class=format!("cut cut-{}", way.word())>
            <header>
                <h2 data-testid=format!("strip-{}-title", way.word())>{title}</h2>
                {(way == Way::Along).then(|| view! {
                    <Readings slice />
                    {move || line_shown().then(|| view! {
                        <button class="small" data-testid="strip-lengthwise" title="Takes the line C–C away" on:click=lengthwise>"Back to A–A"</button>
                    })}
                })}
                <span class="quiet-text">{move || moved.get().is_some().then(|| view! {
                    <button class="small" data-testid=format!("strip-{}-whole", way.word()) on:click=move |_| moved.set(None)>"Whole cut"</button>
                })}</span>
                {(way == Way::Along).then(|| view! { <Legend /> })}
            </header>
            <div class="pane-body" node_ref=body class:placing=move || ui.mode.with(|mode| matches!(mode, Mode::Measure { .. }))>
                <svg class="layer drawing" viewBox=move || view_box(&view.get()) preserveAspectRatio="none" tabindex="0" role="application" data-testid=format!("strip-{}", way.word())
                    aria-label=move || format!("Section {}. Arrow keys move the cut, or the selected handle.", title())
                    on:pointerdown=move |event| mouse.down(&event) on:pointermove=move |event| mouse.moved_to(&event)
                    on:pointerup=move |event| mouse.up(&event) on:pointercancel=move |_| mouse.cancelled()
                    on:pointerleave=move |_| ui.hovered.set(None) on:dblclick=move |_| moved.set(None) on:wheel=wheel>
                    <Ground slice view />
                    <CutDrawing way slice view />
                    <For each=move || near.get() key=|(side, handle)| (*side, handle_word(&handle.target)) children=move |(side, handle)| {
                        let target = handle.target;
                        let found = target.clone();
                        let at = Signal::derive(move || {
                            let place = near.with(|near| near.iter().find(|(_, handle)| handle.target == found).map(|(_, handle)| handle.at));
                            view.get().px(slice.get().flat(place.unwrap_or_default()))
                        });
                        view! { <Handle pane=way.word() held=Held { side, target } at view /> }
                    } />
                    <Dimensions way slice view />
                    <MeasuredOnCut way slice view />
                </svg>
            </div>
        </div>
    }
}

/// The view of a whole cut, at the scale at which both cuts fit.
fn whole(ui: Ui, way: Way, sizes: Sizes) -> View {
    let side = ui.side.get();
    let rim = |foot: &engine::view::FootView| {
        Bounds::around(foot.outline.iter().chain(&foot.silhouette).map(|p| p.map(f64::from)))
    };
    let bounds = ui.with_foot(side, rim).flatten().unwrap_or(Bounds { min: [0.0, -50.0], max: [265.0, 50.0] });
    let fitted = |way: Way| {
        let size = sizes.of(way).get();
        let ends = way.slice(ui).ends(bounds);
        let shown = Bounds { min: [ends[0] - 4.0, HEIGHTS_MM[0]], max: [ends[1] + 4.0, HEIGHTS_MM[1]] };
        let inner = View::fit(shown, [size[0] - RULER_PX[0], size[1] - RULER_PX[1]], 3.0);
        View { size, ..inner }
    };
    let scale = fitted(Way::Along).scale.min(fitted(Way::Across).scale);
    View { scale, ..fitted(way) }.panned([RULER_PX[0] / 2.0, -RULER_PX[1] / 2.0])
}

/// Support plane, rulers and the trace of the other cut.
#[component]
fn Ground(slice: Memo<Slice>, view: Memo<View>) -> impl IntoView {
    let ui = ui();
    move || {
        let view = view.get();
        let [width, height] = view.size;
        let slice = slice.get();
        let zero = view.px([0.0, 0.0])[1];
        let (left, base) = (RULER_PX[0], height - RULER_PX[1]);
        let (from, to) = (view.mm([left, 0.0])[0], view.mm([width, 0.0])[0]);
        let (low, high) = (view.mm([0.0, base])[1], view.mm([0.0, 0.0])[1]);
        let step = tick_mm(view.scale, 42.0);
        let rise = tick_mm(view.scale, 20.0);
        // Across, the foot's own y grows to the medial side, on the right foot to the left of the picture.
        let sign = slice.sign();
        let below = ticks(from, to, step).map(
            |s| view! { <text x=view.px([s, 0.0])[0] y=base + 14.0 text-anchor="middle">{number(s * sign, 0)}</text> },
        );
        let beside = ticks(low, high, rise).map(
            |z| view! { <text x=left - 7.0 y=view.px([0.0, z])[1] dy="0.35em" text-anchor="end">{number(z, 0)}</text> },
        );
        let tick_marks: String = ticks(from, to, step)
            .map(|s| format!("M{:.1} {base:.0}v4", view.px([s, 0.0])[0]))
            .chain(ticks(low, high, rise).map(|z| format!("M{left} {:.1}h-4", view.px([0.0, z])[1])))
            .collect();
        let letter = match slice.other {
            Cut::Longitudinal(_) => "A",
            Cut::Transverse(_) => "B",
            Cut::Line(..) => "C",
        };
        let trace = slice.crossing().filter(|_| ui.has(slice.side)).map(|s| view.px([sign * s, 0.0])[0]);
        let ends = slice.end_words();
        view! {
            <g class="rulers" aria-hidden="true">
                <path class="ruler-edge" d=format!("M{left} 0V{base:.0}H{width:.0}") />
                <path class="ruler-tick" d=tick_marks />
                {below.collect_view()}{beside.collect_view()}
            </g>
            <path class="support" d=format!("M{left} {zero:.1}H{width:.0}") />
            {trace.map(|trace| view! {
                <path class="cut-line" d=format!("M{trace:.1} 0V{base:.0}") />
                <text class="cut-letter" x=trace + 8.0 y="12">{letter}</text>
            })}
            <text class="end-word" x=left + 6.0 y="13">{ends[0]}</text>
            <text class="end-word" x=width - 6.0 y="13" text-anchor="end">{ends[1]}</text>
        }
    }
}

#[derive(Clone, Debug, Default)]
enum Grab {
    #[default]
    Nothing,
    /// The other cut's place, so the cursor.
    Cursor,
    Handle {
        handle: HandleView,
        from: P2,
    },
}

#[derive(Default)]
struct State {
    grab: Grab,
    start: P2,
    moved: bool,
}

#[derive(Clone, Copy)]
struct Mouse {
    ui: Ui,
    slice: Memo<Slice>,
    view: Memo<View>,
    near: Memo<Vec<(Side, HandleView)>>,
    state: StoredValue<State, LocalStorage>,
}

impl Mouse {
    fn handle_at(self, at: P2, reach: f64) -> Option<(Side, HandleView)> {
        let view = self.view.get_untracked();
        let near = self.near.get_untracked();
        let shown = near.iter().map(|(side, handle)| {
            (Held { side: *side, target: handle.target.clone() }, view.px(self.slice.get_untracked().flat(handle.at)))
        });
        let held = nearest(shown, at, reach)?;
        near.into_iter().find(|(side, handle)| *side == held.side && handle.target == held.target)
    }

    fn down(self, event: &PointerEvent) {
        let at = place_in_drawing(event);
        capture(event);
        if self.ui.mode.with_untracked(|mode| matches!(mode, Mode::Measure { .. })) {
            self.state.set_value(State::default());
            return self.measure(at);
        }
        let grab = match self.handle_at(at, reach_px(event)) {
            Some((side, handle)) => {
                self.ui.grab(Held { side, target: handle.target.clone() });
                Grab::Handle { handle, from: at }
            }
            None if untrack(|| self.ui.has(self.ui.side.get())) => Grab::Cursor,
            None => Grab::Nothing,
        };
        if matches!(grab, Grab::Cursor) {
            self.move_cursor(at);
        }
        self.state.set_value(State { grab, start: at, moved: false });
    }

    fn moved_to(self, event: &PointerEvent) {
        let at = place_in_drawing(event);
        self.state.update_value(|state| {
            state.moved |= distance(at, state.start) > CLICK_PX;
            match &state.grab {
                Grab::Nothing => {
                    let over =
                        self.handle_at(at, reach_px(event)).map(|(side, handle)| Held { side, target: handle.target });
                    if self.ui.hovered.with_untracked(|now| *now != over) {
                        self.ui.hovered.set(over);
                    }
                }
                Grab::Cursor => self.move_cursor(at),
                Grab::Handle { handle, from } if state.moved => {
                    let view = self.view.get_untracked();
                    let (start, now) = (view.mm(*from), view.mm(at));
                    let slice = self.slice.get_untracked();
                    let [s, z] = slice.flat(handle.at);
                    let to = slice.solid([s + now[0] - start[0], z + now[1] - start[1]], handle.at);
                    let to = if handle.moves == Moves::Vertical { [handle.at[0], handle.at[1], to[2]] } else { to };
                    self.ui.drag_to(to);
                }
                Grab::Handle { .. } => {}
            }
        });
    }

    fn up(self, _: &PointerEvent) {
        let held = self.state.try_update_value(|state| matches!(std::mem::take(&mut state.grab), Grab::Handle { .. }));
        if held == Some(true) {
            self.ui.drop_handle();
        }
    }

    fn cancelled(self) {
        self.state.update_value(|state| state.grab = Grab::Nothing);
        self.ui.cancel_drag();
    }

    /// A click on a cut moves the other cut there.
    fn move_cursor(self, at: P2) {
        let slice = self.slice.get_untracked();
        let [s, _] = self.view.get_untracked().mm(at);
        let [x, y] = slice.cut.at(s * slice.sign());
        self.ui.cursor[slice.side].update(|cursor| {
            *cursor = match slice.cut {
                Cut::Longitudinal(_) => [x, cursor[1]],
                Cut::Transverse(_) => [cursor[0], y],
                Cut::Line(..) => [x, y],
            };
        });
    }

    /// A click on a cut is a place in plan to measure at.
    fn measure(self, at: P2) {
        let slice = self.slice.get_untracked();
        let [s, z] = self.view.get_untracked().mm(at);
        let [x, y] = slice.cut.at(s * slice.sign());
        self.ui.click_at(slice.side, [x, y, z], 0.0);
    }
}
