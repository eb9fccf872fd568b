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

/// Spring stiffness k in N/mm³ and strength G of the shear layer in N/mm for elastic layers bonded to each other and to a rigid
/// base.
///
/// The two-parameter foundation of Vlasov and Leontiev (1966, "Beams, plates and shells on elastic foundations", from memory):
/// the layers move straight down by w(x, y)·φ(z) and nowhere sideways, and the energy of that motion gives
/// k = ∫ K φ'² dz and G = ∫ μ φ² dz, with the confined modulus K and the shear modulus μ = E/(2(1 + ν)). φ is taken as it is
/// under even pressure, linear in each layer with a slope in proportion to 1/K: then k is that of springs in series. For a single
/// layer of thickness H, k = K/H and G = μH/3.
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
    Ok((1.0 / compliance, shear / (compliance * compliance)))
}
