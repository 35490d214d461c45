//! A phone that is not one: a clock that only a test moves, a page that sleeps, sound that is laid
//! and heard, one lock and one storage for all tabs. It obeys a conductor's effects and reports.

use std::collections::{BTreeMap, VecDeque};
use std::sync::Arc;

use rungbook::conductor::{
    Conductor, Effect, Event, Found, Kept, Opened, SoundState, Stage, Start, Unreadable,
};
use rungbook::cue::Call;
use rungbook::run::{Input, Moment, Sounding};
use rungbook::stored::{Settings, StoreError, StoredDone, StoredRun};
use rungbook::timeline::{Timeline, Ways};

pub use crate::common::T;

/// A class that was opened, with a link of its own.
pub fn open(json: &str) -> Opened {
    let plan = rungbook::plan::Plan::from_json(json).unwrap();
    let link = rungbook::link::encode(&plan);
    Opened::new(Arc::new(Timeline::new(&plan)), link.as_str().into())
}

/// Ten seconds to get ready, then three times 60 s of squats with 20 s between: 3:50 in all.
pub fn squats() -> Opened {
    open(
        r#"{ "format": "rungbook-plan", "version": 1, "title": "Squats",
             "moves": [ { "id": "squat", "name": "Squat" } ],
             "blocks": [ { "kind": "rounds", "moves": ["squat"], "rounds": 3, "work": 60, "break": 20 } ] }"#,
    )
}

/// A long class: ten seconds, then 40 times 30 s with 15 s between.
pub fn long() -> Opened {
    open(
        r#"{ "format": "rungbook-plan", "version": 1, "title": "Long",
             "moves": [ { "id": "push", "name": "Push-up" } ],
             "blocks": [ { "kind": "rounds", "moves": ["push"], "rounds": 40, "work": 30, "break": 15 } ] }"#,
    )
}

pub fn start_of(opened: &Opened) -> Event {
    Event::Start(Start {
        opened: opened.clone(),
        options: Ways::new(),
        warm_up: None,
    })
}

/// What all tabs of a browser share.
#[derive(Default)]
pub struct Phone {
    pub now: i64,
    pub run: StoredRun,
    /// The stored run can't be read.
    pub unreadable: Option<Unreadable>,
    pub aside: u32,
    pub history: BTreeMap<i64, StoredDone>,
    pub full: bool,
    /// The browser has no locks.
    pub lockless: bool,
    /// How long the lock's answers take.
    pub lock_delay: i64,
    pub holder: Option<usize>,
    pub tabs: Vec<Tab>,
    /// Events on their way.
    later: VecDeque<(i64, usize, Event)>,
}

/// A tab, with what can be seen and heard of it.
pub struct Tab {
    pub conductor: Conductor,
    pub class: Opened,
    pub stage: Option<Stage>,
    pub heard: Vec<Sounding>,
    pub said: Vec<(i64, String)>,
    pub felt: Vec<(i64, Call)>,
    pub hushed: Vec<i64>,
    /// Tones are quieter than they should be, until this instant.
    pub ducked_until: i64,
    pub screen_on: bool,
    pub track: bool,
    /// The effects of the last event that a test fed.
    pub effects: Vec<Effect>,
    laid: Vec<Sounding>,
    heard_until: i64,
    sound: SoundState,
    wake: Option<i64>,
    alive: bool,
    frozen: bool,
}

impl Tab {
    pub fn laid(&self) -> &[Sounding] {
        &self.laid
    }

    fn hear(&mut self, now: i64) {
        if self.sound == SoundState::On {
            let due = |one: &&Sounding| (self.heard_until..now).contains(&one.at);
            self.heard.extend(self.laid.iter().filter(due));
        }
        self.heard_until = now;
        self.laid.retain(|one| one.at >= now);
    }
}

impl Phone {
    pub fn new() -> Phone {
        Phone {
            now: T,
            ..Phone::default()
        }
    }

    /// A phone with one tab, whose sound may be heard after the first touch.
    pub fn with(class: &Opened) -> Phone {
        let mut phone = Phone::new();
        phone.tab(class);
        phone
    }

    /// Opens another tab, as after a reload.
    pub fn tab(&mut self, class: &Opened) -> usize {
        self.tab_with(class, Settings::default())
    }

    pub fn tab_with(&mut self, class: &Opened, settings: Settings) -> usize {
        self.tabs.push(Tab {
            conductor: Conductor::new(settings, false),
            class: class.clone(),
            stage: None,
            heard: Vec::new(),
            said: Vec::new(),
            felt: Vec::new(),
            hushed: Vec::new(),
            ducked_until: 0,
            screen_on: false,
            track: false,
            effects: Vec::new(),
            laid: Vec::new(),
            heard_until: self.now,
            sound: SoundState::Untried,
            wake: None,
            alive: true,
            frozen: false,
        });
        let tab = self.tabs.len() - 1;
        self.feed(tab, Event::Look);
        tab
    }

    /// Closes a tab without a word, as a crash does. Its lock goes with it.
    pub fn kill(&mut self, tab: usize) {
        self.tabs[tab].hear(self.now);
        self.tabs[tab].alive = false;
        self.tabs[tab].laid.clear();
        if self.holder == Some(tab) {
            self.holder = None;
        }
    }

    /// The page is frozen: nothing of it runs, and what it laid falls silent.
    pub fn freeze(&mut self, tab: usize) {
        self.feed(tab, Event::Hidden);
        self.tabs[tab].hear(self.now);
        self.tabs[tab].frozen = true;
        self.tabs[tab].sound = SoundState::Waiting;
    }

    pub fn thaw(&mut self, tab: usize) {
        self.tabs[tab].hear(self.now);
        self.tabs[tab].frozen = false;
        self.feed(tab, Event::Shown);
        self.sound(tab, SoundState::On);
    }

    pub fn sound(&mut self, tab: usize, state: SoundState) {
        self.tabs[tab].hear(self.now);
        self.tabs[tab].sound = state;
        self.feed(tab, Event::Sound(state));
    }

    pub fn touch(&mut self, tab: usize, input: Input) {
        self.feed(tab, Event::Touch(input));
    }

    /// Starts the tab's class with sound, and lets the touch that led there go by.
    pub fn start(&mut self, tab: usize) {
        let class = self.tabs[tab].class.clone();
        self.feed(tab, start_of(&class));
        self.sound(tab, SoundState::On);
    }

    /// A phone on which a class was started and its page closed in mid-class, so long after.
    pub fn left(class: &Opened, after_ms: i64) -> Phone {
        let mut phone = Phone::with(class);
        phone.start(0);
        phone.pass(after_ms);
        phone.feed(0, Event::Closing);
        phone.kill(0);
        phone
    }

    /// A phone that slept, its page frozen, from a time of its class on.
    pub fn slept(class: &Opened, from_ms: i64, for_ms: i64) -> Phone {
        let mut phone = Phone::with(class);
        phone.start(0);
        phone.pass(from_ms);
        phone.freeze(0);
        phone.pass(for_ms);
        phone.thaw(0);
        phone
    }

    pub fn moment(&self, tab: usize) -> Moment {
        self.tabs[tab].conductor.moment(self.now)
    }

    pub fn class_ms(&self, tab: usize) -> i64 {
        self.moment(tab).class_ms
    }

    /// Lets time pass, with every wake-up and answer at its instant.
    pub fn pass(&mut self, ms: i64) {
        let until = self.now + ms;
        for _ in 0..1_000_000 {
            let woken = self.tabs.iter().filter(|tab| tab.alive && !tab.frozen);
            let wake = woken.filter_map(|tab| tab.wake).min();
            let answer = self.later.iter().map(|(at, ..)| *at).min();
            let next = wake.into_iter().chain(answer).min().unwrap_or(until);
            if next > until {
                break;
            }
            self.now = self.now.max(next);
            if let Some(at) = self.later.iter().position(|(at, ..)| *at <= self.now) {
                let Some((_, tab, event)) = self.later.remove(at) else {
                    continue;
                };
                if self.tabs[tab].alive {
                    self.feed(tab, event);
                }
                continue;
            }
            let now = self.now;
            let due = |tab: &Tab| tab.alive && !tab.frozen && tab.wake.is_some_and(|at| at <= now);
            match self.tabs.iter().position(due) {
                Some(tab) => self.feed(tab, Event::Wake),
                None => break,
            }
        }
        self.now = until;
        for tab in self.tabs.iter_mut().filter(|tab| tab.alive) {
            tab.hear(until);
        }
    }

    /// Feeds an event, obeys what comes of it, and feeds what comes of that.
    pub fn feed(&mut self, tab: usize, event: Event) {
        let mut queue = VecDeque::from([event]);
        let mut first = true;
        while let Some(event) = queue.pop_front() {
            self.tabs[tab].hear(self.now);
            let effects = self.tabs[tab].conductor.handle(self.now, event);
            for effect in &effects {
                self.obey(tab, effect.clone(), &mut queue);
            }
            if first {
                self.tabs[tab].effects = effects;
                first = false;
            }
        }
    }

    fn answer(&mut self, tab: usize, event: Event, queue: &mut VecDeque<Event>) {
        if self.lock_delay == 0 {
            queue.push_back(event);
        } else {
            self.later
                .push_back((self.now + self.lock_delay, tab, event));
        }
    }

    fn obey(&mut self, at: usize, effect: Effect, queue: &mut VecDeque<Event>) {
        let now = self.now;
        let tab = &mut self.tabs[at];
        match effect {
            Effect::Schedule(calls) => {
                if tab.sound == SoundState::On {
                    tab.laid.extend(calls);
                }
            }
            Effect::CancelSound => tab.laid.clear(),
            Effect::CancelComing { after } => tab.laid.retain(|one| one.at <= after),
            Effect::Duck(for_ms) => tab.ducked_until = now + for_ms,
            Effect::Unduck => tab.ducked_until = now,
            Effect::Say { text, .. } => tab.said.push((now, text.to_string())),
            Effect::Hush => tab.hushed.push(now),
            Effect::Vibrate(call) => tab.felt.push((now, call)),
            Effect::MakeTrack { .. } => queue.push_back(Event::TrackMade),
            Effect::PlayTrack => tab.track = true,
            Effect::PauseTrack | Effect::DropTrack => tab.track = false,
            Effect::KeepScreenOn(on) => tab.screen_on = on,
            Effect::Show(stage) => tab.stage = Some(stage),
            Effect::WakeAt(at) => tab.wake = at,
            Effect::UnlockSound if tab.sound == SoundState::Untried => {
                tab.sound = SoundState::Waiting;
                queue.push_back(Event::Sound(SoundState::Waiting));
            }
            Effect::UnlockSound
            | Effect::UnlockVoice
            | Effect::FollowAudioClock(_)
            | Effect::UnlockTrack
            | Effect::FillScreen(_)
            | Effect::Volume(_)
            | Effect::SoundBehindScreen(_)
            | Effect::Media(_) => {}
            Effect::AskLock { steal } => self.ask_lock(at, steal, queue),
            Effect::FreeLock => {
                if self.holder == Some(at) {
                    self.holder = None;
                }
            }
            Effect::QueryLock => {
                let held = self.holder.is_some();
                self.answer(at, Event::LockHeld(held), queue);
            }
            Effect::ReadRun => queue.push_back(Event::Found(self.read())),
            Effect::Store(run) => {
                let outcome = if self.full {
                    Err(StoreError::Full)
                } else if self.run.generation > run.generation {
                    Ok(Kept::Superseded)
                } else {
                    self.run = run;
                    Ok(Kept::Stored)
                };
                queue.push_back(Event::Stored(outcome));
            }
            Effect::DropRun(generation) => {
                if self.run.generation <= generation {
                    self.run = StoredRun::none(generation);
                }
            }
            Effect::SetAside => {
                let outcome = if self.full {
                    Err(StoreError::Full)
                } else {
                    self.unreadable = None;
                    self.aside += 1;
                    self.run = StoredRun::none(self.run.generation);
                    Ok(())
                };
                queue.push_back(Event::SetAside(outcome));
            }
            Effect::Archive(done) => {
                let start = done.start;
                let outcome = if self.full {
                    Err(StoreError::Full)
                } else {
                    self.history.insert(start, done);
                    Ok(())
                };
                queue.push_back(Event::Archived(start, outcome));
            }
        }
    }

    fn ask_lock(&mut self, at: usize, steal: bool, queue: &mut VecDeque<Event>) {
        if self.lockless {
            return self.answer(at, Event::LockWon { exclusive: false }, queue);
        }
        match self.holder {
            Some(other) if other != at && !steal => self.answer(at, Event::LockRefused, queue),
            other => {
                if let Some(other) = other.filter(|other| *other != at) {
                    // A steal is told late.
                    let told = self.now + self.lock_delay.max(1);
                    self.later.push_back((told, other, Event::LockLost));
                }
                self.holder = Some(at);
                self.answer(at, Event::LockWon { exclusive: true }, queue);
            }
        }
    }

    fn read(&self) -> Found {
        if let Some(why) = self.unreadable {
            return Found::Unreadable(why);
        }
        let tabs = &self.tabs;
        Found::read(self.run.clone(), |link| {
            let known = tabs.iter().find(|tab| *tab.class.link == *link)?;
            Some(known.class.timeline.clone())
        })
    }
}
