//! Columns that stand alone: what each carries follows from the pose, so only the pose is sought.
//!
//! The energy E(u) = Σ A Φ(max(depth, 0)) − goal·u is convex and continuously differentiable; which nodes touch is part of it.

use crate::four::{Four, Symmetric, dot, plus};
use crate::problem::{LEAST_STIFFNESS, Problem};

/// A step that leaves this share of the downhill slope may be longer; the search along it goes on.
const TOO_SHORT: f64 = 0.9;

/// Share of the descent promised by the slope that a step past the lowest point must bring.
const LEAST_DESCENT: f64 = 1e-4;

/// Tries along one step.
const MOST_TRIES: usize = 60;

/// Rounding of the energy, as a share of the work of the load.
const ROUNDING: f64 = 1e-13;

/// Forces at a pose.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Forces {
    /// What the nodes in contact push, less the goal, by the ways of moving, N.
    pub(crate) excess: Four,
    /// Its slope, N/mm.
    pub(crate) stiffness: Symmetric,
    /// Whether any node touches.
    pub(crate) touches: bool,
}

/// Forces at a pose, and the pressure of each node in MPa, which on entry is a guess. `None` if a column would lock.
pub(crate) fn forces(problem: &Problem<'_>, pose: &Four, pressure: &mut [f64]) -> Option<Forces> {
    let (setup, columns) = (problem.setup, problem.columns);
    let width = columns.plane().columns;
    let (mut force, mut stiffness) = ([0.0; 4], Symmetric::default());
    let mut touches = false;
    for (row, &y) in setup.y.iter().enumerate() {
        let depth = pose[0] + pose[2] * y;
        // Sums over the row by powers of x; y is the same for all of it.
        let mut of_force = [0.0; 2];
        let mut of_stiffness = [0.0; 3];
        let mut of_reach = [0.0; 4];
        let first = row * width;
        for (column, &x) in setup.x.iter().enumerate() {
            let node = first + column;
            let reach = if setup.reach.is_empty() { 0.0 } else { setup.reach[node] };
            let depth = depth + pose[1] * x - pose[3] * reach - setup.gap[node];
            if depth <= 0.0 || setup.gap[node].is_infinite() {
                pressure[node] = 0.0;
                continue;
            }
            let spring = columns.spring(node, depth, pressure[node])?;
            touches = true;
            pressure[node] = spring.pressure;
            of_force[0] += spring.pressure;
            of_force[1] += spring.pressure * x;
            let turned = spring.stiffness * x;
            of_stiffness[0] += spring.stiffness;
            of_stiffness[1] += turned;
            of_stiffness[2] += turned * x;
            if reach > 0.0 {
                of_reach[0] += spring.pressure * reach;
                of_reach[1] += spring.stiffness * reach;
                of_reach[2] += turned * reach;
                of_reach[3] += spring.stiffness * reach * reach;
            }
        }
        force = plus(&force, 1.0, &[of_force[0], of_force[1], of_force[0] * y, -of_reach[0]]);
        let [k, kx, kxx] = of_stiffness;
        let rows = [
            [k, 0.0, 0.0, 0.0],
            [kx, kxx, 0.0, 0.0],
            [k * y, kx * y, k * y * y, 0.0],
            [-of_reach[1], -of_reach[2], -of_reach[1] * y, of_reach[3]],
        ];
        stiffness.add(1.0, &Symmetric(rows));
    }
    let mut excess = [0.0; 4];
    for way in (0..4).filter(|&way| problem.moves[way]) {
        excess[way] = force[way] * problem.cell_mm2 - problem.goal[way];
    }
    let mut scaled = Symmetric::default();
    scaled.add(problem.cell_mm2, &stiffness);
    Some(Forces { excess, stiffness: scaled, touches })
}

/// The energy at a pose, N·mm, with the pressures that [`forces`] found there.
pub(crate) fn energy(problem: &Problem<'_>, pose: &Four, pressure: &[f64]) -> f64 {
    let mut sum = 0.0;
    for (node, &pressure) in pressure.iter().enumerate().filter(|(_, pressure)| **pressure > 0.0) {
        sum += problem.columns.energy(node, problem.depth(node, pose), pressure);
    }
    sum * problem.cell_mm2 - dot(&problem.goal, pose)
}

/// One step of Newton's method, no longer than lets the energy fall: the new pose and its forces; `None` if no step does.
///
/// The energy is convex: where its slope along the step is still downhill at the step's end, it has fallen all the way. Only
/// past the lowest point is it computed and compared. The step's length is sought by the regula falsi of the slope.
pub(crate) fn step(
    problem: &Problem<'_>,
    pose: &Four,
    forces_here: &Forces,
    pressure: &mut [f64],
    trial_pressure: &mut [f64],
) -> Option<(Four, Forces)> {
    let mut stiffness = forces_here.stiffness;
    stiffness.add(LEAST_STIFFNESS, &problem.whole);
    let minus = forces_here.excess.map(|excess| -excess);
    let way = stiffness.factored(problem.moves).solve(&minus);
    let slope_here = dot(&forces_here.excess, &way);
    if slope_here >= 0.0 {
        return None;
    }
    let mut energy_here = None;
    let (mut short, mut slope_short) = (0.0, slope_here);
    let (mut long, mut slope_long) = (f64::INFINITY, f64::INFINITY);
    let mut length = 1.0;
    for left in (0..MOST_TRIES).rev() {
        let trial = plus(pose, length, &way);
        trial_pressure.copy_from_slice(pressure);
        let found = forces(problem, &trial, trial_pressure);
        let slope = found.as_ref().map_or(f64::INFINITY, |forces| dot(&forces.excess, &way));
        let is_long_enough = length >= 1.0 || slope >= TOO_SHORT * slope_here || left == 0;
        let descends = slope <= 0.0
            || (slope < -slope_here && {
                let here = *energy_here.get_or_insert_with(|| energy(problem, pose, pressure));
                let allowed = here + LEAST_DESCENT * length * slope_here + ROUNDING * dot(&problem.goal, pose).abs();
                energy(problem, &trial, trial_pressure) <= allowed
            });
        if let (Some(forces), true, true) = (found, is_long_enough, descends) {
            pressure.copy_from_slice(trial_pressure);
            return Some((trial, forces));
        }
        // The chord alone would creep up from one end: the other's slope is halved (the Illinois rule).
        if slope <= 0.0 {
            slope_long *= 0.5;
            (short, slope_short) = (length, slope);
        } else {
            slope_short *= 0.5;
            (long, slope_long) = (length, slope);
        }
        // Where the chord crosses zero, well inside the interval; a tenth of it where a column locks. At last what surely descends.
        let chord = if slope_long.is_finite() { slope_short / (slope_short - slope_long) } else { 0.1 };
        let inside = short + (long - short) * chord.clamp(1e-3, 0.9);
        length = if left == 1 && short > 0.0 { short } else { inside };
    }
    None
}
