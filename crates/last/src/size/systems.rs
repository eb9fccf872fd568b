use base::Source;
use serde::Serialize;

/// What a size counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Counts {
    /// The length of the foot, without any allowance.
    FootLength,
    /// The length of the last: foot plus allowance.
    LastLength,
}

/// A scale of shoe sizes: the length is `zero_mm + value · unit_mm`.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SizeSystem {
    /// Stable id, as on the command line: `paris`.
    pub id: &'static str,
    /// Label in the trade's words.
    pub label: &'static str,
    /// What it counts.
    pub counts: Counts,
    /// Length at size zero, mm.
    pub zero_mm: f64,
    /// Length of one size, mm.
    pub unit_mm: f64,
    /// Distance between neighbouring sizes, in sizes.
    pub step: f64,
    /// The least number of the scale: a shorter last has its number on another one.
    pub least: f64,
    /// The greatest number of the scale.
    pub greatest: f64,
    /// Id of the scale that goes on where this one ends.
    pub joins: Option<&'static str>,
    /// Where the scale comes from, and where sources disagree.
    pub source: Source,
}

/// Millimetres in an inch, exactly.
pub(crate) const INCH_MM: f64 = 25.4;

/// One British or American size, mm.
const THIRD_INCH_MM: f64 = INCH_MM / 3.0;

/// The size systems. Millimetres are the truth everywhere else: a size is a name for a length.
pub const ALL: &[SizeSystem] = &[
    SizeSystem {
        id: "mondopoint",
        label: "Mondopoint",
        counts: Counts::FootLength,
        zero_mm: 0.0,
        unit_mm: 1.0,
        step: 5.0,
        least: 60.0,
        greatest: 500.0,
        joins: None,
        source: Source::seen(
            "ISO 9407:2019: foot length in mm; steps of 5 or 7.5 mm from zero (DIN 66074-2:1975 as quoted in ISO/TS 19407:2015)",
        ),
    },
    SizeSystem {
        id: "cm",
        label: "Centimetres",
        counts: Counts::FootLength,
        zero_mm: 0.0,
        unit_mm: 10.0,
        step: 0.5,
        least: 6.0,
        greatest: 50.0,
        joins: None,
        source: Source::seen(
            "length of the foot that the shoe fits, in cm, half a centimetre a step, as sizes are marked in Japan (AIST, Foot Morphology and Fitting of the Shoe to the Foot)",
        ),
    },
    SizeSystem {
        id: "paris",
        label: "Paris point",
        counts: Counts::LastLength,
        zero_mm: 0.0,
        unit_mm: 20.0 / 3.0,
        step: 0.5,
        least: 9.0,
        greatest: 75.0,
        joins: None,
        source: Source::seen("ISO/TS 19407:2015: one size is 2/3 cm of last, from zero; half sizes by common practice"),
    },
    inches(
        "uk",
        "UK, adult",
        25.0,
        Some("uk-c"),
        Source::seen(
            "one size is 1/3 inch (Jurca et al. 2019); size = 3 · last in inches − 25 (isegoria.net, Shoe Sizes, 2012; no standard seen); size 1 follows the child's 13½",
        ),
    ),
    inches(
        "uk-c",
        "UK, children",
        12.0,
        Some("uk"),
        Source::seen(
            "child's size 0 is 4 inches, one size 1/3 inch (sizes.shoes); size = 3 · last in inches − 12 (isegoria.net, 2012); after 13½ the adult scale goes on with 1",
        ),
    ),
    inches(
        "us-m",
        "US, men",
        24.0,
        None,
        Source::seen(
            "one size is 1/3 inch; size = 3 · last in inches − 24, which is the UK size + 1 (isegoria.net, 2012; published converters agree)",
        ),
    ),
    inches(
        "us-w",
        "US, women",
        22.5,
        None,
        Source::seen(
            "men's size + 1½: 3 · last in inches − 22½ (isegoria.net, 2012). Texts disagree: others count men's + 1, so that their number is half a size less for the same last; the rule `us_w_plus_1` goes by those",
        ),
    ),
    inches(
        "us-c",
        "US, children",
        35.0 / 3.0,
        None,
        Source::seen(
            "size = 3 · last in inches − 11⅔ (isegoria.net, 2012; published converters agree); the youth's and men's scales that follow 13½ do not join it exactly",
        ),
    ),
];

/// A scale in thirds of an inch from `zero_inches` thirds, in half sizes. Children's end at 13½, adults' begin at 1.
const fn inches(
    id: &'static str,
    label: &'static str,
    zero_thirds: f64,
    joins: Option<&'static str>,
    source: Source,
) -> SizeSystem {
    let is_child = zero_thirds < 20.0;
    SizeSystem {
        id,
        label,
        counts: Counts::LastLength,
        zero_mm: zero_thirds * THIRD_INCH_MM,
        unit_mm: THIRD_INCH_MM,
        step: 0.5,
        least: if is_child { 0.0 } else { 1.0 },
        greatest: if is_child { 13.5 } else { 30.0 },
        joins,
        source,
    }
}

/// The system with this id.
#[must_use]
pub fn system(id: &str) -> Option<&'static SizeSystem> {
    ALL.iter().find(|system| system.id == id)
}

impl SizeSystem {
    /// Length of what the system counts at `value`, mm.
    #[must_use]
    pub fn length_mm(&self, value: f64) -> f64 {
        self.zero_mm + value * self.unit_mm
    }

    /// The value, not rounded, for a foot of `foot_length_mm` with `allowance_mm` between foot and last.
    #[must_use]
    pub fn value_for(&self, foot_length_mm: f64, allowance_mm: f64) -> f64 {
        let length_mm = match self.counts {
            Counts::FootLength => foot_length_mm,
            Counts::LastLength => foot_length_mm + allowance_mm,
        };
        (length_mm - self.zero_mm) / self.unit_mm
    }

    /// Distance between neighbouring sizes, mm.
    #[must_use]
    pub fn step_mm(&self) -> f64 {
        self.step * self.unit_mm
    }

    /// Whether `value` lies on the scale, on one of its steps or between two.
    #[must_use]
    pub fn holds(&self, value: f64) -> bool {
        value >= self.least && value <= self.greatest
    }
}
