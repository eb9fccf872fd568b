//! Phantom feet: parametric feet that look and measure like real ones, with the exact truth about themselves.
//!
//! A [`Phantom`] is a smooth union of bones, pads and muscles standing on the support plane, given as a function of
//! space ([`Phantom::distance`]). Its [`Truth`] is read off that function, not off a mesh, so that landmark finders and
//! measures can be held against it; [`Phantom::scan`] meshes it and adds what scanners add. Nothing here is a real
//! person, and nothing is random: the same parameters and seed give the same bytes.
//!
//! Not promised: that tissue lies inside as it does in a foot, or that the shape follows any population beyond the
//! proportions asked for.
//!
//! ```
//! use foot::phantom::{Phantom, PhantomParams, ScanSwitches};
//! let phantom = Phantom::new(PhantomParams { foot_length_mm: 262.0, ..PhantomParams::default() })?;
//! assert!((phantom.truth().foot_length_mm - 262.0).abs() < 0.05);
//! let scan = phantom.scan(&ScanSwitches { triangle_mm: 6.0, ..ScanSwitches::default() });
//! assert!(!scan.mesh.triangles().is_empty());
//! # Ok::<(), foot::phantom::PhantomFault>(())
//! ```

mod anatomy;
mod knobs;
mod params;
mod random;
mod scan;
mod skin;
mod solid;
mod surface;
#[cfg(test)]
mod tests;
mod toes;
mod truth;

pub use params::{PARAMS, PhantomFault, PhantomParams, random};
pub use scan::{Scan, ScanSwitches};
pub use truth::{ARCH_SPAN, HEEL_BREADTH_SHARE, HEEL_SHARE, MIDFOOT_SPAN, Truth};

use glam::{DVec2, DVec3, dvec2};
use knobs::Knobs;
use skin::{Skin, farthest};
use solid::{Places, Sloped, Tissue};

/// A foot as a function of space, in the foot frame, with the truth about it.
#[derive(Clone, Debug)]
pub struct Phantom {
    params: PhantomParams,
    tissue: Tissue,
    frame: Frame,
    truth: Truth,
}

/// How near the finished skin comes to a measure asked for, mm.
pub const MEASURE_TOLERANCE_MM: f64 = 0.02;

impl Phantom {
    /// The phantom of `params`: its length, breadths, heights and ball ratio are those asked for within
    /// [`MEASURE_TOLERANCE_MM`].
    ///
    /// # Errors
    /// A parameter out of range or out of proportion, or a measure that the others do not leave room for.
    pub fn new(params: PhantomParams) -> Result<Phantom, PhantomFault> {
        params.check()?;
        // The skin's measures answer a little differently to each knob in each body: turn, measure, turn again.
        const ROUNDS: usize = 30;
        let mut knobs = Knobs::default();
        let mut miss = None;
        for _ in 0..ROUNDS {
            let mut phantom = Phantom::untrue(params.clone(), &knobs);
            let asked = truth::asked(&phantom);
            miss = knobs.turn(&params, &asked);
            if miss.is_none() {
                phantom.truth = truth::truth(&phantom, &asked);
                return Ok(phantom);
            }
        }
        Err(miss.unwrap_or(PhantomFault::Unreached { what: "foot_length_mm", asked: params.foot_length_mm, got: 0.0 }))
    }

    /// A phantom in its frame, without its truth.
    fn untrue(params: PhantomParams, knobs: &Knobs) -> Phantom {
        let tissue = anatomy::tissue(&params, knobs);
        let frame = Frame::of(&tissue);
        Phantom { params, tissue, frame, truth: Truth::default() }
    }

    /// What it was made of.
    #[must_use]
    pub fn params(&self) -> &PhantomParams {
        &self.params
    }

    /// What there is to find on it.
    #[must_use]
    pub fn truth(&self) -> &Truth {
        &self.truth
    }

    /// Signed distance to the skin at `p` (foot frame, mm), negative inside. Zero on the skin and of the right sign
    /// everywhere; away from the skin it may fall short of the true distance.
    #[must_use]
    pub fn distance(&self, p: DVec3) -> f64 {
        self.tissue.field(self.frame.to_tissue(p))
    }

    /// Whether a toe is nearer to `p` than the rest of the foot.
    fn is_toe(&self, p: DVec3) -> bool {
        let (body, toes) = self.tissue.body_and_toes(self.frame.to_tissue(p));
        toes < body
    }

    fn places(&self) -> Places {
        self.tissue.places.map(|p| self.frame.of_tissue(p))
    }
}

impl Skin for Tissue {
    fn distance(&self, p: DVec3) -> f64 {
        self.field(p)
    }

    fn sloped(&self, p: DVec3) -> Sloped {
        self.field(p)
    }
}

impl Skin for Phantom {
    fn distance(&self, p: DVec3) -> f64 {
        self.tissue.field(self.frame.to_tissue(p))
    }

    fn sloped(&self, p: DVec3) -> Sloped {
        let Sloped(distance, slope) = self.tissue.field(self.frame.to_tissue(p));
        Sloped(distance, self.frame.turned(slope))
    }
}

/// The foot frame in the tissue's own: turned about z and shifted along the support plane.
#[derive(Clone, Copy, Debug)]
struct Frame {
    origin: DVec2,
    x_axis: DVec2,
}

impl Frame {
    fn of(tissue: &Tissue) -> Frame {
        let (mut heel, mut toe) = (tissue.places.heel_back, tissue.places.toe_tips[1]);
        let mut frame = Frame { origin: DVec2::ZERO, x_axis: DVec2::X };
        // The rearmost point and the tip depend on the axis and the axis on them. Both skins bend within a fraction
        // of the foot's length, so every round leaves a fraction of the turn.
        for _ in 0..12 {
            let along = frame.x_axis.extend(0.0);
            heel = farthest(tissue, heel, -along, DVec3::ONE);
            toe = farthest(tissue, toe, along, DVec3::ONE);
            let x_axis = (toe - heel).truncate().normalize_or(DVec2::X);
            let turned = (x_axis - frame.x_axis).length();
            frame = Frame { origin: heel.truncate(), x_axis };
            if turned < 1e-9 {
                break;
            }
        }
        frame
    }

    fn to_tissue(self, p: DVec3) -> DVec3 {
        (self.origin + p.x * self.x_axis + p.y * self.x_axis.perp()).extend(p.z)
    }

    fn of_tissue(self, p: DVec3) -> DVec3 {
        self.turned(p - self.origin.extend(0.0))
    }

    /// A direction of the tissue's frame in the foot frame.
    fn turned(self, direction: DVec3) -> DVec3 {
        let flat = direction.truncate();
        dvec2(flat.dot(self.x_axis), flat.dot(self.x_axis.perp())).extend(direction.z)
    }
}
