//! Shore A ↔ Young's modulus of rubber.
//!
//! The relations are for solid rubber at small strain. They disagree by up to a factor of two, and for foam they are orders of
//! magnitude only: show the range, and let a coupon measurement overrule it.

use base::Source;

/// A published relation between Shore A hardness and Young's modulus.
#[derive(Clone, Copy, Debug)]
pub struct ModulusRelation {
    /// Stable id.
    pub id: &'static str,
    /// Label as shown.
    pub label: &'static str,
    /// Young's modulus at a Shore A hardness, MPa. Grows with the hardness over 0 … 99.
    pub modulus_mpa: fn(shore_a: f64) -> f64,
    /// Shore A hardness at a Young's modulus in MPa: the inverse.
    pub shore_a: fn(modulus_mpa: f64) -> f64,
    /// Where it was published.
    pub source: Source,
}

/// The relations.
pub const RELATIONS: &[ModulusRelation] = &[
    ModulusRelation {
        id: "gent",
        label: "Gent 1958",
        modulus_mpa: modulus_mpa_gent,
        shore_a: shore_a_gent,
        source: Source::seen(
            "Gent 1958, as restated in public code: E = 0.0981(56 + 7.62336 S)/(0.137505(254 − 2.54 S)) MPa; some texts use 7.66",
        ),
    },
    ModulusRelation {
        id: "log",
        label: "Log-linear",
        modulus_mpa: modulus_mpa_log,
        shore_a: shore_a_log,
        source: Source::seen(
            "log10 E = 0.0235 S − 0.6403, E in MPa (Borrello, note on Shore A and modulus); often credited to Qi et al. 2003",
        ),
    },
];

/// Young's modulus of rubber at `shore_a`, MPa, after Gent 1958. Without bound as the hardness nears 100.
#[must_use]
pub fn modulus_mpa_gent(shore_a: f64) -> f64 {
    0.0981 * (56.0 + 7.62336 * shore_a) / (0.137505 * (254.0 - 2.54 * shore_a))
}

/// Shore A of rubber of `modulus_mpa`, after Gent 1958. Below 0 for moduli under 0.157 MPa, never above 100.
#[must_use]
pub fn shore_a_gent(modulus_mpa: f64) -> f64 {
    (0.137505 * 254.0 * modulus_mpa - 0.0981 * 56.0) / (0.137505 * 2.54 * modulus_mpa + 0.0981 * 7.62336)
}

/// Young's modulus of rubber at `shore_a`, MPa, by log10 E = 0.0235 S − 0.6403. The base is 10: with e in its place, as
/// several pages have it, the modulus at 50 Shore A comes out at half.
#[must_use]
pub fn modulus_mpa_log(shore_a: f64) -> f64 {
    libm::pow(10.0, 0.0235 * shore_a - 0.6403)
}

/// Shore A of rubber of `modulus_mpa` (greater than zero), by the log-linear relation.
#[must_use]
pub fn shore_a_log(modulus_mpa: f64) -> f64 {
    (libm::log10(modulus_mpa) + 0.6403) / 0.0235
}

/// Least and greatest Young's modulus of rubber at `shore_a` by the published relations, MPa.
#[must_use]
pub fn modulus_range_mpa(shore_a: f64) -> (f64, f64) {
    range(RELATIONS.iter().map(|relation| (relation.modulus_mpa)(shore_a)))
}

/// Least and greatest Shore A of rubber of `modulus_mpa` (greater than zero) by the published relations.
#[must_use]
pub fn shore_a_range(modulus_mpa: f64) -> (f64, f64) {
    range(RELATIONS.iter().map(|relation| (relation.shore_a)(modulus_mpa)))
}

fn range(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), value| (lo.min(value), hi.max(value)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked values of both formulas; a table made with e in place of 10 would give 1.707 at 50.
    #[test]
    fn the_worked_table_is_met() {
        let table = [
            (20.0, 0.732, 0.676),
            (30.0, 1.142, 1.161),
            (40.0, 1.690, 1.994),
            (50.0, 2.456, 3.425),
            (60.0, 3.605, 5.884),
            (70.0, 5.520, 10.109),
        ];
        for (shore_a, gent, log) in table {
            assert!((modulus_mpa_gent(shore_a) - gent).abs() < 6e-4, "{shore_a}");
            assert!((modulus_mpa_log(shore_a) - log).abs() < 6e-4, "{shore_a}");
            let (least, most) = modulus_range_mpa(shore_a);
            assert!((least - gent.min(log)).abs() < 6e-4 && (most - gent.max(log)).abs() < 6e-4);
        }
    }

    /// The inverse of Gent's formula solved by hand: S = (254 E − 39.952)/(2.54 E + 5.4387). A lot tolerance of ±5 points
    /// at 30 Shore A (silicone trade) is 0.92 … 1.40 MPa.
    #[test]
    fn the_inverse_and_a_lot_tolerance_are_met() {
        for modulus in [0.4, 1.04, 2.5, 8.0] {
            let by_hand = (254.0 * modulus - 39.952) / (2.54 * modulus + 5.4387);
            assert!((shore_a_gent(modulus) - by_hand).abs() < 1e-3);
        }
        assert!((shore_a_gent(1.04) - 27.7).abs() < 0.05);
        assert!((modulus_mpa_gent(25.0) - 0.92).abs() < 0.0051 && (modulus_mpa_gent(35.0) - 1.40).abs() < 0.0051);
    }

    #[test]
    fn every_relation_grows_and_comes_back_and_says_where_it_is_from() {
        let mut ids = std::collections::BTreeSet::new();
        for relation in RELATIONS {
            assert!(ids.insert(relation.id) && !relation.source.text.is_empty());
            let mut under = 0.0;
            for tenths in 0..990 {
                let shore_a = f64::from(tenths) / 10.0;
                let modulus = (relation.modulus_mpa)(shore_a);
                assert!(modulus > under, "{} at {shore_a}", relation.id);
                assert!(((relation.shore_a)(modulus) - shore_a).abs() < 1e-9, "{} at {shore_a}", relation.id);
                under = modulus;
            }
        }
    }

    #[test]
    fn a_range_of_shore_a_holds_what_each_relation_says() {
        let (least, most) = shore_a_range(modulus_mpa_gent(60.0));
        assert!(least < most && (most - 60.0).abs() < 1e-9);
    }
}
