use crate::EngineError;
use crate::bend::Bend;
use crate::compare::{self, CompareView, CompareWith};
use crate::measured::{self, MeasuredView};
use crate::memo::{Memo, Revisions, Stage};
use crate::outlined::Outlined;
use crate::size::{PairSize, pair_size};
use crate::stages::{self, Derived, Intake, Shaped, Stages};
use crate::view::{
    Cut, GridBuffers, MadeFile, MeshBuffers, OutlineHand, OutlineRequest, SectionView, Snapshot, Target,
};
use crate::workshop::{InHouse, Workshop};
use crate::{element_moves, handles, make, outline_edits, section, snapshot};
use base::{BySide, Params, Side, Work};
use case::file::Blobs;
use case::{Case, Edit, FootCase, History};
use glam::{DVec2, DVec3};
use insole::build::{Build, BuildElement};
use insole::elements::WRITTEN_FOR;
use insole::sculpt::{Brush, SculptLayer};
use insole::{ElementItem, Sculpt, Site};
use last::Outline;
use mesh::Grid;
use std::sync::Arc;

/// One case with its history, its scans and everything derived from them.
#[derive(Default)]
pub struct Engine {
    pub(crate) history: History,
    pub(crate) blobs: Blobs,
    pub(crate) stages: BySide<Stages>,
    pub(crate) revisions: Revisions,
    hand: OutlineHand,
    compare: Option<CompareWith>,
    /// The version set aside to compare with.
    set_aside: Option<Arc<Case>>,
    differences: BySide<Memo<(u64, u64), Grid>>,
}

/// What one foot's insole is compared with.
pub(crate) struct Compared {
    pub(crate) view: CompareView,
    pub(crate) other: Option<Stage<Shaped>>,
    pub(crate) difference: Option<Stage<Grid>>,
}

impl std::fmt::Debug for Engine {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter.debug_struct("Engine").field("case", self.case()).finish_non_exhaustive()
    }
}

/// Everything derived, for both sides and the pair.
pub(crate) struct PairDerived {
    pub(crate) size: Option<PairSize>,
    pub(crate) feet: BySide<Option<Derived>>,
    pub(crate) problems: BySide<Option<String>>,
}

impl Engine {
    /// An engine with an empty case.
    #[must_use]
    pub fn new() -> Self {
        Engine::default()
    }

    /// The case as it is now, previews included.
    #[must_use]
    pub fn case(&self) -> &Case {
        self.history.case()
    }

    /// Applies an edit as one step; none if it changes nothing.
    ///
    /// # Errors
    /// The edit does not fit the case or names a scan that is not at hand; the case is as it was.
    pub fn apply(&mut self, edit: &Edit) -> Result<(), EngineError> {
        self.check_scans(edit)?;
        Ok(self.history.apply(edit)?)
    }

    /// Begins a gesture: what is previewed until [`Engine::commit`] is one step.
    pub fn begin(&mut self) {
        self.history.begin();
    }

    /// Shows an edit on the case as it was when the gesture began; it replaces the preview before.
    ///
    /// # Errors
    /// The edit does not fit; the preview before stays.
    pub fn preview(&mut self, edit: &Edit) -> Result<(), EngineError> {
        self.check_scans(edit)?;
        Ok(self.history.preview(edit)?)
    }

    /// Ends the gesture as one step; none if nothing changed.
    pub fn commit(&mut self) {
        self.history.commit();
    }

    /// Ends the gesture and restores the case as it was.
    pub fn cancel(&mut self) {
        self.history.cancel();
    }

    /// Takes back the last step. Returns whether there was one.
    pub fn undo(&mut self) -> bool {
        self.history.undo()
    }

    /// Does the step taken back last again. Returns whether there was one.
    pub fn redo(&mut self) -> bool {
        self.history.redo()
    }

    /// The edit that moves what a handle moves to a place in the foot frame, mm. A number that the handle sets stops
    /// at the end of its range; a landmark snaps to the skin.
    ///
    /// # Errors
    /// There is no such handle.
    pub fn move_edit(&mut self, side: Side, target: &Target, to: [f64; 3]) -> Result<Edit, EngineError> {
        let derived = self.derived(side)?;
        let foot = self.case().feet[side].as_ref().ok_or(EngineError::NoFoot { side })?;
        let before = self.history.committed().feet[side].as_ref().ok_or(EngineError::NoFoot { side })?;
        handles::move_edit(side, before, foot, &derived, target, DVec3::from_array(to), self.hand)
    }

    /// How handles on the insole's edge are moved from now on.
    pub fn set_hand(&mut self, hand: OutlineHand) {
        self.hand = hand;
    }

    /// The edit that changes the insole's edge by hand.
    ///
    /// # Errors
    /// What would come is no outline, with the place.
    pub fn outline_edit(&mut self, side: Side, request: &OutlineRequest) -> Result<Edit, EngineError> {
        let (before, outlined) = self.edge(side)?;
        outline_edits::change_edit(side, &before, &outlined, request)
    }

    /// The edit that gives the other foot the same edge, mirrored.
    ///
    /// # Errors
    /// There is no edge.
    pub fn copy_outline_edit(&mut self, side: Side) -> Result<Edit, EngineError> {
        let (_, outlined) = self.edge(side)?;
        Ok(outline_edits::copy_edit(side, &outlined))
    }

    /// The edit that draws the edge along the shoe's own insole, inside by the clearance.
    ///
    /// # Errors
    /// The shoe's insole was not traced.
    pub fn follow_shoe_edit(&mut self, side: Side) -> Result<Edit, EngineError> {
        let (before, outlined) = self.edge(side)?;
        let clearance_mm = base::value_of(&before.shoe.params, &last::CLEARANCE);
        outline_edits::follow_shoe_edit(side, &outlined, clearance_mm)
    }

    /// The last outline fitted to a foot.
    pub(crate) fn fitted_outline(&mut self, side: Side) -> Result<Outline, EngineError> {
        Ok(self.edge(side)?.1.fitted.outline.clone())
    }

    /// A foot as it was when the gesture began, and its edge now.
    fn edge(&mut self, side: Side) -> Result<(FootCase, Arc<Outlined>), EngineError> {
        let derived = self.derived(side)?;
        let before = self.history.committed().feet[side].clone().ok_or(EngineError::NoFoot { side })?;
        let reason = || derived.problem.clone().unwrap_or_else(|| "there is none yet".to_owned());
        let outlined = derived.outlined.as_ref().ok_or_else(|| EngineError::Outline { side, reason: reason() })?;
        Ok((before, Arc::clone(&outlined.value)))
    }

    /// The edit that adds an element where its rule places it, or with its middle at a point of the plan.
    ///
    /// # Errors
    /// There is no such kind or no foot.
    pub fn place_edit(&mut self, side: Side, kind: &str, at: Option<[f64; 2]>) -> Result<Edit, EngineError> {
        let derived = self.derived(side)?;
        let mut params = Params::new();
        if let (Some(element), Some(outlined)) = (insole::elements::by_id(kind), &derived.outlined) {
            let edge = &outlined.edge;
            params = element.place(&Site { landmarks: &derived.landmarks, edge });
            // A left foot is designed mirrored, but what is written on it shall be read.
            if side == Side::Left && element.params().iter().any(|spec| spec.id == WRITTEN_FOR) {
                params.insert(WRITTEN_FOR.to_owned(), 1.0);
            }
            if let Some(at) = at {
                let item = ElementItem::new(kind, params);
                let by = DVec2::from_array(at) - element.crest(&item, edge);
                params = element_moves::shifted(&item, edge, by).0;
            }
        }
        Ok(Edit::add_element(side, kind, params))
    }

    /// The edit that gives the other foot the same element, mirrored, as one of its own.
    ///
    /// # Errors
    /// There is no such element.
    pub fn copy_element_edit(&mut self, side: Side, id: u32) -> Result<Edit, EngineError> {
        let foot = self.case().feet[side].as_ref().ok_or(EngineError::NoFoot { side })?;
        let item = foot.elements.iter().find(|item| item.id == id);
        let item = item.ok_or_else(|| EngineError::NoHandle { side, what: format!("element {id}") })?;
        let ElementItem { kind, params, curve, text, .. } = case::mirrored_item(item.clone());
        Ok(Edit::AddElement { side: side.other(), kind, params, curve, text })
    }

    /// A build of a foot's insole as it is: of the whole insole, or of one of its elements.
    ///
    /// # Errors
    /// There is no such foot or element, or no build can be called so.
    pub fn take_build(&mut self, side: Side, name: &str, element: Option<u32>) -> Result<Build, EngineError> {
        let derived = self.derived(side)?;
        let foot = self.case().feet[side].as_ref().ok_or(EngineError::NoFoot { side })?;
        let no_edge = || EngineError::NoHandle { side, what: "edge of an insole".to_owned() };
        let edge = &derived.outlined.as_ref().ok_or_else(no_edge)?.edge;
        let site = Site { landmarks: &derived.landmarks, edge };
        let wanted = foot.elements.iter().filter(|item| element.is_none_or(|id| item.id == id));
        let elements = wanted.filter_map(|item| BuildElement::of(item, &site)).collect();
        let surface = element.is_none().then(|| foot.surface.clone());
        let build = Build::new(name, "", surface, elements);
        build.to_json()?;
        Ok(build)
    }

    /// The edit that makes the insoles of `sides` by a build: one of the whole insole replaces numbers and elements, one of
    /// elements adds them. What was sculpted stays.
    ///
    /// # Errors
    /// One of the feet has no edge yet.
    pub fn use_build_edit(&mut self, sides: &[Side], build: &Build) -> Result<Edit, EngineError> {
        let mut edits = Vec::new();
        for &side in sides {
            let derived = self.derived(side)?;
            let foot = self.case().feet[side].as_ref().ok_or(EngineError::NoFoot { side })?;
            let no_edge = || EngineError::NoHandle { side, what: "edge of an insole".to_owned() };
            let edge = &derived.outlined.as_ref().ok_or_else(no_edge)?.edge;
            let site = Site { landmarks: &derived.landmarks, edge };
            if let Some(surface) = &build.surface {
                for spec in insole::PARAMS {
                    let (now, value) = (foot.surface.get(spec.id), surface.get(spec.id));
                    if now != value {
                        edits.push(Edit::SetSurface { side, param: spec.id.to_owned(), value: value.copied() });
                    }
                }
                for &ElementItem { id, twin, .. } in &foot.elements {
                    // Else it would go from the other foot with it.
                    edits.extend(twin.map(|_| Edit::TwinElement { side, id, on: false }));
                    edits.push(Edit::RemoveElement { side, id });
                }
            }
            for item in build.elements.iter().filter_map(|element| element.on(&site)) {
                let written = side == Side::Left && item.params.contains_key(WRITTEN_FOR);
                let ElementItem { kind, mut params, curve, text, .. } = item;
                if written {
                    params.insert(WRITTEN_FOR.to_owned(), 1.0);
                }
                edits.push(Edit::AddElement { side, kind, params, curve, text });
            }
        }
        Ok(Edit::Together { label: format!("use build {}", build.name), edits })
    }

    /// What every insole is compared with from now on; `None`: nothing.
    pub fn set_compare(&mut self, with: Option<CompareWith>) {
        self.compare = with;
    }

    /// Sets the case as it is aside, to be compared with later. Kept until the case is closed, not in its file.
    pub fn set_aside(&mut self) {
        self.set_aside = Some(Arc::clone(self.history.case()));
    }

    /// What lies between up to three places put on a foot's insole, foot frame, mm.
    ///
    /// # Errors
    /// There is no such foot.
    pub fn measured(&mut self, side: Side, points: &[[f64; 2]]) -> Result<MeasuredView, EngineError> {
        Ok(measured::measured(&self.derived(side)?, points))
    }

    /// The edit of one stroke of a brush along `path`, foot frame, mm: on the layer as it was when the gesture began.
    ///
    /// # Errors
    /// There is no such foot.
    pub fn sculpt_edit(&mut self, side: Side, brush: &Brush, path: &[[f64; 2]]) -> Result<Edit, EngineError> {
        let derived = self.derived(side)?;
        let before = self.history.committed().feet[side].as_ref().ok_or(EngineError::NoFoot { side })?;
        let now = self.case().feet[side].as_ref().ok_or(EngineError::NoFoot { side })?;
        let (then, now) = (Sculpt::new(&before.sculpt), Sculpt::new(&now.sculpt));
        let height = |sculpt: &Option<Sculpt>, p: DVec2| sculpt.as_ref().map_or(0.0, |sculpt| sculpt.height(p));
        // The surface is as the strokes of this gesture left it.
        let top = |p: DVec2| {
            let shaped = derived.shaped.as_ref().map_or(0.0, |shaped| shaped.surface.height_and_thickness(p).0);
            shaped - height(&now, p) + height(&then, p)
        };
        let path: Vec<DVec2> = path.iter().map(|&point| point.into()).collect();
        Ok(Edit::Sculpt { side, tool: brush.tool, tiles: before.sculpt.stroked(brush, &path, top) })
    }

    /// What an insole is compared with now.
    fn compared(&mut self, side: Side, pair: &PairDerived) -> Option<Compared> {
        let with = self.compare?;
        let now = pair.feet[side].as_ref().and_then(|derived| derived.shaped.clone())?;
        let (of, case) = match with {
            CompareWith::Other => (side.other(), Some(Arc::clone(self.history.case()))),
            CompareWith::Before => (side, self.history.before().cloned()),
            CompareWith::Kept => (side, self.set_aside.clone()),
            CompareWith::Bare => {
                let mut bare = self.history.case().as_ref().clone();
                if let Some(foot) = &mut bare.feet[side] {
                    foot.elements.clear();
                    foot.sculpt = SculptLayer::default();
                }
                (side, Some(Arc::new(bare)))
            }
        };
        let derived = case.and_then(|case| self.derive_case(&case).feet[of].take());
        let found = derived.and_then(|derived| Some((derived.outlined?, derived.shaped?)));
        let Some((outlined, other)) = found else {
            return Some(Compared { view: compare::missing(with), other: None, difference: None });
        };
        let key = (now.rev, other.rev);
        let made = |_: &(u64, u64)| Ok::<_, EngineError>(compare::difference(&now, &other));
        let difference = self.differences[side].get(key, &mut self.revisions, made).ok()?;
        let outline = snapshot::floats(&outlined.polygon);
        let view = compare::view(with, &difference, outline);
        Some(Compared { view, other: Some(other), difference: Some(difference) })
    }

    /// Everything a client shows but the big buffers.
    pub fn snapshot(&mut self) -> Snapshot {
        let pair = self.derive_all();
        let compared = BySide::from_fn(|side| self.compared(side, &pair));
        let revision = self.revisions.next();
        snapshot::snapshot(revision, &self.history, &pair, &compared)
    }

    /// How the insole differs from what it is compared with, mm at 1 mm; `None` while it is not.
    pub fn difference_grid(&mut self, side: Side) -> Option<GridBuffers> {
        let pair = self.derive_all();
        let difference = self.compared(side, &pair)?.difference?;
        Some(stages::masked(&difference, pair.feet[side].as_ref()?.outlined.as_ref()?))
    }

    /// The skin of a foot for the screen.
    pub fn foot_mesh(&mut self, side: Side) -> Option<MeshBuffers> {
        Some(self.derived(side).ok()?.scanned.buffers.clone())
    }

    /// The insole for the screen: closed, crisp at the rim; its indices stay while only heights change.
    pub fn insole_mesh(&mut self, side: Side) -> Option<MeshBuffers> {
        let derived = self.derived(side).ok()?;
        Some(self.stages[side].insole_mesh(&derived, &mut self.revisions)?.value.as_ref().clone())
    }

    /// Shore A at each vertex of [`Engine::insole_mesh`].
    pub fn insole_vertex_hardness(&mut self, side: Side) -> Option<Vec<f32>> {
        let derived = self.derived(side).ok()?;
        let (outlined, graded) = (derived.outlined.as_ref()?, derived.graded.as_ref()?);
        let value = |p| graded.grid.sample(p).unwrap_or_else(|| graded.field.value(p)) as f32;
        Some(outlined.topology.plan_positions().map(value).collect())
    }

    /// Shore A at 1 mm.
    pub fn hardness_grid(&mut self, side: Side) -> Option<GridBuffers> {
        let derived = self.derived(side).ok()?;
        Some(stages::masked(&derived.graded.as_ref()?.grid, derived.outlined.as_ref()?))
    }

    /// Thickness as designed, mm, at 1 mm.
    pub fn thickness_grid(&mut self, side: Side) -> Option<GridBuffers> {
        let derived = self.derived(side).ok()?;
        Some(stages::masked(&derived.shaped.as_ref()?.thickness, derived.outlined.as_ref()?))
    }

    /// A vertical cut through foot and insole.
    pub fn section(&mut self, side: Side, cut: Cut) -> Option<SectionView> {
        let pair = self.derive_all();
        let compared = self.compared(side, &pair);
        let derived = pair.feet[side].as_ref()?;
        let foot = self.case().feet[side].as_ref()?;
        let bend = derived.outlined.as_ref().and_then(|outlined| Bend::of(foot, outlined));
        let other = compared.as_ref().and_then(|compared| compared.other.as_deref());
        Some(section::section(derived, bend.as_ref(), other, cut))
    }

    /// Makes the files a workshop needs; `only` names families of output (`solid`, `sheet`), empty means all.
    ///
    /// # Errors
    /// A foot cannot be derived, its solid is not closed, or a family is unknown.
    pub fn make(&mut self, only: &[&str]) -> Result<Vec<MadeFile>, EngineError> {
        self.make_with(only, &Params::new())
    }

    /// As [`Engine::make`], with options of the formats by their ids; a format takes those it has.
    ///
    /// # Errors
    /// As [`Engine::make`], or an option is out of its range.
    pub fn make_with(&mut self, only: &[&str], options: &Params) -> Result<Vec<MadeFile>, EngineError> {
        self.make_in(&InHouse, only, options)
    }

    /// As [`Engine::make_with`], the files made in a workshop of the caller's.
    ///
    /// # Errors
    /// As [`Engine::make_with`], or the workshop fails.
    pub fn make_in(
        &mut self,
        workshop: &dyn Workshop,
        only: &[&str],
        options: &Params,
    ) -> Result<Vec<MadeFile>, EngineError> {
        let pair = self.derive_all();
        let snapshot = snapshot::snapshot(0, &self.history, &pair, &BySide::default());
        make::make(self.history.case(), &pair, &snapshot, only, options, workshop)
    }

    /// The case and its scans as a case file.
    ///
    /// # Errors
    /// A scan is not at hand.
    pub fn save(&self) -> Result<Vec<u8>, EngineError> {
        Ok(case::file::save(&self.file_name(), self.history.committed(), &self.blobs)?)
    }

    /// A file name for the case.
    #[must_use]
    pub fn file_name(&self) -> String {
        format!("{}.{}", make::file_stem(&self.case().title), case::file::EXTENSION)
    }

    /// Opens a case file in place of the present case; its history starts anew.
    ///
    /// # Errors
    /// The file cannot be read; the case is as it was.
    pub fn open(&mut self, name: &str, bytes: &[u8]) -> Result<(), EngineError> {
        let (case, blobs) = case::file::open(name, bytes)?;
        self.start(case, blobs);
        Ok(())
    }

    /// The last committed case as JSON: what autosave keeps.
    #[must_use]
    pub fn committed_json(&self) -> String {
        case::file::to_json(self.history.committed())
    }

    /// Content hashes of the scans the committed case needs.
    #[must_use]
    pub fn scan_hashes(&self) -> Vec<String> {
        case::file::scans_of(self.history.committed()).into_iter().map(|scan| scan.hash).collect()
    }

    /// The bytes of a scan.
    #[must_use]
    pub fn scan_bytes(&self, hash: &str) -> Option<Arc<[u8]>> {
        self.blobs.get(hash).cloned()
    }

    /// Starts from a case as [`Engine::committed_json`] gave it and the scans it needs.
    ///
    /// # Errors
    /// The text is no case or a scan is missing; the case is as it was.
    pub fn restore(&mut self, json: &str, scans: Vec<Vec<u8>>) -> Result<(), EngineError> {
        let case = case::file::from_json("autosave", json)?;
        let blobs: Blobs = scans.into_iter().map(|bytes| (case::file::content_hash(&bytes), bytes.into())).collect();
        if let Some(scan) = case::file::scans_of(&case).into_iter().find(|scan| !blobs.contains_key(&scan.hash)) {
            return Err(EngineError::ScanMissing { name: scan.name });
        }
        self.start(case, blobs);
        Ok(())
    }

    fn start(&mut self, case: Case, blobs: Blobs) {
        self.history = History::starting_at(case);
        self.blobs = blobs;
        self.stages = BySide::default();
        self.set_aside = None;
    }

    fn check_scans(&self, edit: &Edit) -> Result<(), EngineError> {
        match edit {
            Edit::AddScan { scan, .. } | Edit::AddSecondScan { second: case::SecondScan { scan, .. }, .. }
                if !self.blobs.contains_key(&scan.hash) =>
            {
                Err(EngineError::ScanMissing { name: scan.name.clone() })
            }
            Edit::Together { edits, .. } => edits.iter().try_for_each(|edit| self.check_scans(edit)),
            _ => Ok(()),
        }
    }

    /// Everything derived from one side.
    pub(crate) fn derived(&mut self, side: Side) -> Result<Derived, EngineError> {
        let mut pair = self.derive_all();
        match (pair.feet[side].take(), pair.problems[side].take()) {
            (Some(derived), _) => Ok(derived),
            (None, Some(reason)) => Err(EngineError::Surface { side, reason }),
            (None, None) => Err(EngineError::NoFoot { side }),
        }
    }

    /// Everything derived; stages whose inputs did not change are not computed again.
    pub(crate) fn derive_all(&mut self) -> PairDerived {
        let case = Arc::clone(self.history.case());
        self.derive_case(&case)
    }

    /// Everything derived from a case on the scans at hand.
    fn derive_case(&mut self, case: &Case) -> PairDerived {
        let mut problems = BySide::<Option<String>>::default();
        let mut intakes = BySide::<Option<Intake>>::default();
        for (side, foot) in case.feet.iter() {
            let Some(foot) = foot else { continue };
            match self.stages[side].intake(foot, &self.blobs, &Work::quiet(), &mut self.revisions) {
                Ok(intake) => intakes[side] = Some(intake),
                Err(error) => problems[side] = Some(error.to_string()),
            }
        }
        let lengths = BySide::from_fn(|side| intakes[side].as_ref().and_then(|intake| intake.value("foot_length_mm")));
        let breadths =
            BySide::from_fn(|side| intakes[side].as_ref().and_then(|intake| intake.value("foot_breadth_mm")));
        let size = pair_size(case, lengths, breadths);
        let mut feet = BySide::<Option<Derived>>::default();
        for (side, foot) in case.feet.iter() {
            if let (Some(foot), Some(intake)) = (foot, intakes[side].take()) {
                let last_length_mm = size.as_ref().map_or(0.0, |size| size.last_length_of(side));
                let derived = self.stages[side].derive(
                    side,
                    foot,
                    case.weight_bearing,
                    last_length_mm,
                    intake,
                    &mut self.revisions,
                );
                problems[side].clone_from(&derived.problem);
                feet[side] = Some(derived);
            }
        }
        PairDerived { size, feet, problems }
    }
}
