//! What comes into a conductor and what goes out of it.

use std::sync::Arc;

use super::{Found, Opened};
use crate::cue::{Call, Tongue};
use crate::run::{Input, Sounding};
use crate::stored::{Settings, StoreError, StoredDone, StoredRun};
use crate::timeline::Ways;

/// Something that happened, to be handled with the instant at which it did.
#[derive(Clone, Debug)]
pub enum Event {
    // ---- Touches ----
    /// Start a class.
    Start(Start),
    /// Go on with the class that was left.
    ResumeLeft,
    /// Go on in this tab with the class that runs in another one.
    TakeOver,
    /// End the class that runs in another tab, and start the one whose start it refused.
    EndOther,
    /// End the class that was left: it goes to the history as far as it was seen.
    DiscardLeft,
    /// An input of the class that runs.
    Touch(Input),
    /// A key of a headset, of a watch or of the lock screen.
    MediaKey(Input),
    /// Someone feels unwell: stop and be silent.
    Unwell,
    /// The advice was closed: sound may come again.
    AdviceClosed,
    /// Back into the class that was ended a moment ago.
    BackToClass,
    /// Ask the browser for sound again.
    WakeSound,
    /// Make the calls once, for the ear to check. The words that follow the tones, if any.
    CheckSound(Option<Arc<str>>),
    /// The member chose something for all classes.
    Settings(Settings),

    // ---- The page ----
    /// A screen is shown that offers what was left: find out what there is.
    Look,
    /// The page can be seen again, or was thawed in sight.
    Shown,
    /// The page can't be seen any more, or was frozen.
    Hidden,
    /// The page is about to go.
    Closing,
    /// A wake-up. Early, late or double ones are harmless.
    Wake,

    // ---- The lock that one tab holds ----
    /// This tab has it.
    LockWon {
        /// No other tab can have it: false where the browser has no locks, and each tab leads.
        exclusive: bool,
    },
    /// Another tab has it.
    LockRefused,
    /// Another tab took it away.
    LockLost,
    /// Whether a tab holds it, this one or another.
    LockHeld(bool),

    // ---- Storage ----
    /// What is stored of a run.
    Found(Found),
    /// Whether the run was stored.
    Stored(Result<Kept, StoreError>),
    /// Whether the class that started at an instant was put into the history.
    Archived(i64, Result<(), StoreError>),
    /// Whether the stored run that can't be read was put aside.
    SetAside(Result<(), StoreError>),

    // ---- Sound ----
    /// Whether sound can be heard.
    Sound(SoundState),
    /// The map between the page's clock and the audio clock moved: what is laid would sound off
    /// its time.
    SoundMoved,
    /// Whether there is a voice for the chosen language.
    Voice(bool),
    /// The voice has said what it was told to say.
    VoiceEnded,
    /// The voice could not say it.
    VoiceFailed,
    /// The track for the screen off is made.
    TrackMade,
    /// The browser would not play the track.
    TrackRefused,
}

/// A start of a class, as it was touched.
#[derive(Clone, Debug)]
pub struct Start {
    /// The class.
    pub opened: Opened,
    /// The options that were chosen for it.
    pub options: Ways,
    /// For who comes late to a class at a set instant: the segment of its warm-up to begin with.
    pub warm_up: Option<usize>,
}

/// What became of a run that was to be stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kept {
    /// It is stored.
    Stored,
    /// A newer generation is stored: another tab leads.
    Superseded,
}

/// Whether sound can be heard.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SoundState {
    /// Not asked for yet.
    #[default]
    Untried,
    /// The browser plays it.
    On,
    /// The browser holds it back until the page is touched, or another app has the speaker.
    Waiting,
    /// The browser has none.
    Missing,
}

/// Something to do, in the order in which it is given.
#[derive(Clone, Debug, PartialEq)]
pub enum Effect {
    // ---- In the handler of a touch ----
    /// Make the sound ready: browsers want a touch for it.
    UnlockSound,
    /// Make the voice ready.
    UnlockVoice,
    /// Make the track's player ready.
    UnlockTrack,
    /// Fill the screen, or let it go.
    FillScreen(bool),
    /// Keep the screen on, or let it go dark. Said again when the page is shown again.
    KeepScreenOn(bool),

    // ---- Sound ----
    /// Compare the audio clock with the page's from now on, and tell when their map moves.
    FollowAudioClock(bool),
    /// Lay calls onto the audio clock, beside what is laid.
    Schedule(Vec<Sounding>),
    /// Take back all that is laid, also what sounds right now.
    CancelSound,
    /// Take back what begins to sound after an instant.
    CancelComing {
        /// Milliseconds of the device's clock.
        after: i64,
    },
    /// Tones get out of the way of speech for so many milliseconds.
    Duck(i64),
    /// Tones are as loud as they were.
    Unduck,
    /// How loud all is, from 0 to 1.
    Volume(f32),
    /// Let sound go on with the page hidden, where the browser has a word for it.
    SoundBehindScreen(bool),
    /// Say something now, in place of what is being said.
    Say {
        /// The words.
        text: Arc<str>,
        /// Their language.
        language: Tongue,
        /// How loud, from 0 to 1.
        volume: f32,
    },
    /// Stop saying it, in mid-word.
    Hush,
    /// Let a call be felt.
    Vibrate(Call),
    /// Make a track of what sounds from an instant until another.
    MakeTrack {
        /// What sounds.
        calls: Vec<Sounding>,
        /// The instant of the track's start.
        from: i64,
        /// The instant of its end.
        until: i64,
    },
    /// Play the track from now on.
    PlayTrack,
    /// Let the track stand still.
    PauseTrack,
    /// Let the track go, also one that is being made.
    DropTrack,

    // ---- The lock that one tab holds ----
    /// Ask for it; take it away from the tab that has it where it says so.
    AskLock {
        /// Take it away.
        steal: bool,
    },
    /// Let it go.
    FreeLock,
    /// Ask whether a tab holds it.
    QueryLock,

    // ---- Storage ----
    /// Read what is stored of a run.
    ReadRun,
    /// Store the run, unless a newer generation is stored.
    Store(StoredRun),
    /// Forget the stored run, unless a generation newer than this is stored.
    DropRun(u64),
    /// Put the stored run, which can't be read, where the next one does not replace it.
    SetAside,
    /// Put a class into the history, in place of what is there with its start. A rating and a note
    /// that are there stay.
    Archive(StoredDone),

    // ---- The page ----
    /// Show a screen of the class.
    Show(Stage),
    /// Tell the lock screen what is on: the segment, and whether it runs; `None` for nothing.
    Media(Option<(Option<usize>, bool)>),
    /// Wake the conductor at an instant, in place of what was asked before; `None`: not at all.
    WakeAt(Option<i64>),
}

/// The screens that a conductor leads to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// Before the class.
    Brief,
    /// During the class.
    Class,
    /// After the class.
    Done,
}
