use glam::{DMat3, DVec2, DVec3};

/// A plane that carries the points from below: all lie on or above it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Support {
    /// Unit normal, away from the plane towards the points.
    pub(super) up: DVec3,
    /// The three points it touches.
    pub(super) feet: [DVec3; 3],
}

/// How far below the plane a point must lie to count, as a share of the extent of the points: rounding only.
const LEVEL: f64 = 1e-9;

/// Directions asked for their farthest point.
const HULL_DIRECTIONS: usize = 400;

/// The face of the convex hull of `points` that the ray from `centre` along `down` leaves through.
///
/// That is the plane the body comes to rest on when it is let down along `down`, as far as it does not roll over the
/// edge. A dual simplex on three points: the point farthest below the plane replaces the one that keeps `centre`
/// inside. `None` when the points are flat or `centre` is outside.
pub(super) fn face_below(points: &[DVec3], centre: DVec3, down: DVec3) -> Option<Support> {
    let frame = frame_with_up(-down);
    let local = |p: DVec3| frame.transpose() * (p - centre);
    let extent = points.iter().map(|&p| (p - centre).abs().max_element()).fold(0.0, f64::max);
    // Three helpers far above and outside: any point of the body is below the plane through them.
    let far = 1e3 * extent;
    let helper = |x: f64, y: f64| DVec3::new(x * far, y * far, 4.0 * far);
    let mut face = [helper(1.0, 0.0), helper(-0.5, 0.8), helper(-0.5, -0.8)];
    // Each exchange lowers the plane under the centre; a hull has few faces on the way.
    for _ in 0..200 {
        let normal = (face[1] - face[0]).cross(face[2] - face[0]);
        let mut lowest = -LEVEL * extent * normal.length();
        let mut found = None;
        for &p in points {
            let q = local(p);
            let above = normal.dot(q - face[0]);
            if above < lowest {
                (lowest, found) = (above, Some(q));
            }
        }
        let Some(q) = found else {
            let up = (frame * normal).try_normalize()?;
            let helpers = face.iter().any(|p| p.z > 2.0 * far);
            return (!helpers).then(|| Support { up, feet: face.map(|p| centre + frame * p) });
        };
        let out = leaving(face, q);
        face[out] = q;
    }
    None
}

/// The points that lie farthest out in some of many directions: the hull to within a hair, of few points.
pub(super) fn extreme_points(points: &[DVec3]) -> Vec<DVec3> {
    let farthest = |d: DVec3| (0..points.len()).max_by(|&a, &b| points[a].dot(d).total_cmp(&points[b].dot(d)));
    let mut found: Vec<usize> = directions(HULL_DIRECTIONS).filter_map(farthest).collect();
    base::sort_by_key(&mut found, |&k| k);
    found.dedup();
    found.into_iter().map(|k| points[k]).collect()
}

/// Which corner `new` replaces so that the origin stays inside the triangle seen from above.
fn leaving(face: [DVec3; 3], new: DVec3) -> usize {
    let cross = |a: DVec3, b: DVec3| DVec2::new(a.x, a.y).perp_dot(DVec2::new(b.x, b.y));
    // How deep inside the origin lies in the triangle that each choice leaves.
    let depth = |out: usize| {
        let mut t = face;
        t[out] = new;
        let area = cross(t[1] - t[0], t[2] - t[0]);
        let least = cross(t[0], t[1]).min(cross(t[1], t[2])).min(cross(t[2], t[0]));
        if area > 0.0 { least / area } else { f64::NEG_INFINITY }
    };
    let depths = [depth(0), depth(1), depth(2)];
    (0..3).max_by(|&a, &b| depths[a].total_cmp(&depths[b])).unwrap_or(0)
}

/// A right-handed frame as columns (x, y, `up`).
pub(super) fn frame_with_up(up: DVec3) -> DMat3 {
    let x = up.any_orthonormal_vector();
    DMat3::from_cols(x, up.cross(x), up)
}

/// `count` directions spread evenly over the sphere (golden-angle spiral).
pub(super) fn directions(count: usize) -> impl Iterator<Item = DVec3> {
    (0..count).map(move |k| {
        let z = 1.0 - (2.0 * k as f64 + 1.0) / count as f64;
        let radius = (1.0 - z * z).max(0.0).sqrt();
        let turn = k as f64 * 2.399_963_229_728_653;
        DVec3::new(radius * libm::cos(turn), radius * libm::sin(turn), z)
    })
}
