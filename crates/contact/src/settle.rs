use crate::four::Four;
use crate::local::{self, Forces};
use crate::plane::KPA;
use crate::problem::{Problem, Setup};
use crate::{Columns, ContactError, Indenter, LoadCase, Residuals, Settled};
use glam::DVec2;

/// Share of the force that may be left over, in every way of moving.
const BALANCE: f64 = 1e-9;

/// Newton steps: 3 to 8 from the pose of a neighbouring case, up to 20 from nothing.
const MOST_STEPS: usize = 100;

/// Tries for a depth to start from; each halves or doubles it.
const MOST_TRIES: usize = 100;

/// Arrays that are kept from one case to the next, so that a solve allocates only its answer.
#[derive(Clone, Debug, Default)]
pub struct Workspace {
    setup: Setup,
    pressure: Vec<f64>,
    trial: Vec<f64>,
}

/// Lets a body settle on columns until force and moments balance.
///
/// `start` is the answer to a neighbouring case on the same plane: it shortens the way and changes the answer by no more than the
/// tolerance of balance (1e-9 of the force).
///
/// # Errors
/// For arrays and numbers out of range, a force that nothing can carry, and if no balance is found.
pub fn settle(
    columns: &Columns,
    indenter: &Indenter,
    load: &LoadCase,
    start: Option<&Settled>,
    workspace: &mut Workspace,
) -> Result<Settled, ContactError> {
    let Workspace { setup, pressure, trial } = workspace;
    let problem = Problem::new(columns, indenter, load, setup)?;
    let count = columns.plane().len();
    for array in [&mut *pressure, &mut *trial] {
        array.clear();
        array.resize(count, 0.0);
    }
    let (mut pose, mut forces) = match start.and_then(|start| warm(&problem, start, pressure)) {
        Some(start) => start,
        None => cold(&problem, pressure)?,
    };
    let mut iterations = 0;
    while !is_balanced(&problem, &forces) {
        let next = if iterations < MOST_STEPS { local::step(&problem, &pose, &forces, pressure, trial) } else { None };
        let Some((next, found)) = next else {
            return Err(ContactError::NotConverged { iterations, residuals: residuals(&problem, &forces) });
        };
        (pose, forces) = (next, found);
        iterations += 1;
    }
    Ok(Settled {
        pose: problem.pose(&pose),
        pressure_kpa: pressure.iter().map(|p| p * KPA).collect(),
        compression_mm: (0..count).map(|node| problem.depth(node, &pose).max(0.0)).collect(),
        residuals: residuals(&problem, &forces),
        iterations,
    })
}

fn is_balanced(problem: &Problem<'_>, forces: &Forces) -> bool {
    forces.excess.iter().all(|excess| excess.abs() <= BALANCE * problem.goal[0])
}

fn residuals(problem: &Problem<'_>, forces: &Forces) -> Residuals {
    let [force_n, x, y, bend] = forces.excess;
    Residuals {
        force_n,
        moment_n_mm: DVec2::new(-y, x) * problem.length_mm,
        hinge_n_mm: -bend * problem.length_mm,
        local_kpa: 0.0,
    }
}

/// The pose of another answer, if the body touches there and no column locks.
fn warm(problem: &Problem<'_>, start: &Settled, pressure: &mut [f64]) -> Option<(Four, Forces)> {
    let pose = problem.scaled(&start.pose);
    if !pose.iter().all(|way| way.is_finite()) {
        return None;
    }
    if start.pressure_kpa.len() == pressure.len() {
        pressure.iter_mut().zip(&start.pressure_kpa).for_each(|(guess, p)| *guess = p / KPA);
    }
    local::forces(problem, &pose, pressure).filter(|forces| forces.touches).map(|forces| (pose, forces))
}

/// Straight down from the first touch, until about half the force is carried.
fn cold(problem: &Problem<'_>, pressure: &mut [f64]) -> Result<(Four, Forces), ContactError> {
    let at_rest = problem.at_rest();
    let count = problem.columns.plane().len();
    let highest = (0..count).map(|node| problem.depth(node, &at_rest)).fold(f64::NEG_INFINITY, f64::max);
    let force_n = problem.goal[0];
    let (mut less, mut more) = (0.0, f64::INFINITY);
    // As deep as it would be with every node in contact: never too deep for columns that stay linear.
    let mut depth = force_n / problem.whole.0[0][0];
    for _ in 0..MOST_TRIES {
        let mut pose = at_rest;
        pose[0] = depth - highest;
        match local::forces(problem, &pose, pressure) {
            Some(forces) if forces.excess[0] <= 0.0 => {
                if forces.excess[0] >= -0.5 * force_n {
                    return Ok((pose, forces));
                }
                less = depth;
            }
            _ => more = depth,
        }
        depth = if more.is_finite() { 0.5 * (less + more) } else { 2.0 * depth };
    }
    Err(ContactError::NotConverged {
        iterations: 0,
        residuals: Residuals { force_n: -force_n, ..Residuals::default() },
    })
}
