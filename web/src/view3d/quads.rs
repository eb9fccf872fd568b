//! Lines and markers as quads for the graphics card, in the world.

use super::camera::Camera;
use super::scene::Scene;
use super::{Line, Marker};
use glam::DVec3;

/// A marker behind something is drawn this faintly.
const HIDDEN_MARKER_OPACITY: f32 = 0.35;

/// The two triangles of a quad, as (along, across) with along 0 … 1 and across −1 … 1.
const CORNERS: [[f32; 2]; 6] = [[0.0, -1.0], [1.0, -1.0], [1.0, 1.0], [0.0, -1.0], [1.0, 1.0], [0.0, 1.0]];

/// Corners of the segments of all lines.
#[derive(Debug, Default)]
pub(super) struct LineQuads {
    pub(super) start: Vec<[f32; 3]>,
    pub(super) end: Vec<[f32; 3]>,
    pub(super) corner: Vec<[f32; 2]>,
    /// Red, green, blue, width in css px.
    pub(super) style: Vec<[f32; 4]>,
}

/// Corners of all markers.
#[derive(Debug, Default)]
pub(super) struct MarkerQuads {
    pub(super) place: Vec<[f32; 3]>,
    pub(super) corner: Vec<[f32; 2]>,
    /// Red, green, blue, opacity.
    pub(super) fill: Vec<[f32; 4]>,
    /// Shape, radius in css px, ringed.
    pub(super) look: Vec<[f32; 3]>,
}

/// The lines of a scene.
pub(super) fn of_lines(scene: &Scene) -> LineQuads {
    let mut quads = LineQuads::default();
    let shown = |line: &&Line| scene.focus.is_none_or(|focus| focus == line.side);
    for line in scene.lines.iter().filter(shown) {
        let world = scene.stand.world_from_foot(line.side);
        let points: Vec<[f32; 3]> = line
            .points
            .iter()
            .map(|&[x, y, z]| world.transform_point3(DVec3::new(x.into(), y.into(), z.into())).as_vec3().to_array())
            .collect();
        let closing = line.closed.then(|| points.last().zip(points.first())).flatten();
        let [red, green, blue] = line.color;
        for (&start, &end) in points.iter().zip(points.iter().skip(1)).chain(closing) {
            quads.start.extend([start; 6]);
            quads.end.extend([end; 6]);
            quads.corner.extend(CORNERS);
            quads.style.extend([[red, green, blue, line.width_px]; 6]);
        }
    }
    quads
}

/// The markers of a scene, the nearest last, those behind something faint.
pub(super) fn of_markers(scene: &Scene, camera: &Camera) -> MarkerQuads {
    let shown = |marker: &&Marker| scene.focus.is_none_or(|focus| focus == marker.side);
    let mut markers: Vec<(f64, DVec3, &Marker)> = scene
        .markers
        .iter()
        .filter(shown)
        .map(|marker| {
            let at = scene.stand.world_from_foot(marker.side).transform_point3(DVec3::from_array(marker.at));
            (at.distance_squared(camera.eye()), at, marker)
        })
        .collect();
    base::sort_by(&mut markers, |a, b| b.0.total_cmp(&a.0));
    let mut quads = MarkerQuads::default();
    for (_, at, marker) in markers {
        let opacity = if scene.sees(camera.eye(), at) { 1.0 } else { HIDDEN_MARKER_OPACITY };
        let [red, green, blue] = marker.color;
        let ringed = if marker.ringed { 1.0 } else { 0.0 };
        quads.place.extend([at.as_vec3().to_array(); 6]);
        quads.corner.extend(CORNERS.map(|[along, across]| [along * 2.0 - 1.0, across]));
        quads.fill.extend([[red, green, blue, opacity]; 6]);
        quads.look.extend([[f32::from(marker.shape as u8), marker.radius_px, ringed]; 6]);
    }
    quads
}
