//! The plan sheet: both feet and insoles to scale, seen from above, with everything that can be placed and dragged.

use super::colour::{Quantity, sample};
use super::fields::number;
use super::geometry::{Bounds, P2, View, foot_from_sheet, sheet_from_foot, side_at};
use super::pane::{CLICK_PX, capture, distance, place_in_drawing, reach_px, view_box, watch_drawing, zoom_of};
use super::plan_layers::{Field, FootLines, FootWords, isos};
use super::plan_marks::{Brush, CutEnds, CutLines, Drawing, Handles, Measured, nearest, visible_handles};
use super::plan_sheet::{Paper, RULER_PX, Rulers};
use super::scale::{SCALE_PX, Scale};
use super::state::{Held, Local, Mode, Paint, Stage, Ui, ui};
use super::taken::{DrawnCurve, grip, has_handle};
use crate::worker::Grid;
use base::{BySide, Side};
use engine::view::{HandleView, Moves, OutlineHand, Target};
use leptos::html::Div;
use leptos::prelude::*;
use web_sys::{PointerEvent, WheelEvent};

/// What the sheet shows without a foot: room for a pair.
const EMPTY_SHEET: Bounds = Bounds { min: [-120.0, -20.0], max: [120.0, 285.0] };
/// Room left round what is fitted, px: for the letters of the cuts.
const MARGIN_PX: f64 = 30.0;

/// What the pointer has hold of.
#[derive(Clone, Debug, Default)]
enum Grab {
    #[default]
    Nothing,
    Ground,
    /// A handle: where it and the pointer were, foot frame and px.
    Handle {
        handle: HandleView,
        side: Side,
        from: P2,
    },
    /// The cursor, along these axes of the foot frame.
    Cursor {
        x: bool,
        y: bool,
    },
    /// An end of the cut along a line.
    CutEnd(usize),
    /// An element that is not selected: the ground, until it is clicked on.
    Element,
    /// The brush, on a foot at a place.
    Stroke(Side, P2),
}

impl Grab {
    /// The pointer's look over it; empty: as the drawing itself says.
    fn cursor(&self) -> &'static str {
        match self {
            Grab::Nothing | Grab::Ground | Grab::Stroke(..) => "",
            Grab::Handle { handle, .. } => match handle.target {
                Target::ElementCurve { .. } | Target::OutlineCurve { .. } => "cell",
                _ => "move",
            },
            Grab::Cursor { x: true, y: false } => "row-resize",
            Grab::Cursor { x: false, y: true } => "col-resize",
            Grab::Cursor { .. } => "all-scroll",
            Grab::CutEnd(_) => "move",
            Grab::Element => "pointer",
        }
    }
}

#[derive(Default)]
struct Pointers {
    down: Vec<(i32, P2)>,
    start: P2,
    moved: bool,
    grab: Grab,
}

/// The pane.
#[component]
pub(crate) fn Plan() -> impl IntoView {
    let ui = ui();
    let body = NodeRef::<Div>::new();
    let size = RwSignal::new([400.0, 400.0]);
    Effect::new(move |_| {
        if let Some(body) = body.get() {
            watch_drawing(&body, move |now| size.set(now))
        }
    });

    // Where the person moved it; `None`: fitted.
    let moved = RwSignal::new(None::<View>);
    let view = Memo::new(move |_| {
        let size = size.get();
        moved.get().map_or_else(|| whole(ui, size), |view| View { size, ..view })
    });
    ui.plan_view.set_value(Some((view, body)));
    let isolines = BySide::from_fn(|side| isos(ui, side));
    let handles = BySide::from_fn(|side| visible_handles(ui, side));
    let pointer = RwSignal::new(None::<P2>);
    let pointers = StoredValue::new_local(Pointers::default());
    let cursor = RwSignal::new("");
    let mouse = Mouse { ui, view, moved, handles, curve: ui.drawn_curve(), pointer, cursor, pointers };

    let wheel = move |event: WheelEvent| {
        event.prevent_default();
        let factor = zoom_of(&event);
        moved.set(Some(view.get_untracked().zoomed(place_in_drawing(&event), factor)));
    };
    let show = move |alone: bool, testid: &'static str, label: &'static str, title: &'static str| {
        let choose = move |_| {
            ui.alone.set(alone);
            moved.set(None);
        };
        view! { <button data-testid=testid title=title aria-pressed=move || (ui.alone.get() == alone).to_string() on:click=choose>{label}</button> }
    };
    view! {
        <section class="pane plan" aria-label="Plan sheet">
            <header>
                <h2>"Plan"</h2>
                <div class="switcher" role="group" aria-label="What is shown">
                    {show(false, "show-pair", "Pair", "Both feet, on the sheet and in the 3D view")}
                    {show(true, "show-one", "One", "The foot in work alone")}
                </div>
                <button data-testid="plan-fit" title="All of it" on:click=move |_| moved.set(None)>"Fit"</button>
                <PaintChoice />
                <Snap />
            </header>
            <div class="pane-body" node_ref=body class:placing=move || ui.mode.with(|mode| *mode != Mode::Select)>
                <svg class="layer" viewBox=move || view_box(&view.get()) preserveAspectRatio="none" aria-hidden="true"><Paper view /></svg>
                {Side::ALL.map(|side| view! { <Field side view /> }).collect_view()}
                <svg class="layer drawing" viewBox=move || view_box(&view.get()) preserveAspectRatio="none" tabindex="0" role="application" data-testid="plan" style:cursor=move || cursor.get()
                    aria-label="Plan sheet. Arrow keys move the cuts, or the selected handle; Tab goes from handle to handle."
                    on:pointerdown=move |event| mouse.down(&event) on:pointermove=move |event| mouse.moved_to(&event)
                    on:pointerup=move |event| mouse.up(&event) on:pointercancel=move |event| mouse.cancelled(&event)
                    on:pointerleave=move |_| { pointer.set(None); ui.hovered.set(None); ui.brush_at.set(None) }
                    on:dblclick=move |_| ui.close_curve_if_drawn() on:wheel=wheel>
                    {Side::ALL.map(|side| view! { <FootLines side isos=isolines[side] curve=mouse.curve /> }.into_any()).into_iter().map(move |lines| view! {
                        <g transform=move || view.get().svg_transform()>{lines}</g>
                    }).collect_view()}
                    {Side::ALL.map(|side| view! { <FootWords side view isos=isolines[side] /> }).collect_view()}
                    <CutLines view />
                    {Side::ALL.map(|side| view! { <Handles side view handles=handles[side] /> }).collect_view()}
                    <CutEnds view />
                    <Measured view />
                    <Drawing view pointer />
                    <Brush view />
                    <Rulers view />
                </svg>
                {move || (ui.has(Side::Left) || ui.has(Side::Right)).then(|| view! { <Readout pointer view /> })}
                <Scale /><div class="corner"><Legend /></div>
            </div>
        </section>
    }
}

/// The view of everything shown.
fn whole(ui: Ui, size: P2) -> View {
    let shown = Side::ALL.into_iter().filter(|side| ui.shows(*side));
    let points = |side: Side| {
        let rim = |foot: &engine::view::FootView| {
            foot.silhouette
                .iter()
                .chain(&foot.outline)
                .map(|p| sheet_from_foot(side, p.map(f64::from)))
                .collect::<Vec<_>>()
        };
        ui.with_foot(side, rim).unwrap_or_default()
    };
    // Rulers and scale take their part of the pane.
    let free = [size[0] - RULER_PX[0] - SCALE_PX, size[1] - RULER_PX[1]];
    let inner = View::fit(Bounds::around(shown.flat_map(points)).unwrap_or(EMPTY_SHEET), free, MARGIN_PX);
    View { size, ..inner }.panned([(RULER_PX[0] - SCALE_PX) / 2.0, -RULER_PX[1] / 2.0])
}

/// The pointer's part of the pane.
#[derive(Clone, Copy)]
struct Mouse {
    ui: Ui,
    view: Memo<View>,
    moved: RwSignal<Option<View>>,
    handles: BySide<Memo<Vec<HandleView>>>,
    curve: Memo<Option<DrawnCurve>>,
    pointer: RwSignal<Option<P2>>,
    cursor: RwSignal<&'static str>,
    pointers: StoredValue<Pointers, LocalStorage>,
}

impl Mouse {
    fn down(self, event: &PointerEvent) {
        let at = place_in_drawing(event);
        capture(event);
        self.pointers.update_value(|pointers| {
            pointers.down.push((event.pointer_id(), at));
            if pointers.down.len() > 1 {
                // A second finger: the first one was no drag.
                self.ui.cancel_drag();
                self.ui.cancel_stroke();
                pointers.grab = Grab::Nothing;
                pointers.moved = true;
                return;
            }
            pointers.start = at;
            pointers.moved = false;
            pointers.grab = self.under(at, reach_px(event));
            match &pointers.grab {
                Grab::Handle { handle, side, .. } => {
                    self.ui.grab(Held { side: *side, target: handle.target.clone() });
                }
                Grab::Stroke(side, place) => self.ui.begin_stroke(*side, *place),
                _ => {}
            }
        });
    }

    fn moved_to(self, event: &PointerEvent) {
        let at = place_in_drawing(event);
        self.pointer.set(Some(at));
        self.pointers.update_value(|pointers| {
            let Some(index) = pointers.down.iter().position(|(id, _)| *id == event.pointer_id()) else {
                self.hover(at, reach_px(event));
                return;
            };
            let before = pointers.down.clone();
            pointers.down[index].1 = at;
            pointers.moved |= distance(at, pointers.start) > CLICK_PX;
            if let ([(_, a), (_, b)], [(_, c), (_, d)]) = (before.as_slice(), pointers.down.as_slice()) {
                self.pinch([*a, *b], [*c, *d]);
            } else if pointers.moved {
                self.drag(&pointers.grab, before[index].1, at);
            }
        });
    }

    fn up(self, event: &PointerEvent) {
        let at = place_in_drawing(event);
        self.pointers.update_value(|pointers| {
            pointers.down.retain(|(id, _)| *id != event.pointer_id());
            match std::mem::take(&mut pointers.grab) {
                Grab::Handle { handle, .. } => {
                    self.ui.drop_handle();
                    // What lies on the selected element is selected as anywhere else.
                    if !pointers.moved && matches!(handle.target, Target::ElementBody { .. }) {
                        self.click(at, reach_px(event));
                    }
                }
                Grab::Stroke(..) => self.ui.end_stroke(),
                Grab::Ground | Grab::Element if !pointers.moved => self.click(at, reach_px(event)),
                // A cut through an element is no reason not to select it.
                Grab::Cursor { .. } if !pointers.moved => {
                    self.select(at);
                }
                _ => {}
            }
        });
    }

    /// What a press would take hold of is told by the pointer's look.
    fn hover(self, at: P2, reach: f64) {
        let under = self.under(at, reach);
        let over = match &under {
            Grab::Handle { handle, side, .. } if has_handle(&handle.target) => {
                Some(Held { side: *side, target: handle.target.clone() })
            }
            _ => None,
        };
        self.ui.hovered.maybe_update(|now| std::mem::replace(now, over.clone()) != over);
        let cursor = under.cursor();
        self.cursor.maybe_update(|now| std::mem::replace(now, cursor) != cursor);
        if self.ui.mode.with_untracked(|mode| *mode == Mode::Sculpt) {
            let (side, place) = self.place_of(at);
            self.ui.brush_at.set(Some((side, place, false)));
        }
    }

    fn cancelled(self, event: &PointerEvent) {
        self.pointers.update_value(|pointers| {
            pointers.down.retain(|(id, _)| *id != event.pointer_id());
            pointers.grab = Grab::Nothing;
        });
        self.ui.cancel_drag();
        self.ui.cancel_stroke();
    }

    /// What a press at `at` takes hold of: handles first, then lines, then areas.
    fn under(self, at: P2, reach: f64) -> Grab {
        let (foot, place) = self.place_of(at);
        match self.ui.mode.get_untracked() {
            Mode::Select => {}
            Mode::Sculpt if self.ui.brush_touches(foot, place) => return Grab::Stroke(foot, place),
            _ => return Grab::Ground,
        }
        let handle = self.handle_at(at, reach);
        let handle_far = handle.as_ref().map_or(reach, |(held, handle)| {
            let [x, y, _] = handle.at;
            distance(self.view.get_untracked().px(sheet_from_foot(held.side, [x, y])), at)
        });
        if let Some(end) = self.cut_end_at(at, handle_far) {
            return Grab::CutEnd(end);
        }
        let [x, y] = place;
        let element = || self.ui.body_at(foot, [x, y, 0.0]);
        if let Some((held, handle)) = handle.or_else(|| self.curve_at(at, reach)).or_else(element) {
            return Grab::Handle { handle, side: held.side, from: at };
        }
        let side = self.ui.side.get_untracked();
        let cursor = self.view.get_untracked().px(sheet_from_foot(side, self.ui.cursor[side].get_untracked()));
        let near = |axis: usize| (cursor[axis] - at[axis]).abs() < reach / 2.0;
        let close = distance(cursor, at) < reach;
        let lengthwise = self.ui.cut_line[side].with_untracked(Option::is_none);
        // The cut across is level on the sheet: it is moved up and down, along x.
        match (near(1) || close, near(0) && lengthwise || close) {
            (x, y) if (x || y) && untrack(|| self.ui.has(side)) => Grab::Cursor { x, y },
            _ if self.ui.element_at(foot, place).is_some() => Grab::Element,
            _ => Grab::Ground,
        }
    }

    /// The foot that a place of the pane is about, and the place in its frame.
    fn place_of(self, at: P2) -> (Side, P2) {
        let place = self.view.get_untracked().mm(at);
        // A click beside the only foot shown is about that foot.
        let alone = || self.ui.alone.get_untracked().then(|| self.ui.side.get_untracked());
        let stroked = self.ui.stroke.with_untracked(|stroke| stroke.as_ref().map(|(side, _)| *side));
        let bound = stroked.or_else(|| self.ui.mode.with_untracked(Mode::bound_to));
        let side = bound.or_else(alone).unwrap_or_else(|| side_at(place));
        (side, foot_from_sheet(side, place))
    }

    fn cut_end_at(self, at: P2, reach: f64) -> Option<usize> {
        let side = self.ui.side.get_untracked();
        let ends = self.ui.cut_line[side].get_untracked()?;
        let view = self.view.get_untracked();
        ends.iter().position(|end| distance(view.px(sheet_from_foot(side, *end)), at) < reach)
    }

    fn handle_at(self, at: P2, reach: f64) -> Option<(Held, HandleView)> {
        let view = self.view.get_untracked();
        let shown = |side: Side| {
            let place = move |handle: HandleView| {
                let [x, y, _] = handle.at;
                (Held { side, target: handle.target }, view.px(sheet_from_foot(side, [x, y])))
            };
            self.handles[side].get_untracked().into_iter().map(place)
        };
        let held = nearest(Side::ALL.into_iter().flat_map(shown), at, reach)?;
        let handle = untrack(|| self.ui.handle(&held))?;
        Some((held, handle))
    }

    /// The insole's edge, or the curve of the selected element, under the pointer, as something to pull at.
    fn curve_at(self, at: P2, reach: f64) -> Option<(Held, HandleView)> {
        let view = self.view.get_untracked();
        if self.ui.stage.get_untracked() != Stage::Fit {
            return self.curve.with_untracked(|curve| {
                let curve = curve.as_ref()?;
                let place = foot_from_sheet(curve.side, view.mm(at));
                let [x, y] = curve.near(place).filter(|near| distance(*near, place) * view.scale < reach / 2.0)?;
                Some(curve.grip([x, y, 0.0]))
            });
        }
        let on_edge = |side: Side| {
            let shown = untrack(|| self.ui.shows(side));
            let edge = untrack(|| self.ui.with_foot(side, |foot| foot.edge.whole.clone())).filter(|_| shown)?;
            let far = |p: &[f32; 2]| distance(view.px(sheet_from_foot(side, p.map(f64::from))), at);
            let (index, near) = edge.iter().enumerate().min_by(|a, b| far(a.1).total_cmp(&far(b.1)))?;
            let along = (index as f64 / edge.len() as f64 * 1e6) as u32;
            Some((far(near), side, along, near.map(f64::from)))
        };
        let (far, side, along, [x, y]) =
            Side::ALL.into_iter().filter_map(on_edge).min_by(|a, b| a.0.total_cmp(&b.0))?;
        (far < reach / 2.0).then(|| grip(side, Target::OutlineCurve { along }, [x, y, 0.0]))
    }

    fn drag(self, grab: &Grab, before: P2, at: P2) {
        let view = self.view.get_untracked();
        match grab {
            Grab::Nothing => {}
            Grab::Ground | Grab::Element => {
                self.cursor.set("");
                self.moved.set(Some(view.panned([at[0] - before[0], at[1] - before[1]])));
            }
            Grab::Stroke(side, _) => {
                let place = foot_from_sheet(*side, view.mm(at));
                self.ui.brush_at.set(Some((*side, place, false)));
                self.ui.go_on_stroke(place);
            }
            Grab::CutEnd(end) => {
                let side = self.ui.side.get_untracked();
                self.ui.move_cut_end(side, *end, foot_from_sheet(side, view.mm(at)));
            }
            Grab::Handle { handle, side, from } => {
                let [x, y, z] = handle.at;
                if handle.moves == Moves::Vertical {
                    self.ui.drag_to([x, y, z + (from[1] - at[1]) / view.scale]);
                } else {
                    let (start, now) = (foot_from_sheet(*side, view.mm(*from)), foot_from_sheet(*side, view.mm(at)));
                    self.ui.drag_to([x + now[0] - start[0], y + now[1] - start[1], z]);
                }
            }
            Grab::Cursor { x, y } => {
                let side = self.ui.side.get_untracked();
                let now = foot_from_sheet(side, view.mm(at));
                self.ui.cursor[side].update(|cursor| {
                    cursor[0] = if *x { now[0] } else { cursor[0] };
                    cursor[1] = if *y { now[1] } else { cursor[1] };
                });
            }
        }
    }

    fn pinch(self, before: [P2; 2], now: [P2; 2]) {
        let middle = |p: [P2; 2]| [(p[0][0] + p[1][0]) / 2.0, (p[0][1] + p[1][1]) / 2.0];
        let (from, to) = (middle(before), middle(now));
        let factor = distance(now[0], now[1]).max(1.0) / distance(before[0], before[1]).max(1.0);
        let view = self.view.get_untracked().panned([to[0] - from[0], to[1] - from[1]]).zoomed(to, factor);
        self.moved.set(Some(view));
    }

    fn click(self, at: P2, reach: f64) {
        let selecting = self.ui.mode.with_untracked(|mode| *mode == Mode::Select);
        if selecting && self.select(at) {
            return;
        }
        let (side, [x, y]) = self.place_of(at);
        if untrack(|| self.ui.has(side)) {
            self.ui.click_at(side, [x, y, 0.0], reach / self.view.get_untracked().scale);
        }
    }

    /// Selects the topmost element at `at`; whether there is one.
    fn select(self, at: P2) -> bool {
        let (side, place) = self.place_of(at);
        let held = self.ui.element_at(side, place);
        let found = held.is_some();
        if let Some(held) = held {
            self.ui.hold(held);
        }
        found
    }
}

/// What is painted on the insole, here and in the 3D view.
#[component]
fn PaintChoice() -> impl IntoView {
    let ui = ui();
    let choices = [
        (Paint::Material, "none", "No colour"),
        (Paint::Hardness, "hardness", "Hardness"),
        (Paint::Thickness, "thickness", "Thickness"),
        (Paint::Difference, "difference", "Difference"),
    ];
    let compared = ui.part(|snapshot| Side::ALL.into_iter().any(|side| is_compared(snapshot.feet[side].as_ref())));
    let offered = move |paint: Paint| paint != Paint::Difference || compared.get() == Some(true);
    Effect::new(move |_| {
        if !offered(ui.paint.get()) {
            ui.paint.set(Paint::Thickness);
        }
    });
    let word = move || choices.iter().find(|(paint, ..)| *paint == ui.paint.get()).map_or("", |(_, word, _)| *word);
    let set = move |event: leptos::ev::Targeted<leptos::ev::Event, web_sys::HtmlSelectElement>| {
        let chosen = event.target().value();
        if let Some((paint, ..)) = choices.iter().find(|(_, word, _)| *word == chosen) {
            ui.paint.set(*paint);
        }
    };
    view! {
        <select data-testid="paint" aria-label="Colour of the insoles" title="Colour of the insoles, on the sheet and in the 3D view" prop:value=word on:change:target=set>
            {choices.map(|(paint, word, label)| view! {
                <option value=word hidden=move || !offered(paint) disabled=move || !offered(paint)>{label}</option>
            }).collect_view()}
        </select>
    }
}

fn is_compared(foot: Option<&engine::view::FootView>) -> bool {
    foot.is_some_and(|foot| foot.compare.as_ref().is_some_and(|compare| compare.missing.is_none()))
}

/// At Shape: whether what is dragged in plan goes onto a landmark or a mid-line nearby.
#[component]
fn Snap() -> impl IntoView {
    let ui = ui();
    let toggle = move |_| {
        let hand = ui.hand.get_untracked();
        ui.set_hand(OutlineHand { snap: !hand.snap, ..hand });
    };
    move || {
        (ui.stage.get() == Stage::Shape).then(|| view! {
            <button data-testid="plan-snap" title="Snap to landmarks and mid-lines" aria-label="Snap to landmarks and mid-lines"
                aria-pressed=move || ui.hand.get().snap.to_string() on:click=toggle>"Snap"</button>
        })
    }
}

/// Place and values under the pointer, else at the cursor.
#[component]
fn Readout(pointer: RwSignal<Option<P2>>, view: Memo<View>) -> impl IntoView {
    let ui = ui();
    let text = move || {
        let (side, at) = match pointer.get() {
            Some(px) => {
                let place = view.get().mm(px);
                let side = if ui.alone.get() { ui.side.get() } else { side_at(place) };
                (side, foot_from_sheet(side, place))
            }
            None => (ui.side.get(), ui.cursor[ui.side.get()].get()),
        };
        let value = |grid: Local<Option<Grid>>, places: usize, unit: &str| {
            grid.with(|grid| sample(grid.as_ref()?, at)).map(|value| format!(" · {} {unit}", number(value, places)))
        };
        let thick = value(ui.buffers[side].thickness, 1, "mm thick");
        let apart = ui.buffers[side].difference.with(|grid| sample(grid.as_ref()?, at));
        let apart = apart.map(|mm| format!(" · difference {} mm", Quantity::Difference.word(mm, 1)));
        // There is room for one of the two.
        let other = apart.or_else(|| value(ui.buffers[side].hardness, 0, "Shore A"));
        let [x, y] = at.map(|n| number(n, 1));
        format!("x {x} · y {y} mm{}{}", thick.unwrap_or_default(), other.unwrap_or_default())
    };
    view! { <output class="readout" data-testid="readout">{text}</output> }
}

/// What the lines mean.
#[component]
fn Legend() -> impl IntoView {
    let lines = [
        ("outline", "Insole outline"),
        ("last-outline", "Last outline, fitted"),
        ("shoe-outline", "Shoe's own insole"),
        ("trim-line", "Trim line"),
        ("silhouette", "Foot outline"),
        ("print", "Bearing area"),
        ("element", "Element"),
        ("element-curve", "Outline it is drawn to"),
        ("ghost-outline", "Compared insole"),
        ("region", "Hardness region"),
        ("iso", "Equal value"),
        ("measure", "Measure"),
        ("cut-line", "Cut"),
    ];
    let row = |(class, label): (&'static str, &'static str)| {
        view! { <li><svg viewBox="0 0 34 10" aria-hidden="true"><path class=class d="M1 5H33" /></svg>{label}</li> }
    };
    view! {
        <details class="legend">
            <summary data-testid="legend">"Lines"</summary>
            <ul>{lines.map(row).collect_view()}</ul>
        </details>
    }
}
