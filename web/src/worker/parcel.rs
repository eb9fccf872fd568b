//! Messages between page and worker: a JavaScript array whose first item is a head in postcard bytes and whose further
//! items are the buffers the head counts on, handed over by transfer.
//!
//! The head is written by postcard and not as JSON because a number in it may be infinite or not a number, which JSON
//! cannot say, and because its bytes cross without becoming text.

use crate::protocol::{Answer, Content, Kept, Part, PartName, Reply, Request, State};
use base::Side;
use engine::{SectionView, Snapshot};
use js_sys::{Array, ArrayBuffer, Float32Array, Uint8Array, Uint32Array};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use wasm_bindgen::{JsCast, JsValue};

/// A message: an array of buffers that is both what to post and what changes hands with it.
pub(super) struct Parcel(pub(super) Array);

/// What the worker says.
#[derive(Debug)]
#[allow(clippy::large_enum_variant, reason = "few are made, and each is taken apart at once")]
pub(super) enum FromWorker {
    /// It takes requests now.
    Ready,
    /// An answer.
    Answer(u32, Answer<Uint8Array>),
    /// How far it is.
    Progress(String, f64),
    /// It has failed and will answer nothing any more.
    Failed(String),
}

/// A message that is none of ours, or of another version of the page.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a message between page and engine cannot be read ({0}): close every tab of the page and open it again")]
pub(super) struct Unreadable(String);

#[derive(Serialize, Deserialize)]
struct RequestHead {
    id: u32,
    request: Request,
}

#[derive(Serialize, Deserialize)]
#[allow(clippy::large_enum_variant, reason = "few are made, and each is taken apart at once")]
enum Head {
    Ready,
    Answer { id: u32, outcome: Result<Reply<()>, String>, state: Option<StateHead> },
    Progress(String, f64),
    Failed(String),
}

#[derive(Serialize, Deserialize)]
struct StateHead {
    snapshot: Option<Snapshot>,
    parts: Vec<PartHead>,
    sections: Vec<Option<SectionView>>,
    kept: Option<Kept>,
}

#[derive(Serialize, Deserialize)]
struct PartHead {
    side: Side,
    name: PartName,
    content: ContentKind,
}

#[derive(Serialize, Deserialize)]
enum ContentKind {
    Gone,
    Floats,
    Indices,
    Bytes,
}

/// A request with its files for the worker.
pub(super) fn pack_request(id: u32, request: Request, files: Vec<Uint8Array>) -> Parcel {
    let mut buffers = Buffers::default();
    for file in files {
        // A view of part of a buffer (of the page's own memory, say) is copied: the rest is not ours to give away.
        let whole = file.byte_length() == file.buffer().byte_length();
        buffers.put(&if whole { file.buffer() } else { file.slice(0, file.length()).buffer() });
    }
    seal(&RequestHead { id, request }, buffers)
}

/// What [`pack_request`] packed.
pub(super) fn unpack_request(message: &JsValue) -> Result<(u32, Request, Vec<Vec<u8>>), Unreadable> {
    let (head, items) = unseal::<RequestHead>(message)?;
    let files = items.iter().map(|item| Uint8Array::new(&item).to_vec()).collect();
    Ok((head.id, head.request, files))
}

/// An answer for the page.
pub(super) fn pack_answer(id: u32, answer: Answer<Vec<u8>>) -> Parcel {
    let mut buffers = Buffers::default();
    let outcome =
        answer.outcome.map(|reply| reply.map(|bytes| buffers.put(&Uint8Array::from(bytes.as_slice()).buffer())));
    let state = answer.state.map(|state| StateHead {
        snapshot: state.snapshot,
        parts: state.parts.into_iter().map(|part| pack_part(part, &mut buffers)).collect(),
        sections: state.sections,
        kept: state.kept,
    });
    seal(&Head::Answer { id, outcome, state }, buffers)
}

/// The worker is ready.
pub(super) fn pack_ready() -> Parcel {
    seal(&Head::Ready, Buffers::default())
}

/// How far the worker is.
pub(super) fn pack_progress(what: &str, fraction: f64) -> Parcel {
    seal(&Head::Progress(what.to_owned(), fraction), Buffers::default())
}

/// The worker's last words.
pub(super) fn pack_failed(reason: String) -> Parcel {
    seal(&Head::Failed(reason), Buffers::default())
}

/// What the worker said.
pub(super) fn unpack(message: &JsValue) -> Result<FromWorker, Unreadable> {
    let (head, items) = unseal::<Head>(message)?;
    let mut items = items.iter();
    // A head never counts on more buffers than it came with; a missing one reads as empty.
    let mut next = || items.next().unwrap_or_else(|| ArrayBuffer::new(0).into());
    Ok(match head {
        Head::Ready => FromWorker::Ready,
        Head::Progress(what, fraction) => FromWorker::Progress(what, fraction),
        Head::Failed(reason) => FromWorker::Failed(reason),
        Head::Answer { id, outcome, state } => {
            let outcome = outcome.map(|reply| reply.map(|()| Uint8Array::new(&next())));
            let state = state.map(|state| State {
                snapshot: state.snapshot,
                parts: state.parts.into_iter().map(|part| unpack_part(part, &mut next)).collect(),
                sections: state.sections,
                kept: state.kept,
            });
            FromWorker::Answer(id, Answer { outcome, state })
        }
    })
}

/// An answer as the page gets it, without a message in between: for an engine in the page itself.
pub(super) fn hand_over(answer: Answer<Vec<u8>>) -> Answer<Uint8Array> {
    let outcome = answer.outcome.map(|reply| reply.map(|bytes| Uint8Array::from(bytes.as_slice())));
    Answer { outcome, state: answer.state }
}

fn pack_part(part: Part, buffers: &mut Buffers) -> PartHead {
    let content = match part.content {
        Content::Gone => ContentKind::Gone,
        Content::Floats(values) => {
            buffers.put(&Float32Array::from(values.as_slice()).buffer());
            ContentKind::Floats
        }
        Content::Indices(values) => {
            buffers.put(&Uint32Array::from(values.as_slice()).buffer());
            ContentKind::Indices
        }
        Content::Bytes(values) => {
            buffers.put(&Uint8Array::from(values.as_slice()).buffer());
            ContentKind::Bytes
        }
    };
    PartHead { side: part.side, name: part.name, content }
}

fn unpack_part(part: PartHead, next: &mut impl FnMut() -> JsValue) -> Part {
    let content = match part.content {
        ContentKind::Gone => Content::Gone,
        ContentKind::Floats => Content::Floats(Float32Array::new(&next()).to_vec()),
        ContentKind::Indices => Content::Indices(Uint32Array::new(&next()).to_vec()),
        ContentKind::Bytes => Content::Bytes(Uint8Array::new(&next()).to_vec()),
    };
    Part { side: part.side, name: part.name, content }
}

/// Buffers on their way into a message.
#[derive(Default)]
struct Buffers(Array);

impl Buffers {
    fn put(&mut self, buffer: &ArrayBuffer) {
        self.0.push(buffer);
    }
}

fn seal<T: Serialize>(head: &T, buffers: Buffers) -> Parcel {
    // Plain data into memory: nothing in it can fail to be written.
    let head = postcard::to_stdvec(head).unwrap_or_default();
    buffers.0.unshift(&Uint8Array::from(head.as_slice()).buffer());
    Parcel(buffers.0)
}

fn unseal<T: DeserializeOwned>(message: &JsValue) -> Result<(T, Array), Unreadable> {
    let items: Array = message.clone().dyn_into().map_err(|_| Unreadable("not a list".to_owned()))?;
    let head = items.shift();
    let head: ArrayBuffer = head.dyn_into().map_err(|_| Unreadable("no head".to_owned()))?;
    let head = Uint8Array::new(&head).to_vec();
    let head = postcard::from_bytes(&head).map_err(|error| Unreadable(error.to_string()))?;
    Ok((head, items))
}
