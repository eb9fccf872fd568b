/// Young's modulus of rubber at a Shore A hardness, MPa, after Gent 1958.
#[must_use]
pub fn modulus_mpa_gent(shore_a: f64) -> f64 {
    0.0981 * (56.0 + 7.62336 * shore_a) / (0.137505 * (254.0 - 2.54 * shore_a))
}

/// Shore A of rubber of Young's modulus `modulus_mpa`, after Gent 1958.
#[must_use]
pub fn shore_a_gent(modulus_mpa: f64) -> f64 {
    (0.137505 * 254.0 * modulus_mpa - 0.0981 * 56.0) / (0.137505 * 2.54 * modulus_mpa + 0.0981 * 7.62336)
}

/// Young's modulus of rubber at a Shore A hardness, MPa, by the log-linear relation log10 E = 0.0235 S − 0.6403.
#[must_use]
pub fn modulus_mpa_log(shore_a: f64) -> f64 {
    libm::pow(10.0, 0.0235 * shore_a - 0.6403)
}

/// Shore A of rubber of Young's modulus `modulus_mpa`, by the log-linear relation.
#[must_use]
pub fn shore_a_log(modulus_mpa: f64) -> f64 {
    (libm::log10(modulus_mpa) + 0.6403) / 0.0235
}
