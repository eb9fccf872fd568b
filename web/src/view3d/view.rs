use super::pick::{meet_level, nearest_on_vertical};
use super::stage::Stage;
use super::{Hit, Line, Marker, NoWebGl2, Paint, Preset, SkinShow, Theme, What};
use crate::worker::Mesh;
use base::Side;
use engine::view::Moves;
use glam::{DVec2, DVec3};
use std::cell::{Cell, RefCell};
use std::rc::Rc;
use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::Closure;
use web_sys::{Event, HtmlCanvasElement, ResizeObserver};

/// A marker behind something counts as this much farther from the pointer, px: what is seen is taken first.
const HIDDEN_MARKER_PX: f64 = 6.0;
/// The target of the view stays this near to what is shown, mm.
const LEASH_MM: f64 = 60.0;

/// A frame that comes so much after it was asked for is late, ms: a picture in software takes longer than this.
const LATE_MS: f64 = 45.0;
/// So many late frames in a row mean a slow machine; one alone may be anything.
const LATE_FRAMES: u32 = 3;
/// Nothing has moved for so long: the picture is drawn in full, ms.
const SETTLE_MS: f64 = 180.0;

/// The view on one canvas. Cheap to clone: every clone is the same view.
#[derive(Clone)]
pub struct View3d {
    inner: Rc<Inner>,
}

struct Inner {
    stage: RefCell<Stage>,
    /// When the frame that is due was asked for, ms.
    frame_due: Cell<Option<f64>>,
    changed_ms: Cell<f64>,
    pace: Cell<Pace>,
    on_settled: RefCell<Option<Closure<dyn FnMut()>>>,
    /// Something came in that was not there before: it is fitted into the picture.
    fit_due: Cell<bool>,
    /// The picture is as it was fitted, untouched by hand: it is fitted again when its frame changes.
    fitted: Cell<bool>,
    on_drawn: RefCell<Option<Rc<dyn Fn()>>>,
    on_frame: RefCell<Option<OnFrame>>,
}

/// What the browser calls for the next frame.
type OnFrame = Closure<dyn FnMut(f64)>;

/// How fast this machine draws.
#[derive(Clone, Copy, Debug, Default)]
struct Pace {
    /// Frames in a row that came late.
    late: u32,
    /// It was slow before: the next movement is coarse from its first frame.
    slow: bool,
    /// A coarse picture waits for the movement to end.
    waiting: bool,
    /// The next frame is the full one after a movement.
    settling: bool,
}

impl View3d {
    /// A view on `canvas`, which has its size from the page's style; the view follows it.
    ///
    /// # Errors
    /// The browser has no WebGL 2.
    pub fn new(canvas: HtmlCanvasElement) -> Result<View3d, NoWebGl2> {
        let stage = Stage::new(canvas.clone())?;
        let slow = stage.software;
        let inner = Rc::new(Inner {
            stage: RefCell::new(stage),
            frame_due: Cell::new(None),
            changed_ms: Cell::new(0.0),
            pace: Cell::new(Pace { slow, ..Pace::default() }),
            on_settled: RefCell::default(),
            fit_due: Cell::new(false),
            fitted: Cell::new(true),
            on_drawn: RefCell::default(),
            on_frame: RefCell::default(),
        });
        let view = View3d { inner };
        let framed = view.clone();
        view.inner.on_frame.replace(Some(Closure::new(move |now_ms| framed.frame(now_ms))));
        let settled = view.clone();
        view.inner.on_settled.replace(Some(Closure::new(move || settled.settle())));
        view.listen(&canvas);
        view.redraw();
        Ok(view)
    }

    /// Takes the colours of the page's theme.
    pub fn set_theme(&self, theme: Theme) {
        self.change(|stage| stage.scene.theme = theme);
    }

    /// The skin of a foot, or none.
    pub fn set_foot(&self, side: Side, mesh: Option<&Mesh>) {
        self.set_mesh(side, What::Foot, mesh);
    }

    /// The insole of a foot, or none.
    pub fn set_insole(&self, side: Side, mesh: Option<&Mesh>) {
        self.set_mesh(side, What::Insole, mesh);
    }

    /// The colours of a mesh; `None`: the theme's. Not shown while they do not fit the mesh's number of vertices.
    pub fn set_paint(&self, side: Side, what: What, paint: Option<Paint>) {
        self.change(|stage| {
            stage.scene.set_paint(side, what, paint);
            stage.stale().tints[side][what as usize] = true;
        });
    }

    /// How the skin is shown.
    pub fn set_skin(&self, show: SkinShow) {
        self.change(|stage| {
            stage.scene.skin = show;
            stage.stale().shade = true;
        });
    }

    /// Whether the insoles are shown.
    pub fn set_insole_shown(&self, shown: bool) {
        self.change(|stage| {
            stage.scene.insole_hidden = !shown;
            stage.stale().shade = true;
        });
    }

    /// Shows one side only, or both.
    pub fn set_focus(&self, side: Option<Side>) {
        self.change(|stage| {
            stage.scene.focus = side;
            stage.stale().shade = true;
            stage.stale().lines = true;
        });
        self.inner.fit_due.set(self.inner.fitted.get());
    }

    /// All markers.
    pub fn set_markers(&self, markers: Vec<Marker>) {
        self.change(|stage| stage.scene.markers = markers);
    }

    /// All lines.
    pub fn set_lines(&self, lines: Vec<Line>) {
        self.change(|stage| {
            stage.scene.lines = lines;
            stage.stale().lines = true;
        });
    }

    /// A curve in plan laid on the insole's top. Where it runs beside the insole it keeps the height at which it left;
    /// without an insole it lies on z = 0.
    #[must_use]
    pub fn lift(&self, side: Side, points: &[[f32; 2]]) -> Vec<[f32; 3]> {
        self.inner.stage.borrow().scene.lift(side, points)
    }

    /// Turns round what is looked at, css px of pointer movement.
    pub fn orbit(&self, dx: f64, dy: f64) {
        self.by_hand(|stage| stage.camera.orbit(DVec2::new(dx, dy)));
    }

    /// Shifts the picture, css px.
    pub fn pan(&self, dx: f64, dy: f64) {
        self.by_hand(|stage| stage.camera.pan(DVec2::new(dx, dy)));
    }

    /// Nearer (`factor` > 1) or farther, what lies under `at` (css px in the canvas) staying there.
    pub fn zoom(&self, factor: f64, at: (f64, f64)) {
        self.by_hand(|stage| stage.camera.zoom(factor, DVec2::from(at)));
    }

    /// Two fingers from `before` to `now`, css px in the canvas: shift, spread and turn at once.
    pub fn two_finger(&self, before: [(f64, f64); 2], now: [(f64, f64); 2]) {
        let [a, b] = before.map(DVec2::from);
        let [c, d] = now.map(DVec2::from);
        let (was, is) = (b - a, d - c);
        self.by_hand(|stage| {
            stage.camera.pan((c + d - a - b) / 2.0);
            if was.length() > 1.0 && is.length() > 1.0 {
                stage.camera.zoom(is.length() / was.length(), (c + d) / 2.0);
                stage.camera.twist(libm::atan2(was.perp_dot(is), was.dot(is)));
            }
        });
    }

    /// Goes to a standpoint and fits what is shown. `Medial` and `Lateral` look at the focused side, or at the right
    /// foot; focus one side first, else the other foot stands in the way.
    pub fn preset(&self, preset: Preset) {
        self.inner.fitted.set(true);
        self.change(|stage| {
            let (yaw_rad, pitch_rad) = preset.angles(stage.scene.focus);
            let mut camera = stage.camera_to_be();
            (camera.yaw_rad, camera.pitch_rad) = (yaw_rad, pitch_rad);
            camera.fit(&stage.scene.fitted_points());
            stage.go(camera);
        });
    }

    /// Fits what is shown, looking from where one looks.
    pub fn fit(&self) {
        self.inner.fitted.set(true);
        self.change(|stage| {
            let mut camera = stage.camera_to_be();
            camera.fit(&stage.scene.fitted_points());
            stage.go(camera);
        });
    }

    /// The canvas may have another size now. The view notices by itself; calling this spares it one frame.
    pub fn resized(&self) {
        if self.inner.stage.borrow_mut().measure() {
            self.inner.fit_due.set(self.inner.fitted.get());
            self.redraw();
        }
    }

    /// Draws at the next frame; every change does this by itself.
    pub fn redraw(&self) {
        let now_ms = now_ms();
        self.inner.changed_ms.set(now_ms);
        if self.inner.frame_due.get().is_some() {
            return;
        }
        self.inner.frame_due.set(Some(now_ms));
        let on_frame = self.inner.on_frame.borrow();
        if let (Some(window), Some(on_frame)) = (web_sys::window(), &*on_frame)
            && window.request_animation_frame(on_frame.as_ref().unchecked_ref()).is_err()
        {
            self.inner.frame_due.set(None);
        }
    }

    /// Called after every frame drawn: the moment to move HTML labels ([`View3d::project`]).
    pub fn on_drawn(&self, call: impl Fn() + 'static) {
        self.inner.on_drawn.replace(Some(Rc::new(call)));
    }

    /// Where a point lies in the canvas, css px, and whether nothing hides it; `None` behind the viewer.
    #[must_use]
    pub fn project(&self, side: Side, at: [f64; 3]) -> Option<(f64, f64, bool)> {
        let stage = self.inner.stage.borrow();
        let world = stage.scene.stand.world_from_foot(side).transform_point3(DVec3::from_array(at));
        let place = stage.camera.project(world)?;
        let shown = stage.scene.focus.is_none_or(|focus| focus == side);
        Some((place.x, place.y, shown && stage.scene.sees(stage.camera.eye(), world)))
    }

    /// What lies under the pointer (css px in the canvas). Through a ghost the insole is found before the skin.
    #[must_use]
    pub fn pick(&self, x: f64, y: f64) -> Option<Hit> {
        let stage = self.inner.stage.borrow();
        stage.scene.pick(stage.camera.ray(DVec2::new(x, y)))
    }

    /// The marker nearest to the pointer within `reach_px`, as an index into [`View3d::set_markers`].
    #[must_use]
    pub fn nearest_marker(&self, x: f64, y: f64, reach_px: f64) -> Option<usize> {
        let stage = self.inner.stage.borrow();
        let pointer = DVec2::new(x, y);
        let near = stage.scene.markers.iter().enumerate().filter_map(|(index, marker)| {
            if stage.scene.focus.is_some_and(|focus| focus != marker.side) {
                return None;
            }
            let world = stage.scene.stand.world_from_foot(marker.side).transform_point3(DVec3::from_array(marker.at));
            let distance = stage.camera.project(world)?.distance(pointer);
            if distance > reach_px {
                return None;
            }
            let behind = if stage.scene.sees(stage.camera.eye(), world) { 0.0 } else { HIDDEN_MARKER_PX };
            Some((index, distance + behind))
        });
        near.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(index, _)| index)
    }

    /// Keeps the surfaces as they are now for [`View3d::drag_point`], so that what moves under the hand does not move
    /// the hand. Call when a drag begins.
    pub fn drag_begin(&self) {
        let mut stage = self.inner.stage.borrow_mut();
        stage.held = Some(stage.scene.pick_meshes());
    }

    /// Where a thing taken hold of at `from` (foot frame, mm) is dragged to by the pointer, in the same frame; `None`
    /// where the pointer points nowhere.
    #[must_use]
    pub fn drag_point(&self, x: f64, y: f64, side: Side, moves: Moves, from: [f64; 3]) -> Option<[f64; 3]> {
        let stage = self.inner.stage.borrow();
        let (origin, direction) = stage.scene.in_foot(side, stage.camera.ray(DVec2::new(x, y)));
        let from = DVec3::from_array(from);
        let meet = |what: What| {
            let now;
            let meshes = match &stage.held {
                Some(held) => held,
                None => {
                    now = stage.scene.pick_meshes();
                    &now
                }
            };
            let distance = meshes[side][what as usize].as_ref()?.first_hit(origin, direction)?;
            Some(origin + direction * distance)
        };
        let to = match moves {
            Moves::Skin => meet(What::Foot),
            Moves::Plan => meet(What::Insole).or_else(|| meet_level(from.z, origin, direction)),
            Moves::Vertical => nearest_on_vertical(from, origin, direction),
        };
        to.map(|to| to.to_array())
    }

    /// Ends what [`View3d::drag_begin`] began.
    pub fn drag_end(&self) {
        self.inner.stage.borrow_mut().held = None;
    }

    fn set_mesh(&self, side: Side, what: What, mesh: Option<&Mesh>) {
        self.change(|stage| {
            let had = stage.scene.surface(side, what).is_some();
            let fresh = stage.scene.set_mesh(side, what, mesh);
            if !had && mesh.is_some() {
                self.inner.fit_due.set(true);
            }
            let stale = stage.stale();
            let due = &mut stale.meshes[side][what as usize];
            due.shape |= fresh.shape;
            due.triangles |= fresh.triangles;
            stale.tints[side][what as usize] |= fresh.triangles || what == What::Foot && fresh.shape;
            stale.lines |= fresh.triangles;
            stale.shade |= fresh.shape;
        });
    }

    fn by_hand(&self, move_camera: impl FnOnce(&mut Stage)) {
        self.inner.fitted.set(false);
        self.change(|stage| {
            stage.stop_turning();
            move_camera(stage);
            if let Some((lo, hi)) = stage.scene.bounds() {
                stage.camera.stay_near(lo - LEASH_MM, hi + LEASH_MM);
            }
        });
    }

    fn change(&self, change: impl FnOnce(&mut Stage)) {
        change(&mut self.inner.stage.borrow_mut());
        self.redraw();
    }

    fn frame(&self, frame_ms: f64) {
        let Some(asked_ms) = self.inner.frame_due.take() else { return };
        let coarse = self.keep_pace(asked_ms);
        let again = {
            let mut stage = self.inner.stage.borrow_mut();
            if stage.measure() && self.inner.fitted.get() {
                self.inner.fit_due.set(true);
            }
            if stage.camera.size_px.min_element() < 1.0 {
                // Not laid out, or put away: its observer calls again when it is.
                return;
            }
            stage.coarse = coarse;
            if self.inner.fit_due.replace(false) {
                let points = stage.scene.fitted_points();
                stage.stop_turning();
                stage.camera.fit(&points);
                self.inner.fitted.set(true);
            }
            stage.draw(frame_ms)
        };
        if again {
            self.redraw();
        }
        let on_drawn = self.inner.on_drawn.borrow().clone();
        if let Some(on_drawn) = on_drawn {
            on_drawn();
        }
    }

    /// Whether the frame now due shall be a coarse one: frames have come late, and this is not the one that settles.
    fn keep_pace(&self, asked_ms: f64) -> bool {
        let mut pace = self.inner.pace.get();
        pace.late = if now_ms() - asked_ms > LATE_MS { pace.late + 1 } else { 0 };
        pace.slow |= pace.late >= LATE_FRAMES;
        let coarse = pace.slow && !pace.settling;
        pace.settling = false;
        if coarse && !std::mem::replace(&mut pace.waiting, true) {
            self.settle_later();
        }
        self.inner.pace.set(pace);
        coarse
    }

    /// Draws in full when nothing has moved for a while.
    fn settle(&self) {
        if self.inner.frame_due.get().is_some() || now_ms() - self.inner.changed_ms.get() < SETTLE_MS {
            return self.settle_later();
        }
        self.inner.pace.set(Pace { settling: true, waiting: false, ..self.inner.pace.get() });
        self.redraw();
    }

    fn settle_later(&self) {
        let on_settled = self.inner.on_settled.borrow();
        if let (Some(window), Some(on_settled)) = (web_sys::window(), &*on_settled) {
            let call = on_settled.as_ref().unchecked_ref();
            // Without a timer the picture stays coarse until the next change.
            let _ = window.set_timeout_with_callback_and_timeout_and_arguments_0(call, SETTLE_MS as i32);
        }
    }

    /// Follows the canvas: its size, and its graphics context coming and going.
    fn listen(&self, canvas: &HtmlCanvasElement) {
        let view = self.clone();
        let on_resize = Closure::<dyn FnMut()>::new(move || view.resized());
        if let Ok(observer) = ResizeObserver::new(on_resize.as_ref().unchecked_ref()) {
            observer.observe(canvas);
        }
        // The view lives as long as its canvas, and so do its listeners.
        on_resize.forget();
        let view = self.clone();
        let on_lost = Closure::<dyn FnMut(Event)>::new(move |event: Event| {
            event.prevent_default();
            view.inner.stage.borrow_mut().context_lost();
        });
        let view = self.clone();
        let on_restored = Closure::<dyn FnMut(Event)>::new(move |_| view.change(Stage::context_restored));
        for (name, listener) in [("webglcontextlost", on_lost), ("webglcontextrestored", on_restored)] {
            // A canvas takes any listener; without it a lost context would only stay lost.
            let _ = canvas.add_event_listener_with_callback(name, listener.as_ref().unchecked_ref());
            listener.forget();
        }
    }
}

fn now_ms() -> f64 {
    web_sys::window().and_then(|window| window.performance()).map_or(0.0, |performance| performance.now())
}
