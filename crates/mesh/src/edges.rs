use crate::TriMesh;

/// Side `k` of triangle `t`, from its corner `k` to the next one: the number `3 t + k`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct HalfEdge(pub(crate) u32);

impl HalfEdge {
    pub(crate) fn triangle(self) -> u32 {
        self.0 / 3
    }

    /// The two ends, in the direction in which the triangle runs along them, and the corner opposite.
    pub(crate) fn corners(self, triangles: &[[u32; 3]]) -> [u32; 3] {
        let [a, b, c] = triangles[self.triangle() as usize];
        match self.0 % 3 {
            0 => [a, b, c],
            1 => [b, c, a],
            _ => [c, a, b],
        }
    }
}

/// The half-edges of a mesh, gathered by the edge they lie on.
///
/// Sides of no length (a repeated corner) are left out. Built by counting, in time proportional to the mesh.
pub(crate) struct Edges {
    /// Per half-edge: the edge's greater vertex in the high word, the half-edge in the low one.
    entries: Vec<u64>,
    /// Per vertex: where the entries start of the edges whose lesser vertex it is.
    starts: Vec<u32>,
}

impl Edges {
    pub(crate) fn of(mesh: &TriMesh) -> Edges {
        let mut starts = vec![0u32; mesh.positions().len() + 1];
        for_each_side(mesh.triangles(), |lo, _, _| starts[lo as usize + 1] += 1);
        for vertex in 1..starts.len() {
            starts[vertex] += starts[vertex - 1];
        }
        let mut ends = starts.clone();
        let mut entries = vec![0u64; starts.last().map_or(0, |&count| count as usize)];
        for_each_side(mesh.triangles(), |lo, hi, half| {
            let end = &mut ends[lo as usize];
            entries[*end as usize] = u64::from(hi) << 32 | u64::from(half);
            *end += 1;
        });
        for range in starts.windows(2) {
            entries[range[0] as usize..range[1] as usize].sort_unstable();
        }
        Edges { entries, starts }
    }

    /// Calls `visit(lesser vertex, greater vertex, half-edges)` for every edge, in ascending order.
    pub(crate) fn for_each(&self, mut visit: impl FnMut(u32, u32, &[HalfEdge])) {
        let mut halves = Vec::new();
        for (lo, range) in self.starts.windows(2).enumerate() {
            let bucket = &self.entries[range[0] as usize..range[1] as usize];
            for same_edge in bucket.chunk_by(|a, b| a >> 32 == b >> 32) {
                halves.clear();
                halves.extend(same_edge.iter().map(|&entry| HalfEdge(entry as u32)));
                visit(lo as u32, (same_edge[0] >> 32) as u32, &halves);
            }
        }
    }
}

fn for_each_side(triangles: &[[u32; 3]], mut visit: impl FnMut(u32, u32, u32)) {
    for (t, &[a, b, c]) in triangles.iter().enumerate() {
        for (k, (from, to)) in [(a, b), (b, c), (c, a)].into_iter().enumerate() {
            if from != to {
                visit(from.min(to), from.max(to), (3 * t + k) as u32);
            }
        }
    }
}

/// Sets that grow together, with path halving and the least member as representative.
pub(crate) struct Sets(Vec<u32>);

impl Sets {
    pub(crate) fn of_singles(count: usize) -> Sets {
        Sets((0..count as u32).collect())
    }

    pub(crate) fn find(&mut self, mut member: u32) -> u32 {
        loop {
            let above = self.0[member as usize];
            let top = self.0[above as usize];
            // Mostly the representative is this near: nothing is written then.
            if top == above {
                return above;
            }
            self.0[member as usize] = top;
            member = top;
        }
    }

    /// Makes the sets of `a` and `b` one, and gives its representative.
    pub(crate) fn join(&mut self, a: u32, b: u32) -> u32 {
        let (a, b) = (self.find(a), self.find(b));
        if a != b {
            self.0[a.max(b) as usize] = a.min(b);
        }
        a.min(b)
    }
}
