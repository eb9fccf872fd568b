//! What is drawn in a cut: its lines, the dimensions where the cuts cross, what was measured.

use super::colour::Quantity;
use super::fields::number;
use super::geometry::{P2, View, path};
use super::measuring::{numbers, places};
use super::plan_marks::{LABEL_PX, marks};
use super::slice::{Reading, Slice};
use super::state::{Paint, Stage, Ui, ui};
use super::strip::{NEAR_MM, RULER_PX, Way};
use engine::view::SectionView;
use leptos::prelude::*;

/// Stops of the colour along a cut.
const STOPS: usize = 48;
/// A dimension line stands so far beside the crossing, px.
const DIMENSION_PX: f64 = 16.0;
/// A smaller gap to the skin is not drawn, mm.
const LEAST_GAP_MM: f64 = 0.1;
/// Numbers of dimensions stand at least this far apart, px.
const NUMBERS_PX: f64 = 12.0;

/// At Fit the outlines of the sheet stand in the cut between these heights, mm.
const EDGE_MM: [f32; 2] = [-9.0, 22.0];

/// Skin, insole top and bottom, and the insole's material between them.
#[component]
pub(crate) fn CutDrawing(way: Way, slice: Memo<Slice>, view: Memo<View>) -> impl IntoView {
    let ui = ui();
    let index = way.index();
    let section = move |read: &dyn Fn(&SectionView) -> String| {
        ui.cuts.with(|cuts| cuts.get(index).and_then(Option::as_ref).map(read)).unwrap_or_default()
    };
    let place = move |p: &[f32; 2]| view.get().px([slice.get().sign() * f64::from(p[0]), f64::from(p[1])]);
    let line = move |points: &[[f32; 2]]| path(points.iter().map(place), false);
    let pieces = move |pieces: &[Vec<[f32; 2]>]| pieces.iter().map(|piece| line(piece)).collect::<String>();
    let band =
        move |upper: &[[f32; 2]], lower: &[[f32; 2]]| path(upper.iter().chain(lower.iter().rev()).map(place), true);
    let skin = move || section(&|cut| pieces(&cut.skin));
    let tissue = move || section(&|cut| pieces(&cut.tissue));
    let cover = move || section(&|cut| line(&cut.cover));
    let cover_body =
        move || section(&|cut| if cut.cover.is_empty() { String::new() } else { band(&cut.cover, &cut.top) });
    let other = move || section(&|cut| line(&cut.other));
    let last_bottom = move || section(&|cut| line(&cut.last_bottom));
    let edges = move || {
        let slice = slice.get();
        let stroke = move |u: f64| path(EDGE_MM.map(|z| place(&[u as f32, z])), false);
        let strokes = move |curve: &[[f32; 2]]| slice.crossings(curve).into_iter().map(stroke).collect::<String>();
        (ui.stage.get() == Stage::Fit).then(|| {
            ui.with_foot(slice.side, |foot| {
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
    let top = move || section(&|cut| line(&cut.top));
    let bottom = move || section(&|cut| line(&cut.bottom));
    let body = move || section(&|cut| band(&cut.top, &cut.bottom));
    let fill = format!("cut-fill-{}", way.word());
    let clip = format!("cut-clip-{}", way.word());
    let clip_frame = move || {
        let [width, height] = view.get().size;
        format!("M{} 0H{width:.0}V{:.0}H{}Z", RULER_PX[0], height - RULER_PX[1], RULER_PX[0])
    };
    let stops = move || {
        let colour = ui.paint.get() == Paint::Hardness;
        ui.cuts.with(|cuts| {
            let cut = cuts.get(index).and_then(Option::as_ref).filter(|cut| colour && cut.top.len() > 1 && cut.shore_a.len() == cut.top.len())?;
            let (first, last) = (place(&cut.top[0])[0], place(&cut.top[cut.top.len() - 1])[0]);
            let every = cut.top.len().div_ceil(STOPS);
            let stops = cut.top.iter().zip(&cut.shore_a).step_by(every).map(|(p, shore_a)| {
                let offset = ((place(p)[0] - first) / (last - first)).clamp(0.0, 1.0);
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
            <path class="cut-cover-body" d=cover_body />
            <path class="cut-cover" d=cover />
            <path class="cut-other" d=other />
            <path class="cut-last" d=last_bottom />
            <path class="cut-bottom" d=bottom />
            <path class="cut-top" d=top />
            <path class="cut-tissue" d=tissue />
            <path class="cut-skin" d=skin />
        </g>
    }
}

/// What is read where the other cut crosses, and where that is along this one.
fn reading(ui: Ui, way: Way, slice: Memo<Slice>) -> Memo<Option<(f64, Reading)>> {
    Memo::new(move |_| {
        let s = slice.get().crossing()?;
        ui.cuts.with(|cuts| Some((s, Reading::at(cuts.get(way.index())?.as_ref()?, s)?)))
    })
}

/// Thickness and gap as dimension lines beside the crossing.
#[component]
pub(crate) fn Dimensions(way: Way, slice: Memo<Slice>, view: Memo<View>) -> impl IntoView {
    let reading = reading(ui(), way, slice);
    move || {
        let (s, reading) = reading.get()?;
        let view = view.get();
        let px = |z: f64| view.px([slice.get().sign() * s, z]);
        let crossing = px(0.0)[0];
        // On the side where the label of a handle does not stand.
        let (x, anchor, aside) = if crossing > view.size[0] - LABEL_PX {
            (crossing + DIMENSION_PX, "start", 6.0)
        } else {
            (crossing - DIMENSION_PX, "end", -6.0)
        };
        let beyond = x + aside / 2.0;
        let line = |from: f64, to: f64| {
            let (a, b) = (px(from)[1], px(to)[1]);
            format!("M{x:.1} {a:.1}V{b:.1}M{crossing:.1} {a:.1}H{beyond:.1}M{crossing:.1} {b:.1}H{beyond:.1}")
        };
        let middle = |from: f64, to: f64| (px(from)[1] + px(to)[1]) / 2.0;
        let text = |y: f64, mm: f64| {
            view! { <text class="dimension-number" x=x + aside y=y dy="0.35em" text-anchor=anchor>{number(mm, 1)}</text> }
        };
        let mut lines = line(reading.bottom, reading.top);
        let at = middle(reading.bottom, reading.top);
        let gap = reading.gap().zip(reading.skin).filter(|(gap, _)| gap.abs() >= LEAST_GAP_MM).map(|(gap, skin)| {
            lines.push_str(&line(reading.bearing(), skin));
            text(middle(reading.bearing(), skin).min(at - NUMBERS_PX), gap)
        });
        Some(view! {
            <g class="dimensions" aria-hidden="true">
                <path class="halo" d=lines.clone() />
                <path class="dimension" d=lines />
                {text(at, reading.top - reading.bottom)}
                {gap}
            </g>
        })
    }
}

/// The same in words, with the heights that have no line of their own.
#[component]
pub(crate) fn Readings(slice: Memo<Slice>) -> impl IntoView {
    let reading = reading(ui(), Way::Along, slice);
    let text = move || {
        let (_, reading) = reading.get()?;
        let mm = |what: &str, value: f64| format!("{what} {}", number(value, 1));
        let parts = [
            Some(mm("thick", reading.top - reading.bottom)),
            Some(mm("bearing", reading.bearing())),
            reading.gap().map(|gap| mm("gap", gap)),
            reading.cover.map(|cover| mm("cover", cover - reading.top)),
        ];
        Some(format!("{} mm", parts.into_iter().flatten().collect::<Vec<_>>().join(" · ")))
    };
    let title = "Where the cuts cross: thickness of the insole made, height of the surface that the foot meets, from there up to the skin (negative: pressed into it), thickness of the cover";
    view! { <output class="cut-readings" data-testid="strip-readings" title=title>{text}</output> }
}

/// Places measured at that lie on the cut.
#[component]
pub(crate) fn MeasuredOnCut(way: Way, slice: Memo<Slice>, view: Memo<View>) -> impl IntoView {
    let ui = ui();
    move || {
        let slice = slice.get();
        let (_, measured) = ui.measured.get().filter(|(side, _)| *side == slice.side)?;
        let view = view.get();
        let px = |at: [f64; 3]| view.px(slice.flat(at));
        let all = places(&measured);
        let on = all.iter().copied().filter(|at| slice.off(*at) <= NEAR_MM).collect::<Vec<_>>();
        // Numbers stand where all they are about is in the cut.
        let whole = on.len() == all.len();
        let [distance, angle] = numbers(&measured, true).map(|number| number.filter(|_| whole));
        let number = |number: Option<([f64; 3], String)>| number.map(|(at, text)| (px(at), text));
        let on: Vec<P2> = on.into_iter().map(px).collect();
        Some(marks(way.word(), &on, number(distance), number(angle)))
    }
}

/// What the lines of the cuts mean.
#[component]
pub(crate) fn Legend() -> impl IntoView {
    let lines = [
        ("cut-top", "Top of the insole made"),
        ("cut-cover", "Top of its cover"),
        ("cut-bottom", "Bottom"),
        ("cut-skin", "Skin as scanned"),
        ("cut-tissue", "Soft tissue, estimate"),
        ("cut-other", "Compared insole"),
        ("cut-last", "Last bottom"),
        ("dimension", "Dimension where the cuts cross"),
    ];
    let row = |(class, label): (&'static str, &'static str)| {
        view! { <li><svg viewBox="0 0 34 10" aria-hidden="true"><path class=class d="M1 5H33" /></svg>{label}</li> }
    };
    view! {
        <details class="legend cut-legend">
            <summary data-testid="strip-legend">"Lines"</summary>
            <ul>{lines.map(row).collect_view()}</ul>
        </details>
    }
}
