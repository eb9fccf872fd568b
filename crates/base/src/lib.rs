//! The words every other crate speaks: sides, units, tolerances, parameters, sources, progress and reports.
//!
//! Units, once for the whole project: lengths are millimetres (`_mm`), angles in data are degrees (`_deg`) and in
//! code radians, pressure is kPa, modulus MPa, mass kg, force N. The **foot frame** has its origin on the support
//! plane under the pternion, +x to the toes along the foot axis, +y to the medial side, +z up; left feet are mirrored
//! into it, so no rule anywhere asks for the side.
//!
//! ```
//! use base::{BySide, Side};
//! let lengths = BySide { left: 261.0, right: 263.5 };
//! assert_eq!(lengths[Side::Right], 263.5);
//! assert_eq!(Side::Left.other(), Side::Right);
//! ```

mod order;
mod param;
mod report;
mod side;
mod source;
mod tolerance;
mod unit;
mod work;

pub use order::{order, sort_by, sort_by_key, sort_numbers};
pub use param::{ParamSpec, Params, defaults, value_of};
pub use report::{Note, Report, Severity};
pub use side::{BySide, Side};
pub use source::{Source, Trust};
pub use tolerance::{NotATolerance, Tolerance};
pub use unit::LengthUnit;
pub use work::{Cancelled, Work};
