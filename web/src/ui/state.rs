//! What the page knows: the engine's latest snapshot and buffers, and what only the page decides (stage, selection,
//! cursor, mode). Selection and cursor are no part of the case and not undone.

use super::fit_picture::ShoePicture;
use super::geometry::{P2, View};
use super::own_builds::OwnBuild;
use crate::view3d::View3d;
use crate::worker::{self, Bench, FootBuffers, Grid, Mesh};
use base::{BySide, Severity, Side};
use engine::view::{Cut, FootView, HandleView, MeasuredView, OutlineHand, SectionView, Snapshot, Target};
use foot::LandmarkId;
use insole::sculpt::{Brush, Tool};
use leptos::html::Div;
use leptos::prelude::*;
use std::collections::BTreeSet;
use std::rc::Rc;

/// Where one is in the work.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Stage {
    Intake,
    Measure,
    Fit,
    Shape,
    Grade,
    Make,
}

impl Stage {
    pub(crate) const ALL: [Stage; 6] =
        [Stage::Intake, Stage::Measure, Stage::Fit, Stage::Shape, Stage::Grade, Stage::Make];

    pub(crate) fn label(self) -> &'static str {
        match self {
            Stage::Intake => "Intake",
            Stage::Measure => "Measure",
            Stage::Fit => "Fit",
            Stage::Shape => "Shape",
            Stage::Grade => "Grade",
            Stage::Make => "Make",
        }
    }

    /// Lower-case word for test ids.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Stage::Intake => "intake",
            Stage::Measure => "measure",
            Stage::Fit => "fit",
            Stage::Shape => "shape",
            Stage::Grade => "grade",
            Stage::Make => "make",
        }
    }

    /// What is decided here, in a few words.
    pub(crate) fn purpose(self) -> &'static str {
        match self {
            Stage::Intake => "Scans, units, sides and load",
            Stage::Measure => "Landmarks and measures",
            Stage::Fit => "Size, last and outline",
            Stage::Shape => "Bearing surface and elements",
            Stage::Grade => "How hard each part is",
            Stage::Make => "Checks and files for the shop",
        }
    }

    /// How to begin here, shown until a field has something to say.
    pub(crate) fn tip(self) -> &'static str {
        match self {
            Stage::Intake => {
                "State how the feet were loaded, and check unit and side of each scan; drag the arrows at the ankle to cut the leg."
            }
            Stage::Measure => {
                "Choose a landmark and move it on the sheet, in the 3D view or on a cut; choose a measure to see its line."
            }
            Stage::Fit => {
                "The proposed size holds the longer foot. Drag the edge or its points on the sheet; each number is fitted until you decide it."
            }
            Stage::Shape => "Drag the arrows on the cuts to set heights; add elements and drag them by their handles.",
            Stage::Grade => {
                "Set the base, then draw regions that are softer or harder. The change across a curve is gradual."
            }
            Stage::Make => "",
        }
    }

    /// Whether this stage works with `target`: its handles are shown then.
    pub(crate) fn shows(self, target: &Target) -> bool {
        match target {
            Target::Landmark { .. } => self == Stage::Measure,
            Target::LegCut => self == Stage::Intake,
            Target::Element { .. }
            | Target::ElementPoint { .. }
            | Target::ElementCurve { .. }
            | Target::ElementBody { .. }
            | Target::Surface { .. } => self == Stage::Shape,
            Target::RegionPoint { .. } => self == Stage::Grade,
            Target::OutlineKnot { .. }
            | Target::OutlineCurve { .. }
            | Target::TrimEnd { .. }
            | Target::ShoeInsole { .. } => self == Stage::Fit,
        }
    }
}

/// A handle of one foot.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Held {
    pub(crate) side: Side,
    pub(crate) target: Target,
}

/// The element a handle belongs to.
pub(crate) fn element_of(target: &Target) -> Option<u32> {
    match target {
        Target::Element { id, .. }
        | Target::ElementPoint { id, .. }
        | Target::ElementCurve { id, .. }
        | Target::ElementBody { id, .. } => Some(*id),
        _ => None,
    }
}

/// The hardness region a handle belongs to.
pub(crate) fn region_of(target: &Target) -> Option<u32> {
    match target {
        Target::RegionPoint { id, .. } => Some(*id),
        _ => None,
    }
}

/// What a click on the sheet or in the 3D view does.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) enum Mode {
    /// Selects, drags, moves the cursor.
    #[default]
    Select,
    /// Places an element of this kind.
    Place { kind: String },
    /// Adds a point to a new hardness region of one foot.
    Draw { side: Side, points: Vec<P2> },
    /// Lays a foot anew: takes the next of three points on its skin.
    Lay { side: Side, points: Vec<[f64; 3]> },
    /// Puts a landmark on the skin.
    Mark { id: LandmarkId },
    /// Changes the insole's edge at the next point clicked on; `from` is where a stretch begins.
    Edge { tool: EdgeTool, from: Option<usize> },
    /// Draws the outline of an element.
    Outline { side: Side, element: u32, points: Vec<P2> },
    /// Paints with [`Ui::brush`] where the pointer goes.
    Sculpt,
    /// Puts down the places to measure between, up to three.
    Measure { side: Side, points: Vec<P2> },
    /// Puts down the two ends of a cut.
    CutLine { side: Side, from: Option<P2> },
}

impl Mode {
    /// The closed curve being drawn: of which foot, and its points so far.
    pub(crate) fn drawn(&self) -> Option<(Side, &[P2])> {
        match self {
            Mode::Draw { side, points } | Mode::Outline { side, points, .. } => Some((*side, points)),
            _ => None,
        }
    }

    /// The foot that clicks are about, where that is settled.
    pub(crate) fn bound_to(&self) -> Option<Side> {
        match self {
            Mode::Draw { side, points } if !points.is_empty() => Some(*side),
            Mode::Outline { side, .. } | Mode::CutLine { side, from: Some(_) } => Some(*side),
            _ => None,
        }
    }
}

/// What is done to the insole's edge by clicks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum EdgeTool {
    Add,
    Straighten,
    Smooth,
}

/// A message to the person.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Notice {
    pub(crate) id: u32,
    pub(crate) severity: Severity,
    pub(crate) text: String,
}

/// How the foot is shown in the 3D view.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Skin {
    Solid,
    Ghost,
    Off,
}

/// What colours the insole, on the sheet and in the 3D view.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Paint {
    Material,
    Hardness,
    Thickness,
    /// How it differs from what it is compared with.
    Difference,
}

/// The plan's view, and the element it is drawn in.
pub(crate) type PlanView = (Memo<View>, NodeRef<Div>);

/// A signal whose value stays on the page's own thread.
pub(crate) type Local<T> = RwSignal<T, LocalStorage>;

/// The page's state. Copy: a bundle of signals.
#[derive(Clone, Copy)]
pub(crate) struct Ui {
    /// The engine, once started.
    pub(crate) bench: StoredValue<Option<Bench>, LocalStorage>,
    /// The case as derived; `None` before the engine's first answer.
    pub(crate) snapshot: Local<Option<Rc<Snapshot>>>,
    pub(crate) buffers: BySide<Buffers>,
    /// The cuts of [`Ui::cuts_wanted`]: lengthwise or along a drawn line, across.
    pub(crate) cuts: Local<Rc<Vec<Option<SectionView>>>>,
    pub(crate) stage: RwSignal<Stage>,
    pub(crate) side: RwSignal<Side>,
    /// Where both cuts of a foot cross, its frame.
    pub(crate) cursor: BySide<RwSignal<P2>>,
    pub(crate) held: RwSignal<Option<Held>>,
    pub(crate) hovered: RwSignal<Option<Held>>,
    /// The handle under the hand.
    pub(crate) dragged: RwSignal<Option<Held>>,
    /// Where the hand has moved it, foot frame, mm; `None` before the first movement.
    pub(crate) moved_to: RwSignal<Option<[f64; 3]>>,
    /// Where a handle was let go, while the engine has not answered yet: the next key moves it on from there.
    pub(crate) settling: RwSignal<Option<(Held, [f64; 3])>>,
    /// The handle in hand is moved by keys.
    pub(crate) nudging: RwSignal<bool>,
    pub(crate) measure: RwSignal<Option<String>>,
    pub(crate) mode: RwSignal<Mode>,
    /// mm per pixel and mm per grey level of the next height image.
    pub(crate) heights: (RwSignal<Option<f64>>, RwSignal<Option<f64>>),
    /// How the insole's edge is changed.
    pub(crate) hand: RwSignal<OutlineHand>,
    /// A picture of a shoe's insole that waits for its scale.
    pub(crate) picture: Local<Option<Rc<ShoePicture>>>,
    /// The brush of [`Mode::Sculpt`].
    pub(crate) brush: RwSignal<Brush>,
    /// Where the brush is held: the foot, the place in plan, and whether in the 3D view.
    pub(crate) brush_at: RwSignal<Option<(Side, P2, bool)>>,
    /// The stroke under the hand: the foot, and where it went so far.
    pub(crate) stroke: RwSignal<Option<(Side, Vec<P2>)>>,
    /// What was measured last, and on which foot.
    pub(crate) measured: RwSignal<Option<(Side, MeasuredView)>>,
    /// A cut along a drawn line, shown in place of the one lengthwise.
    pub(crate) cut_line: BySide<RwSignal<Option<[P2; 2]>>>,
    /// Numbers of the bearing surface are set on both feet.
    pub(crate) both: RwSignal<bool>,
    /// Shore A and transition, mm, of the next region drawn.
    pub(crate) new_region: (RwSignal<f64>, RwSignal<f64>),
    pub(crate) paint: RwSignal<Paint>,
    pub(crate) skin: RwSignal<Skin>,
    pub(crate) notices: RwSignal<Vec<Notice>>,
    /// What is being waited for, in words, and how far it is, 0 … 1.
    pub(crate) busy: RwSignal<Option<(String, f64)>>,
    /// Help on the field in use.
    pub(crate) hint: RwSignal<String>,
    /// Counts edits that were refused: fields then show the value in force again.
    pub(crate) refused: RwSignal<u32>,
    /// The 3D view, where there is one.
    pub(crate) view3d: StoredValue<Option<View3d>, LocalStorage>,
    /// Only the active foot is shown, on the sheet and in the 3D view.
    pub(crate) alone: RwSignal<bool>,
    /// The plan's view and its body, for those who ask where something lies on the screen.
    pub(crate) plan_view: StoredValue<Option<PlanView>, LocalStorage>,
    /// The first foot, or a kept case, has been drawn.
    pub(crate) ready: RwSignal<bool>,
    /// Whether light or dark; the 3D view asks.
    pub(crate) dark: RwSignal<bool>,
    /// Parts of the panel that are unfolded, by their names.
    pub(crate) unfolded: StoredValue<BTreeSet<&'static str>>,
    /// The builds kept in this browser.
    pub(crate) own_builds: RwSignal<Vec<OwnBuild>>,
}

/// Where the cuts cross before anybody moved them: behind the ball and on the axis.
const FIRST_CURSOR: P2 = [110.0, 12.0];

impl Ui {
    pub(crate) fn new() -> Ui {
        Ui {
            bench: StoredValue::new_local(None),
            snapshot: RwSignal::new_local(None),
            buffers: BySide::from_fn(|_| Buffers::new()),
            cuts: RwSignal::new_local(Rc::default()),
            stage: RwSignal::new(Stage::Intake),
            side: RwSignal::new(Side::Left),
            cursor: BySide::from_fn(|_| RwSignal::new(FIRST_CURSOR)),
            held: RwSignal::new(None),
            hovered: RwSignal::new(None),
            dragged: RwSignal::new(None),
            moved_to: RwSignal::new(None),
            settling: RwSignal::new(None),
            nudging: RwSignal::new(false),
            measure: RwSignal::new(None),
            mode: RwSignal::new(Mode::Select),
            heights: (RwSignal::new(None), RwSignal::new(None)),
            hand: RwSignal::new(OutlineHand::default()),
            picture: RwSignal::new_local(None),
            brush: RwSignal::new(Brush { tool: Tool::Raise, radius_mm: 12.0, strength: 1.0 }),
            brush_at: RwSignal::new(None),
            stroke: RwSignal::new(None),
            measured: RwSignal::new(None),
            cut_line: BySide::from_fn(|_| RwSignal::new(None)),
            both: RwSignal::new(false),
            new_region: (RwSignal::new(hardness::SHORE_A.default), RwSignal::new(hardness::TRANSITION.default)),
            paint: RwSignal::new(Paint::Hardness),
            skin: RwSignal::new(Skin::Ghost),
            notices: RwSignal::new(Vec::new()),
            busy: RwSignal::new(None),
            hint: RwSignal::new(String::new()),
            refused: RwSignal::new(0),
            view3d: StoredValue::new_local(None),
            alone: RwSignal::new(false),
            plan_view: StoredValue::new_local(None),
            ready: RwSignal::new(false),
            dark: RwSignal::new(false),
            unfolded: StoredValue::new(super::stage_shape::UNFOLDED.into()),
            own_builds: RwSignal::new(Vec::new()),
        }
    }

    /// A part of the case that changes only when it does; `None` before there is a case.
    pub(crate) fn part<T>(self, read: impl Fn(&Snapshot) -> T + Send + Sync + 'static) -> Memo<Option<T>>
    where
        T: PartialEq + Send + Sync + 'static,
    {
        Memo::new(move |_| self.snapshot.with(|snapshot| snapshot.as_deref().map(&read)))
    }

    /// A part of one foot; `None` without that foot.
    pub(crate) fn foot<T>(self, side: Side, read: impl Fn(&FootView) -> T + Send + Sync + 'static) -> Memo<Option<T>>
    where
        T: PartialEq + Send + Sync + 'static,
    {
        Memo::new(move |_| self.with_foot(side, &read))
    }

    /// A part of the active foot; `None` without it.
    pub(crate) fn active<T>(self, read: impl Fn(&FootView) -> T + Send + Sync + 'static) -> Memo<Option<T>>
    where
        T: PartialEq + Send + Sync + 'static,
    {
        Memo::new(move |_| self.with_foot(self.side.get(), &read))
    }

    /// Reads one foot; `None` without it.
    pub(crate) fn with_foot<T>(self, side: Side, read: impl FnOnce(&FootView) -> T) -> Option<T> {
        self.snapshot.with(|snapshot| Some(read(snapshot.as_deref()?.feet[side].as_ref()?)))
    }

    /// Whether that foot is shown on the sheet and in the 3D view.
    pub(crate) fn shows(self, side: Side) -> bool {
        !self.alone.get() || self.side.get() == side
    }

    /// Does something with the 3D view; `None` where there is none.
    pub(crate) fn with_view3d<T>(self, act: impl FnOnce(&View3d) -> T) -> Option<T> {
        // A clone is the same view; the store is free again while it acts and calls back.
        self.view3d.get_value().map(|view| act(&view))
    }

    /// Whether the case has that foot.
    pub(crate) fn has(self, side: Side) -> bool {
        self.with_foot(side, |_| ()).is_some()
    }

    /// The handle as it stands now.
    pub(crate) fn handle(self, held: &Held) -> Option<HandleView> {
        self.with_foot(held.side, |foot| foot.handles.iter().find(|handle| handle.target == held.target).cloned())
            .flatten()
    }

    /// Selects a handle, makes its foot the active one and lets both cuts run through it.
    pub(crate) fn hold(self, held: Held) {
        self.go_to(held.side, None);
        if let Some(handle) = untrack(|| self.handle(&held)) {
            self.go_to(held.side, Some([handle.at[0], handle.at[1]]));
        }
        self.held.set(Some(held));
    }

    /// Makes `side` active and, with `at`, moves its cursor there.
    pub(crate) fn go_to(self, side: Side, at: Option<P2>) {
        if self.side.get_untracked() != side {
            self.side.set(side);
        }
        if let Some(at) = at {
            self.cursor[side].set(at);
        }
    }

    /// The cuts to show: lengthwise and across, through the cursor of the active foot.
    pub(crate) fn cuts_wanted(self) -> Vec<(Side, Cut)> {
        let side = self.side.get();
        let [x, y] = self.cursor[side].get();
        let line = self.cut_line[side].get();
        let first = line.map_or(Cut::Longitudinal(y), |[from, to]| Cut::Line(from, to));
        vec![(side, first), (side, Cut::Transverse(x))]
    }

    /// Tells the person something.
    pub(crate) fn notify(self, severity: Severity, text: impl Into<String>) {
        let text = text.into();
        self.notices.update(|notices| {
            notices.retain(|notice| notice.text != text);
            let id = notices.last().map_or(0, |notice| notice.id + 1);
            notices.push(Notice { id, severity, text });
            // More than three would cover the sheet.
            let surplus = notices.len().saturating_sub(3);
            notices.drain(..surplus);
        });
    }

    /// Takes in what the engine sent.
    pub(crate) fn receive(self, update: worker::Update) {
        for side in Side::ALL {
            self.buffers[side].receive(&update.feet[side]);
        }
        self.cuts.set(update.sections);
        let snapshot = update.snapshot;
        if self.snapshot.with_untracked(|now| now.as_ref().is_some_and(|now| Rc::ptr_eq(now, &snapshot))) {
            return;
        }
        // The other foot may be the only one now.
        let side = self.side.get_untracked();
        if snapshot.feet[side].is_none() && snapshot.feet[side.other()].is_some() {
            self.side.set(side.other());
        }
        self.snapshot.set(Some(snapshot));
    }
}

/// One foot's buffers, a signal each: what did not change wakes nobody.
#[derive(Clone, Copy)]
pub(crate) struct Buffers {
    pub(crate) foot: Local<Option<Mesh>>,
    /// The scan's colours at each vertex of `foot`: sRGB, three bytes each.
    pub(crate) foot_colours: Local<Option<Rc<Vec<u8>>>>,
    pub(crate) insole: Local<Option<Mesh>>,
    /// Shore A at each vertex of `insole`.
    pub(crate) insole_shore_a: Local<Option<Rc<Vec<f32>>>>,
    pub(crate) hardness: Local<Option<Grid>>,
    pub(crate) thickness: Local<Option<Grid>>,
    pub(crate) difference: Local<Option<Grid>>,
}

impl Buffers {
    fn new() -> Buffers {
        Buffers {
            foot: RwSignal::new_local(None),
            foot_colours: RwSignal::new_local(None),
            insole: RwSignal::new_local(None),
            insole_shore_a: RwSignal::new_local(None),
            hardness: RwSignal::new_local(None),
            thickness: RwSignal::new_local(None),
            difference: RwSignal::new_local(None),
        }
    }

    fn receive(self, now: &FootBuffers) {
        set_if(self.foot, &now.foot, Mesh::is);
        set_if(self.foot_colours, &now.foot_colours, Rc::ptr_eq);
        set_if(self.insole, &now.insole, Mesh::is);
        set_if(self.insole_shore_a, &now.insole_shore_a, Rc::ptr_eq);
        // Samples outside are no numbers and equal nothing: it is the very same grid or another one.
        let same = |a: &Grid, b: &Grid| Rc::ptr_eq(&a.values, &b.values);
        set_if(self.hardness, &now.hardness, same);
        set_if(self.thickness, &now.thickness, same);
        set_if(self.difference, &now.difference, same);
    }
}

fn set_if<T: Clone + 'static>(signal: Local<Option<T>>, now: &Option<T>, same: impl Fn(&T, &T) -> bool) {
    let unchanged = signal.with_untracked(|before| match (before, now) {
        (Some(before), Some(now)) => same(before, now),
        (None, None) => true,
        _ => false,
    });
    if !unchanged {
        signal.set(now.clone());
    }
}

/// The page's signals, from anywhere below the page.
pub(crate) fn ui() -> Ui {
    expect_context::<Ui>()
}
