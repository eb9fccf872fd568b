//! How a layer's stress grows with its strain.
//!
//! Curves are kept as strain over stress, since layers in series share the stress and their strains add up: the compression of
//! a column is explicit in its pressure. Every curve is continuously differentiable and rises strictly.

use crate::ContactError;

/// Stress over strain in compression, as a multiple of the layer's modulus: σ = E·g(ε). In tension every curve goes on straight
/// with its slope at the origin.
#[derive(Clone, Debug, PartialEq)]
pub enum Curve {
    /// σ = E ε.
    Linear,
    /// σ = E ε/(1 − ε/ε_lock): stiffness E at first, without bound as the strain nears `strain`. The simplest curve with both
    /// (our own choice; foams and fat pads are fitted well enough by it below three quarters of the lock: an estimate).
    Locking {
        /// Strain that is never reached, 0…1.
        strain: f64,
    },
    /// Measured points.
    Table(Table),
}

/// A measured stress-strain curve: monotone cubics of strain over stress (Fritsch & Carlson 1980, SIAM J. Numer. Anal. 17:238,
/// with the slopes of Fritsch & Butland 1984; both from memory) through the points, straight beyond the last.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    knots: Vec<Knot>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct Knot {
    stress: f64,
    strain: f64,
    /// Strain over stress.
    slope: f64,
    /// ∫ strain d(stress) from 0 to here.
    area: f64,
}

impl Table {
    /// A curve from the origin through points (strain, stress/modulus), both rising. With a modulus of 1 MPa the stresses are MPa.
    ///
    /// # Errors
    /// If there is no point, or one that does not rise above the one before.
    pub fn new(points: &[[f64; 2]]) -> Result<Table, ContactError> {
        let mut knots = vec![Knot { stress: 0.0, strain: 0.0, slope: 0.0, area: 0.0 }];
        for (row, &[strain, stress]) in points.iter().enumerate() {
            let last = knots[row];
            let rises = strain > last.strain && stress > last.stress && strain.is_finite() && stress.is_finite();
            if !rises {
                return Err(ContactError::BadTable { row });
            }
            knots.push(Knot { stress, strain, slope: 0.0, area: 0.0 });
        }
        if points.is_empty() {
            return Err(ContactError::BadTable { row: 0 });
        }
        let last = knots.len() - 1;
        let secant = |i: usize| (knots[i + 1].strain - knots[i].strain) / (knots[i + 1].stress - knots[i].stress);
        let slopes: Vec<f64> = (0..=last)
            .map(|i| match i {
                0 => secant(0),
                i if i == last => secant(last - 1),
                i => {
                    let (before, after) =
                        (knots[i].stress - knots[i - 1].stress, knots[i + 1].stress - knots[i].stress);
                    let (heavy, light) = (2.0 * after + before, after + 2.0 * before);
                    (heavy + light) / (heavy / secant(i - 1) + light / secant(i))
                }
            })
            .collect();
        for (knot, slope) in knots.iter_mut().zip(slopes) {
            knot.slope = slope;
        }
        let mut table = Table { knots };
        for i in 1..=last {
            // Up to the knot by its own piece: seen from the knot before, the next begins at it.
            let (from, to) = (table.knots[i - 1], table.knots[i]);
            let (by, (square, cube)) = (to.stress - from.stress, bend(&from, &to));
            table.knots[i].area = from.area_to(by, square, cube);
        }
        Ok(table)
    }

    /// The knot before a stress and, within the table, the one after.
    fn around(&self, stress: f64) -> (&Knot, Option<&Knot>) {
        let after = self.knots.partition_point(|knot| knot.stress <= stress);
        let before = &self.knots[after.saturating_sub(1)];
        (before, if after == 0 { None } else { self.knots.get(after) })
    }

    fn flex(&self, stress: f64) -> Flex {
        let (from, to) = self.around(stress);
        let by = stress - from.stress;
        let (square, cube) = to.map_or((0.0, 0.0), |to| bend(from, to));
        Flex {
            strain: from.strain + by * (from.slope + by * (square + by * cube)),
            slope: from.slope + by * (2.0 * square + by * 3.0 * cube),
        }
    }

    fn area(&self, stress: f64) -> f64 {
        let (from, to) = self.around(stress);
        let by = stress - from.stress;
        let (square, cube) = to.map_or((0.0, 0.0), |to| bend(from, to));
        from.area_to(by, square, cube)
    }
}

impl Knot {
    fn area_to(&self, by: f64, square: f64, cube: f64) -> f64 {
        self.area + by * (self.strain + by * (self.slope / 2.0 + by * (square / 3.0 + by * cube / 4.0)))
    }
}

/// Coefficients of the square and the cube between two knots.
fn bend(from: &Knot, to: &Knot) -> (f64, f64) {
    let width = to.stress - from.stress;
    let secant = (to.strain - from.strain) / width;
    ((3.0 * secant - 2.0 * from.slope - to.slope) / width, (from.slope + to.slope - 2.0 * secant) / (width * width))
}

/// Strain at a stress and its slope.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Flex {
    pub(crate) strain: f64,
    pub(crate) slope: f64,
}

impl Curve {
    /// At a stress given as a multiple of the modulus.
    #[inline]
    pub(crate) fn flex(&self, stress: f64) -> Flex {
        match self {
            Curve::Locking { strain } if stress > 0.0 => {
                let share = strain / (strain + stress);
                Flex { strain: stress * share, slope: share * share }
            }
            Curve::Table(table) => table.flex(stress),
            _ => Flex { strain: stress, slope: 1.0 },
        }
    }

    /// The complementary energy ∫ strain d(stress) up to a stress, both as multiples of the modulus.
    pub(crate) fn area(&self, stress: f64) -> f64 {
        match self {
            Curve::Locking { strain } if stress > 0.0 => strain * (stress - strain * libm::log1p(stress / strain)),
            Curve::Table(table) => table.area(stress),
            _ => 0.5 * stress * stress,
        }
    }

    pub(crate) fn check(&self) -> Result<(), ContactError> {
        match *self {
            Curve::Locking { strain } if !(strain > 0.0 && strain <= 1.0) => {
                Err(ContactError::BadNumber { what: "locking strain", value: strain, must: "over 0 and at most 1" })
            }
            _ => Ok(()),
        }
    }
}
