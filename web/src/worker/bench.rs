use crate::protocol::{GridFrame, Reply, Request};
use base::{BySide, Side};
use engine::{Cut, SectionView, Snapshot};
use js_sys::Uint8Array;
use std::rc::Rc;

/// The page's end of the engine. Cheap to clone: every clone is the same bench.
#[derive(Clone)]
pub struct Bench {
    inner: Rc<()>,
}

/// What the page shows from now on.
#[derive(Clone, Debug)]
pub struct Update {
    /// The case.
    pub snapshot: Rc<Snapshot>,
    /// The latest buffers of both feet. A part that did not change is the very same `Rc` as in the update before.
    pub feet: BySide<FootBuffers>,
    /// The watched cuts, in the order in which they were watched; `None` for a foot that is not there.
    pub sections: Rc<Vec<Option<SectionView>>>,
}

/// The latest buffers of one foot.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FootBuffers {
    /// Skin of the foot.
    pub foot: Option<Mesh>,
    /// The insole's solid.
    pub insole: Option<Mesh>,
    /// Shore A at each vertex of `insole`.
    pub insole_shore_a: Option<Rc<Vec<f32>>>,
    /// Shore A on a 1 mm grid, `NaN` outside.
    pub hardness: Option<Grid>,
    /// Thickness in mm on a 1 mm grid, `NaN` outside.
    pub thickness: Option<Grid>,
}

/// A mesh, shared.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mesh {
    /// x y z, mm, foot frame.
    pub positions: Rc<Vec<f32>>,
    /// Unit normals.
    pub normals: Rc<Vec<f32>>,
    /// Three indices a triangle.
    pub indices: Rc<Vec<u32>>,
}

/// A grid, shared.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Grid {
    /// Where it lies.
    pub frame: GridFrame,
    /// `columns * rows` samples, rows along +y, columns along +x; `NaN` outside.
    pub values: Rc<Vec<f32>>,
}

/// How far long work is.
#[derive(Clone, Debug, PartialEq)]
pub struct Progress {
    /// What is being done, in words.
    pub what: String,
    /// 0 … 1.
    pub fraction: f64,
}

/// Something the person must be told. [`Trouble::sentence`] says it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Trouble {
    /// No worker starts here: everything works, but long work stops the page meanwhile.
    NoWorker,
    /// The engine failed and was started anew; the case is as it was after the last finished step.
    Restarted,
    /// The engine fails even on the kept case: it begins empty. The kept case is in the download offered.
    Lost {
        /// The case as JSON text.
        json: String,
    },
    /// Nothing is kept between visits.
    NotKept {
        /// Why.
        reason: String,
    },
}

impl Trouble {
    /// What happened and what to do, for the person.
    #[must_use]
    pub fn sentence(&self) -> String {
        String::new()
    }
}

impl Bench {
    /// Starts the engine, puts back the kept case if there is one, and tells the page of everything that follows.
    /// The callbacks are called from the page's own event loop, never from inside a call of this type.
    pub fn start(
        on_update: impl Fn(Update) + 'static,
        on_progress: impl Fn(Option<Progress>) + 'static,
        on_trouble: impl Fn(Trouble) + 'static,
    ) -> Bench {
        let _ = (on_update, on_progress, on_trouble);
        Bench { inner: Rc::new(()) }
    }

    /// Sends a request. Requests are answered in the order in which they were sent; the update it causes arrives
    /// before its answer.
    ///
    /// # Errors
    /// A sentence for the person: what is wrong, where, and what to do.
    pub async fn send(&self, request: Request) -> Result<Reply<Uint8Array>, String> {
        self.send_with(request, Vec::new()).await
    }

    /// Sends a request with the files it needs (see [`Request`]). The arrays are handed over: their buffers are empty
    /// afterwards.
    ///
    /// # Errors
    /// As [`Bench::send`].
    pub async fn send_with(&self, request: Request, files: Vec<Uint8Array>) -> Result<Reply<Uint8Array>, String> {
        let _ = (request, files, &self.inner);
        Err("not there yet".into())
    }

    /// Sends a request whose answer nobody waits for; an error is passed to the `on_refused` of the page.
    pub fn tell(&self, request: Request) {
        let _ = request;
    }

    /// Shows a [`Request::Preview`] or a [`Request::Move`] in its preview phase: at most one is under way, and of those
    /// that come meanwhile only the last is sent. A refused preview changes nothing and says nothing.
    pub fn preview(&self, request: Request) {
        let _ = request;
    }

    /// Asks for these cuts with every update from now on, the first at once; thinned out like [`Bench::preview`].
    pub fn watch(&self, cuts: Vec<(Side, Cut)>) {
        let _ = cuts;
    }

    /// Stops what the engine is doing (a scan that takes too long): it starts anew with the last committed case.
    /// Requests under way end with an error.
    pub fn abandon(&self) {}
}
