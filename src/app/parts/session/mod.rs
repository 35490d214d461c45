//! The class that runs here: the core's conductor, wired to the devices. Events go in, effects are
//! carried out in order, and what is to be drawn goes into signals. Nothing is decided here.

use std::collections::VecDeque;

use leptos::prelude::*;

use super::screen::Screen;
use super::text;
use crate::conductor::{
    Conductor, Effect, Elsewhere, Event, Found, Kept, Left, Opened, SoundState, Stage, Start,
    Unreadable,
};
use crate::cue::{CallLevel, Calling, Topic, calls};
use crate::device::{
    Audio, Awake, BURST, BURST_EVERY_MS, BURSTS_EVERY_MS, Clock, LOOK_AGAIN_MS, Listener, MediaKey,
    Store, TabLock, Timer, Track, Voice, VoiceState, WakeLock, fill_screen, has_audio_session,
    is_hidden, keep_sounding, listen_document, listen_window, on_media_key, show_media, vibrate,
};
use crate::run::{AlignOffer, Away, Input, Moment, Record, Run};
use crate::stored::{self, Settings, StoreError, StoredDone};
use crate::timeline::Ways;

/// The class that runs here, and what is drawn of it.
#[derive(Clone, Copy)]
pub struct Session {
    inner: StoredValue<Inner, LocalStorage>,
    /// What to show now.
    pub moment: RwSignal<Moment>,
    /// The options in force: of the run, and before it what is chosen for it.
    pub ways: RwSignal<Ways>,
    /// The last shift is offered to be undone.
    pub offers_undo: RwSignal<bool>,
    /// Whether sound can be heard.
    pub sound: RwSignal<SoundState>,
    /// What the member chose for all classes.
    pub settings: RwSignal<Settings>,
    /// Whether the chosen language can be spoken.
    pub voice: RwSignal<VoiceState>,
    /// Whether the screen stays on.
    pub awake: RwSignal<Awake>,
    /// Someone felt unwell, and did not go on since.
    pub unwell: RwSignal<bool>,
    /// When someone who came late joins by itself, after a warm-up.
    pub joins: RwSignal<Option<i64>>,
    /// A class runs in another tab of this browser.
    pub elsewhere: RwSignal<Option<Elsewhere>>,
    /// A class that was left before its end.
    pub left: RwSignal<Option<Left>>,
    /// A class that was left, and can't be read.
    pub unreadable: RwSignal<Option<Unreadable>>,
    /// The phone was away, and the member is asked whether they kept going.
    pub away: RwSignal<Option<Away>>,
    /// Why the class that runs can't be stored.
    pub fault: RwSignal<Option<StoreError>>,
    /// The way back into the class that was ended is offered.
    pub can_go_back: RwSignal<bool>,
    screen: RwSignal<Screen>,
    opened: RwSignal<Option<Opened>>,
}

#[derive(Default)]
struct Inner {
    conductor: Conductor,
    clock: Clock,
    audio: Audio,
    voice: Voice,
    track: Track,
    wake: Timer,
    /// Reads the audio clock against the page's.
    probe: Timer,
    wake_lock: WakeLock,
    lock: TabLock,
    store: Store,
    listeners: Vec<Option<Listener>>,
}

/// Puts a value into a signal where it is another: what it draws is drawn anew for each.
fn show<T: PartialEq + Send + Sync + 'static>(signal: RwSignal<T>, value: T) {
    if signal.with_untracked(|shown| *shown != value) {
        signal.set(value);
    }
}

impl Session {
    pub fn new(
        screen: RwSignal<Screen>,
        opened: RwSignal<Option<Opened>>,
        store: Store,
    ) -> Session {
        let settings = store.settings();
        let session = Session {
            inner: StoredValue::new_local(Inner {
                conductor: Conductor::new(settings, has_audio_session()),
                store,
                ..Inner::default()
            }),
            moment: RwSignal::new(Moment::default()),
            ways: RwSignal::new(Ways::new()),
            offers_undo: RwSignal::new(false),
            sound: RwSignal::new(SoundState::default()),
            settings: RwSignal::new(settings),
            voice: RwSignal::new(VoiceState::default()),
            awake: RwSignal::new(Awake::default()),
            unwell: RwSignal::new(false),
            joins: RwSignal::new(None),
            elsewhere: RwSignal::new(None),
            left: RwSignal::new(None),
            unreadable: RwSignal::new(None),
            away: RwSignal::new(None),
            fault: RwSignal::new(None),
            can_go_back: RwSignal::new(false),
            screen,
            opened,
        };
        let listeners = vec![
            listen_document("visibilitychange", move |_| {
                if is_hidden() {
                    session.hidden(Event::Hidden);
                } else {
                    session.shown();
                }
            }),
            listen_document("freeze", move |_| session.hidden(Event::Hidden)),
            // A frozen page may be woken behind the screen.
            listen_document("resume", move |_| {
                if !is_hidden() {
                    session.shown();
                }
            }),
            listen_window("pagehide", move |_| session.hidden(Event::Closing)),
            listen_window("pageshow", move |_| session.shown()),
        ];
        session.inner.update_value(|inner| {
            inner.listeners = listeners;
            inner.audio.on_change(move || session.sound_changed());
            inner.voice = Voice::new(
                move || session.voices_changed(),
                move |said| {
                    session.feed(if said {
                        Event::VoiceEnded
                    } else {
                        Event::VoiceFailed
                    });
                },
            );
        });
        on_media_key(move |key| {
            session.feed(Event::MediaKey(match key {
                MediaKey::Play => Input::Resume,
                MediaKey::Pause => Input::Pause,
                MediaKey::Next => Input::Skip,
                MediaKey::Previous => Input::Back,
            }));
        });
        session.choose(settings);
        session
    }

    // ---- Events ----

    fn hidden(self, event: Event) {
        self.inner.update_value(|inner| inner.clock.hidden());
        self.feed(event);
    }

    fn shown(self) {
        self.inner.update_value(|inner| {
            inner.clock.shown();
            inner.audio.forget_map();
            inner.audio.settle(&inner.clock);
        });
        self.feed(Event::Shown);
    }

    /// The browser lets sound out, or holds it back.
    fn sound_changed(self) {
        let state = self.inner.try_update_value(|inner| {
            inner.audio.forget_map();
            inner.audio.settle(&inner.clock);
            inner.audio.state()
        });
        if let Some(state) = state {
            self.feed(Event::Sound(state));
        }
    }

    fn voices_changed(self) {
        let language = self.settings.get_untracked().calling.tongue.tag();
        let state = self
            .inner
            .try_with_value(|inner| inner.voice.state(language));
        if let Some(state) = state {
            show(self.voice, state);
            self.feed(Event::Voice(state.speaks()));
        }
    }

    /// Takes what the member chose, and keeps it.
    pub fn set(self, settings: Settings) {
        self.inner
            .with_value(|inner| inner.store.keep_settings(&settings));
        self.choose(settings);
    }

    fn choose(self, settings: Settings) {
        self.settings.set(settings);
        self.feed(Event::Settings(settings));
        self.voices_changed();
    }

    /// Feeds the conductor with something that happened now, and carries out what comes of it.
    pub fn feed(self, event: Event) {
        let mut queue = VecDeque::from([event]);
        while let Some(event) = queue.pop_front() {
            let effects = self.inner.try_update_value(|inner| {
                let now = inner.clock.now();
                inner.conductor.handle(now, event)
            });
            for effect in effects.into_iter().flatten() {
                self.carry_out(effect, &mut queue);
            }
        }
        self.draw();
    }

    /// Takes an input of the class at this instant.
    pub fn act(self, input: Input) {
        self.feed(Event::Touch(input));
    }

    /// Starts a class, in the handler of a touch.
    pub fn start(self, opened: &Opened) {
        self.start_with(opened, None);
    }

    /// Joins a class at a set instant by way of its warm-up, which begins with a segment.
    pub fn warm_up(self, opened: &Opened, first: usize) {
        self.start_with(opened, Some(first));
    }

    fn start_with(self, opened: &Opened, warm_up: Option<usize>) {
        // A voice of the network's may have come or gone.
        self.voices_changed();
        self.feed(Event::Start(Start {
            opened: opened.clone(),
            options: self.ways.get_untracked(),
            warm_up,
        }));
    }

    /// Makes the calls once, for the ear to check: tones, then the first words of the class.
    pub fn check_sound(self, opened: &Opened) {
        let calling = self.settings.get_untracked().calling;
        let level = if self.voice.get_untracked().speaks() {
            calling.level
        } else {
            CallLevel::Tones
        };
        let all = calls(&opened.timeline, &Ways::new(), Calling { level, ..calling });
        let first = all.phrases.into_iter().find(|one| one.topic == Topic::Next);
        self.feed(Event::CheckSound(first.map(|one| one.text)));
    }

    // ---- Effects ----

    fn carry_out(self, effect: Effect, queue: &mut VecDeque<Event>) {
        let done = self.inner.try_update_value(|inner| match effect {
            Effect::UnlockSound => {
                inner.audio.unlock();
                queue.push_back(Event::Sound(inner.audio.state()));
            }
            Effect::UnlockVoice => inner.voice.unlock(),
            Effect::UnlockTrack => inner.track.unlock(),
            Effect::FillScreen(on) => fill_screen(on),
            Effect::KeepScreenOn(true) => inner.wake_lock.ask(),
            Effect::KeepScreenOn(false) => inner.wake_lock.release(),
            Effect::FollowAudioClock(false) => inner.probe.clear(),
            Effect::FollowAudioClock(true) => {
                inner.probe.set(0, move || self.burst(BURST));
            }
            Effect::Schedule(calls) => inner.audio.schedule(&calls, &inner.clock),
            Effect::CancelSound => inner.audio.cancel(),
            Effect::CancelComing { after } => inner.audio.cancel_coming(after),
            Effect::Duck(for_ms) => inner.audio.duck(for_ms),
            Effect::Unduck => inner.audio.unduck(),
            Effect::Volume(volume) => inner.audio.set_volume(volume),
            Effect::SoundBehindScreen(on) => keep_sounding(on),
            Effect::Say {
                text,
                language,
                volume,
            } => inner.voice.say(&text, language.tag(), volume),
            Effect::Hush => inner.voice.hush(),
            Effect::Vibrate(call) => vibrate(call),
            Effect::MakeTrack { calls, from, until } => {
                let made = move || self.feed(Event::TrackMade);
                inner.track.make(calls, from, until, made);
            }
            Effect::PlayTrack => {
                let volume = self.settings.get_untracked().loudness();
                let refused = move || self.feed(Event::TrackRefused);
                let now = inner.clock.now_exact();
                inner.track.play(now, volume, refused);
            }
            Effect::PauseTrack => inner.track.pause(),
            Effect::DropTrack => inner.track.drop_track(),
            Effect::AskLock { steal } => {
                let exclusive = true;
                let won = move |won: bool| {
                    self.feed(if won {
                        Event::LockWon { exclusive }
                    } else {
                        Event::LockRefused
                    });
                };
                let lost = move || self.feed(Event::LockLost);
                if !inner.lock.ask(steal, won, lost) {
                    let exclusive = false;
                    queue.push_back(Event::LockWon { exclusive });
                }
            }
            Effect::FreeLock => inner.lock.free(),
            Effect::QueryLock => {
                if !TabLock::query(move |held| self.feed(Event::LockHeld(held))) {
                    queue.push_back(Event::LockHeld(false));
                }
            }
            Effect::ReadRun => queue.push_back(Event::Found(found(&inner.store))),
            Effect::Store(run) => {
                let kept = inner
                    .store
                    .keep_run(&run)
                    .map(|kept| if kept { Kept::Stored } else { Kept::Superseded });
                queue.push_back(Event::Stored(kept));
            }
            Effect::DropRun(generation) => {
                let none = stored::StoredRun::none(generation);
                // Where nothing can be kept nothing has to go.
                let _ = inner.store.keep_run(&none);
            }
            Effect::SetAside => {
                let aside = inner.store.set_run_aside(inner.clock.now());
                queue.push_back(Event::SetAside(aside));
            }
            Effect::Archive(done) => {
                let start = done.start;
                let done = done.with_words_of(inner.store.done_at(start));
                let kept = inner.store.keep_done(&done);
                queue.push_back(Event::Archived(start, kept));
            }
            Effect::Show(stage) => self.show_stage(stage, &inner.conductor),
            Effect::Media(on) => tell_lock_screen(&inner.conductor, on),
            Effect::WakeAt(None) => inner.wake.clear(),
            Effect::WakeAt(Some(at)) => {
                // Not before its time: a timer that comes a little early would show the old second.
                let after = at as f64 - inner.clock.now_exact();
                inner.wake.set(after.ceil() as i64, move || self.woken());
            }
        });
        // Nothing is carried out once the page is gone.
        let _ = done;
    }

    fn woken(self) {
        let follows = |inner: &mut Inner| {
            let now = inner.clock.now_exact();
            // A track that plays behind the screen keeps to the class.
            inner.track.follow(now);
        };
        let _ = self.inner.try_update_value(follows);
        self.feed(Event::Wake);
    }

    fn show_stage(self, stage: Stage, conductor: &Conductor) {
        match stage {
            Stage::Class => {
                if let Some(opened) = conductor.opened() {
                    show(self.opened, Some(opened.clone()));
                }
                self.screen.set(Screen::Class);
            }
            Stage::Done => self.screen.set(Screen::Done),
            Stage::Brief => self.screen.set(Screen::Brief),
        }
    }

    /// Reads the clocks in bursts for as long as a class runs.
    fn burst(self, left: u32) {
        let moved = self.inner.try_update_value(|inner| {
            inner.audio.read(&inner.clock);
            let left = inner.audio.burst_left(left, &inner.clock);
            if left > 0 {
                let again = move || self.burst(left - 1);
                inner.probe.set(BURST_EVERY_MS, again);
                return None;
            }
            let moved = inner.audio.close_burst(&inner.clock);
            let wait = if inner.audio.stands(&inner.clock) {
                LOOK_AGAIN_MS
            } else {
                BURSTS_EVERY_MS
            };
            inner.probe.set(wait, move || self.burst(BURST));
            moved.then(|| inner.audio.state())
        });
        if let Some(state) = moved.flatten() {
            // A context that was found dead is replaced by one that does not run yet.
            self.feed(Event::Sound(state));
            self.feed(Event::SoundMoved);
        }
    }

    // ---- What is drawn ----

    fn draw(self) {
        let Some(now) = self.inner.try_with_value(|inner| inner.clock.now()) else {
            return;
        };
        self.inner.with_value(|inner| {
            let conductor = &inner.conductor;
            show(self.moment, conductor.moment(now));
            if let Some(options) = conductor.options().filter(|_| conductor.is_on()) {
                show(self.ways, options.clone());
            }
            show(self.offers_undo, conductor.offers_undo());
            show(self.sound, conductor.sound());
            show(self.awake, inner.wake_lock.state());
            show(self.unwell, conductor.is_unwell());
            show(self.joins, conductor.joins());
            show(self.elsewhere, conductor.elsewhere());
            show(self.left, conductor.left().cloned());
            show(self.unreadable, conductor.unreadable());
            show(self.away, conductor.away());
            show(self.fault, conductor.fault());
            show(self.can_go_back, conductor.can_go_back(now));
        });
    }

    /// Now, by the clock that times the class.
    pub fn now(self) -> i64 {
        self.inner.with_value(|inner| inner.clock.now())
    }

    /// The run of someone who would join a class at a set instant now: it tells where the class stands.
    pub fn joined(self, opened: &Opened) -> Option<Run> {
        let set = Some(opened.at?);
        let mut run = Run::new(opened.timeline.clone());
        run.input(self.now(), Input::Start { set, lead: false });
        Some(run)
    }

    /// What the coach's go would make of now: the nearest one, or one that was picked.
    pub fn align_offer(self, to: Option<usize>) -> Option<AlignOffer> {
        self.inner
            .with_value(|inner| inner.conductor.align_offer(inner.clock.now(), to))
    }

    /// When a class at a set instant starts.
    pub fn starts_at(self) -> Option<i64> {
        self.inner.with_value(|inner| inner.conductor.run()?.set())
    }

    /// Class time, to the millisecond.
    pub fn class_ms(self) -> i64 {
        self.inner
            .with_value(|inner| inner.conductor.moment(inner.clock.now()).class_ms)
    }

    /// The class that was just done, as it is kept, or why it is not.
    pub fn archived(self) -> Option<Result<StoredDone, StoreError>> {
        self.inner
            .with_value(|inner| match inner.conductor.archived()? {
                Ok(start) => inner.store.done_at(start).map(Ok),
                Err(fault) => Some(Err(fault)),
            })
    }

    /// What was really done, once the class has started.
    pub fn record(self) -> Option<Record> {
        self.inner
            .with_value(|inner| inner.conductor.record(inner.clock.now()))
    }

    /// The class that is open, where it was left before its end.
    pub fn left_of(self, opened: &Opened) -> Option<Left> {
        let same = |left: &Left| left.opened.link == opened.link && left.opened.at == opened.at;
        self.left.get().filter(same)
    }
}

/// What is stored of a run.
fn found(store: &Store) -> Found {
    let open = |link: &str| Some(Opened::read(link).ok()?.timeline);
    match store.run() {
        Ok(Some(stored)) => Found::read(stored, open),
        Ok(None) => Found::Nothing { generation: 0 },
        Err(stored::Unreadable::Newer) => Found::Unreadable(Unreadable::Newer),
        Err(stored::Unreadable::Damaged) => Found::Unreadable(Unreadable::Damaged),
    }
}

/// Tells the lock screen what is on.
fn tell_lock_screen(conductor: &Conductor, on: Option<(Option<usize>, bool)>) {
    let Some((segment, runs)) = on else {
        return show_media("", "", false);
    };
    let Some(opened) = conductor.opened() else {
        return;
    };
    let timeline = &opened.timeline;
    let line = segment.map_or_else(String::new, |i| {
        let segment = &timeline.segments()[i];
        let name = timeline.move_of(segment).map(text::move_name);
        name.unwrap_or_else(|| text::phase(segment.kind).to_owned())
    });
    show_media(&opened.title(), &line, runs);
}
