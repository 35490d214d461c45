//! What is stored of a run, by which tab, and what becomes of a run that was left.

use super::event::{Effect, Kept, Stage};
use super::left::{Found, Left, done};
use super::session::{Conductor, Lock, Session};
use crate::run::{Input, Phase};
use crate::stored::{StoreError, StoredRun};

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
            // It was asked for twice, and is ours already.
            Some(session) if !matches!(session.lock, Lock::Trial | Lock::Freed) => {}
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
        self.wanted = None;
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
            _ => self.wanted = None,
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
