use super::Phantom;
use super::random::SplitMix64;
use super::skin::Skin;
use super::solid::{Group, Piece, Sloped, Strand};
use super::surface::{Lattice, largest_piece, skin_mesh, used};
use base::{LengthUnit, Side};
use glam::{DAffine3, DVec2, DVec3, dvec2, dvec3};
use mesh::TriMesh;

/// How a phantom is scanned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ScanSwitches {
    /// Length of a triangle's short sides, mm, 0.3 … 20 (nearer values are taken for others).
    pub triangle_mm: f64,
    /// Triangles from about half to one and a half times as long, instead of all alike.
    pub uneven: bool,
    /// Standard deviation of the noise along the normals, mm, at most 2.
    pub noise_sigma_mm: f64,
    /// Number of holes of 3 to 8 mm radius.
    pub holes: usize,
    /// Foot frame of a right foot, or the mirrored one of a left foot → scanner, mm: a motion, never a mirror.
    pub pose: DAffine3,
    /// Unit of the scan's numbers.
    pub unit: LengthUnit,
    /// Seed of noise, holes and stray pieces.
    pub seed: u64,
    /// The leg up to its full height, or only to just over the malleoli.
    pub leg: bool,
    /// The top of the leg is a hole, as scanners leave it, instead of a flat cut.
    pub open_top: bool,
    /// Number of stray pieces floating about the foot.
    pub stray_pieces: usize,
    /// A sheet of the floor round the foot.
    pub floor_sheet: bool,
    /// That sheet has grown together with the foot.
    pub floor_joined: bool,
    /// Only the sole, as seen from below, and the side walls up to this height, mm: one open sheet, without leg.
    pub sole_only_mm: Option<f64>,
    /// The print of the foot in a box of foam, this deep, mm: its surface seen from above, with a flat rim. Without leg.
    pub impression_mm: Option<f64>,
    /// Number of spikes: single vertices pushed out or in by 6 to 20 mm.
    pub spikes: usize,
}

impl Default for ScanSwitches {
    /// A closed, clean scan at 2 mm in the foot frame (mirrored for a left foot), in mm.
    fn default() -> Self {
        ScanSwitches {
            triangle_mm: 2.0,
            uneven: false,
            noise_sigma_mm: 0.0,
            holes: 0,
            pose: DAffine3::IDENTITY,
            unit: LengthUnit::Millimetre,
            seed: 1,
            leg: true,
            open_top: false,
            stray_pieces: 0,
            floor_sheet: false,
            floor_joined: false,
            sole_only_mm: None,
            impression_mm: None,
            spikes: 0,
        }
    }
}

/// A scan of a phantom.
#[derive(Clone, Debug)]
pub struct Scan {
    /// The triangles, outside facing out, in the scan's unit and coordinates.
    pub mesh: TriMesh,
    /// The scan's coordinates → foot frame in mm, exact; mirrors a left foot.
    pub foot_from_scan: DAffine3,
}

/// Where a scan without leg ends, as a share of foot length: just over the malleoli.
const ANKLE_CUT_SHARE: f64 = 0.36;

impl Phantom {
    /// Scans the phantom. Without holes, noise, open top, stray pieces, floor and spikes the mesh of a whole foot is closed, and its vertices
    /// lie on the skin.
    #[must_use]
    pub fn scan(&self, switches: &ScanSwitches) -> Scan {
        let mut stream = SplitMix64::new(switches.seed);
        let step = if switches.triangle_mm.is_finite() { switches.triangle_mm.clamp(0.3, 20.0) } else { 2.0 };
        let cut = ANKLE_CUT_SHARE * self.params.foot_length_mm;
        let top = if switches.leg { self.params.leg_height_mm } else { self.params.leg_height_mm.min(cut) };
        let mut scan = self.skin(&Cut { phantom: self, top }, step, switches.uneven);
        if switches.open_top {
            // A row below the cut: the row at its rim is half wall, half top.
            let rim = top - step;
            retain(&mut scan, |corners| corners.iter().all(|p| p.z < rim));
        }
        if let Some(wall) = switches.sole_only_mm.or(switches.impression_mm) {
            scan = sole_of(&scan, wall);
        }
        for _ in 0..switches.holes {
            let at = scan.positions()[(stream.next() % scan.positions().len().max(1) as u64) as usize];
            let radius = stream.between(3.0, 8.0);
            retain(&mut scan, |corners| corners.iter().all(|p| p.distance(at) > radius));
        }
        for _ in 0..switches.stray_pieces {
            if let Some(piece) = self.stray_piece(&mut stream, step) {
                scan = joined(&scan, &piece);
            }
        }
        if switches.floor_joined {
            // The floor is seen as far as what is this high over it leaves it in view, mm.
            scan = self.grown_together(&scan, 0.0, &[6.0], step);
        } else if switches.floor_sheet {
            scan = joined(&scan, &self.floor(step));
        }
        if let Some(depth) = switches.impression_mm {
            scan = self.grown_together(&scan, depth, &[0.0, -0.25 * depth, -0.5 * depth, -0.75 * depth], step);
        }
        if switches.noise_sigma_mm > 0.0 {
            scan = noisy(&scan, switches.noise_sigma_mm.min(2.0), &mut stream);
        }
        for _ in 0..switches.spikes {
            scan = spiked(scan, &mut stream);
        }
        if switches.impression_mm.is_some() {
            let turned = scan.triangles().iter().map(|&[a, b, c]| [a, c, b]).collect();
            scan = TriMesh::new(scan.positions().to_vec(), turned).unwrap_or_default();
        }
        let mirror = if self.params.side == Side::Left { dvec3(1.0, -1.0, 1.0) } else { DVec3::ONE };
        let per_mm = 1.0 / switches.unit.mm();
        let scan_from_foot = DAffine3::from_scale(DVec3::splat(per_mm)) * switches.pose * DAffine3::from_scale(mirror);
        Scan { mesh: scan.transformed(&scan_from_foot), foot_from_scan: scan_from_foot.inverse() }
    }

    fn skin(&self, cut: &Cut, step: f64, uneven: bool) -> TriMesh {
        let margin = 2.5 * step;
        let length = self.params.foot_length_mm;
        // Half the breadth plus room for an outward foot; malleoli and heel are narrower than the ball.
        let half = 0.36 * length;
        let lo = dvec3(0.0, -half, 0.0) - DVec3::splat(margin);
        let hi = dvec3(length, half, cut.top) + DVec3::splat(margin);
        let lattice = if uneven {
            Lattice::stretched(lo, hi, step, &|at| 1.0 + 0.5 * libm::sin(at / 11.0))
        } else {
            Lattice::even(lo, hi, step)
        };
        skin_mesh(cut, &lattice)
    }

    /// A small closed lump in the air, well off the foot.
    fn stray_piece(&self, stream: &mut SplitMix64, step: f64) -> Option<TriMesh> {
        let length = self.params.foot_length_mm;
        let at = (0..60).find_map(|_| {
            let x = stream.between(-60.0, length + 60.0);
            let p = dvec3(x, stream.between(-120.0, 120.0), stream.between(12.0, 110.0));
            (self.distance(p) > 25.0).then_some(p)
        })?;
        let radii = dvec3(stream.between(3.0, 7.0), stream.between(3.0, 7.0), stream.between(3.0, 7.0));
        let step = step.min(2.0);
        let lump = Group::new(vec![Strand::of(Piece::ellipsoid(at, radii, 0.0), 1.0)]);
        let half = radii + DVec3::splat(2.5 * step);
        Some(skin_mesh(&lump, &Lattice::even(at - half, at + half, step)))
    }

    /// The floor round the foot, as far as the scanner sees it.
    fn floor(&self, step: f64) -> TriMesh {
        const SHADOW_MM: f64 = 4.0;
        // Without what it sees of the floor under the arch.
        self.level_sheet(0.0, &|p| self.distance(p) > SHADOW_MM, step)
    }

    /// A scan of the foot with a level sheet round it, clear of the sections `beside` above it, that has its inner edge
    /// on the scan's own vertices.
    fn grown_together(&self, scan: &TriMesh, level: f64, beside: &[f64], step: f64) -> TriMesh {
        let off = |p: DVec3| beside.iter().map(|z| self.distance(p + DVec3::Z * *z)).fold(f64::INFINITY, f64::min);
        let sheet = self.level_sheet(level, &|p| off(p) > 0.0, step);
        let near = |p: &DVec3| (p.z - level).abs() < 2.0 * step;
        let ends: Vec<usize> = (0..scan.positions().len()).filter(|&v| near(&scan.positions()[v])).collect();
        let first = scan.positions().len() as u32;
        let nearest = |p: DVec3| {
            let off = |&v: &usize| scan.positions()[v].distance_squared(p);
            ends.iter().copied().min_by(|a, b| off(a).total_cmp(&off(b))).map_or(first, |v| v as u32)
        };
        // The sheet's cells are twice the step: these are the vertices of its inner edge.
        let is_edge = |p: DVec3| off(p) < 2.8 * step;
        let places = sheet.positions().iter().enumerate();
        let number: Vec<u32> = places.map(|(v, &p)| if is_edge(p) { nearest(p) } else { first + v as u32 }).collect();
        let sheet_triangles = sheet.triangles().iter().map(|t| t.map(|v| number[v as usize]));
        let is_whole = |t: &[u32; 3]| t[0] != t[1] && t[1] != t[2] && t[2] != t[0];
        let triangles = scan.triangles().iter().copied().chain(sheet_triangles.filter(is_whole)).collect();
        let positions = [scan.positions(), sheet.positions()].concat();
        let (positions, triangles) = used(&positions, triangles);
        TriMesh::new(positions, triangles).unwrap_or_default()
    }

    /// A level sheet round the foot, facing up, where it is `clear` of the foot.
    fn level_sheet(&self, level: f64, is_clear: &dyn Fn(DVec3) -> bool, step: f64) -> TriMesh {
        const SEEN_MM: f64 = 40.0;
        let length = self.params.foot_length_mm;
        let cell = 2.0 * step;
        let lo = dvec2(-SEEN_MM, -0.24 * length - SEEN_MM);
        let hi = dvec2(length + SEEN_MM, 0.24 * length + SEEN_MM);
        let [columns, rows] = ((hi - lo) / cell).to_array().map(|n| n as u32 + 1);
        let place = |i: u32, j: u32| (lo + cell * DVec2::new(f64::from(i), f64::from(j))).extend(level);
        let positions: Vec<DVec3> = (0..rows).flat_map(|j| (0..columns).map(move |i| place(i, j))).collect();
        let clear: Vec<bool> = positions.iter().map(|&p| is_clear(p)).collect();
        let mut triangles = Vec::new();
        for j in 0..rows - 1 {
            for i in 0..columns - 1 {
                let [a, b] = [j * columns + i, j * columns + i + 1];
                let [c, d] = [b + columns, a + columns];
                if [a, b, c, d].iter().all(|&v| clear[v as usize]) {
                    triangles.extend([[a, b, c], [a, c, d]]);
                }
            }
        }
        let (positions, triangles) = largest_piece(positions, triangles);
        TriMesh::new(positions, triangles).unwrap_or_default()
    }
}

impl Scan {
    /// The triangles of two scans in one mesh; `bridged` lets them share the vertices where they come nearest, so that
    /// they are one piece.
    #[must_use]
    pub fn beside(&self, other: &Scan, bridged: bool) -> TriMesh {
        let both = joined(&self.mesh, &other.mesh);
        if !bridged {
            return both;
        }
        let first = self.mesh.positions().len();
        let (mine, theirs) = both.positions().split_at(first);
        let mut nearest = (f64::INFINITY, 0, 0);
        for (i, p) in mine.iter().enumerate() {
            for (j, q) in theirs.iter().enumerate() {
                let off = p.distance_squared(*q);
                if off < nearest.0 {
                    nearest = (off, i, first + j);
                }
            }
        }
        let (_, mine, theirs) = nearest;
        let rename = |v: u32| if v as usize == theirs { mine as u32 } else { v };
        let triangles = both.triangles().iter().map(|t| t.map(rename)).collect();
        TriMesh::new(both.positions().to_vec(), triangles).unwrap_or_default()
    }
}

/// What is seen of the skin from below, and its sides up to a height.
fn sole_of(scan: &TriMesh, wall: f64) -> TriMesh {
    // Steeper than 60° is wall; the undersides of the malleoli are higher than any sole.
    const SOLE: f64 = -0.5;
    const WALL: f64 = 0.3;
    let mut sole = scan.clone();
    retain(&mut sole, |corners @ [a, b, c]| {
        let up = (b - a).cross(c - a).normalize_or_zero().z;
        let is_below = |height: f64| corners.iter().all(|p| p.z < height);
        up < SOLE && is_below(crate::SILHOUETTE_HEIGHT_MM) || up < WALL && is_below(wall)
    });
    let (positions, triangles) = largest_piece(sole.positions().to_vec(), sole.triangles().to_vec());
    TriMesh::new(positions, triangles).unwrap_or_default()
}

/// One vertex pushed along its normal.
fn spiked(scan: TriMesh, stream: &mut SplitMix64) -> TriMesh {
    let at = (stream.next() % scan.positions().len().max(1) as u64) as usize;
    let height = stream.between(6.0, 20.0) * if stream.unit() < 0.5 { -1.0 } else { 1.0 };
    let around = scan.triangles().iter().filter(|t| t.contains(&(at as u32)));
    let normal = around.map(|&t| scan.area_vector(t)).sum::<DVec3>().normalize_or_zero();
    let mut positions = scan.positions().to_vec();
    if let Some(p) = positions.get_mut(at) {
        *p += normal * height;
    }
    TriMesh::new(positions, scan.triangles().to_vec()).unwrap_or_default()
}

/// The phantom, the leg cut off at a height.
struct Cut<'a> {
    phantom: &'a Phantom,
    top: f64,
}

impl Skin for Cut<'_> {
    fn distance(&self, p: DVec3) -> f64 {
        Skin::distance(self.phantom, p).max(p.z - self.top)
    }

    fn sloped(&self, p: DVec3) -> Sloped {
        let skin = self.phantom.sloped(p);
        if skin.0 >= p.z - self.top { skin } else { Sloped(p.z - self.top, DVec3::Z) }
    }
}

/// Keeps the triangles that `keep` likes.
fn retain(scan: &mut TriMesh, keep: impl Fn([DVec3; 3]) -> bool) {
    let kept = scan.triangles().iter().copied().filter(|&t| keep(scan.corners(t))).collect();
    let (positions, triangles) = used(scan.positions(), kept);
    *scan = TriMesh::new(positions, triangles).unwrap_or_default();
}

fn joined(a: &TriMesh, b: &TriMesh) -> TriMesh {
    let first = a.positions().len() as u32;
    let positions = [a.positions(), b.positions()].concat();
    let triangles = a.triangles().iter().copied().chain(b.triangles().iter().map(|t| t.map(|v| v + first)));
    TriMesh::new(positions, triangles.collect()).unwrap_or_default()
}

/// Every vertex moved along its normal.
fn noisy(scan: &TriMesh, sigma_mm: f64, stream: &mut SplitMix64) -> TriMesh {
    let mut normals = vec![DVec3::ZERO; scan.positions().len()];
    for &triangle in scan.triangles() {
        let [a, b, c] = scan.corners(triangle);
        for v in triangle {
            normals[v as usize] += (b - a).cross(c - a);
        }
    }
    let moved = scan
        .positions()
        .iter()
        .zip(&normals)
        .map(|(&p, normal)| p + normal.normalize_or_zero() * (sigma_mm * stream.normal()));
    TriMesh::new(moved.collect(), scan.triangles().to_vec()).unwrap_or_default()
}
