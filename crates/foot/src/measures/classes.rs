//! What authors call a value: bands with names, each set with its author.

use super::MeasureSpec;
use base::Source;
use serde::Serialize;

/// A band of values with one name.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Band {
    /// Values below this, and not in a band before, belong to it; infinite in the last band of a set.
    pub below: f64,
    /// What the author calls such a foot.
    pub name: &'static str,
}

/// One author's bands for a measure.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Classes {
    /// Who drew the limits, and how far the numbers can be trusted.
    pub author: Source,
    /// Ages of the children they are for, first and last year; `None` if no age is named.
    pub years: Option<(u8, u8)>,
    /// From the least value up.
    pub bands: &'static [Band],
}

impl Classes {
    /// The name of the band a value lies in; empty for a value that is no number.
    #[must_use]
    pub fn class_of(&self, value: f64) -> &'static str {
        self.bands.iter().find(|band| value < band.below).map_or("", |band| band.name)
    }

    /// Whose feet they are for, as in `6 to 9 years`; empty if no age is named.
    #[must_use]
    pub fn whom(&self) -> String {
        self.years.map_or_else(String::new, |(first, last)| format!("{first} to {last} years"))
    }

    /// Whether both speak of the same people: of some of the same ages, or both of no age.
    fn meets(&self, other: &Classes) -> bool {
        match (self.years, other.years) {
            (Some(a), Some(b)) => a.0 <= b.1 && b.0 <= a.1,
            (a, b) => a == b,
        }
    }
}

/// A published value to hold a measure against, where no limits were published.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Reference {
    /// What it is the value of.
    pub name: &'static str,
    /// In the unit of the measure.
    pub value: f64,
    /// Who published it.
    pub author: Source,
}

/// Values below a limit.
pub(crate) const fn below(below: f64, name: &'static str) -> Band {
    Band { below, name }
}

/// Values up to a limit, which is still in the band.
pub(crate) const fn up_to(limit: f64, name: &'static str) -> Band {
    Band { below: limit.next_up(), name }
}

/// All values above.
pub(crate) const fn above(name: &'static str) -> Band {
    Band { below: f64::INFINITY, name }
}

/// Where authors call a value of the same people differently: one sentence that names each with what they say. `None`
/// where they agree, or where there is one author only.
#[must_use]
pub fn disagreement(spec: &MeasureSpec, value: f64) -> Option<String> {
    if !value.is_finite() {
        return None;
    }
    let is_disputed = |classes: &&Classes| {
        spec.classes.iter().any(|other| classes.meets(other) && classes.class_of(value) != other.class_of(value))
    };
    let says = |classes: &Classes| {
        let whom = if classes.years.is_some() { format!(" ({})", classes.whom()) } else { String::new() };
        format!("{}{whom} “{}”", classes.author.text, classes.class_of(value))
    };
    let all: Vec<String> = spec.classes.iter().filter(is_disputed).map(says).collect();
    (!all.is_empty()).then(|| format!("Authors disagree on this value: {}.", all.join("; ")))
}

#[cfg(test)]
mod tests {
    use super::super::ALL;
    use super::*;

    fn spec(id: &str) -> &'static MeasureSpec {
        ALL.iter().map(|measure| measure.spec()).find(|spec| spec.id == id).unwrap()
    }

    /// What the first author calls each value.
    fn called<const N: usize>(id: &str, values: [f64; N]) -> [&'static str; N] {
        values.map(|value| spec(id).classes[0].class_of(value))
    }

    #[test]
    fn bands_rise_and_the_last_has_no_end() {
        for spec in ALL.iter().map(|measure| measure.spec()) {
            for classes in spec.classes {
                let rises = classes.bands.windows(2).all(|pair| pair[0].below < pair[1].below);
                let last = classes.bands.last().map(|band| band.below);
                assert!(rises && last == Some(f64::INFINITY), "{}", spec.id);
                assert!(classes.bands.iter().all(|band| !band.name.is_empty()) && !classes.author.text.is_empty());
                assert_eq!(classes.class_of(f64::NAN), "");
            }
            assert!(spec.references.iter().all(|reference| reference.value.is_finite() && !reference.name.is_empty()));
        }
    }

    /// Limits as published: see the author of each set.
    #[test]
    fn limits_belong_to_the_band_the_author_puts_them_in() {
        let (high, normal, low) = ("high arch", "normal arch", "low arch");
        assert_eq!(called("arch_index", [0.0, 0.21, 0.211, 0.2599, 0.26, 0.4]), [high, high, normal, normal, low, low]);
        assert_eq!(
            called("chippaux_smirak_percent", [0.0, 0.1, 29.9, 30.0, 39.9, 40.0, 44.9, 45.0]),
            [high, normal, normal, "intermediate", "intermediate", low, low, "flat"]
        );
        assert_eq!(
            called("navicular_height_mm", [26.9, 27.0, 35.0, 36.0, 55.0, 56.0, 64.0, 64.1]),
            ["severe low arch", low, low, normal, normal, high, high, "severe high arch"]
        );
        assert_eq!(
            called("normalised_navicular_height", [0.21, 0.22, 0.31, 0.32]),
            ["low", "normal", "normal", "high"]
        );
        assert_eq!(called("staheli_index", [1.07, 1.08]), ["not flat", "flat"]);
        let of_older = |value| spec("staheli_index").classes[1].class_of(value);
        assert_eq!([of_older(1.27), of_older(1.28)], ["not flat", "flat"]);
    }

    #[test]
    fn authors_disagree_only_over_the_same_people() {
        let staheli = disagreement(spec("staheli_index"), 1.2).unwrap();
        assert!(
            staheli.contains("6 to 9 years) “not flat”") && staheli.contains("Hernandez 2007 (5 to 9 years) “flat”")
        );
        assert_eq!(disagreement(spec("staheli_index"), 0.7), None);
        // Limits for children and for adults differ without a dispute.
        assert_eq!(disagreement(spec("chippaux_smirak_percent"), 50.0), None);
        assert_eq!(disagreement(spec("arch_index"), 0.2), None);
        assert_eq!(disagreement(spec("staheli_index"), f64::NAN), None);
    }
}
