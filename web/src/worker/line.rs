use super::host::Host;
use super::{pause, workshop};
use crate::protocol::{Answer, Request};
use std::cell::{Cell, RefCell};
use std::collections::VecDeque;
use std::rc::Rc;
use wasm_bindgen_futures::spawn_local;

/// An engine in this thread and the requests that wait for it, answered one after the other.
pub(super) struct Line {
    host: RefCell<Host>,
    jobs: RefCell<VecDeque<Job>>,
    busy: Cell<bool>,
    /// Whether this thread also paints the page.
    paints: bool,
    say: Box<dyn Fn(Said<'_>)>,
}

/// A request with its number and its files.
type Job = (u32, Request, Vec<Vec<u8>>);

/// What is said on the way.
#[allow(clippy::large_enum_variant, reason = "few are made, and each is taken apart at once")]
pub(super) enum Said<'a> {
    /// An answer.
    Answer(u32, Answer<Vec<u8>>),
    /// What is being done, and how far it is, 0 … 1.
    Progress(&'a str, f64),
}

impl Line {
    pub(super) fn new(paints: bool, say: impl Fn(Said<'_>) + 'static) -> Rc<Line> {
        let (host, jobs, busy) = (RefCell::default(), RefCell::default(), Cell::new(false));
        Rc::new(Line { host, jobs, busy, paints, say: Box::new(say) })
    }

    /// Puts a request at the end of the line.
    pub(super) fn put(self: &Rc<Self>, id: u32, request: Request, files: Vec<Vec<u8>>) {
        self.jobs.borrow_mut().push_back((id, request, files));
        if !self.busy.replace(true) {
            spawn_local(Rc::clone(self).work());
        }
    }

    async fn work(self: Rc<Self>) {
        loop {
            let Some((id, request, files)) = self.jobs.borrow_mut().pop_front() else { break };
            if self.paints && is_long(&request) {
                // Let the page paint what it says about the wait.
                pause(0).await;
            }
            let fetched = if workshop::is_needed(&request) { workshop::fetch().await } else { Ok(workshop::Fetched) };
            let progress = |what: &str, fraction| (self.say)(Said::Progress(what, fraction));
            let answer = match fetched {
                Ok(workshop) => self.host.borrow_mut().answer(request, files, &workshop, &progress),
                Err(reason) => Answer { outcome: Err(reason), state: None },
            };
            (self.say)(Said::Answer(id, answer));
        }
        self.busy.set(false);
    }
}

fn is_long(request: &Request) -> bool {
    matches!(
        request,
        Request::AddScans { .. }
            | Request::AddSecond { .. }
            | Request::Lay { .. }
            | Request::Retake { .. }
            | Request::Open { .. }
            | Request::Restore { .. }
            | Request::Save
            | Request::Make { .. }
    )
}
