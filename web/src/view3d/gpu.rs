//! The one module that knows the graphics library: CPU meshes become buffers, a scene becomes a picture.

use super::camera::Camera;
use super::quads::{LineQuads, MarkerQuads};
use super::relief::Shade;
use super::scene::{Fresh, Scene};
use super::{Rgb, SkinShow, What};
use base::{BySide, Side};
use glam::{DAffine3, DMat4, DVec2, DVec3};
use std::sync::Arc;
use three_d::core::{
    Blend, ClearState, Context, CoreError, CpuTexture, Cull, DepthTest, ElementBuffer, Interpolation, Program,
    RenderStates, RenderTarget, Texture2D, TextureData, VertexBuffer, Wrapping, WriteMask,
};
use three_d::{Mat4, Vec2, Vec3, Vec4, Viewport};
use web_sys::WebGl2RenderingContext;

/// How much of a ghost is seen where it is looked through squarely.
const GHOST_OPACITY: f32 = 0.26;
/// How much skin and insole shine: a little, to show their curves, and never like wet.
const FOOT_GLOSS: f32 = 0.05;
const INSOLE_GLOSS: f32 = 0.03;
/// How much of a line behind something is seen.
const HIDDEN_LINE_OPACITY: f32 = 0.22;
/// Lines are drawn this much nearer to the viewer than what they lie on, mm.
const LINE_LIFT_MM: f32 = 0.8;
/// The ground fades out this far from the middle of the pair, as a share of its size.
const GROUND_REACH: f64 = 2.2;
/// From this height upwards the ground is seen in full, from level not at all, rad.
const GROUND_SEEN_RAD: f64 = 0.12;

/// Programs and buffers on the graphics card.
pub(super) struct Gpu {
    context: Context,
    surface: Program,
    depth: Program,
    ground: Program,
    line: Program,
    marker: Program,
    ground_corners: VertexBuffer<[f32; 2]>,
    meshes: BySide<[GpuMesh; 2]>,
    lines: LineBuffers,
    markers: MarkerBuffers,
    /// The shade and the box it covers.
    shade: Option<(Texture2D, DVec2, DVec2)>,
}

struct GpuMesh {
    positions: VertexBuffer<[f32; 3]>,
    normals: VertexBuffer<[f32; 3]>,
    tints: VertexBuffer<[u8; 4]>,
    values: VertexBuffer<f32>,
    indices: ElementBuffer<u32>,
    vertices: usize,
}

struct LineBuffers {
    start: VertexBuffer<[f32; 3]>,
    end: VertexBuffer<[f32; 3]>,
    corner: VertexBuffer<[f32; 2]>,
    style: VertexBuffer<[f32; 4]>,
    count: u32,
}

struct MarkerBuffers {
    place: VertexBuffer<[f32; 3]>,
    corner: VertexBuffer<[f32; 2]>,
    fill: VertexBuffer<[f32; 4]>,
    look: VertexBuffer<[f32; 3]>,
    count: u32,
}

impl Gpu {
    /// Compiles the programs on a canvas's context.
    ///
    /// # Errors
    /// What the browser refuses.
    pub(super) fn new(gl: WebGl2RenderingContext) -> Result<Gpu, CoreError> {
        let context = Context::from_gl_context(graphics(gl)?)?;
        let program = |vertex, fragment| Program::from_source(&context, vertex, fragment);
        Ok(Gpu {
            surface: program(include_str!("shaders/surface.vert"), include_str!("shaders/surface.frag"))?,
            depth: program(include_str!("shaders/depth.vert"), include_str!("shaders/depth.frag"))?,
            ground: program(include_str!("shaders/ground.vert"), include_str!("shaders/ground.frag"))?,
            line: program(include_str!("shaders/line.vert"), include_str!("shaders/line.frag"))?,
            marker: program(include_str!("shaders/marker.vert"), include_str!("shaders/marker.frag"))?,
            ground_corners: VertexBuffer::new_with_data(
                &context,
                &[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 0.0], [1.0, 1.0], [0.0, 1.0]],
            ),
            meshes: BySide::from_fn(|_| [GpuMesh::new(&context), GpuMesh::new(&context)]),
            lines: LineBuffers {
                start: VertexBuffer::new(&context),
                end: VertexBuffer::new(&context),
                corner: VertexBuffer::new(&context),
                style: VertexBuffer::new(&context),
                count: 0,
            },
            markers: MarkerBuffers {
                place: VertexBuffer::new(&context),
                corner: VertexBuffer::new(&context),
                fill: VertexBuffer::new(&context),
                look: VertexBuffer::new(&context),
                count: 0,
            },
            shade: None,
            context,
        })
    }

    /// Takes over what is new of a mesh.
    pub(super) fn upload_mesh(&mut self, scene: &Scene, side: Side, what: What, fresh: Fresh) {
        let Some(surface) = scene.surface(side, what) else { return };
        let mesh = &mut self.meshes[side][what as usize];
        if fresh.shape {
            mesh.vertices = surface.mesh.positions.len() / 3;
            mesh.positions.fill(surface.mesh.positions.as_chunks::<3>().0);
            mesh.normals.fill(surface.normals.as_chunks::<3>().0);
        }
        if fresh.triangles {
            mesh.indices.fill(&surface.mesh.indices);
        }
    }

    /// Takes over the colours of a mesh.
    pub(super) fn upload_tints(&mut self, scene: &Scene, side: Side, what: What) {
        let (tints, values) = scene.tints(side, what);
        let mesh = &mut self.meshes[side][what as usize];
        mesh.tints.fill(&tints);
        mesh.values.fill(&values);
    }

    /// Takes over the lines.
    pub(super) fn upload_lines(&mut self, quads: &LineQuads) {
        let lines = &mut self.lines;
        lines.count = quads.corner.len() as u32;
        lines.start.fill(&quads.start);
        lines.end.fill(&quads.end);
        lines.corner.fill(&quads.corner);
        lines.style.fill(&quads.style);
    }

    /// Takes over the markers.
    pub(super) fn upload_markers(&mut self, quads: &MarkerQuads) {
        let markers = &mut self.markers;
        markers.count = quads.corner.len() as u32;
        markers.place.fill(&quads.place);
        markers.corner.fill(&quads.corner);
        markers.fill.fill(&quads.fill);
        markers.look.fill(&quads.look);
    }

    /// Takes over the shade on the ground.
    pub(super) fn upload_shade(&mut self, shade: Option<Shade>) {
        self.shade = shade.map(|shade| {
            let texture = Texture2D::new(
                &self.context,
                &CpuTexture {
                    data: TextureData::RU8(shade.values),
                    width: shade.columns as u32,
                    height: shade.rows as u32,
                    min_filter: Interpolation::Linear,
                    mag_filter: Interpolation::Linear,
                    mipmap: None,
                    wrap_s: Wrapping::ClampToEdge,
                    wrap_t: Wrapping::ClampToEdge,
                    ..CpuTexture::default()
                },
            );
            (texture, shade.lo, shade.hi)
        });
    }

    /// Draws the scene into a canvas of `width` × `height` device px.
    pub(super) fn draw(&self, scene: &Scene, camera: &Camera, width: u32, height: u32) {
        let view = View::new(scene, camera, Viewport::new_at_origo(width, height));
        let [red, green, blue] = scene.theme.paper;
        let screen = RenderTarget::screen(&self.context, width, height);
        screen.clear(ClearState::color_and_depth(red, green, blue, 1.0, 1.0));
        self.draw_surfaces(scene, &view, What::Insole, Pass::Solid);
        if scene.skin == SkinShow::Solid {
            self.draw_surfaces(scene, &view, What::Foot, Pass::Solid);
        }
        // After what hides it: the ground is wide, and in software every pixel not drawn twice counts.
        self.draw_ground(scene, camera, &view);
        if scene.skin == SkinShow::Ghost {
            // Only the nearest skin is seen, not the folds behind it.
            self.draw_surfaces(scene, &view, What::Foot, Pass::Depth);
            self.draw_surfaces(scene, &view, What::Foot, Pass::Ghost);
            if self.lines.count > 0 {
                // The ghost hides no line.
                screen.clear(ClearState::depth(1.0));
                self.draw_surfaces(scene, &view, What::Insole, Pass::Depth);
            }
        }
        self.draw_lines(&view);
        self.draw_markers(scene, &view);
    }

    fn draw_surfaces(&self, scene: &Scene, view: &View, what: What, pass: Pass) {
        for side in Side::ALL.into_iter().filter(|&side| scene.shows(side, what)) {
            let mesh = &self.meshes[side][what as usize];
            if scene.surface(side, what).is_some() && mesh.is_whole() {
                match pass {
                    Pass::Depth => self.draw_depth(scene, view, side, what),
                    Pass::Solid | Pass::Ghost => self.draw_surface(scene, view, side, what, pass),
                }
            }
        }
    }

    fn draw_depth(&self, scene: &Scene, view: &View, side: Side, what: What) {
        let mesh = &self.meshes[side][what as usize];
        let program = &self.depth;
        program.use_uniform("clip_from_world", view.clip_from_world);
        program.use_uniform("world_from_foot", matrix(&scene.stand.world_from_foot(side)));
        program.use_vertex_attribute("position", &mesh.positions);
        let states = RenderStates { write_mask: WriteMask::DEPTH, cull: cull(side, what), ..RenderStates::default() };
        program.draw_elements(states, view.viewport, &mesh.indices);
    }

    fn draw_surface(&self, scene: &Scene, view: &View, side: Side, what: What, pass: Pass) {
        let mesh = &self.meshes[side][what as usize];
        let mirrored = side == Side::Left;
        let ghost = pass == Pass::Ghost;
        let program = &self.surface;
        program.use_uniform("clip_from_world", view.clip_from_world);
        program.use_uniform("world_from_foot", matrix(&scene.stand.world_from_foot(side)));
        program.use_uniform("base_color", vector(scene.base_color(side, what)));
        program.use_uniform("eye", view.eye);
        program.use_uniform("key_direction", view.key_direction);
        program.use_uniform("sky_direction", view.sky_direction);
        program.use_uniform("opacity", if ghost { GHOST_OPACITY } else { 1.0 });
        program.use_uniform("iso_step", scene.iso_step(side, what));
        program.use_uniform("ratio", view.ratio);
        program.use_uniform("mirrored", if mirrored { 1.0_f32 } else { 0.0 });
        program.use_uniform("gloss", if what == What::Foot { FOOT_GLOSS } else { INSOLE_GLOSS });
        program.use_vertex_attribute("position", &mesh.positions);
        program.use_vertex_attribute("normal", &mesh.normals);
        program.use_vertex_attribute("tint", &mesh.tints);
        program.use_vertex_attribute("value", &mesh.values);
        let states = if ghost {
            RenderStates {
                write_mask: WriteMask::COLOR,
                depth_test: DepthTest::LessOrEqual,
                blend: Blend::TRANSPARENCY,
                cull: Cull::None,
            }
        } else {
            RenderStates { cull: cull(side, what), ..RenderStates::default() }
        };
        program.draw_elements(states, view.viewport, &mesh.indices);
    }

    fn draw_ground(&self, scene: &Scene, camera: &Camera, view: &View) {
        let strength = (camera.pitch_rad / GROUND_SEEN_RAD).clamp(0.0, 1.0) as f32;
        let (Some((lo, hi)), Some((texture, from, to))) = (scene.bounds(), &self.shade) else { return };
        if strength == 0.0 {
            return;
        }
        let middle = (lo + hi) / 2.0;
        let reach = (hi - lo).truncate().max_element() / 2.0 * GROUND_REACH;
        let program = &self.ground;
        program.use_uniform("clip_from_world", view.clip_from_world);
        let corner = |sign: f64| (middle.x + sign * reach, middle.y + sign * reach);
        let ((x0, y0), (x1, y1)) = (corner(-1.0), corner(1.0));
        program.use_uniform("box", Vec4::new(x0 as f32, y0 as f32, x1 as f32, y1 as f32));
        program.use_uniform("height", scene.ground_mm() as f32);
        program.use_uniform("paper", vector(scene.theme.paper));
        program.use_uniform("grid", vector(scene.theme.grid));
        program.use_uniform("middle", Vec2::new(middle.x as f32, middle.y as f32));
        program.use_uniform("reach", reach as f32);
        let (from, to) = (from.as_vec2(), to.as_vec2());
        program.use_uniform("shade_box", Vec4::new(from.x, from.y, to.x, to.y));
        program.use_uniform("strength", strength);
        program.use_uniform("ratio", view.ratio);
        program.use_texture("shade", texture);
        program.use_vertex_attribute("corner", &self.ground_corners);
        let states =
            RenderStates { write_mask: WriteMask::COLOR, blend: Blend::TRANSPARENCY, ..RenderStates::default() };
        program.draw_arrays(states, view.viewport, 6);
    }

    fn draw_lines(&self, view: &View) {
        let lines = &self.lines;
        if lines.count == 0 {
            return;
        }
        let program = &self.line;
        for (depth_test, opacity) in [(DepthTest::Greater, HIDDEN_LINE_OPACITY), (DepthTest::LessOrEqual, 1.0)] {
            program.use_uniform("clip_from_world", view.clip_from_world);
            program.use_uniform("eye", view.eye);
            program.use_uniform("size_px", view.size_px);
            program.use_uniform("lift_mm", LINE_LIFT_MM);
            program.use_uniform("opacity", opacity);
            program.use_vertex_attribute("start", &lines.start);
            program.use_vertex_attribute("end", &lines.end);
            program.use_vertex_attribute("corner", &lines.corner);
            program.use_vertex_attribute("style", &lines.style);
            let states =
                RenderStates { write_mask: WriteMask::COLOR, depth_test, blend: Blend::TRANSPARENCY, cull: Cull::None };
            program.draw_arrays(states, view.viewport, lines.count);
        }
    }

    fn draw_markers(&self, scene: &Scene, view: &View) {
        let markers = &self.markers;
        if markers.count == 0 {
            return;
        }
        let program = &self.marker;
        program.use_uniform("clip_from_world", view.clip_from_world);
        program.use_uniform("size_px", view.size_px);
        program.use_uniform("outline", vector(scene.theme.ink));
        program.use_uniform("halo", vector(scene.theme.paper));
        program.use_vertex_attribute("place", &markers.place);
        program.use_vertex_attribute("corner", &markers.corner);
        program.use_vertex_attribute("fill", &markers.fill);
        program.use_vertex_attribute("look", &markers.look);
        let states = RenderStates {
            write_mask: WriteMask::COLOR,
            depth_test: DepthTest::Always,
            blend: Blend::TRANSPARENCY,
            cull: Cull::None,
        };
        program.draw_arrays(states, view.viewport, markers.count);
    }
}

#[cfg(target_arch = "wasm32")]
#[allow(clippy::arc_with_non_send_sync, reason = "three-d asks for an Arc; nothing here leaves the thread")]
fn graphics(gl: WebGl2RenderingContext) -> Result<Arc<three_d::context::Context>, CoreError> {
    Ok(Arc::new(three_d::context::Context::from_webgl2_context(gl)))
}

/// Where the tests run there is no browser and nothing to draw on.
#[cfg(not(target_arch = "wasm32"))]
fn graphics(_: WebGl2RenderingContext) -> Result<Arc<three_d::context::Context>, CoreError> {
    Err(CoreError::ContextCreation("no browser".to_owned()))
}

impl GpuMesh {
    fn new(context: &Context) -> Self {
        GpuMesh {
            positions: VertexBuffer::new(context),
            normals: VertexBuffer::new(context),
            tints: VertexBuffer::new(context),
            values: VertexBuffer::new(context),
            indices: ElementBuffer::new(context),
            vertices: 0,
        }
    }

    /// The library draws what it is told to: buffers of different lengths would be read beyond the shortest.
    fn is_whole(&self) -> bool {
        let counts = [self.positions.vertex_count(), self.normals.vertex_count(), self.tints.vertex_count()];
        let values = self.values.vertex_count() as usize;
        self.indices.count() > 0 && values == self.vertices && counts.iter().all(|&n| n as usize == self.vertices)
    }
}

/// Which faces of a mesh are never seen: an insole is closed, a scan may be open anywhere. A mirrored foot's faces are
/// turned round.
fn cull(side: Side, what: What) -> Cull {
    match (what, side) {
        (What::Foot, _) => Cull::None,
        (What::Insole, Side::Left) => Cull::Front,
        (What::Insole, Side::Right) => Cull::Back,
    }
}

/// How a mesh is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Pass {
    /// In colour, hiding what is behind.
    Solid,
    /// Not seen, but hiding what is behind.
    Depth,
    /// Translucent, over what was drawn.
    Ghost,
}

/// What all programs are told about one picture.
struct View {
    viewport: Viewport,
    clip_from_world: Mat4,
    eye: Vec3,
    key_direction: Vec3,
    sky_direction: Vec3,
    size_px: Vec2,
    /// Device px to a css px, at least 1.
    ratio: f32,
}

impl View {
    fn new(scene: &Scene, camera: &Camera, viewport: Viewport) -> View {
        // The key light comes over the viewer's left shoulder, so that shape reads from every side.
        let key = camera.towards() * 0.55 + camera.up() * 0.62 - camera.right() * 0.48 + DVec3::Z * 0.25;
        // Light falls from the sky; looked at from below, from where the viewer is, so that soles are not in the dark.
        let sky = DVec3::Z * libm::sin(camera.pitch_rad.max(-0.3) + 0.3) + camera.towards() * 0.6;
        View {
            viewport,
            clip_from_world: from_columns(&camera.clip_from_world(scene.radius_around(camera.target))),
            eye: point(camera.eye()),
            key_direction: point(key.normalize_or(DVec3::Z)),
            sky_direction: point(sky.normalize_or(DVec3::Z)),
            ratio: (f64::from(viewport.width) / camera.size_px.x.max(1.0)).max(1.0) as f32,
            size_px: Vec2::new(camera.size_px.x as f32, camera.size_px.y as f32),
        }
    }
}

fn matrix(map: &DAffine3) -> Mat4 {
    from_columns(&DMat4::from(*map))
}

fn from_columns(matrix: &DMat4) -> Mat4 {
    let [x, y, z, w] = matrix.as_mat4().to_cols_array_2d().map(Vec4::from);
    Mat4::from_cols(x, y, z, w)
}

fn point(p: DVec3) -> Vec3 {
    Vec3::from(p.as_vec3().to_array())
}

fn vector(color: Rgb) -> Vec3 {
    Vec3::from(color)
}
