//! The 3D view of both feet and insoles: turned, shifted and zoomed by hand, with the same handles as the sheet.

use super::colour::{Quantity, at_vertices};
use super::fields::sentence;
use super::geometry::P2;
use super::pane::{CLICK_PX, capture, distance, place_of, reach_px, watch_size, zoom, zoom_of};
use super::plan_marks::visible_handles;
use super::state::{Held, Mode, Paint, Skin, Stage, Ui, ui};
use super::theme;
use crate::view3d::{self, Line, Marker, MarkerShape, Preset, Rgb, SkinShow, View3d, What};
use base::{BySide, Side};
use engine::view::{HandleView, Moves, Target};
use leptos::html::{Canvas, Div};
use leptos::prelude::*;
use web_sys::{MouseEvent, PointerEvent, WheelEvent};

/// Radius of a handle at the usual text size, px.
const MARKER_PX: f32 = 6.0;

const PRESETS: [(Preset, &str, &str); 7] = [
    (Preset::ThreeQuarter, "three-quarter", "Three-quarter"),
    (Preset::Top, "top", "From above"),
    (Preset::Sole, "sole", "Soles"),
    (Preset::Medial, "medial", "Inner side"),
    (Preset::Lateral, "lateral", "Outer side"),
    (Preset::Heel, "heel", "Heels"),
    (Preset::Toes, "toes", "Toes"),
];

const SKINS: [(Skin, &str, &str); 3] =
    [(Skin::Solid, "solid", "Foot"), (Skin::Ghost, "ghost", "Ghost"), (Skin::Off, "off", "No foot")];

/// The pane.
#[component]
pub(crate) fn View3dPane() -> impl IntoView {
    let ui = ui();
    let canvas = NodeRef::<Canvas>::new();
    let failure = RwSignal::new(None::<String>);
    Effect::new(move |_| {
        let Some(canvas) = canvas.get() else { return };
        match View3d::new(canvas.clone()) {
            Ok(view) => {
                let resized = view.clone();
                watch_size(&canvas, move |_| resized.resized());
                feed(ui, &view);
                ui.view3d.set_value(Some(view));
            }
            Err(error) => failure.set(Some(sentence(&error.to_string()))),
        }
    });
    let stand = move |event: leptos::ev::Targeted<leptos::ev::Event, web_sys::HtmlSelectElement>| {
        let chosen = event.target().value();
        event.target().set_value("");
        if let Some((preset, ..)) = PRESETS.iter().find(|(_, word, _)| *word == chosen) {
            ui.with_view3d(|view| view.preset(*preset));
        }
    };
    let skins = SKINS.map(|(skin, word, label)| view! {
        <button data-testid=format!("skin-{word}") aria-pressed=move || (ui.skin.get() == skin).to_string() on:click=move |_| ui.skin.set(skin)>{label}</button>
    });
    let body = move || match failure.get() {
        Some(reason) => view! { <p class="no-3d" role="status" data-testid="no-3d">{reason}</p> }.into_any(),
        None => view! { <Scene canvas /> }.into_any(),
    };
    view! {
        <section class="pane view3d" aria-label="3D view">
            <header>
                <h2>"3D"</h2>
                <select data-testid="preset" aria-label="Standpoint" on:change:target=stand>
                    <option value="">"Look from…"</option>
                    {PRESETS.map(|(_, word, label)| view! { <option value=word>{label}</option> }).collect_view()}
                </select>
                <button data-testid="view3d-fit" on:click=move |_| { ui.with_view3d(View3d::fit); }>"Fit"</button>
                <span class="spacer"></span>
                <div class="switcher" role="group" aria-label="Foot in the 3D view">{skins.collect_view()}</div>
            </header>
            <div class="pane-body">{body}</div>
        </section>
    }
}

/// The canvas, what the pointer does on it, and the label of the handle it is about.
#[component]
fn Scene(canvas: NodeRef<Canvas>) -> impl IntoView {
    let ui = ui();
    let mouse = Mouse {
        ui,
        handles: BySide::from_fn(|side| visible_handles(ui, side)),
        state: StoredValue::new_local(State::default()),
    };
    let label = NodeRef::<Div>::new();
    let about = Memo::new(move |_| ui.hovered.get().or_else(|| ui.held.get()));
    let text = move || about.get().and_then(|held| ui.handle(&held)).map(|handle| handle.label);
    // After every frame, and when it is about another handle, the label goes where its handle is.
    let move_label = move || {
        let Some(label) = label.get_untracked() else { return };
        let handle = untrack(|| about.get().and_then(|held| Some((held.side, ui.handle(&held)?))));
        let place = handle.and_then(|(side, handle)| ui.with_view3d(|view| view.project(side, handle.at)).flatten());
        let style = match place {
            Some((x, y, seen)) => {
                // At the right edge the label stands on the other side of its handle.
                let room = label.offset_parent().map_or(f64::INFINITY, |pane| f64::from(pane.client_width()) - x);
                let aside = if room < f64::from(label.offset_width()) * 1.2 { "calc(-100% - 1.6rem)" } else { "0px" };
                let opacity = if seen { 1.0 } else { 0.7 };
                format!("transform:translate({x:.0}px,{y:.0}px) translateX({aside});opacity:{opacity}")
            }
            None => "display:none".to_owned(),
        };
        // The label is an element of this page: it takes a style.
        let _ = label.set_attribute("style", &style);
    };
    Effect::new(move |_| {
        about.track();
        if canvas.get().is_some() {
            ui.with_view3d(|view| view.on_drawn(move_label));
        }
        move_label();
    });
    view! {
        <canvas class="layer scene" node_ref=canvas tabindex="0" data-testid="view3d"
            aria-label="3D view. Drag to turn, with the right button to shift, wheel to zoom. Everything shown is in the panel and on the sheet as well."
            class:placing=move || ui.mode.with(|mode| *mode != Mode::Select)
            on:pointerdown=move |event| mouse.down(&event) on:pointermove=move |event| mouse.moved(&event)
            on:pointerup=move |event| mouse.up(&event) on:pointercancel=move |event| mouse.cancelled(&event)
            on:pointerleave=move |_| ui.hovered.set(None)
            on:dblclick=move |_| ui.close_region_if_drawn()
            on:contextmenu=move |event: MouseEvent| event.prevent_default()
            on:wheel=move |event: WheelEvent| {
                event.prevent_default();
                let [x, y] = place_of(&event);
                ui.with_view3d(|view| view.zoom(zoom_of(&event), (x, y)));
            }></canvas>
        <div class="label-3d" node_ref=label aria-hidden="true">{text}</div>
    }
}

/// Runs `act` now and again whenever what it reads changes.
fn follow(view: &View3d, act: impl Fn(&View3d) + 'static) {
    let view = view.clone();
    Effect::new(move |_| act(&view));
}

/// Hands everything that is shown to the view, again whenever it changes.
fn feed(ui: Ui, view: &View3d) {
    follow(view, move |view| {
        ui.dark.track();
        view.set_theme(theme::colours());
    });
    follow(view, move |view| {
        view.set_skin(match ui.skin.get() {
            Skin::Solid => SkinShow::Solid,
            Skin::Ghost => SkinShow::Ghost,
            Skin::Off => SkinShow::Hidden,
        });
    });
    // Where the foot itself is looked at, the insole would hide its sole.
    follow(view, move |view| view.set_insole_shown(!matches!(ui.stage.get(), Stage::Intake | Stage::Measure)));
    let focused = view.clone();
    Effect::new(move |before: Option<Option<Side>>| {
        let focus = ui.alone.get().then(|| ui.side.get());
        focused.set_focus(focus);
        if before.is_some_and(|before| before != focus) {
            focused.fit();
        }
        focus
    });
    for side in Side::ALL {
        let buffers = ui.buffers[side];
        follow(view, move |view| buffers.foot.with(|mesh| view.set_foot(side, mesh.as_ref())));
        follow(view, move |view| buffers.insole.with(|mesh| view.set_insole(side, mesh.as_ref())));
        follow(view, move |view| view.set_paint(side, What::Insole, paint(ui, side)));
        follow(view, move |view| {
            let colours = buffers.foot_colours.get();
            view.set_paint(side, What::Foot, colours.map(|rgb| view3d::Paint { rgb: rgb.to_vec(), iso: None }));
        });
    }
    follow(view, move |view| view.set_lines(lines(ui, view)));
    let handles = BySide::from_fn(|side| visible_handles(ui, side));
    follow(view, move |view| {
        ui.dark.track();
        let colours = theme::colours();
        let accent = theme::accent();
        let (held, hovered) = (ui.held.get(), ui.hovered.get());
        view.set_markers(
            listed(handles)
                .into_iter()
                .map(|(about, handle)| {
                    let chosen = held.as_ref() == Some(&about);
                    let ringed = chosen || hovered.as_ref() == Some(&about);
                    let color = if chosen { accent } else { colours.paper };
                    Marker {
                        side: about.side,
                        at: handle.at,
                        color,
                        shape: shape(&handle),
                        radius_px: MARKER_PX * zoom() as f32,
                        ringed,
                    }
                })
                .collect(),
        );
    });
}

/// The handles in the order in which the view knows them.
fn listed(handles: BySide<Memo<Vec<HandleView>>>) -> Vec<(Held, HandleView)> {
    let of = |side: Side| {
        handles[side].get().into_iter().map(move |handle| (Held { side, target: handle.target.clone() }, handle))
    };
    Side::ALL.into_iter().flat_map(of).collect()
}

fn shape(handle: &HandleView) -> MarkerShape {
    match (&handle.target, handle.moves) {
        (_, Moves::Vertical) => MarkerShape::UpDown,
        (Target::Landmark { .. }, _) => MarkerShape::Diamond,
        (Target::RegionPoint { .. }, _) => MarkerShape::Disc,
        _ => MarkerShape::Square,
    }
}

fn paint(ui: Ui, side: Side) -> Option<view3d::Paint> {
    let buffers = ui.buffers[side];
    let (quantity, values) = match ui.paint.get() {
        Paint::Material => return None,
        Paint::Hardness => (Quantity::Hardness, buffers.insole_shore_a.get()?.as_ref().clone()),
        Paint::Thickness => {
            let grid = buffers.thickness.get()?;
            (Quantity::Thickness, buffers.insole.with(|mesh| Some(at_vertices(&grid, &mesh.as_ref()?.positions)))?)
        }
        Paint::Difference => {
            let grid = buffers.difference.get()?;
            (Quantity::Difference, buffers.insole.with(|mesh| Some(at_vertices(&grid, &mesh.as_ref()?.positions)))?)
        }
    };
    let table = quantity.table::<256>();
    let (least, greatest) = quantity.range();
    let colour =
        |value: &f32| table[(((f64::from(*value) - least) / (greatest - least)).clamp(0.0, 1.0) * 255.0) as usize];
    Some(view3d::Paint {
        rgb: values.iter().flat_map(colour).collect(),
        iso: Some((values, quantity.iso_step() as f32)),
    })
}

fn lines(ui: Ui, view: &View3d) -> Vec<Line> {
    ui.dark.track();
    let accent = theme::accent();
    let ink = theme::colours().ink;
    let chosen = ui.measure.get();
    let mut all = Vec::new();
    for side in Side::ALL {
        // A lifted curve lies on the insole: it moves when that does.
        ui.buffers[side].insole.track();
        ui.with_foot(side, |foot| {
            let flat = |curve: &[[f32; 2]], color, width_px| Line {
                side,
                points: view.lift(side, curve),
                closed: true,
                color,
                width_px,
            };
            let acting = foot.elements.iter().filter(|element| element.on);
            all.extend(acting.flat_map(|element| &element.rim).map(|line| flat(line, ink, 1.5)));
            all.extend(foot.regions.iter().filter(|region| region.on).map(|region| flat(&region.curve, ink, 1.5)));
            let measure = foot.measures.iter().filter(|measure| chosen.as_ref() == Some(&measure.id));
            let pieces = measure.flat_map(|measure| &measure.path);
            all.extend(pieces.map(|piece| Line {
                side,
                points: piece.clone(),
                closed: false,
                color: accent,
                width_px: 2.5,
            }));
        });
    }
    all.extend(intake_lines(ui, accent));
    all.extend(clue_lines(ui, accent));
    all.extend(fit_lines(ui, view, ink));
    if let Mode::Draw { side, points } = ui.mode.get() {
        let flat: Vec<[f32; 2]> = points.iter().map(|p| p.map(|n| n as f32)).collect();
        all.push(Line { side, points: view.lift(side, &flat), closed: false, color: accent, width_px: 2.5 });
    }
    all
}

/// At Intake: where the leg is cut, and the holes of the sole that were closed.
fn intake_lines(ui: Ui, color: Rgb) -> Vec<Line> {
    if ui.stage.get() != Stage::Intake {
        return Vec::new();
    }
    let of = |side: Side| {
        let line = move |points: Vec<[f32; 3]>, width_px| Line { side, points, closed: true, color, width_px };
        let lines = ui.with_foot(side, |foot| {
            let closed = foot.closed.iter().map(|contour| line(contour.clone(), 2.5));
            closed.chain(std::iter::once(line(foot.leg_cut.clone(), 1.5))).collect::<Vec<_>>()
        });
        lines.unwrap_or_default()
    };
    Side::ALL.into_iter().flat_map(of).filter(|line| line.points.len() > 1).collect()
}

/// At Fit: what the edge came from, lying on the insole. Told apart by their dashes, as on the sheet.
fn fit_lines(ui: Ui, view: &View3d, color: Rgb) -> Vec<Line> {
    if ui.stage.get() != Stage::Fit {
        return Vec::new();
    }
    let of = |side: Side| {
        let dashed = |curve: &[[f32; 2]], (on, off): (usize, usize), width_px: f32| {
            let lifted = view.lift(side, curve);
            let dashes = lifted.chunks(on + off).map(|dash| dash.get(..on).unwrap_or(dash).to_vec());
            let line = |points: Vec<[f32; 3]>| Line { side, points, closed: false, color, width_px };
            dashes.map(line).collect::<Vec<_>>()
        };
        let lines = ui.with_foot(side, |foot| {
            let edge = &foot.edge;
            let print = foot.print.iter().flat_map(|contour| dashed(contour, DOTS, 0.8));
            let all = [
                dashed(&edge.last, DASHES_LAST, 1.2),
                dashed(&edge.shoe, DASHES_SHOE, 1.8),
                dashed(&foot.silhouette, WHOLE, 0.8),
            ];
            all.into_iter().flatten().chain(print).collect::<Vec<_>>()
        });
        lines.unwrap_or_default()
    };
    Side::ALL.into_iter().filter(|side| ui.shows(*side)).flat_map(of).filter(|line| line.points.len() > 1).collect()
}

/// Points drawn and left out in turn; outlines come with a point each millimetre.
const DASHES_LAST: (usize, usize) = (12, 6);
const DASHES_SHOE: (usize, usize) = (34, 6);
const DOTS: (usize, usize) = (6, 6);
const WHOLE: (usize, usize) = (usize::MAX / 2, 0);

/// At Measure: where the landmark in hand was looked for.
fn clue_lines(ui: Ui, color: Rgb) -> Vec<Line> {
    let Some(Held { side, target: Target::Landmark { id } }) = ui.held.get() else { return Vec::new() };
    let lines = ui.with_foot(side, |foot| {
        let landmark = foot.landmarks.iter().find(|landmark| landmark.id == id && !landmark.by_hand);
        landmark.map(|landmark| landmark.clue_lines.clone())
    });
    let lines = lines.flatten().unwrap_or_default();
    lines.into_iter().map(|points| Line { side, points, closed: false, color, width_px: 1.5 }).collect()
}

#[derive(Clone, Debug, Default)]
enum Grab {
    #[default]
    Nothing,
    Turn,
    Shift,
    Handle {
        side: Side,
        handle: HandleView,
        offset: [f64; 3],
    },
}

#[derive(Default)]
struct State {
    down: Vec<(i32, P2)>,
    start: P2,
    moved: bool,
    grab: Grab,
}

#[derive(Clone, Copy)]
struct Mouse {
    ui: Ui,
    handles: BySide<Memo<Vec<HandleView>>>,
    state: StoredValue<State, LocalStorage>,
}

impl Mouse {
    fn handle_at(self, at: P2, reach: f64) -> Option<(Held, HandleView)> {
        let index = self.ui.with_view3d(|view| view.nearest_marker(at[0], at[1], reach)).flatten()?;
        untrack(|| listed(self.handles)).into_iter().nth(index)
    }

    fn down(self, event: &PointerEvent) {
        let at = place_of(event);
        capture(event);
        self.state.update_value(|state| {
            state.down.push((event.pointer_id(), at));
            if state.down.len() > 1 {
                self.ui.cancel_drag();
                state.moved = true;
                state.grab = Grab::Nothing;
                return;
            }
            state.start = at;
            state.moved = false;
            state.grab = self.grab_at(event, at);
        });
    }

    fn grab_at(self, event: &PointerEvent, at: P2) -> Grab {
        if event.button() != 0 || event.shift_key() {
            return Grab::Shift;
        }
        let free = self.ui.mode.with_untracked(|mode| *mode == Mode::Select);
        let Some((held, handle)) = self.handle_at(at, reach_px(event)).filter(|_| free) else { return Grab::Turn };
        let side = held.side;
        self.ui.grab(held);
        let under = self.ui.with_view3d(|view| {
            view.drag_begin();
            view.drag_point(at[0], at[1], side, handle.moves, handle.at)
        });
        // Taken beside its middle, a handle keeps that distance from the pointer.
        let offset =
            under.flatten().map_or([0.0; 3], |p| [handle.at[0] - p[0], handle.at[1] - p[1], handle.at[2] - p[2]]);
        Grab::Handle { side, handle, offset }
    }

    fn moved(self, event: &PointerEvent) {
        let at = place_of(event);
        self.state.update_value(|state| {
            let Some(index) = state.down.iter().position(|(id, _)| *id == event.pointer_id()) else {
                let over = self.handle_at(at, reach_px(event)).map(|(held, _)| held);
                if self.ui.hovered.with_untracked(|now| *now != over) {
                    self.ui.hovered.set(over);
                }
                return;
            };
            let before = state.down.clone();
            state.down[index].1 = at;
            state.moved |= distance(at, state.start) > CLICK_PX;
            if let ([(_, a), (_, b)], [(_, c), (_, d)]) = (before.as_slice(), state.down.as_slice()) {
                let pair = |a: &P2, b: &P2| [(a[0], a[1]), (b[0], b[1])];
                self.ui.with_view3d(|view| view.two_finger(pair(a, b), pair(c, d)));
            } else if state.moved {
                self.drag(&state.grab, before[index].1, at);
            }
        });
    }

    fn drag(self, grab: &Grab, before: P2, at: P2) {
        let (dx, dy) = (at[0] - before[0], at[1] - before[1]);
        match grab {
            Grab::Nothing => {}
            Grab::Turn => self.ui.with_view3d(|view| view.orbit(dx, dy)).unwrap_or(()),
            Grab::Shift => self.ui.with_view3d(|view| view.pan(dx, dy)).unwrap_or(()),
            Grab::Handle { side, handle, offset } => {
                let point = self.ui.with_view3d(|view| view.drag_point(at[0], at[1], *side, handle.moves, handle.at));
                if let Some(p) = point.flatten() {
                    self.ui.drag_to([p[0] + offset[0], p[1] + offset[1], p[2] + offset[2]]);
                }
            }
        }
    }

    fn up(self, event: &PointerEvent) {
        let at = place_of(event);
        self.state.update_value(|state| {
            state.down.retain(|(id, _)| *id != event.pointer_id());
            match std::mem::take(&mut state.grab) {
                Grab::Handle { .. } => {
                    self.ui.with_view3d(View3d::drag_end);
                    self.ui.drop_handle();
                }
                Grab::Turn if !state.moved => self.click(at),
                _ => {}
            }
        });
    }

    fn cancelled(self, event: &PointerEvent) {
        self.state.update_value(|state| {
            state.down.retain(|(id, _)| *id != event.pointer_id());
            state.grab = Grab::Nothing;
        });
        self.ui.with_view3d(View3d::drag_end);
        self.ui.cancel_drag();
    }

    fn click(self, at: P2) {
        if let Some(hit) = self.ui.with_view3d(|view| view.pick(at[0], at[1])).flatten() {
            self.ui.click_at(hit.side, hit.at, CLOSE_MM);
        }
    }
}

/// A click this near to the first point closes the curve being drawn, mm.
const CLOSE_MM: f64 = 6.0;
