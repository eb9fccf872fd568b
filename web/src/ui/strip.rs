//! The section strip: the cut lengthwise (A–A) and the cut across (B–B) through the cursor, to one scale, with handles
//! on the lines.

use super::colour::Quantity;
use super::fields::number;
use super::geometry::{Bounds, P2, View, path, tick_mm, ticks};
use super::pane::{CLICK_PX, capture, distance, place_in_drawing, reach_px, view_box, watch_drawing, zoom_of};
use super::plan_marks::{Handle, handle_word, nearest, visible_handles};
use super::state::{Held, Paint, Stage, Ui, ui};
use base::{BySide, Side};
use engine::view::{HandleView, Moves, SectionView};
use leptos::html::Div;
use leptos::prelude::*;
use web_sys::{PointerEvent, WheelEvent};

/// Heights shown, mm: the bottom of a thick insole to the ankle's beginning.
const HEIGHTS_MM: P2 = [-12.0, 52.0];
/// A handle stands on a cut that passes it within this, mm.
const NEAR_MM: f64 = 8.0;
/// Room for the ruler on the left and below, px.
const RULER_PX: P2 = [30.0, 18.0];
/// Stops of the colour along a cut.
const STOPS: usize = 48;

/// Which cut.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Way {
    /// Lengthwise at the cursor's y, drawn over x, heel on the left.
    Along,
    /// Across at the cursor's x, drawn as on the sheet: seen from behind.
    Across,
}

impl Way {
    /// Foot frame → the cut's own plane.
    fn flat(self, side: Side, [x, y, z]: [f64; 3]) -> P2 {
        match (self, side) {
            (Way::Along, _) => [x, z],
            (Way::Across, Side::Left) => [y, z],
            (Way::Across, Side::Right) => [-y, z],
        }
    }

    /// The point of `plane` on the cut, the other coordinate from `from`.
    fn solid(self, side: Side, [s, z]: P2, from: [f64; 3]) -> [f64; 3] {
        match (self, side) {
            (Way::Along, _) => [s, from[1], z],
            (Way::Across, Side::Left) => [from[0], s, z],
            (Way::Across, Side::Right) => [from[0], -s, z],
        }
    }

    /// Distance of a point from the cut through `cursor`, mm.
    fn off(self, at: [f64; 3], cursor: P2) -> f64 {
        match self {
            Way::Along => (at[1] - cursor[1]).abs(),
            Way::Across => (at[0] - cursor[0]).abs(),
        }
    }

    fn word(self) -> &'static str {
        match self {
            Way::Along => "along",
            Way::Across => "across",
        }
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
            <Cut way=Way::Along sizes />
            <Cut way=Way::Across sizes />
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
fn Cut(way: Way, sizes: Sizes) -> impl IntoView {
    let ui = ui();
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
        let side = ui.side.get();
        let cursor = ui.cursor[side].get();
        let held = ui.held.get().map(|held| held.target);
        let on = |handle: &HandleView| way.off(handle.at, cursor) <= NEAR_MM || held.as_ref() == Some(&handle.target);
        handles[side].get().into_iter().filter(on).map(|handle| (side, handle)).collect::<Vec<_>>()
    });
    let mouse = Mouse { ui, way, view, near, state: StoredValue::new_local(State::default()) };
    let title = move || {
        let side = ui.side.get();
        let [x, y] = ui.cursor[side].get();
        match way {
            Way::Along => format!("A–A lengthwise at y {} mm, {} foot", number(y, 1), side.word()),
            Way::Across => format!("B–B across at x {} mm", number(x, 1)),
        }
    };
    let wheel = move |event: WheelEvent| {
        event.prevent_default();
        moved.set(Some(view.get_untracked().zoomed(place_in_drawing(&event), zoom_of(&event))));
    };
    view! {
        <div class=format!("cut cut-{}", way.word())>
            <header>
                <h2 data-testid=format!("strip-{}-title", way.word())>{title}</h2>
                <span class="quiet-text">{move || moved.get().is_some().then(|| view! {
                    <button class="small" data-testid=format!("strip-{}-whole", way.word()) on:click=move |_| moved.set(None)>"Whole cut"</button>
                })}</span>
            </header>
            <div class="pane-body" node_ref=body>
                <svg class="layer drawing" viewBox=move || view_box(&view.get()) preserveAspectRatio="none" tabindex="0" role="application" data-testid=format!("strip-{}", way.word())
                    aria-label=move || format!("Section {}. Arrow keys move the cut, or the selected handle.", title())
                    on:pointerdown=move |event| mouse.down(&event) on:pointermove=move |event| mouse.moved_to(&event)
                    on:pointerup=move |event| mouse.up(&event) on:pointercancel=move |_| mouse.cancelled()
                    on:pointerleave=move |_| ui.hovered.set(None) on:dblclick=move |_| moved.set(None) on:wheel=wheel>
                    <Ground way view />
                    <CutDrawing way view />
                    <For each=move || near.get() key=|(side, handle)| (*side, handle_word(&handle.target)) children=move |(side, handle)| {
                        let target = handle.target;
                        let found = target.clone();
                        let at = Signal::derive(move || {
                            let place = near.with(|near| near.iter().find(|(_, handle)| handle.target == found).map(|(_, handle)| handle.at));
                            view.get().px(way.flat(side, place.unwrap_or_default()))
                        });
                        view! { <Handle pane=way.word() held=Held { side, target } at view /> }
                    } />
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
        let ends = match way {
            Way::Along => [bounds.min[0], bounds.max[0]],
            Way::Across if side == Side::Left => [bounds.min[1], bounds.max[1]],
            Way::Across => [-bounds.max[1], -bounds.min[1]],
        };
        let shown = Bounds { min: [ends[0] - 4.0, HEIGHTS_MM[0]], max: [ends[1] + 4.0, HEIGHTS_MM[1]] };
        let inner = View::fit(shown, [size[0] - RULER_PX[0], size[1] - RULER_PX[1]], 3.0);
        View { size, ..inner }
    };
    let scale = fitted(Way::Along).scale.min(fitted(Way::Across).scale);
    View { scale, ..fitted(way) }.panned([RULER_PX[0] / 2.0, -RULER_PX[1] / 2.0])
}

/// Support plane, rulers and the trace of the other cut.
#[component]
fn Ground(way: Way, view: Memo<View>) -> impl IntoView {
    let ui = ui();
    move || {
        let view = view.get();
        let [width, height] = view.size;
        let side = ui.side.get();
        let [x, y] = ui.cursor[side].get();
        let zero = view.px([0.0, 0.0])[1];
        let (left, base) = (RULER_PX[0], height - RULER_PX[1]);
        let (from, to) = (view.mm([left, 0.0])[0], view.mm([width, 0.0])[0]);
        let (low, high) = (view.mm([0.0, base])[1], view.mm([0.0, 0.0])[1]);
        let step = tick_mm(view.scale, 42.0);
        let rise = tick_mm(view.scale, 20.0);
        // Across, the foot's own y grows to the medial side, on the right foot to the left of the picture.
        let sign = if way == Way::Across && side == Side::Right { -1.0 } else { 1.0 };
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
        let (other, letter) = match way {
            Way::Along => (way.flat(side, [x, 0.0, 0.0])[0], "B"),
            Way::Across => (way.flat(side, [0.0, y, 0.0])[0], "A"),
        };
        let trace = view.px([other, 0.0])[0];
        let present = ui.has(side);
        let ends = match (way, side) {
            (Way::Along, _) => ["Heel", "Toes"],
            (Way::Across, Side::Left) => ["Lateral", "Medial"],
            (Way::Across, Side::Right) => ["Medial", "Lateral"],
        };
        view! {
            <g class="rulers" aria-hidden="true">
                <path class="ruler-edge" d=format!("M{left} 0V{base:.0}H{width:.0}") />
                <path class="ruler-tick" d=tick_marks />
                {below.collect_view()}{beside.collect_view()}
            </g>
            <path class="support" d=format!("M{left} {zero:.1}H{width:.0}") />
            {present.then(|| view! {
                <path class="cut-line" d=format!("M{trace:.1} 0V{base:.0}") />
                <text class="cut-letter" x=trace + 8.0 y="12">{letter}</text>
            })}
            <text class="end-word" x=left + 6.0 y="13">{ends[0]}</text>
            <text class="end-word" x=width - 6.0 y="13" text-anchor="end">{ends[1]}</text>
        }
    }
}

/// At Fit the outlines of the sheet stand in the cut between these heights, mm.
const EDGE_MM: [f32; 2] = [-9.0, 22.0];

/// Where a closed outline crosses a cut, mm along the cut.
fn crossings(curve: &[[f32; 2]], way: Way, level: f64) -> Vec<f64> {
    let turned = |p: &[f32; 2]| {
        let [x, y] = p.map(f64::from);
        if way == Way::Along { [x, y] } else { [y, x] }
    };
    let ends = curve.iter().zip(curve.iter().cycle().skip(1)).map(|(a, b)| (turned(a), turned(b)));
    ends.filter(|(a, b)| (a[1] <= level) != (b[1] <= level))
        .map(|(a, b)| a[0] + (b[0] - a[0]) * (level - a[1]) / (b[1] - a[1]))
        .collect()
}

/// Skin, insole top and bottom, and the insole's material between them.
#[component]
fn CutDrawing(way: Way, view: Memo<View>) -> impl IntoView {
    let ui = ui();
    let index = if way == Way::Along { 0 } else { 1 };
    let section = move |read: &dyn Fn(&SectionView, Side) -> String| {
        let side = ui.side.get();
        ui.cuts
            .with(|cuts| cuts.get(index).and_then(Option::as_ref).map(|section| read(section, side)))
            .unwrap_or_default()
    };
    let mirrored = move |side: Side| way == Way::Across && side == Side::Right;
    let place = move |side: Side, p: &[f32; 2]| {
        view.get().px([if mirrored(side) { -f64::from(p[0]) } else { f64::from(p[0]) }, f64::from(p[1])])
    };
    let line = move |side: Side, points: &[[f32; 2]]| path(points.iter().map(|p| place(side, p)), false);
    let skin = move || section(&|cut, side| cut.skin.iter().map(|piece| line(side, piece)).collect());
    let last_bottom = move || section(&|cut, side| line(side, &cut.last_bottom));
    let edges = move || {
        let side = ui.side.get();
        let [x, y] = ui.cursor[side].get();
        let level = if way == Way::Along { y } else { x };
        let stroke = move |u: f64| path(EDGE_MM.map(|z| place(side, &[u as f32, z])), false);
        let strokes =
            move |curve: &[[f32; 2]]| crossings(curve, way, level).into_iter().map(stroke).collect::<String>();
        (ui.stage.get() == Stage::Fit).then(|| {
            ui.with_foot(side, |foot| {
                let print = foot.print.iter().map(|contour| strokes(contour)).collect::<String>();
                [
                    ("silhouette", strokes(&foot.silhouette)),
                    ("print", print),
                    ("last-outline", strokes(&foot.edge.last)),
                    ("shoe-outline", strokes(&foot.edge.shoe)),
                ]
                .map(|(class, d)| view! { <path class=class d=d /> })
                .into_iter()
                .collect_view()
            })
        })
    };
    let top = move || section(&|cut, side| line(side, &cut.top));
    let bottom = move || section(&|cut, side| line(side, &cut.bottom));
    let body =
        move || section(&|cut, side| path(cut.top.iter().chain(cut.bottom.iter().rev()).map(|p| place(side, p)), true));
    let fill = format!("cut-fill-{}", way.word());
    let clip = format!("cut-clip-{}", way.word());
    let clip_frame = move || {
        let [width, height] = view.get().size;
        format!("M{} 0H{width:.0}V{:.0}H{}Z", RULER_PX[0], height - RULER_PX[1], RULER_PX[0])
    };
    let stops = move || {
        let colour = ui.paint.get() == Paint::Hardness;
        let side = ui.side.get();
        ui.cuts.with(|cuts| {
            let cut = cuts.get(index).and_then(Option::as_ref).filter(|cut| colour && cut.top.len() > 1 && cut.shore_a.len() == cut.top.len())?;
            let (first, last) = (place(side, &cut.top[0])[0], place(side, &cut.top[cut.top.len() - 1])[0]);
            let every = cut.top.len().div_ceil(STOPS);
            let stops = cut.top.iter().zip(&cut.shore_a).step_by(every).map(|(p, shore_a)| {
                let offset = ((place(side, p)[0] - first) / (last - first)).clamp(0.0, 1.0);
                view! { <stop offset=format!("{offset:.4}") stop-color=Quantity::Hardness.css(f64::from(*shore_a)) /> }
            });
            Some(view! {
                <linearGradient id=format!("cut-fill-{}", way.word()) gradientUnits="userSpaceOnUse" x1=first x2=last y1="0" y2="0">{stops.collect_view()}</linearGradient>
            })
        })
    };
    let painted = move || if ui.paint.get() == Paint::Hardness { format!("fill:url(#{fill})") } else { String::new() };
    view! {
        <defs>
            {stops}
            <clipPath id=clip.clone()><path d=clip_frame /></clipPath>
            <pattern id=format!("hatch-{}", way.word()) width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
                <line class="hatch" x1="0" y1="0" x2="0" y2="6" />
            </pattern>
        </defs>
        <g clip-path=format!("url(#{clip})")>
            <path class="cut-body" d=body style=painted />
            <path d=body fill=format!("url(#hatch-{})", way.word()) />
            {edges}
            <path class="cut-last" d=last_bottom />
            <path class="cut-bottom" d=bottom />
            <path class="cut-top" d=top />
            <path class="cut-skin" d=skin />
        </g>
    }
}

#[derive(Clone, Debug, Default)]
enum Grab {
    #[default]
    Nothing,
    /// The other cut's place, so the cursor.
    Cursor,
    Handle {
        side: Side,
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
    way: Way,
    view: Memo<View>,
    near: Memo<Vec<(Side, HandleView)>>,
    state: StoredValue<State, LocalStorage>,
}

impl Mouse {
    fn handle_at(self, at: P2, reach: f64) -> Option<(Side, HandleView)> {
        let view = self.view.get_untracked();
        let near = self.near.get_untracked();
        let shown = near.iter().map(|(side, handle)| {
            (Held { side: *side, target: handle.target.clone() }, view.px(self.way.flat(*side, handle.at)))
        });
        let held = nearest(shown, at, reach)?;
        near.into_iter().find(|(side, handle)| *side == held.side && handle.target == held.target)
    }

    fn down(self, event: &PointerEvent) {
        let at = place_in_drawing(event);
        capture(event);
        let grab = match self.handle_at(at, reach_px(event)) {
            Some((side, handle)) => {
                self.ui.grab(Held { side, target: handle.target.clone() });
                Grab::Handle { side, handle, from: at }
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
                Grab::Handle { side, handle, from } if state.moved => {
                    let view = self.view.get_untracked();
                    let (start, now) = (view.mm(*from), view.mm(at));
                    let [s, z] = self.way.flat(*side, handle.at);
                    let to = self.way.solid(*side, [s + now[0] - start[0], z + now[1] - start[1]], handle.at);
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
        let side = self.ui.side.get_untracked();
        let [s, _] = self.view.get_untracked().mm(at);
        self.ui.cursor[side].update(|cursor| match self.way {
            Way::Along => cursor[0] = s,
            Way::Across => cursor[1] = if side == Side::Right { -s } else { s },
        });
    }
}
