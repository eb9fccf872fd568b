//! Giving all triangles of a mesh the same sense.
//!
//! Guaranteed: within a part connected by edges of two triangles, neighbours run oppositely along their edge wherever
//! the surface allows it, and each closed part has its outside outside. Positions, order of triangles and the first
//! corner of each stay.
//!
//! Not guaranteed: of an open part the outside is the side from which it looks convex, seen from its centroid: right
//! for a foot cut off at the ankle, meaningless for a flat sheet. A shell inside another is turned outwards as well.

use crate::TriMesh;
use crate::edges::Edges;
use glam::DVec3;

/// A mesh with its triangles turned to one sense.
#[derive(Clone, Debug, PartialEq)]
pub struct Oriented {
    /// The mesh.
    pub mesh: TriMesh,
    /// How many triangles were turned round.
    pub flipped: usize,
    /// Edges at which no sense fits, as on a one-sided surface.
    pub conflicts: usize,
}

/// Turns triangles round until neighbours agree and parts face outwards.
#[must_use]
pub fn orient_consistently(mesh: &TriMesh) -> Oriented {
    let triangles = mesh.triangles();
    let neighbours = Neighbours::of(mesh);
    // Whether a triangle is to be turned round; parts are handled one after the other.
    let mut is_turned = vec![false; triangles.len()];
    let mut is_reached = vec![false; triangles.len()];
    let mut conflicts = 0;
    let mut part: Vec<u32> = Vec::new();
    for seed in 0..triangles.len() as u32 {
        if is_reached[seed as usize] {
            continue;
        }
        part.clear();
        part.push(seed);
        is_reached[seed as usize] = true;
        let mut done = 0;
        while let Some(&here) = part.get(done) {
            done += 1;
            for (there, agrees) in neighbours.of_triangle(here) {
                let turn = is_turned[here as usize] == agrees;
                if !is_reached[there as usize] {
                    is_reached[there as usize] = true;
                    is_turned[there as usize] = turn;
                    part.push(there);
                } else if is_turned[there as usize] != turn {
                    conflicts += 1;
                }
            }
        }
        if faces_inwards(mesh, &part, &is_turned) {
            part.iter().for_each(|&triangle| is_turned[triangle as usize] ^= true);
        }
    }
    let flipped = is_turned.iter().filter(|turned| **turned).count();
    let turn = |(&[a, b, c], &turned): (&[u32; 3], &bool)| if turned { [a, c, b] } else { [a, b, c] };
    let triangles = triangles.iter().zip(&is_turned).map(turn).collect();
    // Every edge was met from both of its triangles.
    Oriented { mesh: TriMesh::from_parts(mesh.positions().to_vec(), triangles), flipped, conflicts: conflicts / 2 }
}

/// Whether the volume between the part's centroid and its triangles, as turned, is negative.
fn faces_inwards(mesh: &TriMesh, part: &[u32], is_turned: &[bool]) -> bool {
    let triangle = |index: u32| mesh.triangles()[index as usize];
    let (mut area, mut moment) = (0.0, DVec3::ZERO);
    for &index in part {
        let [a, b, c] = mesh.corners(triangle(index));
        let weight = (b - a).cross(c - a).length();
        area += weight;
        moment += (a + b + c) * (weight / 3.0);
    }
    if area <= 0.0 {
        return false;
    }
    let centroid = moment / area;
    let volume = |index: u32| {
        let [a, b, c] = mesh.corners(triangle(index)).map(|p| p - centroid);
        let volume = a.dot(b.cross(c));
        if is_turned[index as usize] { -volume } else { volume }
    };
    part.iter().map(|&index| volume(index)).sum::<f64>() < 0.0
}

/// Per side of a triangle the triangle beyond, for edges with exactly two triangles.
struct Neighbours(Vec<u32>);

const NONE: u32 = u32::MAX;
/// Set where the two triangles run along the edge in the same direction. Triangles have at most 32 bits as half-edges,
/// so their own number leaves the top bit free.
const OPPOSED: u32 = 1 << 31;

impl Neighbours {
    fn of(mesh: &TriMesh) -> Neighbours {
        let triangles = mesh.triangles();
        let mut beyond = vec![NONE; 3 * triangles.len()];
        Edges::of(mesh).for_each(|_, _, halves| {
            if let [one, other] = *halves
                && one.triangle() != other.triangle()
            {
                let is_opposed = one.corners(triangles)[0] == other.corners(triangles)[0];
                let mark = if is_opposed { OPPOSED } else { 0 };
                beyond[one.0 as usize] = other.triangle() | mark;
                beyond[other.0 as usize] = one.triangle() | mark;
            }
        });
        Neighbours(beyond)
    }

    /// The triangles beyond the three sides, and whether they agree in sense.
    fn of_triangle(&self, triangle: u32) -> impl Iterator<Item = (u32, bool)> {
        let at = 3 * triangle as usize;
        self.0[at..at + 3].iter().filter(|&&beyond| beyond != NONE).map(|&b| (b & !OPPOSED, b & OPPOSED == 0))
    }
}
