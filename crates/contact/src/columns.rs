use crate::plane::{KPA, Plane};
use crate::shear::Shear;
use crate::{ContactError, Curve};

/// One layer of all columns: what a spring of the series is made of at each node.
#[derive(Clone, Debug, PartialEq)]
pub struct Layer {
    /// Thickness, mm, at each node; 0 where the layer is absent.
    pub thickness_mm: Vec<f64>,
    /// Modulus at small strain, MPa, at each node: the confined one if the layer cannot spread (see [`crate::confinement`]).
    pub modulus_mpa: Vec<f64>,
    /// How it stiffens.
    pub curve: Curve,
}

/// What lies under the body: at each node of the mask a column of layers in series, tied to its neighbours by a shear layer.
#[derive(Clone, Debug, PartialEq)]
pub struct Columns {
    plane: Plane,
    bears: Vec<bool>,
    /// Compression of the layers that stay linear, mm per MPa.
    linear: Vec<f64>,
    /// Stiffness at rest of all layers together, MPa/mm; 0 where there is no column.
    at_rest: Vec<f64>,
    stiffening: Vec<Stiffening>,
    /// Compression that is never reached, mm; infinite unless every layer locks.
    lock_mm: Vec<f64>,
    shear: Option<Shear>,
}

#[derive(Clone, Debug, PartialEq)]
struct Stiffening {
    thickness_mm: Vec<f64>,
    /// 1/modulus, 1/MPa.
    softness: Vec<f64>,
    curve: Curve,
}

/// A compressed column.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Spring {
    /// Pressure, MPa.
    pub(crate) pressure: f64,
    /// Its slope over the compression, MPa/mm.
    pub(crate) stiffness: f64,
}

/// Shares of the pressure or else of the compression to which a compressed column is exact; near the lock only the second can be had.
const EXACT: (f64, f64) = (1e-14, 1e-15);

/// Steps to it: Newton's take 3 to 6, bisection alone would take 50.
const MOST_STEPS: usize = 100;

impl Columns {
    /// Columns of `layers` at the nodes where `bears` is true, without a shear layer. The order of the layers is of no account.
    ///
    /// # Errors
    /// For arrays that do not fit the plane; at bearing nodes also for a thickness below 0, a modulus of 0 or less, what is not
    /// finite, and a column without thickness.
    pub fn new(plane: Plane, bears: Vec<bool>, layers: Vec<Layer>) -> Result<Columns, ContactError> {
        if !(plane.step_mm > 0.0 && plane.step_mm.is_finite()) {
            let must = "finite and greater than zero";
            return Err(ContactError::BadNumber { what: "step in mm", value: plane.step_mm, must });
        }
        if !plane.origin_mm.is_finite() {
            let value = plane.origin_mm.x + plane.origin_mm.y;
            return Err(ContactError::BadNumber { what: "origin in mm", value, must: "finite" });
        }
        plane.check_size("mask", bears.len())?;
        let mut linear = vec![0.0; plane.len()];
        let mut lock_mm = vec![0.0; plane.len()];
        let mut thickness = vec![0.0; plane.len()];
        let mut stiffening = Vec::new();
        for layer in layers {
            layer.curve.check()?;
            let must = "finite and at least 0 mm";
            plane.check_where("thickness", &layer.thickness_mm, must, |i| bears[i], |t| t >= 0.0 && t.is_finite())?;
            let must = "finite and greater than 0 MPa";
            let counts = |i: usize| bears[i] && layer.thickness_mm[i] > 0.0;
            plane.check_where("modulus", &layer.modulus_mpa, must, counts, |e| e > 0.0 && e.is_finite())?;
            let softness = |i: usize| if counts(i) { 1.0 / layer.modulus_mpa[i] } else { 0.0 };
            for i in (0..plane.len()).filter(|&i| counts(i)) {
                thickness[i] += layer.thickness_mm[i];
                lock_mm[i] += match layer.curve {
                    Curve::Locking { strain } => layer.thickness_mm[i] * strain,
                    Curve::Linear | Curve::Table(_) => f64::INFINITY,
                };
            }
            if layer.curve == Curve::Linear {
                for (i, sum) in linear.iter_mut().enumerate().filter(|(i, _)| counts(*i)) {
                    *sum += layer.thickness_mm[i] * softness(i);
                }
            } else {
                let softness = (0..plane.len()).map(softness).collect();
                let thickness_mm =
                    (0..plane.len()).map(|i| if counts(i) { layer.thickness_mm[i] } else { 0.0 }).collect();
                stiffening.push(Stiffening { thickness_mm, softness, curve: layer.curve });
            }
        }
        plane.check_where("total thickness", &thickness, "greater than 0 mm", |i| bears[i], |t| t > 0.0)?;
        let at_rest = vec![0.0; plane.len()];
        let mut columns = Columns { plane, bears, linear, at_rest, stiffening, lock_mm, shear: None };
        for node in (0..plane.len()).filter(|&node| columns.bears[node]) {
            columns.at_rest[node] = 1.0 / columns.flex(node, 0.0).1;
        }
        Ok(columns)
    }

    /// The same columns tied together by a shear layer of this strength at each node, N/mm (see [`crate::two_parameters`]):
    /// p = q(w) − ∇·(G ∇w). Between two nodes the mean of both counts; beyond the rim of the mask there is nothing to tie to.
    ///
    /// # Errors
    /// For an array that does not fit the plane, or a strength below 0 or not finite at a bearing node.
    pub fn with_shear(mut self, strength_n_per_mm: &[f64]) -> Result<Columns, ContactError> {
        let (plane, bears) = (self.plane, &self.bears);
        let must = "finite and at least 0 N/mm";
        plane.check_where("shear layer", strength_n_per_mm, must, |i| bears[i], |g| g >= 0.0 && g.is_finite())?;
        let between = |i: usize, j: usize| {
            if bears[i] && bears[j] { 0.5 * (strength_n_per_mm[i] + strength_n_per_mm[j]) } else { 0.0 }
        };
        self.shear = Shear::new(&plane, between);
        Ok(self)
    }

    /// Where the nodes are.
    #[must_use]
    pub fn plane(&self) -> &Plane {
        &self.plane
    }

    /// At which nodes there is a column.
    #[must_use]
    pub fn bears(&self) -> &[bool] {
        &self.bears
    }

    pub(crate) fn shear(&self) -> Option<&Shear> {
        self.shear.as_ref()
    }

    /// Pressure in kPa that compresses the lone column of a bearing node by `compression_mm`; 0 from 0 down. `None` where there is
    /// no column, and at and beyond the compression at which it locks.
    #[must_use]
    pub fn pressure_kpa(&self, node: usize, compression_mm: f64) -> Option<f64> {
        if !*self.bears.get(node)? {
            None
        } else if compression_mm > 0.0 {
            Some(self.spring(node, compression_mm, 0.0)?.pressure * KPA)
        } else {
            Some(0.0)
        }
    }

    /// Compression of the lone column of a node under a pressure, mm: the inverse of [`Columns::pressure_kpa`], explicit.
    #[must_use]
    pub fn compression_mm(&self, node: usize, pressure_kpa: f64) -> Option<f64> {
        self.bears.get(node)?.then(|| self.flex(node, pressure_kpa / KPA).0)
    }

    /// Compression in mm and its slope in mm/MPa under a pressure in MPa.
    #[inline]
    fn flex(&self, node: usize, pressure: f64) -> (f64, f64) {
        let linear = self.linear[node];
        self.stiffening.iter().fold((linear * pressure, linear), |(compression, slope), layer| {
            let (thickness, softness) = (layer.thickness_mm[node], layer.softness[node]);
            let flex = layer.curve.flex(pressure * softness);
            (compression + thickness * flex.strain, slope + thickness * softness * flex.slope)
        })
    }

    /// The spring of a node under a compression in mm; in tension straight on. `guess` is a pressure in MPa near the answer, on
    /// which the answer does not depend beyond rounding. `None` from the lock on.
    #[inline]
    pub(crate) fn spring(&self, node: usize, compression: f64, guess: f64) -> Option<Spring> {
        match &self.stiffening[..] {
            [] => {
                let stiffness = self.at_rest[node];
                Some(Spring { pressure: compression * stiffness, stiffness })
            }
            [Stiffening { thickness_mm, softness, curve: Curve::Locking { strain } }] if compression > 0.0 => {
                let (linear, thickness, softness) = (self.linear[node], thickness_mm[node], softness[node]);
                let per_lock = softness / strain;
                let middle = linear + thickness * softness - per_lock * compression;
                // The root of linear·per_lock·p² + middle·p = compression, without cancellation for middle > 0.
                let root = (middle * middle + 4.0 * linear * per_lock * compression).sqrt();
                let pressure = if middle > 0.0 {
                    2.0 * compression / (middle + root)
                } else {
                    (root - middle) / (2.0 * linear * per_lock)
                };
                let stiffness = 1.0 / self.flex(node, pressure).1;
                (compression < self.lock_mm[node] && pressure.is_finite()).then_some(Spring { pressure, stiffness })
            }
            _ if compression >= self.lock_mm[node] => None,
            _ => self.search(node, compression, guess),
        }
    }

    /// Newton's method, kept between what is too little and too much.
    fn search(&self, node: usize, compression: f64, guess: f64) -> Option<Spring> {
        let (mut least, mut most) = if compression > 0.0 { (0.0, f64::INFINITY) } else { (f64::NEG_INFINITY, 0.0) };
        let mut pressure = guess;
        if !(pressure > least && pressure < most) {
            pressure = compression * self.at_rest[node];
        }
        for _ in 0..MOST_STEPS {
            let (reached, slope) = self.flex(node, pressure);
            let missing = compression - reached;
            let next = pressure + missing / slope;
            if (next - pressure).abs() <= EXACT.0 * pressure.abs() || missing.abs() <= EXACT.1 * compression.abs() {
                return Some(Spring { pressure, stiffness: 1.0 / slope });
            }
            if missing > 0.0 {
                least = pressure
            } else {
                most = pressure
            }
            pressure = if next > least && next < most {
                next
            } else if least.is_infinite() || most.is_infinite() {
                2.0 * pressure
            } else {
                0.5 * (least + most)
            };
        }
        None
    }

    /// Energy stored per area in the column of a node, N/mm, under a compression in mm and its pressure in MPa.
    pub(crate) fn energy(&self, node: usize, compression: f64, pressure: f64) -> f64 {
        let linear = 0.5 * self.linear[node] * pressure * pressure;
        let flexed = self.stiffening.iter().fold(linear, |sum, layer| {
            let (thickness, softness) = (layer.thickness_mm[node], layer.softness[node]);
            if softness > 0.0 { sum + thickness * layer.curve.area(pressure * softness) / softness } else { sum }
        });
        compression * pressure - flexed
    }

    /// Stiffness of each column at rest, MPa/mm; 0 where there is none.
    pub(crate) fn at_rest(&self) -> &[f64] {
        &self.at_rest
    }
}
