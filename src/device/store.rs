//! The browser's storage: texts under keys, and what can go wrong with it. What the texts mean is
//! [`stored`](crate::stored)'s to say.

use std::rc::Rc;

use web_sys::Storage;

use crate::stored::{
    Body, OWN_MOVES, Settings, StoreError, Stored, StoredClass, StoredDone, StoredDraft, StoredRun,
    Unreadable, is_newer, list, read,
};

/// Where texts are kept under keys: the browser's storage, or a test's.
pub trait Shelf {
    /// The text under a key.
    ///
    /// # Errors
    /// [`StoreError::Forbidden`].
    fn get(&self, key: &str) -> Result<Option<String>, StoreError>;
    /// Puts a text under a key, in place of what was there.
    ///
    /// # Errors
    /// [`StoreError::Full`] or [`StoreError::Forbidden`]; what was there then still is.
    fn put(&self, key: &str, text: &str) -> Result<(), StoreError>;
    /// Takes a key away.
    fn remove(&self, key: &str);
    /// All keys.
    fn keys(&self) -> Vec<String>;
}

impl Shelf for Storage {
    fn get(&self, key: &str) -> Result<Option<String>, StoreError> {
        self.get_item(key).map_err(|_| StoreError::Forbidden)
    }

    fn put(&self, key: &str, text: &str) -> Result<(), StoreError> {
        // Browsers throw for a full storage only, once the storage itself could be had.
        self.set_item(key, text).map_err(|_| StoreError::Full)
    }

    fn remove(&self, key: &str) {
        let _ = self.remove_item(key);
    }

    fn keys(&self) -> Vec<String> {
        let count = self.length().unwrap_or(0);
        (0..count)
            .filter_map(|i| self.key(i).ok().flatten())
            .collect()
    }
}

/// The page's storage.
#[derive(Clone)]
pub struct Store {
    shelf: Result<Rc<dyn Shelf>, StoreError>,
}

impl Default for Store {
    fn default() -> Self {
        let storage = web_sys::window().and_then(|window| window.local_storage().ok().flatten());
        match storage {
            Some(storage) => Store::open(Rc::new(storage)),
            None => Store {
                shelf: Err(StoreError::Forbidden),
            },
        }
    }
}

impl Store {
    /// The store on a shelf. What a newer app left there is not touched.
    #[must_use]
    pub fn open(shelf: Rc<dyn Shelf>) -> Store {
        let newer = shelf.keys().iter().any(|key| is_newer(key));
        Store {
            shelf: if newer {
                Err(StoreError::Newer)
            } else {
                Ok(shelf)
            },
        }
    }

    fn shelf(&self) -> Result<&Rc<dyn Shelf>, StoreError> {
        self.shelf.as_ref().map_err(|e| *e)
    }

    /// What keeps the store from being used at all.
    #[must_use]
    pub fn fault(&self) -> Option<StoreError> {
        self.shelf.as_ref().err().copied()
    }

    fn text(&self, key: &str) -> Option<String> {
        self.shelf().ok()?.get(key).ok()?
    }

    fn find<T: Stored>(&self, key: &str) -> Result<Option<T>, Unreadable> {
        read(key, self.text(key).as_deref())
    }

    fn all<T: Stored>(&self) -> Vec<T> {
        let Ok(shelf) = self.shelf() else {
            return Vec::new();
        };
        let ours = shelf.keys().into_iter();
        let ours = ours.filter(|key| key.starts_with(T::KEYS));
        list(ours.filter_map(|key| self.text(&key).map(|text| (key, text))))
    }

    fn keep<T: Stored>(&self, one: &T) -> Result<(), StoreError> {
        self.shelf()?.put(&one.key(), &one.to_text())
    }

    fn remove(&self, key: &str) {
        if let Ok(shelf) = self.shelf() {
            shelf.remove(key);
        }
    }

    /// The classes that are kept, the last used first.
    #[must_use]
    pub fn classes(&self) -> Vec<StoredClass> {
        self.all()
    }

    /// The class with a key. One whose text was damaged comes all the same: who opens it is told.
    #[must_use]
    pub fn class(&self, key: &str) -> Option<StoredClass> {
        self.find(&StoredClass::key_of(key)).ok().flatten()
    }

    /// Keeps a class, in place of the one with its key.
    ///
    /// # Errors
    /// Why it is not kept; the one with its key then still is.
    pub fn keep_class(&self, class: &StoredClass) -> Result<(), StoreError> {
        self.keep(class)
    }

    /// Takes a class away. Keeping it again is the undo.
    pub fn remove_class(&self, key: &str) {
        self.remove(&StoredClass::key_of(key));
    }

    /// The run that was not ended, if there is one.
    ///
    /// # Errors
    /// There is one that can't be read. It stays until another is kept or it is dropped.
    pub fn run(&self) -> Result<Option<StoredRun>, Unreadable> {
        self.find(StoredRun::KEYS)
    }

    /// Keeps a run, in place of the one before; not in place of a newer generation. Returns whether
    /// it is kept.
    ///
    /// # Errors
    /// Why it is not kept; the one before then still is.
    pub fn keep_run(&self, run: &StoredRun) -> Result<bool, StoreError> {
        let newer = |kept: StoredRun| kept.generation > run.generation;
        if self.run().ok().flatten().is_some_and(newer) {
            return Ok(false);
        }
        self.keep(run).map(|()| true)
    }

    /// Puts a run that can't be read aside, so that the next one does not replace it.
    ///
    /// # Errors
    /// Why it is where it was.
    pub fn set_run_aside(&self, now: i64) -> Result<(), StoreError> {
        if let Some(text) = self.text(StoredRun::KEYS) {
            self.shelf()?.put(&StoredRun::aside_key(now), &text)?;
            self.remove(StoredRun::KEYS);
        }
        Ok(())
    }

    /// The classes that were done, the last first. What can't be read is left out, and left alone.
    #[must_use]
    pub fn done(&self) -> Vec<StoredDone> {
        self.all()
    }

    /// The class that was started at an instant.
    #[must_use]
    pub fn done_at(&self, start: i64) -> Option<StoredDone> {
        self.find(&StoredDone::key_of(start)).ok().flatten()
    }

    /// Keeps a class that was done, in place of what was kept of it.
    ///
    /// # Errors
    /// Why it is not kept.
    pub fn keep_done(&self, done: &StoredDone) -> Result<(), StoreError> {
        self.keep(done)
    }

    /// Forgets a class that was done.
    pub fn remove_done(&self, start: i64) {
        self.remove(&StoredDone::key_of(start));
    }

    /// Forgets all of them, also what can't be read.
    pub fn remove_all_done(&self) {
        if let Ok(shelf) = self.shelf() {
            for key in shelf.keys() {
                if key.starts_with(StoredDone::KEYS) {
                    shelf.remove(&key);
                }
            }
        }
    }

    /// The classes that are being written, the last changed first.
    #[must_use]
    pub fn drafts(&self) -> Vec<StoredDraft> {
        self.all()
    }

    /// The class that is being written under a key.
    #[must_use]
    pub fn draft(&self, key: &str) -> Option<StoredDraft> {
        self.find(&StoredDraft::key_of(key)).ok().flatten()
    }

    /// Keeps a class that is being written, in place of what was kept of it.
    ///
    /// # Errors
    /// Why it is not kept.
    pub fn keep_draft(&self, draft: &StoredDraft) -> Result<(), StoreError> {
        self.keep(draft)
    }

    /// Forgets a class that is being written. Keeping it again is the undo.
    pub fn remove_draft(&self, key: &str) {
        self.remove(&StoredDraft::key_of(key));
    }

    /// The coach's own moves, as plain text.
    #[must_use]
    pub fn own_moves(&self) -> String {
        self.text(OWN_MOVES).unwrap_or_default()
    }

    /// Keeps the coach's own moves.
    ///
    /// # Errors
    /// Why they are not kept.
    pub fn keep_own_moves(&self, text: &str) -> Result<(), StoreError> {
        self.shelf()?.put(OWN_MOVES, text)
    }

    /// What the member said of their body, for estimates.
    #[must_use]
    pub fn body(&self) -> Body {
        self.find(Body::KEYS).ok().flatten().unwrap_or_default()
    }

    /// Keeps what the member said of their body. Where that fails it holds until the page is closed.
    pub fn keep_body(&self, body: &Body) {
        let _ = self.keep(body);
    }

    /// What the member chose for all classes.
    #[must_use]
    pub fn settings(&self) -> Settings {
        self.find(Settings::KEYS).ok().flatten().unwrap_or_default()
    }

    /// Keeps what the member chose. Where that fails it holds until the page is closed.
    pub fn keep_settings(&self, settings: &Settings) {
        let _ = self.keep(settings);
    }
}
