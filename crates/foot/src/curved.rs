//! Skin between the vertices of coarse triangles: they cut round tips and borders off, the skin bulges over them.

use glam::DVec3;
use mesh::TriMesh;

/// Where a corner's normal is farther than this from its triangle's, the skin has an edge and not a bend: its cosine.
const BEND: f64 = 0.5;

/// No side of a triangle is split into more parts than this.
const MOST_PARTS: usize = 8;

/// The skin with its triangles bulged, as the normals at their corners say, and split until their sides are about
/// `side_mm` long. The corners stay where they are; flat triangles stay flat.
///
/// A bent skin lies as far above a flat triangle as the mean of its corners' tangent planes lies above the skin: where
/// the curvature is κ in all directions, κ/2·Σλᵢ|p − vᵢ|² of both. So a point of the bulged triangle is half-way from
/// the flat one to that mean. (Boubekeur and Alexa 2008, "Phong tessellation", ACM Transactions on Graphics 27:141, go
/// three quarters of the way for the look of it.)
pub(crate) fn curved(skin: &TriMesh, side_mm: f64) -> TriMesh {
    let normals = normals(skin);
    let (mut positions, mut triangles) = (Vec::new(), Vec::new());
    for &triangle in skin.triangles() {
        let corners = skin.corners(triangle);
        let facing = skin.area_vector(triangle).normalize_or_zero();
        let normals = triangle.map(|v| normals[v as usize]);
        let bends = normals.iter().all(|normal| normal.dot(facing) > BEND);
        let longest = (0..3).map(|k| corners[k].distance(corners[(k + 1) % 3])).fold(0.0, f64::max);
        let parts = if bends { ((longest / side_mm).ceil() as usize).clamp(1, MOST_PARTS) } else { 1 };
        let point = |shares: [f64; 3]| {
            let flat: DVec3 = (0..3).map(|k| shares[k] * corners[k]).sum();
            let over: DVec3 = (0..3).map(|k| shares[k] * (corners[k] - flat).dot(normals[k]) * normals[k]).sum();
            flat + 0.5 * over
        };
        let first = positions.len() as u32;
        // Row by row from the first corner: row r has r + 1 points.
        let at = |row: usize, k: usize| first + (row * (row + 1) / 2 + k) as u32;
        for row in 0..=parts {
            for k in 0..=row {
                let [a, b, c] = [parts - row, row - k, k].map(|n| n as f64 / parts as f64);
                positions.push(point([a, b, c]));
                if k < row {
                    triangles.push([at(row - 1, k), at(row, k), at(row, k + 1)]);
                }
                if k > 0 && k < row {
                    triangles.push([at(row - 1, k - 1), at(row, k), at(row - 1, k)]);
                }
            }
        }
    }
    TriMesh::new(positions, triangles).unwrap_or_default()
}

/// A normal for each corner, exact on a sphere: the sum of the facets' normals, each times the sine of its angle there
/// over the product of its two sides (Max 1999, "Weights for computing vertex normals from facet normals", Journal of
/// Graphics Tools 4(2):1).
fn normals(skin: &TriMesh) -> Vec<DVec3> {
    let mut sums = vec![DVec3::ZERO; skin.positions().len()];
    for &triangle in skin.triangles() {
        let corners = skin.corners(triangle);
        for k in 0..3 {
            let (ahead, behind) = (corners[(k + 1) % 3] - corners[k], corners[(k + 2) % 3] - corners[k]);
            let weight = ahead.length_squared() * behind.length_squared();
            if weight > 0.0 {
                sums[triangle[k] as usize] += ahead.cross(behind) / weight;
            }
        }
    }
    sums.into_iter().map(DVec3::normalize_or_zero).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use mesh::shapes::icosphere;

    /// The flat triangles of this sphere lie more than 0.5 mm inside of it; what is left is of the fourth order.
    #[test]
    fn a_sphere_of_coarse_triangles_gets_round() {
        let coarse = icosphere(8.0, 1);
        let inside = |mesh: &TriMesh| {
            let middles = mesh.triangles().iter().map(|&t| mesh.corners(t).iter().sum::<DVec3>() / 3.0);
            middles.map(|p| 8.0 - p.length()).fold(0.0, f64::max)
        };
        assert!(inside(&coarse) > 0.5, "{}", inside(&coarse));
        let round = curved(&coarse, 0.5);
        assert!(inside(&round) < 0.1, "{}", inside(&round));
        let off = round.positions().iter().map(|p| (p.length() - 8.0).abs()).fold(0.0, f64::max);
        assert!(off < 0.1, "{off}");
    }
}
