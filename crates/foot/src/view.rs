use glam::{DAffine3, DMat3, DMat4, DVec2, DVec3, DVec4};
use mesh::raster::height_from_above_moved;
use mesh::smooth::without_noise;
use mesh::{Grid, TriMesh, open_sides, submesh};
use std::f64::consts::FRAC_1_SQRT_2;

/// Skin seen from far away: for each place on a grid across the line of sight, the point nearest to the eye.
#[derive(Clone, Debug)]
pub(crate) struct View {
    /// Columns: two axes across the line of sight, and the axis towards the eye. Right-handed.
    axes: DMat3,
    /// How far each place reaches towards the eye, mm; `NaN` where nothing is seen.
    grid: Grid,
}

impl View {
    /// The view of `skin` against the axis `axes.z_axis`, sampled every `step_mm`.
    pub(crate) fn of(skin: &TriMesh, axes: DMat3, step_mm: f64) -> View {
        View { axes, grid: height_from_above_moved(skin, &DAffine3::from_mat3(axes.transpose()), step_mm) }
    }

    /// The same view [`smoothed`]: noise of single vertices no longer decides what is farthest.
    pub(crate) fn smoothed(&self, reach: usize) -> View {
        View { axes: self.axes, grid: smoothed(&self.grid, reach) }
    }

    /// Of the points that `keep` likes, the one that reaches farthest towards the eye.
    pub(crate) fn nearest_where(&self, keep: impl Fn(DVec3) -> bool) -> Option<DVec3> {
        self.nearest_of((0..self.grid.values.len()).filter(|&k| keep(self.point(k))))
    }

    /// Every so manieth point, in both directions.
    pub(crate) fn every(&self, stride: usize) -> Vec<DVec3> {
        let columns = self.grid.columns;
        (0..self.grid.values.len())
            .filter(|&k| (k % columns).is_multiple_of(stride) && (k / columns).is_multiple_of(stride))
            .filter(|&k| self.grid.values[k].is_finite())
            .map(|k| self.point(k))
            .collect()
    }

    /// For each column of the grid, of its points that `keep` likes, the one that reaches farthest.
    pub(crate) fn profile_where(&self, keep: impl Fn(DVec3) -> bool) -> Vec<Option<DVec3>> {
        let (columns, count) = (self.grid.columns, self.grid.values.len());
        let farthest =
            |column: usize| self.nearest_of((column..count).step_by(columns).filter(|&k| keep(self.point(k))));
        (0..columns).map(farthest).collect()
    }

    /// Samples across.
    pub(crate) fn columns(&self) -> usize {
        self.grid.columns
    }

    /// Of a column's points that `keep` likes, the one nearest to the eye, on a parabola through `reach` samples to all
    /// sides.
    pub(crate) fn summit(&self, column: usize, reach: usize, keep: impl Fn(DVec3) -> bool) -> Option<DVec3> {
        let value = |row: usize| self.grid.get(column, row);
        let row = (reach..self.grid.rows.saturating_sub(reach))
            .filter(|&row| value(row).is_finite() && keep(self.point(row * self.grid.columns + column)))
            .max_by(|&a, &b| value(a).total_cmp(&value(b)))?;
        let offset = |r: usize| (r as f64 - row as f64) * self.grid.step_mm;
        let fit = |centre: f64| {
            let around = (row - reach..=row + reach).flat_map(|r| {
                let columns = column.saturating_sub(1)..(column + 2).min(self.grid.columns);
                columns.map(move |c| (offset(r) - centre, f64::from(self.grid.get(c, r))))
            });
            parabola(around.filter(|(_, value)| value.is_finite()))
        };
        let [top, slope, bend] = fit(0.0);
        let limit = reach as f64 * self.grid.step_mm;
        let summit = if bend < 0.0 { (-slope / (2.0 * bend)).clamp(-limit, limit) } else { 0.0 };
        let nearest = top + summit * (slope + summit * bend);
        let across = self.grid.at(column, row) + DVec2::new(0.0, summit);
        Some(self.axes * across.extend(nearest))
    }

    /// The summit near `near` of the round cap that fits the samples best: those within `reach_mm` of it across and not
    /// more than `depth_mm` below it.
    ///
    /// The cap is a paraboloid with the same bend in all directions, by least squares: its four numbers stand on the few
    /// vertices of a coarse tip too. `None` where the samples make no summit within reach.
    pub(crate) fn cap(&self, near: DVec3, reach_mm: f64, depth_mm: f64) -> Option<DVec3> {
        let start = self.axes.transpose() * near;
        let mut summit = start;
        for _ in 0..CAP_ROUNDS {
            let (mut normal, mut moments) = (DMat4::ZERO, DVec4::ZERO);
            self.around(summit.truncate(), reach_mm)
                .map(|p| p - summit)
                .filter(|off| off.truncate().length_squared() <= reach_mm * reach_mm && off.z > -depth_mm)
                .for_each(|off| {
                    let terms = off.truncate().extend(off.truncate().length_squared()).extend(1.0);
                    normal += DMat4::from_cols(terms * terms.x, terms * terms.y, terms * terms.z, terms * terms.w);
                    moments += terms * off.z;
                });
            // The determinant of well spread samples goes with the fourth power of this sum.
            let (count, squares) = (normal.w_axis.w, normal.w_axis.z);
            if count < 1.0 || normal.determinant() <= CAP_SPREAD * squares.powi(4) {
                return None;
            }
            let fit = normal.inverse() * moments;
            let slope = fit.truncate().truncate();
            let shift = slope / (-2.0 * fit.z);
            summit += shift.extend(fit.w + slope.dot(shift) / 2.0);
            let is_near = (summit - start).truncate().length() <= reach_mm;
            if fit.z >= 0.0 || !is_near {
                return None;
            }
        }
        Some(self.axes * summit)
    }

    /// The samples in the square of `reach_mm` to all sides of a place, in the view's own axes.
    fn around(&self, place: DVec2, reach_mm: f64) -> impl Iterator<Item = DVec3> {
        let sample = |p: DVec2| ((p - self.grid.at(0, 0)) / self.grid.step_mm).max(DVec2::ZERO);
        let (lo, hi) = (sample(place - reach_mm).ceil(), sample(place + reach_mm).floor());
        let columns = lo.x as usize..(hi.x as usize + 1).min(self.grid.columns);
        let rows = lo.y as usize..(hi.y as usize + 1).min(self.grid.rows);
        rows.flat_map(move |row| columns.clone().map(move |column| (column, row)))
            .map(|(column, row)| self.grid.at(column, row).extend(f64::from(self.grid.get(column, row))))
            .filter(|p| p.z.is_finite())
    }

    fn nearest_of(&self, places: impl Iterator<Item = usize>) -> Option<DVec3> {
        let seen = places.filter(|&k| self.grid.values[k].is_finite());
        seen.max_by(|&a, &b| self.grid.values[a].total_cmp(&self.grid.values[b])).map(|best| self.point(best))
    }

    fn point(&self, k: usize) -> DVec3 {
        let across = self.grid.at(k % self.grid.columns, k / self.grid.columns);
        self.axes * across.extend(f64::from(self.grid.values[k]))
    }
}

/// Rounds of fitting a cap, each about the summit of the one before: the last moves it by micrometres.
const CAP_ROUNDS: usize = 3;

/// Samples that are spread less than this over the cap, as a share, determine none (those of a full disc: 1/12).
const CAP_SPREAD: f64 = 1e-4;

/// The grid with each sample the mean of the square of `reach` samples to all four sides, and without a value where one
/// of them has none.
pub(crate) fn smoothed(grid: &Grid, reach: usize) -> Grid {
    // Along rows, then along columns: the mean over a square is the mean of means.
    let along = |grid: &Grid, stride: usize, place: &dyn Fn(usize) -> usize, count: usize| {
        let mut out = grid.clone();
        for (k, value) in out.values.iter_mut().enumerate() {
            let at = place(k);
            *value = if at < reach || at + reach >= count {
                f32::NAN
            } else {
                let first = k - reach * stride;
                let sum: f64 = (0..=2 * reach).map(|j| f64::from(grid.values[first + j * stride])).sum();
                (sum / (2 * reach + 1) as f64) as f32
            };
        }
        out
    };
    let columns = grid.columns;
    let rows = along(grid, 1, &|k| k % columns, columns);
    along(&rows, columns, &|k| k / columns, grid.rows)
}

/// Noise is averaged over about so far, mm: enough vertices of a fine scan to calm it, while toes keep their shape. Over
/// 3 mm heels still come out 0.4 mm too broad, over 9 mm feet 0.4 mm too short (100 random phantom scans).
const CALM_MM: f64 = 4.0;

/// More rounds than this take time and gain nothing: views take means over millimetres as well.
const MOST_ROUNDS: f64 = 12.0;

/// The skin, in mm, with the scanner's noise taken off as far as its triangles allow.
///
/// Extremes of a noisy skin lie outside of it (the farthest of four vertices by one standard deviation), so breadths
/// and girths come out too large by twice that. Coarse triangles are left alone: their vertices are all the shape there
/// is.
pub(crate) fn calmed(skin: &TriMesh) -> TriMesh {
    // The reach of a random walk grows with the root of its steps.
    let rounds = (CALM_MM / edge_mm(skin)).powi(2).round().min(MOST_ROUNDS);
    without_noise(skin, rounds as usize)
}

/// The short side of a triangle of middle size, mm, if triangles were halves of squares.
pub(crate) fn edge_mm(skin: &TriMesh) -> f64 {
    (2.0 * skin.area_mm2() / skin.triangles().len().max(1) as f64).sqrt()
}

/// The parabola a + b·x + c·x² nearest to the points (x, y), by least squares; level through their mean where they do
/// not determine one.
pub(crate) fn parabola(points: impl Iterator<Item = (f64, f64)>) -> [f64; 3] {
    let (mut powers, mut moments) = ([0.0_f64; 5], [0.0_f64; 3]);
    for (x, y) in points {
        let mut power = 1.0;
        for k in 0..5 {
            powers[k] += power;
            if k < 3 {
                moments[k] += power * y;
            }
            power *= x;
        }
    }
    let [n, x1, x2, x3, x4] = powers;
    let normal = DMat3::from_cols(DVec3::new(n, x1, x2), DVec3::new(x1, x2, x3), DVec3::new(x2, x3, x4));
    // The determinant of well spread points is about n³ times the sixth power of their spread.
    let spread = (x2 / n).sqrt();
    if normal.determinant() > 1e-9 * n.powi(3) * spread.powi(6) {
        (normal.inverse() * DVec3::from(moments)).to_array()
    } else {
        [moments[0] / n, 0.0, 0.0]
    }
}

/// The triangles with a corner that `keep` likes.
pub(crate) fn part(mesh: &TriMesh, keep: impl Fn(DVec3) -> bool) -> TriMesh {
    let kept: Vec<bool> = mesh.positions().iter().map(|&p| keep(p)).collect();
    let triangles: Vec<u32> = (0..mesh.triangles().len() as u32)
        .filter(|&t| mesh.triangles()[t as usize].iter().any(|&v| kept[v as usize]))
        .collect();
    submesh(mesh, &triangles)
}

/// A sole alone with walls drawn up from its open sides to a height over the plane through `at` across `up`, so that
/// there is something to see from the side.
pub(crate) fn walled(sole: &TriMesh, up: DVec3, at: DVec3, top: f64) -> TriMesh {
    let mut positions = sole.positions().to_vec();
    let mut triangles = sole.triangles().to_vec();
    for [from, to] in open_sides(sole) {
        let raised = |v: u32| {
            let p = sole.positions()[v as usize];
            p + up * (top - (p - at).dot(up)).max(0.0)
        };
        let first = positions.len() as u32;
        positions.extend([raised(from), raised(to)]);
        triangles.extend([[to, from, first], [to, first, first + 1]]);
    }
    TriMesh::new(positions, triangles).unwrap_or_default()
}

/// Walls are drawn up to this height over the support plane, share of foot length: as high as toes.
pub(crate) const WALL: f64 = 0.08;

/// Axes of a view from the toes: columns run medially, rows up.
pub(crate) const FROM_TOES: DMat3 = DMat3::from_cols(DVec3::Y, DVec3::Z, DVec3::X);
/// Axes of a view from behind: columns run up, rows medially.
pub(crate) const FROM_BEHIND: DMat3 = DMat3::from_cols(DVec3::Z, DVec3::Y, DVec3::NEG_X);
/// Axes of a view from the medial side: columns run to the toes, rows down.
pub(crate) const FROM_MEDIAL: DMat3 = DMat3::from_cols(DVec3::X, DVec3::NEG_Z, DVec3::Y);
/// Axes of a view from half-way between the medial side and below: columns run to the toes, rows up and medially.
pub(crate) const FROM_MEDIAL_BELOW: DMat3 = DMat3::from_cols(
    DVec3::NEG_X,
    DVec3::new(0.0, FRAC_1_SQRT_2, FRAC_1_SQRT_2),
    DVec3::new(0.0, FRAC_1_SQRT_2, -FRAC_1_SQRT_2),
);
/// Axes of a view from the lateral side: columns run to the toes, rows up.
pub(crate) const FROM_LATERAL: DMat3 = DMat3::from_cols(DVec3::X, DVec3::Z, DVec3::NEG_Y);
/// Axes of a view from below: columns run medially, rows to the toes.
pub(crate) const FROM_BELOW: DMat3 = DMat3::from_cols(DVec3::Y, DVec3::X, DVec3::NEG_Z);

#[cfg(test)]
mod tests {
    use super::*;
    use mesh::shapes::icosphere;

    /// The summit of a sphere is found from beside it; where the skin goes on rising there is none.
    #[test]
    fn the_summit_of_a_round_cap_is_found_from_its_flank() {
        let view = View::of(&icosphere(8.0, 4), FROM_TOES, 1.0);
        let flank = DVec3::new(7.4, 2.0, -2.0);
        let found = view.cap(flank, 5.5, 3.0).unwrap();
        assert!(found.distance(DVec3::new(8.0, 0.0, 0.0)) < 0.1, "{found}");
        assert!(view.cap(DVec3::new(4.0, -7.0, 0.0), 2.0, 3.0).is_none());
        assert!(view.cap(DVec3::splat(1e3), 5.5, 3.0).is_none());
    }

    #[test]
    fn a_parabola_is_found_again_and_a_single_place_gives_a_mean() {
        let [a, b, c] = parabola((-4..=4).map(f64::from).map(|x| (x, 3.0 - 0.5 * x + 0.2 * x * x)));
        assert!((a - 3.0).abs() < 1e-9 && (b + 0.5).abs() < 1e-9 && (c - 0.2).abs() < 1e-9);
        let [level, slope, bend] = parabola([(2.0, 1.0), (2.0, 3.0)].into_iter());
        assert!((level - 2.0).abs() < 1e-12 && slope.abs() < 1e-12 && bend.abs() < 1e-12);
        assert!(parabola(std::iter::empty())[0].is_nan());
    }
}
