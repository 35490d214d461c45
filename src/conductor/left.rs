//! A stored run: of a class that was left, or that runs in another tab.

use std::sync::Arc;

use super::opened::Opened;
use crate::run::{Input, Log, LogError, Moment, Phase, Run};
use crate::stored::{StoredDone, StoredRun};
use crate::timeline::Timeline;

/// A run that is stored: of a class that was left, or that runs in another tab.
#[derive(Clone, Debug)]
pub struct Left {
    /// The class.
    pub opened: Opened,
    pub(super) run: Run,
    pub(super) stored: StoredRun,
}

impl PartialEq for Left {
    fn eq(&self, other: &Left) -> bool {
        self.stored == other.stored
    }
}

/// Why a stored run can't be gone on with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unreadable {
    /// A newer app wrote it.
    Newer,
    /// Its class can't be read: it refers to exercises that are not on the phone, mostly.
    Class,
    /// It is damaged.
    Damaged,
}

/// What is stored of a run.
#[derive(Clone, Debug)]
pub enum Found {
    /// None. With the generation of the last one, as far as that is known.
    Nothing {
        /// See [`StoredRun`].
        generation: u64,
    },
    /// One that can be read.
    Run(Box<Left>),
    /// One that can't.
    Unreadable(Unreadable),
}

impl Found {
    /// Reads a stored run. `open` lays out the class of a link text, if it can be read.
    #[must_use]
    pub fn read(stored: StoredRun, open: impl FnOnce(&str) -> Option<Arc<Timeline>>) -> Found {
        if stored.is_none() {
            let generation = stored.generation;
            return Found::Nothing { generation };
        }
        let log = match Log::from_text(&stored.log) {
            Ok(log) => log,
            Err(LogError::Newer) => return Found::Unreadable(Unreadable::Newer),
            Err(_) => return Found::Unreadable(Unreadable::Damaged),
        };
        let Some(timeline) = open(&stored.plan) else {
            return Found::Unreadable(Unreadable::Class);
        };
        let Ok(run) = Run::replay(timeline.clone(), &log) else {
            return Found::Unreadable(Unreadable::Damaged);
        };
        let mut opened = Opened::new(timeline, stored.plan.as_str().into());
        opened.at = run.set();
        Found::Run(Box::new(Left {
            opened,
            run,
            stored,
        }))
    }
}

impl Left {
    /// Where the class stands: by its shared clock where it keeps to one, else where it was left.
    #[must_use]
    pub fn at(&self, now: i64) -> Moment {
        let seen = self.run.show(self.stored.seen);
        if seen.shared == Some(true) {
            return self.run.show(now);
        }
        if self.stored.joins.is_some_and(|at| at <= now) {
            // By now it would have joined by itself.
            let mut joined = Run::new(self.opened.timeline.clone());
            let set = self.run.set();
            joined.input(now, Input::Start { set, lead: false });
            return joined.show(now);
        }
        seen
    }

    /// It goes on by its shared clock, whether someone is there or not.
    #[must_use]
    pub fn in_step(&self, now: i64) -> bool {
        self.at(now).shared == Some(true)
    }

    /// Whether it can be gone on with.
    pub(super) fn goes_on(&self, now: i64) -> bool {
        match self.at(now).phase {
            // Who waits for a set instant, or for a recording, waits on.
            Phase::Before | Phase::Running | Phase::Paused | Phase::Held => true,
            Phase::Idle | Phase::Done => false,
        }
    }

    /// It as a class that is over, as far as it was seen; `None` where nothing was worked.
    pub(super) fn done(&self) -> Option<StoredDone> {
        let seen = self.stored.seen;
        let end = self.run.ended_at(seen).unwrap_or(seen);
        done(&self.run, end, &self.stored.plan, seen)
    }
}

/// A run that is over at an instant, for the history; `None` where nothing was worked.
pub(super) fn done(run: &Run, end: i64, link: &str, changed: i64) -> Option<StoredDone> {
    let start = run.log().begun()?;
    let record = run.record(end);
    (record.worked_ms > 0 || record.away_ms > 0).then(|| StoredDone {
        start,
        end,
        changed,
        rating: None,
        note: String::new(),
        plan: link.to_owned(),
        log: run.log().to_text(),
    })
}
