use crate::four::Four;
use crate::local::{self, Forces};
use crate::plane::KPA;
use crate::problem::{Problem, Setup};
use crate::shear::Shear;
use crate::web::{State, Web, for_depths};
use crate::{Columns, ContactError, Indenter, LoadCase, Residuals, Settled};
use glam::DVec2;

/// Share of the force that may be left over in every way of moving: columns that stand alone, columns tied together.
const BALANCE: (f64, f64) = (1e-9, 1e-7);

/// Share of the greatest pressure that a single node may be out of balance by.
pub(crate) const LOCAL_BALANCE: f64 = 1e-6;

/// Newton steps: 2 to 8 from the pose of a neighbouring case, up to 30 from nothing; more than a hundred have been seen where a small
/// ball on few nodes has to roll far.
pub(crate) const MOST_STEPS: usize = 500;

/// Tries for a depth to start from; each halves or doubles it.
const MOST_TRIES: usize = 100;

/// Arrays that are kept from one case to the next, so that no step of a solve allocates.
#[derive(Clone, Debug, Default)]
pub struct Workspace {
    pub(crate) setup: Setup,
    pressure: Vec<f64>,
    trial: Vec<f64>,
    pub(crate) web: Web,
}

/// Lets a body settle on columns until force and moments balance.
///
/// `start` is the answer to a neighbouring case on the same plane: it shortens the way and changes the answer by no more than the
/// tolerance of balance (1e-9 of the force, 1e-7 with a shear layer).
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
    let Workspace { setup, pressure, trial, web } = workspace;
    let problem = Problem::new(columns, indenter, load, setup)?;
    for array in [&mut *pressure, &mut *trial] {
        array.clear();
        array.resize(columns.plane().len(), 0.0);
    }
    match columns.shear() {
        None => settle_alone(&problem, start, pressure, trial),
        Some(shear) => {
            web.reset(columns.plane().len(), columns.plane().columns);
            if !start.is_some_and(|start| warm_web(&problem, shear, start, web)) {
                cold_web(&problem, shear, &settle_alone(&problem, None, pressure, trial)?, web)?;
            }
            settle_web(&problem, shear, web)
        }
    }
}

/// Columns that stand alone.
fn settle_alone(
    problem: &Problem<'_>,
    start: Option<&Settled>,
    pressure: &mut [f64],
    trial: &mut [f64],
) -> Result<Settled, ContactError> {
    let (mut pose, mut forces) = match start.and_then(|start| warm(problem, start, pressure)) {
        Some(start) => start,
        None => cold(problem, pressure)?,
    };
    let mut iterations = 0;
    while !is_balanced(problem, &forces.excess, BALANCE.0) {
        let next = if iterations < MOST_STEPS { local::step(problem, &pose, &forces, pressure, trial) } else { None };
        let Some((next, found)) = next else {
            return Err(ContactError::NotConverged { iterations, residuals: residuals(problem, &forces.excess, 0.0) });
        };
        (pose, forces) = (next, found);
        iterations += 1;
    }
    let mut compression_mm = vec![0.0; pressure.len()];
    for_depths(problem, &pose, |node, depth| compression_mm[node] = depth.max(0.0));
    Ok(Settled {
        pose: problem.pose(&pose),
        pressure_kpa: pressure.iter().map(|p| p * KPA).collect(),
        compression_mm,
        residuals: residuals(problem, &forces.excess, 0.0),
        iterations,
    })
}

/// Columns tied together, from the state that `web` holds.
fn settle_web(problem: &Problem<'_>, shear: &Shear, web: &mut Web) -> Result<Settled, ContactError> {
    let mut iterations = 0;
    loop {
        let excess = web.state.excess(problem);
        let (amiss, borne) = web.state.local();
        let residuals = residuals(problem, &excess, amiss);
        if is_balanced(problem, &excess, BALANCE.1) && amiss <= LOCAL_BALANCE * borne {
            let State { pose, w, touches, force, .. } = &web.state;
            let per_cell = KPA / problem.cell_mm2;
            let pressure =
                force.iter().zip(touches).map(|(&f, &touches)| if touches { f.max(0.0) * per_cell } else { 0.0 });
            let first = problem.columns.plane().columns;
            return Ok(Settled {
                pose: problem.pose(pose),
                pressure_kpa: pressure.collect(),
                compression_mm: w[first..first + force.len()].to_vec(),
                residuals,
                iterations,
            });
        }
        if iterations == MOST_STEPS || web.step(problem, shear).is_none() {
            return Err(ContactError::NotConverged { iterations, residuals });
        }
        iterations += 1;
    }
}

/// Fills `web` with the state of another answer; false if it does not fit, or a column locks there.
fn warm_web(problem: &Problem<'_>, shear: &Shear, start: &Settled, web: &mut Web) -> bool {
    let (pose, bears) = (problem.scaled(&start.pose), problem.columns.bears());
    let count = bears.len();
    let fits = start.pressure_kpa.len() == count && start.compression_mm.len() == count;
    if !(fits && pose.iter().chain(&start.compression_mm).all(|number| number.is_finite())) {
        return false;
    }
    let (state, columns) = (&mut web.state, problem.columns.plane().columns);
    state.pose = pose;
    for_depths(problem, &pose, |node, depth| {
        if bears[node] {
            let w = start.compression_mm[node];
            state.touches[node] = depth > f64::NEG_INFINITY && (w <= depth || start.pressure_kpa[node] > 0.0);
            state.w[node + columns] = if state.touches[node] { depth } else { w };
            state.spring[node] = start.pressure_kpa[node] / KPA;
        }
    });
    state.find_forces(problem, shear, &web.pushes)
}

/// Fills `web` with the answer for the columns without their shear layer.
fn cold_web(problem: &Problem<'_>, shear: &Shear, alone: &Settled, web: &mut Web) -> Result<(), ContactError> {
    if warm_web(problem, shear, alone, web) {
        Ok(())
    } else {
        Err(ContactError::NotConverged { iterations: alone.iterations, residuals: alone.residuals })
    }
}

fn is_balanced(problem: &Problem<'_>, excess: &Four, share: f64) -> bool {
    excess.iter().all(|excess| excess.abs() <= share * problem.goal[0])
}

pub(crate) fn residuals(problem: &Problem<'_>, excess: &Four, amiss_n: f64) -> Residuals {
    let [force_n, x, y, bend] = *excess;
    Residuals {
        force_n,
        moment_n_mm: DVec2::new(-y, x) * problem.length_mm,
        hinge_n_mm: -bend * problem.length_mm,
        local_kpa: amiss_n / problem.cell_mm2 * KPA,
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Curve, Layer, Plane};

    /// A saddle on columns of a locking curve; off the middle, so that the body has to roll.
    fn case(strength: f64) -> (Columns, Indenter, LoadCase) {
        let plane = Plane { origin_mm: DVec2::splat(-15.0), step_mm: 1.0, columns: 31, rows: 31 };
        let layer =
            Layer { thickness_mm: vec![8.0; 961], modulus_mpa: vec![0.3; 961], curve: Curve::Locking { strain: 0.7 } };
        let columns = Columns::new(plane, vec![true; 961], vec![layer]).unwrap().with_shear(&[strength; 961]).unwrap();
        let saddle = (0..961).map(|node| plane.at(node)).map(|p| p.x * p.x / 60.0 - p.y * p.y / 300.0);
        (columns, Indenter::rigid(saddle.collect()), LoadCase::at(120.0, DVec2::new(7.0, -4.0)))
    }

    /// The energy of the pose after every step, by the energy's own formula.
    #[test]
    fn every_step_lets_the_energy_of_lone_columns_fall() {
        let (columns, body, load) = case(0.0);
        let mut setup = Setup::default();
        let problem = Problem::new(&columns, &body, &load, &mut setup).unwrap();
        let (mut pressure, mut trial) = (vec![0.0; 961], vec![0.0; 961]);
        let (mut pose, mut forces) = cold(&problem, &mut pressure).unwrap();
        let mut energies = vec![local::energy(&problem, &pose, &pressure)];
        while !is_balanced(&problem, &forces.excess, BALANCE.0) {
            (pose, forces) = local::step(&problem, &pose, &forces, &mut pressure, &mut trial).unwrap();
            energies.push(local::energy(&problem, &pose, &pressure));
        }
        assert!(energies.len() > 4, "{energies:?}");
        assert!(energies.windows(2).all(|pair| pair[1] <= pair[0] + 1e-12 * pair[0].abs()), "{energies:?}");
        // The slope of the energy is the excess of force.
        let by = 1e-4;
        for way in 0..3 {
            let at = |by: f64| {
                let mut moved = pose;
                moved[0] += 0.1;
                moved[way] += by;
                let mut pressure = pressure.clone();
                let forces = local::forces(&problem, &moved, &mut pressure).unwrap();
                (local::energy(&problem, &moved, &pressure), forces.excess[way])
            };
            let slope = (at(by).0 - at(-by).0) / (2.0 * by);
            assert!((slope - at(0.0).1).abs() < 1e-4 * load.force_n, "{slope} {}", at(0.0).1);
        }
    }

    #[test]
    fn every_step_lets_the_energy_of_tied_columns_fall() {
        let (columns, body, load) = case(1.5);
        let shear = columns.shear().unwrap();
        let mut setup = Setup::default();
        let problem = Problem::new(&columns, &body, &load, &mut setup).unwrap();
        let (mut pressure, mut trial, mut web) = (vec![0.0; 961], vec![0.0; 961], Web::default());
        web.reset(961, 31);
        cold_web(&problem, shear, &settle_alone(&problem, None, &mut pressure, &mut trial).unwrap(), &mut web).unwrap();
        let energy = |web: &Web| web.state.energy(&problem, shear, &web.pushes);
        let mut energies = vec![energy(&web)];
        while !is_balanced(&problem, &web.state.excess(&problem), BALANCE.1) {
            web.step(&problem, shear).unwrap();
            energies.push(energy(&web));
        }
        assert!(energies.len() > 4, "{energies:?}");
        assert!(energies.windows(2).all(|pair| pair[1] <= pair[0] + 1e-12 * pair[0].abs()), "{energies:?}");
    }
}
