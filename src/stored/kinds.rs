//! Classes, runs and drafts.

use super::form::{Fields, field, instant, is_instant, needed, value, whole};
use super::{Stored, Unreadable};
use crate::draft::Given;

/// A class that is kept.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct StoredClass {
    /// Names it across its revisions.
    pub key: String,
    /// The plan's link text; empty where it was damaged.
    pub source: String,
    /// The instant at which it was last opened.
    pub used: i64,
    /// The instant at which it starts, where one was set.
    pub at: Option<i64>,
}

impl StoredClass {
    /// The key of a class.
    #[must_use]
    pub fn key_of(class: &str) -> String {
        format!("{}{class}", Self::KEYS)
    }
}

impl Stored for StoredClass {
    const KEYS: &'static str = "rungbook/1/class/";

    fn key(&self) -> String {
        Self::key_of(&self.key)
    }

    fn to_text(&self) -> String {
        Fields::default()
            .with("used", self.used)
            .with_some("at", self.at)
            .with("source", &self.source)
            .text()
    }

    /// One whose text was damaged comes all the same, with as much of it as can be read: who opens it
    /// is told, and can remove it.
    fn from_text(name: &str, text: &str) -> Result<Self, Unreadable> {
        Ok(StoredClass {
            key: name.to_owned(),
            source: needed(text, "source").unwrap_or_default(),
            used: instant(text, "used").ok().flatten().unwrap_or(0),
            at: instant(text, "at").ok().flatten(),
        })
    }

    fn instant(&self) -> i64 {
        self.used
    }
}

/// A run as it is stored: enough to go on with after the page was closed in mid-class.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct StoredRun {
    /// The plan's link text.
    pub plan: String,
    /// The run's log, as it writes itself.
    pub log: String,
    /// The last instant at which the class was seen to run.
    pub seen: i64,
    /// When who came late joins the class by itself.
    pub joins: Option<i64>,
    /// How often a tab has taken over the run, or begun another: an older one never replaces a newer.
    pub generation: u64,
}

impl StoredRun {
    /// What stands for no run: its generation is kept, so that a tab that was not told yet does not
    /// bring an older run back.
    #[must_use]
    pub fn none(generation: u64) -> StoredRun {
        StoredRun {
            generation,
            ..StoredRun::default()
        }
    }

    /// Whether it stands for no run.
    #[must_use]
    pub fn is_none(&self) -> bool {
        self.log.is_empty()
    }

    /// The key of a run that can't be read, put aside at an instant so that the next one does not
    /// replace it.
    #[must_use]
    pub fn aside_key(at: i64) -> String {
        format!("{}-aside/{at}", Self::KEYS)
    }
}

impl Stored for StoredRun {
    const KEYS: &'static str = "rungbook/1/run";

    fn key(&self) -> String {
        Self::KEYS.to_owned()
    }

    fn to_text(&self) -> String {
        Fields::default()
            .with("generation", self.generation)
            .with("seen", self.seen)
            .with_some("joins", self.joins)
            .with("plan", &self.plan)
            .with("log", &self.log)
            .text()
    }

    fn from_text(name: &str, text: &str) -> Result<Self, Unreadable> {
        whole(text)?;
        if !name.is_empty() {
            return Err(Unreadable::Damaged);
        }
        Ok(StoredRun {
            plan: needed(text, "plan")?,
            log: needed(text, "log")?,
            seen: instant(text, "seen")?.ok_or(Unreadable::Damaged)?,
            joins: instant(text, "joins")?,
            generation: value(text, "generation")?.unwrap_or(0),
        })
    }

    fn instant(&self) -> i64 {
        self.seen
    }
}

/// A class that was done: its run, and what the person says of it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct StoredDone {
    /// The instant at which it was started; names it.
    pub start: i64,
    /// The instant at which it was over.
    pub end: i64,
    /// The instant at which anything of this was last changed.
    pub changed: i64,
    /// How hard it was, from 0 to 10.
    pub rating: Option<u8>,
    /// A note of the person's own.
    pub note: String,
    /// The plan's link text.
    pub plan: String,
    /// The run's log, as it writes itself.
    pub log: String,
}

impl StoredDone {
    /// The highest rating.
    pub const MOST_RATING: u8 = 10;

    /// It with the rating and the note of what is kept of the same class.
    #[must_use]
    pub fn with_words_of(self, kept: Option<StoredDone>) -> StoredDone {
        match kept {
            Some(kept) => StoredDone {
                rating: kept.rating,
                note: kept.note,
                ..self
            },
            None => self,
        }
    }

    /// The key of the class that was started at an instant.
    #[must_use]
    pub fn key_of(start: i64) -> String {
        format!("{}{start}", Self::KEYS)
    }
}

impl Stored for StoredDone {
    const KEYS: &'static str = "rungbook/1/done/";

    fn key(&self) -> String {
        Self::key_of(self.start)
    }

    fn to_text(&self) -> String {
        Fields::default()
            .with("end", self.end)
            .with("changed", self.changed)
            .with_some("rating", self.rating)
            .with("note", &self.note)
            .with("plan", &self.plan)
            .with("log", &self.log)
            .text()
    }

    fn from_text(name: &str, text: &str) -> Result<Self, Unreadable> {
        whole(text)?;
        let start = name.parse().ok();
        // Written another way it would be another key.
        let start = start.filter(|start| is_instant(*start) && start.to_string() == name);
        let rating = value(text, "rating")?;
        if rating.is_some_and(|rating| rating > Self::MOST_RATING) {
            return Err(Unreadable::Damaged);
        }
        Ok(StoredDone {
            start: start.ok_or(Unreadable::Damaged)?,
            end: instant(text, "end")?.ok_or(Unreadable::Damaged)?,
            changed: instant(text, "changed")?.ok_or(Unreadable::Damaged)?,
            rating,
            note: needed(text, "note")?,
            plan: needed(text, "plan")?,
            log: needed(text, "log")?,
        })
    }

    fn instant(&self) -> i64 {
        self.start
    }
}

/// A class that is being written.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct StoredDraft {
    /// Names it.
    pub key: String,
    /// The instant of its last change.
    pub edited: i64,
    /// What was handed out last.
    pub given: Option<Given>,
    /// The class, as plain text.
    pub text: String,
}

impl StoredDraft {
    /// The key of a class that is being written.
    #[must_use]
    pub fn key_of(draft: &str) -> String {
        format!("{}{draft}", Self::KEYS)
    }
}

impl Stored for StoredDraft {
    const KEYS: &'static str = "rungbook/1/draft/";

    fn key(&self) -> String {
        Self::key_of(&self.key)
    }

    fn to_text(&self) -> String {
        let given = (self.given).map(|given| format!("{} {:016x}", given.revision, given.digest));
        Fields::default()
            .with("edited", self.edited)
            .with_some("given", given)
            .with("text", &self.text)
            .text()
    }

    /// The text is what was written, by hand and for hours: it comes whatever else was damaged.
    fn from_text(name: &str, text: &str) -> Result<Self, Unreadable> {
        Ok(StoredDraft {
            key: name.to_owned(),
            edited: instant(text, "edited").ok().flatten().unwrap_or(0),
            // Damaged: something was handed out, and it is not known what.
            given: given(text).unwrap_or(Some(Given::default())),
            text: needed(text, "text")?,
        })
    }

    fn instant(&self) -> i64 {
        self.edited
    }
}

/// A revision and a digest.
fn given(text: &str) -> Result<Option<Given>, Unreadable> {
    let Some(given) = field(text, "given")? else {
        return Ok(None);
    };
    let read = || {
        let (revision, digest) = given.split_once(' ')?;
        Some(Given {
            revision: revision.parse().ok()?,
            digest: u64::from_str_radix(digest, 16).ok()?,
        })
    };
    read().map(Some).ok_or(Unreadable::Damaged)
}
