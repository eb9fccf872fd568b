//! Files in and out: scans and case files by picker, drop or demo; files for the shop by download.

use super::state::Ui;
use crate::protocol::{File, Reply, Request};
use base::{Params, Severity, Side};
use engine::Added;
use foot::WeightBearing;
use js_sys::{Array, Uint8Array};
use leptos::prelude::*;
use leptos::task::spawn_local;
use scan::HeightScale;
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_futures::JsFuture;
use web_sys::{Blob, BlobPropertyBag, FileList, HtmlAnchorElement, HtmlInputElement, Url};

/// The demo people, ours by a phantom generator: id in the file name and label.
pub(crate) const DEMOS: [(&str, &str); 3] =
    [("ordinary", "Ordinary feet"), ("flat", "Flat feet"), ("high-arched", "High-arched feet")];

/// Where the site keeps the demo scans.
const SCANS: &str = "sample-scans";

/// What is picked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Pick {
    /// Scans: one of that foot, or of feet to be found out.
    Scan(Option<Side>),
    /// A second scan of that foot, loaded like this.
    Second(Side, WeightBearing),
    /// A drawing or a picture of the shoe's own insole, for that foot.
    Shoe(Side),
    /// The file of a last, for that foot.
    Last(Side),
    /// The file of a build, to be kept among the shop's own.
    Build,
    /// A case file.
    Case,
}

/// Opens the browser's file picker. Call it from an event of the person's.
pub(crate) fn pick_files(ui: Ui, pick: Pick) {
    let Some(input) =
        document().create_element("input").ok().and_then(|input| input.dyn_into::<HtmlInputElement>().ok())
    else {
        return;
    };
    input.set_type("file");
    input.set_accept(&match pick {
        Pick::Scan(_) | Pick::Second(..) => scan_endings(),
        Pick::Last(_) | Pick::Build => ".json".to_owned(),
        Pick::Shoe(_) => ".svg,.dxf,image/*".to_owned(),
        Pick::Case => format!(".{}", case::file::EXTENSION),
    });
    input.set_multiple(pick == Pick::Scan(None));
    let picked = input.clone();
    let changed = Closure::once_into_js(move || {
        if let Some(files) = picked.files() {
            take_files(ui, &files, pick);
        }
    });
    input.set_onchange(changed.dyn_ref());
    input.click();
}

/// Endings of the files a scan comes in, as a file picker takes them.
fn scan_endings() -> String {
    let all = scan::ALL.iter().flat_map(|format| format.extensions());
    all.map(|ending| format!(".{ending}")).collect::<Vec<_>>().join(",")
}

/// Whether what was dropped is a drawing or a picture, and no scan.
pub(crate) fn is_drawing(files: &FileList) -> bool {
    let name = files.get(0).map(|file| file.name().to_ascii_lowercase()).unwrap_or_default();
    [".svg", ".dxf", ".jpg", ".jpeg", ".bmp", ".webp", ".png"].iter().any(|ending| name.ends_with(ending))
}

/// Takes in what was picked or dropped: case files are opened, everything else is read as scans, all as one step.
pub(crate) fn take_files(ui: Ui, files: &FileList, pick: Pick) {
    let files: Vec<web_sys::File> = (0..files.length()).filter_map(|index| files.get(index)).collect();
    match pick {
        Pick::Shoe(side) => return files.into_iter().take(1).for_each(|file| take_shoe(ui, side, file)),
        Pick::Last(side) => return files.into_iter().take(1).for_each(|file| take_last(ui, side, file)),
        Pick::Build => return files.into_iter().take(1).for_each(|file| take_build(ui, file)),
        _ => {}
    }
    spawn_local(async move {
        let mut scans = Vec::new();
        for file in files {
            let name = file.name();
            match JsFuture::from(file.array_buffer()).await {
                Ok(buffer) if is_case(&name) => open_case(ui, &name, Uint8Array::new(&buffer)).await,
                Ok(buffer) => scans.push((name, Uint8Array::new(&buffer))),
                Err(_) => ui.notify(
                    Severity::Check,
                    format!("{name}: the browser could not read this file. Check that it is still there and that you may open it, then try again."),
                ),
            }
        }
        match (pick, scans.pop()) {
            (_, None) => {}
            (Pick::Second(side, state), Some((name, bytes))) => {
                let request = Request::AddSecond { side, name, state, heights: height_scale(ui) };
                ui.asked(request, vec![bytes]).await;
            }
            (pick, Some(last)) => {
                scans.push(last);
                take_scans(ui, scans, if let Pick::Scan(side) = pick { side } else { None }).await;
            }
        }
    });
}

/// Takes the numbers of a last out of its file.
fn take_last(ui: Ui, side: Side, file: web_sys::File) {
    spawn_local(async move { super::fit_last::take(ui, side, &file.name(), &text_of(&file).await) });
}

/// Keeps the build of a file among the shop's own.
fn take_build(ui: Ui, file: web_sys::File) {
    spawn_local(async move { super::own_builds::take(ui, &file.name(), &text_of(&file).await) });
}

/// The text of a file; empty where the browser cannot read it.
async fn text_of(file: &web_sys::File) -> String {
    JsFuture::from(file.text()).await.ok().and_then(|text| text.as_string()).unwrap_or_default()
}

/// Hands a text to the browser's downloads.
pub(crate) fn save_text(name: &str, media_type: &str, text: &str) {
    let (name, media_type) = (name.to_owned(), media_type.to_owned());
    download(&File { name, media_type, bytes: Uint8Array::from(text.as_bytes()) });
}

/// Traces the shoe's own insole: a drawing at once, a picture when its scale is stated.
fn take_shoe(ui: Ui, side: Side, file: web_sys::File) {
    let name = file.name();
    let ending = name.to_ascii_lowercase();
    spawn_local(async move {
        if !(ending.ends_with(".svg") || ending.ends_with(".dxf")) {
            super::fit_picture::open(ui, side, file).await;
        } else if let Ok(buffer) = JsFuture::from(file.array_buffer()).await {
            ui.asked(Request::TraceDrawing { side, name }, vec![Uint8Array::new(&buffer)]).await;
        } else {
            ui.notify(Severity::Check, format!("{name}: the browser could not read this file. Choose it again."));
        }
    });
}

fn is_case(name: &str) -> bool {
    name.to_ascii_lowercase().ends_with(&format!(".{}", case::file::EXTENSION))
}

async fn open_case(ui: Ui, name: &str, bytes: Uint8Array) {
    let request = Request::Open { name: name.to_owned() };
    if ui.asked(request, vec![bytes]).await.is_some() {
        ui.held.set(None);
        ui.notify(Severity::Info, format!("Opened {name}."));
    }
}

/// The scale stated for height images, if both its numbers are.
fn height_scale(ui: Ui) -> Option<HeightScale> {
    let (mm_per_pixel, mm_per_level) = (ui.heights.0.get_untracked()?, ui.heights.1.get_untracked()?);
    Some(HeightScale { mm_per_pixel, mm_per_level })
}

async fn take_scans(ui: Ui, scans: Vec<(String, Uint8Array)>, side: Option<Side>) {
    let (names, bytes): (Vec<String>, Vec<Uint8Array>) = scans.into_iter().unzip();
    let request = Request::AddScans { names, side, kind: None, heights: height_scale(ui) };
    let Some(Reply::Added(all)) = ui.asked(request, bytes).await else { return };
    if let Some(first) = all.first() {
        ui.go_to(first.side, None);
    }
    // A hint that was given is no guess.
    if side.is_none() {
        all.iter().filter(|added| added.side_confidence < 0.8).for_each(|added| tell_unsure(ui, added));
    }
    if let [a, b] = all.as_slice()
        && a.name == b.name
    {
        let text = format!(
            "{}: two feet in one file, taken in as {} and {}. Undo takes both out again.",
            a.name,
            a.side.word(),
            b.side.word()
        );
        ui.notify(Severity::Info, text);
    }
}

fn tell_unsure(ui: Ui, added: &Added) {
    let text = format!(
        "{}: taken for a {} foot, but not surely. If it is the other one, say so at Intake.",
        added.name,
        added.side.word()
    );
    ui.notify(Severity::Check, text);
}

/// Empties the bench and loads a demo pair.
pub(crate) fn open_demo(ui: Ui, person: &'static str) {
    spawn_local(open_demo_now(ui, person));
}

/// As [`open_demo`], waiting for it.
pub(crate) async fn open_demo_now(ui: Ui, person: &'static str) {
    start_anew(ui).await;
    for side in Side::ALL {
        let name = format!("{person}-{}.stl", side.word());
        match fetch(&format!("{SCANS}/{name}")).await {
            Some(bytes) => take_scans(ui, vec![(name, bytes)], Some(side)).await,
            None => ui.notify(
                Severity::Check,
                format!(
                    "{name}: the demo scan could not be fetched from this site. Bring in a scan of your own instead."
                ),
            ),
        }
    }
    ui.go_to(Side::Left, None);
}

/// An empty case with an empty history.
pub(crate) async fn start_anew(ui: Ui) {
    let json = case::file::to_json(&case::Case::default());
    ui.asked(Request::Restore { json }, Vec::new()).await;
    ui.held.set(None);
    ui.measure.set(None);
}

/// Downloads the case file.
pub(crate) fn save_case(ui: Ui) {
    spawn_local(async move {
        let title = ui.part(|snapshot| snapshot.title.clone()).get_untracked().unwrap_or_default();
        if let Some(Reply::Files(files)) = ui.asked(Request::Save, Vec::new()).await {
            for file in files {
                let name = file_name(&title, &file.name);
                download(&File { name, ..file });
            }
        }
    });
}

/// Makes files and hands those that `wanted` accepts to `give`.
pub(crate) fn make(
    ui: Ui,
    only: &'static str,
    wanted: impl Fn(&str) -> bool + 'static,
    give: impl Fn(&File<Uint8Array>) + 'static,
) {
    make_with(ui, only, Params::new(), wanted, give);
}

/// As [`make`], with options of the formats.
pub(crate) fn make_with(
    ui: Ui,
    only: &'static str,
    options: Params,
    wanted: impl Fn(&str) -> bool + 'static,
    give: impl Fn(&File<Uint8Array>) + 'static,
) {
    spawn_local(async move {
        let request = Request::Make { only: vec![only.to_owned()], options };
        if let Some(Reply::Files(files)) = ui.asked(request, Vec::new()).await {
            files.iter().filter(|file| wanted(&file.name)).for_each(give);
        }
    });
}

/// Hands a file to the browser's downloads.
pub(crate) fn download(file: &File<Uint8Array>) {
    let Some(url) = url_of(file) else { return };
    if let Some(anchor) =
        document().create_element("a").ok().and_then(|anchor| anchor.dyn_into::<HtmlAnchorElement>().ok())
    {
        anchor.set_href(&url);
        anchor.set_download(&file.name);
        anchor.click();
    }
    // The download holds its own reference to the bytes by now.
    let _ = Url::revoke_object_url(&url);
}

/// Hands a text to the browser's downloads.
pub(crate) fn offer_text(name: &str, text: &str) {
    let bytes = Uint8Array::from(text.as_bytes());
    download(&File { name: name.to_owned(), media_type: "application/json".to_owned(), bytes });
}

/// Shows a file in a window of its own, for reading and printing; where the browser refuses one, downloads it.
pub(crate) fn show_apart(file: &File<Uint8Array>) {
    let opened = url_of(file).and_then(|url| window().open_with_url_and_target(&url, "_blank").ok().flatten());
    if opened.is_none() {
        download(file);
    }
}

fn url_of(file: &File<Uint8Array>) -> Option<String> {
    let properties = BlobPropertyBag::new();
    properties.set_type(&file.media_type);
    let blob = Blob::new_with_u8_array_sequence_and_options(&Array::of1(&file.bytes), &properties).ok()?;
    Url::create_object_url_with_blob(&blob).ok()
}

async fn fetch(url: &str) -> Option<Uint8Array> {
    let answer: web_sys::Response = JsFuture::from(window().fetch_with_str(url)).await.ok()?.dyn_into().ok()?;
    if !answer.ok() {
        return None;
    }
    let buffer: JsValue = JsFuture::from(answer.array_buffer().ok()?).await.ok()?;
    Some(Uint8Array::new(&buffer))
}

/// A file name out of the case's title, with the ending of `usual`.
fn file_name(title: &str, usual: &str) -> String {
    let (stem, ending) = (stem(title), usual.rsplit('.').next().unwrap_or("solewright"));
    if stem.is_empty() { usual.to_owned() } else { format!("{stem}.{ending}") }
}

/// What every file system takes of a title.
pub(crate) fn stem(title: &str) -> String {
    title.trim().chars().map(|c| if c.is_alphanumeric() || "-_ ".contains(c) { c } else { '-' }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_case_file_is_named_after_the_case() {
        assert_eq!(file_name("Boots, spring 3/4", "case.solewright"), "Boots- spring 3-4.solewright");
        assert_eq!(file_name("  ", "case.solewright"), "case.solewright");
    }
}
