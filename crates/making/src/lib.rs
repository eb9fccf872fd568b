//! Everything that leaves the bench: the solid, its files, the job sheet and the foot report.
//!
//! 1. [`SolidPlan::new`] divides the outline into triangles, once for each outline and spacing;
//! 2. [`SolidPlan::solid`] lifts them to the top and bottom surface and closes the walls: cheap, so that it can follow
//!    a drag;
//! 3. [`make`] writes a [`MakeModel`], the finished pair as plain data, into files; [`formats`] holds one format a file.
//!
//! ```
//! use glam::DVec2;
//! use making::{SolidPlan, check_solid};
//!
//! let outline = [(0.0, 0.0), (50.0, 0.0), (50.0, 20.0), (0.0, 20.0)].map(|(x, y)| DVec2::new(x, y));
//! let plan = SolidPlan::new(&outline, 1.0)?;
//! let wedge = plan.solid(|p| (2.0 + 0.1 * p.x, 0.0))?;
//! assert!((check_solid(&wedge, &outline).volume_mm3 - 4500.0).abs() < 1e-6);
//! # Ok::<(), making::SolidError>(())
//! ```
//!
//! Solids and plans are in the foot frame. Files are in **shoe coordinates**: x to the toes, y to the wearer's left,
//! z up, right-handed, millimetres; [`in_shoe_frame`] mirrors a left insole back.

mod files;
pub mod formats;
mod model;
mod solid_check;
mod solid_plan;
#[cfg(test)]
mod test_model;

pub use files::{MadeFile, MakeError, make, need_solids};
pub use formats::{Format, Part};
pub use model::{ClassRow, FootModel, LandmarkRow, MakeModel, MeasureRow, Reading, SideModel};
pub use solid_check::{SolidCheck, check_solid};
pub use solid_plan::{SolidError, SolidPlan, in_shoe_frame};
