//! The run of the class that is open: the core's run, wired to the devices.

mod sounding;

use std::sync::Arc;

use leptos::prelude::*;

use super::{Opened, Screen};
use crate::device::{
    Audio, Awake, BURST, Clock, Lead, Listener, Settings, SoundState, Store, StoreError,
    StoredDone, StoredRun, Timer, Track, Voice, VoiceState, WakeLock, fill_screen, is_hidden,
    listen_document, listen_window, on_media_key,
};
use crate::run::{AlignOffer, Input, Log, Moment, Phase, Record, Run};
use crate::timeline::{Timeline, Ways};

/// How long who comes late warms up, about: they join where all others get ready.
const WARM_UP_MS: i64 = 120_000;
/// How often the stored run is told that the class still runs.
const SEEN_EVERY_MS: i64 = 5_000;
/// A tab that runs a class behind others is woken once a minute, and then says so.
const GONE_MS: i64 = 75_000;
/// How long the way back from a shift is offered.
const UNDO_FOR_MS: i64 = 20_000;

/// A run, the devices that it uses, and what is shown of it.
#[derive(Clone, Copy)]
pub(super) struct Session {
    inner: StoredValue<Inner, LocalStorage>,
    /// What to show now.
    pub moment: RwSignal<Moment>,
    /// The options in force: of the run, and before it what is chosen for it.
    pub ways: RwSignal<Ways>,
    /// Until when the last shift is offered to be undone.
    pub undo_until: RwSignal<Option<i64>>,
    /// Whether sound can be heard.
    pub sound: RwSignal<SoundState>,
    /// What the member chose for all classes.
    pub settings: RwSignal<Settings>,
    /// Whether the chosen language can be spoken.
    pub voice: RwSignal<VoiceState>,
    /// Whether the screen stays on.
    pub awake: RwSignal<Awake>,
    /// Who does it felt unwell, and did not go on since.
    pub unwell: RwSignal<bool>,
    /// When who came late joins by itself, after a warm-up.
    pub joins: RwSignal<Option<i64>>,
    /// A class runs in another tab of this browser.
    pub elsewhere: RwSignal<bool>,
    screen: RwSignal<Screen>,
}

#[derive(Default)]
struct Inner {
    run: Option<Run>,
    /// The plan's link text, stored with the run.
    link: Arc<str>,
    title: String,
    clock: Clock,
    audio: Audio,
    voice: Voice,
    track: Track,
    settings: Settings,
    wake: Timer,
    /// Reads the audio clock against the page's.
    probe: Timer,
    /// Cuts what is still being said when a count comes.
    cut: Timer,
    /// Makes the track anew.
    retrack: Timer,
    /// Ends the warm-up of who came late.
    warm: Timer,
    wake_lock: WakeLock,
    lead: Lead,
    /// This tab has the lead: only then does it store its run.
    leads: bool,
    store: Store,
    sounded_until: i64,
    /// Up to here everything was said, or came too late.
    said_until: i64,
    /// Up to here everything was felt.
    felt_until: i64,
    /// What the lock screen was told last: the segment, and whether it runs.
    told: Option<(Option<usize>, bool)>,
    /// What was done last, where it could be kept.
    put_down: Option<Result<i64, StoreError>>,
    /// Someone is unwell: nothing sounds until they go on.
    hushed: bool,
    /// When who came late joins by itself.
    joins: Option<i64>,
    seen: i64,
    listeners: Vec<Option<Listener>>,
}

impl Inner {
    fn keep(&mut self, now: i64) {
        self.seen = now;
        if let Some(run) = self.run.as_ref().filter(|_| self.leads) {
            self.store.keep_run(&StoredRun {
                plan: self.link.to_string(),
                log: run.log().to_text(),
                seen: now,
                joins: self.joins,
            });
        }
    }

    /// Puts the run, which is over, to what was done.
    fn put_down(&mut self, now: i64) {
        let Some(run) = &self.run else { return };
        self.put_down = self.keep_done(run, now, &self.link);
    }

    /// Keeps a run as done by an instant. Returns its start, or why it is not kept; `None` where
    /// nothing was worked.
    fn keep_done(&self, run: &Run, end: i64, plan: &str) -> Option<Result<i64, StoreError>> {
        let start = run.log().begun()?;
        (run.record(end).worked_ms > 0).then(|| {
            let done = StoredDone {
                start,
                end,
                rating: None,
                note: String::new(),
                plan: plan.to_owned(),
                log: run.log().to_text(),
            };
            self.store.keep_done(&done).map(|()| start)
        })
    }

    /// Whether the stored run is this one.
    fn goes_on_with_stored(&self) -> bool {
        let stored = self.store.run();
        let stored = stored.and_then(|stored| Log::from_text(&stored.log).ok());
        match (&self.run, stored) {
            (Some(run), Some(stored)) => run.log().begun() == stored.begun(),
            _ => false,
        }
    }

    /// Puts a stored run that is not gone on with to what was done, as far as it was seen.
    fn put_away(&self) {
        let Some(stored) = self.store.run() else {
            return;
        };
        let run = Opened::read(&stored.plan)
            .ok()
            .and_then(|opened| replay(&opened.timeline, &stored));
        let kept = run.and_then(|run| self.keep_done(&run, stored.seen, &stored.plan));
        // Where it can't be kept it stays as it is, to be tried again.
        if !matches!(kept, Some(Err(_))) {
            self.store.drop_run();
        }
    }
}

/// A class that was left before its end.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Unfinished {
    pub opened: Opened,
    pub at: Moment,
    stored: StoredRun,
}

impl Unfinished {
    /// It goes on by its shared clock, whether one is there or not.
    pub fn in_step(&self) -> bool {
        self.at.shared == Some(true)
    }
}

impl Session {
    pub fn new(screen: RwSignal<Screen>, store: Store) -> Session {
        let settings = store.settings();
        let session = Session {
            inner: StoredValue::new_local(Inner {
                store,
                ..Inner::default()
            }),
            moment: RwSignal::new(Moment::default()),
            ways: RwSignal::new(Ways::new()),
            undo_until: RwSignal::new(None),
            sound: RwSignal::new(SoundState::default()),
            settings: RwSignal::new(settings),
            voice: RwSignal::new(VoiceState::default()),
            awake: RwSignal::new(Awake::default()),
            unwell: RwSignal::new(false),
            joins: RwSignal::new(None),
            elsewhere: RwSignal::new(false),
            screen,
        };
        let change = move |_| {
            if is_hidden() {
                session.hidden();
            } else {
                session.shown();
            }
        };
        let listeners = vec![
            listen_document("visibilitychange", change),
            listen_document("freeze", move |_| session.hidden()),
            // A frozen page may be woken behind the screen.
            listen_document("resume", move |_| {
                if !is_hidden() {
                    session.shown();
                }
            }),
            listen_window("pagehide", move |_| session.hidden()),
            listen_window("pageshow", move |_| session.shown()),
        ];
        session.inner.update_value(|inner| {
            inner.listeners = listeners;
            inner.audio.on_change(move || session.sound_changed());
            inner.voice = Voice::new(move || session.voices_changed());
        });
        on_media_key(move |key| session.press(key));
        session.choose(settings);
        session
    }

    fn hidden(self) {
        self.inner.update_value(|inner| {
            inner.clock.hidden();
            let now = inner.clock.now();
            inner.keep(now);
        });
        self.play_hidden();
    }

    fn shown(self) {
        self.inner.update_value(|inner| {
            inner.clock.shown();
            inner.wake_lock.again();
            inner.track.pause();
            if inner.run.is_some() {
                inner.audio.unlock();
                let now = inner.clock.now();
                inner.audio.forget_map();
                inner.audio.settle(&inner.clock);
                inner.resound(now);
            }
        });
        self.burst(BURST);
        self.tick();
    }

    /// Joins a class at a set instant by way of its warm-up: some minutes of that first.
    pub fn warm_up(self, opened: &Opened, first: usize) {
        self.start(opened);
        self.act(Input::Jump { to: first });
        self.undo_until.set(None);
        let now = opened.at.map_or(0, |at| self.now() - at);
        self.rejoin_in(opened.timeline.gap_near(now + WARM_UP_MS) - now);
    }

    fn rejoin_in(self, wait: i64) {
        let at = self.now() + wait;
        self.joins.set(Some(at));
        self.inner.update_value(|inner| {
            inner.joins = Some(at);
            inner.keep(at - wait);
            inner.warm.set(wait, move || {
                let moment = self.moment.get_untracked();
                if moment.phase == Phase::Running && moment.shared == Some(false) {
                    self.act(Input::Rejoin);
                }
            });
        });
    }

    fn joins_no_more(self) {
        self.inner.update_value(|inner| {
            inner.joins = None;
            inner.warm.clear();
        });
        // What is shown is drawn anew for it, so only where something changes.
        if self.joins.get_untracked().is_some() {
            self.joins.set(None);
        }
    }

    /// Starts the class that is open, in the handler of a touch.
    pub fn start(self, opened: &Opened) {
        let run = Run::new(opened.timeline.clone());
        let chosen = self.ways.get_untracked();
        self.begin(run, opened, false, |run, now| {
            // One that is over is done alone, from its start.
            let set = opened.unless_over(opened.at, now);
            run.input(now, Input::Start { set, lead: false });
            for (of, option) in chosen {
                let option = Some(option);
                run.input(now, Input::Choose { of, option });
            }
        });
    }

    /// The run of who would join a class at a set instant now: it tells where the class stands.
    pub fn joined(self, opened: &Opened) -> Option<Run> {
        let set = Some(opened.at?);
        let mut run = Run::new(opened.timeline.clone());
        run.input(self.now(), Input::Start { set, lead: false });
        Some(run)
    }

    /// Asks whether the class that is stored runs in another tab.
    pub fn look_elsewhere(self) {
        if !self.inner.with_value(|inner| inner.leads) {
            Lead::ask(move || {
                self.elsewhere.try_set(true);
            });
        }
    }

    /// Goes on here with the class that runs in another tab, which then ends there.
    pub fn take_over(self) -> Option<Opened> {
        let Some(left) = self.unfinished() else {
            // It has ended there meanwhile.
            self.elsewhere.set(false);
            return None;
        };
        if self.now() - left.stored.seen > GONE_MS {
            // It ended there without a word.
            self.go_on(&left);
            return Some(left.opened);
        }
        let run = replay(&left.opened.timeline, &left.stored)?;
        // It ran there to this moment: nothing is paused.
        self.begin(run, &left.opened, true, |_, _| {});
        Some(left.opened)
    }

    /// Goes on where a class was left: what lies between is a pause. In a class at a set instant
    /// it goes on where the class is by now.
    pub fn go_on(self, left: &Unfinished) {
        let Some(run) = replay(&left.opened.timeline, &left.stored) else {
            return;
        };
        let (seen, in_step) = (left.stored.seen, left.in_step());
        let warm = left.stored.joins.map(|at| at - self.now());
        self.begin(run, &left.opened, false, move |run, now| {
            // Nobody worked while they were away.
            run.input(seen, Input::Pause);
            run.input(
                now,
                if in_step {
                    Input::Rejoin
                } else {
                    Input::Resume
                },
            );
        });
        if let Some(wait) = warm.filter(|_| !in_step) {
            self.rejoin_in(wait);
        }
    }

    fn begin(self, run: Run, opened: &Opened, over: bool, first: impl FnOnce(&mut Run, i64)) {
        self.elsewhere.set(false);
        self.joins_no_more();
        self.unwell.set(false);
        self.inner.update_value(|inner| inner.leads = false);
        let lead = self.inner.with_value(|inner| inner.lead.clone());
        // What is only tried is neither stored nor in anyone's way.
        if !opened.trial {
            lead.take(
                over,
                move |took| self.inner_leads(took),
                move || self.yield_lead(),
            );
        }
        self.inner.update_value(|inner| {
            let mut run = run;
            let now = inner.clock.now();
            first(&mut run, now);
            run.call(inner.calling());
            inner.run = Some(run);
            inner.link = opened.link.clone();
            inner.title = opened.title();
            inner.told = None;
            inner.put_down = None;
            inner.hushed = false;
            (inner.said_until, inner.felt_until) = (now, now);
            inner.audio.unlock();
            inner.voice.unlock();
            if inner.wants_track() {
                inner.track.unlock();
            }
            inner.wake_lock.ask();
            if inner.settings.fill_screen {
                fill_screen(true);
            }
            inner.resound(now);
            inner.keep(now);
        });
        self.burst(BURST);
        self.retrack();
        self.show_ways();
        self.undo_until.set(None);
        self.tick();
        self.screen.set(Screen::Class);
    }

    fn show_ways(self) {
        let ways = self
            .inner
            .with_value(|inner| inner.run.as_ref().map(|run| run.ways().clone()));
        if let Some(ways) = ways.filter(|ways| *ways != self.ways.get_untracked()) {
            self.ways.set(ways);
        }
    }

    /// Another tab has the lead, or this one.
    fn inner_leads(self, took: bool) {
        self.inner.update_value(|inner| {
            inner.leads = took;
            let now = inner.clock.now();
            if took && !inner.goes_on_with_stored() {
                // Only who leads may touch what is stored: before, it may be another tab's.
                inner.put_away();
            }
            inner.keep(now);
        });
        if !took {
            self.yield_lead();
        }
    }

    /// The class runs in another tab: here it ends, and what is stored of it is the other's.
    fn yield_lead(self) {
        self.inner.update_value(|inner| {
            inner.leads = false;
            inner.run = None;
            inner.audio.cancel();
            inner.hush();
            inner.track.drop_track();
            inner.wake.clear();
            inner.probe.clear();
            inner.warm.clear();
            inner.wake_lock.release();
        });
        self.elsewhere.set(true);
        if self.screen.get_untracked() == Screen::Class {
            self.screen.set(Screen::Brief);
        }
    }

    /// Now, by the clock that times the class.
    pub fn now(self) -> i64 {
        self.inner.with_value(|inner| inner.clock.now())
    }

    /// Takes an input at this instant.
    pub fn act(self, input: Input) {
        let mut shifted = None;
        if !matches!(input, Input::Choose { .. }) {
            // Whoever steers says where to be; nothing brings them back by itself.
            self.joins_no_more();
        }
        self.inner.update_value(|inner| {
            let now = inner.clock.now();
            let Some(run) = &mut inner.run else { return };
            run.input(now, input);
            shifted = run.show(now).undo.map(|_| now + UNDO_FOR_MS);
            // A touch is what browsers wait for before they let sound out.
            inner.audio.unlock();
            if matches!(input, Input::Choose { .. }) {
                // Nothing changes of what sounds already.
                inner.audio.cancel_to_come();
                inner.relay(now);
            } else {
                inner.hush();
                inner.resound(now);
            }
            inner.keep(now);
        });
        self.retrack();
        match input {
            Input::Choose { .. } => self.show_ways(),
            Input::Resume => self.unwell.set(false),
            Input::Skip
            | Input::Back
            | Input::Jump { .. }
            | Input::Align { .. }
            | Input::Nudge { .. }
            // Of several shifts each can be taken off.
            | Input::Undo => self.undo_until.set(shifted),
            _ => {}
        }
        self.tick();
    }

    /// Brings what is shown up to now, and sets the next wake-up. It is all the same how often
    /// this is called.
    fn tick(self) {
        let mut done = false;
        let mut show = None;
        self.inner.update_value(|inner| {
            let now = inner.clock.now();
            let Some(run) = &inner.run else { return };
            let moment = run.show(now);
            let wake = run.wake(now);
            show = Some((moment, inner.audio.state(), inner.wake_lock.state(), now));
            let words = inner.call(now);
            inner.tell(&moment);
            // A track that plays behind the screen keeps to the class.
            inner.track.follow(inner.clock.now_exact());
            // Words may come between two seconds; where nothing changes nothing is said.
            match wake.map(|at| words.map_or(at, |words| at.min(words))) {
                Some(at) => {
                    // Not before its time: a timer that comes a little early would show the old second.
                    let after = at as f64 - inner.clock.now_exact();
                    inner.wake.set(after.ceil() as i64, move || self.tick());
                }
                None => inner.wake.clear(),
            }
            if moment.phase == Phase::Done {
                done = true;
                inner.wake_lock.release();
                fill_screen(false);
                inner.track.drop_track();
                inner.probe.clear();
                inner.warm.clear();
                if inner.leads {
                    inner.put_down(now);
                    inner.store.drop_run();
                    inner.leads = false;
                    inner.lead.let_go();
                }
                return;
            }
            if matches!(moment.phase, Phase::Running | Phase::Before) {
                inner.top_up(now);
                if now - inner.seen >= SEEN_EVERY_MS {
                    inner.keep(now);
                }
            }
        });
        let Some((moment, sound, awake, now)) = show else {
            return;
        };
        if self.moment.get_untracked() != moment {
            self.moment.set(moment);
        }
        if self.sound.get_untracked() != sound {
            self.sound.set(sound);
        }
        if self.awake.get_untracked() != awake {
            self.awake.set(awake);
        }
        if self
            .undo_until
            .get_untracked()
            .is_some_and(|until| until <= now)
        {
            self.undo_until.set(None);
        }
        if done && self.screen.get_untracked() == Screen::Class {
            self.screen.set(Screen::Done);
        }
    }

    /// What the coach's go would make of now: the nearest one, or one that was picked.
    pub fn align_offer(self, to: Option<usize>) -> Option<AlignOffer> {
        self.inner.with_value(|inner| {
            let now = inner.clock.now();
            let run = inner.run.as_ref()?;
            match to {
                Some(to) => run.align_to(now, to),
                None => run.align_offer(now),
            }
        })
    }

    /// When a class at a set instant starts.
    pub fn starts_at(self) -> Option<i64> {
        self.inner.with_value(|inner| inner.run.as_ref()?.set())
    }

    /// Class time, to the millisecond.
    pub fn class_ms(self) -> i64 {
        self.inner.with_value(|inner| {
            let now = inner.clock.now();
            inner.run.as_ref().map_or(0, |run| run.show(now).class_ms)
        })
    }

    /// The class that was just done, as it is kept, or why it is not.
    pub fn put_down(self) -> Option<Result<StoredDone, StoreError>> {
        self.inner.with_value(|inner| match inner.put_down? {
            Ok(start) => inner.store.done_at(start).map(Ok),
            Err(fault) => Some(Err(fault)),
        })
    }

    /// What was really done, once the class has started.
    pub fn record(self) -> Option<Record> {
        self.inner.with_value(|inner| {
            let run = inner.run.as_ref()?;
            Some(run.record(inner.clock.now()))
        })
    }

    /// The class that was left before its end, if one was and can be gone on with.
    pub fn unfinished(self) -> Option<Unfinished> {
        self.inner.with_value(|inner| {
            let stored = inner.store.run()?;
            let mut opened = Opened::read(&stored.plan).ok()?;
            let run = replay(&opened.timeline, &stored)?;
            opened.at = run.set();
            let now = inner.clock.now();
            let seen = run.show(stored.seen);
            let at = if seen.shared == Some(true) {
                run.show(now)
            } else if stored.joins.is_some_and(|at| at <= now) {
                // By now it would have joined by itself.
                let mut joined = Run::new(opened.timeline.clone());
                let set = run.set();
                joined.input(now, Input::Start { set, lead: false });
                joined.show(now)
            } else {
                seen
            };
            let goes_on = match at.phase {
                Phase::Running | Phase::Paused => true,
                Phase::Before => at.shared.is_some(),
                _ => false,
            };
            if !goes_on {
                // It ended while nobody looked.
                inner.put_away();
                return None;
            }
            Some(Unfinished { opened, at, stored })
        })
    }

    /// The class that is open, where it was left and goes on by its shared clock.
    pub fn left(self, opened: &Opened) -> Option<Unfinished> {
        opened.at?;
        let left = self.unfinished()?;
        (left.in_step() && left.opened.link == opened.link && left.opened.at == opened.at)
            .then_some(left)
    }

    /// Lets the unfinished class go.
    pub fn forget_unfinished(self) {
        self.inner.with_value(Inner::put_away);
    }
}

fn replay(timeline: &Arc<Timeline>, stored: &StoredRun) -> Option<Run> {
    let log = Log::from_text(&stored.log).ok()?;
    Run::replay(timeline.clone(), &log).ok()
}
