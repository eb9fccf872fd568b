use crate::Residuals;
use glam::DVec2;
use thiserror::Error;

/// Why there is no answer. Rows and columns count from 0.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum ContactError {
    /// An array that does not fit the plane.
    #[error("{what}: {found} values for a plane of {expected} nodes; give one for each node, row by row")]
    WrongSize {
        /// Which array.
        what: &'static str,
        /// Values found.
        found: usize,
        /// Nodes of the plane.
        expected: usize,
    },
    /// A value that no column, profile or map can have.
    #[error("{what} at column {column}, row {row} is {value}; it must be {must}")]
    BadValue {
        /// Which array.
        what: &'static str,
        /// Column of the node.
        column: usize,
        /// Row of the node.
        row: usize,
        /// What was found.
        value: f64,
        /// What is allowed.
        must: &'static str,
    },
    /// A single number out of its range.
    #[error("{what} is {value}; it must be {must}")]
    BadNumber {
        /// Which number.
        what: &'static str,
        /// What was found.
        value: f64,
        /// What is allowed.
        must: &'static str,
    },
    /// A stress-strain table that is no curve.
    #[error(
        "row {row} of the stress-strain table does not rise above the one before; strain and stress must both rise from 0"
    )]
    BadTable {
        /// Row of the table, from 0.
        row: usize,
    },
    /// No node has both a column and a profile above it.
    #[error("no node has both a column and a profile above it; check that mask and profile lie over each other")]
    NothingBears,
    /// A map without pressure.
    #[error("the pressure map is 0 everywhere; check its unit and that it lies over the plane")]
    NothingPressed,
    /// No pressures that only push can carry a force here.
    #[error(
        "the force acts at x {:.1}, y {:.1} mm, outside every place that can carry it; move it inside the bearing area",
        .at_mm.x, .at_mm.y
    )]
    OutsideSupport {
        /// Where the force acts.
        at_mm: DVec2,
    },
    /// A moment at the hinge at which the near body would lift off or the far one.
    #[error(
        "a hinge moment of {moment_n_mm:.0} N·mm cannot hold both bodies down; with this force it must be more than \
         {least_n_mm:.0} N·mm, or hold the hinge at an angle"
    )]
    HingeOpens {
        /// The moment asked for, N·mm.
        moment_n_mm: f64,
        /// What it must exceed, N·mm.
        least_n_mm: f64,
    },
    /// The iterations ended before the balance was within tolerance; there is no partial answer.
    #[error(
        "no balance after {iterations} steps: {:.3} N and {:.2} N·mm are left over, {:.3} kPa at a single node; check for a \
         force that is far too great or acts at the very rim, and for columns far stiffer than their neighbours",
        .residuals.force_n, .residuals.moment_n_mm.length(), .residuals.local_kpa
    )]
    NotConverged {
        /// Steps taken.
        iterations: usize,
        /// What was left.
        residuals: Residuals,
    },
}
