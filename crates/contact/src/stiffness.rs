//! From a material to a spring: confinement, and the shear layer that ties neighbours together.

use crate::ContactError;

/// Modulus of a layer that cannot spread sideways over Young's modulus: K/E = (1 − ν)/((1 + ν)(1 − 2ν)), `poisson` from 0 to
/// below 0.5 (linear elasticity; Johnson 1985, Contact Mechanics, from memory).
///
/// # Errors
/// For a Poisson's ratio outside 0…0.5.
pub fn confinement(poisson: f64) -> Result<f64, ContactError> {
    if (0.0..0.5).contains(&poisson) {
        Ok((1.0 - poisson) / ((1.0 + poisson) * (1.0 - 2.0 * poisson)))
    } else {
        Err(ContactError::BadNumber { what: "Poisson's ratio", value: poisson, must: "at least 0 and below 0.5" })
    }
}

/// One of the bonded layers that [`two_parameters`] takes together, from the top down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bonded {
    /// Thickness, mm, greater than zero.
    pub thickness_mm: f64,
    /// Young's modulus, MPa, greater than zero.
    pub modulus_mpa: f64,
    /// Poisson's ratio, 0 to below 0.5.
    pub poisson: f64,
}

/// Share of the shear layer's strength after Vlasov and Leontiev that [`two_parameters`] gives.
///
/// Their layer moves straight up and down; one that may also move sideways is less stiff. How much less follows from the exact
/// response of a bonded layer under a frictionless wave of pressure cos qx: k(q) = E q/(2(1 − ν²) L(qH)) with
/// L(t) = (2κ sinh 2t − 4t)/(2κ cosh 2t + 1 + κ² + 4t²), κ = 3 − 4ν (plane strain; as in Johnson 1985, section 5.8, and Vorovich,
/// Aleksandrov & Babeshko 1974, from memory). A third of their strength meets it within 9 % up to qH = 3 for ν from 0 to 0.3;
/// the whole strength is up to 59 % off there, and springs without ties 36 %. From ν = 0.4 on no strength does: the nearly
/// incompressible layer yields more, not less, to a wave than to even pressure.
pub const SHEAR_SHARE: f64 = 1.0 / 3.0;

/// Spring stiffness k in N/mm³ and strength G of the shear layer in N/mm for elastic layers bonded to each other and to a rigid
/// base.
///
/// The two-parameter foundation of Vlasov and Leontiev (1966, "Beams, plates and shells on elastic foundations", from memory):
/// the layers move straight down by w(x, y)·φ(z) and nowhere sideways, and the energy of that motion gives
/// k = ∫ K φ'² dz and G = ∫ μ φ² dz, with the confined modulus K and the shear modulus μ = E/(2(1 + ν)). φ is taken as it is
/// under even pressure, linear in each layer with a slope in proportion to 1/K: then k is that of springs in series. Of G only
/// [`SHEAR_SHARE`] is given. For a single layer of thickness H that is k = K/H and G = μH/9.
///
/// # Errors
/// For a layer outside the ranges that [`Bonded`] states; without any layer.
pub fn two_parameters(layers: &[Bonded]) -> Result<(f64, f64), ContactError> {
    let mut compliance = 0.0;
    let mut shear = 0.0;
    for layer in layers.iter().rev() {
        let must = "finite and greater than zero";
        for (what, value) in [("thickness in mm", layer.thickness_mm), ("modulus in MPa", layer.modulus_mpa)] {
            if !(value > 0.0 && value.is_finite()) {
                return Err(ContactError::BadNumber { what, value, must });
            }
        }
        let below = compliance;
        compliance += layer.thickness_mm / (layer.modulus_mpa * confinement(layer.poisson)?);
        let shear_modulus = layer.modulus_mpa / (2.0 * (1.0 + layer.poisson));
        // The mean of φ² over the layer, φ still to be divided by the whole compliance.
        let mean = (below * below + below * compliance + compliance * compliance) / 3.0;
        shear += shear_modulus * layer.thickness_mm * mean;
    }
    if layers.is_empty() {
        return Err(ContactError::BadNumber { what: "number of layers", value: 0.0, must: "at least 1" });
    }
    Ok((1.0 / compliance, SHEAR_SHARE * shear / (compliance * compliance)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Stiffness of a bonded layer against a wave over that against even pressure, by the formula at [`SHEAR_SHARE`].
    fn exact(poisson: f64, t: f64) -> f64 {
        let kappa = 3.0 - 4.0 * poisson;
        let (sinh, cosh) = (libm::sinh(2.0 * t), libm::cosh(2.0 * t));
        let response = (2.0 * kappa * sinh - 4.0 * t) / (2.0 * kappa * cosh + 1.0 + kappa * kappa + 4.0 * t * t);
        let even = t / (2.0 * (1.0 - poisson * poisson) * confinement(poisson).unwrap());
        even / response
    }

    fn error(poisson: f64, share: f64) -> f64 {
        let (k, g) = two_parameters(&[Bonded { thickness_mm: 1.0, modulus_mpa: 1.0, poisson }]).unwrap();
        let at = |t: f64| (1.0 + share * g / (SHEAR_SHARE * k) * t * t) / exact(poisson, t) - 1.0;
        (1..=60).map(|i| at(0.05 * f64::from(i)).abs()).fold(0.0, f64::max)
    }

    #[test]
    fn the_rule_meets_the_exact_response_of_a_layer() {
        assert!((exact(0.3, 1e-3) - 1.0).abs() < 1e-5);
        for poisson in [0.0, 0.1, 0.2, 0.25, 0.3] {
            assert!(error(poisson, SHEAR_SHARE) < 0.09, "{poisson}: {}", error(poisson, SHEAR_SHARE));
        }
        println!("{:?}", [0.0, 0.1, 0.2, 0.3].map(|nu| (error(nu, 1.0), error(nu, 0.0))));
        assert!(error(0.0, 1.0) > 0.4 && error(0.0, 0.0) > 0.35);
        // As stated: no rule for the nearly incompressible.
        assert!(error(0.4, SHEAR_SHARE) > 0.25 && error(0.45, SHEAR_SHARE) > 0.8);
    }
}
