//! A foot for tests, by formula: a bowl for a heel, an arch on the medial side, rounded borders.

use crate::{BaseSurface, Edge, Sole, SurfaceError, SurfaceInput};
use base::Params;
use foot::{Landmark, LandmarkId, Landmarks, WeightBearing};
use glam::{DVec2, DVec3};
use mesh::Grid;
use std::sync::Arc;

/// All that a bearing surface is made from.
pub(crate) struct TestFoot {
    pub(crate) sole: Grid,
    pub(crate) landmarks: Landmarks,
    pub(crate) outline: Vec<DVec2>,
    pub(crate) params: Params,
    pub(crate) state: WeightBearing,
}

/// Height of the arch apex of [`TestFoot::new`], mm.
pub(crate) const APEX_MM: f64 = 20.0;

/// Half the foot's width at `x`, foot 260 mm long, and where its middle lies.
fn width(x: f64) -> (f64, f64) {
    let t = (x / 260.0).clamp(0.0, 1.0);
    let round = (t.min(1.0 - t) * 8.0).min(1.0);
    let round = (round * (2.0 - round)).sqrt();
    let ball = libm::exp(-((t - 0.72) / 0.25) * ((t - 0.72) / 0.25));
    (round * (30.0 + 17.0 * ball), -4.0 * libm::sin(3.0 * t))
}

/// The skin of the sole; none beside the foot.
pub(crate) fn skin(p: DVec2, apex_mm: f64) -> Option<f64> {
    let (half, middle) = width(p.x);
    let across = (p.y - middle) / half.max(1e-9);
    if half <= 0.0 || across.abs() >= 1.0 {
        return None;
    }
    let to_side = half * (1.0 - across.abs());
    let ends = p.x.min(260.0 - p.x);
    let border = |d: f64| 25.0 * libm::exp(-d / 2.5);
    let along = libm::exp(-((p.x - 108.0) / 30.0) * ((p.x - 108.0) / 30.0));
    let medial = 1.0 / (1.0 + libm::exp(-(p.y - 6.0) / 7.0));
    let normal = 1.0 / (1.0 + libm::exp(-(20.0 - 6.0) / 7.0));
    Some(border(to_side) + border(ends) + apex_mm * along * medial / normal)
}

impl TestFoot {
    pub(crate) fn new() -> TestFoot {
        TestFoot::with_apex(APEX_MM)
    }

    pub(crate) fn with_apex(apex_mm: f64) -> TestFoot {
        let mut sole = Grid::over(DVec2::new(-5.0, -60.0), DVec2::new(265.0, 60.0), 1.0);
        for index in 0..sole.values.len() {
            let p = sole.at(index % sole.columns, index / sole.columns);
            sole.values[index] = skin(p, apex_mm).map_or(f32::NAN, |z| z as f32);
        }
        let apex = DVec2::new(108.0, 20.0);
        let landmarks = [
            (LandmarkId::HeelCentre, DVec3::new(38.0, -2.0, 0.0)),
            (LandmarkId::ArchApex, apex.extend(skin(apex, apex_mm).unwrap())),
            (LandmarkId::MetatarsaleTibiale, DVec3::new(192.0, 43.0, 12.0)),
            (LandmarkId::MetatarsaleFibulare, DVec3::new(168.0, -50.0, 10.0)),
        ]
        .into_iter()
        .map(|(id, at)| (id, Landmark { at, confidence: 1.0, by_hand: false }))
        .collect();
        let outline = TestFoot::outline_around(0.0);
        TestFoot { sole, landmarks, outline, params: Params::new(), state: WeightBearing::None }
    }

    /// The foot's own plan, `wider` mm wider on every side.
    pub(crate) fn outline_around(wider: f64) -> Vec<DVec2> {
        let side = |sign: f64| {
            (0..=260).map(move |i| {
                // Closer together at the ends, where the plan is round.
                let x = 130.0 * (1.0 - libm::cos(std::f64::consts::PI * f64::from(i) / 260.0));
                let (half, middle) = width(x);
                let stretched = 130.0 + (x - 130.0) * (130.0 + wider) / 130.0;
                DVec2::new(stretched, middle + sign * (half + wider * (half / 30.0).min(1.0)))
            })
        };
        let mut points: Vec<DVec2> = side(-1.0).collect();
        points.extend(side(1.0).rev().skip(1));
        points.pop();
        points
    }

    pub(crate) fn set(mut self, id: &str, value: f64) -> TestFoot {
        self.params.insert(id.to_owned(), value);
        self
    }

    pub(crate) fn surface(&self) -> Result<BaseSurface, SurfaceError> {
        let edge = Arc::new(Edge::new(&self.outline)?);
        let sole = Sole::new(&self.sole).ok_or(SurfaceError::NoSole)?;
        BaseSurface::new(&SurfaceInput {
            sole: &sole,
            landmarks: &self.landmarks,
            edge: &edge,
            params: &self.params,
            state: self.state,
        })
    }
}

/// The edge of [`TestFoot::new`].
pub(crate) fn edge() -> Arc<Edge> {
    Arc::new(Edge::new(&TestFoot::outline_around(0.0)).unwrap())
}
