//! What is stored of a run, by which tab, and what becomes of a run that was left.

use std::sync::Arc;

use super::{Conductor, Effect, Kept, Opened, Session, Stage};
use crate::run::{Input, Log, LogError, Moment, Phase, Run};
use crate::stored::{StoreError, StoredDone, StoredRun};
use crate::timeline::Timeline;

/// How far this tab has come with the lock, and with what was stored before.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Lock {
    /// A class that is only tried needs none and is not stored.
    Trial,
    /// Asked for.
    Asked,
    /// Held; what is stored is being read.
    Reading,
    /// Held; a run that is not ours is being put where ours does not replace it.
    Clearing,
    /// Held; there is no room to put that run, so ours is not stored. It is tried again.
    Blocked,
    /// Held, and the stored run is ours.
    Held,
    /// Let go, or no longer ours.
    Freed,
}

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
    fn goes_on(&self, now: i64) -> bool {
        let at = self.at(now);
        match at.phase {
            Phase::Running | Phase::Paused | Phase::Held => true,
            Phase::Before => at.shared.is_some(),
            Phase::Idle | Phase::Done => false,
        }
    }

    /// It as a class that is over, as far as it was seen; `None` where nothing was worked.
    fn done(&self) -> Option<StoredDone> {
        let seen = self.stored.seen;
        let end = self.run.ended_at(seen).unwrap_or(seen);
        done(&self.run, end, &self.stored.plan, seen)
    }
}

/// A run that is over at an instant, for the history; `None` where nothing was worked.
fn done(run: &Run, end: i64, link: &str, changed: i64) -> Option<StoredDone> {
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

impl Session {
    /// Whether a stored run is of this one.
    fn is_run_of(&self, left: &Left) -> bool {
        left.run.log().begun() == self.run.log().begun() && left.opened.link == self.opened.link
    }
}

impl Conductor {
    // ---- The lock ----

    pub(super) fn lock_won(&mut self, exclusive: bool) {
        match &mut self.session {
            Some(session) if session.lock == Lock::Asked => {
                session.lock = Lock::Reading;
                session.exclusive = exclusive;
                self.refused = None;
                self.push(Effect::ReadRun);
            }
            // Nobody waits for it any more.
            _ => self.push(Effect::FreeLock),
        }
    }

    pub(super) fn lock_refused(&mut self, now: i64) {
        let Some(session) = &mut self.session else {
            return;
        };
        if session.lock != Lock::Asked {
            return;
        }
        if session.over {
            session.lock = Lock::Freed;
            self.archive_session(now);
        } else {
            self.give_way();
        }
    }

    pub(super) fn lock_lost(&mut self) {
        self.refused = None;
        if self.on().is_some_and(|session| session.lock != Lock::Trial) {
            self.give_way();
        }
    }

    /// The class runs in another tab: here it ends, and what is stored of it is the other's.
    fn give_way(&mut self) {
        self.session = None;
        self.elsewhere = true;
        self.push(Effect::CancelSound);
        self.push(Effect::Hush);
        self.push(Effect::Unduck);
        self.push(Effect::DropTrack);
        self.push(Effect::KeepScreenOn(false));
        self.push(Effect::FillScreen(false));
        self.push(Effect::FollowAudioClock(false));
        self.speaker.over();
        self.push(Effect::ReadRun);
        self.push(Effect::Show(Stage::Brief));
    }

    pub(super) fn lock_held(&mut self, held: bool) {
        let ours = |session: &Session| !matches!(session.lock, Lock::Trial | Lock::Freed);
        if self.session.as_ref().is_some_and(ours) {
            return;
        }
        self.elsewhere = held;
        if !held && let Some(ended) = self.ended.take() {
            // It ended while nobody looked.
            self.archive_left(&ended);
        }
    }

    // ---- What is stored ----

    /// `device` is the device's instant, `now` the run's.
    pub(super) fn found(&mut self, device: i64, now: i64, found: Found) {
        let lock = self.session.as_ref().map(|session| session.lock);
        match lock {
            Some(Lock::Reading) => self.claim(now, found),
            None | Some(Lock::Trial | Lock::Freed) => {
                (self.left, self.ended, self.unreadable) = (None, None, None);
                match found {
                    Found::Nothing { .. } => {}
                    Found::Run(left) if left.goes_on(device) => self.left = Some(*left),
                    Found::Run(left) => self.ended = Some(*left),
                    Found::Unreadable(why) => self.unreadable = Some(why),
                }
                self.go_on(device);
            }
            _ => {}
        }
    }

    /// The lock is ours: what is stored makes way for our run, and is lost by none of it.
    fn claim(&mut self, now: i64, found: Found) {
        (self.left, self.ended) = (None, None);
        let Some(session) = &mut self.session else {
            return;
        };
        match found {
            Found::Nothing { generation } => session.generation = generation + 1,
            Found::Run(left) => {
                session.generation = left.stored.generation + 1;
                if session.is_run_of(&left) {
                    session.adopt(&left);
                } else if let Some(done) = left.done() {
                    session.lock = Lock::Clearing;
                    return self.push(Effect::Archive(done));
                }
            }
            Found::Unreadable(why) => {
                session.generation = 1;
                session.lock = Lock::Clearing;
                self.unreadable = Some(why);
                return self.push(Effect::SetAside);
            }
        }
        self.hold(now);
    }

    /// The stored run is ours from now on.
    fn hold(&mut self, now: i64) {
        let Some(session) = &mut self.session else {
            return;
        };
        session.lock = Lock::Held;
        let over = session.over;
        self.store(now);
        if over {
            self.archive_session(now);
        }
    }

    fn blocked(&mut self, fault: StoreError) {
        self.fault = Some(fault);
        if let Some(session) = &mut self.session {
            session.lock = Lock::Blocked;
        }
    }

    /// Stores the run, where the stored run is ours.
    pub(super) fn store(&mut self, now: i64) {
        let Some(session) = &mut self.session else {
            return;
        };
        session.seen = now;
        match session.lock {
            Lock::Held => {
                let stored = StoredRun {
                    plan: session.opened.link.to_string(),
                    log: session.run.log().to_text(),
                    seen: now,
                    joins: session.joins,
                    generation: session.generation,
                };
                self.push(Effect::Store(stored));
            }
            Lock::Blocked => {
                session.lock = Lock::Reading;
                self.push(Effect::ReadRun);
            }
            _ => {}
        }
    }

    pub(super) fn stored(&mut self, outcome: Result<Kept, StoreError>) {
        match outcome {
            Ok(Kept::Stored) => self.fault = None,
            Ok(Kept::Superseded) => match self.on() {
                Some(session) if session.exclusive => self.lock_lost(),
                // Where a browser has no locks each tab leads: the newest one is stored.
                Some(session) => session.lock = Lock::Freed,
                None => {}
            },
            Err(fault) => self.fault = Some(fault),
        }
    }

    pub(super) fn set_aside(&mut self, now: i64, outcome: Result<(), StoreError>) {
        let clearing = |session: &Session| session.lock == Lock::Clearing;
        if self.session.as_ref().is_some_and(clearing) {
            match outcome {
                Ok(()) => self.hold(now),
                Err(fault) => self.blocked(fault),
            }
        }
    }

    // ---- The history ----

    /// Puts the run of this tab into the history, once it is over.
    pub(super) fn archive_session(&mut self, now: i64) {
        let Some(session) = &mut self.session else {
            return;
        };
        if !matches!(session.lock, Lock::Held | Lock::Freed) {
            // Tried only, or archived as soon as the stored run is ours.
            return;
        }
        let end = session.run.ended_at(now).unwrap_or(now);
        match done(&session.run, end, &session.opened.link, now) {
            Some(done) => self.push(Effect::Archive(done)),
            None => self.drop_session(),
        }
    }

    /// Nothing of the run of this tab has to stay stored as a run.
    fn drop_session(&mut self) {
        if let Some(session) = &mut self.session
            && session.lock == Lock::Held
        {
            session.lock = Lock::Freed;
            let generation = session.generation;
            self.push(Effect::DropRun(generation));
            self.push(Effect::FreeLock);
        }
    }

    pub(super) fn archived_at(&mut self, now: i64, start: i64, outcome: Result<(), StoreError>) {
        if let Some(session) = &mut self.session {
            if session.over && session.run.log().begun() == Some(start) {
                session.archived = Some(outcome.map(|()| start));
                if outcome.is_ok() {
                    self.drop_session();
                } else if session.lock == Lock::Held {
                    // It stays stored as a run, and is put into the history when there is room.
                    self.store(now);
                    self.push(Effect::FreeLock);
                    if let Some(session) = &mut self.session {
                        session.lock = Lock::Freed;
                    }
                }
                return;
            }
            if session.lock == Lock::Clearing {
                return match outcome {
                    Ok(()) => self.hold(now),
                    Err(fault) => self.blocked(fault),
                };
            }
        }
        match outcome {
            Ok(()) => {
                let of_it = |left: &Left| left.run.log().begun() == Some(start);
                if let Some(gone) = self.going.take_if(|left| of_it(left)) {
                    self.push(Effect::DropRun(gone.stored.generation));
                }
            }
            Err(fault) => self.fault = Some(fault),
        }
    }

    /// Puts a stored run into the history, as far as it was seen. Where there is no room it stays
    /// stored as it is, to be tried again.
    pub(super) fn archive_left(&mut self, left: &Left) {
        match left.done() {
            Some(done) => {
                self.going = Some(left.clone());
                self.push(Effect::Archive(done));
            }
            None => self.push(Effect::DropRun(left.stored.generation)),
        }
    }

    pub(super) fn discard_left(&mut self) {
        if let Some(left) = self.left.take() {
            self.archive_left(&left);
        }
    }

    /// The member says of a class that is over what they did while the phone was away.
    pub(super) fn answer_when_done(&mut self, now: i64, input: Input) {
        let Some(session) = &mut self.session else {
            return;
        };
        session.run.input(now, input);
        if session.run.show(now).phase == Phase::Done {
            return self.archive_session(now);
        }
        self.reopen(now);
    }
}

impl Session {
    /// Takes over what the other tab logged since this one read the stored run.
    fn adopt(&mut self, left: &Left) {
        let (ours, theirs) = (self.run.log().inputs(), left.run.log().inputs());
        if theirs.len() > ours.len() && theirs.starts_with(ours) {
            self.run = left.run.clone();
            self.joins = left.stored.joins;
        }
    }
}
