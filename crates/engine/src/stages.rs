//! The derived stages of one foot, each computed from the ones before and kept until its inputs change.

use crate::EngineError;
use crate::display;
use crate::memo::{Memo, Revisions, Stage};
use crate::outlined::{EdgeKey, FitKey, Outlined};
use crate::skin::{self, Skin};
use crate::view::{GridBuffers, MeshBuffers};
use base::{Note, Params, Report, Side, Work};
use case::file::Blobs;
use case::{FootCase, ScanRef, SecondScan};
use foot::measures::{MeasureError, MeasureSpec, Measured};
use foot::{Clue, Foot, Landmark, LandmarkId, Landmarks, Preparation, WeightBearing};
use glam::{DAffine3, DVec2, DVec3};
use hardness::{HardnessField, HardnessPlan, Steepest};
use insole::sculpt::SculptLayer;
use insole::{BaseSurface, ElementItem, Extreme, Sculpt, Sole, Surface, SurfaceError, SurfaceInput, Thin};
use last::Fitted;
use mesh::{Grid, Plane, TriMesh};
use scan::HeightScale;
use std::collections::BTreeMap;
use std::rc::Rc;
use std::sync::Arc;

/// Spacing of the insole's mesh on the screen, mm. Finer than this no screen shows, coarser shows its facets.
pub(crate) const DISPLAY_MM: f64 = 2.0;
/// The ring at the leg's cut is drawn this far below it, mm: at the cut itself the skin ends.
const BELOW_CUT_MM: f64 = 1.0;
/// Elements whose lines are kept.
const ELEMENTS_KEPT: usize = 48;
/// Feet kept beside the present one, so that undoing a pose or a swapped scan is instant.
const FEET_KEPT: usize = 2;

/// A foot as it came in.
pub(crate) struct Scanned {
    pub(crate) foot: Foot,
    pub(crate) found: Landmarks,
    pub(crate) clues: BTreeMap<LandmarkId, Clue>,
    /// Id of the file's format.
    pub(crate) format: &'static str,
    /// What was noticed while reading and done while cleaning.
    pub(crate) notes: Vec<Note>,
    /// Outlines of the closed holes, on the sole.
    pub(crate) closed: Vec<Vec<DVec3>>,
    /// The skin where the leg is cut.
    pub(crate) leg_cut: Vec<DVec3>,
    /// The skin, light enough for the screen and for sections.
    pub(crate) display: TriMesh,
    pub(crate) buffers: MeshBuffers,
}

/// Closed lines in plan.
pub(crate) type Lines = Vec<Vec<[f32; 2]>>;

/// One measure with what came of it.
pub(crate) type MeasureRow = (&'static MeasureSpec, Result<Measured, MeasureError>);

/// The shaped insole.
pub(crate) struct Shaped {
    pub(crate) surface: Surface,
    /// Where most thickness is missing, or least is to spare.
    pub(crate) thinnest: Thin,
    pub(crate) thickness: Grid,
    /// Height of the surface the foot meets, before its edge is finished.
    pub(crate) bearing: Grid,
    /// The steepest place of that, degrees from level.
    pub(crate) steepest: Extreme,
}

/// The graded insole.
pub(crate) struct Graded {
    pub(crate) field: HardnessField,
    pub(crate) grid: Grid,
    pub(crate) range: (f64, f64),
    pub(crate) steepest: Steepest,
}

#[derive(Clone, PartialEq)]
struct FootKey {
    hash: String,
    foot_from_scan: [f64; 16],
    how: Preparation,
    heights: Option<HeightScale>,
}

#[derive(Clone, PartialEq)]
struct SurfaceKey {
    foot: u64,
    landmarks: Landmarks,
    outline: u64,
    params: Params,
    state: Option<WeightBearing>,
}

/// Outline, bearing surface, elements and what was sculpted.
#[derive(Clone, PartialEq)]
struct ShapeKey {
    base: u64,
    outline: u64,
    elements: Vec<ElementItem>,
    sculpt: SculptLayer,
}

/// What is kept of one side.
pub(crate) struct Stages {
    feet: Memo<FootKey, Scanned>,
    landmarks: Memo<(u64, BTreeMap<LandmarkId, [f64; 3]>), Landmarks>,
    measures: Memo<(u64, u64), Vec<MeasureRow>>,
    second: Memo<SecondScan, Result<Landmarks, String>>,
    fitted: Memo<FitKey, Fitted>,
    outline: Memo<EdgeKey, Outlined>,
    soles: Memo<u64, Sole>,
    base: Memo<SurfaceKey, Arc<BaseSurface>>,
    shaped: Memo<ShapeKey, Shaped>,
    lines: Memo<(u64, ElementItem), Lines>,
    graded: Memo<(u64, HardnessPlan), Graded>,
    insole_mesh: Memo<u64, MeshBuffers>,
}

impl Default for Stages {
    fn default() -> Self {
        Stages {
            feet: Memo::new(FEET_KEPT),
            landmarks: Memo::new(2),
            measures: Memo::new(2),
            second: Memo::new(2),
            fitted: Memo::new(2),
            outline: Memo::new(2),
            soles: Memo::new(1),
            base: Memo::new(2),
            shaped: Memo::new(2),
            lines: Memo::new(ELEMENTS_KEPT),
            graded: Memo::new(2),
            insole_mesh: Memo::new(2),
        }
    }
}

/// Everything derived from one foot's decisions. What could not be derived is `None`, and `problem` says why.
#[derive(Clone)]
pub(crate) struct Derived {
    pub(crate) scanned: Stage<Scanned>,
    pub(crate) landmarks: Stage<Landmarks>,
    pub(crate) measures: Stage<Vec<MeasureRow>>,
    pub(crate) second: Option<Stage<Result<Landmarks, String>>>,
    pub(crate) outlined: Option<Stage<Outlined>>,
    pub(crate) shaped: Option<Stage<Shaped>>,
    pub(crate) graded: Option<Stage<Graded>>,
    /// Of each element, in their order.
    pub(crate) lines: Vec<Stage<Lines>>,
    pub(crate) problem: Option<String>,
}

/// The scan and what was found on it: all that the pair's size depends on.
pub(crate) struct Intake {
    pub(crate) scanned: Stage<Scanned>,
    pub(crate) landmarks: Stage<Landmarks>,
    pub(crate) measures: Stage<Vec<MeasureRow>>,
    /// Landmarks of the second scan, or why there are none.
    pub(crate) second: Option<Stage<Result<Landmarks, String>>>,
}

impl Intake {
    /// The value of a measure, if it has one.
    pub(crate) fn value(&self, id: &str) -> Option<f64> {
        value_of(&self.measures, id)
    }
}

/// The value of a measure, if it has one.
pub(crate) fn value_of(measures: &[MeasureRow], id: &str) -> Option<f64> {
    let (_, measured) = measures.iter().find(|(spec, _)| spec.id == id)?;
    measured.as_ref().ok().map(|measured| measured.value)
}

impl Stages {
    /// Keeps a foot that was just prepared on the way in, so that it is not prepared twice.
    pub(crate) fn seed(&mut self, foot: &FootCase, scanned: Scanned, revisions: &mut Revisions) {
        let stage = Stage { rev: revisions.next(), value: Arc::new(scanned) };
        self.feet.put(key_of(foot), stage);
    }

    /// Scan, landmarks and measures.
    pub(crate) fn intake(
        &mut self,
        foot: &FootCase,
        blobs: &Blobs,
        work: &Work,
        revisions: &mut Revisions,
    ) -> Result<Intake, EngineError> {
        let scanned = self.feet.get(key_of(foot), revisions, |_| {
            let pose = case::pose_from_rows(&foot.foot_from_scan).ok_or(case::EditError::BadPose)?;
            let mut report = Report::default();
            let skin = read(&foot.scan, foot.heights.as_ref(), &pose, blobs, work, &mut report)?;
            scan(foot, Rc::new(skin), work, report)
        })?;
        let landmarks = self.landmarks.get((scanned.rev, foot.landmarks.clone()), revisions, |(_, by_hand)| {
            let mut landmarks = scanned.found.clone();
            for (&id, &at) in by_hand {
                landmarks.insert(id, Landmark { at: DVec3::from_array(at), confidence: 1.0, by_hand: true });
            }
            if !by_hand.is_empty() {
                foot::renew_estimates(&scanned.foot, &mut landmarks);
            }
            Ok::<_, EngineError>(landmarks)
        })?;
        let measures = self.measures.get((scanned.rev, landmarks.rev), revisions, |_| {
            let all = foot::measures::ALL.iter();
            Ok::<_, EngineError>(all.map(|measure| (measure.spec(), measure.eval(&scanned.foot, &landmarks))).collect())
        })?;
        let second = foot.second.as_ref().map(|second| {
            self.second.get(second.clone(), revisions, |second| {
                // A second scan that cannot be read must not stop the work on the first.
                Ok::<_, EngineError>(second_landmarks(second, foot, blobs, work).map_err(|error| error.to_string()))
            })
        });
        Ok(Intake { scanned, landmarks, measures, second: second.transpose()? })
    }

    /// The rest of the line, as far as it goes.
    pub(crate) fn derive(
        &mut self,
        side: Side,
        foot: &FootCase,
        state: Option<WeightBearing>,
        last_length_mm: f64,
        intake: Intake,
        revisions: &mut Revisions,
    ) -> Derived {
        let mut derived = Derived {
            scanned: intake.scanned,
            landmarks: intake.landmarks,
            measures: intake.measures,
            second: intake.second,
            outlined: None,
            shaped: None,
            graded: None,
            lines: Vec::new(),
            problem: None,
        };
        if let Err(error) = self.derive_insole(side, foot, state, last_length_mm, &mut derived, revisions) {
            derived.problem = Some(error.to_string());
        }
        derived
    }

    fn derive_insole(
        &mut self,
        side: Side,
        foot: &FootCase,
        state: Option<WeightBearing>,
        last_length_mm: f64,
        derived: &mut Derived,
        revisions: &mut Revisions,
    ) -> Result<(), EngineError> {
        let scanned = derived.scanned.clone();
        // Each step is handed the landmarks it goes by and no others: moving another one computes nothing again.
        let of_fit = chosen(&derived.landmarks, &last::LANDMARKS);
        let refused = |reason| EngineError::Outline { side, reason };
        let key = FitKey { foot: scanned.rev, landmarks: of_fit.clone(), last: in_plan(&foot.last), last_length_mm };
        let fitted = self.fitted.get(key, revisions, |key| key.fitted(&scanned.foot).map_err(refused))?;
        let key = EdgeKey::new(fitted.rev, foot);
        let outlined = self
            .outline
            .get(key, revisions, |key| key.outlined(Arc::clone(&fitted.value), &of_fit).map_err(refused))?;
        derived.outlined = Some(outlined.clone());

        let graded = self.graded.get((outlined.rev, foot.hardness.clone()), revisions, |(_, plan)| {
            Ok::<_, EngineError>(grade(plan, &outlined))
        })?;
        derived.graded = Some(graded);

        let key = SurfaceKey {
            foot: scanned.rev,
            landmarks: chosen(&derived.landmarks, &insole::LANDMARKS),
            outline: outlined.rev,
            params: foot.surface.clone(),
            state,
        };
        let no_sole = || EngineError::Surface { side, reason: SurfaceError::NoSole.to_string() };
        let sole = self.soles.get(scanned.rev, revisions, |_| Sole::new(&scanned.foot.sole).ok_or_else(no_sole))?;
        let base = self.base.get(key, revisions, |key| {
            let input = SurfaceInput {
                sole: &sole,
                landmarks: &key.landmarks,
                edge: &outlined.edge,
                params: &foot.surface,
                // Until the state is stated the least support is shown; a finding asks for it.
                state: state.unwrap_or(WeightBearing::None),
            };
            BaseSurface::new(&input)
                .map(Arc::new)
                .map_err(|error| EngineError::Surface { side, reason: error.to_string() })
        })?;
        let key = ShapeKey {
            base: base.rev,
            outline: outlined.rev,
            elements: foot.elements.clone(),
            sculpt: foot.sculpt.clone(),
        };
        let shaped = self
            .shaped
            .get(key, revisions, |key| Ok::<_, EngineError>(shape(Arc::clone(&base.value), key, &outlined)))?;
        derived.shaped = Some(shaped);
        for item in &foot.elements {
            let key = (outlined.rev, item.clone());
            let lines = self
                .lines
                .get(key, revisions, |(_, item)| Ok::<_, EngineError>(element_lines(item, &outlined.edge)))?;
            derived.lines.push(lines);
        }
        Ok(())
    }

    /// The insole's mesh for the screen.
    pub(crate) fn insole_mesh(&mut self, derived: &Derived, revisions: &mut Revisions) -> Option<Stage<MeshBuffers>> {
        let (outlined, shaped) = (derived.outlined.as_ref()?, derived.shaped.as_ref()?);
        let made = self
            .insole_mesh
            .get(shaped.rev, revisions, |_| Ok::<_, EngineError>(outlined.topology.shaped(&shaped.surface)));
        made.ok()
    }
}

/// The numbers of the last that shape it in plan: its bottom changes no outline.
fn in_plan(last: &Params) -> Params {
    let of_plan = last.iter().filter(|(id, _)| last::PARAMS.iter().any(|spec| spec.id == **id));
    of_plan.map(|(id, value)| (id.clone(), *value)).collect()
}

/// The landmarks named, as far as they are there.
fn chosen(landmarks: &Landmarks, ids: &[LandmarkId]) -> Landmarks {
    ids.iter().filter_map(|id| Some((*id, *landmarks.get(id)?))).collect()
}

/// Takes a skin in the scan's coordinates into the foot frame and finds the landmarks.
pub(crate) fn scan(foot: &FootCase, skin: Rc<Skin>, work: &Work, mut report: Report) -> Result<Scanned, EngineError> {
    let pose = case::pose_from_rows(&foot.foot_from_scan).ok_or(case::EditError::BadPose)?;
    let (name, how, format) = (&foot.scan.name, foot.preparation(), skin.format);
    // Colours lie on the scan's own vertices, so that such a skin is kept to the end.
    let coloured = (!skin.colours.is_empty()).then(|| Rc::clone(&skin));
    let prepared = match Rc::try_unwrap(skin) {
        Ok(own) => foot::prepare_owned(name, own.mesh, &pose, &how, work, &mut report)?,
        Err(shared) => foot::prepare(name, &shared.mesh, &pose, &how, work, &mut report)?,
    };
    work.step("Finding landmarks", 0.9)?;
    let found = foot::seek_landmarks(&prepared);
    let display = display::light(&prepared.mesh);
    let mut buffers = display::buffers(&display);
    buffers.colours = coloured.map(|skin| display::colours(&display, &skin, &pose)).unwrap_or_default();
    let on_sole = |p: &DVec2| Some(p.extend(prepared.sole.sample(*p)?));
    let closed = prepared.closed.iter().map(|outline| outline.iter().filter_map(on_sole).collect()).collect();
    let rim = mesh::section(&display, &Plane::at_z(foot.cut_height_mm - BELOW_CUT_MM));
    let leg_cut = rim.into_iter().max_by(|a, b| a.length_mm().total_cmp(&b.length_mm())).map(|line| line.points);
    Ok(Scanned {
        closed,
        leg_cut: leg_cut.unwrap_or_default(),
        foot: prepared,
        found: found.landmarks,
        clues: found.clues,
        format,
        notes: report.notes,
        display,
        buffers,
    })
}

/// The skin in the file of a scan that is in the case.
fn read(
    scan: &ScanRef,
    heights: Option<&HeightScale>,
    pose: &DAffine3,
    blobs: &Blobs,
    work: &Work,
    report: &mut Report,
) -> Result<Skin, EngineError> {
    let bytes = blobs.get(&scan.hash).ok_or_else(|| EngineError::ScanMissing { name: scan.name.clone() })?;
    skin::read(&scan.name, bytes, heights, Some(pose), work, report)
}

/// Landmarks of a second scan, made ready like the first.
fn second_landmarks(
    second: &SecondScan,
    foot: &FootCase,
    blobs: &Blobs,
    work: &Work,
) -> Result<Landmarks, EngineError> {
    let pose = case::pose_from_rows(&second.foot_from_scan).ok_or(case::EditError::BadPose)?;
    let mut report = Report::default();
    let skin = read(&second.scan, foot.heights.as_ref(), &pose, blobs, work, &mut report)?;
    let how = Preparation::of_foot(foot.cut_height_mm);
    let prepared = foot::prepare_owned(&second.scan.name, skin.mesh, &pose, &how, work, &mut report)?;
    let mut landmarks = foot::find_landmarks(&prepared);
    if let Some(height_mm) = second.navicular_height_mm {
        // Only its height was felt: where along the foot it lies stays the finder's estimate.
        let at = landmarks.get(&LandmarkId::Navicular).map_or(DVec3::ZERO, |found| found.at).with_z(height_mm);
        landmarks.insert(LandmarkId::Navicular, Landmark { at, confidence: 1.0, by_hand: true });
    }
    Ok(landmarks)
}

fn key_of(foot: &FootCase) -> FootKey {
    FootKey {
        hash: foot.scan.hash.clone(),
        foot_from_scan: foot.foot_from_scan,
        how: foot.preparation(),
        heights: foot.heights,
    }
}

fn element_lines(item: &ElementItem, edge: &Arc<insole::Edge>) -> Lines {
    let floats = |line: Vec<DVec2>| line.into_iter().map(|p| p.as_vec2().to_array()).collect();
    insole::elements::lines(item, edge).into_iter().map(floats).collect()
}

fn shape(base: Arc<BaseSurface>, key: &ShapeKey, outlined: &Outlined) -> Shaped {
    // Kinds that are not known are shown as inactive in the list of elements; a finding names them.
    let sculpted = Sculpt::new(&key.sculpt).map(Arc::new);
    let surface = Surface::new(base, &key.elements, sculpted, &mut Report::default());
    let mut thickness = outlined.distance.clone();
    let mut bearing = outlined.distance.clone();
    let mut thinnest = Thin { mm: f64::INFINITY, least_mm: 0.0, at: DVec2::ZERO };
    for row in 0..thickness.rows {
        for column in 0..thickness.columns {
            let index = row * thickness.columns + column;
            let inside = thickness.values[index] <= 0.0;
            (thickness.values[index], bearing.values[index]) = if inside {
                let at = thickness.at(column, row);
                let (height, mm) = surface.height_and_thickness(at);
                thinnest = thinnest.worse(surface.thin(at, mm));
                (mm as f32, height as f32)
            } else {
                (f32::NAN, f32::NAN)
            };
        }
    }
    let steepest = steepest(&bearing);
    Shaped { surface, thinnest, thickness, bearing, steepest }
}

/// The steepest place of a height grid, degrees from level, by central differences.
fn steepest(grid: &Grid) -> Extreme {
    let (mut most, mut at) = (0.0_f32, [0, 0]);
    for row in 1..grid.rows.saturating_sub(1) {
        for column in 1..grid.columns.saturating_sub(1) {
            let index = row * grid.columns + column;
            let across = grid.values[index + 1] - grid.values[index - 1];
            let along = grid.values[index + grid.columns] - grid.values[index - grid.columns];
            let square = across * across + along * along;
            // What is not a number is beside the insole.
            if square > most {
                (most, at) = (square, [column, row]);
            }
        }
    }
    let slope = f64::from(most).sqrt() / (2.0 * grid.step_mm);
    Extreme { mm: libm::atan(slope).to_degrees(), at: grid.at(at[0], at[1]) }
}

fn grade(plan: &HardnessPlan, outlined: &Outlined) -> Graded {
    let field = HardnessField::new(plan);
    let grid = field.sample(&outlined.distance);
    let inside = grid.values.iter().zip(&outlined.distance.values).filter(|(_, distance)| **distance <= 0.0);
    let range = inside.fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), (value, _)| {
        (lo.min(f64::from(*value)), hi.max(f64::from(*value)))
    });
    let steepest = field.steepest(&outlined.polygon);
    Graded { field, grid, range, steepest }
}

/// The samples of `grid` inside the outline, `NaN` outside.
pub(crate) fn masked(grid: &Grid, outlined: &Outlined) -> GridBuffers {
    let inside = outlined.distance.values.iter();
    GridBuffers {
        origin_mm: grid.origin_mm.to_array(),
        step_mm: grid.step_mm,
        columns: grid.columns,
        rows: grid.rows,
        values: grid
            .values
            .iter()
            .zip(inside)
            .map(|(value, distance)| if *distance <= 0.0 { *value } else { f32::NAN })
            .collect(),
    }
}
