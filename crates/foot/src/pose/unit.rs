use crate::IntakeError;
use base::{LengthUnit, Report, Severity};

/// Feet outside these lengths are refused, mm: a baby's first shoe and the longest feet on record lie inside.
const POSSIBLE_MM: (f64, f64) = (90.0, 360.0);

/// Lengths of most feet in a practice, mm: from a child of five to the longest usual last.
const USUAL_MM: (f64, f64) = (160.0, 320.0);

/// Longer feet get rare much faster than shorter ones, which children have.
const LONG_IS_RARE: f64 = 4.0;

/// The unit in which a foot of `length_in_file` has a possible length; of several, the one with the most usual.
pub(super) fn unit_of(
    name: &str,
    length_in_file: f64,
    given: Option<LengthUnit>,
    report: &mut Report,
) -> Result<LengthUnit, IntakeError> {
    let units = given.map_or(LengthUnit::ALL.to_vec(), |unit| vec![unit]);
    let is_possible = |unit: &LengthUnit| {
        let mm = length_in_file * unit.mm();
        mm >= POSSIBLE_MM.0 && mm <= POSSIBLE_MM.1
    };
    let mut possible: Vec<LengthUnit> = units.iter().copied().filter(is_possible).collect();
    base::sort_by(&mut possible, |a, b| oddness(length_in_file * a.mm()).total_cmp(&oddness(length_in_file * b.mm())));
    let Some(&unit) = possible.first() else {
        let units = units.iter().map(|unit| unit.symbol()).collect::<Vec<_>>().join(", ");
        return Err(IntakeError::ImpossibleSize { file: name.to_owned(), length_in_file, units });
    };
    if let Some(other) = possible.get(1) {
        report.add(
            Severity::Check,
            "unit_ambiguous",
            format!(
                "The foot is {:.0} mm long if the file is in {}, but would be {:.0} mm in {}.",
                length_in_file * unit.mm(),
                unit.symbol(),
                length_in_file * other.mm(),
                other.symbol()
            ),
            "Measure the foot's length once by hand and set the unit.",
        );
    }
    Ok(unit)
}

/// 0 for usual lengths, greater the farther outside.
fn oddness(length_mm: f64) -> f64 {
    let short = libm::log(USUAL_MM.0 / length_mm).max(0.0);
    let long = libm::log(length_mm / USUAL_MM.1).max(0.0);
    short + LONG_IS_RARE * long
}
