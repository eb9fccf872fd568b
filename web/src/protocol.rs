//! What page and engine say to each other, wherever the engine runs.
//!
//! A [`Request`] goes in, an [`Answer`] comes out. Small things are serde data; big ones are plain buffers that cross
//! between threads by transfer, never through serde (`parcel`). Coordinates are in the foot frame of the side
//! named, mm.

use base::{Params, Side};
use case::Edit;
use engine::view::{CompareWith, MeasuredView, OutlineHand};
use engine::{Added, Cut, SectionView, Snapshot, Target};
use foot::{ScanKind, WeightBearing};
use insole::build::Build;
use insole::sculpt::Brush;
use last::OutlineChange;
use scan::HeightScale;
use serde::{Deserialize, Serialize};

/// Something asked of the engine. What changes the case is answered with a new [`State`].
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Request {
    /// The whole state again, every buffer included.
    Snapshot,
    /// One edit as one step.
    Apply(Edit),
    /// A gesture begins.
    Begin,
    /// An edit shown, not yet a step; replaces the preview before. Send it through `Bench::preview`.
    Preview(Edit),
    /// The gesture becomes one step.
    Commit,
    /// The gesture never was.
    Cancel,
    /// One step back.
    Undo,
    /// One step forward.
    Redo,
    /// Moves a handle: the engine makes the edit.
    Move {
        /// The side.
        side: Side,
        /// What is moved.
        target: Target,
        /// Where to.
        to: [f64; 3],
        /// Shown only, or done. Send previews through `Bench::preview`.
        phase: Phase,
    },
    /// Adds an element by its landmark rule, or centred at a place in plan.
    Place {
        /// The side.
        side: Side,
        /// Its id in `insole::elements::ALL`.
        kind: String,
        /// Centre in plan.
        at: Option<[f64; 2]>,
    },
    /// Gives the other foot the same element, mirrored.
    CopyElement {
        /// The side it is taken from.
        side: Side,
        /// The element's id in that foot.
        id: u32,
    },
    /// One stroke of a brush on a foot's insole.
    Sculpt {
        /// The side.
        side: Side,
        /// The brush.
        brush: Brush,
        /// Where it went so far, foot frame, mm.
        path: Vec<[f64; 2]>,
        /// Shown only, or done. Send previews through `Bench::preview`.
        phase: Phase,
    },
    /// What every insole is compared with from now on.
    Compare {
        /// With what; `None`: with nothing.
        with: Option<CompareWith>,
    },
    /// Sets the case as it is aside, to be compared with later.
    SetAside,
    /// Measures between up to three places on a foot's insole. Answers [`Reply::Measured`].
    Measure {
        /// The side.
        side: Side,
        /// The places, foot frame, mm.
        points: Vec<[f64; 2]>,
    },
    /// A build of a foot's insole, or of one element of it, as the text of its file. Answers [`Reply::Json`].
    TakeBuild {
        /// The side.
        side: Side,
        /// What it shall be called.
        name: String,
        /// The element's id; `None`: the whole insole.
        element: Option<u32>,
    },
    /// Makes insoles by a build.
    UseBuild {
        /// Of which feet.
        sides: Vec<Side>,
        /// The build.
        build: Build,
    },
    /// How handles on the insole's edge are moved from now on.
    Hand(OutlineHand),
    /// Changes the insole's edge by hand.
    Outline {
        /// The side.
        side: Side,
        /// The change.
        change: OutlineChange,
        /// How.
        hand: OutlineHand,
    },
    /// Gives the other foot the same edge, mirrored.
    CopyOutline {
        /// The side it is taken from.
        side: Side,
    },
    /// Draws the edge along the shoe's own insole.
    FollowShoe {
        /// The side.
        side: Side,
    },
    /// Traces the shoe's own insole from an outline drawing: the one file sent along.
    TraceDrawing {
        /// The side.
        side: Side,
        /// File name.
        name: String,
    },
    /// Traces the shoe's own insole from a picture: its grey levels, row by row from the top, are the one file sent along.
    TracePicture {
        /// The side.
        side: Side,
        /// File name.
        name: String,
        /// Columns.
        width: usize,
        /// Rows.
        height: usize,
        /// Scale.
        mm_per_pixel: f64,
        /// A place on the insole, pixels; `None`: the largest thing.
        seed: Option<[f64; 2]>,
    },
    /// Brings in scans, as one step; their bytes are the files sent along. Answers [`Reply::Added`].
    AddScans {
        /// File names, in the order of the files.
        names: Vec<String>,
        /// The side, if known.
        side: Option<Side>,
        /// What they show, if known.
        kind: Option<ScanKind>,
        /// The scale of height images.
        heights: Option<HeightScale>,
    },
    /// Puts a second scan of a foot beside the first; its bytes are the one file sent along.
    AddSecond {
        /// The side.
        side: Side,
        /// File name.
        name: String,
        /// How the foot was loaded.
        state: WeightBearing,
        /// The scale of a height image.
        heights: Option<HeightScale>,
    },
    /// Lays a foot anew by three points on its skin: heel, ball at the big toe, ball at the little toe.
    Lay {
        /// The side.
        side: Side,
        /// Foot frame as it is now, mm.
        clicks: [[f64; 3]; 3],
    },
    /// Takes a scan in again as something else.
    Retake {
        /// The side.
        side: Side,
        /// What it shows.
        kind: Option<ScanKind>,
        /// The scale of a height image.
        heights: Option<HeightScale>,
    },
    /// Opens a case file; its bytes are the one file sent along.
    Open {
        /// File name.
        name: String,
    },
    /// The case file. Answers [`Reply::Files`] with one file, named after the case.
    Save,
    /// What goes to the shop. Answers [`Reply::Files`].
    Make {
        /// `solid`, `sheet`; everything when empty.
        only: Vec<String>,
        /// Options of the formats, by their ids.
        options: Params,
    },
    /// One cut, once. Answers [`Reply::Section`].
    Section {
        /// The side.
        side: Side,
        /// Where.
        cut: Cut,
    },
    /// The cuts to send along with every new state from now on. Send it through `Bench::watch`.
    Watch {
        /// The cuts, in the order in which they come back.
        cuts: Vec<(Side, Cut)>,
    },
    /// Puts back a kept case; the scans are the files sent along.
    Restore {
        /// What [`Reply::Json`] held.
        json: String,
    },
    /// The last committed case. Answers [`Reply::Json`].
    Json,
    /// The bytes of a scan. Answers [`Reply::Files`]: one file, or none if no scan has that hash.
    ScanBytes {
        /// SHA-256 of the file.
        hash: String,
    },
    /// Makes the engine fail as it never should: for tests of what happens then.
    Crash,
}

/// How far a movement is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Phase {
    /// Under the hand: shown, not a step.
    Preview,
    /// Let go: one step, together with the previews before it.
    Commit,
}

/// What a request is answered with besides the state. `B` is how file bytes are held: `Vec<u8>` beside the engine,
/// a JavaScript array in the page, so that a scan of 50 MB never enters the page's own memory.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Reply<B> {
    /// Done; nothing to add.
    Done,
    /// Undo or redo: whether there was a step.
    Stepped(bool),
    /// Scans were taken in.
    Added(Vec<Added>),
    /// A cut; `None` without that foot.
    Section(Option<SectionView>),
    /// What was measured.
    Measured(MeasuredView),
    /// The last committed case, or a build.
    Json(String),
    /// Files.
    Files(Vec<File<B>>),
}

impl<B> Reply<B> {
    /// The same reply with its file bytes held in another way.
    pub fn map<C>(self, hold: impl FnMut(B) -> C) -> Reply<C> {
        let mut hold = hold;
        match self {
            Reply::Done => Reply::Done,
            Reply::Stepped(stepped) => Reply::Stepped(stepped),
            Reply::Added(added) => Reply::Added(added),
            Reply::Section(section) => Reply::Section(section),
            Reply::Measured(measured) => Reply::Measured(measured),
            Reply::Json(json) => Reply::Json(json),
            Reply::Files(files) => Reply::Files(files.into_iter().map(|file| file.map(&mut hold)).collect()),
        }
    }
}

/// A file that leaves the engine.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct File<B> {
    /// File name.
    pub name: String,
    /// Media type.
    pub media_type: String,
    /// Content.
    pub bytes: B,
}

impl<B> File<B> {
    fn map<C>(self, hold: impl FnOnce(B) -> C) -> File<C> {
        File { name: self.name, media_type: self.media_type, bytes: hold(self.bytes) }
    }
}

/// The answer to a request. The error is a whole sentence for the person.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer<B> {
    /// What came of it.
    pub outcome: Result<Reply<B>, String>,
    /// What is new to show.
    pub state: Option<State>,
}

/// What is new to show.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct State {
    /// The snapshot; always there when the case changed.
    pub snapshot: Option<Snapshot>,
    /// The buffers that changed since the last state, and only they.
    pub parts: Vec<Part>,
    /// The watched cuts, in the order of [`Request::Watch`]; `None` for a foot that is not there.
    pub sections: Vec<Option<SectionView>>,
    /// What to keep, when the committed case is another one than in the last state.
    pub kept: Option<Kept>,
}

/// A case as it is kept between visits.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Kept {
    /// The case as JSON text.
    pub json: String,
    /// The scans it refers to, by hash, each once.
    pub scans: Vec<String>,
}

/// One buffer of one foot.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// The side.
    pub side: Side,
    /// Which buffer.
    pub name: PartName,
    /// What is in it.
    pub content: Content,
}

/// The buffers a foot has.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum PartName {
    /// Skin: x y z, mm.
    FootPositions,
    /// Skin: unit normals.
    FootNormals,
    /// Skin: three indices a triangle.
    FootIndices,
    /// Skin: sRGB, three bytes a vertex.
    FootColours,
    /// Insole's solid: x y z, mm.
    InsolePositions,
    /// Insole's solid: unit normals.
    InsoleNormals,
    /// Insole's solid: three indices a triangle.
    InsoleIndices,
    /// Shore A at each vertex of the insole's solid.
    InsoleShoreA,
    /// Shore A on a grid.
    HardnessGrid(GridFrame),
    /// Thickness in mm on a grid.
    ThicknessGrid(GridFrame),
    /// Difference from what the insole is compared with, mm on a grid.
    DifferenceGrid(GridFrame),
}

/// What a buffer holds.
#[derive(Clone, Debug, PartialEq)]
pub enum Content {
    /// There is none any more.
    Gone,
    /// Floats.
    Floats(Vec<f32>),
    /// Indices.
    Indices(Vec<u32>),
    /// Bytes.
    Bytes(Vec<u8>),
}

/// Where a grid lies.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct GridFrame {
    /// Position of the first sample, mm.
    pub origin_mm: [f64; 2],
    /// Distance between samples, mm.
    pub step_mm: f64,
    /// Samples a row.
    pub columns: usize,
    /// Rows.
    pub rows: usize,
}
