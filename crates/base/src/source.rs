use serde::Serialize;

/// How far a stated fact can be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Trust {
    /// The number was read in the text named.
    Seen,
    /// Computed from the published records or by the formula named.
    Computed,
    /// Stated from memory; the text was not seen. Editable defaults only, never a check.
    Memory,
    /// Common practice of the trade, no source.
    Practice,
}

/// Where a number, a definition or a piece of advice comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Source {
    /// Author, year and place, or the common name of the practice.
    pub text: &'static str,
    /// How far to trust it.
    pub trust: Trust,
}

impl Source {
    /// A fact read in the named text.
    #[must_use]
    pub const fn seen(text: &'static str) -> Self {
        Source { text, trust: Trust::Seen }
    }
    /// A value computed from published records or by a named formula.
    #[must_use]
    pub const fn computed(text: &'static str) -> Self {
        Source { text, trust: Trust::Computed }
    }
    /// A fact from memory.
    #[must_use]
    pub const fn memory(text: &'static str) -> Self {
        Source { text, trust: Trust::Memory }
    }
    /// Common practice, no source.
    #[must_use]
    pub const fn practice(text: &'static str) -> Self {
        Source { text, trust: Trust::Practice }
    }
}
