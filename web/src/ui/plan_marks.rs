//! What lies over the drawing in pixels: the cuts through the cursor, handles, what is measured, drawn or sculpted.

use super::geometry::{P2, View, foot_from_sheet, path, sheet_from_foot};
use super::keys::step_of;
use super::marks::handle_path;
use super::measuring::{numbers, places};
use super::pane::distance;
use super::state::{Held, Mode, Ui, ui};
use base::Side;
use engine::view::{HandleView, Moves, Target};
use leptos::prelude::*;
use web_sys::KeyboardEvent;

/// Half the size of a handle, px; the place that answers to the pointer is larger.
const HANDLE_PX: f64 = 5.5;

/// How far the cuts run on beyond what they cut, px.
const CUT_BEYOND_PX: f64 = 14.0;
/// Room for the label of a handle, px.
pub(crate) const LABEL_PX: f64 = 150.0;

/// The handles to show: those the stage works with, and the selected one.
pub(crate) fn visible_handles(ui: Ui, side: Side) -> Memo<Vec<HandleView>> {
    Memo::new(move |_| {
        if !ui.shows(side) {
            return Vec::new();
        }
        let stage = ui.stage.get();
        let held = ui.held.get().filter(|held| held.side == side);
        let shown = |handle: &&HandleView| {
            stage.shows(&handle.target) || held.as_ref().is_some_and(|held| held.target == handle.target)
        };
        ui.with_foot(side, |foot| foot.handles.iter().filter(shown).cloned().collect()).unwrap_or_default()
    })
}

/// The handle nearest to `at` px within `reach` px, out of `handles` and where each is shown.
pub(crate) fn nearest(handles: impl IntoIterator<Item = (Held, P2)>, at: P2, reach: f64) -> Option<Held> {
    let mut best = (reach * reach, None);
    for (held, [x, y]) in handles {
        let distance = (x - at[0]).powi(2) + (y - at[1]).powi(2);
        if distance <= best.0 {
            best = (distance, Some(held));
        }
    }
    best.1
}

/// Stable word for a handle, for test ids and keys.
pub(crate) fn handle_word(target: &Target) -> String {
    match target {
        Target::Landmark { id } => format!("landmark-{}", id.id()),
        Target::Element { id, handle } => format!("element-{id}-{handle}"),
        Target::ElementPoint { id, index } => format!("element-{id}-point-{index}"),
        Target::ElementCurve { id, .. } => format!("element-{id}-curve"),
        Target::ElementBody { id, .. } => format!("element-{id}-body"),
        Target::RegionPoint { id, index } => format!("region-{id}-{index}"),
        Target::LegCut => "leg-cut".to_owned(),
        Target::OutlineKnot { index } => format!("edge-{index}"),
        Target::OutlineCurve { .. } => "edge-curve".to_owned(),
        Target::TrimEnd { end } => format!("trim-{end}"),
        Target::ShoeInsole { turn: false } => "shoe-shift".to_owned(),
        Target::ShoeInsole { turn: true } => "shoe-turn".to_owned(),
        Target::Surface { param } => format!("surface-{param}"),
    }
}

/// One handle, drawn at `at` px: reachable by Tab, moved by arrow keys (see `keys`).
#[component]
pub(crate) fn Handle(
    /// Starts its test id: `plan` or `strip`.
    pane: &'static str,
    held: Held,
    #[prop(into)] at: Signal<P2>,
    /// The pane's view: a label that would leave it stands on the other side.
    view: Memo<View>,
) -> impl IntoView {
    let ui = ui();
    let now = {
        let held = held.clone();
        Memo::new(move |_| ui.handle(&held))
    };
    let is = |which: RwSignal<Option<Held>>| {
        let held = held.clone();
        Memo::new(move |_| which.with(|which| which.as_ref() == Some(&held)))
    };
    let (chosen, hovered) = (is(ui.held), is(ui.hovered));
    let testid = format!("{pane}-{}-{}", held.side.word(), handle_word(&held.target));
    let label = move || now.with(|now| now.as_ref().map(|handle| handle.label.clone()).unwrap_or_default());
    let shape = move || now.with(|now| now.as_ref().map_or("", handle_path));
    let vertical = move || now.with(|now| now.as_ref().is_some_and(|handle| handle.moves == Moves::Vertical));
    let place = move || {
        let [x, y] = at.get();
        format!("translate({x:.1} {y:.1})")
    };
    view! {
        <g class="handle" class:chosen=chosen class:hovered=hovered class:vertical=vertical transform=place
            tabindex="0" role="button" aria-label=label aria-pressed=move || chosen.get().to_string() data-testid=testid
            on:focus=move |_| if ui.held.with_untracked(|now| now.as_ref() != Some(&held)) { ui.hold(held.clone()) }>
            <circle class="handle-reach" r="13" />
            <path class="handle-halo" d=shape transform=format!("scale({HANDLE_PX})") />
            <path class="handle-shape" d=shape transform=format!("scale({HANDLE_PX})") />
            {move || (chosen.get() || hovered.get()).then(|| {
                let left = at.get()[0] > view.get().size[0] - LABEL_PX;
                let (x, anchor) = if left { (-12, "end") } else { (12, "start") };
                view! { <text class="handle-label" x=x y="-9" text-anchor=anchor>{label}</text> }
            })}
        </g>
    }
}

/// All handles of one foot.
#[component]
pub(crate) fn Handles(side: Side, view: Memo<View>, handles: Memo<Vec<HandleView>>) -> impl IntoView {
    view! {
        <For each=move || handles.get() key=|handle| handle_word(&handle.target) children=move |handle| {
            let target = handle.target;
            let found = target.clone();
            let at = Signal::derive(move || {
                let place = handles.with(|all| all.iter().find(|handle| handle.target == found).map(|handle| handle.at));
                let [x, y, _] = place.unwrap_or_default();
                view.get().px(sheet_from_foot(side, [x, y]))
            });
            view! { <Handle pane="plan" held=Held { side, target } at view /> }
        } />
    }
}

/// The two cuts through the cursor of the active foot, lettered as on a drawing.
#[component]
pub(crate) fn CutLines(view: Memo<View>) -> impl IntoView {
    let ui = ui();
    let bounds = ui.active(|foot| {
        super::geometry::Bounds::around(foot.outline.iter().chain(&foot.silhouette).map(|p| p.map(f64::from)))
    });
    move || {
        let bounds = bounds.get().flatten()?;
        let view = view.get();
        let side = ui.side.get();
        let [x, y] = ui.cursor[side].get();
        let px = |at: P2| view.px(sheet_from_foot(side, at));
        let beyond = CUT_BEYOND_PX / view.scale;
        let along = [px([bounds.min[0] - beyond, y]), px([bounds.max[0] + beyond, y])];
        let across = [px([x, bounds.min[1] - beyond]), px([x, bounds.max[1] + beyond])];
        let letters = [
            (along[0], "A", [0.0, 10.0]),
            (along[1], "A", [0.0, -4.0]),
            (across[0], "B", sideways(side, 1.0)),
            (across[1], "B", sideways(side, -1.0)),
        ];
        let centre = px([x, y]);
        // A line drawn on the plan stands in for the cut lengthwise.
        let line = ui.cut_line[side].get();
        let lengthwise = line.map_or(along, |ends| ends.map(px));
        Some(view! {
            <g class="cuts" aria-hidden="true">
                <path class="halo" d=path(lengthwise, false) />
                <path class="halo" d=path(across, false) />
                <path class="cut-line" d=path(lengthwise, false) />
                <path class="cut-line" d=path(across, false) />
                {letters.into_iter().skip(if line.is_some() { 2 } else { 0 }).map(|([u, v], letter, [du, dv])| view! { <text class="cut-letter" x=u + du y=v + dv dy="0.1em">{letter}</text> }).collect_view()}
                <circle class="cursor" cx=centre[0] cy=centre[1] r="7" />
            </g>
        })
    }
}

/// Shift of a letter away from the lateral (`1`) or medial (`-1`) end of the cut across, px.
fn sideways(side: Side, end: f64) -> P2 {
    let outward = if side == Side::Left { -1.0 } else { 1.0 };
    [outward * end * 8.0, 4.0]
}

/// What a key moves an end of a cut by, mm: as handles.
const END_STEPS_MM: [f64; 3] = [0.5, 0.1, 5.0];

/// The two ends of the cut along a line, lettered: dragged, or moved by arrow keys; Delete takes the line away.
#[component]
pub(crate) fn CutEnds(view: Memo<View>) -> impl IntoView {
    let ui = ui();
    let shown = Memo::new(move |_| {
        let side = ui.side.get();
        ui.cut_line[side].with(Option::is_some).then_some(side)
    });
    let end = move |side: Side, index: usize| {
        let place = move || {
            let ends = ui.cut_line[side].get().unwrap_or_default();
            let view = view.get();
            ends.map(|end| view.px(sheet_from_foot(side, end)))
        };
        let transform = move || {
            let [x, y] = place()[index];
            format!("translate({x:.1} {y:.1})")
        };
        // The letter stands beyond the end.
        let letter = move || {
            let ends = place();
            let ([x, y], [u, v]) = (ends[index], ends[1 - index]);
            let far = distance(ends[0], ends[1]).max(1.0);
            format!("translate({:.1} {:.1})", (x - u) / far * 15.0, (y - v) / far * 15.0)
        };
        let key = move |event: KeyboardEvent| {
            if event.key() == "Delete" {
                ui.cut_line[side].set(None);
            } else if let (Some([right, up, _]), Some(ends)) = (step_of(&event), ui.cut_line[side].get_untracked()) {
                let mm = END_STEPS_MM[if event.shift_key() { 2 } else { usize::from(event.alt_key()) }];
                let [u, v] = sheet_from_foot(side, ends[index]);
                ui.move_cut_end(side, index, foot_from_sheet(side, [u + right * mm, v + up * mm]));
            } else {
                return;
            }
            event.prevent_default();
            event.stop_propagation();
        };
        let word = ["First", "Second"][index];
        view! {
            <g class="handle" transform=transform tabindex="0" role="button" data-testid=format!("plan-cut-end-{index}")
                aria-label=format!("{word} end of the cut C. Arrow keys move it, Delete takes the cut away.") on:keydown=key>
                <circle class="handle-reach" r="13" />
                <path class="handle-halo" d=END_PATH />
                <path class="handle-shape" d=END_PATH />
                <text class="cut-letter" transform=letter dy="0.35em">"C"</text>
            </g>
        }
    };
    move || shown.get().map(|side| [0, 1].map(|index| end(side, index)).collect_view())
}

/// A small ring.
const END_PATH: &str = "M-4.5 0a4.5 4.5 0 1 0 9 0a4.5 4.5 0 1 0-9 0Z";

/// The places measured between, with the distance and the angle.
#[component]
pub(crate) fn Measured(view: Memo<View>) -> impl IntoView {
    let ui = ui();
    move || {
        let (side, measured) = ui.measured.get().filter(|(side, _)| ui.shows(*side))?;
        let view = view.get();
        let px = |at: [f64; 3]| view.px(sheet_from_foot(side, [at[0], at[1]]));
        let places = places(&measured).into_iter().map(px).collect::<Vec<_>>();
        let [distance, angle] = numbers(&measured, false).map(|number| number.map(|(at, text)| (px(at), text)));
        Some(marks("plan", &places, distance, angle))
    }
}

/// Places with the line through them and their numbers, px.
pub(crate) fn marks(
    pane: &'static str,
    places: &[P2],
    distance: Option<(P2, String)>,
    angle: Option<(P2, String)>,
) -> impl IntoView + use<> {
    let crosses: String = places.iter().map(|[x, y]| format!("M{x:.1} {y:.1}m-5 0h10m-5-5v10")).collect();
    let line = path(places.iter().copied(), false);
    // From the first to the last of three, where the distance is.
    let direct = if let [first, _, last] = places { path([*first, *last], false) } else { String::new() };
    let number = |number: Option<(P2, String)>, what: &str, dx: f64, dy: f64| {
        let testid = format!("{pane}-measured-{what}");
        number.map(
            |([x, y], text)| view! { <text class="measured-number" data-testid=testid x=x + dx y=y + dy>{text}</text> },
        )
    };
    view! {
        <g class="measured">
            <path class="halo" d=line.clone() />
            <path class="measured-line" d=line />
            <path class="measured-direct" d=direct />
            <path class="halo" d=crosses.clone() />
            <path class="measured-place" d=crosses />
            {number(distance, "distance", 8.0, -6.0)}
            {number(angle, "angle", 9.0, 14.0)}
        </g>
    }
}

/// The brush: a circle of its radius.
#[component]
pub(crate) fn Brush(view: Memo<View>) -> impl IntoView {
    let ui = ui();
    let sculpting = Memo::new(move |_| ui.mode.with(|mode| *mode == Mode::Sculpt));
    move || {
        sculpting.get().then(|| {
            let ((side, at), view) = (ui.brush_shown(), view.get());
            let [x, y] = view.px(sheet_from_foot(side, at));
            view! { <circle class="brush" cx=x cy=y r=ui.brush.get().radius_mm * view.scale aria-hidden="true" data-testid="plan-brush" /> }
        })
    }
}

/// The curve being drawn, or the line of a cut, with the pointer as its next point.
#[component]
pub(crate) fn Drawing(view: Memo<View>, #[prop(into)] pointer: Signal<Option<P2>>) -> impl IntoView {
    let ui = ui();
    move || {
        let mode = ui.mode.get();
        let (side, points) = match &mode {
            Mode::CutLine { side, from: Some(from) } => (*side, std::slice::from_ref(from)),
            mode => mode.drawn()?,
        };
        let view = view.get();
        let shown: Vec<P2> = points.iter().map(|p| view.px(sheet_from_foot(side, *p))).collect();
        let line = path(shown.iter().copied().chain(pointer.get()), false);
        let dots = shown.iter().enumerate().map(|(index, [x, y])| {
            view! { <circle class="drawn-point" class:first=index == 0 cx=*x cy=*y r=if index == 0 { 7.0 } else { 4.0 } /> }
        });
        Some(view! { <g class="drawn" aria-hidden="true"><path class="drawn-line" d=line />{dots.collect_view()}</g> })
    }
}
