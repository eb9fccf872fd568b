//! Outlines from outside: a shoe's own insole out of a drawing or a flat picture.
//!
//! [`drawing::read`] takes the curves of an SVG or DXF file in millimetres, [`picture::trace`] the contour of the insole in
//! a picture whose scale is known, as from two clicks on a ruler ([`picture::scale_from_clicks`]).
//! [`lay`] brings one of them into the foot frame, so that it lies best on the outline fitted to the foot, and
//! [`Outline::following`](crate::Outline::following) makes an outline with a few knots of it that can be edited like any
//! other.
//!
//! Guaranteed: whatever the input, an answer or an error that says place, reason and what to do; no panic, no memory out of
//! proportion.
//!
//! ```
//! let svg = br#"<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="120mm" viewBox="0 0 300 120">
//!     <ellipse id="sole" cx="150" cy="60" rx="130" ry="45"/></svg>"#;
//! let drawing = last::tracing::drawing::read("sole.svg", svg)?;
//! let area_mm2 = mesh::outline::signed_area_mm2(&drawing.curves[0].points);
//! assert!((area_mm2 / (std::f64::consts::PI * 130.0 * 45.0) - 1.0).abs() < 0.001);
//! # Ok::<(), last::tracing::TracingError>(())
//! ```

pub mod drawing;
mod error;
mod lay;
pub mod picture;

pub use error::{DrawingFault, PictureFault, Place, TracingError};
pub use lay::{Laid, lay};
