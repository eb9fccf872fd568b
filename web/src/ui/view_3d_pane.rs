//! The 3D view of both feet and insoles: turned, shifted and zoomed by hand, with the same handles as the sheet.

use super::colour::{Quantity, at_vertices};
use super::fields::sentence;
use super::geometry::P2;
use super::measuring::{numbers, places};
use super::pane::{CLICK_PX, capture, distance, place_of, reach_px, watch_size, zoom, zoom_of};
use super::plan_marks::visible_handles;
use super::state::{Held, Mode, Paint, Skin, Stage, Ui, element_of, ui};
use super::taken::{DrawnCurve, has_handle};
use super::theme;
use crate::view3d::{self, Line, Marker, MarkerShape, Preset, Rgb, SkinShow, View3d, What};
use base::{BySide, Side};
use engine::view::{Cut, HandleView, Moves, Target};
use leptos::html::{Canvas, Div};
use leptos::prelude::*;
use std::rc::Rc;
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
        curve: ui.drawn_curve(),
        cursor: RwSignal::new(""),
        state: StoredValue::new_local(State::default()),
    };
    let label = NodeRef::<Div>::new();
    let measured = [NodeRef::<Div>::new(), NodeRef::<Div>::new()];
    let about = Memo::new(move |_| ui.hovered.get().or_else(|| ui.held.get()));
    let text = move || about.get().and_then(|held| ui.handle(&held)).map(|handle| handle.label);
    // What was measured, and where it stands.
    let numbers = Memo::new(move |_| {
        let (side, view) = ui.measured.get().filter(|(side, _)| ui.shows(*side))?;
        Some((side, numbers(&view, true)))
    });
    let number = move |index: usize| numbers.get().and_then(|(side, numbers)| Some((side, numbers[index].clone()?)));
    let stand_label = move |label: NodeRef<Div>, at: Option<(Side, [f64; 3])>| {
        let Some(label) = label.get_untracked() else { return };
        let place = at.and_then(|(side, at)| ui.with_view3d(|view| view.project(side, at)).flatten());
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
    // After every frame, and when they are about something else, labels go where that is.
    let move_labels = move || {
        untrack(|| {
            let handle = about.get().and_then(|held| Some((held.side, ui.handle(&held)?.at)));
            stand_label(label, handle);
            for (index, label) in measured.into_iter().enumerate() {
                stand_label(label, number(index).map(|(side, (at, _))| (side, at)));
            }
        });
    };
    Effect::new(move |_| {
        about.track();
        numbers.track();
        if canvas.get().is_some() {
            ui.with_view3d(|view| view.on_drawn(move_labels));
        }
        move_labels();
    });
    view! {
        <canvas class="layer scene" node_ref=canvas tabindex="0" data-testid="view3d"
            aria-label="3D view. Drag to turn, with the right button to shift, wheel to zoom. Everything shown is in the panel and on the sheet as well."
            class:placing=move || ui.mode.with(|mode| *mode != Mode::Select) style:cursor=move || mouse.cursor.get()
            on:pointerdown=move |event| mouse.down(&event) on:pointermove=move |event| mouse.moved(&event)
            on:pointerup=move |event| mouse.up(&event) on:pointercancel=move |event| mouse.cancelled(&event)
            on:pointerleave=move |_| { ui.hovered.set(None); ui.brush_at.set(None) }
            on:dblclick=move |_| ui.close_curve_if_drawn()
            on:contextmenu=move |event: MouseEvent| event.prevent_default()
            on:wheel=move |event: WheelEvent| {
                event.prevent_default();
                let [x, y] = place_of(&event);
                ui.with_view3d(|view| view.zoom(zoom_of(&event), (x, y)));
            }></canvas>
        <div class="label-3d" node_ref=label aria-hidden="true">{text}</div>
        {[0, 1].map(|index| view! {
            <div class="label-3d measured-3d" node_ref=measured[index] data-testid=format!("view3d-measured-{}", ["distance", "angle"][index])>
                {move || number(index).map(|(_, (_, text))| text)}
            </div>
        }).collect_view()}
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
    // What stays while the pointer moves is laid on the insole once.
    let still = RwSignal::new_local(Rc::<Vec<Line>>::default());
    let curve = ui.drawn_curve();
    follow(view, move |view| still.set(Rc::new(lines(ui, view, curve))));
    let brush = Memo::new(move |_| {
        let sculpting = ui.mode.with(|mode| *mode == Mode::Sculpt);
        let held_here = |(side, at, in_3d)| if in_3d { Some((side, at)) } else { None };
        let at = ui.brush_at.get().filter(|_| sculpting).and_then(held_here)?;
        Some((at, ui.brush.get().radius_mm))
    });
    follow(view, move |view| {
        let mut all = still.get().as_ref().clone();
        all.extend(passing_lines(ui, view, brush));
        view.set_lines(all);
    });
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

fn lines(ui: Ui, view: &View3d, curve: Memo<Option<DrawnCurve>>) -> Vec<Line> {
    ui.dark.track();
    let accent = theme::accent();
    let ink = theme::colours().ink;
    let chosen = ui.measure.get();
    let held = ui.held.get();
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
            let held = held.as_ref().filter(|held| held.side == side).and_then(|held| element_of(&held.target));
            for element in foot.elements.iter().filter(|element| element.on) {
                let (color, width_px) = if held == Some(element.id) { (accent, 2.0) } else { (ink, 1.5) };
                all.extend(element.rim.iter().map(|line| flat(line, color, width_px)));
            }
            if let Some(compare) = foot.compare.as_ref().filter(|_| ui.shows(side)) {
                all.extend(dashed(side, &view.lift(side, &compare.outline), GHOST, ink, 1.2));
            }
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
    curve.with(|curve| {
        all.extend(curve.as_ref().map(|curve| Line {
            side: curve.side,
            points: view.lift(curve.side, &curve.line),
            closed: true,
            color: accent,
            width_px: 1.2,
        }));
    });
    all
}

/// Corners of the brush's circle.
const BRUSH_CORNERS: usize = 40;
/// Points of the line of a cut, mm apart.
const CUT_STEP_MM: f64 = 2.0;
/// Half the length of the strokes of a cross, mm.
const CROSS_MM: f32 = 2.5;

/// What goes with the pointer or is not of the case: the curve being drawn, the brush, the line of a cut, what was measured.
fn passing_lines(ui: Ui, view: &View3d, brush: Memo<Option<((Side, P2), f64)>>) -> Vec<Line> {
    ui.dark.track();
    let accent = theme::accent();
    let mut all = Vec::new();
    let mut lay = |side: Side, points: Vec<P2>, closed: bool, width_px: f32| {
        // As the other lines: it moves when the insole does.
        ui.buffers[side].insole.track();
        let flat: Vec<[f32; 2]> = points.into_iter().map(|p| p.map(|n| n as f32)).collect();
        all.push(Line { side, points: view.lift(side, &flat), closed, color: accent, width_px });
    };
    if let Some((side, points)) = ui.mode.get().drawn() {
        lay(side, points.to_vec(), false, 2.5);
    }
    if let Some(((side, [x, y]), radius)) = brush.get() {
        let corner = |k: usize| {
            let (sin, cos) = libm::sincos(std::f64::consts::TAU * k as f64 / BRUSH_CORNERS as f64);
            [x + radius * cos, y + radius * sin]
        };
        lay(side, (0..BRUSH_CORNERS).map(corner).collect(), true, 2.0);
    }
    let shown = Side::ALL.into_iter().filter(|side| ui.shows(*side));
    for (side, [from, to]) in shown.filter_map(|side| Some((side, ui.cut_line[side].get()?))) {
        let length = distance(from, to);
        let steps = (length / CUT_STEP_MM).ceil().max(1.0) as usize;
        let at = |step: usize| Cut::Line(from, to).at(length * step as f64 / steps as f64);
        lay(side, (0..=steps).map(at).collect(), false, 1.5);
    }
    if let Some((side, measured)) = ui.measured.get().filter(|(side, _)| ui.shows(*side)) {
        let line = |points: Vec<[f32; 3]>| Line { side, points, closed: false, color: accent, width_px: 2.5 };
        let places: Vec<[f32; 3]> = places(&measured).into_iter().map(|p| p.map(|n| n as f32)).collect();
        for &[x, y, z] in &places {
            all.push(line(vec![[x - CROSS_MM, y, z], [x + CROSS_MM, y, z]]));
            all.push(line(vec![[x, y - CROSS_MM, z], [x, y + CROSS_MM, z]]));
        }
        all.push(line(places));
    }
    all
}

/// A line in dashes: points drawn and left out in turn.
fn dashed(side: Side, points: &[[f32; 3]], (on, off): (usize, usize), color: Rgb, width_px: f32) -> Vec<Line> {
    let dashes = points.chunks(on.saturating_add(off)).map(|dash| dash.get(..on).unwrap_or(dash).to_vec());
    dashes.map(|points| Line { side, points, closed: false, color, width_px }).collect()
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
        let dashed = |curve: &[[f32; 2]], dashes: (usize, usize), width_px: f32| {
            dashed(side, &view.lift(side, curve), dashes, color, width_px)
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
const GHOST: (usize, usize) = (8, 5);
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
    /// An element that is not selected: turns the picture, until it is clicked on.
    Element,
    /// The brush, put down on a foot's insole.
    Stroke {
        side: Side,
        from: [f64; 3],
    },
}

impl Grab {
    /// The pointer's look over it; empty: as the canvas itself says.
    fn cursor(&self) -> &'static str {
        match self {
            Grab::Nothing | Grab::Turn | Grab::Shift | Grab::Stroke { .. } => "",
            Grab::Element => "pointer",
            Grab::Handle { handle, .. } => match (&handle.target, handle.moves) {
                (Target::ElementCurve { .. }, _) => "cell",
                (_, Moves::Vertical) => "ns-resize",
                _ => "move",
            },
        }
    }
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
    curve: Memo<Option<DrawnCurve>>,
    cursor: RwSignal<&'static str>,
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
                self.ui.cancel_stroke();
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
        match self.under(at, reach_px(event)) {
            Grab::Handle { side, handle, .. } => {
                self.ui.grab(Held { side, target: handle.target.clone() });
                let under = self.ui.with_view3d(|view| {
                    view.drag_begin();
                    view.drag_point(at[0], at[1], side, handle.moves, handle.at)
                });
                // Taken beside its middle, a handle keeps that distance from the pointer.
                let apart = |p: [f64; 3]| [0, 1, 2].map(|axis: usize| handle.at[axis] - p[axis]);
                let offset = under.flatten().map_or([0.0; 3], apart);
                Grab::Handle { side, handle, offset }
            }
            Grab::Stroke { side, from } => {
                self.ui.with_view3d(View3d::drag_begin);
                self.ui.begin_stroke(side, [from[0], from[1]]);
                Grab::Stroke { side, from }
            }
            grab => grab,
        }
    }

    /// What a press at `at` takes hold of: handles first, then the curve of the selected element, then areas.
    fn under(self, at: P2, reach: f64) -> Grab {
        let insole = || {
            let hit = self.ui.with_view3d(|view| view.pick(at[0], at[1])).flatten();
            hit.filter(|hit| hit.what == What::Insole)
        };
        match self.ui.mode.get_untracked() {
            Mode::Select => {}
            Mode::Sculpt => return insole().map_or(Grab::Turn, |hit| Grab::Stroke { side: hit.side, from: hit.at }),
            _ => return Grab::Turn,
        }
        let held = |(held, handle): (Held, HandleView)| Grab::Handle { side: held.side, handle, offset: [0.0; 3] };
        if let Some(found) = self.handle_at(at, reach) {
            return held(found);
        }
        // Elsewhere nothing but handles can be taken: what lies there need not be found.
        let Some(hit) = (self.ui.stage.get_untracked() == Stage::Shape).then(insole).flatten() else {
            return Grab::Turn;
        };
        let place = [hit.at[0], hit.at[1]];
        let curve = || {
            self.curve.with_untracked(|curve| {
                let curve = curve.as_ref().filter(|curve| curve.side == hit.side)?;
                let [x, y] = curve.near(place)?;
                let near = self.ui.with_view3d(|view| view.project(hit.side, [x, y, hit.at[2]]))?;
                let seen = near.filter(|(u, v, _)| distance([*u, *v], at) < reach / 2.0);
                seen.map(|_| curve.grip([x, y, hit.at[2]]))
            })
        };
        match curve().or_else(|| self.ui.body_at(hit.side, hit.at)) {
            Some(found) => held(found),
            None if self.ui.element_at(hit.side, place).is_some() => Grab::Element,
            None => Grab::Turn,
        }
    }

    /// What a press would take hold of is told by the pointer's look.
    fn hover(self, at: P2, reach: f64) {
        let under = self.under(at, reach);
        let over = match &under {
            Grab::Handle { side, handle, .. } if has_handle(&handle.target) => {
                Some(Held { side: *side, target: handle.target.clone() })
            }
            _ => None,
        };
        self.ui.hovered.maybe_update(|now| std::mem::replace(now, over.clone()) != over);
        let cursor = under.cursor();
        self.cursor.maybe_update(|now| std::mem::replace(now, cursor) != cursor);
        let brush = match under {
            Grab::Stroke { side, from: [x, y, _] } => Some((side, [x, y], true)),
            _ => None,
        };
        self.ui.brush_at.maybe_update(|now| std::mem::replace(now, brush) != brush);
    }

    fn moved(self, event: &PointerEvent) {
        let at = place_of(event);
        self.state.update_value(|state| {
            let Some(index) = state.down.iter().position(|(id, _)| *id == event.pointer_id()) else {
                self.hover(at, reach_px(event));
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
            Grab::Turn | Grab::Element => {
                self.cursor.set("");
                self.ui.with_view3d(|view| view.orbit(dx, dy)).unwrap_or(());
            }
            Grab::Stroke { side, from } => {
                let point = self.ui.with_view3d(|view| view.drag_point(at[0], at[1], *side, Moves::Plan, *from));
                if let Some([x, y, _]) = point.flatten() {
                    self.ui.brush_at.set(Some((*side, [x, y], true)));
                    self.ui.go_on_stroke([x, y]);
                }
            }
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
                Grab::Handle { handle, .. } => {
                    self.ui.with_view3d(View3d::drag_end);
                    self.ui.drop_handle();
                    // What lies on the selected element is selected as anywhere else.
                    if !state.moved && matches!(handle.target, Target::ElementBody { .. }) {
                        self.click(at);
                    }
                }
                Grab::Stroke { .. } => {
                    self.ui.with_view3d(View3d::drag_end);
                    self.ui.end_stroke();
                }
                Grab::Turn | Grab::Element if !state.moved => self.click(at),
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
        self.ui.cancel_stroke();
    }

    fn click(self, at: P2) {
        if let Some(hit) = self.ui.with_view3d(|view| view.pick(at[0], at[1])).flatten() {
            let over = |hit: &view3d::Hit| {
                let free = hit.what == What::Insole && self.ui.mode.with_untracked(|mode| *mode == Mode::Select);
                free.then(|| self.ui.element_at(hit.side, [hit.at[0], hit.at[1]])).flatten()
            };
            match over(&hit) {
                Some(held) => self.ui.hold(held),
                None => self.ui.click_at(hit.side, hit.at, CLOSE_MM),
            }
        }
    }
}

/// A click this near to the first point closes the curve being drawn, mm.
const CLOSE_MM: f64 = 6.0;
