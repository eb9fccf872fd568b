//! Takes a scanner's noise off a skin without shrinking it.
//!
//! Guaranteed: the same triangles over moved vertices; rims stay where they are; the answer moves and turns with the
//! mesh; linear cost. Not guaranteed: details of two or three edges' length are flattened with the noise.

use crate::TriMesh;
use crate::edges::Edges;
use glam::DVec3;

/// Share of the way to the mean of its neighbours that a vertex goes in the step in.
const IN: f64 = 0.5;

/// The same for the step back out: 1/IN − 1/OUT = 0.1 is the frequency that is neither damped nor raised (Taubin 1995).
const OUT: f64 = -IN / (1.0 - 0.1 * IN);

/// The mesh after `rounds` of a step in and a step out (Taubin 1995, "A signal processing approach to fair surface
/// design", SIGGRAPH, section 3): a low pass that keeps what bends slowly over several edges.
#[must_use]
pub fn without_noise(mesh: &TriMesh, rounds: usize) -> TriMesh {
    if rounds == 0 {
        return mesh.clone();
    }
    let around = Around::of(mesh);
    let mut at = mesh.positions().to_vec();
    let mut next = at.clone();
    for step in [IN, OUT].into_iter().cycle().take(2 * rounds) {
        around.for_each(|vertex, around| {
            let mut sum = DVec3::ZERO;
            for &v in around {
                sum += at[v as usize];
            }
            let here = at[vertex as usize];
            next[vertex as usize] = here + (sum / around.len() as f64 - here) * step;
        });
        std::mem::swap(&mut at, &mut next);
    }
    TriMesh::from_parts(at, mesh.triangles().to_vec())
}

/// The neighbours of the vertices that move: those with a triangle on both sides of every edge.
struct Around {
    /// Vertices with the same number of neighbours stand together, ascending: loops of the same length one after the
    /// other are foreseen by the processor, which halves the time.
    order: Vec<u32>,
    /// Where in `order` vertices with so many neighbours end, and how many.
    groups: Vec<(usize, usize)>,
    /// The neighbours, vertex after vertex as in `order`.
    neighbours: Vec<u32>,
}

impl Around {
    fn of(mesh: &TriMesh) -> Around {
        const STAYS: u32 = u32::MAX;
        let count = mesh.positions().len();
        let mut degree = vec![0u32; count];
        // A closed surface has three edges to two triangles.
        let mut pairs: Vec<[u32; 2]> = Vec::with_capacity(3 * mesh.triangles().len() / 2);
        Edges::of(mesh).for_each(|a, b, halves| {
            let is_rim = halves.len() != 2;
            for v in [a, b] {
                let degree = &mut degree[v as usize];
                *degree = if is_rim || *degree == STAYS { STAYS } else { *degree + 1 };
            }
            pairs.push([a, b]);
        });
        let moving = (0..count as u32).filter(|&v| !matches!(degree[v as usize], 0 | STAYS));
        let most = moving.clone().map(|v| degree[v as usize]).max().unwrap_or(0);
        let mut of_degree: Vec<Vec<u32>> = vec![Vec::new(); most as usize + 1];
        for v in moving {
            of_degree[degree[v as usize] as usize].push(v);
        }
        let order = of_degree.concat();
        let mut groups = Vec::new();
        let mut ends = vec![STAYS; count];
        let (mut done, mut end) = (0, 0);
        for group in order.chunk_by(|&a, &b| degree[a as usize] == degree[b as usize]) {
            let size = degree[group[0] as usize];
            for &v in group {
                ends[v as usize] = end;
                end += size;
            }
            done += group.len();
            groups.push((done, size as usize));
        }
        let mut neighbours = vec![0u32; end as usize];
        for [a, b] in pairs {
            for (from, to) in [(a, b), (b, a)] {
                let end = &mut ends[from as usize];
                if *end != STAYS {
                    neighbours[*end as usize] = to;
                    *end += 1;
                }
            }
        }
        Around { order, groups, neighbours }
    }

    /// Calls `visit(vertex, its neighbours)` for every vertex that moves.
    fn for_each(&self, mut visit: impl FnMut(u32, &[u32])) {
        let (mut done, mut neighbours) = (0, &self.neighbours[..]);
        for &(end, size) in &self.groups {
            let (group, rest) = neighbours.split_at((end - done) * size);
            for (&vertex, around) in self.order[done..end].iter().zip(group.chunks_exact(size)) {
                visit(vertex, around);
            }
            (done, neighbours) = (end, rest);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shapes::icosphere;

    const RADIUS_MM: f64 = 30.0;

    fn radii(mesh: &TriMesh) -> (f64, f64) {
        let radii: Vec<f64> = mesh.positions().iter().map(|p| p.length()).collect();
        let mean = radii.iter().sum::<f64>() / radii.len() as f64;
        (mean, (radii.iter().map(|r| (r - mean).powi(2)).sum::<f64>() / radii.len() as f64).sqrt())
    }

    #[test]
    fn noise_goes_and_the_sphere_stays() {
        let sphere = icosphere(RADIUS_MM, 4);
        // Vertices in and out by 0.3 mm with no order in it.
        let mix = |k: usize| ((k as u64 ^ 0x5DEE) * 0xBF58_476D).wrapping_mul(0x94D0_49BB_1331_11EB) >> 40 & 1;
        let moved = sphere.positions().iter().enumerate();
        let moved = moved.map(|(k, &p)| p * (1.0 + 0.01 * if mix(k) == 0 { 1.0 } else { -1.0 })).collect();
        let noisy = TriMesh::new(moved, sphere.triangles().to_vec()).unwrap();
        let (_, before) = radii(&noisy);
        let (mean, after) = radii(&without_noise(&noisy, 8));
        assert!(before > 0.29 && after < 0.5 * before, "{before} {after}");
        assert!((mean - RADIUS_MM).abs() < 0.05, "{mean}");
        assert_eq!(without_noise(&noisy, 0), noisy);
    }

    #[test]
    fn rims_stay_where_they_are() {
        let sphere = icosphere(RADIUS_MM, 3);
        let upper = |t: &[u32; 3]| sphere.corners(*t).iter().all(|p| p.z > 0.0);
        let cap = TriMesh::new(sphere.positions().to_vec(), sphere.triangles().iter().copied().filter(upper).collect());
        let cap = cap.unwrap();
        let calm = without_noise(&cap, 5);
        let rims = crate::boundary_loops(&cap);
        assert!(rims.concat().iter().all(|&v| cap.positions()[v as usize] == calm.positions()[v as usize]));
        assert_ne!(cap, calm);
    }
}
