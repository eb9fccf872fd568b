use crate::TriMesh;
use crate::first_seen::{FirstSeen, Key};
use glam::DVec3;

/// Triangles whose table entries are fetched together. The processor then waits for memory once per block instead of
/// once per corner, which halves the time for scans whose triangles come in no order; more gains nothing.
const BLOCK: usize = 32;

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
            triangles.push(keys.map(|key| {
                let (number, is_new) = seen.number(key);
                if is_new {
                    positions.push(point(key));
                }
                number
            }));
        }
    }
}

fn point(key: Key) -> DVec3 {
    DVec3::from_array(key.map(|bits| f64::from(f32::from_bits(bits))))
}
