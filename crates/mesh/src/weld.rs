use crate::first_seen::{Bits, FirstSeen, Key};
use crate::{TriMesh, TriMeshFault};
use glam::DVec3;

/// Triangles whose table entries are fetched together. The processor then waits for memory once per block instead of
/// once per corner, which halves the time for scans whose triangles come in no order; more gains nothing.
const BLOCK: usize = 32;

/// A surface whose equal vertices were made one.
#[derive(Clone, Debug, PartialEq)]
pub struct Merged {
    /// Vertices in order of first use, none unused; triangles in the order given.
    pub mesh: TriMesh,
    /// For each vertex of the mesh the first of the vertices given that became it.
    pub sources: Vec<u32>,
    /// Triangles left out because two corners are in the same place.
    pub degenerate: usize,
    /// Triangles kept although their three corners lie in a line.
    pub without_area: usize,
}

/// Makes vertices with equal coordinates one, bit by bit, -0 equal to 0, and drops those that no triangle uses: what a
/// file with vertices split along seams needs, so that neighbours share their corners. The same triangles give the same
/// mesh, to the numbers of the vertices, as reading them from an STL file.
///
/// # Errors
/// The first index out of range, or the first vertex in use that is not finite.
pub fn merge_equal(positions: &[DVec3], triangles: Vec<[u32; 3]>) -> Result<Merged, TriMeshFault> {
    let is_single = |x: f64| f64::from(x as f32).to_bits() == x.to_bits();
    if positions.iter().all(|p| is_single(p.x) && is_single(p.y) && is_single(p.z)) {
        // Half the table for what nearly every scan is.
        merge_by(positions, triangles, |p| p.to_array().map(|x| (x as f32 + 0.0).to_bits()))
    } else {
        merge_by(positions, triangles, |p| p.to_array().map(|x| (x + 0.0).to_bits()))
    }
}

fn merge_by<K: Bits>(
    given: &[DVec3],
    mut triangles: Vec<[u32; 3]>,
    key: impl Fn(DVec3) -> K,
) -> Result<Merged, TriMeshFault> {
    const UNSEEN: u32 = u32::MAX;
    let vertices = given.len();
    // Room for all vertices just below the load at which the table grows: it is the greatest piece of memory here.
    let mut seen = FirstSeen::with_room_for(vertices * 2 / 3 + 1);
    let mut number_of = vec![UNSEEN; vertices];
    let (mut positions, mut sources) = (Vec::with_capacity(vertices), Vec::with_capacity(vertices));
    let (mut kept, mut without_area) = (0, 0);
    for at in 0..triangles.len() {
        let corners = triangles[at];
        let mut points = [DVec3::ZERO; 3];
        for (point, &vertex) in points.iter_mut().zip(&corners) {
            let fault = TriMeshFault::IndexOutOfRange { triangle: at, vertex, vertices };
            // Adding zero turns -0 into 0.
            *point = *given.get(vertex as usize).ok_or(fault)? + DVec3::ZERO;
            if !point.is_finite() {
                return Err(TriMeshFault::NotFinite { vertex: vertex as usize });
            }
        }
        let [a, b, c] = points;
        if a == b || b == c || c == a {
            continue;
        }
        without_area += usize::from((b - a).cross(c - a) == DVec3::ZERO);
        for (slot, (&vertex, &point)) in corners.iter().zip(&points).enumerate() {
            if number_of[vertex as usize] == UNSEEN {
                let (number, is_new) = seen.number(key(point));
                number_of[vertex as usize] = number;
                if is_new {
                    positions.push(point);
                    sources.push(vertex);
                }
            }
            triangles[kept][slot] = number_of[vertex as usize];
        }
        kept += 1;
    }
    let degenerate = triangles.len() - kept;
    triangles.truncate(kept);
    Ok(Merged { mesh: TriMesh::from_parts(positions, triangles), sources, degenerate, without_area })
}

/// Gathers triangles given by 32-bit coordinates into shared vertices.
pub(crate) struct Welder {
    seen: FirstSeen,
    pending: Vec<[Key; 3]>,
    positions: Vec<DVec3>,
    triangles: Vec<[u32; 3]>,
    degenerate: usize,
    without_area: usize,
}

/// What a [`Welder`] gathered.
pub(crate) struct Welded {
    /// Vertices in order of first use; triangles in the order given.
    pub(crate) mesh: TriMesh,
    /// Triangles left out because two corners are the same.
    pub(crate) degenerate: usize,
    /// Triangles kept although their three corners lie in a line.
    pub(crate) without_area: usize,
}

impl Welder {
    pub(crate) fn for_triangles(count: usize) -> Self {
        // A closed surface has half as many vertices as triangles; a scan has few more.
        let vertices = count / 2 + 3;
        Welder {
            seen: FirstSeen::with_room_for(vertices),
            pending: Vec::with_capacity(BLOCK),
            positions: Vec::with_capacity(vertices),
            triangles: Vec::with_capacity(count),
            degenerate: 0,
            without_area: 0,
        }
    }

    /// Adds a triangle by the bits of its corners' coordinates, which must be finite. −0 counts as 0.
    #[inline]
    pub(crate) fn add(&mut self, corners: [[u32; 3]; 3]) {
        const MINUS_ZERO: u32 = 0x8000_0000;
        let keys = corners.map(|corner| corner.map(|bits| if bits == MINUS_ZERO { 0 } else { bits }));
        let [a, b, c] = keys;
        if a == b || b == c || c == a {
            self.degenerate += 1;
            return;
        }
        let [a, b, c] = keys.map(point);
        self.without_area += usize::from((b - a).cross(c - a) == DVec3::ZERO);
        self.pending.push(keys);
        if self.pending.len() == BLOCK {
            self.flush();
        }
    }

    pub(crate) fn finish(mut self) -> Welded {
        self.flush();
        let mesh = TriMesh::from_parts(self.positions, self.triangles);
        Welded { mesh, degenerate: self.degenerate, without_area: self.without_area }
    }

    fn flush(&mut self) {
        let Welder { seen, pending, positions, triangles, .. } = self;
        seen.fetch(pending.as_flattened());
        for keys in pending.drain(..) {
            let mut number_of = |key| {
                let (number, is_new) = seen.number(key);
                if is_new {
                    positions.push(point(key));
                }
                number
            };
            let [a, b, c] = keys;
            triangles.push([number_of(a), number_of(b), number_of(c)]);
        }
    }
}

fn point(key: Key) -> DVec3 {
    DVec3::from_array(key.map(|bits| f64::from(f32::from_bits(bits))))
}
