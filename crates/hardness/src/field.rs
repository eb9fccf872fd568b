use crate::boundary::boundary;
use crate::plan::{HardnessPlan, Region, SHORE_A, TRANSITION};
use crate::raster::Raster;
use crate::weight::Weight;
use glam::DVec2;
use mesh::Grid;

/// The hardness of an insole as a function of the place, Shore A.
///
/// Guarantees: continuously differentiable everywhere, for any regions; never outside the range of the base and of the regions
/// that act; a region changes nothing farther than half its transition from its curve on the outside, and decides alone
/// farther than that on the inside.
///
/// The regions lie over one another in their order: H ← H + w·(S − H), with S the region's hardness and w its weight.
#[derive(Clone, Debug, PartialEq)]
pub struct HardnessField {
    base: f64,
    layers: Vec<Layer>,
    ignored: Vec<u32>,
}

/// One region at work.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Layer {
    pub(crate) shore_a: f64,
    pub(crate) weight: Weight,
}

/// How far the polygon that stands for a region's curve may lie off it, as a share of the transition's half width: moves the
/// hardness by at most one percent of the step between the two sides, far less than any durometer tells. The number of edges,
/// and the time, goes with the root of its inverse.
const SAG_SHARE: f64 = 0.01;

impl HardnessField {
    /// The field of a plan. Regions switched off have no part in it. Those that cover nothing, or whose hardness or transition is
    /// not a number, are listed by [`HardnessField::ignored`]. A transition narrower than [`TRANSITION`] allows counts as the
    /// narrowest. A base that is not a number counts as the default.
    #[must_use]
    pub fn new(plan: &HardnessPlan) -> HardnessField {
        let base = if plan.base_shore_a.is_finite() { plan.base_shore_a } else { SHORE_A.default };
        let mut field = HardnessField { base, layers: Vec::new(), ignored: Vec::new() };
        for region in plan.regions.iter().filter(|region| region.on) {
            match layer(region) {
                Some(layer) => field.layers.push(layer),
                None => field.ignored.push(region.id),
            }
        }
        field
    }

    /// Ids of the regions that are on but cover nothing.
    #[must_use]
    pub fn ignored(&self) -> &[u32] {
        &self.ignored
    }

    /// Shore A at `p` (foot frame, mm).
    #[must_use]
    pub fn value(&self, p: DVec2) -> f64 {
        self.value_and_gradient(p).0
    }

    /// Shore A at `p` (foot frame, mm) and its gradient, Shore A per mm. Both exact.
    #[must_use]
    pub fn value_and_gradient(&self, p: DVec2) -> (f64, DVec2) {
        self.layers.iter().fold((self.base, DVec2::ZERO), |under, layer| {
            let (weight, slope) = layer.weight.at(p);
            lay_over(under, layer.shore_a, weight, slope)
        })
    }

    /// The field on the samples of `template`, whose values are not read: the same numbers as [`HardnessField::value`] to
    /// single precision, many times cheaper together.
    #[must_use]
    pub fn sample(&self, template: &Grid) -> Grid {
        let mut raster = Raster::<false>::new(template, self.base);
        self.layers.iter().for_each(|layer| raster.lay_over(layer));
        raster.values()
    }

    /// The field on the samples of `template`, and the length of its gradient there, Shore A per mm.
    #[must_use]
    pub fn sample_with_slope(&self, template: &Grid) -> (Grid, Grid) {
        let mut raster = Raster::<true>::new(template, self.base);
        self.layers.iter().for_each(|layer| raster.lay_over(layer));
        (raster.values(), raster.slopes())
    }

    /// The narrowest half transition of a region at work, mm.
    pub(crate) fn least_radius_mm(&self) -> Option<f64> {
        self.layers.iter().map(|layer| layer.weight.radius_mm).reduce(f64::min)
    }
}

/// Value and gradient after a region of hardness `shore_a` has been laid over, with its weight and the weight's gradient.
#[inline]
pub(crate) fn lay_over((value, gradient): (f64, DVec2), shore_a: f64, weight: f64, slope: DVec2) -> (f64, DVec2) {
    let laid = value + weight * (shore_a - value);
    // Rounding must not carry it out of its range.
    let laid = laid.max(value.min(shore_a)).min(value.max(shore_a));
    (laid, gradient * (1.0 - weight) + slope * (shore_a - value))
}

fn layer(region: &Region) -> Option<Layer> {
    if !(region.shore_a.is_finite() && region.transition_mm.is_finite()) {
        return None;
    }
    let radius_mm = region.transition_mm.max(TRANSITION.min) / 2.0;
    let edges = boundary(&region.plan_points(), SAG_SHARE * radius_mm)?;
    Some(Layer { shore_a: region.shore_a, weight: Weight::new(&edges, radius_mm) })
}
