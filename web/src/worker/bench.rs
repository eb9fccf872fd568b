use super::keeper::Keeper;
use super::place::{Heard, Place};
use super::shown::Shown;
use super::{Progress, Trouble, Update, hooks};
use crate::protocol::{Answer, Phase, Reply, Request};
use crate::storage::DATABASE;
use base::Side;
use engine::Cut;
use futures_channel::oneshot;
use js_sys::Uint8Array;
use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::rc::Rc;
use wasm_bindgen_futures::spawn_local;

/// The page's end of the engine. Cheap to clone: every clone is the same bench.
#[derive(Clone)]
pub struct Bench {
    inner: Rc<Inner>,
}

type Answered = Result<Reply<Uint8Array>, String>;

struct Inner {
    place: RefCell<Option<Place>>,
    in_page: Cell<bool>,
    /// Requests of the page go out only while the kept case is back; else they wait in `queue`.
    open: Cell<bool>,
    queue: RefCell<Vec<(u32, Request, Vec<Uint8Array>)>>,
    next_id: Cell<u32>,
    /// Counts the engines started: what one that is gone still says is not listened to.
    era: Cell<u32>,
    waiting: RefCell<BTreeMap<u32, oneshot::Sender<Answered>>>,
    previews: RefCell<Latest>,
    watches: RefCell<Latest>,
    cuts: RefCell<Vec<(Side, Cut)>>,
    shown: RefCell<Shown>,
    progressing: Cell<bool>,
    keeper: Keeper,
    on_update: Box<dyn Fn(Update)>,
    on_progress: Box<dyn Fn(Option<Progress>)>,
    on_trouble: Rc<dyn Fn(Trouble)>,
}

/// Requests of which only the latest counts: one under way, one waiting.
#[derive(Default)]
struct Latest {
    under_way: Option<u32>,
    next: Option<Request>,
}

impl Bench {
    /// Starts the engine, puts back the kept case if there is one, and tells the page of everything that follows.
    /// The callbacks are called from the page's event loop, never from inside a call of this type.
    pub fn start(
        on_update: impl Fn(Update) + 'static,
        on_progress: impl Fn(Option<Progress>) + 'static,
        on_trouble: impl Fn(Trouble) + 'static,
    ) -> Bench {
        let on_trouble: Rc<dyn Fn(Trouble)> = Rc::new(on_trouble);
        let keeper_trouble = Rc::clone(&on_trouble);
        let bench = Bench {
            inner: Rc::new(Inner {
                place: RefCell::default(),
                in_page: Cell::new(hooks::engine_in_page()),
                open: Cell::new(false),
                queue: RefCell::default(),
                next_id: Cell::new(1),
                era: Cell::new(0),
                waiting: RefCell::default(),
                previews: RefCell::default(),
                watches: RefCell::default(),
                cuts: RefCell::default(),
                shown: RefCell::default(),
                progressing: Cell::new(false),
                keeper: Keeper::new(move |trouble| keeper_trouble(trouble)),
                on_update: Box::new(on_update),
                on_progress: Box::new(on_progress),
                on_trouble,
            }),
        };
        hooks::install(&bench);
        let starting = bench.clone();
        spawn_local(async move {
            starting.inner.keeper.open(DATABASE).await;
            starting.boot().await;
        });
        bench
    }

    /// Sends a request. Requests are answered in the order in which they were sent; the update it causes arrives
    /// before its answer.
    ///
    /// # Errors
    /// A sentence for the person: what is wrong, where, and what to do.
    pub async fn send(&self, request: Request) -> Result<Reply<Uint8Array>, String> {
        self.send_with(request, Vec::new()).await
    }

    /// Sends a request with the files it needs (see [`Request`]). The arrays are handed over: do not use them after.
    ///
    /// # Errors
    /// As [`Bench::send`].
    pub async fn send_with(&self, request: Request, files: Vec<Uint8Array>) -> Result<Reply<Uint8Array>, String> {
        let waiting = self.previews_before(&request);
        if let Some(preview) = waiting {
            self.hand_out(self.id(), preview, Vec::new());
        }
        let (sender, receiver) = oneshot::channel();
        let id = self.id();
        self.inner.waiting.borrow_mut().insert(id, sender);
        self.hand_out(id, request, files);
        receiver.await.unwrap_or_else(|oneshot::Canceled| Err("not done: the calculation was started anew".to_owned()))
    }

    /// Shows a [`Request::Preview`] or a [`Request::Move`] in its preview phase: at most one is under way, and of those
    /// that come meanwhile only the last is sent. A refused preview changes nothing and says nothing.
    pub fn preview(&self, request: Request) {
        self.latest(&self.inner.previews, request);
    }

    /// Asks for these cuts with every update from now on, the first at once; thinned out like [`Bench::preview`].
    pub fn watch(&self, cuts: Vec<(Side, Cut)>) {
        self.inner.cuts.borrow_mut().clone_from(&cuts);
        self.latest(&self.inner.watches, Request::Watch { cuts });
    }

    /// Stops what the engine is doing (a scan that takes too long): it starts anew with the last committed case.
    /// Requests under way end with an error.
    pub fn abandon(&self) {
        if self.inner.open.get() {
            self.restart();
        }
    }

    /// Whether the committed case is in the store, and nothing waits to be written.
    #[must_use]
    pub fn kept(&self) -> bool {
        self.inner.keeper.at_rest()
    }

    /// Whether the engine has a thread of its own.
    #[must_use]
    pub fn in_worker(&self) -> bool {
        matches!(*self.inner.place.borrow(), Some(Place::Worker(_)))
    }

    /// The preview that must still go out before `request`; one that `request` makes pointless is dropped.
    fn previews_before(&self, request: &Request) -> Option<Request> {
        let next = self.inner.previews.borrow_mut().next.take()?;
        let pointless = matches!(
            request,
            Request::Cancel
                | Request::Undo
                | Request::Redo
                | Request::Move { phase: Phase::Commit, .. }
                | Request::Sculpt { phase: Phase::Commit, .. }
                | Request::Open { .. }
                | Request::Restore { .. }
        );
        (!pointless).then_some(next)
    }

    fn latest(&self, line: &RefCell<Latest>, request: Request) {
        let mut latest = line.borrow_mut();
        if latest.under_way.is_some() {
            latest.next = Some(request);
            return;
        }
        let id = self.id();
        latest.under_way = Some(id);
        drop(latest);
        self.hand_out(id, request, Vec::new());
    }

    fn go_on(&self, line: &RefCell<Latest>, id: u32) {
        let mut latest = line.borrow_mut();
        if latest.under_way != Some(id) {
            return;
        }
        latest.under_way = None;
        let next = latest.next.take();
        drop(latest);
        if let Some(next) = next {
            self.latest(line, next);
        }
    }

    fn id(&self) -> u32 {
        let id = self.inner.next_id.get();
        self.inner.next_id.set(id.wrapping_add(1));
        id
    }

    fn hand_out(&self, id: u32, request: Request, files: Vec<Uint8Array>) {
        match (&*self.inner.place.borrow(), self.inner.open.get()) {
            (Some(place), true) => place.post(id, request, files),
            _ => self.inner.queue.borrow_mut().push((id, request, files)),
        }
    }

    fn hear(&self, era: u32, heard: Heard) {
        if era != self.inner.era.get() {
            return;
        }
        match heard {
            Heard::Answer(id, answer) => self.hear_answer(id, answer),
            Heard::Progress(progress) => {
                self.inner.progressing.set(true);
                (self.inner.on_progress)(Some(progress));
            }
            Heard::Failed(reason) => {
                web_sys::console::error_1(&format!("the engine failed: {reason}").into());
                if self.inner.open.get() {
                    self.restart();
                    (self.inner.on_trouble)(Trouble::Restarted);
                } else {
                    // While starting, `boot` waits for an answer and sees that none will come.
                    self.forget_engine();
                }
            }
        }
    }

    fn hear_answer(&self, id: u32, answer: Answer<Uint8Array>) {
        let inner = &self.inner;
        // The engine goes on with the next preview while the page shows this one.
        self.go_on(&inner.previews, id);
        self.go_on(&inner.watches, id);
        if inner.progressing.replace(false) {
            (inner.on_progress)(None);
        }
        if let Some(mut state) = answer.state {
            let kept = state.kept.take();
            let update = inner.shown.borrow_mut().take(state);
            if let Some(update) = update {
                (inner.on_update)(update);
            }
            // What comes back while starting is what was kept already, or the empty case of a bench that could not
            // put it back: neither is to be written.
            if let (Some(kept), true) = (kept, inner.open.get()) {
                let bench = self.clone();
                spawn_local(
                    async move { bench.inner.keeper.keep(kept, async |hash| bench.scan_bytes(hash).await).await },
                );
            }
        }
        let sender = inner.waiting.borrow_mut().remove(&id);
        if let Some(sender) = sender {
            // Whoever asked may have gone.
            let _ = sender.send(answer.outcome);
        }
    }

    async fn scan_bytes(&self, hash: String) -> Option<Uint8Array> {
        match self.send(Request::ScanBytes { hash }).await {
            Ok(Reply::Files(files)) => files.into_iter().next().map(|file| file.bytes),
            _ => None,
        }
    }

    fn restart(&self) {
        self.forget_engine();
        let bench = self.clone();
        spawn_local(async move { bench.boot().await });
    }

    /// Ends the engine and everything that waits for it.
    fn forget_engine(&self) {
        let inner = &self.inner;
        inner.open.set(false);
        inner.era.set(inner.era.get() + 1);
        inner.place.replace(None);
        inner.queue.take();
        inner.previews.take();
        inner.watches.take();
        if inner.progressing.replace(false) {
            (inner.on_progress)(None);
        }
        inner.waiting.take();
    }

    /// Starts an engine and puts back the last safe case.
    async fn boot(&self) {
        let inner = &self.inner;
        let mut whole = match inner.keeper.whole().await {
            Ok(whole) => whole,
            Err((kept, error)) => {
                (inner.on_trouble)(Trouble::Lost { reason: error.to_string(), json: kept.json });
                None
            }
        };
        loop {
            let era = inner.era.get() + 1;
            inner.era.set(era);
            let bench = self.clone();
            let place = Place::start(Rc::new(move |heard| bench.hear(era, heard)), inner.in_page.get()).await;
            if matches!(place, Place::Page(_)) && !inner.in_page.replace(true) {
                (inner.on_trouble)(Trouble::NoWorker);
            }
            inner.place.replace(Some(place));
            inner.shown.take();
            let cuts = inner.cuts.borrow().clone();
            let (request, files, json) = match whole.take() {
                Some((kept, scans)) => (Request::Restore { json: kept.json.clone() }, scans, Some(kept.json)),
                None => (Request::Snapshot, Vec::new(), None),
            };
            let watched = self.ask(Request::Watch { cuts }, Vec::new()).await;
            let answered = match watched {
                Some(_) => self.ask(request, files).await,
                None => None,
            };
            let lost = |reason: String, json| (inner.on_trouble)(Trouble::Lost { reason, json });
            match (answered, json) {
                (Some(Err(reason)), Some(json)) => lost(reason, json),
                (None, Some(json)) => lost("the calculation fails on it".to_owned(), json),
                // Even an empty engine ends: the worker is at fault, not the case.
                (None, None) if !inner.in_page.replace(true) => {}
                _ => break,
            }
        }
        inner.open.set(true);
        let queue = inner.queue.take();
        for (id, request, files) in queue {
            self.hand_out(id, request, files);
        }
    }

    /// Asks the engine past the queue; `None` if it ended over it.
    async fn ask(&self, request: Request, files: Vec<Uint8Array>) -> Option<Answered> {
        let (sender, receiver) = oneshot::channel();
        let id = self.id();
        self.inner.waiting.borrow_mut().insert(id, sender);
        if let Some(place) = &*self.inner.place.borrow() {
            place.post(id, request, files);
        }
        receiver.await.ok()
    }
}
