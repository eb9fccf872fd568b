use serde::Serialize;
use std::collections::BTreeMap;

/// Parameter values by id. What is missing has its default.
pub type Params = BTreeMap<String, f64>;

/// One number a practitioner can set: the form, the case file, the command line and the docs all read this.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ParamSpec {
    /// Stable id, snake_case with its unit: `height_mm`.
    pub id: &'static str,
    /// Label in the trade's words.
    pub label: &'static str,
    /// Unit as printed: `mm`, `°`, `Shore A`, empty for none.
    pub unit: &'static str,
    /// Least value accepted.
    pub min: f64,
    /// Greatest value accepted.
    pub max: f64,
    /// Value when nothing was decided.
    pub default: f64,
    /// Step of a spinner or an arrow key.
    pub step: f64,
    /// One sentence on what it does.
    pub help: &'static str,
}

impl ParamSpec {
    /// A number in `unit` with its bounds `(least, greatest)`.
    #[must_use]
    pub const fn new(
        id: &'static str,
        label: &'static str,
        unit: &'static str,
        (min, max): (f64, f64),
        default: f64,
        step: f64,
        help: &'static str,
    ) -> ParamSpec {
        ParamSpec { id, label, unit, min, max, default, step, help }
    }

    /// A length in mm.
    #[must_use]
    pub const fn mm(
        id: &'static str,
        label: &'static str,
        bounds: (f64, f64),
        default: f64,
        step: f64,
        help: &'static str,
    ) -> ParamSpec {
        ParamSpec::new(id, label, "mm", bounds, default, step, help)
    }

    /// An angle in degrees, in steps of one.
    #[must_use]
    pub const fn deg(
        id: &'static str,
        label: &'static str,
        bounds: (f64, f64),
        default: f64,
        help: &'static str,
    ) -> ParamSpec {
        ParamSpec::new(id, label, "°", bounds, default, 1.0, help)
    }

    /// One of `count` named choices, told by its index; the first is the default.
    #[must_use]
    pub const fn choice(id: &'static str, label: &'static str, count: u8, help: &'static str) -> ParamSpec {
        ParamSpec::new(id, label, "", (0.0, (count - 1) as f64), 0.0, 1.0, help)
    }

    /// Whether `value` is finite and in range.
    #[must_use]
    pub fn accepts(&self, value: f64) -> bool {
        value.is_finite() && value >= self.min && value <= self.max
    }
}

/// The value of `spec` in `params`, or its default.
#[must_use]
pub fn value_of(params: &Params, spec: &ParamSpec) -> f64 {
    params.get(spec.id).copied().unwrap_or(spec.default)
}

/// Every default of `specs`.
#[must_use]
pub fn defaults(specs: &[ParamSpec]) -> Params {
    specs.iter().map(|spec| (spec.id.to_owned(), spec.default)).collect()
}
