//! A picture of a shoe's own insole: the person states its scale, by two clicks on a ruler or by its resolution, and it
//! is traced. The browser decodes it; the engine gets its grey levels.

use super::fields::{NumberField, NumberSpec, number};
use super::geometry::P2;
use super::state::{Ui, ui};
use crate::protocol::Request;
use base::{Severity, Side};
use js_sys::Uint8Array;
use leptos::html::Canvas;
use leptos::prelude::*;
use leptos::task::spawn_local;
use std::rc::Rc;
use wasm_bindgen::JsCast;
use wasm_bindgen_futures::JsFuture;
use web_sys::{CanvasRenderingContext2d, HtmlCanvasElement, ImageBitmap, PointerEvent};

/// A picture is brought down to at most this many pixels on its longer side: about 0.15 mm each on an insole.
const LONGEST_PX: u32 = 2400;

/// mm in an inch.
const INCH_MM: f64 = 25.4;

/// A picture that waits for its scale.
pub(crate) struct ShoePicture {
    side: Side,
    name: String,
    bitmap: ImageBitmap,
    /// Pixels as traced for one pixel of the file.
    scale: f64,
    size: [u32; 2],
}

/// Decodes a picture and asks for its scale.
pub(crate) async fn open(ui: Ui, side: Side, file: web_sys::File) {
    let name = file.name();
    let decoding = web_sys::window().map(|window| window.create_image_bitmap_with_blob(&file));
    let bitmap = match decoding {
        Some(Ok(promise)) => {
            JsFuture::from(promise).await.ok().and_then(|bitmap| bitmap.dyn_into::<ImageBitmap>().ok())
        }
        _ => None,
    };
    let Some(bitmap) = bitmap else {
        let text = format!(
            "{name}: the browser cannot show this as a picture. Save it as PNG or JPEG, or bring an outline drawing (SVG, DXF)."
        );
        ui.notify(Severity::Check, text);
        return;
    };
    let longest = bitmap.width().max(bitmap.height()).max(1);
    let scale = (f64::from(LONGEST_PX) / f64::from(longest)).min(1.0);
    let size = [bitmap.width(), bitmap.height()].map(|px| ((f64::from(px) * scale).round() as u32).max(1));
    ui.picture.set(Some(Rc::new(ShoePicture { side, name, bitmap, scale, size })));
}

/// The dialog that asks for the scale.
#[component]
pub(crate) fn PictureDialog() -> impl IntoView {
    let ui = ui();
    move || ui.picture.get().map(|picture| view! { <Asked picture=StoredValue::new_local(picture) /> })
}

#[component]
fn Asked(picture: StoredValue<Rc<ShoePicture>, LocalStorage>) -> impl IntoView {
    let ui = ui();
    let canvas = NodeRef::<Canvas>::new();
    let (ends, seed) = (RwSignal::new(Vec::<P2>::new()), RwSignal::new(None::<P2>));
    let (length_mm, dpi) = (RwSignal::new(100.0), RwSignal::new(None::<f64>));
    let (name, size, scale) = picture.with_value(|picture| (picture.name.clone(), picture.size, picture.scale));
    Effect::new(move |_| {
        if let Some(canvas) = canvas.get() {
            picture.with_value(|picture| draw(&canvas, picture));
        }
    });
    let mm_per_pixel = Memo::new(move |_| match (dpi.get(), ends.get().as_slice()) {
        (Some(dpi), _) => Some(INCH_MM / dpi / scale),
        (None, [a, b]) => {
            last::tracing::picture::scale_from_clicks(*a, *b, length_mm.get()).ok().map(|scale| scale.mm_per_pixel)
        }
        _ => None,
    });
    let says = move || {
        match (mm_per_pixel.get(), ends.get().len()) {
        (Some(mm), _) => format!("{} mm a pixel; the picture is {} mm wide. Click on the insole if there is more in the picture, then trace it.", number(mm, 3), number(mm * f64::from(size[0]), 0)),
        (None, 0) => "Click on both ends of a known length in the picture, such as 100 mm of a ruler lying beside the insole; or state the resolution of a flat scan.".to_owned(),
        (None, 1) => "Click on the other end.".to_owned(),
        (None, _) => "The ends lie too near to each other: a longer length gives a truer scale.".to_owned(),
    }
    };
    let click = move |event: PointerEvent| {
        let Some(at) = canvas.get_untracked().and_then(|canvas| place(&canvas, &event)) else { return };
        if mm_per_pixel.get_untracked().is_some() {
            seed.set(Some(at));
        } else {
            ends.update(|ends| {
                ends.truncate(1);
                ends.push(at);
            });
        }
    };
    let again = move |_| {
        ends.set(Vec::new());
        seed.set(None);
        dpi.set(None);
    };
    let close = move || ui.picture.set(None);
    let trace = move |_| {
        let (Some(mm_per_pixel), Some(canvas)) = (mm_per_pixel.get_untracked(), canvas.get_untracked()) else { return };
        let Some(luma) = grey_levels(&canvas) else {
            ui.notify(
                Severity::Check,
                "The browser did not give the picture's pixels. Save it as PNG and choose it again.",
            );
            return;
        };
        let (side, name, [width, height]) =
            picture.with_value(|picture| (picture.side, picture.name.clone(), picture.size));
        let seed = seed.get_untracked();
        spawn_local(async move {
            let (width, height) = (width as usize, height as usize);
            let request = Request::TracePicture { side, name, width, height, mm_per_pixel, seed };
            if ui.asked(request, vec![Uint8Array::from(luma.as_slice())]).await.is_some() {
                close();
            }
        });
    };
    let length = NumberSpec {
        testid: "picture-length".into(),
        label: "Length between the clicks".into(),
        unit: "mm".into(),
        min: 5.0,
        max: 600.0,
        step: 1.0,
        help: "The longer, the truer: a click is a pixel or two off.".into(),
    };
    let resolution = NumberSpec {
        testid: "picture-dpi".into(),
        label: "or resolution of a flat scan".into(),
        unit: "dpi".into(),
        min: 20.0,
        max: 1200.0,
        step: 1.0,
        help: "Pixels an inch, as the scanner states them.".into(),
    };
    let mark = move |class: &'static str, [x, y]: P2| {
        let r = f64::from(size[0].max(size[1])) / 120.0;
        view! { <path class=class d=format!("M{} {y}h{}M{x} {}v{}", x - r, 2.0 * r, y - r, 2.0 * r) /> }
    };
    view! {
        <div class="over" role="dialog" aria-label="Scale of the picture" data-testid="picture-dialog">
            <div class="sheet-dialog">
                <h2>"The shoe's insole: "{name}</h2>
                <p role="status" data-testid="picture-says">{says}</p>
                <div class="picture">
                    <canvas node_ref=canvas width=size[0] height=size[1] data-testid="picture" on:pointerdown=click></canvas>
                    <svg viewBox=format!("0 0 {} {}", size[0], size[1]) aria-hidden="true">
                        {move || ends.get().into_iter().map(|at| mark("picture-end", at)).collect_view()}
                        {move || match ends.get().as_slice() {
                            [a, b] => Some(view! { <path class="picture-end" d=format!("M{} {}L{} {}", a[0], a[1], b[0], b[1]) /> }),
                            _ => None,
                        }}
                        {move || seed.get().map(|at| mark("picture-seed", at))}
                    </svg>
                </div>
                <div class="fields">
                    <NumberField spec=length value=Signal::derive(move || Some(length_mm.get())) set=move |mm| length_mm.set(mm) />
                    <NumberField spec=resolution value=dpi set=move |value| dpi.set(Some(value)) />
                </div>
                <div class="row tools">
                    <button class="main" data-testid="picture-trace" disabled=move || mm_per_pixel.get().is_none() on:click=trace>"Trace it"</button>
                    <button data-testid="picture-again" on:click=again>"Click again"</button>
                    <button data-testid="picture-close" on:click=move |_| close()>"Leave it"</button>
                </div>
            </div>
        </div>
    }
}

fn context(canvas: &HtmlCanvasElement) -> Option<CanvasRenderingContext2d> {
    canvas.get_context("2d").ok().flatten()?.dyn_into().ok()
}

fn draw(canvas: &HtmlCanvasElement, picture: &ShoePicture) {
    if let Some(context) = context(canvas) {
        let [width, height] = picture.size.map(f64::from);
        // A picture that cannot be drawn stays blank, and tracing it says so.
        let _ = context.draw_image_with_image_bitmap_and_dw_and_dh(&picture.bitmap, 0.0, 0.0, width, height);
    }
}

/// Where on the picture the pointer is, pixels.
fn place(canvas: &HtmlCanvasElement, event: &PointerEvent) -> Option<P2> {
    let shown = canvas.get_bounding_client_rect();
    let share = |at: i32, from: f64, over: f64| (over > 0.0).then(|| (f64::from(at) - from) / over);
    let x = share(event.client_x(), shown.left(), shown.width())? * f64::from(canvas.width());
    let y = share(event.client_y(), shown.top(), shown.height())? * f64::from(canvas.height());
    Some([x, y])
}

/// Grey levels of the canvas, row by row from the top, by the weights of ITU-R BT.601.
fn grey_levels(canvas: &HtmlCanvasElement) -> Option<Vec<u8>> {
    let pixels =
        context(canvas)?.get_image_data(0.0, 0.0, f64::from(canvas.width()), f64::from(canvas.height())).ok()?;
    let grey = |p: &[u8]| ((u32::from(p[0]) * 299 + u32::from(p[1]) * 587 + u32::from(p[2]) * 114) / 1000) as u8;
    Some(pixels.data().0.chunks_exact(4).map(grey).collect())
}
