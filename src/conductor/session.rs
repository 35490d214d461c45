//! The conductor: starting, going on and ending, inputs, and what comes by itself.

use super::event::{Effect, Event, SoundState, Stage, Start};
use super::left::{Left, Unreadable};
use super::opened::Opened;
use super::second_touch::DOUBLE_TAP_MS;
use super::speaker::Speaker;
use crate::run::{AlignOffer, Away, Input, Moment, Phase, Record, Run};
use crate::stored::{Settings, StoreError};
use crate::timeline::Ways;

/// How long someone who comes late warms up, about, in milliseconds: they join where all others
/// get ready.
pub const WARM_UP_MS: i64 = 120_000;
/// How often the stored run is told that the class still runs, in milliseconds.
pub const SEEN_EVERY_MS: i64 = 5_000;
/// Where a page that is hidden or frozen does not wake for longer than this, in milliseconds, the
/// member is asked whether they kept going. A hidden page that is awake is woken once a minute, and
/// is a little late then.
pub const AWAY_MS: i64 = 62_000;
/// A tab that runs a class and was not seen for so long has ended without a word.
const GONE_MS: i64 = 75_000;
/// How long the way back from a shift is offered, in milliseconds.
pub const UNDO_FOR_MS: i64 = 20_000;
/// How long the way back into a class that was ended is offered, in milliseconds.
pub const BACK_FOR_MS: i64 = 120_000;

/// A class that runs in another tab of this browser.
#[derive(Clone, Debug, PartialEq)]
pub struct Elsewhere {
    /// It, where what is stored of it can be read.
    pub class: Option<Left>,
    /// It refused the start of another class, which can be started in its place.
    pub refused: bool,
}

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

/// The run of this tab: on, or just over.
#[derive(Debug)]
pub(super) struct Session {
    pub(super) opened: Opened,
    pub(super) run: Run,
    /// What is added to the device's clock: it may have been set back since the run was stored,
    /// and a run never goes back.
    pub(super) skew: i64,
    pub(super) generation: u64,
    pub(super) lock: Lock,
    /// Only one tab can have the lock.
    pub(super) exclusive: bool,
    /// When the stored run was told last that the class runs.
    pub(super) seen: i64,
    /// When someone who came late joins by itself.
    pub(super) joins: Option<i64>,
    /// Until when the last shift is offered to be undone.
    pub(super) undo_until: Option<i64>,
    /// The instant of the touch that led into the class: what follows within a double tap is of it.
    pub(super) entered: i64,
    pub(super) hushed: bool,
    pub(super) unwell: bool,
    pub(super) over: bool,
    /// When it was ended by a touch.
    pub(super) stopped_at: Option<i64>,
    /// What became of it in the history: its start, or why it is not there.
    pub(super) archived: Option<Result<i64, StoreError>>,
}

impl Session {
    /// Whether a touch belongs to the double tap that led into the class. No finger touches twice in
    /// one millisecond: what comes then is a program that steers the page.
    fn is_double_tap(&self, now: i64) -> bool {
        (1..DOUBLE_TAP_MS).contains(&(now - self.entered))
    }
}

/// What is to be done with what is stored, once it was read again.
#[derive(Clone, Copy, Debug)]
pub(super) enum Wanted {
    Resume,
    TakeOver,
}

/// The session around a run.
#[derive(Debug, Default)]
pub struct Conductor {
    pub(super) settings: Settings,
    pub(super) session: Option<Session>,
    pub(super) left: Option<Left>,
    /// A stored run that is over: it goes to the history once it is known that no tab runs it.
    pub(super) ended: Option<Left>,
    /// A stored run that is being put into the history.
    pub(super) going: Option<Left>,
    pub(super) unreadable: Option<Unreadable>,
    pub(super) elsewhere: bool,
    pub(super) refused: Option<Start>,
    pub(super) wanted: Option<Wanted>,
    pub(super) fault: Option<StoreError>,
    pub(super) hidden: bool,
    /// The last instant at which an event came.
    pub(super) alive: i64,
    pub(super) speaker: Speaker,
    pub(super) effects: Vec<Effect>,
}

impl Conductor {
    /// A conductor for a browser. `lock_screen_sound`: the browser lets laid sound go on with the
    /// page hidden, where the member wants that; no track is needed.
    #[must_use]
    pub fn new(settings: Settings, lock_screen_sound: bool) -> Conductor {
        Conductor {
            settings,
            speaker: Speaker::new(lock_screen_sound),
            ..Conductor::default()
        }
    }

    /// Handles an event that happened at an instant, in milliseconds of the device's clock. Returns
    /// what is to be done, in order.
    #[must_use = "effects that are not carried out are lost"]
    pub fn handle(&mut self, now: i64, event: Event) -> Vec<Effect> {
        let own = self.own(now);
        self.note_absence(own);
        self.take(now, own, event);
        // A run that was begun in this call may have a clock of its own.
        let own = self.own(now);
        self.tick(own);
        self.alive = own;
        let mut effects = core::mem::take(&mut self.effects);
        if own != now {
            effects
                .iter_mut()
                .for_each(|effect| put_back(effect, own - now));
        }
        effects
    }

    /// `device` is the device's instant, `now` the run's.
    fn take(&mut self, device: i64, now: i64, event: Event) {
        match event {
            Event::Start(start) => self.start(device, start, false),
            Event::ResumeLeft => self.want(Wanted::Resume),
            Event::TakeOver => self.want(Wanted::TakeOver),
            Event::EndOther => {
                if let Some(start) = self.refused.take() {
                    self.start(device, start, true);
                }
            }
            Event::DiscardLeft => self.discard_left(),
            Event::Touch(input) => self.touch(now, input),
            Event::MediaKey(input) => {
                let heeds = |session: &Session| !session.hushed && !session.over;
                if self.session.as_ref().is_some_and(heeds) {
                    self.touch(now, input);
                }
            }
            Event::Unwell => self.stop_unwell(now),
            Event::AdviceClosed => self.sound_again(now),
            Event::BackToClass => self.back_to_class(now),
            Event::WakeSound => {
                self.push(Effect::UnlockSound);
                self.lay_anew(now);
            }
            Event::CheckSound(words) => self.check_sound(now, words),
            Event::Settings(settings) => self.set_settings(now, settings),
            Event::Look => {
                self.push(Effect::ReadRun);
                self.push(Effect::QueryLock);
            }
            Event::Shown => self.shown(now),
            Event::Hidden => {
                self.hidden = true;
                self.store(now);
                self.play_track();
            }
            Event::Closing => self.store(now),
            Event::Wake => {}
            Event::LockWon { exclusive } => self.lock_won(exclusive),
            Event::LockRefused => self.lock_refused(now),
            Event::LockLost => self.lock_lost(),
            Event::LockHeld(held) => self.lock_held(held),
            Event::Found(found) => self.found(device, now, found),
            Event::Stored(outcome) => self.stored(outcome),
            Event::Archived(start, outcome) => self.archived_at(now, start, outcome),
            Event::SetAside(outcome) => self.set_aside(now, outcome),
            Event::Sound(state) => self.sound_is(now, state),
            Event::SoundMoved => self.sound_moved(now),
            Event::Voice(speaks) => self.voice_is(now, speaks),
            Event::VoiceEnded => self.voice_ended(),
            Event::VoiceFailed => self.voice_failed(now),
            Event::TrackMade => self.track_made(),
            Event::TrackRefused => self.track_refused(now),
        }
    }

    pub(super) fn push(&mut self, effect: Effect) {
        self.effects.push(effect);
    }

    /// The session, as long as its class is not over.
    pub(super) fn on(&mut self) -> Option<&mut Session> {
        self.session.as_mut().filter(|session| !session.over)
    }

    /// Notes in the log that the page slept, so that nobody is known to have been there. A page in
    /// sight that is held up is a slow phone: only one that is hidden or frozen sleeps.
    fn note_absence(&mut self, now: i64) {
        let from = self.alive;
        if !self.hidden || now - from <= AWAY_MS {
            return;
        }
        if let Some(session) = self.on() {
            session.run.input(now, Input::Away { from });
        }
    }

    // ---- Starting, going on, ending ----

    pub(super) fn start(&mut self, now: i64, start: Start, steal: bool) {
        let Start {
            opened,
            options,
            warm_up,
        } = &start;
        let mut run = Run::new(opened.timeline.clone());
        // One that is over is done alone, from its start.
        let set = opened.unless_over(opened.at, now);
        run.input(now, Input::Start { set, lead: false });
        for (of, option) in options {
            let (of, option) = (*of, Some(*option));
            run.input(now, Input::Choose { of, option });
        }
        let mut joins = None;
        if let (Some(first), Some(set)) = (warm_up, set) {
            run.input(now, Input::Jump { to: *first });
            let class_ms = now - set;
            let gap = opened.timeline.gap_near(class_ms + WARM_UP_MS);
            joins = Some(now + gap - class_ms);
        }
        let opened = opened.clone();
        self.begin(now, opened, run, 0, steal);
        if let Some(session) = &mut self.session {
            session.joins = joins;
        }
        // Kept until it is known that no other tab refuses it; nobody refuses a trial.
        self.refused = Some(start).filter(|start| !start.opened.trial);
    }

    fn begin(&mut self, now: i64, opened: Opened, mut run: Run, skew: i64, steal: bool) {
        self.elsewhere = false;
        self.refused = None;
        self.wanted = None;
        self.fault = None;
        run.call(self.calling());
        let trial = opened.trial;
        self.session = Some(Session {
            opened,
            run,
            skew,
            generation: 0,
            exclusive: true,
            lock: if trial { Lock::Trial } else { Lock::Asked },
            seen: now,
            joins: None,
            undo_until: None,
            entered: now,
            hushed: false,
            unwell: false,
            over: false,
            stopped_at: None,
            archived: None,
        });
        self.speaker.begin(now);
        self.enter(now, steal);
    }

    /// What entering a class needs of the browser, all of it in the handler of a touch.
    fn enter(&mut self, now: i64, steal: bool) {
        let Some(session) = &mut self.session else {
            return;
        };
        session.entered = now;
        let trial = session.opened.trial;
        self.push(Effect::UnlockSound);
        self.push(Effect::UnlockVoice);
        if self.wants_track() {
            self.push(Effect::UnlockTrack);
        }
        self.push(Effect::KeepScreenOn(true));
        if self.settings.fill_screen {
            self.push(Effect::FillScreen(true));
        }
        // What is only tried is neither stored nor in anyone's way.
        if !trial {
            self.push(Effect::AskLock { steal });
        }
        self.lay_anew(now);
        self.push(Effect::FollowAudioClock(true));
        self.remake_track(now);
        self.push(Effect::Show(Stage::Class));
    }

    /// Gets ready, in the handler of a touch, to go on with what is stored: by now that may be more
    /// than what was read when it was offered.
    fn want(&mut self, wanted: Wanted) {
        if self.is_on() {
            return;
        }
        self.wanted = Some(wanted);
        self.push(Effect::UnlockSound);
        self.push(Effect::UnlockVoice);
        self.push(Effect::ReadRun);
    }

    /// What was wanted, now that it is known what is stored.
    pub(super) fn go_on(&mut self, device: i64) {
        match self.wanted.take() {
            Some(Wanted::Resume) => self.resume_left(device),
            Some(Wanted::TakeOver) => self.take_over(device),
            None => {}
        }
    }

    /// Goes on where a class was left: what lies between is a pause. In a class at a set instant
    /// it goes on where the class is by now.
    fn resume_left(&mut self, now: i64) {
        let Some(left) = self.left.take() else { return };
        let in_step = left.in_step(now);
        let skew = (left.stored.seen - now).max(0);
        if in_step && skew > 0 {
            // The clock was set back, and the class keeps to the clock: it is joined anew.
            let options = left.run.ways().clone();
            self.archive_left(&left);
            let start = Start {
                opened: left.opened,
                options,
                warm_up: None,
            };
            return self.start(now, start, false);
        }
        let mut run = left.run;
        let own = now + skew;
        // Nobody worked while they were away.
        run.input(left.stored.seen, Input::Pause);
        run.input(
            own,
            if in_step {
                Input::Rejoin
            } else {
                Input::Resume
            },
        );
        let joins = left.stored.joins.filter(|_| !in_step);
        self.begin(own, left.opened, run, skew, false);
        if let Some(session) = &mut self.session {
            session.joins = joins;
        }
    }

    /// Goes on here with what runs in another tab, without a pause; if that has ended without a
    /// word, as with one that was left.
    fn take_over(&mut self, now: i64) {
        self.elsewhere = false;
        self.refused = None;
        let Some(left) = &self.left else { return };
        if now - left.stored.seen > GONE_MS {
            return self.resume_left(now);
        }
        let left = left.clone();
        self.left = None;
        let joins = left.stored.joins;
        let skew = (left.stored.seen - now).max(0);
        self.begin(now + skew, left.opened, left.run, skew, true);
        if let Some(session) = &mut self.session {
            session.joins = joins;
        }
    }

    fn back_to_class(&mut self, now: i64) {
        if !self.can_go_back(now) {
            return;
        }
        if let Some(session) = &mut self.session {
            session.run.input(now, Input::Reopen);
            session.run.input(now, Input::Resume);
            self.reopen(now);
        }
    }

    /// The run of this tab is over no more.
    pub(super) fn reopen(&mut self, now: i64) {
        let Some(session) = &mut self.session else {
            return;
        };
        session.over = false;
        session.stopped_at = None;
        session.archived = None;
        session.unwell = false;
        session.hushed = false;
        if !session.opened.trial {
            session.lock = Lock::Asked;
        }
        self.speaker.begin(now);
        self.enter(now, false);
    }

    // ---- Inputs ----

    fn touch(&mut self, now: i64, input: Input) {
        let answers = matches!(input, Input::KeptGoing | Input::Return);
        let Some(session) = &mut self.session else {
            return;
        };
        if session.over {
            if answers {
                self.answer_when_done(now, input);
            }
            return;
        }
        if session.is_double_tap(now) {
            return;
        }
        let chooses = matches!(input, Input::Choose { .. } | Input::KeptGoing);
        if !chooses {
            // Whoever steers says where to be; nothing brings them back by itself.
            session.joins = None;
        }
        session.run.input(now, input);
        match input {
            Input::Resume => session.unwell = false,
            Input::Stop => session.stopped_at = Some(now),
            // A long jump can be taken back for as long as nothing else moves the class.
            Input::Jump { .. } => session.undo_until = Some(i64::MAX),
            Input::Skip
            | Input::Back
            | Input::Align { .. }
            | Input::Nudge { .. }
            // Of several shifts each can be taken off.
            | Input::Undo => {
                let more = session.run.show(now).undo.is_some();
                session.undo_until = more.then_some(now + UNDO_FOR_MS);
            }
            _ => {}
        }
        // A touch is what browsers wait for before they let sound out.
        self.push(Effect::UnlockSound);
        if chooses {
            // Nothing changes of what sounds already.
            self.lay_what_comes(now);
        } else {
            self.steered(now);
        }
        self.store(now);
        self.remake_track(now);
    }

    fn stop_unwell(&mut self, now: i64) {
        if let Some(session) = self.on() {
            if session.is_double_tap(now) {
                return;
            }
            session.run.input(now, Input::Pause);
            session.joins = None;
            session.hushed = true;
            session.unwell = true;
            self.push(Effect::CancelSound);
            self.push(Effect::DropTrack);
            self.hush(now);
            self.speaker.silence(now);
            self.store(now);
        }
    }

    fn sound_again(&mut self, now: i64) {
        if let Some(session) = self.on()
            && session.hushed
        {
            session.hushed = false;
            self.lay_anew(now);
            self.remake_track(now);
        }
    }

    fn set_settings(&mut self, now: i64, settings: Settings) {
        self.settings = settings;
        self.push(Effect::Volume(settings.loudness()));
        self.push(Effect::SoundBehindScreen(settings.screen_off));
        self.recall(now);
        if self.wants_track() {
            self.remake_track(now);
        } else {
            self.push(Effect::DropTrack);
            self.speaker.over();
        }
    }

    fn shown(&mut self, now: i64) {
        self.hidden = false;
        self.pause_track();
        if self.on().is_some() {
            self.push(Effect::KeepScreenOn(true));
            self.push(Effect::UnlockSound);
            self.lay_anew(now);
            self.push(Effect::FollowAudioClock(true));
        }
    }

    // ---- What comes by itself ----

    fn tick(&mut self, now: i64) {
        self.join(now);
        let undone = |until: i64| until <= now;
        if let Some(session) = &mut self.session
            && session.undo_until.is_some_and(undone)
        {
            session.undo_until = None;
        }
        let words = self.call(now);
        self.end(now);
        self.top_up(now);
        if let Some(session) = self.on()
            && now - session.seen >= SEEN_EVERY_MS
        {
            let moment = session.run.show(now);
            if matches!(moment.phase, Phase::Running | Phase::Before) {
                self.store(now);
            }
        }
        self.tell_lock_screen(now);
        let wake = self.wake(now, words);
        self.push(Effect::WakeAt(wake));
    }

    /// Someone who came late has warmed up.
    fn join(&mut self, now: i64) {
        let Some(session) = self.on() else { return };
        if session.joins.is_none_or(|at| at > now) {
            return;
        }
        session.joins = None;
        let moment = session.run.show(now);
        if moment.phase == Phase::Running && moment.shared == Some(false) {
            session.run.input(now, Input::Rejoin);
            self.steered(now);
            self.store(now);
            self.remake_track(now);
        }
    }

    /// The class has come to its end, or was ended.
    fn end(&mut self, now: i64) {
        let Some(session) = self.on() else { return };
        if session.run.show(now).phase != Phase::Done {
            return;
        }
        session.over = true;
        session.joins = None;
        self.push(Effect::KeepScreenOn(false));
        self.push(Effect::FillScreen(false));
        self.push(Effect::DropTrack);
        self.push(Effect::FollowAudioClock(false));
        self.speaker.over();
        self.archive_session(now);
        self.push(Effect::Show(Stage::Done));
    }

    fn wake(&self, now: i64, words: Option<i64>) -> Option<i64> {
        let mut next = self.speaker.wake();
        let mut at = |instant: Option<i64>| {
            if let Some(instant) = instant {
                let instant = instant.max(now + 1);
                next = Some(next.map_or(instant, |next: i64| next.min(instant)));
            }
        };
        at(words);
        if let Some(session) = &self.session {
            if session.over {
                let back = session.stopped_at.map(|at| at + BACK_FOR_MS);
                at(back.filter(|until| *until > now));
            } else {
                at(session.run.wake(now));
                at(session.joins);
                at(session.undo_until.filter(|until| *until < i64::MAX));
            }
        }
        next.map(|next| next.max(now + 1))
    }

    // ---- What to draw ----

    fn own(&self, now: i64) -> i64 {
        now + self.session.as_ref().map_or(0, |session| session.skew)
    }

    /// What to show of the class; the default where none was started.
    #[must_use]
    pub fn moment(&self, now: i64) -> Moment {
        let now = self.own(now);
        let shown = |session: &Session| session.run.show(now);
        self.session.as_ref().map(shown).unwrap_or_default()
    }

    /// The run of this tab: on, or just over.
    #[must_use]
    pub fn run(&self) -> Option<&Run> {
        self.session.as_ref().map(|session| &session.run)
    }

    /// Whether a class runs in this tab, paused or not.
    #[must_use]
    pub fn is_on(&self) -> bool {
        self.session.as_ref().is_some_and(|session| !session.over)
    }

    /// The class of that run.
    #[must_use]
    pub fn opened(&self) -> Option<&Opened> {
        self.session.as_ref().map(|session| &session.opened)
    }

    /// What was really done, once a class has started.
    #[must_use]
    pub fn record(&self, now: i64) -> Option<Record> {
        let now = self.own(now);
        Some(self.run()?.record(now))
    }

    /// What the coach's go would make of now: the nearest one, or one that was picked.
    #[must_use]
    pub fn align_offer(&self, now: i64, to: Option<usize>) -> Option<AlignOffer> {
        let now = self.own(now);
        match to {
            Some(to) => self.run()?.align_to(now, to),
            None => self.run()?.align_offer(now),
        }
    }

    /// Whether the last shift is offered to be undone.
    #[must_use]
    pub fn offers_undo(&self) -> bool {
        self.session
            .as_ref()
            .is_some_and(|session| session.undo_until.is_some() && !session.over)
    }

    /// When someone who came late joins the class by itself.
    #[must_use]
    pub fn joins(&self) -> Option<i64> {
        let session = self.session.as_ref()?;
        Some(session.joins? - session.skew)
    }

    /// Someone felt unwell, and did not go on since.
    #[must_use]
    pub fn is_unwell(&self) -> bool {
        self.session.as_ref().is_some_and(|session| session.unwell)
    }

    /// The stretch in which the phone was away, where the member is to be asked about it now: in
    /// class, unless the screen is off by choice; else once it is over.
    #[must_use]
    pub fn away(&self) -> Option<Away> {
        let session = self.session.as_ref()?;
        let away = session.run.away()?;
        (session.over || !self.settings.screen_off).then_some(away)
    }

    /// Whether the way back into the class that was ended is offered.
    #[must_use]
    pub fn can_go_back(&self, now: i64) -> bool {
        let now = self.own(now);
        let ended = self.session.as_ref().filter(|session| session.over);
        let at = ended.and_then(|session| session.stopped_at);
        at.is_some_and(|at| now - at < BACK_FOR_MS)
    }

    /// Under which start the class that is over is in the history, or why it is not; `None` where
    /// nothing was done of it, or nobody knows yet.
    #[must_use]
    pub fn archived(&self) -> Option<Result<i64, StoreError>> {
        self.session.as_ref()?.archived
    }

    /// The class that was left before its end.
    #[must_use]
    pub fn left(&self) -> Option<&Left> {
        self.left.as_ref()
    }

    /// A stored run that can't be read, and why. It is kept.
    #[must_use]
    pub fn unreadable(&self) -> Option<Unreadable> {
        self.unreadable
    }

    /// The class that runs in another tab of this browser.
    #[must_use]
    pub fn elsewhere(&self) -> Option<Elsewhere> {
        self.elsewhere.then(|| Elsewhere {
            class: self.left.clone(),
            refused: self.refused.is_some(),
        })
    }

    /// Why the class that runs can't be stored: if the page closes now, it can't be resumed.
    #[must_use]
    pub fn fault(&self) -> Option<StoreError> {
        self.fault
    }

    /// Whether sound can be heard.
    #[must_use]
    pub fn sound(&self) -> SoundState {
        self.speaker.state()
    }

    /// The options in force; none where no class was started.
    #[must_use]
    pub fn options(&self) -> Option<&Ways> {
        self.run().map(Run::ways)
    }
}

/// An effect's instants by the device's clock.
fn put_back(effect: &mut Effect, skew: i64) {
    match effect {
        Effect::Schedule(calls) => calls.iter_mut().for_each(|call| call.at -= skew),
        Effect::CancelComing { after } => *after -= skew,
        Effect::MakeTrack { calls, from, until } => {
            calls.iter_mut().for_each(|call| call.at -= skew);
            *from -= skew;
            *until -= skew;
        }
        Effect::WakeAt(Some(at)) => *at -= skew,
        _ => {}
    }
}
