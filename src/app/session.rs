//! The run of the class that is open: the core's run, wired to the devices.

use std::sync::Arc;

use leptos::prelude::*;

use super::{Opened, Screen};
use crate::cue::Ways;
use crate::device::{
    Audio, Clock, Lead, Listener, SoundState, Store, StoredRun, Timer, WakeLock, is_hidden,
    listen_document, listen_window,
};
use crate::run::{Input, Log, Moment, Phase, Record, Run};
use crate::timeline::Timeline;

/// Sound is laid onto the audio clock this far ahead...
const SOUND_AHEAD_MS: i64 = 600_000;
/// ...and topped up when less than this is left.
const SOUND_LEFT_MS: i64 = 300_000;
/// How often the stored run is told that the class still runs.
const SEEN_EVERY_MS: i64 = 5_000;
/// How long the way back from a shift is offered.
const UNDO_FOR_MS: i64 = 20_000;

/// A run, the devices that it uses, and what is shown of it.
#[derive(Clone, Copy)]
pub(super) struct Session {
    inner: StoredValue<Inner, LocalStorage>,
    /// What to show now.
    pub moment: RwSignal<Moment>,
    /// Until when the last shift is offered to be undone.
    pub undo_until: RwSignal<Option<i64>>,
    /// Whether sound can be heard.
    pub sound: RwSignal<SoundState>,
    /// A class runs in another tab of this browser.
    pub elsewhere: RwSignal<bool>,
    screen: RwSignal<Screen>,
}

#[derive(Default)]
struct Inner {
    run: Option<Run>,
    /// The plan's link text, stored with the run.
    link: Arc<str>,
    clock: Clock,
    audio: Audio,
    wake: Timer,
    wake_lock: WakeLock,
    lead: Lead,
    /// This tab has the lead: only then does it store its run.
    leads: bool,
    store: Store,
    sounded_until: i64,
    seen: i64,
    listeners: Vec<Option<Listener>>,
}

impl Inner {
    fn keep(&mut self, now: i64) {
        self.seen = now;
        if let Some(run) = self.run.as_ref().filter(|_| self.leads) {
            self.store.keep_run(&StoredRun {
                plan: self.link.to_string(),
                log: run.log().to_json(),
                seen: now,
            });
        }
    }

    /// Lays down what will sound. Anything that was laid down before is taken back.
    fn resound(&mut self) {
        self.audio.cancel();
        self.sounded_until = self.clock.now();
        self.sound_on();
    }

    fn sound_on(&mut self) {
        let Some(run) = &self.run else { return };
        let now = self.clock.now();
        let until = now + SOUND_AHEAD_MS;
        let calls = run.sound(self.sounded_until.max(now), until);
        self.audio.schedule(&calls, &self.clock);
        self.sounded_until = until;
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
        let session = Session {
            inner: StoredValue::new_local(Inner {
                store,
                ..Inner::default()
            }),
            moment: RwSignal::new(Moment::default()),
            undo_until: RwSignal::new(None),
            sound: RwSignal::new(SoundState::default()),
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
            listen_document("resume", move |_| session.shown()),
            listen_window("pagehide", move |_| session.hidden()),
            listen_window("pageshow", move |_| session.shown()),
        ];
        session
            .inner
            .update_value(|inner| inner.listeners = listeners);
        session
    }

    fn hidden(self) {
        self.inner.update_value(|inner| {
            inner.clock.hidden();
            let now = inner.clock.now();
            inner.keep(now);
        });
    }

    fn shown(self) {
        self.inner.update_value(|inner| {
            inner.clock.shown();
            inner.wake_lock.again();
            if inner.run.is_some() {
                inner.audio.unlock();
                inner.resound();
            }
        });
        self.tick();
    }

    /// Starts the class that is open, in the handler of a touch.
    pub fn start(self, opened: &Opened) {
        let run = Run::new(opened.timeline.clone());
        let total_ms = opened.timeline.total_ms();
        let at = opened.at;
        self.begin(run, opened, false, |run, now| {
            // One that is over is done alone, from its start.
            let set = at.filter(|at| now - at < total_ms);
            run.input(now, Input::Start { set, lead: false });
        });
    }

    /// Where a class at a set instant stands now, for who would join it.
    pub fn stands(self, opened: &Opened) -> Option<Moment> {
        let now = self.now();
        let mut run = Run::new(opened.timeline.clone());
        run.input(
            now,
            Input::Start {
                set: Some(opened.at?),
                lead: false,
            },
        );
        Some(run.show(now))
    }

    /// Goes on here with the class that runs in another tab, which then ends there.
    pub fn take_over(self) -> Option<Opened> {
        let left = self.unfinished()?;
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
        self.begin(run, &left.opened, false, move |run, now| {
            if !in_step {
                run.input(seen, Input::Pause);
                run.input(now, Input::Resume);
            }
        });
    }

    fn begin(self, run: Run, opened: &Opened, over: bool, first: impl FnOnce(&mut Run, i64)) {
        self.elsewhere.set(false);
        self.inner.update_value(|inner| inner.leads = false);
        let lead = self.inner.with_value(|inner| inner.lead.clone());
        lead.take(
            over,
            move |took| self.inner_leads(took),
            move || self.yield_lead(),
        );
        self.inner.update_value(|inner| {
            let mut run = run;
            let now = inner.clock.now();
            first(&mut run, now);
            inner.run = Some(run);
            inner.link = opened.link.clone();
            inner.audio.unlock();
            inner.wake_lock.ask();
            inner.resound();
            inner.keep(now);
        });
        self.undo_until.set(None);
        self.tick();
        self.screen.set(Screen::Class);
    }

    /// Another tab has the lead, or this one.
    fn inner_leads(self, took: bool) {
        self.inner.update_value(|inner| {
            inner.leads = took;
            let now = inner.clock.now();
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
            inner.wake.clear();
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
        self.inner.update_value(|inner| {
            let now = inner.clock.now();
            let Some(run) = &mut inner.run else { return };
            run.input(now, input);
            shifted = run.show(now).undo.map(|_| now + UNDO_FOR_MS);
            // A touch is what browsers wait for before they let sound out.
            inner.audio.unlock();
            inner.resound();
            inner.keep(now);
        });
        match input {
            Input::Skip | Input::Back | Input::Jump { .. } => self.undo_until.set(shifted),
            Input::Undo => self.undo_until.set(None),
            _ => {}
        }
        self.tick();
    }

    /// The options in force, untracked: what shows them follows the moment.
    pub fn ways(self) -> Ways {
        self.inner
            .with_value(|inner| inner.run.as_ref().map(|run| run.ways().clone()))
            .unwrap_or_default()
    }

    /// Asks the browser for sound again, in the handler of a touch.
    pub fn wake_sound(self) {
        self.inner.update_value(|inner| {
            inner.audio.unlock();
            inner.resound();
        });
        self.tick();
    }

    /// Takes all sound back at once, whatever the run says.
    pub fn silence(self) {
        self.inner.update_value(|inner| inner.audio.cancel());
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
            show = Some((moment, inner.audio.state(), now));
            match run.wake(now) {
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
                if inner.leads {
                    inner.store.drop_run();
                    inner.leads = false;
                    inner.lead.let_go();
                }
                return;
            }
            if moment.phase == Phase::Running {
                if inner.sounded_until - now < SOUND_LEFT_MS {
                    inner.sound_on();
                }
                if now - inner.seen >= SEEN_EVERY_MS {
                    inner.keep(now);
                }
            }
        });
        let Some((moment, sound, now)) = show else {
            return;
        };
        if self.moment.get_untracked() != moment {
            self.moment.set(moment);
        }
        if self.sound.get_untracked() != sound {
            self.sound.set(sound);
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

    /// What was really done, once the class has started.
    pub fn record(self) -> Option<Record> {
        self.inner.with_value(|inner| {
            let run = inner.run.as_ref()?;
            Some(run.record(inner.clock.now()))
        })
    }

    /// Plays the calls once, for the ear to check.
    pub fn check_sound(self) -> SoundState {
        self.inner.update_value(|inner| {
            inner.audio.check(&inner.clock);
        });
        self.inner.with_value(|inner| inner.audio.state())
    }

    /// The class that was left before its end, if one was and can be gone on with.
    pub fn unfinished(self) -> Option<Unfinished> {
        self.inner.with_value(|inner| {
            let stored = inner.store.run()?;
            let mut opened = Opened::read(&stored.plan).ok()?;
            let run = replay(&opened.timeline, &stored)?;
            opened.at = run.set();
            let seen = run.show(stored.seen);
            let now = run.show(inner.clock.now());
            let at = if seen.shared == Some(true) { now } else { seen };
            let goes_on = match at.phase {
                Phase::Running | Phase::Paused => true,
                Phase::Before => at.shared.is_some(),
                _ => false,
            };
            goes_on.then_some(Unfinished { opened, at, stored })
        })
    }

    /// Lets the unfinished class go.
    pub fn forget_unfinished(self) {
        self.inner.with_value(|inner| inner.store.drop_run());
    }
}

fn replay(timeline: &Arc<Timeline>, stored: &StoredRun) -> Option<Run> {
    let log = Log::from_json(&stored.log).ok()?;
    Run::replay(timeline.clone(), &log).ok()
}
