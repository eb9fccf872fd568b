//! The page's frame: bar, rail, panel, sheet, 3D view, strip.

use super::files::{DEMOS, Pick, is_drawing, open_demo, pick_files, take_files};
use super::findings::Findings;
use super::fit_picture::PictureDialog;
use super::keys::listen;
use super::measuring::measure_again;
use super::notices::Notices;
use super::plan::Plan;
use super::rail::Rail;
use super::stage_fit::Fit;
use super::stage_grade::Grade;
use super::stage_intake::Intake;
use super::stage_make::{CAUTION, Make};
use super::stage_measure::Measure;
use super::stage_shape::Shape;
use super::state::{EdgeTool, Mode, Paint, Skin, Stage, Ui, ui};
use super::strip::Strip;
use super::topbar::TopBar;
use super::view_3d_pane::View3dPane;
use base::Side;
use leptos::prelude::*;
use web_sys::DragEvent;

/// The page.
#[component]
pub(crate) fn App(ui: Ui) -> impl IntoView {
    provide_context(ui);
    listen(ui);
    show_what_the_stage_is_about(ui);
    say_how_to_place(ui);
    measure_again(ui);
    let over = RwSignal::new(false);
    let drag_over = move |event: DragEvent| {
        event.prevent_default();
        over.set(true);
    };
    let dropped = move |event: DragEvent| {
        event.prevent_default();
        over.set(false);
        if let Some(files) = event.data_transfer().and_then(|data| data.files()) {
            let pick = if ui.stage.get_untracked() == Stage::Fit && is_drawing(&files) {
                Pick::Shoe(ui.side.get_untracked())
            } else {
                Pick::Scan(None)
            };
            take_files(ui, &files, pick);
        }
    };
    let empty = Memo::new(move |_| ui.ready.get() && Side::ALL.into_iter().all(|side| !ui.has(side)));
    view! {
        <div class="bench" on:dragover=drag_over on:dragleave=move |_| over.set(false) on:drop=dropped>
            <TopBar />
            <main>
                <Rail />
                <Panel />
                <div class="work">
                    <Plan />
                    <View3dPane />
                    <Strip />
                    {move || empty.get().then(|| view! { <Begin /> })}
                    <Notices />
                </div>
            </main>
            <PictureDialog />
            {move || over.get().then(|| view! {
                <div class="drop-here" aria-hidden="true">"Drop one or two foot scans, or a .solewright case"</div>
            })}
        </div>
    }
}

/// The stage's panel, help on the field in use, and the findings.
#[component]
fn Panel() -> impl IntoView {
    let ui = ui();
    // Before making, nothing but the caution stands here.
    let hint = move || match ui.stage.get() {
        Stage::Make => view! { <span data-testid="caution">{CAUTION}</span> }.into_any(),
        _ => ui.hint.get().into_any(),
    };
    let stage = move || match ui.stage.get() {
        Stage::Intake => view! { <Intake /> }.into_any(),
        Stage::Measure => view! { <Measure /> }.into_any(),
        Stage::Fit => view! { <Fit /> }.into_any(),
        Stage::Shape => view! { <Shape /> }.into_any(),
        Stage::Grade => view! { <Grade /> }.into_any(),
        Stage::Make => view! { <Make /> }.into_any(),
    };
    view! {
        <div class="panel">
            <header><h1 data-testid="stage-title">{move || ui.stage.get().label()}</h1><p>{move || ui.stage.get().purpose()}</p></header>
            <div class="panel-body" data-testid="panel">{stage}</div>
            <p class="hint" data-testid="hint" aria-live="polite">{hint}</p>
            <Findings />
        </div>
    }
}

/// What the sheet offers while there is no foot.
#[component]
fn Begin() -> impl IntoView {
    let ui = ui();
    view! {
        <section class="begin" data-testid="begin" aria-label="Begin">
            <h2>"Two feet in, a pair of insoles out"</h2>
            <p>"Bring in one or two foot scans: STL, OBJ, PLY, glTF, 3MF, point lists or height images. They stay on this machine."</p>
            <div class="row">
                <button class="main" data-testid="begin-scan" on:click=move |_| pick_files(ui, Pick::Scan(None))>"Bring in a scan…"</button>
                <button data-testid="begin-case" on:click=move |_| pick_files(ui, Pick::Case)>"Open a case…"</button>
            </div>
            <p>"Or try it with a demo pair:"</p>
            <div class="row">
                {DEMOS.map(|(person, label)| view! {
                    <button data-testid=format!("open-demo-{person}") on:click=move |_| open_demo(ui, person)>{label}</button>
                }).collect_view()}
            </div>
        </section>
    }
}

/// Entering a stage colours the insole and shows the foot as its work needs them; the person can choose otherwise.
fn show_what_the_stage_is_about(ui: Ui) {
    Effect::new(move |_| {
        let stage = ui.stage.get();
        let (paint, skin) = match stage {
            Stage::Intake | Stage::Measure => (Paint::Material, Skin::Solid),
            Stage::Fit => (Paint::Material, Skin::Ghost),
            Stage::Shape => (Paint::Thickness, Skin::Ghost),
            Stage::Grade => (Paint::Hardness, Skin::Off),
            Stage::Make => (Paint::Hardness, Skin::Off),
        };
        ui.paint.set(paint);
        ui.skin.set(skin);
        ui.mode.set(Mode::Select);
        ui.hint.set(stage.tip().to_owned());
        // A handle of another stage's work would stand alone on the sheet.
        let foreign = ui.held.with_untracked(|held| held.as_ref().is_some_and(|held| !stage.shows(&held.target)));
        if foreign {
            ui.held.set(None);
        }
        if stage != Stage::Measure {
            ui.measure.set(None);
        }
        if stage != Stage::Shape {
            ui.measured.set(None);
        }
    });
}

fn say_how_to_place(ui: Ui) {
    Effect::new(move |_| {
        const LAY: [&str; 3] = [
            "Click the heel of the foot, at the back of its sole. 1 of 3.",
            "Click the ball on the side of the big toe. 2 of 3.",
            "Click the ball on the side of the little toe. 3 of 3.",
        ];
        const HOW: &str = "On the sheet or in the 3D view; Space takes where the cuts cross, Escape gives up.";
        let what = ui.mode.with(|mode| match mode {
            Mode::Place { .. } => Some("Click where its middle belongs.".to_owned()),
            Mode::Lay { points, .. } => LAY.get(points.len()).map(|&what| what.to_owned()),
            Mode::Mark { id } => Some(format!("Click where the {} is.", id.label().to_ascii_lowercase())),
            Mode::Edge { tool: EdgeTool::Add, .. } => Some("Click on the edge where the point shall be.".to_owned()),
            Mode::Edge { from: None, .. } => Some("Click on the edge point where it begins.".to_owned()),
            Mode::Edge { from: Some(_), .. } => Some("Click on the edge point where it ends.".to_owned()),
            Mode::Outline { .. } => Some("Click round the outline it is drawn to; Enter closes it.".to_owned()),
            Mode::Sculpt => Some("Drag over the insole to paint; [ and ] change the radius.".to_owned()),
            Mode::Measure { points, .. } if points.is_empty() => Some("Click where to measure from.".to_owned()),
            Mode::Measure { .. } => Some("Click where to measure to; a third place gives the angle.".to_owned()),
            Mode::CutLine { from: None, .. } => Some("Click where the cut begins.".to_owned()),
            Mode::CutLine { from: Some(_), .. } => Some("Click where the cut ends.".to_owned()),
            Mode::Select | Mode::Draw { .. } => None,
        });
        if let Some(what) = what {
            ui.hint.set(format!("{what} {HOW}"));
        }
    });
}
