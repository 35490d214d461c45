//! The run of the class that is open: the core's run, wired to the devices.

use std::sync::Arc;

use leptos::prelude::*;

use super::{Opened, Screen, text};
use crate::cue::{CallLevel, Calling, Topic, Ways, calls, speech_ms};
use crate::device::{
    Audio, Awake, BURST, BURST_EVERY_MS, BURSTS_EVERY_MS, Clock, Lead, Listener, MediaKey,
    Settings, SoundState, Store, StoredDone, StoredRun, Timer, Track, Voice, VoiceState, WakeLock,
    fill_screen, has_audio_session, is_hidden, keep_sounding, listen_document, listen_window,
    on_media_key, show_media, vibrate,
};
use crate::run::{AlignOffer, Input, Log, Moment, Phase, Record, Run};
use crate::timeline::Timeline;

/// Sound is laid onto the audio clock this far ahead...
const SOUND_AHEAD_MS: i64 = 600_000;
/// ...but not all at once: a browser that makes hundreds of nodes leaves holes in what sounds. So
/// much at first, and as much again with each second.
const SOUND_STEP_MS: i64 = 45_000;
/// A call that came due while the loudspeaker was away is still heard when it is this late.
const LATE_CALL_MS: i64 = 20;
/// How long after a change a touch may follow, before the track for the screen's being off is made.
const TRACK_AFTER_MS: i64 = 1_500;
/// Words that come later than this are said only where they still end in time.
const LATE_WORDS_MS: i64 = 250;
/// Words that are still being said this long after their time are cut: a count follows.
const CUT_AFTER_MS: i64 = 500;
/// A buzz that is later than this tells the wrong time.
const LATE_BUZZ_MS: i64 = 150;
/// How long who comes late warms up.
const WARM_UP_MS: i64 = 120_000;
/// How long the tones of a sound check take.
const CHECK_MS: i64 = 2_500;
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
    put_down: Option<i64>,
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
            });
        }
    }

    /// Puts the run, which is over, to what was done. One in which nothing was worked is none.
    fn put_down(&mut self, now: i64) {
        let Some(run) = &self.run else { return };
        let start = run.log().inputs().first().map(|logged| logged.0);
        let Some(start) = start.filter(|_| run.record(now).worked_ms > 0) else {
            return;
        };
        let kept = self.store.keep_done(&StoredDone {
            start,
            end: now,
            rating: None,
            note: String::new(),
            plan: self.link.to_string(),
            log: run.log().to_text(),
        });
        self.put_down = kept.ok().map(|()| start);
    }

    /// Lays down what will sound from an instant on. Anything that was laid down before is taken back.
    fn resound(&mut self, from: i64) {
        self.audio.cancel();
        self.sounded_until = from;
        self.sound_on();
    }

    /// The calls as they can be made: without a voice they are tones.
    fn calling(&self) -> Calling {
        let chosen = self.settings.calling;
        if self.voice.state(chosen.tongue.tag()).speaks() {
            chosen
        } else {
            Calling {
                level: CallLevel::Tones,
                ..chosen
            }
        }
    }

    /// Says what is due, and lets what is due be felt. Returns the instant of the next words,
    /// where they come before the next second.
    fn call(&mut self, now: i64) -> Option<i64> {
        let run = self.run.as_ref()?;
        let volume = f32::from(self.settings.volume) / 100.0;
        let tag = self.settings.calling.tongue.tag();
        for saying in run.say(self.said_until, now + 1) {
            if saying.fits(now) || now - saying.at <= LATE_WORDS_MS {
                self.voice.say(&saying.text, tag, volume);
                self.audio.duck(speech_ms(&saying.text));
                let voice = self.voice.clone();
                let cut = saying.until - now + CUT_AFTER_MS;
                self.cut.set(cut, move || voice.hush());
            }
        }
        self.said_until = now + 1;
        if self.settings.vibrate {
            for felt in run.sound(self.felt_until, now + 1) {
                if now - felt.at <= LATE_BUZZ_MS {
                    vibrate(felt.call);
                }
            }
        }
        self.felt_until = now + 1;
        run.say(now + 1, now + 1_001).first().map(|next| next.at)
    }

    /// Nothing more is heard of what was to come before this.
    fn hush(&mut self) {
        self.voice.hush();
        self.cut.clear();
    }

    /// Whether a track has to sound while the page is hidden.
    fn wants_track(&self) -> bool {
        self.settings.screen_off && !has_audio_session()
    }

    /// Tells the lock screen what is on, when that changes.
    fn tell(&mut self, moment: &Moment) {
        let told = Some((moment.segment, moment.phase == Phase::Running));
        if self.told == told {
            return;
        }
        self.told = told;
        let Some(run) = &self.run else { return };
        let line = moment.segment.map_or_else(String::new, |i| {
            let timeline = run.timeline();
            let segment = &timeline.segments()[i];
            let name = timeline.move_of(segment).map(text::move_name);
            name.unwrap_or_else(|| text::phase(segment.kind).to_owned())
        });
        let title = if moment.phase == Phase::Done {
            ""
        } else {
            &self.title
        };
        show_media(title, &line, moment.phase == Phase::Running);
    }

    /// Lays down what sounds next, beside what is laid down.
    fn sound_on(&mut self) {
        let Some(run) = &self.run else { return };
        if self.track.plays() {
            return;
        }
        let ahead = self.clock.now() + SOUND_AHEAD_MS;
        let until = ahead.min(self.sounded_until + SOUND_STEP_MS);
        let calls = run.sound(self.sounded_until, until);
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
        session.inner.update_value(|inner| {
            inner.listeners = listeners;
            inner.audio.on_change(move || session.sound_changed());
            inner.voice = Voice::new(move || session.voices_changed());
        });
        on_media_key(move |key| session.press(key));
        session.choose(settings);
        session
    }

    /// Takes what the member chose, and keeps it.
    pub fn set(self, settings: Settings) {
        self.inner
            .with_value(|inner| inner.store.keep_settings(&settings));
        self.choose(settings);
    }

    fn choose(self, settings: Settings) {
        self.inner.update_value(|inner| {
            inner.settings = settings;
            inner.audio.set_volume(f32::from(settings.volume) / 100.0);
            // Where a browser has a word for it, it says whether sound may go on behind the screen.
            let _ = keep_sounding(settings.screen_off);
        });
        self.settings.set(settings);
        self.voices_changed();
    }

    fn voices_changed(self) {
        let state = self.inner.with_value(|inner| {
            let tag = inner.settings.calling.tongue.tag();
            inner.voice.state(tag)
        });
        self.inner.update_value(|inner| {
            let calling = inner.calling();
            if let Some(run) = &mut inner.run {
                run.call(calling);
                let now = inner.clock.now();
                inner.resound(now);
            }
        });
        self.voice.set(state);
    }

    /// The browser lets sound out, or holds it back: what was laid on a clock that stood is late.
    fn sound_changed(self) {
        self.inner.update_value(|inner| {
            // What is due while the clocks are read is late by that, and still heard.
            let now = inner.clock.now();
            inner.audio.forget_map();
            inner.audio.settle(&inner.clock);
            inner.resound(now - LATE_CALL_MS);
        });
        self.burst(BURST);
        self.tick();
    }

    /// Reads the clocks in bursts for as long as a class runs; lays its calls anew where the clocks
    /// have parted, at a moment when nothing sounds.
    fn burst(self, left: u32) {
        self.inner.update_value(|inner| {
            if inner.run.is_none() {
                return inner.probe.clear();
            }
            inner.audio.read(&inner.clock);
            if left > 0 {
                let again = move || self.burst(left - 1);
                return inner.probe.set(BURST_EVERY_MS, again);
            }
            let strays = inner.audio.close_burst(&inner.clock);
            let quiet = inner.audio.is_quiet();
            if strays && quiet {
                let now = inner.clock.now();
                inner.resound(now);
            }
            let wait = if strays && !quiet {
                BURSTS_EVERY_MS / 20
            } else {
                BURSTS_EVERY_MS
            };
            inner.probe.set(wait, move || self.burst(BURST));
        });
    }

    /// A key of a headset, of a watch or of the lock screen.
    fn press(self, key: MediaKey) {
        if self.screen.get_untracked() != Screen::Class {
            return;
        }
        self.act(match key {
            MediaKey::Play => Input::Resume,
            MediaKey::Pause => Input::Pause,
            MediaKey::Next => Input::Skip,
            MediaKey::Previous => Input::Back,
        });
    }

    /// Makes the track of the rest of the class, and plays it if the page is hidden by then.
    fn track(self) {
        self.inner.update_value(|inner| {
            inner.track.drop_track();
            let Some(run) = inner.run.as_ref().filter(|_| inner.wants_track()) else {
                return;
            };
            let now = inner.clock.now();
            let moment = run.show(now);
            if !matches!(moment.phase, Phase::Running | Phase::Before) {
                return;
            }
            // Before a set instant `class_ms` is below 0, and the wait belongs to the track.
            let until = now + run.timeline().total_ms() - moment.class_ms + 1_000;
            let calls = run.sound(now, until);
            inner
                .track
                .make(calls, now, until, move || self.play_hidden());
        });
    }

    fn play_hidden(self) {
        self.inner.update_value(|inner| {
            if is_hidden() && inner.wants_track() {
                inner.audio.cancel();
                let volume = f32::from(inner.settings.volume) / 100.0;
                inner.track.play(inner.clock.now_exact(), volume);
            }
        });
    }

    fn retrack(self) {
        self.inner.update_value(|inner| {
            let wanted = inner.wants_track();
            let wait = if is_hidden() { 0 } else { TRACK_AFTER_MS };
            if wanted {
                inner.track.pause();
                inner.retrack.set(wait, move || self.track());
            }
        });
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
        self.inner.update_value(|inner| {
            inner.warm.set(WARM_UP_MS, move || {
                if self.moment.get_untracked().shared == Some(false) {
                    self.act(Input::Rejoin);
                }
            });
        });
    }

    /// Starts the class that is open, in the handler of a touch.
    pub fn start(self, opened: &Opened) {
        let run = Run::new(opened.timeline.clone());
        let total_ms = opened.timeline.total_ms();
        let at = opened.at;
        let chosen = self.ways.get_untracked();
        self.begin(run, opened, false, |run, now| {
            // One that is over is done alone, from its start.
            let set = at.filter(|at| now - at < total_ms);
            run.input(now, Input::Start { set, lead: false });
            for (of, option) in chosen {
                let option = Some(option);
                run.input(now, Input::Choose { of, option });
            }
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
            run.call(inner.calling());
            inner.run = Some(run);
            inner.link = opened.link.clone();
            inner.title = opened.title();
            inner.told = None;
            inner.put_down = None;
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
        self.inner.update_value(|inner| {
            let now = inner.clock.now();
            let Some(run) = &mut inner.run else { return };
            run.input(now, input);
            shifted = run.show(now).undo.map(|_| now + UNDO_FOR_MS);
            // A touch is what browsers wait for before they let sound out.
            inner.audio.unlock();
            if !matches!(input, Input::Choose { .. }) {
                inner.hush();
            }
            inner.resound(now);
            inner.keep(now);
        });
        self.retrack();
        if matches!(input, Input::Choose { .. }) {
            self.show_ways();
        }
        match input {
            Input::Skip
            | Input::Back
            | Input::Jump { .. }
            | Input::Align { .. }
            | Input::Nudge { .. } => self.undo_until.set(shifted),
            Input::Undo => self.undo_until.set(None),
            _ => {}
        }
        self.tick();
    }

    /// Asks the browser for sound again, in the handler of a touch.
    pub fn wake_sound(self) {
        self.inner.update_value(|inner| {
            inner.audio.unlock();
            let now = inner.clock.now();
            inner.resound(now);
        });
        self.tick();
    }

    /// Takes all sound back at once, whatever the run says.
    pub fn silence(self) {
        self.inner.update_value(|inner| {
            inner.audio.cancel();
            inner.hush();
        });
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
                if inner.sounded_until - now < SOUND_AHEAD_MS - SOUND_STEP_MS {
                    inner.sound_on();
                }
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

    /// Class time, to the millisecond.
    pub fn class_ms(self) -> i64 {
        self.inner.with_value(|inner| {
            let now = inner.clock.now();
            inner.run.as_ref().map_or(0, |run| run.show(now).class_ms)
        })
    }

    /// The class that was just done, as it is kept.
    pub fn put_down(self) -> Option<StoredDone> {
        self.inner
            .with_value(|inner| inner.store.done_at(inner.put_down?))
    }

    /// What was really done, once the class has started.
    pub fn record(self) -> Option<Record> {
        self.inner.with_value(|inner| {
            let run = inner.run.as_ref()?;
            Some(run.record(inner.clock.now()))
        })
    }

    /// Makes the calls once, for the ear to check: tones, then the first words of the class.
    pub fn check_sound(self, opened: &Opened) -> SoundState {
        self.inner.update_value(|inner| {
            inner.audio.check(&inner.clock);
            inner.voice.unlock();
            let all = calls(&opened.timeline, &Ways::new(), inner.calling());
            let first = all.phrases.into_iter().find(|one| one.topic == Topic::Next);
            let Some(first) = first else { return };
            let (voice, settings) = (inner.voice.clone(), inner.settings);
            inner.cut.set(CHECK_MS, move || {
                let volume = f32::from(settings.volume) / 100.0;
                voice.say(&first.text, settings.calling.tongue.tag(), volume);
            });
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
    let log = Log::from_text(&stored.log).ok()?;
    Run::replay(timeline.clone(), &log).ok()
}
