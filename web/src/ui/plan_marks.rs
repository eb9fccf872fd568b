//! What lies over the drawing in pixels: the cuts through the cursor, handles, a region being drawn.

use super::geometry::{P2, View, path, sheet_from_foot};
use super::marks::handle_path;
use super::state::{Held, Mode, Ui, ui};
use base::Side;
use engine::view::{HandleView, Moves, Target};
use leptos::prelude::*;

/// Half the size of a handle, px; the place that answers to the pointer is larger.
const HANDLE_PX: f64 = 5.5;

/// How far the cuts run on beyond what they cut, px.
const CUT_BEYOND_PX: f64 = 14.0;
/// Room for the label of a handle, px.
const LABEL_PX: f64 = 150.0;

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
        Some(view! {
            <g class="cuts" aria-hidden="true">
                <path class="halo" d=path(along, false) />
                <path class="halo" d=path(across, false) />
                <path class="cut-line" d=path(along, false) />
                <path class="cut-line" d=path(across, false) />
                {letters.map(|([u, v], letter, [du, dv])| view! { <text class="cut-letter" x=u + du y=v + dv dy="0.1em">{letter}</text> }).collect_view()}
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

/// The curve being drawn, with the pointer as its next point.
#[component]
pub(crate) fn Drawing(view: Memo<View>, #[prop(into)] pointer: Signal<Option<P2>>) -> impl IntoView {
    let ui = ui();
    move || {
        let Mode::Draw { side, points } = ui.mode.get() else { return None };
        let view = view.get();
        let shown: Vec<P2> = points.iter().map(|p| view.px(sheet_from_foot(side, *p))).collect();
        let line = path(shown.iter().copied().chain(pointer.get()), false);
        let dots = shown.iter().enumerate().map(|(index, [x, y])| {
            view! { <circle class="drawn-point" class:first=index == 0 cx=*x cy=*y r=if index == 0 { 7.0 } else { 4.0 } /> }
        });
        Some(view! { <g class="drawn" aria-hidden="true"><path class="drawn-line" d=line />{dots.collect_view()}</g> })
    }
}
