use crate::ArchSupport;
use crate::params::{BASE_THICKNESS, CUP_DEPTH, MIN_THICKNESS, in_range};
use base::Params;
use foot::{LandmarkId, Landmarks, WeightBearing};
use glam::DVec2;
use mesh::Grid;
use thiserror::Error;

/// What a bearing surface is made from.
#[derive(Clone, Copy, Debug)]
pub struct SurfaceInput<'a> {
    /// Height of the skin of the sole over the support plane, foot frame; `NaN` where there is no skin.
    pub sole: &'a Grid,
    /// The foot's landmarks; the arch apex and both metatarsale points are needed.
    pub landmarks: &'a Landmarks,
    /// The insole's outline as a closed counter-clockwise polygon without a repeated point, about 1 mm between points.
    pub outline: &'a [DVec2],
    /// Values of [`crate::PARAMS`].
    pub params: &'a Params,
    /// How the foot was loaded while it was scanned.
    pub state: WeightBearing,
}

/// Why no bearing surface can be made.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum SurfaceError {
    /// A landmark that the shape hangs on is missing.
    #[error("the landmark \"{}\" is missing: place it on the plan", .0.label())]
    LandmarkMissing(LandmarkId),
    /// Landmarks in an impossible order along the foot.
    #[error("the landmarks do not lie in the order heel, arch apex, metatarsal heads ({reason}): place them anew")]
    LandmarkOrder {
        /// Which, with their positions.
        reason: String,
    },
    /// The outline is not one.
    #[error("the outline has {points} points and encloses {area_mm2:.0} mm²: fit it anew")]
    Outline {
        /// How many points it has.
        points: usize,
        /// The area it encloses, counter-clockwise positive.
        area_mm2: f64,
    },
    /// The sole has no skin under the outline.
    #[error("no skin of the sole lies over the outline: check that scan and outline belong to the same foot")]
    NoSole,
}

/// The bearing surface without elements: heel cup, medial arch, flat forefoot.
#[derive(Clone, Debug)]
pub struct BaseSurface {
    arch: ArchSupport,
    base_thickness_mm: f64,
    min_thickness_mm: f64,
    cup_depth_mm: f64,
    grid: Grid,
}

impl BaseSurface {
    /// Prepares the surface.
    ///
    /// # Errors
    /// If a landmark needed is missing or impossible, the outline encloses nothing, or the sole lies elsewhere.
    pub fn new(input: &SurfaceInput) -> Result<BaseSurface, SurfaceError> {
        let apex =
            input.landmarks.get(&LandmarkId::ArchApex).ok_or(SurfaceError::LandmarkMissing(LandmarkId::ArchApex))?;
        Ok(BaseSurface {
            arch: ArchSupport::new(apex.at.z, input.params, input.state),
            base_thickness_mm: in_range(input.params, &BASE_THICKNESS),
            min_thickness_mm: in_range(input.params, &MIN_THICKNESS),
            cup_depth_mm: in_range(input.params, &CUP_DEPTH),
            grid: input.sole.clone(),
        })
    }

    /// Height of the bearing surface at `p`, foot frame, mm; finite everywhere.
    #[must_use]
    pub fn height(&self, p: DVec2) -> f64 {
        self.grid.sample(p).unwrap_or(self.cup_depth_mm).min(self.cup_depth_mm)
    }

    /// How high the medial arch is supported, and why.
    #[must_use]
    pub fn arch(&self) -> &ArchSupport {
        &self.arch
    }

    /// From z = 0 down to the bottom, mm.
    #[must_use]
    pub fn base_thickness_mm(&self) -> f64 {
        self.base_thickness_mm
    }

    /// Thinner than this is worth a finding, mm.
    #[must_use]
    pub fn min_thickness_mm(&self) -> f64 {
        self.min_thickness_mm
    }
}
