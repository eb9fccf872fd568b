use super::NoWebGl2;
use super::camera::Camera;
use super::gpu::Gpu;
use super::quads;
use super::scene::{Fresh, Scene};
use super::{What, scene::PickMeshes};
use base::{BySide, Side};
use glam::DVec2;
use wasm_bindgen::JsCast;
use web_sys::{HtmlCanvasElement, WebGl2RenderingContext, WebGlContextAttributes};

/// More device pixels to a css pixel than this cost time and show nothing.
const MOST_RATIO: f64 = 2.0;
/// Device pixels to a css pixel while the picture moves on a slow machine: blurred a little, a third of the work of 1.
const COARSE_RATIO: f64 = 0.6;
/// In software, smoothing every edge as a graphics card does doubles the time of every picture. Drawn without, and the
/// picture at rest with this many device pixels to a css pixel more instead, looks the same.
const SOFTWARE_REST: f64 = 1.6;
/// How the software renderers of the common browsers and systems are called.
const SOFTWARE_RENDERERS: [&str; 5] = ["swiftshader", "llvmpipe", "softpipe", "software", "basic render"];
/// The name behind the extension `WEBGL_debug_renderer_info`.
const UNMASKED_RENDERER_WEBGL: u32 = 0x9246;
/// How long a change of standpoint takes, ms: long enough to follow, short enough not to wait for.
const TURN_MS: f64 = 240.0;

/// A canvas, what is on it and from where it is seen.
pub(super) struct Stage {
    pub(super) canvas: HtmlCanvasElement,
    pub(super) scene: Scene,
    pub(super) camera: Camera,
    pub(super) held: Option<PickMeshes>,
    turn: Option<Turn>,
    gpu: Option<Gpu>,
    stale: Stale,
    calm: bool,
    /// There is no graphics card.
    pub(super) software: bool,
    /// Draws fewer pixels: the picture moves and this machine is slow.
    pub(super) coarse: bool,
}

/// A change of standpoint under way.
struct Turn {
    from: Camera,
    to: Camera,
    since_ms: Option<f64>,
}

/// What the graphics card does not have yet.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stale {
    pub(super) meshes: BySide<[Fresh; 2]>,
    pub(super) tints: BySide<[bool; 2]>,
    pub(super) lines: bool,
    pub(super) shade: bool,
}

impl Stale {
    const NOTHING: Stale = Stale {
        meshes: BySide {
            left: [Fresh { shape: false, triangles: false }; 2],
            right: [Fresh { shape: false, triangles: false }; 2],
        },
        tints: BySide { left: [false; 2], right: [false; 2] },
        lines: false,
        shade: false,
    };
    const ALL: Stale = Stale {
        meshes: BySide {
            left: [Fresh { shape: true, triangles: true }; 2],
            right: [Fresh { shape: true, triangles: true }; 2],
        },
        tints: BySide { left: [true; 2], right: [true; 2] },
        lines: true,
        shade: true,
    };
}

impl Stage {
    pub(super) fn new(canvas: HtmlCanvasElement) -> Result<Stage, NoWebGl2> {
        let software = draws_in_software();
        let gpu = Some(gpu_of(&canvas, !software)?);
        let still = web_sys::window().and_then(|window| window.match_media("(prefers-reduced-motion: reduce)").ok()?);
        let mut stage = Stage {
            canvas,
            scene: Scene::default(),
            camera: Camera::default(),
            held: None,
            turn: None,
            gpu,
            stale: Stale::ALL,
            software,
            coarse: false,
            calm: still.is_some_and(|query| query.matches()),
        };
        stage.measure();
        Ok(stage)
    }

    pub(super) fn stale(&mut self) -> &mut Stale {
        &mut self.stale
    }

    /// The browser has taken the graphics context away.
    pub(super) fn context_lost(&mut self) {
        self.gpu = None;
    }

    /// The browser gives a graphics context again: everything is built anew.
    pub(super) fn context_restored(&mut self) {
        self.gpu = gpu_of(&self.canvas, !self.software).ok();
        self.stale = Stale::ALL;
    }

    /// Takes over the canvas's size as laid out; whether it changed.
    pub(super) fn measure(&mut self) -> bool {
        let size = DVec2::new(f64::from(self.canvas.client_width()), f64::from(self.canvas.client_height()));
        let changed = size != self.camera.size_px;
        self.camera.size_px = size;
        if let Some(turn) = &mut self.turn {
            (turn.from.size_px, turn.to.size_px) = (size, size);
        }
        changed
    }

    /// Goes to another standpoint, by a short turn or at once.
    pub(super) fn go(&mut self, to: Camera) {
        if self.calm || self.scene.bounds().is_none() {
            self.camera = to;
        } else {
            self.turn = Some(Turn { from: self.camera, to, since_ms: None });
        }
    }

    /// Whoever takes the picture in hand ends a turn under way.
    pub(super) fn stop_turning(&mut self) {
        self.turn = None;
    }

    /// Where the viewer will stand when the turn is over.
    pub(super) fn camera_to_be(&self) -> Camera {
        self.turn.as_ref().map_or(self.camera, |turn| turn.to)
    }

    /// Draws; whether another frame is due at once.
    pub(super) fn draw(&mut self, now_ms: f64) -> bool {
        let turning = self.turn_on(now_ms);
        let Some(gpu) = &mut self.gpu else { return false };
        let stale = std::mem::replace(&mut self.stale, Stale::NOTHING);
        let scene = &self.scene;
        for side in Side::ALL {
            for what in [What::Foot, What::Insole] {
                gpu.upload_mesh(scene, side, what, stale.meshes[side][what as usize]);
                if stale.tints[side][what as usize] {
                    gpu.upload_tints(scene, side, what);
                }
            }
        }
        if stale.lines {
            gpu.upload_lines(&quads::of_lines(scene));
        }
        if stale.shade {
            gpu.upload_shade(scene.shade());
        }
        gpu.upload_markers(&quads::of_markers(scene, &self.camera));
        let screen = web_sys::window().map_or(1.0, |window| window.device_pixel_ratio());
        let rest = if self.software { screen * SOFTWARE_REST } else { screen }.clamp(1.0, MOST_RATIO);
        let ratio = if self.coarse { COARSE_RATIO } else { rest };
        let size = (self.camera.size_px * ratio).round().max(DVec2::ONE);
        let (width, height) = (size.x as u32, size.y as u32);
        if (self.canvas.width(), self.canvas.height()) != (width, height) {
            self.canvas.set_width(width);
            self.canvas.set_height(height);
        }
        gpu.draw(scene, &self.camera, width, height);
        turning
    }

    fn turn_on(&mut self, now_ms: f64) -> bool {
        let Some(turn) = &mut self.turn else { return false };
        let since = *turn.since_ms.get_or_insert(now_ms);
        let share = ((now_ms - since) / TURN_MS).clamp(0.0, 1.0);
        // Sets out and arrives gently.
        let eased = share * share * (3.0 - 2.0 * share);
        self.camera = turn.from.between(turn.to, eased);
        if share >= 1.0 {
            self.camera = turn.to;
            self.turn = None;
        }
        self.turn.is_some()
    }
}

fn gpu_of(canvas: &HtmlCanvasElement, smooth: bool) -> Result<Gpu, NoWebGl2> {
    let options = WebGlContextAttributes::new();
    options.set_alpha(false);
    options.set_antialias(smooth);
    options.set_depth(true);
    Gpu::new(context_of(canvas, &options)?).map_err(|error| NoWebGl2 { reason: error.to_string() })
}

fn context_of(
    canvas: &HtmlCanvasElement,
    options: &WebGlContextAttributes,
) -> Result<WebGl2RenderingContext, NoWebGl2> {
    let refused = |reason: &str| NoWebGl2 { reason: reason.to_owned() };
    let context = canvas
        .get_context_with_context_options("webgl2", options)
        .map_err(|error| refused(&format!("{error:?}")))?
        .ok_or_else(|| refused("no context"))?;
    context.dyn_into().map_err(|_| refused("another context"))
}

/// Whether pictures are drawn without a graphics card, asked of a context that is thrown away: the answer decides how
/// the real one is made.
fn draws_in_software() -> bool {
    let probe = || {
        let canvas: HtmlCanvasElement =
            web_sys::window()?.document()?.create_element("canvas").ok()?.dyn_into().ok()?;
        let gl = context_of(&canvas, &WebGlContextAttributes::new()).ok()?;
        // Some browsers tell by the extension only, some by the plain name only.
        let by_extension = gl
            .get_extension("WEBGL_debug_renderer_info")
            .ok()
            .flatten()
            .and_then(|_| gl.get_parameter(UNMASKED_RENDERER_WEBGL).ok()?.as_string());
        let plain = gl.get_parameter(WebGl2RenderingContext::RENDERER).ok().and_then(|name| name.as_string());
        if let Ok(Some(ending)) = gl.get_extension("WEBGL_lose_context") {
            let _ = js_sys::Reflect::get(&ending, &"loseContext".into())
                .and_then(|lose| lose.unchecked_into::<js_sys::Function>().call0(&ending));
        }
        Some(format!("{} {}", by_extension.unwrap_or_default(), plain.unwrap_or_default()).to_ascii_lowercase())
    };
    probe().is_some_and(|name| SOFTWARE_RENDERERS.iter().any(|software| name.contains(software)))
}
