use super::only_tab::only_tab;
use super::{Trouble, pause};
use crate::protocol::Kept;
use crate::storage::{MemoryStore, PageStore, Store, StoreError};
use js_sys::Uint8Array;
use std::cell::{Cell, RefCell};
use std::rc::Rc;

/// Least time between two writings, ms: the first change is written at once, a burst of them a few times a second.
const REST_MS: i32 = 300;

/// Keeps the committed case for the next visit, and for the engine should it fail.
///
/// A case counts as safe when all its scans are in the store: only a safe one can be put back.
pub(super) struct Keeper {
    store: RefCell<Rc<PageStore>>,
    safe: RefCell<Option<Kept>>,
    next: RefCell<Option<Kept>>,
    busy: Cell<bool>,
    on_trouble: Box<dyn Fn(Trouble)>,
}

/// A case with its scans.
pub(super) type Whole = (Kept, Vec<Uint8Array>);

impl Keeper {
    pub(super) fn new(on_trouble: impl Fn(Trouble) + 'static) -> Keeper {
        Keeper {
            store: RefCell::new(Rc::new(PageStore::Memory(MemoryStore::default()))),
            safe: RefCell::default(),
            next: RefCell::default(),
            busy: Cell::new(false),
            on_trouble: Box::new(on_trouble),
        }
    }

    /// Opens the browser's store and finds the case of the last visit.
    pub(super) async fn open(&self, name: &str) {
        if !only_tab().await {
            let reason = "the bench is open in another tab or window, which keeps the case it shows".to_owned();
            return self.give_up(&StoreError::Refused { reason });
        }
        let (store, refusal) = PageStore::open(name).await;
        self.store.replace(Rc::new(store));
        let store = self.store();
        let found = match refusal {
            Some(error) => Err(error),
            None => store.kept().await,
        };
        match found {
            Ok(kept) => {
                self.safe.replace(kept);
            }
            Err(error) => self.give_up(&error),
        }
    }

    /// The last safe case and its scans.
    ///
    /// # Errors
    /// The case whose scans cannot be read, and why.
    pub(super) async fn whole(&self) -> Result<Option<Whole>, (Kept, StoreError)> {
        let Some(kept) = self.safe.borrow().clone() else { return Ok(None) };
        let store = self.store();
        let mut scans = Vec::new();
        for hash in &kept.scans {
            match store.scan(hash).await {
                Ok(Some(scan)) => scans.push(scan),
                Ok(None) => return Err((kept.clone(), StoreError::ScanMissing { hash: hash.clone() })),
                Err(error) => return Err((kept, error)),
            }
        }
        Ok(Some((kept, scans)))
    }

    /// Keeps a case; `fetch` gives the bytes of a scan that is not in the store yet. Of cases that come while one is
    /// written only the last is kept.
    pub(super) async fn keep(&self, kept: Kept, fetch: impl AsyncFn(String) -> Option<Uint8Array>) {
        self.next.replace(Some(kept));
        if self.busy.replace(true) {
            return;
        }
        while let Some(kept) = self.next.take() {
            match self.write(&kept, &fetch).await {
                Ok(()) => {}
                // The engine ended meanwhile; the case that comes after it is kept instead.
                Err(StoreError::ScanMissing { .. }) => {}
                Err(error @ StoreError::Refused { .. }) => {
                    self.give_up(&error);
                    let _ = self.write(&kept, &fetch).await;
                }
            }
            pause(REST_MS).await;
        }
        self.busy.set(false);
    }

    /// Whether nothing waits to be written.
    pub(super) fn at_rest(&self) -> bool {
        !self.busy.get()
    }

    async fn write(&self, kept: &Kept, fetch: &impl AsyncFn(String) -> Option<Uint8Array>) -> Result<(), StoreError> {
        let store = self.store();
        for hash in &kept.scans {
            if !store.has_scan(hash).await? {
                let missing = || StoreError::ScanMissing { hash: hash.clone() };
                let scan = fetch(hash.clone()).await.ok_or_else(missing)?;
                store.put_scan(hash, &scan).await?;
            }
        }
        store.keep(kept).await?;
        self.safe.replace(Some(kept.clone()));
        Ok(())
    }

    /// From now on nothing lasts longer than the page.
    fn give_up(&self, error: &StoreError) {
        self.store.replace(Rc::new(PageStore::Memory(MemoryStore::default())));
        (self.on_trouble)(Trouble::NotKept { reason: error.to_string() });
    }

    fn store(&self) -> Rc<PageStore> {
        Rc::clone(&self.store.borrow())
    }
}
