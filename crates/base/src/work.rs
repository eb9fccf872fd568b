use std::fmt;
use thiserror::Error;

/// The work was cancelled. A value, not a failure: nothing was changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
#[error("cancelled")]
pub struct Cancelled;

/// What long work is handed: where to say how far it is, and where to ask whether to go on.
///
/// Work calls [`Work::step`] once per outer step, not per element.
#[derive(Clone, Copy)]
pub struct Work<'a> {
    on_step: &'a dyn Fn(&str, f64) -> bool,
}

impl fmt::Debug for Work<'_> {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("Work")
    }
}

impl<'a> Work<'a> {
    /// Work that reports to `on_step(what, fraction 0…1)`, which answers whether to go on.
    #[must_use]
    pub fn new(on_step: &'a dyn Fn(&str, f64) -> bool) -> Self {
        Work { on_step }
    }

    /// Work that reports to nobody and is never cancelled.
    #[must_use]
    pub fn quiet() -> Work<'static> {
        Work { on_step: &|_, _| true }
    }

    /// Says that `fraction` (0…1) of the work is done and `what` comes next.
    ///
    /// # Errors
    /// [`Cancelled`] if the work shall stop.
    pub fn step(&self, what: &str, fraction: f64) -> Result<(), Cancelled> {
        if (self.on_step)(what, fraction) { Ok(()) } else { Err(Cancelled) }
    }
}
