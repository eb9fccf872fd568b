//! The steps whose speed is told, run by the command line and by the page alike. The clock comes from outside.

use crate::outlined::FitKey;
use crate::view::HandleView;
use crate::{Cut, Engine, EngineError, ScanFile, ScanHints, Target, Workshop};
use base::{Params, Side, Work};
use case::Edit;
use insole::elements::Element;
use serde::Serialize;

/// A step of the job, to be run many times on one scan.
#[derive(Clone, Copy)]
pub struct Step {
    /// Stable id.
    pub id: &'static str,
    /// What it is.
    pub label: &'static str,
    /// How often to run it for a median.
    pub runs: usize,
    /// Brings an engine to where the step starts: not timed.
    pub prepare: fn(&ScanFile) -> Result<Engine, EngineError>,
    /// The step; `run` counts from 0, so that no two runs ask for the same.
    pub run: fn(&mut Engine, scan: &ScanFile, run: usize, workshop: &dyn Workshop) -> Result<(), EngineError>,
}

/// All steps.
pub const STEPS: &[Step] = &[
    Step {
        id: "read_measure",
        label: "read, orient, measure a scan",
        runs: 5,
        prepare: |_| Ok(Engine::new()),
        run: |engine, scan, _, _| {
            *engine = Engine::new();
            add_scan(engine, scan)?;
            engine.snapshot();
            Ok(())
        },
    },
    Step { id: "pad_drag", label: "drag a metatarsal pad: all views", runs: 60, prepare: with_pad, run: drag_pad },
    Step {
        id: "outline_fit",
        label: "fit the outline to the foot",
        runs: 40,
        prepare: with_pad,
        run: |engine, _, run, _| {
            let side = side_of(engine);
            let last = [(last::TOE_ALLOWANCE.id.to_owned(), 10.0 + run as f64 * 0.1)].into();
            engine.refit(side, last)
        },
    },
    Step {
        id: "edge_drag",
        label: "drag a point of the edge: all views",
        runs: 40,
        prepare: with_pad,
        run: |engine, _, run, _| {
            let side = side_of(engine);
            let target = Target::OutlineKnot { index: 3 };
            let edit = engine.move_edit(side, &target, [110.0, -40.0 - run as f64 * 0.1, 0.0])?;
            show(engine, |_| edit)
        },
    },
    Step {
        id: "cup_drag",
        label: "drag the cup depth: all views",
        runs: 40,
        prepare: with_pad,
        run: |engine, _, run, _| {
            let depth = 10.0 + run as f64 * 0.05;
            show(engine, |side| Edit::SetSurface { side, param: "cup_depth_mm".into(), value: Some(depth) })
        },
    },
    Step {
        id: "region_drag",
        label: "drag a point of a hardness region: all views",
        runs: 40,
        prepare: |scan| {
            let mut engine = with_pad(scan)?;
            let side = side_of(&engine);
            let points = vec![[10.0, -20.0], [50.0, -22.0], [55.0, 20.0], [12.0, 18.0]];
            engine.apply(&Edit::AddRegion { side, name: "heel".into(), points, shore_a: 20.0, transition_mm: 12.0 })?;
            engine.begin();
            Ok(engine)
        },
        run: |engine, _, run, _| {
            let side = side_of(engine);
            let target = Target::RegionPoint { id: 1, index: 1 };
            let edit = engine.move_edit(side, &target, [50.0 + run as f64 * 0.3, -22.0, 0.0])?;
            show(engine, |_| edit)
        },
    },
    Step {
        id: "solid",
        label: "closed solid at 0.5 mm as STL",
        runs: 5,
        prepare: with_pad,
        run: |engine, _, _, workshop| engine.make_in(workshop, &["solid"], &Params::new()).map(drop),
    },
];

/// What one step took.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StepTime {
    /// [`Step::id`], or `drag_` and the kind of an element.
    pub id: String,
    /// [`Step::label`].
    pub label: String,
    /// The middle of all runs, ms.
    pub ms_median: f64,
    /// The slowest run, ms.
    pub ms_worst: f64,
    /// How many runs there were.
    pub runs: usize,
}

/// Ids of everything that [`time_steps`] can time.
#[must_use]
pub fn step_ids() -> Vec<String> {
    let steps = STEPS.iter().map(|step| step.id.to_owned());
    steps.chain(insole::elements::ALL.iter().map(|element| format!("drag_{}", element.id()))).collect()
}

/// How often an element is dragged for a median.
const ELEMENT_RUNS: usize = 30;

/// Runs the steps with the ids `only`, or all if there are none, on a scan: those of [`STEPS`], then a drag of every kind of
/// element, files made in
/// `workshop`. `now_ms` is the caller's clock: any start, ms.
///
/// # Errors
/// When a step refuses the scan.
pub fn time_steps(
    scan: &ScanFile,
    only: &[&str],
    workshop: &dyn Workshop,
    mut now_ms: impl FnMut() -> f64,
) -> Result<Vec<StepTime>, EngineError> {
    let is_chosen = |id: &str| only.is_empty() || only.contains(&id);
    let mut times = Vec::new();
    for step in STEPS.iter().filter(|step| is_chosen(step.id)) {
        times.push(time_step(step, scan, workshop, &mut now_ms)?);
    }
    for element in insole::elements::ALL {
        let id = format!("drag_{}", element.id());
        if is_chosen(&id) {
            times.push(time_element(*element, id, scan, &mut now_ms)?);
        }
    }
    Ok(times)
}

/// Drags an element by its first handle, beside a pad, and shows it everywhere each time.
fn time_element(
    element: &dyn Element,
    id: String,
    scan: &ScanFile,
    now_ms: &mut impl FnMut() -> f64,
) -> Result<StepTime, EngineError> {
    let mut engine = with_pad(scan)?;
    engine.commit();
    let side = side_of(&engine);
    let place = engine.place_edit(side, element.id(), None)?;
    engine.apply(&place)?;
    let snapshot = engine.snapshot();
    let handles = snapshot.feet[side].iter().flat_map(|foot| &foot.handles);
    // The newest element's first handle comes before its others.
    let of_newest = |handle: &&HandleView| matches!(&handle.target, Target::Element { id: 2, .. });
    let handle = handles.clone().find(of_newest).cloned();
    let Some(handle) = handle else { return Err(EngineError::NoHandle { side, what: id }) };
    engine.begin();
    let times = (0..ELEMENT_RUNS).map(|run| {
        let by = 0.2 + run as f64 * 0.1;
        let to = [handle.at[0] - by, handle.at[1] + by / 2.0, handle.at[2]];
        let start = now_ms();
        let edit = engine.move_edit(side, &handle.target, to)?;
        show(&mut engine, |_| edit)?;
        Ok(now_ms() - start)
    });
    let times: Result<Vec<f64>, EngineError> = times.collect();
    Ok(told(id, format!("drag {}: all views", element.label().to_ascii_lowercase()), times?))
}

fn told(id: String, label: String, mut times_ms: Vec<f64>) -> StepTime {
    base::sort_numbers(&mut times_ms);
    let at = |index: usize| times_ms.get(index).copied().unwrap_or(f64::NAN);
    let (ms_median, ms_worst) = (at(times_ms.len() / 2), at(times_ms.len().saturating_sub(1)));
    StepTime { id, label, ms_median, ms_worst, runs: times_ms.len() }
}

fn time_step(
    step: &Step,
    scan: &ScanFile,
    workshop: &dyn Workshop,
    now_ms: &mut impl FnMut() -> f64,
) -> Result<StepTime, EngineError> {
    let mut engine = (step.prepare)(scan)?;
    let mut times_ms = Vec::new();
    for run in 0..step.runs {
        let start = now_ms();
        (step.run)(&mut engine, scan, run, workshop)?;
        times_ms.push(now_ms() - start);
    }
    Ok(told(step.id.to_owned(), step.label.to_owned(), times_ms))
}

/// Where the pad is dragged from, mm.
const FRONT_X_MM: f64 = 165.0;

fn add_scan(engine: &mut Engine, scan: &ScanFile) -> Result<(), EngineError> {
    engine.add_scans(std::slice::from_ref(scan), &ScanHints::default(), &Work::quiet()).map(|_| ())
}

fn with_pad(scan: &ScanFile) -> Result<Engine, EngineError> {
    let mut engine = Engine::new();
    add_scan(&mut engine, scan)?;
    let side = side_of(&engine);
    let pad = engine.place_edit(side, "metatarsal_pad", None)?;
    engine.apply(&pad)?;
    engine.begin();
    show(&mut engine, |side| Edit::SwitchElement { side, id: 1, on: true })?;
    Ok(engine)
}

fn drag_pad(engine: &mut Engine, _: &ScanFile, run: usize, _: &dyn Workshop) -> Result<(), EngineError> {
    let side = side_of(engine);
    let Some(item) = engine.case().feet[side].as_ref().and_then(|foot| foot.elements.first()) else { return Ok(()) };
    let Some(y) = item.params.get("y_mm").copied() else { return Ok(()) };
    let target = Target::Element { id: item.id, handle: "front".to_owned() };
    // Backwards a little more each time, and back to the front before the pad leaves the foot.
    let back = 0.7 * (run % 40) as f64 + 0.01 * run as f64;
    let edit = engine.move_edit(side, &target, [FRONT_X_MM - back, y, 0.0])?;
    show(engine, |_| edit)
}

/// What the page asks for after every pointer move: plan, 3D and section show it.
fn show(engine: &mut Engine, edit: impl FnOnce(Side) -> Edit) -> Result<(), EngineError> {
    let side = side_of(engine);
    engine.preview(&edit(side))?;
    engine.snapshot();
    engine.insole_mesh(side);
    engine.insole_vertex_hardness(side);
    engine.hardness_grid(side);
    engine.thickness_grid(side);
    engine.section(side, Cut::Longitudinal(0.0));
    engine.section(side, Cut::Transverse(100.0));
    Ok(())
}

impl Engine {
    /// Fits the outline of a foot with these numbers, whatever is kept, and evaluates it once round.
    fn refit(&mut self, side: Side, last: Params) -> Result<(), EngineError> {
        let derived = self.derived(side)?;
        let landmarks = derived.landmarks.value.as_ref().clone();
        let key = FitKey { foot: 0, landmarks, last, last_length_mm: 285.0 };
        let fitted = key.fitted(&derived.scanned.foot).map_err(|reason| EngineError::Outline { side, reason })?;
        std::hint::black_box(fitted.outline.polygon(1.0));
        Ok(())
    }
}

fn side_of(engine: &Engine) -> Side {
    if engine.case().feet.left.is_some() { Side::Left } else { Side::Right }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::InHouse;

    #[test]
    fn median_and_worst_are_of_the_clock_that_was_given() {
        let step = Step { id: "id", label: "label", runs: 3, prepare: |_| Ok(Engine::new()), run: |_, _, _, _| Ok(()) };
        let mut readings = [0.0, 5.0, 10.0, 11.0, 20.0, 22.0].into_iter();
        let time = time_step(&step, &ScanFile::new("", &[]), &InHouse, &mut || readings.next().unwrap()).unwrap();
        let (id, label) = ("id".to_owned(), "label".to_owned());
        assert_eq!(time, StepTime { id, label, ms_median: 2.0, ms_worst: 5.0, runs: 3 });
    }

    #[test]
    fn a_scan_that_is_none_is_an_error() {
        let none = ScanFile::new("none.stl", b"no scan");
        assert!(time_steps(&none, &[], &InHouse, || 0.0).is_err());
        assert!(time_steps(&none, &["read_measure"], &InHouse, || 0.0).is_err());
        assert!(time_steps(&none, &["no such step"], &InHouse, || 0.0).unwrap().is_empty());
    }
}
