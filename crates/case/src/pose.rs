use glam::{DAffine3, DMat3, DVec3};

/// The affine map of 16 numbers, row-major, last row 0 0 0 1; `None` if they are not finite, not affine or singular.
#[must_use]
pub fn pose_from_rows(rows: &[f64; 16]) -> Option<DAffine3> {
    let [xx, xy, xz, tx, yx, yy, yz, ty, zx, zy, zz, tz, a, b, c, d] = *rows;
    let affine = a == 0.0 && b == 0.0 && c == 0.0 && (d - 1.0).abs() < f64::EPSILON;
    let matrix = DMat3::from_cols(DVec3::new(xx, yx, zx), DVec3::new(xy, yy, zy), DVec3::new(xz, yz, zz));
    let determinant = matrix.determinant();
    let finite = rows.iter().all(|n| n.is_finite()) && determinant.is_finite();
    (affine && finite && determinant != 0.0)
        .then_some(DAffine3 { matrix3: matrix, translation: DVec3::new(tx, ty, tz) })
}

/// The 16 numbers of an affine map, row-major.
#[must_use]
pub fn rows_from_pose(pose: &DAffine3) -> [f64; 16] {
    let m = pose.matrix3;
    let t = pose.translation;
    [
        m.x_axis.x, m.y_axis.x, m.z_axis.x, t.x, //
        m.x_axis.y, m.y_axis.y, m.z_axis.y, t.y, //
        m.x_axis.z, m.y_axis.z, m.z_axis.z, t.z, //
        0.0, 0.0, 0.0, 1.0,
    ]
}
