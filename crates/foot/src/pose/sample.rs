use glam::DVec3;
use mesh::TriMesh;

/// A point of the skin that stands for as much skin as every other sample.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sample {
    pub(super) at: DVec3,
    /// Unit length; the sign is that of the winding and may be wrong in a scan.
    pub(super) normal: DVec3,
}

/// `count` samples spread evenly over the area of the given triangles, and the area each stands for.
///
/// Triangles may be of any size: a large one gets many samples, small ones share one.
pub(super) fn spread(mesh: &TriMesh, triangles: &[u32], count: usize) -> (Vec<Sample>, f64) {
    let doubled: Vec<f64> = triangles
        .iter()
        .map(|&t| {
            let [a, b, c] = mesh.corners(mesh.triangles()[t as usize]);
            (b - a).cross(c - a).length()
        })
        .collect();
    let total: f64 = doubled.iter().sum();
    if total <= 0.0 {
        return (Vec::new(), 0.0);
    }
    let share = total / count as f64;
    let mut samples = Vec::with_capacity(count);
    let mut passed = 0.0;
    for (&t, &area) in triangles.iter().zip(&doubled) {
        passed += area;
        while samples.len() < count && (samples.len() as f64 + 0.5) * share < passed {
            let [a, b, c] = mesh.corners(mesh.triangles()[t as usize]);
            // The R2 sequence (plastic number) fills a large triangle evenly.
            let k = samples.len() as f64;
            let (mut u, mut v) = ((k * 0.754_877_666_246_692_7).fract(), (k * 0.569_840_290_998_053_2).fract());
            if u + v > 1.0 {
                (u, v) = (1.0 - u, 1.0 - v);
            }
            let normal = (b - a).cross(c - a) / area;
            samples.push(Sample { at: a + (b - a) * u + (c - a) * v, normal });
        }
    }
    (samples, total / 2.0 / count as f64)
}
