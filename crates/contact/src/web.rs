//! Columns tied together: the compression w of every column is sought along with the pose.
//!
//! The energy E(w, u) = Σ A Φ(w) + ½ Σ G (w − w')² − pushes·w − goal·u is convex; w may nowhere be less than the depth of the body.
//! Newton's method with projection (Bertsekas 1982, SIAM J. Control Optim. 20:221, from memory): where the body touches and is
//! pushed back, w goes with the body; the other nodes and the pose go to the lowest point of the energy's square model, and a
//! node that the body meets on the way stays on it. Every step lets the energy fall.

use crate::four::{Factored, Four, Symmetric, dot, plus};
use crate::multigrid::Multigrid;
use crate::problem::{LEAST_STIFFNESS, Problem};
use crate::shear::Shear;

/// The linear system of a step is solved to this share of what was left: roughly while nodes still come into contact or leave it,
/// as the next step has another system anyway, and finely when they no longer do.
const LINEAR_SHARE: (f64, f64) = (0.1, 1e-3);

/// Steps of conjugate gradients: 2 to 10 are usual, for any step of the plane.
const MOST_LINEAR_STEPS: usize = 500;

/// Halvings of one step.
const MOST_TRIES: usize = 60;

/// Share of the descent promised by the slope that a step past the lowest point must bring.
const LEAST_DESCENT: f64 = 1e-4;

/// Rounding of the energy, as a share of the work of the load.
const ROUNDING: f64 = 1e-13;

/// A state of the columns under a body.
#[derive(Clone, Debug, Default)]
pub(crate) struct State {
    pub(crate) pose: Four,
    /// Compression, mm, with a row of zeros before the first row and after the last.
    pub(crate) w: Vec<f64>,
    /// Whether the body lies on the column, so that w is its depth.
    pub(crate) touches: Vec<bool>,
    /// Pressure of each column's springs, MPa.
    pub(crate) spring: Vec<f64>,
    /// Stiffness of each column's springs over its cell, N/mm.
    stiffness: Vec<f64>,
    /// What springs and shear layer push up beyond the given pushes, N.
    pub(crate) force: Vec<f64>,
}

/// Arrays of the solver.
#[derive(Clone, Debug, Default)]
pub(crate) struct Web {
    pub(crate) state: State,
    trial: State,
    /// Given forces on the columns, N.
    pub(crate) pushes: Vec<f64>,
    /// 1 where a column's compression is sought, else 0.
    free: Vec<f64>,
    /// 1 where a column goes with the body, else 0.
    led: Vec<f64>,
    diagonal: Vec<f64>,
    downhill: Vec<f64>,
    multigrid: Multigrid,
    left: Vec<f64>,
    way: Vec<f64>,
    way_padded: Vec<f64>,
    product: Vec<f64>,
}

impl Web {
    /// Room for a plane of `count` nodes, in rows of `columns`; nothing is compressed, pushed or touched.
    pub(crate) fn reset(&mut self, count: usize, columns: usize) {
        for state in [&mut self.state, &mut self.trial] {
            state.pose = [0.0; 4];
            renew(&mut state.w, count + 2 * columns);
            for array in [&mut state.spring, &mut state.stiffness, &mut state.force] {
                renew(array, count);
            }
            state.touches.clear();
            state.touches.resize(count, false);
        }
        for array in [
            &mut self.pushes,
            &mut self.free,
            &mut self.led,
            &mut self.diagonal,
            &mut self.downhill,
            &mut self.left,
            &mut self.way,
            &mut self.product,
        ] {
            renew(array, count);
        }
        renew(&mut self.way_padded, count + 2 * columns);
        self.multigrid.reset(count / columns, columns);
    }

    /// One step to a lower energy; `None` if there is none.
    pub(crate) fn step(&mut self, problem: &Problem<'_>, shear: &Shear) -> Option<()> {
        let turn = self.solve(problem, shear)?;
        let columns = problem.columns.plane().columns;
        let (count, work) = (self.way.len(), self.state.work(problem, &self.pushes));
        let mut energy_here = None;
        let mut length = 1.0;
        for _ in 0..MOST_TRIES {
            self.advance(problem, length, &turn);
            let by: Four = std::array::from_fn(|way| self.trial.pose[way] - self.state.pose[way]);
            let slope_of = |state: &State, to: &State, from: &State| {
                let moved = to.w[columns..columns + count].iter().zip(&from.w[columns..columns + count]);
                state.force.iter().zip(moved).map(|(force, (to, from))| force * (to - from)).sum::<f64>()
                    - dot(&problem.goal, &by)
            };
            let slope_here = slope_of(&self.state, &self.trial, &self.state);
            let mut shrink = 0.5;
            if slope_here <= ROUNDING * work && self.trial.find_forces(problem, shear, &self.pushes) {
                let slope = slope_of(&self.trial, &self.trial, &self.state);
                let descends = slope <= ROUNDING * work || {
                    let here = *energy_here.get_or_insert_with(|| self.state.energy(problem, shear, &self.pushes));
                    let allowed = here + LEAST_DESCENT * slope_here + ROUNDING * work;
                    self.trial.energy(problem, shear, &self.pushes) <= allowed
                };
                if descends {
                    std::mem::swap(&mut self.state, &mut self.trial);
                    return Some(());
                }
                shrink = (slope_here / (slope_here - slope)).clamp(0.05, 0.5);
            }
            length *= shrink;
        }
        None
    }

    /// The trial at `length` along the step, on or below the body.
    fn advance(&mut self, problem: &Problem<'_>, length: f64, turn: &Four) {
        let (state, trial, columns) = (&self.state, &mut self.trial, problem.columns.plane().columns);
        trial.pose = plus(&state.pose, length, turn);
        trial.spring.copy_from_slice(&state.spring);
        let bears = problem.columns.bears();
        for_depths(problem, &trial.pose, |node, depth| {
            if bears[node] {
                let free = state.w[node + columns] + length * self.way[node];
                let is_led = self.led[node] > 0.0;
                trial.touches[node] = is_led || free <= depth;
                trial.w[node + columns] = if trial.touches[node] { depth } else { free };
            }
        });
    }

    /// Newton's step by conjugate gradients, preconditioned by multigrid: fills `way`, gives the turn of the pose.
    fn solve(&mut self, problem: &Problem<'_>, shear: &Shear) -> Option<Four> {
        let columns = problem.columns.plane().columns;
        let (excess, pose_inverse, is_settled) = self.split(problem, shear);
        let share = if is_settled { LINEAR_SHARE.1 } else { LINEAR_SHARE.0 };
        let count = self.way.len();
        let mut turn_left = excess.map(|excess| -excess);
        self.way.fill(0.0);
        let mut turn: Four = [0.0; 4];
        let mut turn_way = pose_inverse.solve(&turn_left);
        let forces = self.free.iter().zip(&self.state.force);
        self.left.iter_mut().zip(forces).for_each(|(left, (free, force))| *left = -free * force);
        self.multigrid.solve(&self.left, &mut self.downhill);
        self.way_padded[columns..columns + count].copy_from_slice(&self.downhill);
        spread(problem, &self.led, &turn_way, &mut self.way_padded[columns..columns + count]);
        let mut measure = product(&self.left, &self.downhill) + dot(&turn_left, &turn_way);
        let target = share * share * measure;
        for _ in 0..MOST_LINEAR_STEPS {
            if measure <= target {
                return (turn.iter().all(|way| way.is_finite())).then_some(turn);
            }
            shear.apply(&self.diagonal, &self.way_padded, &mut self.product);
            let here = &self.way_padded[columns..columns + count];
            let turn_product = gather(problem, &self.led, &self.product);
            let turn_product = plus(&turn_product, LEAST_STIFFNESS, &problem.whole.times(&turn_way));
            let turn_product: Four =
                std::array::from_fn(|way| if problem.moves[way] { turn_product[way] } else { 0.0 });
            let curvature = triple(&self.free, here, &self.product) + dot(&turn_way, &turn_product);
            let length = measure / curvature;
            turn = plus(&turn, length, &turn_way);
            turn_left = plus(&turn_left, -length, &turn_product);
            let turn_next = pose_inverse.solve(&turn_left);
            self.way.iter_mut().zip(here).for_each(|(way, by)| *way += length * by);
            let products = self.free.iter().zip(&self.product);
            self.left.iter_mut().zip(products).for_each(|(left, (free, by))| *left -= length * free * by);
            self.multigrid.solve(&self.left, &mut self.downhill);
            let next = product(&self.left, &self.downhill) + dot(&turn_left, &turn_next);
            let kept = next / measure;
            measure = next;
            turn_way = plus(&turn_next, kept, &turn_way);
            let ways = self.way_padded[columns..].iter_mut().zip(&self.downhill);
            ways.for_each(|(way, downhill)| *way = downhill + kept * *way);
            spread(problem, &self.led, &turn_way, &mut self.way_padded[columns..columns + count]);
        }
        None
    }

    /// Splits the nodes into those that go with the body and the others. The excess of force in each way of moving, and the
    /// approximate inverse of the stiffness against it; and whether the split is the same as that of the step before.
    fn split(&mut self, problem: &Problem<'_>, shear: &Shear) -> (Four, Factored, bool) {
        let (state, bears, around) = (&self.state, problem.columns.bears(), shear.around());
        let mut stiffness = Symmetric::default();
        stiffness.add(LEAST_STIFFNESS, &problem.whole);
        let mut is_settled = true;
        for node in 0..self.free.len() {
            let is_led = state.touches[node] && state.force[node] > 0.0;
            is_settled &= is_led == (self.led[node] > 0.0);
            self.led[node] = f64::from(is_led);
            self.free[node] = f64::from(bears[node] && !is_led);
            self.diagonal[node] = state.stiffness[node] + around[node];
        }
        self.multigrid.take(shear, &state.stiffness, &self.free);
        for node in (0..self.free.len()).filter(|&node| self.led[node] > 0.0) {
            let beside = shear.to_those(node, |other| self.free[other] > 0.0);
            stiffness.add_square(state.stiffness[node] + beside, &problem.ways(node));
        }
        (state.excess(problem), stiffness.factored(problem.moves), is_settled)
    }
}

impl State {
    /// Fills springs, stiffness and forces from w; false if a column would lock.
    pub(crate) fn find_forces(&mut self, problem: &Problem<'_>, shear: &Shear, pushes: &[f64]) -> bool {
        let columns = problem.columns.plane().columns;
        shear.apply(shear.around(), &self.w, &mut self.force);
        for (node, _) in problem.columns.bears().iter().enumerate().filter(|(_, bears)| **bears) {
            let Some(spring) = problem.columns.spring(node, self.w[node + columns], self.spring[node]) else {
                return false;
            };
            self.spring[node] = spring.pressure;
            self.stiffness[node] = spring.stiffness * problem.cell_mm2;
            self.force[node] += spring.pressure * problem.cell_mm2 - pushes[node];
        }
        true
    }

    /// What the body is pushed back with beyond the goal, by the ways of moving that are free, N.
    pub(crate) fn excess(&self, problem: &Problem<'_>) -> Four {
        let mut force = [0.0; 4];
        let width = problem.columns.plane().columns;
        for (row, &y) in problem.setup.y.iter().enumerate() {
            let mut of_row = [0.0; 3];
            for (column, &x) in problem.setup.x.iter().enumerate() {
                let node = row * width + column;
                if self.touches[node] && self.force[node] > 0.0 {
                    let reach = problem.setup.reach.get(node).copied().unwrap_or(0.0);
                    of_row[0] += self.force[node];
                    of_row[1] += self.force[node] * x;
                    of_row[2] += self.force[node] * reach;
                }
            }
            force = plus(&force, 1.0, &[of_row[0], of_row[1], of_row[0] * y, -of_row[2]]);
        }
        std::array::from_fn(|way| if problem.moves[way] { force[way] - problem.goal[way] } else { 0.0 })
    }

    /// Greatest force that a single node has too much, and greatest that the body bears at one, N.
    pub(crate) fn local(&self) -> (f64, f64) {
        let forces = self.force.iter().zip(&self.touches);
        forces.fold((0.0, 0.0), |(amiss, borne), (&force, &touches)| {
            if touches { (amiss.max(-force), borne.max(force)) } else { (amiss.max(force.abs()), borne) }
        })
    }

    /// The energy, N·mm.
    pub(crate) fn energy(&self, problem: &Problem<'_>, shear: &Shear, pushes: &[f64]) -> f64 {
        let columns = problem.columns.plane().columns;
        let mut sum = 0.5 * shear.energy(&self.w);
        for (node, _) in problem.columns.bears().iter().enumerate().filter(|(_, bears)| **bears) {
            let w = self.w[node + columns];
            sum += problem.columns.energy(node, w, self.spring[node]) * problem.cell_mm2 - pushes[node] * w;
        }
        sum - dot(&problem.goal, &self.pose)
    }

    /// Size of the work of the loads, N·mm.
    fn work(&self, problem: &Problem<'_>, pushes: &[f64]) -> f64 {
        let columns = problem.columns.plane().columns;
        dot(&problem.goal, &self.pose).abs()
            + pushes.iter().zip(&self.w[columns..]).map(|(push, w)| (push * w).abs()).sum::<f64>()
    }
}

fn renew(array: &mut Vec<f64>, length: usize) {
    array.clear();
    array.resize(length, 0.0);
}

/// Calls `f` with every node and the depth of the body there, −∞ where there is none.
pub(crate) fn for_depths(problem: &Problem<'_>, pose: &Four, mut f: impl FnMut(usize, f64)) {
    let setup = problem.setup;
    let mut node = 0;
    for &y in &setup.y {
        let depth = pose[0] + pose[2] * y;
        for &x in &setup.x {
            let reach = setup.reach.get(node).copied().unwrap_or(0.0);
            f(node, depth + pose[1] * x - pose[3] * reach - setup.gap[node]);
            node += 1;
        }
    }
}

/// Sets the values at the nodes that are `led` to what the turn moves them by.
fn spread(problem: &Problem<'_>, led: &[f64], turn: &Four, values: &mut [f64]) {
    let setup = problem.setup;
    for (row, (&y, line)) in setup.y.iter().zip(values.chunks_exact_mut(setup.x.len())).enumerate() {
        let first = row * line.len();
        let base = turn[0] + turn[2] * y;
        for ((column, value), &x) in line.iter_mut().enumerate().zip(&setup.x) {
            let reach = setup.reach.get(first + column).copied().unwrap_or(0.0);
            let by = base + turn[1] * x - turn[3] * reach;
            *value = if led[first + column] > 0.0 { by } else { *value };
        }
    }
}

/// Sum of the values at the nodes that are `led`, by the ways of moving.
fn gather(problem: &Problem<'_>, led: &[f64], values: &[f64]) -> Four {
    let setup = problem.setup;
    let width = setup.x.len();
    let mut total = [0.0; 4];
    for (row, &y) in setup.y.iter().enumerate() {
        let part = row * width..(row + 1) * width;
        let (led, values) = (&led[part.clone()], &values[part.clone()]);
        let across = product(led, values);
        let along = triple(led, values, &setup.x);
        let far = match setup.reach.get(part) {
            Some(reach) => triple(led, values, reach),
            None => 0.0,
        };
        total = plus(&total, 1.0, &[across, along, across * y, -far]);
    }
    total
}

/// Σ a·b in strands, always in the same order: a single strand would wait for every addition.
fn product(a: &[f64], b: &[f64]) -> f64 {
    let mut strands = [0.0; STRANDS];
    let (a, b) = (a.chunks_exact(STRANDS), b.chunks_exact(STRANDS));
    let rest: f64 = a.remainder().iter().zip(b.remainder()).map(|(a, b)| a * b).sum();
    for (a, b) in a.zip(b) {
        for (strand, (a, b)) in strands.iter_mut().zip(a.iter().zip(b)) {
            *strand += a * b;
        }
    }
    strands.iter().sum::<f64>() + rest
}

/// Σ a·b·c in strands.
fn triple(a: &[f64], b: &[f64], c: &[f64]) -> f64 {
    let mut strands = [0.0; STRANDS];
    let (a, b, c) = (a.chunks_exact(STRANDS), b.chunks_exact(STRANDS), c.chunks_exact(STRANDS));
    let rest = a.remainder().iter().zip(b.remainder().iter().zip(c.remainder()));
    let rest: f64 = rest.map(|(a, (b, c))| a * b * c).sum();
    for (a, (b, c)) in a.zip(b.zip(c)) {
        for (strand, (a, (b, c))) in strands.iter_mut().zip(a.iter().zip(b.iter().zip(c))) {
            *strand += a * b * c;
        }
    }
    strands.iter().sum::<f64>() + rest
}

const STRANDS: usize = 8;
