//! Keeps the case between visits, on this machine and in this browser only.
//!
//! A [`Store`] holds one case and the scans it names, each once. [`BrowserStore`] keeps them in IndexedDB,
//! [`MemoryStore`] until the page is closed, where IndexedDB is missing; both pass the same contract test.
//!
//! Invariant: a kept case can be put back: a case whose scans are not all there is refused.

use crate::protocol::Kept;
use idb::{Database, DatabaseEvent, Factory, ObjectStoreParams, Query, TransactionMode};
use js_sys::{Array, Uint8Array};
use std::cell::RefCell;
use std::collections::BTreeMap;
use wasm_bindgen::{JsCast, JsValue};

/// Name of the page's database.
pub const DATABASE: &str = "solewright";

const VERSION: u32 = 1;
const CASES: &str = "cases";
const SCANS: &str = "scans";
const CURRENT: &str = "current";

/// Why something could not be kept or found.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum StoreError {
    /// The browser refuses.
    #[error("{reason}")]
    Refused {
        /// Why, in words.
        reason: String,
    },
    /// A case names a scan that was not put in first.
    #[error("the scan {hash} is not in the store")]
    ScanMissing {
        /// Its hash.
        hash: String,
    },
}

/// Where one case and its scans are kept.
#[allow(async_fn_in_trait, reason = "everything in the page runs on one thread")]
pub trait Store {
    /// How a scan's bytes are held.
    type Scan;

    /// The kept case; `None` if there is none yet.
    ///
    /// # Errors
    /// The store cannot be read.
    async fn kept(&self) -> Result<Option<Kept>, StoreError>;

    /// Keeps a case in place of the one before, and drops the scans it does not name.
    ///
    /// # Errors
    /// A scan it names is missing, or the store cannot be written; what was kept stays.
    async fn keep(&self, kept: &Kept) -> Result<(), StoreError>;

    /// Whether a scan is there.
    ///
    /// # Errors
    /// The store cannot be read.
    async fn has_scan(&self, hash: &str) -> Result<bool, StoreError>;

    /// Puts in a scan under the hash of its bytes.
    ///
    /// # Errors
    /// The store cannot be written, or there is no room.
    async fn put_scan(&self, hash: &str, scan: &Self::Scan) -> Result<(), StoreError>;

    /// A scan's bytes, a copy of its own.
    ///
    /// # Errors
    /// The store cannot be read.
    async fn scan(&self, hash: &str) -> Result<Option<Self::Scan>, StoreError>;
}

/// A store that lasts as long as the page.
#[derive(Debug)]
pub struct MemoryStore<S> {
    kept: RefCell<Option<Kept>>,
    scans: RefCell<BTreeMap<String, S>>,
}

impl<S> Default for MemoryStore<S> {
    fn default() -> Self {
        MemoryStore { kept: RefCell::default(), scans: RefCell::default() }
    }
}

/// Bytes that can be given away and kept.
pub trait Duplicate {
    /// Bytes of their own, equal to these.
    #[must_use]
    fn duplicate(&self) -> Self;
}

impl Duplicate for Vec<u8> {
    fn duplicate(&self) -> Self {
        self.clone()
    }
}

impl Duplicate for Uint8Array {
    fn duplicate(&self) -> Self {
        self.slice(0, self.length())
    }
}

impl<S: Duplicate> Store for MemoryStore<S> {
    type Scan = S;

    async fn kept(&self) -> Result<Option<Kept>, StoreError> {
        Ok(self.kept.borrow().clone())
    }

    async fn keep(&self, kept: &Kept) -> Result<(), StoreError> {
        let mut scans = self.scans.borrow_mut();
        if let Some(hash) = kept.scans.iter().find(|hash| !scans.contains_key(*hash)) {
            return Err(StoreError::ScanMissing { hash: hash.clone() });
        }
        scans.retain(|hash, _| kept.scans.contains(hash));
        *self.kept.borrow_mut() = Some(kept.clone());
        Ok(())
    }

    async fn has_scan(&self, hash: &str) -> Result<bool, StoreError> {
        Ok(self.scans.borrow().contains_key(hash))
    }

    async fn put_scan(&self, hash: &str, scan: &S) -> Result<(), StoreError> {
        self.scans.borrow_mut().insert(hash.to_owned(), scan.duplicate());
        Ok(())
    }

    async fn scan(&self, hash: &str) -> Result<Option<S>, StoreError> {
        Ok(self.scans.borrow().get(hash).map(Duplicate::duplicate))
    }
}

/// A store in the browser's IndexedDB.
#[derive(Debug)]
pub struct BrowserStore {
    database: Database,
}

impl BrowserStore {
    /// Opens the database with this name, or makes it.
    ///
    /// # Errors
    /// The browser has no IndexedDB or refuses it, as some do in a private window.
    pub async fn open(name: &str) -> Result<Self, StoreError> {
        let mut opening = Factory::new()?.open(name, Some(VERSION))?;
        opening.on_upgrade_needed(|event| {
            // What fails here shows when the stores are first used.
            if let Ok(database) = event.database() {
                for store in [CASES, SCANS] {
                    let _ = database.create_object_store(store, ObjectStoreParams::new());
                }
            }
        });
        Ok(BrowserStore { database: opening.await? })
    }

    async fn get(&self, store: &str, key: &str) -> Result<Option<JsValue>, StoreError> {
        let transaction = self.database.transaction(&[store], TransactionMode::ReadOnly)?;
        Ok(transaction.object_store(store)?.get(Query::Key(key.into()))?.await?)
    }
}

impl Store for BrowserStore {
    type Scan = Uint8Array;

    async fn kept(&self) -> Result<Option<Kept>, StoreError> {
        let Some(value) = self.get(CASES, CURRENT).await? else { return Ok(None) };
        let items = Array::from(&value);
        let mut texts = items.iter().filter_map(|item| item.as_string());
        Ok(texts.next().map(|json| Kept { json, scans: texts.collect() }))
    }

    async fn keep(&self, kept: &Kept) -> Result<(), StoreError> {
        let transaction = self.database.transaction(&[CASES, SCANS], TransactionMode::ReadWrite)?;
        let scans = transaction.object_store(SCANS)?;
        let there: Vec<String> = scans.get_all_keys(None, None)?.await?.iter().filter_map(JsValue::as_string).collect();
        if let Some(hash) = kept.scans.iter().find(|hash| !there.contains(hash)) {
            return Err(StoreError::ScanMissing { hash: hash.clone() });
        }
        for hash in there.iter().filter(|hash| !kept.scans.contains(hash)) {
            scans.delete(Query::Key(hash.into()))?.await?;
        }
        let texts = std::iter::once(&kept.json).chain(&kept.scans).map(JsValue::from).collect::<Array>();
        transaction.object_store(CASES)?.put(&texts, Some(&CURRENT.into()))?.await?;
        transaction.commit()?.await?;
        Ok(())
    }

    async fn has_scan(&self, hash: &str) -> Result<bool, StoreError> {
        let transaction = self.database.transaction(&[SCANS], TransactionMode::ReadOnly)?;
        Ok(transaction.object_store(SCANS)?.get_key(Query::Key(hash.into()))?.await?.is_some())
    }

    async fn put_scan(&self, hash: &str, scan: &Uint8Array) -> Result<(), StoreError> {
        let transaction = self.database.transaction(&[SCANS], TransactionMode::ReadWrite)?;
        transaction.object_store(SCANS)?.put(scan, Some(&hash.into()))?.await?;
        transaction.commit()?.await?;
        Ok(())
    }

    async fn scan(&self, hash: &str) -> Result<Option<Uint8Array>, StoreError> {
        Ok(self.get(SCANS, hash).await?.and_then(|value| value.dyn_into().ok()))
    }
}

/// The store of this page: the browser's, or the page's memory where that is refused.
#[derive(Debug)]
pub enum PageStore {
    /// Lasts.
    Browser(BrowserStore),
    /// Ends with the page.
    Memory(MemoryStore<Uint8Array>),
}

impl PageStore {
    /// Opens the best store there is; the error says why it is not a lasting one.
    pub async fn open(name: &str) -> (Self, Option<StoreError>) {
        match BrowserStore::open(name).await {
            Ok(store) => (PageStore::Browser(store), None),
            Err(error) => (PageStore::Memory(MemoryStore::default()), Some(error)),
        }
    }
}

impl Store for PageStore {
    type Scan = Uint8Array;

    async fn kept(&self) -> Result<Option<Kept>, StoreError> {
        match self {
            PageStore::Browser(store) => store.kept().await,
            PageStore::Memory(store) => store.kept().await,
        }
    }

    async fn keep(&self, kept: &Kept) -> Result<(), StoreError> {
        match self {
            PageStore::Browser(store) => store.keep(kept).await,
            PageStore::Memory(store) => store.keep(kept).await,
        }
    }

    async fn has_scan(&self, hash: &str) -> Result<bool, StoreError> {
        match self {
            PageStore::Browser(store) => store.has_scan(hash).await,
            PageStore::Memory(store) => store.has_scan(hash).await,
        }
    }

    async fn put_scan(&self, hash: &str, scan: &Uint8Array) -> Result<(), StoreError> {
        match self {
            PageStore::Browser(store) => store.put_scan(hash, scan).await,
            PageStore::Memory(store) => store.put_scan(hash, scan).await,
        }
    }

    async fn scan(&self, hash: &str) -> Result<Option<Uint8Array>, StoreError> {
        match self {
            PageStore::Browser(store) => store.scan(hash).await,
            PageStore::Memory(store) => store.scan(hash).await,
        }
    }
}

impl From<idb::Error> for StoreError {
    fn from(error: idb::Error) -> Self {
        StoreError::Refused { reason: format!("the browser keeps no data for it ({error})") }
    }
}

/// What every store promises, checked on an empty one. `scan` makes a scan out of bytes, `bytes` reads them back.
/// The memory store is held to it by a native test, the browser's by the page itself on a database of its own
/// (`solewright.check_storage()`), because only a browser has one.
///
/// # Errors
/// The promise that is not kept, in words.
pub async fn check_contract<S: Store>(
    store: &S,
    scan: impl Fn(&[u8]) -> S::Scan,
    bytes: impl Fn(&S::Scan) -> Vec<u8>,
) -> Result<(), String> {
    let fails = |error: StoreError| error.to_string();
    let holds = |what: &str, holds: bool| if holds { Ok(()) } else { Err(what.to_owned()) };
    let read = async |hash: &str| store.scan(hash).await.map(|found| found.map(|found| bytes(&found))).map_err(fails);
    let kept = |json: &str, scans: &[&str]| Kept {
        json: json.to_owned(),
        scans: scans.iter().map(|&hash| hash.to_owned()).collect(),
    };

    holds("a new store holds nothing", store.kept().await.map_err(fails)?.is_none())?;
    holds("a new store has no scan", read("a").await?.is_none())?;

    let refused = store.keep(&kept("1", &["a"])).await;
    holds("a case without its scan is refused", refused == Err(StoreError::ScanMissing { hash: "a".to_owned() }))?;
    holds("a refused case is not kept", store.kept().await.map_err(fails)?.is_none())?;

    for (hash, content) in [("a", &[1_u8, 2, 3][..]), ("b", &[]), ("c", &[0, 255])] {
        store.put_scan(hash, &scan(content)).await.map_err(fails)?;
        holds("a scan that was put in is there", store.has_scan(hash).await.map_err(fails)?)?;
        holds("a scan comes back as it was", read(hash).await?.as_deref() == Some(content))?;
    }

    let first = kept("{\"title\": \"größer\"}", &["a", "b"]);
    store.keep(&first).await.map_err(fails)?;
    holds("the kept case comes back as it was", store.kept().await.map_err(fails)? == Some(first.clone()))?;
    holds("scans the case names stay", read("a").await? == Some(vec![1, 2, 3]) && read("b").await? == Some(vec![]))?;
    holds("scans the case does not name go", !store.has_scan("c").await.map_err(fails)?)?;

    let refused = store.keep(&kept("2", &["a", "c"])).await;
    holds("a dropped scan is missing", refused == Err(StoreError::ScanMissing { hash: "c".to_owned() }))?;
    holds("the case before stays", store.kept().await.map_err(fails)? == Some(first))?;
    holds("its scans stay", store.has_scan("a").await.map_err(fails)? && store.has_scan("b").await.map_err(fails)?)?;

    store.keep(&kept("3", &[])).await.map_err(fails)?;
    holds("a new case replaces the one before", store.kept().await.map_err(fails)? == Some(kept("3", &[])))?;
    holds("and drops its scans", read("a").await?.is_none() && read("b").await?.is_none())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::pin::pin;
    use std::task::{Context, Poll, Waker};

    /// Memory never waits, so one poll is enough.
    fn finished<T>(future: impl Future<Output = T>) -> T {
        match pin!(future).poll(&mut Context::from_waker(Waker::noop())) {
            Poll::Ready(value) => value,
            Poll::Pending => panic!("the memory store waited for something"),
        }
    }

    #[test]
    fn the_memory_store_keeps_the_contract() {
        let store = MemoryStore::<Vec<u8>>::default();
        assert_eq!(finished(check_contract(&store, <[u8]>::to_vec, Vec::clone)), Ok(()));
    }
}
