use crate::areas::ByArea;
use crate::layout::Layout;
use crate::params::{
    BASE_THICKNESS, BEVEL_ANGLE, BEVEL_HEIGHT, BUILD, COVER, FOREFOOT_RIM, MIN_ARCH, MIN_FOREFOOT, MIN_HEEL,
    MIN_THICKNESS, RIM_ROUNDING, SHELL_ARCH, SHELL_FOREFOOT, SHELL_HEEL, SMOOTHING, in_range,
};
use crate::rim::{Near, Rim};
use crate::skin::{bilinear, filled, smoothed};
use crate::smooth::lesser;
use crate::spline_grid::SplineGrid;
use crate::{ArchSupport, Edge, Extreme};
use base::Params;
use foot::{LandmarkId, Landmarks, WeightBearing};
use glam::DVec2;
use mesh::Grid;
use std::sync::Arc;
use thiserror::Error;

/// The landmarks that the bearing surface goes by.
pub const LANDMARKS: [LandmarkId; 4] =
    [LandmarkId::HeelCentre, LandmarkId::ArchApex, LandmarkId::MetatarsaleTibiale, LandmarkId::MetatarsaleFibulare];

/// What a bearing surface is made from.
#[derive(Clone, Copy, Debug)]
pub struct SurfaceInput<'a> {
    /// The skin of the sole.
    pub sole: &'a Sole,
    /// The foot's landmarks; the arch apex and both metatarsale points are needed.
    pub landmarks: &'a Landmarks,
    /// The insole's edge.
    pub edge: &'a Arc<Edge>,
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
    #[error(
        "the landmarks do not lie in the order heel, arch apex, metatarsal heads ({reason}): place them anew, or move the arch's apex less"
    )]
    LandmarkOrder {
        /// Which, with their positions.
        reason: String,
    },
    /// The outline is not one.
    #[error("the outline has {points} points and encloses {area_mm2:.0} mm² counter-clockwise: fit it anew")]
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
///
/// It is made in these steps, each smooth, so that the whole is twice continuously differentiable within 6 mm of the
/// outline and inside it:
///
/// 1. the skin of the sole, gaps filled, a little larger round the heel (`heel_expansion_mm`), scaled down between heel and
///    forefoot to the height the arch shall have;
/// 2. plus a raised arch where the skin's own is too low, as under a flat foot with an arch set by hand;
/// 3. no higher than the edge shall be there (rim of the cup, lateral edge, flank of the arch), then smoothed;
/// 4. along the outline brought to the edge's height, whatever the skin there was;
/// 5. run out into the forefoot, flat or conforming to the skin as far as asked for;
/// 6. plus lateral arch, transverse arch and toe platform.
///
/// Exact to two tenths of a millimetre: the arch's height at [`BaseSurface::arch_at`], the height of the edge along
/// the outline, z = 0 on a flat forefoot. Not guaranteed: that the surface lies nowhere above the skin; see [`BaseSurface::pressing`].
#[derive(Clone, Debug)]
pub struct BaseSurface {
    arch: ArchSupport,
    arch_at: DVec2,
    base_thickness_mm: f64,
    least: ByArea,
    /// Thickness of a shell; `None` for a block.
    shell: Option<ByArea>,
    finish: EdgeFinish,
    cover_mm: f64,
    pressing: Extreme,
    edge: Arc<Edge>,
    layout: Layout,
    spline: SplineGrid,
}

/// How the insole's edge is finished.
#[derive(Clone, Copy, Debug)]
pub(crate) struct EdgeFinish {
    /// Radius of the upper edge, mm.
    pub(crate) rounding: f64,
    /// How far up the wall the bevel reaches, mm.
    pub(crate) bevel: f64,
    /// How far in it reaches, mm.
    pub(crate) bevel_in: f64,
}

/// A shell under a wall steeper than 60° is not made thicker still.
const STEEPEST_SHEET: f64 = 2.0;
/// Width of the rounding between the skin and the edge's height, mm.
const ROUNDING_MM: f64 = 5.0;
/// The height of the edge is reached over this length, mm, plus the edge's height: a wall twice as steep as 45°.
const LEAST_REACH_MM: f64 = 4.0;
/// And over no more than this, mm, which also bounds the work.
const MOST_REACH_MM: f64 = Edge::REACH_MM;
/// The arch of the skin is not pressed lower than this share of itself: below, the lateral skin would lose its shape too.
const LEAST_SCALE: f64 = 0.2;
/// Half length of the mean over the edge's shortfall along the outline, in points 2 mm apart.
const EDGE_MEAN: usize = 3;
/// Nearer to the outline than this, mm, the surface may stand above the skin without a word: that is the wall of the cup.
const WALL_MM: f64 = 8.0;

impl BaseSurface {
    /// Prepares the surface. A few milliseconds; afterwards [`BaseSurface::height`] is cheap.
    ///
    /// # Errors
    /// If a landmark needed is missing or impossible, the outline encloses nothing, or the sole lies elsewhere.
    pub fn new(input: &SurfaceInput) -> Result<BaseSurface, SurfaceError> {
        let Edge { rim, grid, .. } = input.edge.as_ref();
        let apex =
            input.landmarks.get(&LandmarkId::ArchApex).ok_or(SurfaceError::LandmarkMissing(LandmarkId::ArchApex))?;
        let arch = ArchSupport::new(apex.at.z, input.params, input.state);
        let layout = Layout::new(
            input.landmarks,
            input.params,
            |x| rim.half_width_at(x),
            |p| rim.near(p).inside_mm,
            arch.used_mm,
        )?;
        let skin = input.sole;
        if !skin.is_over(rim) {
            return Err(SurfaceError::NoSole);
        }
        let sigma = in_range(input.params, &SMOOTHING) / grid.step_mm;

        let worn = skin.under(&layout, grid, arch.used_mm, sigma);
        let front = (!layout.is_flat_in_front()).then(|| {
            let rim_mm = in_range(input.params, &FOREFOOT_RIM);
            smoothed(&skin.in_front(&layout, grid, rim_mm), grid.columns, grid.rows, sigma)
        });
        let values = finish(input.edge, &layout, &worn, front.as_deref(), arch.used_mm);
        let pressing = pressing(input.edge, &input.sole.grid, &values);
        let near = rim.near(layout.apex);
        let value = |spec| in_range(input.params, spec);
        Ok(BaseSurface {
            arch,
            arch_at: if near.inside_mm > 0.0 { layout.apex } else { rim.point(near) },
            base_thickness_mm: value(&BASE_THICKNESS),
            least: ByArea::read_or(input.params, [&MIN_HEEL, &MIN_ARCH, &MIN_FOREFOOT], value(&MIN_THICKNESS)),
            shell: (value(&BUILD) > 0.5)
                .then(|| ByArea::read(input.params, [&SHELL_HEEL, &SHELL_ARCH, &SHELL_FOREFOOT])),
            finish: EdgeFinish {
                rounding: value(&RIM_ROUNDING),
                bevel: value(&BEVEL_HEIGHT),
                bevel_in: value(&BEVEL_HEIGHT) * libm::tan(value(&BEVEL_ANGLE).to_radians()),
            },
            cover_mm: value(&COVER),
            pressing,
            edge: Arc::clone(input.edge),
            layout,
            spline: SplineGrid::new(grid, &values),
        })
    }

    /// Height of the bearing surface at `p`, foot frame, mm; finite everywhere. Further than 6 mm outside the outline's
    /// bounding box it stays what it is there.
    #[must_use]
    pub fn height(&self, p: DVec2) -> f64 {
        self.spline.at(p)
    }

    /// The edge it lies in.
    #[must_use]
    pub fn edge(&self) -> &Arc<Edge> {
        &self.edge
    }

    /// How high the medial arch is supported, and why.
    #[must_use]
    pub fn arch(&self) -> &ArchSupport {
        &self.arch
    }

    /// Where the surface has the arch's height: the arch apex, or the point of the outline nearest to it where the insole
    /// does not reach that far.
    #[must_use]
    pub fn arch_at(&self) -> DVec2 {
        self.arch_at
    }

    /// Where the surface stands highest above the scanned skin, 8 mm or more inside the outline: how far it presses into
    /// the foot as scanned. Less than 0 mm where it touches nowhere.
    #[must_use]
    pub fn pressing(&self) -> Extreme {
        self.pressing
    }

    /// Length of the arch as the foot has it, from the heel cup to the flat forefoot, mm.
    #[must_use]
    pub fn own_arch_length_mm(&self) -> f64 {
        self.layout.own_arch_length_mm
    }

    /// From z = 0 down to a block's bottom, mm.
    #[must_use]
    pub fn base_thickness_mm(&self) -> f64 {
        self.base_thickness_mm
    }

    /// Height of the underside at `p`, without what elements put under it and without bevel, mm: level under a block,
    /// the bearing surface less cover and shell under a shell.
    #[must_use]
    pub fn underside(&self, p: DVec2) -> f64 {
        self.underside_below(p, self.height(p))
    }

    /// [`BaseSurface::underside`] where the height at `p` is known.
    pub(crate) fn underside_below(&self, p: DVec2, height: f64) -> f64 {
        let Some(shell) = self.shell else { return -self.base_thickness_mm };
        height - self.cover_mm - shell.at(&self.layout, p) * self.upright(p)
    }

    /// How much thicker a sheet that lies on the surface at `p` is upright than square to it.
    fn upright(&self, p: DVec2) -> f64 {
        const HALF_MM: f64 = 0.5;
        let across = |way: DVec2| self.height(p + way * HALF_MM) - self.height(p - way * HALF_MM);
        let slope = DVec2::new(across(DVec2::X), across(DVec2::Y)) / (2.0 * HALF_MM);
        (1.0 + slope.length_squared()).sqrt().min(STEEPEST_SHEET)
    }

    /// Whether it is a shell, hollow under the arch.
    #[must_use]
    pub fn is_shell(&self) -> bool {
        self.shell.is_some()
    }

    /// Thinner than this at `p` is worth a finding, mm.
    #[must_use]
    pub fn least_thickness_mm(&self, p: DVec2) -> f64 {
        self.least.at(&self.layout, p)
    }

    /// Thickness of the cover that is glued on, mm.
    #[must_use]
    pub fn cover_mm(&self) -> f64 {
        self.cover_mm
    }

    pub(crate) fn finish(&self) -> EdgeFinish {
        self.finish
    }
}

/// The skin of the sole with its gaps filled, prepared once for a scan.
#[derive(Clone, Debug)]
pub struct Sole {
    grid: Grid,
    filled: Vec<f64>,
}

impl Sole {
    /// Prepares the heights of the skin over the support plane, foot frame; `NaN` where there is no skin. `None` where there is
    /// none at all.
    #[must_use]
    pub fn new(grid: &Grid) -> Option<Sole> {
        let filled = filled(grid).filter(|_| grid.step_mm > 0.0)?;
        Some(Sole { grid: grid.clone(), filled })
    }

    /// Whether some of it lies over the insole.
    fn is_over(&self, rim: &Rim) -> bool {
        let (lo, hi) = rim.bounds();
        self.grid.values.iter().enumerate().any(|(index, value)| {
            let p = self.grid.at(index % self.grid.columns, index / self.grid.columns);
            value.is_finite() && p.cmpge(lo).all() && p.cmple(hi).all()
        })
    }

    /// Steps 1 to 3: expanded, scaled, raised, cut at the edge's height, smoothed.
    fn under(&self, layout: &Layout, grid: &Grid, arch: f64, sigma: f64) -> Vec<f64> {
        let at = |p: DVec2| bilinear(&self.grid, &self.filled, p);
        let own = at(layout.apex);
        let scale = if own > 0.0 { (arch / own).clamp(LEAST_SCALE, 1.0) } else { 1.0 };
        let raise = arch - own * scale;
        let cut = each(grid, |p| {
            let scale = 1.0 - (1.0 - scale) * layout.arch_along(p.x);
            let skin = at(layout.on_skin(p)) * scale + raise * layout.arch(p);
            let conform = layout.conform_behind(p);
            let taken = if conform < 1.0 { conform * skin + (1.0 - conform) * arch * layout.arch(p) } else { skin };
            lesser(taken, layout.edge(p), ROUNDING_MM)
        });
        smoothed(&cut, grid.columns, grid.rows, sigma)
    }

    /// Forefoot and toes as far as they conform to the skin, no higher than `rim_mm`, and the toe platform.
    fn in_front(&self, layout: &Layout, grid: &Grid, rim_mm: f64) -> Vec<f64> {
        each(grid, |p| {
            let conform = layout.conform_front(p);
            let skin = if conform > 0.0 { lesser(bilinear(&self.grid, &self.filled, p), rim_mm, rim_mm) } else { 0.0 };
            conform * skin + layout.platform(p)
        })
    }
}

/// Steps 4 to 6 on the surface `worn`, with `front` before the run-out, and the little that cutting and smoothing took away at the apex.
///
/// With X = worn + δ·arch the surface after step 4 is `X(p) + (edge − X)(q) · b(p)`, q being the outline's point nearest to
/// p and b falling from 1 on the outline to 0. It is linear in δ, so the δ that gives the height wanted at the apex is
/// found by one division.
fn finish(edge: &Edge, layout: &Layout, worn: &[f64], front: Option<&[f64]>, arch: f64) -> Vec<f64> {
    let Edge { rim, grid, near: nearest, .. } = edge;
    let worn_at = |p: DVec2| bilinear(grid, worn, p);
    let shortfall = mean_along(&rim.points.iter().map(|&q| layout.edge(q) - worn_at(q)).collect::<Vec<_>>());
    let arch_on_rim: Vec<f64> = rim.points.iter().map(|&q| layout.arch(q)).collect();

    let near = rim.near(layout.apex);
    let b = fade(layout, layout.apex, near);
    let missing = arch - layout.added_arches(layout.apex) - worn_at(layout.apex) - rim.value(&shortfall, near) * b;
    let gain = layout.arch(layout.apex) - rim.value(&arch_on_rim, near) * b;
    // On the outline itself the edge's height rules and δ does nothing.
    const LEAST_GAIN: f64 = 0.1;
    let delta = if gain > LEAST_GAIN { missing / gain } else { arch - worn_at(layout.apex) };

    (0..worn.len())
        .map(|index| {
            let p = grid.at(index % grid.columns, index / grid.columns);
            let rear = layout.rear(p);
            let ahead = front.map_or(0.0, |front| front[index]) * (1.0 - rear) + layout.added_arches(p);
            if rear <= 0.0 {
                return ahead;
            }
            let raised = worn[index] + delta * layout.arch(p);
            let edge = nearest[index].map_or(0.0, |near| {
                let b = fade(layout, p, near);
                if b > 0.0 { b * (rim.value(&shortfall, near) - delta * rim.value(&arch_on_rim, near)) } else { 0.0 }
            });
            (raised + edge) * rear + ahead
        })
        .collect()
}

/// 1 on the outline, 0 from some way inside on, falling as a parabola; outside it goes on with the same slope, so that
/// there is no crease along the outline.
fn fade(layout: &Layout, p: DVec2, near: Near) -> f64 {
    let edge = layout.edge(p);
    let reach = (LEAST_REACH_MM + edge + layout.flared(p, edge)).clamp(LEAST_REACH_MM, MOST_REACH_MM);
    let t = 1.0 - near.inside_mm / reach;
    if t <= 0.0 {
        0.0
    } else if t < 1.0 {
        t * t
    } else {
        2.0 * t - 1.0
    }
}

/// The running mean along a closed row of numbers.
fn mean_along(values: &[f64]) -> Vec<f64> {
    let count = values.len();
    let window = 2 * EDGE_MEAN + 1;
    (0..count)
        .map(|index| {
            (0..window).map(|k| values[(index + k + count * window - EDGE_MEAN) % count]).sum::<f64>() / window as f64
        })
        .collect()
}

fn pressing(edge: &Edge, sole: &Grid, values: &[f64]) -> Extreme {
    let grid = &edge.grid;
    let mut most = Extreme { mm: f64::NEG_INFINITY, at: DVec2::ZERO };
    for (index, value) in values.iter().enumerate() {
        let at = grid.at(index % grid.columns, index / grid.columns);
        if let Some(skin) = sole.sample(at)
            && value - skin > most.mm
            && edge.inside_mm(at) >= WALL_MM
        {
            most = Extreme { mm: value - skin, at };
        }
    }
    most
}

/// The value of `f` at every node.
fn each(grid: &Grid, f: impl Fn(DVec2) -> f64) -> Vec<f64> {
    let mut values = Vec::with_capacity(grid.columns * grid.rows);
    for row in 0..grid.rows {
        for column in 0..grid.columns {
            values.push(f(grid.at(column, row)));
        }
    }
    values
}

#[cfg(test)]
mod tests;
