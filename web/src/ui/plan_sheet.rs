//! The sheet itself: millimetre lines and rulers, in pixels of the pane.

use super::fields::number;
use super::geometry::{P2, View, foot_from_sheet, sheet_from_foot, tick_mm, ticks};
use super::state::ui;
use leptos::prelude::*;

/// Width of the ruler on the left and height of the one below, px.
pub(crate) const RULER_PX: P2 = [34.0, 20.0];
/// Closer than this, px, lines would run together to a grey.
const CLOSEST_LINES_PX: f64 = 4.5;
/// Labels of a ruler stand at least this far apart, px.
const CLOSEST_LABELS_PX: f64 = 44.0;

/// The lines of millimetre paper: every 1, 5 and 10 mm, the fine ones only where they stay apart.
#[component]
pub(crate) fn Paper(view: Memo<View>) -> impl IntoView {
    // Each line once: multiples of `coarser` have a line of their own.
    let lines = move |step: f64, coarser: Option<f64>| {
        move || {
            let view = view.get();
            if view.scale * step < CLOSEST_LINES_PX {
                return String::new();
            }
            let [left, top] = view.mm([0.0, 0.0]);
            let [right, bottom] = view.mm(view.size);
            let own = |at: &f64| coarser.is_none_or(|coarser| !is_multiple(*at, coarser));
            let upright = ticks(left, right, step)
                .filter(own)
                .map(|u| format!("M{:.1} 0V{:.0}", view.px([u, 0.0])[0], view.size[1]));
            let level = ticks(bottom, top, step)
                .filter(own)
                .map(|v| format!("M0 {:.1}H{:.0}", view.px([0.0, v])[1], view.size[0]));
            upright.chain(level).collect()
        }
    };
    view! {
        <path class="mm-1" d=lines(1.0, Some(5.0)) />
        <path class="mm-5" d=lines(5.0, Some(10.0)) />
        <path class="mm-10" d=lines(10.0, None) />
    }
}

/// Rulers along the left edge (x, from the heel) and the lower edge (y of the active foot, medial positive).
#[component]
pub(crate) fn Rulers(view: Memo<View>) -> impl IntoView {
    let ui = ui();
    let left = move || {
        let view = view.get();
        let step = tick_mm(view.scale, CLOSEST_LABELS_PX);
        let (top, bottom) = (view.mm([0.0, 0.0])[1], view.mm([0.0, view.size[1] - RULER_PX[1]])[1]);
        let labels = ticks(bottom, top, step).map(|x| {
            let y = view.px([0.0, x])[1];
            view! { <text x=RULER_PX[0] - 10.0 y=y dy="0.35em" text-anchor="end">{number(x, 0)}</text> }
        });
        let marks: String = marks(bottom, top, step)
            .map(|(x, long)| format!("M{:.0} {:.1}h-{long}", RULER_PX[0], view.px([0.0, x])[1]))
            .collect();
        view! { <path class="ruler-tick" d=marks />{labels.collect_view()} }
    };
    let below = move || {
        let view = view.get();
        let side = ui.side.get();
        let step = tick_mm(view.scale, CLOSEST_LABELS_PX);
        let base = view.size[1] - RULER_PX[1];
        let ends = [RULER_PX[0], view.size[0]].map(|px| foot_from_sheet(side, view.mm([px, 0.0]))[1]);
        let (from, to) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
        let px = |y: f64| view.px(sheet_from_foot(side, [0.0, y]))[0];
        // A number at the very edge would be cut.
        let whole = |y: &f64| px(*y) < view.size[0] - 16.0;
        let labels = ticks(from, to, step).filter(whole).map(|y| {
            view! { <text x=px(y) y=base + 15.0 text-anchor="middle">{number(y, 0)}</text> }
        });
        let marks: String = marks(from, to, step).map(|(y, long)| format!("M{:.1} {base:.0}v{long}", px(y))).collect();
        view! { <path class="ruler-tick" d=marks />{labels.collect_view()} }
    };
    let frame = move || {
        let [width, height] = view.get().size;
        let [left, below] = RULER_PX;
        let (up, across) = ((height - below).max(0.0), width);
        view! {
            <rect class="ruler" x="0" y="0" width=left height=up />
            <rect class="ruler" x="0" y=up width=across height=below />
            <path class="ruler-edge" d=format!("M{left} 0V{up:.0}H{width:.0}") />
        }
    };
    let unit = move || {
        let height = view.get().size[1];
        view! { <text class="ruler-unit" x="6" y=height - 6.0>"mm"</text> }
    };
    view! { <g class="rulers" aria-hidden="true">{frame}{left}{below}{unit}</g> }
}

/// Ticks with their length, px: labelled ones long, tenths or fifths between them short.
fn marks(from: f64, to: f64, step: f64) -> impl Iterator<Item = (f64, u8)> {
    let fine = if step >= 10.0 { step / 10.0 } else { step / 5.0 };
    ticks(from, to, fine).map(move |at| {
        let long = if is_multiple(at, step) {
            8
        } else if is_multiple(at, step / 2.0) {
            5
        } else {
            3
        };
        (at, long)
    })
}

/// Whether `at` is a multiple of `step`, within rounding.
fn is_multiple(at: f64, step: f64) -> bool {
    (at / step - (at / step).round()).abs() < 1e-6
}
