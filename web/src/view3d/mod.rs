//! The 3D view: both feet and insoles as a pair standing on a millimetre ground, toes away from the viewer.
//!
//! The page hands over meshes, colours, markers and lines in the foot frame of their side and asks where a pointer
//! lies; the view knows no domain rule. It draws once after something changed and never on its own.
//!
//! Invariant: the graphics library's own vector types stay inside `gpu`.
//! Invariant: picking is done on the CPU; nothing is read back from the graphics card.

mod camera;
mod gpu;
mod pick;
mod quads;
mod relief;
mod scene;
mod stage;
mod stand;
mod view;

pub use view::View3d;

use base::Side;

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

impl Default for Theme {
    fn default() -> Self {
        Theme {
            paper: [0.957, 0.949, 0.933],
            grid: [0.62, 0.60, 0.57],
            skin: [0.87, 0.78, 0.71],
            insole: [0.80, 0.80, 0.77],
            ink: [0.16, 0.15, 0.14],
        }
    }
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

/// Colours of a mesh's vertices.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Paint {
    /// sRGB, three bytes a vertex.
    pub rgb: Vec<u8>,
    /// A value at each vertex and the step at which lines of equal value are drawn.
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
