//! What is drawn of a foot and its insole on the sheet, in its foot frame: the view carries it to the screen.

use super::colour::{Quantity, picture};
use super::geometry::{P2, View, path, sheet_from_foot};
use super::isolines::isolines;
use super::pane::{distance, zoom};
use super::state::{Held, Stage, Ui, element_of, region_of, ui};
use super::taken::DrawnCurve;
use crate::worker::Grid;
use base::Side;
use engine::view::Target;
use leptos::html::Canvas;
use leptos::prelude::*;
use wasm_bindgen::{Clamped, JsCast};
use web_sys::{CanvasRenderingContext2d, ImageData};

/// An iso-line shorter than this carries no number, mm.
const SHORTEST_LABELLED_MM: f64 = 25.0;

/// Numbers of iso-lines stand at least this far apart, mm.
const CLOSEST_NUMBERS_MM: f64 = 9.0;
/// Shares of a line's length at which its number may stand.
const PLACES_TRIED: [f64; 9] = [0.5, 0.25, 0.75, 0.12, 0.88, 0.38, 0.62, 0.05, 0.95];

/// Where the word for the side stands, foot frame, mm: outside the heel, where nothing else is drawn.
const TITLE_AT: P2 = [2.0, -52.0];

/// Lines are drawn this little below their level: where the value is level over an area, rounding would draw noise.
const PLATEAU: f32 = 1e-3;

/// A line of equal value with its number.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Iso {
    level: f32,
    /// The colour under it is a dark one.
    on_dark: bool,
    lines: Vec<Vec<P2>>,
}

/// The grid drawn in colour on one foot, with its quantity.
fn painted(ui: Ui, side: Side) -> Option<(Grid, Quantity)> {
    let quantity = ui.paint.get().quantity()?;
    let grid = match quantity {
        Quantity::Hardness => ui.buffers[side].hardness,
        Quantity::Thickness => ui.buffers[side].thickness,
        Quantity::Difference => ui.buffers[side].difference,
    };
    Some((grid.get()?, quantity))
}

/// The iso-lines of what is painted.
pub(crate) fn isos(ui: Ui, side: Side) -> Memo<Vec<Iso>> {
    Memo::new(move |_| {
        let Some((grid, quantity)) = painted(ui, side) else { return Vec::new() };
        let (least, greatest) =
            grid.values.iter().fold((f32::INFINITY, f32::NEG_INFINITY), |(least, greatest), &value| {
                // What is not a number is beside the insole.
                (least.min(value), greatest.max(value))
            });
        if least > greatest {
            return Vec::new();
        }
        // Where two insoles are alike, a line of no difference would only wander.
        let drawn = |level: &f64| quantity != Quantity::Difference || level.abs() > f64::EPSILON;
        super::geometry::ticks(f64::from(least), f64::from(greatest + PLATEAU), quantity.iso_step())
            .filter(drawn)
            .map(|level| {
                let lines = isolines(&grid, level as f32 - PLATEAU);
                Iso { level: level as f32, on_dark: quantity.is_dark(level), lines }
            })
            .filter(|iso| !iso.lines.is_empty())
            .collect()
    })
}

/// SVG matrix from a foot frame to the sheet.
fn sheet_matrix(side: Side) -> String {
    let [e, _] = sheet_from_foot(side, [0.0, 0.0]);
    let across = if side == Side::Left { 1 } else { -1 };
    format!("matrix(0 1 {across} 0 {e} 0)")
}

/// The value painted over the insole: one pixel a sample, laid under the drawing and cut out along the outline.
#[component]
pub(crate) fn Field(side: Side, view: Memo<View>) -> impl IntoView {
    let ui = ui();
    let canvas = NodeRef::<Canvas>::new();
    let frame = Memo::new(move |_| painted(ui, side).map(|(grid, _)| grid.frame));
    let outline = ui.foot(side, |foot| foot.outline.clone());
    Effect::new(move |_| {
        let (Some(canvas), Some((grid, quantity))) = (canvas.get(), painted(ui, side)) else { return };
        let (columns, rows) = (grid.frame.columns as u32, grid.frame.rows as u32);
        if canvas.width() != columns || canvas.height() != rows {
            canvas.set_width(columns);
            canvas.set_height(rows);
        }
        let pixels = picture(&grid, quantity);
        let image = ImageData::new_with_u8_clamped_array_and_sh(Clamped(&pixels), columns, rows);
        let context = canvas
            .get_context("2d")
            .ok()
            .flatten()
            .and_then(|context| context.dyn_into::<CanvasRenderingContext2d>().ok());
        if let (Ok(image), Some(context)) = (image, context) {
            // A grid without samples has no picture.
            let _ = context.put_image_data(&image, 0.0, 0.0);
        }
    });
    let style = move || {
        let Some(frame) = frame.get().filter(|_| ui.shows(side)) else { return "display:none".to_owned() };
        let view = view.get();
        let zoom = zoom();
        let [ox, oy] = frame.origin_mm;
        let step = frame.step_mm;
        let place = |column: f64, row: f64| {
            view.px(sheet_from_foot(side, [ox + (column - 0.5) * step, oy + (row - 0.5) * step]))
        };
        let ([e, f], along, across) = (place(0.0, 0.0), place(1.0, 0.0), place(0.0, 1.0));
        let (a, b, c, d) = (along[0] - e, along[1] - f, across[0] - e, across[1] - f);
        let rim = outline.get().unwrap_or_default();
        let rim =
            path(rim.iter().map(|p| [(f64::from(p[0]) - ox) / step + 0.5, (f64::from(p[1]) - oy) / step + 0.5]), true);
        format!("transform:scale({zoom:.4}) matrix({a:.5},{b:.5},{c:.5},{d:.5},{e:.3},{f:.3});clip-path:path('{rim}')")
    };
    view! { <canvas class="field-image" node_ref=canvas style=style aria-hidden="true"></canvas> }
}

/// The lines of one foot.
#[component]
pub(crate) fn FootLines(side: Side, isos: Memo<Vec<Iso>>, curve: Memo<Option<DrawnCurve>>) -> impl IntoView {
    let ui = ui();
    let closed = |points: &[[f32; 2]]| path(points.iter().map(|p| p.map(f64::from)), true);
    let drawn_line =
        move || curve.with(|curve| curve.as_ref().filter(|curve| curve.side == side).map(|curve| closed(&curve.line)));
    let ghost = ui.foot(side, move |foot| foot.compare.as_ref().map(|compare| closed(&compare.outline)));
    let silhouette = ui.foot(side, move |foot| closed(&foot.silhouette));
    let print = ui.foot(side, move |foot| foot.print.iter().map(|contour| closed(contour)).collect::<String>());
    let outline = ui.foot(side, move |foot| closed(&foot.outline));
    // Where the last and the shoe are decided, what the edge came from is shown too.
    let fitting = move || ui.stage.get() == Stage::Fit;
    let last_line = ui.foot(side, move |foot| closed(&foot.edge.last));
    let whole_line = ui.foot(side, move |foot| foot.edge.trim.map(|_| closed(&foot.edge.whole)));
    let shoe_line = ui.foot(side, move |foot| closed(&foot.edge.shoe));
    let trim_line = ui.foot(side, move |foot| foot.edge.trim.map(|ends| path(ends, false)));
    let residuals = ui.foot(side, move |foot| foot.edge.residuals.iter().map(stroke).collect::<String>());
    let elements = ui.foot(side, move |foot| {
        let rim = |lines: &[Vec<[f32; 2]>]| lines.iter().map(|line| closed(line)).collect::<String>();
        foot.elements.iter().map(|element| (element.id, element.on, rim(&element.rim))).collect::<Vec<_>>()
    });
    let regions = ui.foot(side, move |foot| {
        foot.regions.iter().map(|region| (region.id, region.on, closed(&region.curve))).collect::<Vec<_>>()
    });
    let measure = Memo::new(move |_| {
        let chosen = ui.measure.get()?;
        ui.with_foot(side, |foot| {
            let measure = foot.measures.iter().find(|measure| measure.id == chosen)?;
            let lines =
                measure.path.iter().map(|line| path(line.iter().map(|p| [f64::from(p[0]), f64::from(p[1])]), false));
            Some(lines.collect::<String>())
        })
        .flatten()
    });
    // Where the landmark in hand was looked for.
    let clue = Memo::new(move |_| {
        let id = match ui.held.get() {
            Some(Held { side: of, target: Target::Landmark { id } }) if of == side => id,
            _ => return None,
        };
        ui.with_foot(side, |foot| {
            let landmark = foot.landmarks.iter().find(|landmark| landmark.id == id && !landmark.by_hand)?;
            let flat = |line: &Vec<[f32; 3]>| path(line.iter().map(|p| [f64::from(p[0]), f64::from(p[1])]), false);
            Some(landmark.clue_lines.iter().map(flat).collect::<String>())
        })
        .flatten()
    });
    let iso_lines = move |on_dark: bool| {
        let one = |line: &Vec<P2>| path(line.iter().copied(), false);
        let of_kind = move |iso: &&Iso| iso.on_dark == on_dark;
        move || isos.with(|isos| isos.iter().filter(of_kind).flat_map(|iso| &iso.lines).map(one).collect::<String>())
    };
    let held = move |id: u32, of: fn(&engine::view::Target) -> Option<u32>| {
        ui.held.with(|held| held.as_ref().is_some_and(|held| held.side == side && of(&held.target) == Some(id)))
    };
    view! {
        <g class="foot-lines" class:hidden=move || !ui.shows(side) class:aside=move || !matches!(ui.stage.get(), Stage::Shape | Stage::Make) class:asleep=move || ui.side.get() != side transform=sheet_matrix(side)>
            <path class="print" d=print fill-rule="evenodd" />
            <path class="silhouette" d=silhouette />
            <path class="iso" d=iso_lines(false) />
            <path class="iso on-dark" d=iso_lines(true) />
            {move || regions.get().unwrap_or_default().into_iter().map(|(id, on, d)| view! {
                <path class="halo" d=d.clone() />
                <path class="region" class:off=!on class:chosen=move || held(id, region_of) d=d />
            }).collect_view()}
            {move || elements.get().unwrap_or_default().into_iter().map(|(id, on, d)| view! {
                <path class="halo" d=d.clone() />
                <path class="element" class:off=!on class:chosen=move || held(id, element_of) d=d />
            }).collect_view()}
            <path class="element-curve" d=drawn_line />
            <path class="ghost-outline" d=move || ghost.get().flatten() />
            <g class:hidden=move || !fitting()>
                <path class="whole-outline" d=move || whole_line.get().flatten() />
                <path class="last-outline" d=last_line />
                <path class="residual" d=residuals />
                <path class="trim-line" d=move || trim_line.get().flatten() />
            </g>
            <path class="shoe-outline" class:hidden=move || !matches!(ui.stage.get(), Stage::Fit | Stage::Shape) d=shoe_line />
            <path class="halo wide" d=outline />
            <path class="outline" d=outline />
            <path class="clue-line" d=clue />
            <path class="measure" d=measure />
        </g>
    }
}

/// How much longer than the distance its stroke is drawn.
const RESIDUAL_STRETCH: f32 = 5.0;

/// A stroke from the fitted edge towards the foot's own.
fn stroke(residual: &engine::view::ResidualView) -> String {
    let (from, to) = (residual.last, residual.foot);
    let stretched = [0, 1].map(|axis| f64::from(from[axis] + (to[axis] - from[axis]) * RESIDUAL_STRETCH));
    path([from.map(f64::from), stretched], false)
}

/// The words on the sheet: numbers of iso-lines, names of elements and regions, which foot it is. In pixels.
#[component]
pub(crate) fn FootWords(side: Side, view: Memo<View>, isos: Memo<Vec<Iso>>) -> impl IntoView {
    let ui = ui();
    let px = move |at: P2| view.get().px(sheet_from_foot(side, at));
    let iso_places = Memo::new(move |_| isos.with(|isos| number_places(isos)));
    let iso_numbers = move || {
        let number = |(level, on_dark, at): (f32, bool, P2)| {
            let [x, y] = px(at);
            let word = ui.paint.get().quantity().map(|quantity| quantity.word(f64::from(level), 0));
            view! { <text class="iso-number" class:on-dark=on_dark x=x y=y dy="0.35em">{word}</text> }
        };
        iso_places.get().into_iter().map(number).collect_view()
    };
    // Names only where one works with what they name: elsewhere they would cover the drawing.
    let names = Memo::new(move |_| {
        let middle = |rim: &[[f32; 2]]| mean(rim.iter().map(|p| p.map(f64::from)));
        let held = ui.held.get().filter(|held| held.side == side).map(|held| held.target);
        let stage = ui.stage.get();
        ui.with_foot(side, |foot| {
            // The selected one's handle says its name.
            let (element, region) = (held.as_ref().and_then(element_of), held.as_ref().and_then(region_of));
            let elements = foot.elements.iter().filter(|e| stage == Stage::Shape && e.on && element != Some(e.id));
            let regions = foot.regions.iter().filter(|r| stage == Stage::Grade && r.on && region != Some(r.id));
            let elements =
                elements.map(|element| (element.label.clone(), middle(element.rim.first().map_or(&[], Vec::as_slice))));
            let regions = regions.map(|region| (region_name(region), middle(&region.curve)));
            elements.chain(regions).collect::<Vec<_>>()
        })
    });
    let name_texts = move || {
        names
            .get()
            .unwrap_or_default()
            .into_iter()
            .filter_map(|(name, at)| {
                let [x, y] = px(at?);
                Some(view! { <text class="name-text" x=x y=y dy="-0.9em">{name}</text> })
            })
            .collect_view()
    };
    let present = ui.foot(side, |_| ());
    let title = move || {
        present.get().map(|()| {
            let [u, v] = px(TITLE_AT);
            let word = super::stage_intake::side_label(side);
            view! { <text class="side-text" class:asleep=move || ui.side.get() != side x=u y=v>{word}</text> }
        })
    };
    view! { <g class="words" class:hidden=move || !ui.shows(side) aria-hidden="true">{iso_numbers}{name_texts}{title}</g> }
}

fn region_name(region: &engine::view::RegionView) -> String {
    format!("{} · {:.0} Shore A", region.name, region.shore_a)
}

/// Where the numbers of iso-lines stand: each on its line, as far from those placed before as it can be; none where it
/// would stand on another.
fn number_places(isos: &[Iso]) -> Vec<(f32, bool, P2)> {
    let mut placed: Vec<(f32, bool, P2)> = Vec::new();
    let lines = isos.iter().flat_map(|iso| iso.lines.iter().map(move |line| (iso, line)));
    for (iso, line) in lines.filter(|(_, line)| length(line) >= SHORTEST_LABELLED_MM) {
        let apart = |at: &P2| placed.iter().map(|(.., other)| distance(*other, *at)).fold(f64::INFINITY, f64::min);
        // The middle first, so that a line on its own has its number there.
        let candidates = PLACES_TRIED.map(|share| line[((line.len() - 1) as f64 * share) as usize]);
        let mut best = (0.0, None);
        for at in candidates {
            let apart = apart(&at);
            if apart > best.0 {
                best = (apart, Some(at));
            }
        }
        if let (CLOSEST_NUMBERS_MM.., Some(at)) = best {
            placed.push((iso.level, iso.on_dark, at));
        }
    }
    placed
}

fn length(line: &[P2]) -> f64 {
    line.windows(2).map(|ends| distance(ends[0], ends[1])).sum()
}

fn mean(points: impl Iterator<Item = P2>) -> Option<P2> {
    let (mut sum, mut count) = ([0.0, 0.0], 0.0);
    for [x, y] in points {
        sum = [sum[0] + x, sum[1] + y];
        count += 1.0;
    }
    (count > 0.0).then(|| [sum[0] / count, sum[1] / count])
}
