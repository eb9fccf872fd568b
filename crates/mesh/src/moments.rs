//! Integrals over the surface: normals at vertices, centroid, spread and principal axes.
//!
//! Guaranteed: centroid and spread are exact integrals over flat triangles, so they do not depend on how a surface is
//! divided; eigenvectors are orthogonal, of unit length and right-handed. Not guaranteed: the sign of a principal axis
//! means nothing (its greatest component is positive), nor does its direction where two spreads are equal.

use crate::TriMesh;
use glam::{DMat3, DVec3};

/// Unit normals at the vertices: the mean of the triangles' normals around, weighted by area; zero where there is no
/// triangle or they cancel.
#[must_use]
pub fn vertex_normals(mesh: &TriMesh) -> Vec<DVec3> {
    let mut normals = vec![DVec3::ZERO; mesh.positions().len()];
    for &triangle in mesh.triangles() {
        let area = mesh.area_vector(triangle);
        for vertex in triangle {
            normals[vertex as usize] += area;
        }
    }
    normals.iter_mut().for_each(|normal| *normal = normal.normalize_or_zero());
    normals
}

/// Moments of a surface of even thickness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moments {
    /// Area, mm².
    pub area_mm2: f64,
    /// Mean position, mm.
    pub centroid: DVec3,
    /// Mean of (p − centroid)(p − centroid)ᵀ, mm².
    pub covariance_mm2: DMat3,
}

/// Area, centroid and covariance of the surface; `None` if it has no area.
///
/// Over a triangle with corners a, b, c and centre m, the mean of p pᵀ is (a aᵀ + b bᵀ + c cᵀ + 9 m mᵀ) / 12: exact
/// for polynomials of the second degree, as the integration of x² over the unit triangle shows.
#[must_use]
pub fn surface_moments(mesh: &TriMesh) -> Option<Moments> {
    let (lo, hi) = mesh.bounds()?;
    // From the middle, so that a scan far from the origin loses no digits.
    let middle = (lo + hi) * 0.5;
    let (mut area_mm2, mut first, mut second) = (0.0, DVec3::ZERO, DMat3::ZERO);
    for &triangle in mesh.triangles() {
        let [a, b, c] = mesh.corners(triangle).map(|p| p - middle);
        let area = (b - a).cross(c - a).length() * 0.5;
        let centre = (a + b + c) / 3.0;
        area_mm2 += area;
        first += centre * area;
        second += (outer(a) + outer(b) + outer(c) + outer(centre) * 9.0) * (area / 12.0);
    }
    if !(area_mm2 > 0.0 && area_mm2.is_finite()) {
        return None;
    }
    let mean = first / area_mm2;
    Some(Moments { area_mm2, centroid: middle + mean, covariance_mm2: second * (1.0 / area_mm2) - outer(mean) })
}

fn outer(v: DVec3) -> DMat3 {
    DMat3::from_cols(v * v.x, v * v.y, v * v.z)
}

/// Eigenvalues and eigenvectors of a symmetric matrix.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Eigen {
    /// The greatest first.
    pub values: [f64; 3],
    /// Unit vectors in the same order, right-handed.
    pub vectors: [DVec3; 3],
}

/// Eigenvalues and eigenvectors of the symmetric matrix `m` (its upper triangle counts), by Jacobi rotations: the
/// largest element off the diagonal is turned to zero until none is left that matters.
#[must_use]
pub fn eigen_symmetric(m: DMat3) -> Eigen {
    let mut a = [[0.0; 3]; 3];
    for (row, column) in [(0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 2)] {
        a[row][column] = m.col(column)[row];
        a[column][row] = a[row][column];
    }
    let mut v = [DVec3::X, DVec3::Y, DVec3::Z];
    // Convergence is quadratic: a handful of rounds, and the bound only guards against input that is not finite.
    for _ in 0..60 {
        let (p, q) = [(0, 1), (0, 2), (1, 2)]
            .into_iter()
            .fold((0, 1), |most, at| if a[at.0][at.1].abs() > a[most.0][most.1].abs() { at } else { most });
        let scale = a[0][0].abs().max(a[1][1].abs()).max(a[2][2].abs());
        if a[p][q].abs() <= scale * f64::EPSILON * 0.25 || !a[p][q].is_finite() {
            break;
        }
        // The angle t = tan φ is the smaller root of t² + 2 t θ − 1 = 0.
        let theta = (a[q][q] - a[p][p]) / (2.0 * a[p][q]);
        let t = theta.signum() / (theta.abs() + (theta * theta + 1.0).sqrt());
        let c = 1.0 / (t * t + 1.0).sqrt();
        let s = t * c;
        for row in &mut a {
            (row[p], row[q]) = (c * row[p] - s * row[q], s * row[p] + c * row[q]);
        }
        let (row_p, row_q) = (DVec3::from_array(a[p]), DVec3::from_array(a[q]));
        (a[p], a[q]) = ((row_p * c - row_q * s).to_array(), (row_p * s + row_q * c).to_array());
        (v[p], v[q]) = (v[p] * c - v[q] * s, v[p] * s + v[q] * c);
    }
    let mut order = [0, 1, 2];
    base::sort_by(&mut order, |&i: &usize, &j: &usize| a[j][j].total_cmp(&a[i][i]));
    let [first, second] = [order[0], order[1]].map(|k| pointing_forwards(v[k].normalize_or_zero()));
    Eigen { values: order.map(|k| a[k][k]), vectors: [first, second, first.cross(second)] }
}

/// The vector or its opposite, so that its greatest component is positive.
fn pointing_forwards(v: DVec3) -> DVec3 {
    let greatest = v.to_array().into_iter().fold(0.0f64, |most, x| if x.abs() > most.abs() { x } else { most });
    if greatest < 0.0 { -v } else { v }
}
