//! What stays on the phone: opened classes, and the run that was not ended.
//!
//! Keys start with `rungbook/1/`, where 1 is the version of the form. A later form reads this one
//! and writes its own ([`Store::open`] is where it would); a form that is newer than this code is
//! left alone.

use core::fmt;
use std::rc::Rc;

use web_sys::Storage;

use super::settings::Settings;

const PREFIX: &str = "rungbook/";
const FORM: u32 = 1;
const RUN: &str = "rungbook/1/run";
const CLASS: &str = "rungbook/1/class/";
const DONE: &str = "rungbook/1/done/";
const SETTINGS: &str = "rungbook/1/settings";
const DRAFT: &str = "rungbook/1/draft/";
const OWN_MOVES: &str = "rungbook/1/moves";
const BODY: &str = "rungbook/1/body";

/// Why something was not kept. Nothing that was kept before is lost by it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StoreError {
    /// There is no room left.
    Full,
    /// The browser keeps nothing here.
    Forbidden,
    /// A newer app keeps its classes here, in a form that this one does not know.
    Newer,
}

impl fmt::Display for StoreError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            StoreError::Full => {
                "There is no room left for this class on the phone. It can be followed now; to keep it, remove another one."
            }
            StoreError::Forbidden => {
                "This browser keeps nothing here, as private windows do. The class can be followed now; keep the coach's link to open it again."
            }
            StoreError::Newer => {
                "A newer Rungbook keeps its classes on this phone. Update this one to see them; they are not touched until then."
            }
        })
    }
}

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

/// A class that is kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StoredClass {
    /// Names it across its revisions.
    pub key: String,
    /// The plan's link text.
    pub source: String,
    /// The instant at which it was last opened.
    pub used: i64,
    /// The instant at which it starts, where one was set.
    pub at: Option<i64>,
}

/// A run as it is stored: enough to go on with after the page was closed in mid-class.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StoredRun {
    /// The plan's link text.
    pub plan: String,
    /// The run's log, as it writes itself.
    pub log: String,
    /// The last instant at which the class was seen to run.
    pub seen: i64,
    /// When who came late joins the class by itself.
    pub joins: Option<i64>,
}

/// A class that was done: its run, and what the person says of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StoredDone {
    /// The instant at which it was started; names it.
    pub start: i64,
    /// The instant at which it was over.
    pub end: i64,
    /// How hard it was, from 0 to 10.
    pub rating: Option<u8>,
    /// A note of the person's own.
    pub note: String,
    /// The plan's link text.
    pub plan: String,
    /// The run's log, as it writes itself.
    pub log: String,
}

/// A class that is being written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StoredDraft {
    /// Names it.
    pub key: String,
    /// The instant of its last change.
    pub edited: i64,
    /// The digest of the plan that was handed out last.
    pub given: Option<u64>,
    /// The class, as plain text.
    pub text: String,
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
        let newer = shelf.keys().iter().any(|key| {
            key.strip_prefix(PREFIX)
                .and_then(|rest| rest.split('/').next())
                .and_then(|form| form.parse::<u32>().ok())
                .is_some_and(|form| form > FORM)
        });
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

    /// The classes that are kept, the last used first.
    #[must_use]
    pub fn classes(&self) -> Vec<StoredClass> {
        let Ok(shelf) = self.shelf() else {
            return Vec::new();
        };
        let mut classes: Vec<StoredClass> = Vec::new();
        for key in shelf.keys() {
            let Some(class) = key.strip_prefix(CLASS).and_then(|key| self.class(key)) else {
                continue;
            };
            // They are few, and a sort would be the larger part of this module.
            let comes_before = |old: &StoredClass| (class.used, &old.key) > (old.used, &class.key);
            let at = classes
                .iter()
                .position(comes_before)
                .unwrap_or(classes.len());
            classes.insert(at, class);
        }
        classes
    }

    /// The class with a key. One whose text was damaged comes all the same: who opens it is told.
    #[must_use]
    pub fn class(&self, key: &str) -> Option<StoredClass> {
        let text = self.shelf().ok()?.get(&class_key(key)).ok()??;
        let (head, source) = match text.split_once('\n') {
            Some((head, source)) => (head, source),
            None => ("", &*text),
        };
        let mut times = head.split(' ').map(|time| time.parse().ok());
        let used = times.next().flatten().unwrap_or(0);
        let at = times.next().flatten();
        let source = source.to_owned();
        Some(StoredClass {
            key: key.to_owned(),
            source,
            used,
            at,
        })
    }

    /// Keeps a class, in place of the one with its key.
    ///
    /// # Errors
    /// Why it is not kept; the one with its key then still is.
    pub fn keep_class(&self, class: &StoredClass) -> Result<(), StoreError> {
        let at = class.at.map_or_else(String::new, |at| format!(" {at}"));
        let text = format!("{}{at}\n{}", class.used, class.source);
        self.shelf()?.put(&class_key(&class.key), &text)
    }

    /// Takes a class away. Keeping it again is the undo.
    pub fn remove_class(&self, key: &str) {
        if let Ok(shelf) = self.shelf() {
            shelf.remove(&class_key(key));
        }
    }

    /// The run that was not ended, if there is one that can be read.
    #[must_use]
    pub fn run(&self) -> Option<StoredRun> {
        let text = self.shelf().ok()?.get(RUN).ok()??;
        let mut parts = text.splitn(3, '\n');
        let mut instants = parts.next()?.split(' ').map(|at| at.parse().ok());
        Some(StoredRun {
            seen: instants.next()??,
            joins: instants.next().flatten(),
            plan: parts.next()?.to_owned(),
            log: parts.next()?.to_owned(),
        })
    }

    /// Keeps a run, in place of the one before. Where that fails, the way back after a crash is
    /// lost, not the class.
    pub fn keep_run(&self, run: &StoredRun) {
        if let Ok(shelf) = self.shelf() {
            let joins = run.joins.map_or_else(String::new, |at| format!(" {at}"));
            let text = format!("{}{joins}\n{}\n{}", run.seen, run.plan, run.log);
            let _ = shelf.put(RUN, &text);
        }
    }

    /// The classes that were done, the last first. What can't be read is left out, and left alone.
    #[must_use]
    pub fn done(&self) -> Vec<StoredDone> {
        let Ok(shelf) = self.shelf() else {
            return Vec::new();
        };
        let mut all: Vec<StoredDone> = Vec::new();
        for key in shelf.keys() {
            let start = key.strip_prefix(DONE).and_then(|start| start.parse().ok());
            let Some(done) = start.and_then(|start| self.done_at(start)) else {
                continue;
            };
            let at = all.iter().position(|other| other.start < done.start);
            all.insert(at.unwrap_or(all.len()), done);
        }
        all
    }

    /// The class that was started at an instant.
    #[must_use]
    pub fn done_at(&self, start: i64) -> Option<StoredDone> {
        let text = self.shelf().ok()?.get(&done_key(start)).ok()??;
        let mut parts = text.splitn(5, '\n');
        Some(StoredDone {
            start,
            end: parts.next()?.parse().ok()?,
            rating: parts.next()?.parse().ok(),
            note: parts.next()?.to_owned(),
            plan: parts.next()?.to_owned(),
            log: parts.next()?.to_owned(),
        })
    }

    /// Keeps a class that was done, in place of what was kept of it.
    ///
    /// # Errors
    /// Why it is not kept.
    pub fn keep_done(&self, done: &StoredDone) -> Result<(), StoreError> {
        let rating = done
            .rating
            .map_or_else(String::new, |rating| rating.to_string());
        // A line is a line.
        let note = done.note.replace(['\n', '\r'], " ");
        let text = format!(
            "{}\n{rating}\n{note}\n{}\n{}",
            done.end, done.plan, done.log
        );
        self.shelf()?.put(&done_key(done.start), &text)
    }

    /// Forgets a class that was done.
    pub fn remove_done(&self, start: i64) {
        if let Ok(shelf) = self.shelf() {
            shelf.remove(&done_key(start));
        }
    }

    /// Forgets all of them, also what can't be read.
    pub fn remove_all_done(&self) {
        if let Ok(shelf) = self.shelf() {
            for key in shelf.keys() {
                if key.starts_with(DONE) {
                    shelf.remove(&key);
                }
            }
        }
    }

    /// The classes that are being written, the last changed first.
    #[must_use]
    pub fn drafts(&self) -> Vec<StoredDraft> {
        let Ok(shelf) = self.shelf() else {
            return Vec::new();
        };
        let mut drafts: Vec<StoredDraft> = Vec::new();
        for key in shelf.keys() {
            let Some(draft) = key.strip_prefix(DRAFT).and_then(|key| self.draft(key)) else {
                continue;
            };
            let at = drafts.iter().position(|other| other.edited < draft.edited);
            drafts.insert(at.unwrap_or(drafts.len()), draft);
        }
        drafts
    }

    /// The class that is being written under a key.
    #[must_use]
    pub fn draft(&self, key: &str) -> Option<StoredDraft> {
        let text = self.shelf().ok()?.get(&format!("{DRAFT}{key}")).ok()??;
        let mut parts = text.splitn(3, '\n');
        Some(StoredDraft {
            key: key.to_owned(),
            edited: parts.next()?.parse().ok()?,
            given: parts.next()?.parse().ok(),
            text: parts.next()?.to_owned(),
        })
    }

    /// Keeps a class that is being written, in place of what was kept of it.
    ///
    /// # Errors
    /// Why it is not kept.
    pub fn keep_draft(&self, draft: &StoredDraft) -> Result<(), StoreError> {
        let given = draft.given.map_or_else(String::new, |n| n.to_string());
        let text = format!("{}\n{given}\n{}", draft.edited, draft.text);
        self.shelf()?.put(&format!("{DRAFT}{}", draft.key), &text)
    }

    /// Forgets a class that is being written. Keeping it again is the undo.
    pub fn remove_draft(&self, key: &str) {
        if let Ok(shelf) = self.shelf() {
            shelf.remove(&format!("{DRAFT}{key}"));
        }
    }

    /// The coach's own moves, as plain text.
    #[must_use]
    pub fn own_moves(&self) -> String {
        let text = self
            .shelf()
            .ok()
            .and_then(|shelf| shelf.get(OWN_MOVES).ok());
        text.flatten().unwrap_or_default()
    }

    /// Keeps the coach's own moves.
    ///
    /// # Errors
    /// Why they are not kept.
    pub fn keep_own_moves(&self, text: &str) -> Result<(), StoreError> {
        self.shelf()?.put(OWN_MOVES, text)
    }

    /// What the member said of their body, for estimates: whatever was kept, as text.
    #[must_use]
    pub fn body(&self) -> String {
        let text = self.shelf().ok().and_then(|shelf| shelf.get(BODY).ok());
        text.flatten().unwrap_or_default()
    }

    /// Keeps what the member said of their body. Where that fails it holds until the page is closed.
    pub fn keep_body(&self, text: &str) {
        if let Ok(shelf) = self.shelf() {
            let _ = shelf.put(BODY, text);
        }
    }

    /// What the member chose for all classes.
    #[must_use]
    pub fn settings(&self) -> Settings {
        let text = self.shelf().ok().and_then(|shelf| shelf.get(SETTINGS).ok());
        Settings::read(&text.flatten().unwrap_or_default())
    }

    /// Keeps what the member chose. Where that fails it holds until the page is closed.
    pub fn keep_settings(&self, settings: &Settings) {
        if let Ok(shelf) = self.shelf() {
            let _ = shelf.put(SETTINGS, &settings.text());
        }
    }

    /// The run is over.
    pub fn drop_run(&self) {
        if let Ok(shelf) = self.shelf() {
            shelf.remove(RUN);
        }
    }
}

fn done_key(start: i64) -> String {
    format!("{DONE}{start}")
}

fn class_key(key: &str) -> String {
    format!("{CLASS}{key}")
}
