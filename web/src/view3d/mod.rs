//! The 3D view: both feet and insoles as a pair standing on a millimetre ground, toes away from the viewer.
//!
//! The page hands over meshes, colours, markers and lines in the foot frame of their side and asks where a pointer
//! lies; the view knows no domain rule. It draws once after something changed and never on its own.
//!
//! Invariant: the graphics library's own vector types stay inside `gpu`.
//! Invariant: picking is done on the CPU; nothing is read back from the graphics card.

use crate::worker::Mesh;
use base::Side;
use engine::view::Moves;
use web_sys::HtmlCanvasElement;

/// The view on one canvas. Cheap to clone: every clone is the same view.
#[derive(Clone)]
pub struct View3d {}

/// There is no WebGL 2 here: the page shows the plan alone.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("this browser gives no 3D graphics (WebGL 2; {reason}): plan and section work without it")]
pub struct NoWebGl2 {
    /// What the browser said.
    pub reason: String,
}

/// Colour of a thing drawn, sRGB 0 … 1.
pub type Rgb = [f32; 3];

/// Colours that follow the page's light or dark theme.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Theme {
    /// Ground of the page.
    pub paper: Rgb,
    /// Lines of the millimetre ground.
    pub grid: Rgb,
    /// Matte skin.
    pub skin: Rgb,
    /// Insole without colours of its own.
    pub insole: Rgb,
    /// Outlines of markers and the like.
    pub ink: Rgb,
}

/// How the skin of the foot is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SkinShow {
    /// Opaque.
    Solid,
    /// Translucent, the insole shining through.
    #[default]
    Ghost,
    /// Not at all.
    Hidden,
}

/// Colours of the insole's vertices.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Paint {
    /// sRGB, three bytes a vertex.
    pub rgb: Vec<u8>,
    /// A value at each vertex and the step at which lines of equal value are drawn; empty values draw none.
    pub iso: Option<(Vec<f32>, f32)>,
}

/// Something to take hold of or look at, drawn the same size at any zoom.
#[derive(Clone, Debug, PartialEq)]
pub struct Marker {
    /// Whose.
    pub side: Side,
    /// Where.
    pub at: [f64; 3],
    /// Fill.
    pub color: Rgb,
    /// Shape.
    pub shape: MarkerShape,
    /// Radius, css px.
    pub radius_px: f32,
    /// Ringed, as when hovered or chosen.
    pub ringed: bool,
}

/// Shape of a marker: readable without colour.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum MarkerShape {
    /// Disc: on the skin.
    #[default]
    Disc,
    /// Square: a point in plan.
    Square,
    /// Two arrow heads: up and down.
    UpDown,
    /// Diamond.
    Diamond,
}

/// A line in space.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Whose.
    pub side: Side,
    /// Points; [`View3d::lift`] lays a curve in plan on the insole.
    pub points: Vec<[f32; 3]>,
    /// Joined end to start.
    pub closed: bool,
    /// Colour.
    pub color: Rgb,
    /// Width, css px.
    pub width_px: f32,
}

/// Where the viewer stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Preset {
    /// From behind, above and aside.
    ThreeQuarter,
    /// Straight down: the plan.
    Top,
    /// Straight up at the soles.
    Sole,
    /// At the inner side of the focused foot.
    Medial,
    /// At the outer side of the focused foot.
    Lateral,
    /// From behind.
    Heel,
    /// From the front.
    Toes,
}

/// What lies under the pointer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hit {
    /// Whose.
    pub side: Side,
    /// Which of its two meshes.
    pub what: What,
    /// Where, foot frame, mm.
    pub at: [f64; 3],
}

/// The two meshes of a side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// The skin.
    Foot,
    /// The insole.
    Insole,
}

impl View3d {
    /// A view on `canvas`, which keeps its own size by style; the view follows it ([`View3d::resized`]).
    ///
    /// # Errors
    /// The browser has no WebGL 2.
    pub fn new(canvas: HtmlCanvasElement) -> Result<View3d, NoWebGl2> {
        let _ = canvas;
        Ok(View3d {})
    }

    /// Takes the colours of the page's theme.
    pub fn set_theme(&self, theme: Theme) {
        let _ = theme;
    }
    /// The skin of a foot, or none.
    pub fn set_foot(&self, side: Side, mesh: Option<&Mesh>) {
        let _ = (side, mesh);
    }
    /// The insole of a foot, or none.
    pub fn set_insole(&self, side: Side, mesh: Option<&Mesh>) {
        let _ = (side, mesh);
    }
    /// The insole's colours; `None`: the theme's. Ignored while it does not fit the mesh's number of vertices.
    pub fn set_paint(&self, side: Side, paint: Option<Paint>) {
        let _ = (side, paint);
    }
    /// How the skin is shown.
    pub fn set_skin(&self, show: SkinShow) {
        let _ = show;
    }
    /// Whether the insoles are shown.
    pub fn set_insole_shown(&self, shown: bool) {
        let _ = shown;
    }
    /// Shows one side only, or both.
    pub fn set_focus(&self, side: Option<Side>) {
        let _ = side;
    }
    /// All markers.
    pub fn set_markers(&self, markers: Vec<Marker>) {
        let _ = markers;
    }
    /// All lines.
    pub fn set_lines(&self, lines: Vec<Line>) {
        let _ = lines;
    }
    /// A curve in plan laid on the insole's top, or on z = 0 where there is none.
    #[must_use]
    pub fn lift(&self, side: Side, points: &[[f32; 2]]) -> Vec<[f32; 3]> {
        let _ = side;
        points.iter().map(|p| [p[0], p[1], 0.0]).collect()
    }

    /// Turns round what is looked at, css px of pointer movement.
    pub fn orbit(&self, dx: f64, dy: f64) {
        let _ = (dx, dy);
    }
    /// Shifts the picture, css px.
    pub fn pan(&self, dx: f64, dy: f64) {
        let _ = (dx, dy);
    }
    /// Nearer (`factor` > 1) or farther, what lies under `at` (css px in the canvas) staying there.
    pub fn zoom(&self, factor: f64, at: (f64, f64)) {
        let _ = (factor, at);
    }
    /// Two fingers from `before` to `now`, css px in the canvas: shift, spread and turn at once.
    pub fn two_finger(&self, before: [(f64, f64); 2], now: [(f64, f64); 2]) {
        let _ = (before, now);
    }
    /// Goes to a standpoint and fits what is shown.
    pub fn preset(&self, preset: Preset) {
        let _ = preset;
    }
    /// Fits what is shown, looking from where one stands.
    pub fn fit(&self) {}
    /// The canvas has another size now.
    pub fn resized(&self) {}
    /// Draws at the next frame; every setter does this itself.
    pub fn redraw(&self) {}
    /// Called after every frame drawn: the place to move HTML labels ([`View3d::project`]).
    pub fn on_drawn(&self, call: impl Fn() + 'static) {
        let _ = call;
    }

    /// Where a point lies in the canvas, css px, and whether nothing hides it; `None` behind the viewer.
    #[must_use]
    pub fn project(&self, side: Side, at: [f64; 3]) -> Option<(f64, f64, bool)> {
        let _ = (side, at);
        None
    }
    /// What lies under the pointer (css px in the canvas).
    #[must_use]
    pub fn pick(&self, x: f64, y: f64) -> Option<Hit> {
        let _ = (x, y);
        None
    }
    /// The marker nearest to the pointer within `reach_px`, as an index into [`View3d::set_markers`].
    #[must_use]
    pub fn nearest_marker(&self, x: f64, y: f64, reach_px: f64) -> Option<usize> {
        let _ = (x, y, reach_px);
        None
    }
    /// Keeps the surfaces as they are now for [`View3d::drag_point`], so that what moves under the hand does not move
    /// the hand. Call when a drag begins.
    pub fn drag_begin(&self) {}
    /// Where a thing taken hold of at `from` is dragged to by the pointer; `None` where the pointer points nowhere.
    #[must_use]
    pub fn drag_point(&self, x: f64, y: f64, side: Side, moves: Moves, from: [f64; 3]) -> Option<[f64; 3]> {
        let _ = (x, y, side, moves, from);
        None
    }
    /// Ends what [`View3d::drag_begin`] began.
    pub fn drag_end(&self) {}
}
