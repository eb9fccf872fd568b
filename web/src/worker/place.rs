use super::line::{Line, Said};
use super::parcel::{self, FromWorker, Parcel};
use super::{Progress, pause};
use crate::protocol::{Answer, Request};
use futures_channel::oneshot;
use js_sys::Uint8Array;
use std::cell::RefCell;
use std::future::{Future, poll_fn};
use std::pin::pin;
use std::rc::Rc;
use std::task::Poll;
use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::Closure;
use web_sys::{ErrorEvent, MessageEvent, Worker, WorkerOptions, WorkerType};

/// The worker's own start, beside the page.
const WORKER_URL: &str = "./worker.js";

/// A worker that says nothing for this long after its start never will. On a slow line its program is already there,
/// since the page runs from the same file; compiling it takes a second on a slow machine.
const START_MS: i32 = 15_000;

/// Where the engine runs. Dropping it ends the engine.
pub(super) enum Place {
    /// In a thread of its own.
    Worker(Thread),
    /// In the page's thread.
    Page(Rc<Line>),
}

/// What is heard from the engine.
#[allow(clippy::large_enum_variant, reason = "few are made, and each is taken apart at once")]
pub(super) enum Heard {
    /// An answer.
    Answer(u32, Answer<Uint8Array>),
    /// How far it is.
    Progress(Progress),
    /// It failed; nothing more will be heard.
    Failed(String),
}

type Ear = Rc<dyn Fn(Heard)>;

/// An engine in a worker.
pub(super) struct Thread {
    worker: Worker,
    _on_message: Closure<dyn FnMut(MessageEvent)>,
    _on_error: Closure<dyn FnMut(ErrorEvent)>,
}

impl Place {
    /// Starts an engine in a worker, or in the page where no worker starts (or with `in_page`).
    pub(super) async fn start(ear: Ear, in_page: bool) -> Place {
        if !in_page {
            match Thread::start(Rc::clone(&ear)).await {
                Ok(thread) => return Place::Worker(thread),
                Err(reason) => web_sys::console::warn_1(&format!("no worker: {reason}").into()),
            }
        }
        Place::Page(Line::new(true, move |said| {
            ear(match said {
                Said::Answer(id, answer) => Heard::Answer(id, parcel::hand_over(answer)),
                Said::Progress(what, fraction) => Heard::Progress(Progress { what: what.to_owned(), fraction }),
            });
        }))
    }

    /// Hands a request over; the answer is heard later.
    pub(super) fn post(&self, id: u32, request: Request, files: Vec<Uint8Array>) {
        match self {
            Place::Worker(thread) => thread.post(parcel::pack_request(id, request, files)),
            Place::Page(line) => line.put(id, request, files.iter().map(Uint8Array::to_vec).collect()),
        }
    }
}

impl Thread {
    async fn start(ear: Ear) -> Result<Thread, String> {
        let options = WorkerOptions::new();
        options.set_type(WorkerType::Module);
        let worker = Worker::new_with_options(WORKER_URL, &options).map_err(|error| format!("{error:?}"))?;
        let (started, start) = oneshot::channel();
        let started = Rc::new(RefCell::new(Some(started)));
        let on_message = {
            let (started, ear) = (Rc::clone(&started), Rc::clone(&ear));
            Closure::new(move |event: MessageEvent| match parcel::unpack(&event.data()) {
                Ok(FromWorker::Ready) => tell(&started, Ok(())),
                Ok(FromWorker::Answer(id, answer)) => ear(Heard::Answer(id, answer)),
                Ok(FromWorker::Progress(what, fraction)) => ear(Heard::Progress(Progress { what, fraction })),
                Ok(FromWorker::Failed(reason)) => ear(Heard::Failed(reason)),
                Err(error) => ear(Heard::Failed(error.to_string())),
            })
        };
        let on_error = Closure::new(move |event: ErrorEvent| {
            // Said in full on the console already; the page speaks for itself.
            event.prevent_default();
            let reason = event.message();
            if started.borrow().is_some() { tell(&started, Err(reason)) } else { ear(Heard::Failed(reason)) }
        });
        worker.set_onmessage(Some(on_message.as_ref().unchecked_ref()));
        worker.set_onerror(Some(on_error.as_ref().unchecked_ref()));
        let thread = Thread { worker, _on_message: on_message, _on_error: on_error };
        match sooner(start, pause(START_MS)).await {
            Some(Ok(outcome)) => outcome.map(|()| thread),
            Some(Err(oneshot::Canceled)) | None => Err(format!("not started after {START_MS} ms")),
        }
    }

    fn post(&self, Parcel(items): Parcel) {
        if let Err(error) = self.worker.post_message_with_transfer(&items, &items) {
            // A file whose buffer was handed over before; the request is never answered, so say why.
            web_sys::console::error_1(&error);
        }
    }
}

impl Drop for Thread {
    fn drop(&mut self) {
        self.worker.set_onmessage(None);
        self.worker.set_onerror(None);
        self.worker.terminate();
    }
}

fn tell(started: &RefCell<Option<oneshot::Sender<Result<(), String>>>>, outcome: Result<(), String>) {
    if let Some(started) = started.borrow_mut().take() {
        // Nobody waits any more after the time is up.
        let _ = started.send(outcome);
    }
}

/// The first future's value, or `None` if the second is done before.
async fn sooner<T>(first: impl Future<Output = T>, second: impl Future<Output = ()>) -> Option<T> {
    let (mut first, mut second) = (pin!(first), pin!(second));
    poll_fn(|context| match first.as_mut().poll(context) {
        Poll::Ready(value) => Poll::Ready(Some(value)),
        Poll::Pending => second.as_mut().poll(context).map(|()| None),
    })
    .await
}
