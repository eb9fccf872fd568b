//! The plan sheet: both feet and insoles to scale, seen from above, with everything that can be placed and dragged.

use super::colour::sample;
use super::fields::number;
use super::geometry::{Bounds, P2, View, foot_from_sheet, sheet_from_foot, side_at};
use super::pane::{CLICK_PX, capture, distance, place_in_drawing, reach_px, view_box, watch_drawing, zoom_of};
use super::plan_layers::{Field, FootLines, FootWords, isos};
use super::plan_marks::{CutLines, Drawing, Handles, nearest, visible_handles};
use super::plan_sheet::{Paper, RULER_PX, Rulers};
use super::scale::{SCALE_PX, Scale};
use super::state::{Held, Local, Mode, Paint, Stage, Ui, ui};
use crate::worker::Grid;
use base::{BySide, Side};
use engine::view::{HandleView, Moves, Target};
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
    let mouse = Mouse { ui, view, moved, handles, pointer, pointers };

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
            </header>
            <div class="pane-body" node_ref=body class:placing=move || ui.mode.with(|mode| *mode != Mode::Select)>
                <svg class="layer" viewBox=move || view_box(&view.get()) preserveAspectRatio="none" aria-hidden="true"><Paper view /></svg>
                {Side::ALL.map(|side| view! { <Field side view /> }).collect_view()}
                <svg class="layer drawing" viewBox=move || view_box(&view.get()) preserveAspectRatio="none" tabindex="0" role="application" data-testid="plan"
                    aria-label="Plan sheet. Arrow keys move the cuts, or the selected handle; Tab goes from handle to handle."
                    on:pointerdown=move |event| mouse.down(&event) on:pointermove=move |event| mouse.moved_to(&event)
                    on:pointerup=move |event| mouse.up(&event) on:pointercancel=move |event| mouse.cancelled(&event)
                    on:pointerleave=move |_| { pointer.set(None); ui.hovered.set(None) }
                    on:dblclick=move |_| ui.close_region_if_drawn() on:wheel=wheel>
                    {Side::ALL.map(|side| view! { <FootLines side isos=isolines[side] /> }.into_any()).into_iter().map(move |lines| view! {
                        <g transform=move || view.get().svg_transform()>{lines}</g>
                    }).collect_view()}
                    {Side::ALL.map(|side| view! { <FootWords side view isos=isolines[side] /> }).collect_view()}
                    <CutLines view />
                    {Side::ALL.map(|side| view! { <Handles side view handles=handles[side] /> }).collect_view()}
                    <Drawing view pointer />
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
    pointer: RwSignal<Option<P2>>,
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
                pointers.grab = Grab::Nothing;
                pointers.moved = true;
                return;
            }
            pointers.start = at;
            pointers.moved = false;
            pointers.grab = self.grab_at(at, reach_px(event));
        });
    }

    fn moved_to(self, event: &PointerEvent) {
        let at = place_in_drawing(event);
        self.pointer.set(Some(at));
        self.pointers.update_value(|pointers| {
            let Some(index) = pointers.down.iter().position(|(id, _)| *id == event.pointer_id()) else {
                let over = self.handle_at(at, reach_px(event)).map(|(held, _)| held);
                if self.ui.hovered.with_untracked(|now| *now != over) {
                    self.ui.hovered.set(over);
                }
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
                Grab::Handle { .. } => self.ui.drop_handle(),
                Grab::Ground if !pointers.moved => self.click(at, reach_px(event)),
                _ => {}
            }
        });
    }

    fn cancelled(self, event: &PointerEvent) {
        self.pointers.update_value(|pointers| {
            pointers.down.retain(|(id, _)| *id != event.pointer_id());
            pointers.grab = Grab::Nothing;
        });
        self.ui.cancel_drag();
    }

    fn grab_at(self, at: P2, reach: f64) -> Grab {
        if self.ui.mode.with_untracked(|mode| *mode != Mode::Select) {
            return Grab::Ground;
        }
        if let Some((held, handle)) = self.handle_at(at, reach) {
            let side = held.side;
            self.ui.grab(held);
            return Grab::Handle { handle, side, from: at };
        }
        if let Some((held, handle)) = self.curve_at(at, reach) {
            let side = held.side;
            self.ui.grab(held);
            return Grab::Handle { handle, side, from: at };
        }
        let side = self.ui.side.get_untracked();
        let cursor = self.view.get_untracked().px(sheet_from_foot(side, self.ui.cursor[side].get_untracked()));
        let near = |axis: usize| (cursor[axis] - at[axis]).abs() < reach / 2.0;
        let close = distance(cursor, at) < reach;
        // The cut across is level on the sheet: it is moved up and down, along x.
        match (near(1) || close, near(0) || close) {
            (false, false) => Grab::Ground,
            (x, y) if self.ui.has(side) => Grab::Cursor { x, y },
            _ => Grab::Ground,
        }
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

    /// The insole's edge under the pointer, as something to pull at.
    fn curve_at(self, at: P2, reach: f64) -> Option<(Held, HandleView)> {
        if self.ui.stage.get_untracked() != Stage::Fit {
            return None;
        }
        let view = self.view.get_untracked();
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
        let target = Target::OutlineCurve { along };
        let handle =
            HandleView { target: target.clone(), label: "Edge".to_owned(), moves: Moves::Plan, at: [x, y, 0.0] };
        (far < reach / 2.0).then_some((Held { side, target }, handle))
    }

    fn drag(self, grab: &Grab, before: P2, at: P2) {
        let view = self.view.get_untracked();
        match grab {
            Grab::Nothing => {}
            Grab::Ground => self.moved.set(Some(view.panned([at[0] - before[0], at[1] - before[1]]))),
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
        let view = self.view.get_untracked();
        let place = view.mm(at);
        let side = match self.ui.mode.get_untracked() {
            Mode::Draw { side, points } if !points.is_empty() => side,
            // A click beside the only foot shown is about that foot.
            _ if self.ui.alone.get_untracked() => self.ui.side.get_untracked(),
            _ => side_at(place),
        };
        if untrack(|| self.ui.has(side)) {
            let [x, y] = foot_from_sheet(side, place);
            self.ui.click_at(side, [x, y, 0.0], reach / view.scale);
        }
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
    ];
    let word = move || choices.iter().find(|(paint, ..)| *paint == ui.paint.get()).map_or("", |(_, word, _)| *word);
    let set = move |event: leptos::ev::Targeted<leptos::ev::Event, web_sys::HtmlSelectElement>| {
        let chosen = event.target().value();
        if let Some((paint, ..)) = choices.iter().find(|(_, word, _)| *word == chosen) {
            ui.paint.set(*paint);
        }
    };
    view! {
        <select data-testid="paint" aria-label="Colour of the insoles" title="Colour of the insoles, on the sheet and in the 3D view" prop:value=word on:change:target=set>
            {choices.map(|(_, word, label)| view! { <option value=word>{label}</option> }).collect_view()}
        </select>
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
            grid.with(|grid| sample(grid.as_ref()?, at)).map(|value| format!(" · {value:.places$} {unit}"))
        };
        let thick = value(ui.buffers[side].thickness, 1, "mm thick");
        let hard = value(ui.buffers[side].hardness, 0, "Shore A");
        let [x, y] = at.map(|n| number(n, 1));
        format!("x {x} · y {y} mm{}{}", thick.unwrap_or_default(), hard.unwrap_or_default())
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
