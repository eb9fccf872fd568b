use super::camera::Ray;
use super::pick::PickMesh;
use super::relief::{Shade, calm_normals, openness};
use super::stand::Stand;
use super::{Hit, Line, Marker, Paint, Rgb, SkinShow, Theme, What};
use crate::worker::Mesh;
use base::{BySide, Side};
use glam::{DVec2, DVec3};
use std::cell::OnceCell;
use std::rc::Rc;

/// A point counts as seen when nothing lies more than this in front of it, mm: markers lie on the skin itself.
const SEEN_WITHIN_MM: f64 = 2.5;
/// Room for the ground before and behind the pair, as a share of the pair's size.
const GROUND_ROOM: f64 = 1.6;
/// About so many points of a mesh stand for all when it is fitted into the picture.
const FITTED_POINTS: usize = 500;

/// Everything to be drawn, on the CPU: what a lost graphics context is built from again.
#[derive(Debug, Default)]
pub(super) struct Scene {
    pub(super) theme: Theme,
    pub(super) skin: SkinShow,
    pub(super) insole_hidden: bool,
    pub(super) focus: Option<Side>,
    pub(super) stand: Stand,
    pub(super) markers: Vec<Marker>,
    pub(super) lines: Vec<Line>,
    surfaces: BySide<[Option<Surface>; 2]>,
    paints: BySide<[Option<Paint>; 2]>,
}

/// A mesh with all it takes to draw and to meet it.
#[derive(Debug)]
pub(super) struct Surface {
    pub(super) mesh: Mesh,
    /// The normals it is shown with.
    pub(super) normals: Rc<Vec<f32>>,
    openness: Vec<u8>,
    lo: DVec3,
    hi: DVec3,
    pick: OnceCell<Option<Rc<PickMesh>>>,
}

/// What of a mesh is new after [`Scene::set_mesh`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Fresh {
    pub(super) shape: bool,
    pub(super) triangles: bool,
}

/// The surfaces as they were when a drag began, or are now.
pub(super) type PickMeshes = BySide<[Option<Rc<PickMesh>>; 2]>;

impl Scene {
    /// Takes a mesh in, or away.
    pub(super) fn set_mesh(&mut self, side: Side, what: What, mesh: Option<&Mesh>) -> Fresh {
        let place = &mut self.surfaces[side][what as usize];
        let fresh = match (&place, mesh) {
            (None, None) => return Fresh::default(),
            (Some(old), Some(new)) if old.mesh.is(new) => return Fresh::default(),
            (Some(old), Some(new)) => Fresh { shape: true, triangles: !Rc::ptr_eq(&old.mesh.indices, &new.indices) },
            _ => Fresh { shape: true, triangles: true },
        };
        *place = mesh.and_then(|mesh| Surface::new(mesh, what));
        if fresh.triangles {
            let medial = |surface: &Option<Surface>| surface.as_ref().map(|surface| surface.hi.y);
            let most = self.surfaces[side].iter().filter_map(medial).reduce(f64::max);
            if let Some(most) = most {
                self.stand.place(side, most);
            }
        }
        fresh
    }

    pub(super) fn set_paint(&mut self, side: Side, what: What, paint: Option<Paint>) {
        self.paints[side][what as usize] = paint;
    }

    pub(super) fn surface(&self, side: Side, what: What) -> Option<&Surface> {
        self.surfaces[side][what as usize].as_ref()
    }

    /// Whether a mesh is shown at all.
    pub(super) fn shows(&self, side: Side, what: What) -> bool {
        let hidden = match what {
            What::Foot => self.skin == SkinShow::Hidden,
            What::Insole => self.insole_hidden,
        };
        !hidden && self.focus.is_none_or(|focus| focus == side)
    }

    fn shown(&self) -> impl Iterator<Item = (Side, What, &Surface)> {
        let all = Side::ALL.into_iter().flat_map(|side| [(side, What::Foot), (side, What::Insole)]);
        all.filter(|&(side, what)| self.shows(side, what))
            .filter_map(|(side, what)| Some((side, what, self.surface(side, what)?)))
    }

    /// Colour, values and their step for every vertex of a mesh.
    pub(super) fn tints(&self, side: Side, what: What) -> (Vec<[u8; 4]>, Vec<f32>) {
        let Some(surface) = self.surface(side, what) else { return (Vec::new(), Vec::new()) };
        let count = surface.mesh.positions.len() / 3;
        let Some(paint) = self.paint(side, what) else {
            let tint = |vertex| [255, 255, 255, surface.openness.get(vertex).copied().unwrap_or(255)];
            return ((0..count).map(tint).collect(), vec![0.0; count]);
        };
        let openness = |vertex: usize| surface.openness.get(vertex).copied().unwrap_or(255);
        let colours = paint.rgb.as_chunks::<3>().0.iter().enumerate();
        let tints = colours.map(|(vertex, &[r, g, b])| [r, g, b, openness(vertex)]).collect();
        let values = match &paint.iso {
            Some((values, _)) if values.len() == count => values.clone(),
            _ => vec![0.0; count],
        };
        (tints, values)
    }

    /// The colour that the tints of a mesh are shades of.
    pub(super) fn base_color(&self, side: Side, what: What) -> Rgb {
        match what {
            _ if self.paint(side, what).is_some() => [1.0; 3],
            What::Foot => self.theme.skin,
            What::Insole => self.theme.insole,
        }
    }

    /// Step between lines of equal value on a mesh; 0 draws none.
    pub(super) fn iso_step(&self, side: Side, what: What) -> f32 {
        let step = self.paint(side, what).and_then(|paint| paint.iso.as_ref()).map_or(0.0, |(_, step)| *step);
        if step.is_finite() { step.max(0.0) } else { 0.0 }
    }

    fn paint(&self, side: Side, what: What) -> Option<&Paint> {
        let surface = self.surface(side, what)?;
        let paint = self.paints[side][what as usize].as_ref()?;
        (paint.rgb.len() == surface.mesh.positions.len()).then_some(paint)
    }

    /// Least and greatest corner of what is shown, world.
    pub(super) fn bounds(&self) -> Option<(DVec3, DVec3)> {
        self.shown()
            .map(|(side, _, surface)| {
                let world = self.stand.world_from_foot(side);
                let (a, b) = (world.transform_point3(surface.lo), world.transform_point3(surface.hi));
                (a.min(b), a.max(b))
            })
            .reduce(|(lo, hi), (a, b)| (lo.min(a), hi.max(b)))
    }

    /// Height of the ground: what is shown stands on it.
    pub(super) fn ground_mm(&self) -> f64 {
        self.bounds().map_or(0.0, |(lo, _)| lo.z)
    }

    /// Everything drawn lies within this distance of `centre`, ground included.
    pub(super) fn radius_around(&self, centre: DVec3) -> f64 {
        let Some((lo, hi)) = self.bounds() else { return 1000.0 };
        (centre - lo).abs().max((centre - hi).abs()).length() + (hi - lo).length() * GROUND_ROOM
    }

    /// Points that stand for what is shown, world.
    pub(super) fn fitted_points(&self) -> Vec<DVec3> {
        let mut points = Vec::new();
        for (side, _, surface) in self.shown() {
            let world = self.stand.world_from_foot(side);
            let vertices = surface.mesh.positions.as_chunks::<3>().0;
            let some = vertices.iter().step_by((vertices.len() / FITTED_POINTS).max(1));
            points.extend(some.map(|vertex| world.transform_point3(point(vertex))));
        }
        points
    }

    /// The shade under what is shown.
    pub(super) fn shade(&self) -> Option<Shade> {
        let mut points = Vec::new();
        for (side, _, surface) in self.shown() {
            let world = self.stand.world_from_foot(side);
            let vertices = surface.mesh.positions.as_chunks::<3>().0;
            let middles = surface.mesh.indices.as_chunks::<3>().0.iter().filter_map(|&[a, b, c]| {
                let corner = |i: u32| vertices.get(i as usize).map(point);
                Some((corner(a)? + corner(b)? + corner(c)?) / 3.0)
            });
            points.extend(vertices.iter().map(point).chain(middles).map(|p| world.transform_point3(p)));
        }
        Shade::under(&points, self.ground_mm())
    }

    /// The surfaces for picking, sorted on first use.
    pub(super) fn pick_meshes(&self) -> PickMeshes {
        BySide::from_fn(|side| [What::Foot, What::Insole].map(|what| self.surface(side, what)?.pick_mesh()))
    }

    /// What a ray meets first. Through a ghost the insole is met before the skin.
    pub(super) fn pick(&self, ray: Ray) -> Option<Hit> {
        let nearest = |wanted: Option<What>| {
            self.shown()
                .filter(|&(_, what, _)| wanted.is_none_or(|wanted| wanted == what))
                .filter_map(|(side, what, surface)| {
                    let (origin, direction) = self.in_foot(side, ray);
                    let distance = surface.pick_mesh()?.first_hit(origin, direction)?;
                    Some((distance, Hit { side, what, at: (origin + direction * distance).to_array() }))
                })
                .min_by(|a, b| a.0.total_cmp(&b.0))
                .map(|(_, hit)| hit)
        };
        match self.skin {
            SkinShow::Ghost => nearest(Some(What::Insole)).or_else(|| nearest(Some(What::Foot))),
            SkinShow::Solid | SkinShow::Hidden => nearest(None),
        }
    }

    /// Whether nothing that cannot be looked through stands between `eye` and a point (both world).
    pub(super) fn sees(&self, eye: DVec3, to: DVec3) -> bool {
        let way = to - eye;
        let distance = way.length();
        let ray = Ray { origin: eye, direction: way / distance.max(f64::MIN_POSITIVE) };
        self.shown().filter(|&(_, what, _)| what == What::Insole || self.skin == SkinShow::Solid).all(
            |(side, _, surface)| {
                let (origin, direction) = self.in_foot(side, ray);
                let met = surface.pick_mesh().and_then(|mesh| mesh.first_hit(origin, direction));
                met.is_none_or(|met| met > distance - SEEN_WITHIN_MM)
            },
        )
    }

    /// A ray in a foot's frame.
    pub(super) fn in_foot(&self, side: Side, ray: Ray) -> (DVec3, DVec3) {
        let foot = self.stand.foot_from_world(side);
        (foot.transform_point3(ray.origin), foot.transform_vector3(ray.direction))
    }

    /// A curve in plan laid on the insole's top. Where it runs beside the insole it keeps the height at which it left.
    pub(super) fn lift(&self, side: Side, points: &[[f32; 2]]) -> Vec<[f32; 3]> {
        let mesh = self.surface(side, What::Insole).and_then(Surface::pick_mesh);
        let height = |&[x, y]: &[f32; 2]| mesh.as_ref()?.top(DVec2::new(x.into(), y.into()));
        let heights: Vec<Option<f64>> = points.iter().map(height).collect();
        let mut last = heights.iter().flatten().next().copied().unwrap_or(0.0);
        let laid = points.iter().zip(&heights).map(|(&[x, y], height)| {
            last = height.unwrap_or(last);
            [x, y, last as f32]
        });
        laid.collect()
    }
}

impl Surface {
    fn new(mesh: &Mesh, what: What) -> Option<Surface> {
        let vertices = mesh.positions.as_chunks::<3>().0;
        let none = (DVec3::INFINITY, DVec3::NEG_INFINITY);
        let (lo, hi) = vertices.iter().fold(none, |(lo, hi), v| (lo.min(point(v)), hi.max(point(v))));
        let sound = lo.is_finite() && hi.is_finite() && mesh.normals.len() == mesh.positions.len();
        if !sound {
            return None;
        }
        let (normals, openness) = match what {
            What::Foot => {
                let calm = calm_normals(&mesh.normals, &mesh.indices);
                let openness = openness(&mesh.positions, &calm, &mesh.indices);
                (Rc::new(calm), openness)
            }
            What::Insole => (Rc::clone(&mesh.normals), Vec::new()),
        };
        Some(Surface { mesh: mesh.clone(), normals, openness, lo, hi, pick: OnceCell::new() })
    }

    fn pick_mesh(&self) -> Option<Rc<PickMesh>> {
        self.pick.get_or_init(|| PickMesh::new(&self.mesh).map(Rc::new)).clone()
    }
}

fn point(vertex: &[f32; 3]) -> DVec3 {
    DVec3::new(f64::from(vertex[0]), f64::from(vertex[1]), f64::from(vertex[2]))
}

#[cfg(test)]
#[path = "scene_tests.rs"]
mod tests;
